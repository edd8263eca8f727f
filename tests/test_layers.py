"""Who may import whom. The table is the architecture: description -> model -> history -> judgements -> person."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
FILES = sorted((ROOT / "dryingsim").rglob("*.py"))
ANYONE = {"_version", "errors", "constants", "typing", "lazy_import", "plain_text"}  # leaves
DESCRIPTION = {"batch"}
# part: what it may import (of the package); a part may always import from itself
LAYERS = {
    "properties": set(),
    "kernels": set(),
    "batch": set(),
    "model": {"properties", "kernels"} | DESCRIPTION,
    "history": {"model", "properties", "kernels"} | DESCRIPTION,
    "simulate": {"history", "model", "properties", "kernels"} | DESCRIPTION,
    "judge": {"simulate", "history", "model", "properties", "kernels"} | DESCRIPTION,
    "kitchen": {"simulate", "history", "model", "properties", "kernels"} | DESCRIPTION,
    "engine": {"judge", "simulate", "history", "model", "properties", "kernels"} | DESCRIPTION,
    "explore": {"engine", "judge", "kitchen", "simulate", "history", "model", "properties", "kernels"}
    | DESCRIPTION,
    "learn": {
        "explore",
        "engine",
        "judge",
        "kitchen",
        "simulate",
        "history",
        "model",
        "properties",
        "kernels",
    }
    | DESCRIPTION,
    "plan": {"explore", "engine", "judge", "kitchen", "simulate", "history", "model", "properties", "kernels"}
    | DESCRIPTION,
    "show": {
        "learn",
        "plan",
        "explore",
        "engine",
        "judge",
        "kitchen",
        "simulate",
        "history",
        "model",
        "properties",
    }
    | {"kernels"}
    | DESCRIPTION,
    "cli": {"show", "learn", "plan", "explore", "engine", "judge", "kitchen", "simulate", "history", "model"}
    | {"properties"}
    | DESCRIPTION,
    "__main__": {"cli"},
}
# imports inside functions only: what is drawn from where it may not be needed
LATE = {"batch": {"properties"}, "history": {"show"}}
# libraries that have one home: where they may be imported (a module, or a part)
HOMES = {"pint": {"batch.units"}, "matplotlib": {"show"}}
# parts that stand on numpy and the standard library alone; scipy's LAPACK for one module
PURE = {"properties": {"numpy"}, "kernels": {"numpy"}, "kernels.blocks": {"numpy", "scipy.linalg.lapack"}}


def imports(path):
    """Yield (module, whether inside a function) for every import that runs."""

    def visit(node, late):
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
                continue
            if isinstance(child, ast.Import):
                yield from ((alias.name, late) for alias in child.names)
            elif isinstance(child, ast.ImportFrom):
                assert child.level == 0, f"{path.name}: relative import"
                whole = child.module == "dryingsim"
                yield from (
                    (f"{child.module}.{a.name}" if whole else child.module, late) for a in child.names
                )
            yield from visit(child, late or isinstance(child, ast.FunctionDef))

    yield from visit(ast.parse(path.read_text(encoding="utf-8")), False)


def name_of(path):
    return ".".join(path.relative_to(ROOT / "dryingsim").with_suffix("").parts)


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_module_imports_only_what_its_layer_may(path):
    name = name_of(path)
    part = name.split(".")[0]
    for module, late in imports(path):
        top, *rest = module.split(".")
        where = f"{name} imports {module}"
        if top == "dryingsim" and part != "__init__":
            other = rest[0]
            allowed = ANYONE | LAYERS[part] | {part} | (LATE.get(part, set()) if late else set())
            assert other in allowed, where
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
