"""Who may import whom. The table is the architecture: description -> model -> history -> judgements -> person."""

import ast
import re
import sys
from pathlib import Path

import pytest

import dryingsim
from dryingsim import lazy_import

ROOT = Path(__file__).resolve().parents[1]
FILES = sorted((ROOT / "dryingsim").rglob("*.py"))
ANYONE = {"_version", "errors", "evidence", "constants", "typing", "lazy_import", "plain_text"}  # leaves
PHYSICS = {"model", "batch", "properties", "kernels"}
RECORD = {"simulate", "history"} | PHYSICS
MANY = {"engine", "kitchen", "judge"} | RECORD
# part: what it may import (of the package), at the head of a module or inside a function; a part may always import from
# itself. Types are free: what stands under TYPE_CHECKING never runs.
LAYERS = {
    "constants": set(),
    "properties": set(),
    "kernels": set(),
    "batch": {"properties"},
    "model": PHYSICS - {"model"},
    "history": PHYSICS,
    "simulate": RECORD - {"simulate"},
    "judge": RECORD,
    "kitchen": RECORD,
    "engine": {"judge"} | RECORD,
    "explore": MANY,
    "learn": {"explore"} | MANY,
    "answer": {"kitchen", "judge"} | RECORD,
    "plan": {"answer", "explore"} | MANY,
    "show": {"answer", "learn", "plan", "explore"} | MANY,
    "teaching": {"show"} | MANY,
    "cli": {"teaching", "show", "answer", "learn", "plan", "explore"} | MANY - {"kernels"},
    "__main__": {"cli"},
}
# libraries that have one home: where they may be imported (a module, or a part)
HOMES = {"pint": {"batch.units"}, "matplotlib": {"show"}}
# parts that stand on numpy and the standard library alone; scipy's LAPACK for one module
PURE = {
    "properties": {"numpy"},
    "kernels": {"numpy"},
    "kernels.blocks": {"numpy", "scipy.linalg.lapack"},
    "kernels.swing": {"numpy", "scipy.linalg"},
}


def imports(path):
    """Yield the module (or what is taken from a package) of every import that runs, wherever it stands."""

    def visit(node):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
                continue
            if isinstance(child, ast.Import):
                yield from (alias.name for alias in child.names)
            elif isinstance(child, ast.ImportFrom):
                assert child.level == 0, f"{path.name}: relative import"
                for alias in child.names:
                    inner = f"{child.module}.{alias.name}"
                    whole = child.module == "dryingsim" or inner in MODULES
                    yield inner if whole else child.module
            yield from visit(child)

    yield from visit(ast.parse(path.read_text(encoding="utf-8")))


def name_of(path):
    return ".".join(path.relative_to(ROOT / "dryingsim").with_suffix("").parts)


MODULES = {f"dryingsim.{name_of(path)}".removesuffix(".__init__"): path for path in FILES}


def circles(graph):
    """Return the sets of nodes that reach each other, {node: what it points to}."""
    reach = {}
    for start in graph:
        reached, ahead = set(), list(graph[start])
        while ahead:
            node = ahead.pop()
            if node not in reached:
                reached.add(node)
                ahead += graph[node]
        reach[start] = reached
    found = {frozenset(b for b in reach[a] if a in reach[b]) for a in graph if a in reach[a]}
    return sorted(map(sorted, found))


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_module_imports_only_what_its_layer_may(path):
    name = name_of(path)
    part = name.split(".")[0]
    for module in imports(path):
        top, *rest = module.split(".")
        where = f"{name} imports {module}"
        if top == "dryingsim" and part != "__init__":
            other = rest[0]
            assert other in ANYONE | LAYERS[part] | {part}, where
        elif top in HOMES:
            assert HOMES[top] & {name, part}, where
        elif part in PURE:
            assert top in sys.stdlib_module_names or module in PURE.get(name, PURE[part]), where


def test_every_part_of_the_package_has_a_layer():
    parts = {name_of(p).split(".")[0] for p in FILES}
    assert parts <= set(LAYERS) | ANYONE | {"__init__"}


def test_table_has_no_circle():
    order = list(LAYERS)
    for i, part in enumerate(order):
        assert LAYERS[part] <= set(order[:i]), part


def test_circles_are_found():
    graph = {"a": {"b"}, "b": {"c", "d"}, "c": {"a"}, "d": {"e"}, "e": {"d"}, "f": {"a"}}
    assert circles(graph) == [["a", "b", "c"], ["d", "e"]]


def test_no_modules_import_each_other_in_a_circle():
    graph = {name: MODULES.keys() & set(imports(path)) for name, path in MODULES.items()}
    assert circles(graph) == []


def test_methods_done_further_up_are_found_where_they_are_attached():
    attached = {method: lazy_import.from_above(method) for method in lazy_import.attached()}
    for method, function in attached.items():
        owner, name = method.split(".")
        assert callable(getattr(getattr(dryingsim, owner), name))
        place = function.__module__.removeprefix("dryingsim.")
        assert place.startswith(("show.", "batch.writing.")) or place.endswith(".labelled"), method
    used = set()
    for path in FILES:
        used |= set(re.findall(r'from_above\("([^"]+)"\)', path.read_text(encoding="utf-8")))
    assert used == attached.keys()


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_no_private_name_crosses_modules(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] == "dryingsim":
            private = [a.name for a in node.names if a.name.startswith("_") and not a.name.startswith("__")]
            assert not private, f"{name_of(path)} imports {private} from {node.module}"
