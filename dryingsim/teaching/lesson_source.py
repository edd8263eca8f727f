"""A lesson as it is written: one file, taken apart into cells, each for the student, for the teacher, or for the check.

The file is Python whose cells begin with a line `# %%`:

    # %% [markdown]               prose, in one string; the first is the title with the aims
    # %%                          code that both see and run
    # %% [markdown] task 3, read  what is asked, and of which level (`LEVELS`)
    # %% start 3                  what the student completes: every name with `...` in place of the answer
    # %% answer 3                 the same names with the answer, for the teacher
    # %% check 3                  tries the answer out with `near`, `chosen`, `holds`; neither sees it
    # %% [markdown] note 3        what the teacher may say to it
    # %% own                      a place for the class's own data

A lesson so cannot have an answer without a task, nor a task without a check.
"""

import ast
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, cast, get_args

from dryingsim.batch.checks import check_choice
from dryingsim.batch.shared_file import shipped_file
from dryingsim.errors import InputError

Kind = Literal["text", "code", "own", "task", "start", "answer", "check", "note", "end"]
Form = Literal["student", "teacher"]
FORMS: tuple[Form, ...] = get_args(Form)
# from reading a picture to writing a model, with which a lesson ends
LEVELS = {
    "read": "read a picture",
    "reckon": "by hand",
    "run": "change a setting",
    "explain": "explain",
    "write": "write a model",
}
_HEADER = re.compile(
    r"^# %%(?P<prose> \[markdown\])?(?: (?P<kind>own|task|start|answer|check|note)(?: (?P<number>\d+))?(?:, (?P<level>\w+))?)?$"
)
_PARTS = ("task", "start", "answer", "check")
_PROSE = ("task", "note")
_SEEN: dict[Form, tuple[Kind, ...]] = {
    "student": ("text", "code", "own", "task", "start"),
    "teacher": ("text", "code", "own", "task", "answer", "note"),
}


@dataclass(frozen=True, slots=True)
class Cell:
    """A piece of a lesson.

    Attributes
    ----------
    kind : Kind
    source : str
        Prose or code.
    task : int
        Whose part it is; 0: of none.
    level : str
        Of a task, from `LEVELS`.
    """

    kind: Kind
    source: str
    task: int = 0
    level: str = ""

    @property
    def is_prose(self) -> bool:
        """Whether it is to be read, not run."""
        return self.kind in ("text", *_PROSE)


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson.

    Attributes
    ----------
    name : str
        Of its file, without the ending.
    cells : tuple of Cell
    """

    name: str
    cells: tuple[Cell, ...]

    @property
    def title(self) -> str:
        """The first heading."""
        return self.cells[0].source.partition("\n")[0].lstrip("# ")

    @property
    def tasks(self) -> tuple[int, ...]:
        """Numbers of the tasks, from 1."""
        return tuple(cell.task for cell in self.cells if cell.kind == "task")

    def part(self, kind: Kind, task: int) -> Cell:
        """Return a part of a task."""
        return next(cell for cell in self.cells if (cell.kind, cell.task) == (kind, task))

    def answered_names(self, task: int) -> tuple[str, ...]:
        """Return the names that the student's cell of a task is to give a value."""
        return assigned(self.part("start", task).source)

    def form(self, form: Form) -> tuple[Cell, ...]:
        """Return the cells of a form; those of a task end with the call of its check, and all end with where one stands."""
        cells = [_with_check(cell) for cell in self.cells if cell.kind in _SEEN[form]]
        return (*cells, Cell("end", "check.summary()"))


def _with_check(cell: Cell) -> Cell:
    if cell.kind not in ("start", "answer"):
        return cell
    return Cell(cell.kind, f"{cell.source}\n\ncheck({cell.task})", cell.task)


