"""A form of a lesson as a notebook file, without output."""

import ast
import json

from dryingsim.teaching.lesson_source import LEVELS, Cell, Form, Lesson


def notebook(lesson: Lesson, form: Form) -> str:
    """Return the text of a notebook, format 4.5.

    Parameters
    ----------
    lesson : Lesson
    form : Form
        "student" or "teacher".

    Examples
    --------
    >>> from dryingsim.teaching.lesson_source import read_lesson
    >>> json.loads(notebook(read_lesson("a_meat_and_air"), "student"))["nbformat"]
    4
    """
    cells = [_cell(cell, f"{lesson.name[0]}-{place:02d}") for place, cell in enumerate(lesson.form(form))]
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    book = {
        "cells": cells,
        "metadata": {"kernelspec": kernel, "language_info": {"name": "python"}},
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    return json.dumps(book, indent=1, ensure_ascii=False) + "\n"


def prose_of(cell: Cell) -> str:
    """Return the Markdown of a cell that is read: a task under its number and level, a note as one."""
    if cell.kind == "task":
        return f"### Task {cell.task} ({LEVELS[cell.level]})\n\n{cell.source}"
    if cell.kind == "note":
        return f"**For the teacher, task {cell.task}.** {cell.source}"
    return cell.source


def code_of(cell: Cell) -> str:
    """Return the code of a cell, under a line that says whose it is."""
    heads = {
        "own": "# your own\n",
        "start": f"# task {cell.task}: your answer in place of ...\n",
        "answer": "",
    }
    return heads.get(cell.kind, "") + cell.source


def _cell(cell: Cell, key: str) -> dict[str, object]:
    tags = {"metadata": {"tags": [cell.kind]} if cell.kind not in ("text", "code") else {}, "id": key}
    if cell.is_prose:
        return {"cell_type": "markdown", **tags, "source": prose_of(cell)}
    source = code_of(cell) + (
        ";" if _draws_last(cell.source) else ""
    )  # the picture alone, not its axes in words
    return {"cell_type": "code", **tags, "source": source, "execution_count": None, "outputs": []}


def _draws_last(code: str) -> bool:
    """Whether the last line of code draws a picture."""
    last = ast.parse(code).body[-1]
    if not (isinstance(last, ast.Expr) and isinstance(last.value, ast.Call)):
        return False
    function = last.value.func
    return (isinstance(function, ast.Name) and function.id == "lines") or (
        isinstance(function, ast.Attribute) and function.attr == "plot"
    )
