"""Everything public says what it does, and numbers say their unit."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
FILES = sorted((ROOT / "dryingsim").rglob("*.py"))
UNIT = re.compile(r"\[[^\]]+\]")
NUMBER = re.compile(r"\b(float|ndarray)(?! of int)\b")
DIMENSIONLESS = ("reynolds", "rayleigh", "prandtl", "fraction")  # by their very name


def public(path):
    """Yield (name, node) of the public classes, functions and methods of a module."""

    def visit(body, prefix):
        for node in body:
            if isinstance(node, (ast.ClassDef, ast.FunctionDef)) and not node.name.startswith("_"):
                yield f"{prefix}{node.name}", node
                if isinstance(node, ast.ClassDef):
                    yield from visit(node.body, f"{prefix}{node.name}.")

    yield from visit(ast.parse(path.read_text(encoding="utf-8")).body, "")


def name_of(path):
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_everything_public_has_a_docstring(path):
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), "the module itself"
    bare = [name for name, node in public(path) if not ast.get_docstring(node)]
    assert not bare


def parameters(docstring):
    """Yield (names, type, description) of the entries of a Parameters section."""
    section = re.search(r"^Parameters\n-+\n(.*?)(?=^\w[^\n]*\n-+\n|\Z)", docstring, re.DOTALL | re.MULTILINE)
    if section:
        for entry in re.split(r"\n(?=\S)", section[1].strip("\n")):
            head, *rest = entry.split("\n")
            names, _, kind = head.partition(" : ")
            yield names, kind, " ".join(line.strip() for line in rest)


ENTRIES = [
    pytest.param(names, kind, text, id=f"{path.stem}.{name}-{names}")
    for path in FILES
    if path.parent.name == "properties"
    for name, node in public(path)
    for names, kind, text in parameters(ast.get_docstring(node) or "")
]


@pytest.mark.parametrize(("names", "kind", "text"), ENTRIES)
def test_numbers_of_the_properties_name_their_unit(names, kind, text):
    if NUMBER.search(kind) and not any(word in names for word in DIMENSIONLESS):
        assert UNIT.search(text), f"no [unit] in {text!r}"


def test_enough_of_the_properties_was_looked_at():
    assert len(ENTRIES) > 40


def test_parameters_that_are_documented_exist():
    """Names in a Parameters section are arguments of the function (or of the constructor of the class)."""
    strangers = []
    for path in FILES:
        for name, node in public(path):
            if isinstance(node, ast.ClassDef):
                inits = [n for n in node.body if isinstance(n, ast.FunctionDef) and n.name == "__init__"]
                fields = {n.target.id for n in node.body if isinstance(n, ast.AnnAssign)}
                functions = inits
            else:
                fields, functions = set(), [node]
            known = fields | {
                a.arg
                for f in functions
                for a in (*f.args.posonlyargs, *f.args.args, *f.args.kwonlyargs, f.args.vararg)
                if a is not None
            }
            for names, _, _ in parameters(ast.get_docstring(node) or ""):
                strangers += [
                    f"{name_of(path)}.{name}: {n}"
                    for n in re.split(r",\s*", names)
                    if n.strip("*") not in known
                ]
    assert not strangers
