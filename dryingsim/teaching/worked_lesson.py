"""A lesson that is run from top to bottom, as its teacher's notebook would run it, and what each cell showed."""

import ast
import io
from collections.abc import Callable
from contextlib import redirect_stdout
from dataclasses import dataclass
from typing import Any

from dryingsim.teaching.lesson_source import Cell, Lesson
from dryingsim.teaching.notebook import code_of


@dataclass(frozen=True, slots=True)
class Shown:
    """What a cell of code showed.

    Attributes
    ----------
    cell : Cell
    text : str
        Printed, and the value of its last line.
    html : str
        Of that value, if it has a form for pages.
    pictures : list of (str, str)
        SVG, and in words.
    """

    cell: Cell
    text: str
    html: str
    pictures: list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class WorkedLesson:
    """A lesson, the cells of its teacher's form with what they showed, and the names they left.

    Attributes
    ----------
    shown : tuple[Shown, ...]
        Each cell with what it showed.
    """

    lesson: Lesson
    shown: tuple[Shown, ...]
    names: dict[str, Any]


def work_through(lesson: Lesson, take_pictures: Callable[[], list[tuple[str, str]]] = list) -> WorkedLesson:
    """Run the teacher's form of a lesson.

    Parameters
    ----------
    lesson : Lesson
    take_pictures : callable
        Returns what was drawn since it was last called, see `show.lessons.pictures.collected_pictures`.
    """
    names: dict[str, Any] = {"__name__": "__main__"}
    shown = tuple(
        Shown(cell, "", "", []) if cell.is_prose else _run(cell, names, take_pictures)
        for cell in lesson.form("teacher")
    )
    return WorkedLesson(lesson, shown, names)


def _run(cell: Cell, names: dict[str, Any], take_pictures: Callable[[], list[tuple[str, str]]]) -> Shown:
    """Run a cell of code as a notebook does: the value of its last line is shown."""
    tree, value = ast.parse(code_of(cell)), None
    last = tree.body.pop() if tree.body else None
    if last is not None and not isinstance(last, ast.Expr):
        tree.body.append(last)
        last = None
    printed = io.StringIO()
    with redirect_stdout(printed):
        exec(compile(tree, "lesson", "exec"), names)
        if last is not None:
            value = eval(compile(ast.Expression(last.value), "lesson", "eval"), names)
    page = getattr(value, "_repr_html_", None)
    words = "" if value is None or page or hasattr(value, "get_figure") else f"{value!r}\n"
    return Shown(cell, printed.getvalue() + words, page() if page else "", take_pictures())
