"""What is shown, on whatever: a document of blocks. `terminal`, `html` and `pdf` set it; `data` is for other programs."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dryingsim.show.core.tables import BRIEF_CAUTION, CAUTION, Table


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a document.

    Attributes
    ----------
    text : str
        Of it.
    """

    text: str


@dataclass(frozen=True, slots=True)
class Sentence:
    """A paragraph; under a label one of the answers, which may have several lines, and may be `grave`: what to mind first.

    Attributes
    ----------
    text : str
        Of it.
    """

    text: str
    label: str = ""
    grave: bool = False


@dataclass(frozen=True, slots=True)
class Form:
    """A ruled table to write in; an empty cell is one to fill. `widths` are shares of the page; `tall` rows hold handwriting.

    Attributes
    ----------
    heads : tuple[str, ...]
        Of the columns.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    tall: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture: `key` is a word, `message` what it says; `draw` draws on the axes it is given (of matplotlib).

    `caption` says how to read it.

    Attributes
    ----------
    title : str
        Above it.
    """

    key: str
    title: str
    message: str
    draw: Callable[[Any], object]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """What the numbers are not, and what to do.

    Attributes
    ----------
    text : str
        Of it.
    """

    text: str


@dataclass(frozen=True, slots=True)
class Detail:
    """What is told on request: folded away until somebody asks.

    Attributes
    ----------
    title : str
        What is seen before.
    blocks : Sequence[Block]
        What is folded away.
    """

    title: str
    blocks: "Sequence[Block]"


Block = Heading | Sentence | Caution | Table | Form | Picture | Detail


@dataclass(frozen=True, slots=True)
class Document:
    """What is told of one thing.

    Attributes
    ----------
    title : str
    blocks : sequence of Block
        From the top down. What stands before the first `Detail` is the first screen.
    data : callable
        Returns the same as plain values in SI, for other programs.
    """

    title: str
    blocks: Sequence[Block]
    data: Callable[[], dict[str, Any]] = dict


def sentences(*texts: str) -> list[Block]:
    """Return paragraphs without a label."""
    return [Sentence(text) for text in texts]


def labelled(answers: Mapping[str, Sequence[str]], grave: str = "") -> list[Block]:
    """Return answers under what they are for, in capitals, one of them `grave`; those without a line are left out."""
    return [Sentence("\n".join(lines), label, label == grave) for label, lines in answers.items() if lines]


def screen(
    title: str,
    first: Sequence[Block],
    details: Mapping[str, Sequence[Block]],
    data: Callable[[], dict[str, Any]],
    cautions: tuple[str, str] = (BRIEF_CAUTION, CAUTION),
) -> Document:
    """Return a document as every command has it: answers, a caution in brief, and behind it the details.

    Parameters
    ----------
    title : str
    first : sequence of Block
        The answers.
    details : mapping
        What is told on request, by title; those without a block are left out.
    data : callable
        Returns plain values in SI.
    cautions : tuple of str
        In brief, and whole.
    """
    brief, whole = cautions
    folded = [Detail(name, blocks) for name, blocks in details.items() if blocks]
    return Document(title, [*first, Caution(brief), *folded, Detail("cautions", [Caution(whole)])], data)