def assigned(source: str) -> tuple[str, ...]:
    """Return the names that code gives a value or defines as functions, at its outermost level."""
    names: list[str] = []
    for statement in ast.parse(source).body:
        if isinstance(statement, ast.FunctionDef):
            names.append(statement.name)
        elif isinstance(statement, ast.Assign):
            names += [
                node.id
                for target in statement.targets
                for node in ast.walk(target)
                if isinstance(node, ast.Name)
            ]
    return tuple(dict.fromkeys(names))


def parse_lesson(text: str, name: str) -> Lesson:
    """Take a lesson apart.

    Parameters
    ----------
    text : str
        Of its file.
    name : str
        What messages call it.

    Raises
    ------
    InputError
        If a cell's head cannot be read, or a task lacks a part.
    """
    cells: list[Cell] = []
    lines = text.splitlines()
    heads = [i for i, line in enumerate(lines) if line.startswith("# %%")]
    for begin, end in zip(heads, [*heads[1:], len(lines)], strict=True):
        cells.append(
            _cell(lines[begin], "\n".join(lines[begin + 1 : end]).strip(), f"{name}.py, line {begin + 1}")
        )
    lesson = Lesson(name, tuple(cells))
    _check_whole(lesson)
    return lesson


def _cell(head: str, body: str, place: str) -> Cell:
    read = _HEADER.match(head)
    if read is None:
        raise InputError(f"{place}: {head!r} begins no cell; '# %% [markdown] task 1, read' would")
    kind = cast(Kind, read["kind"] or ("text" if read["prose"] else "code"))
    number, level = int(read["number"] or 0), read["level"] or ""
    if bool(read["prose"]) != (kind in ("text", *_PROSE)):
        raise InputError(f"{place}: {head!r}: prose, and only prose, is marked [markdown]")
    if (kind in (*_PARTS, "note")) != (number > 0):
        raise InputError(f"{place}: {head!r}: the number of its task is expected")
    if kind == "task":
        check_choice(f"{place}, level", level, LEVELS)
    return Cell(kind, _prose(body, place) if read["prose"] else body, number, level)


def _prose(body: str, place: str) -> str:
    try:
        text = ast.literal_eval(body)
    except (SyntaxError, ValueError):
        text = None
    if not isinstance(text, str):
        raise InputError(f'{place}: prose stands in one string, r"""..."""')
    return text.strip()


def _check_whole(lesson: Lesson) -> None:
    if not lesson.cells or lesson.cells[0].kind != "text" or not lesson.cells[0].source.startswith("# "):
        raise InputError(f"{lesson.name}: a lesson begins with prose and its title, '# Title'")
    if lesson.tasks != tuple(range(1, len(lesson.tasks) + 1)):
        raise InputError(f"{lesson.name}: tasks are numbered 1, 2, 3 ..., not {lesson.tasks}")
    for kind in _PARTS:
        parts = [cell.task for cell in lesson.cells if cell.kind == kind]
        if sorted(parts) != list(lesson.tasks):
            raise InputError(f"{lesson.name}: each task has one part '{kind}'; found those of {parts}")
    for task in lesson.tasks:
        answers = assigned(lesson.part("answer", task).source)
        lacking = [one for one in lesson.answered_names(task) if one not in answers]
        if lacking or not lesson.answered_names(task):
            raise InputError(
                f"{lesson.name}, task {task}: its answer gives no value to {lacking or 'any name'}"
            )


def lesson_names() -> Sequence[str]:
    """Return the names of the lessons that come with the package, in their order."""
    return sorted(path.stem for path in _folder().glob("[a-z]_*.py"))


@cache
def read_lesson(name: str) -> Lesson:
    """Return a lesson that comes with the package.

    Parameters
    ----------
    name : str
        One of `lesson_names`.

    Examples
    --------
    >>> read_lesson("a_meat_and_air").tasks[:3]
    (1, 2, 3)
    """
    check_choice("lesson", name, {known: known for known in lesson_names()})
    return parse_lesson((_folder() / f"{name}.py").read_text(encoding="utf-8"), name)


def _folder() -> Path:
    return shipped_file("examples/lessons/README.md").parent
