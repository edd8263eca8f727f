"""The lessons run from top to bottom, are stored without output, and are built as lessons are.

Their code is run as a notebook would, cell after cell in one namespace, but without a kernel, which alone would take
seconds to start. What their prose says is asserted in their cells.
"""

import ast
import re
from pathlib import Path

import matplotlib as mpl
import pytest

nbformat = pytest.importorskip("nbformat", reason="pip install -e '.[test]'")

LESSONS = Path(__file__).resolve().parents[1] / "examples" / "lessons"
NOTEBOOKS = sorted(LESSONS.glob("*.ipynb"))
TAGS = {"own-data": "the student's own data", "answers": "answers for the teacher"}


def cells(path, kind):
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == kind]


def run_cell(cell, names):
    """Run a code cell; what its last line yields is shown as a notebook would show it."""
    tree = ast.parse(cell.source)
    last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    exec(compile(tree, cell["id"], "exec"), names)
    if last is not None:
        value = eval(compile(ast.Expression(last.value), cell["id"], "eval"), names)
        (getattr(value, "_repr_html_", None) or value.__repr__)()


@pytest.fixture
def pyplot(monkeypatch, tmp_path):
    """No window, and some folder: a copied lesson runs too. The lessons run as shipped: nothing is made smaller."""
    import matplotlib.pyplot as plt

    monkeypatch.chdir(tmp_path)
    before = mpl.get_backend()
    plt.switch_backend("Agg")
    yield plt
    plt.close("all")
    plt.switch_backend(before)


def test_there_are_all_lessons():
    assert [path.name[:2] for path in NOTEBOOKS] == [f"{letter}_" for letter in "abcdefgh"]


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_lesson_runs(path, pyplot):
    names = {"__name__": "__main__"}
    for cell in cells(path, "code"):
        run_cell(cell, names)
    assert pyplot.get_fignums(), "no picture"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_lesson_is_stored_without_output(path):
    book = nbformat.read(path, as_version=4)
    nbformat.validate(book)
    for cell in cells(path, "code"):
        assert cell.outputs == []
        assert cell.execution_count is None
    assert len({cell["id"] for cell in book.cells}) == len(book.cells)
    assert book.metadata.kernelspec.name == "python3"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_lesson_has_its_parts(path):
    prose = "\n".join(cell.source for cell in cells(path, "markdown"))
    for part in (
        "**Aims.**",
        "## 1. ",
        "redict first",
        "### Question 1",
        "## For the teacher: answers",
        "here the model fails",
        "Your own data",
        "**Sources.**",
        "simulation validates no process",
    ):
        if part == "simulation validates no process" and path.stem.startswith("e_"):
            part = "no validated shelf life"  # the caution that goes with storage
        assert part in prose, part
    asked = set(re.findall(r"### (Question \d)", prose))
    assert {name for name in asked if f"**{name}.**" in prose} == asked, "a question without an answer"
    tags = [tag for cell in cells(path, "code") for tag in cell.metadata.get("tags", [])]
    assert set(TAGS) <= set(tags)
    own = [cell.source for cell in cells(path, "code") if "own-data" in cell.metadata.get("tags", [])]
    assert all(source.startswith(("# YOUR DATA", "# YOUR PREDICTION")) for source in own)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_lesson_checks_what_it_says(path):
    source = "\n".join(cell.source for cell in cells(path, "code"))
    assert source.count("assert ") >= 4
    assert "plt.show" not in source  # a notebook shows its pictures itself


def test_files_and_options_that_lessons_name_are_there():
    from dryingsim.cli.main import app

    known = {command.name or command.callback.__name__ for command in app.registered_commands}
    known |= {group.name for group in app.registered_groups}
    root = LESSONS.parents[1]
    for path in NOTEBOOKS:
        prose = "\n".join(cell.source for cell in cells(path, "markdown"))
        for command in re.findall(r"`dryingsim (\w+)", prose):
            assert command in known, f"{path.name}: {command}"
        for file in re.findall(r"`((?:shared|examples|validation)/[\w./]+\.\w+)`", prose):
            assert (root / file).is_file(), f"{path.name}: {file}"
