"""What is shown, on whatever: a document of blocks. `terminal`, `html` and `pdf` set it; `data` is for other programs."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dryingsim.show.core.tables import BRIEF_CAUTION, CAUTION, Table


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a document: its `text`."""

    text: str


class Spare(str):
    """A line of an answer that is told with the details alone where a first screen would be too long."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """A paragraph's `text`; with a `label` an answer, which may have several lines and be `grave`: what to mind first.

    `spare` are the numbers of lines that are `Spare`.
    """

    text: str
    label: str = ""
    grave: bool = False
    spare: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """A ruled table to write in, `heads` over `rows`; an empty cell is one to fill.

    `widths` are shares of the page; `tall` rows hold handwriting.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    tall: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture under its `title`: `key` is a word, `message` what it says, `caption` how to read it.

    `draw` draws on the axes it is given (of matplotlib).
    """

    key: str
    title: str
    message: str
    draw: Callable[[Any], object]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """A `text` that says what the numbers are not, and what to do."""

    text: str


@dataclass(frozen=True, slots=True)
class Detail:
    """What is told on request: `blocks` that are folded away behind a `title` until somebody asks."""

    title: str
    blocks: "Sequence[Block]"


Block = Heading | Sentence | Caution | Table | Form | Picture | Detail


@dataclass(frozen=True, slots=True)
class Document:
    """What is told of one thing, under its `title`.

    What stands among its `blocks` before the first `Detail` is the first screen, of `most_lines` on a terminal; `data` returns
    the same as plain values in SI.
    """

    title: str
    blocks: Sequence[Block]
    data: Callable[[], dict[str, Any]] = dict
    most_lines: int = 15


def form(columns: Mapping[str, float], rows: Iterable[Sequence[str]], *, tall: bool = False) -> Form:
    """Return a form by the heads of its columns, each with its share of the page."""
    return Form(tuple(columns), tuple(map(tuple, rows)), tuple(columns.values()), tall)


def picked(record: object, *names: str) -> dict[str, Any]:
    """Return some fields of a record by name, for the plain values of a document."""
    return {name: getattr(record, name) for name in names}


def sentences(*texts: str) -> list[Block]:
    """Return paragraphs without a label."""
    return _blocks(texts)


def _blocks(parts: Iterable[Block | str]) -> list[Block]:
    return [Sentence(part) if isinstance(part, str) else part for part in parts]


def labelled(answers: Mapping[str, Sequence[str]], grave: str = "") -> list[Block]:
    """Return answers under what they are for, in capitals, one of them `grave`; those without a line are left out."""
    return [
        Sentence("\n".join(lines), label, label == grave, _spare(lines))
        for label, lines in answers.items()
        if lines
    ]


def _spare(lines: Sequence[str]) -> tuple[int, ...]:
    return tuple(number for number, line in enumerate(lines) if isinstance(line, Spare))


def screen(
    title: str,
    first: Iterable[Block | str],
    details: Mapping[str, Iterable[Block | str]],
    data: Callable[[], dict[str, Any]],
    cautions: tuple[str, str] | None = (BRIEF_CAUTION, CAUTION),
    most_lines: int = 15,
) -> Document:
    """Return a document as every command has it: answers, a caution in brief, and behind it the details.

    Answers and details are blocks or paragraphs, these by title and left out where there are none; `cautions` are in brief,
    and whole.
    """
    told = {name: _blocks(parts) for name, parts in details.items()}
    folded = [Detail(name, blocks) for name, blocks in told.items() if blocks]
    brief = []
    if cautions is not None:
        brief, folded = [Caution(cautions[0])], [*folded, Detail("cautions", [Caution(cautions[1])])]
    return Document(title, [*_blocks(first), *brief, *folded], data, most_lines)
