"""A document on a terminal: at most 80 columns, with rules and colour where there are any, plain where piped."""

import os
import re
import sys
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING, TextIO

from dryingsim.plain_text import visible
from dryingsim.show.core.document import Block, Caution, Detail, Document, Form, Heading, Picture, Sentence
from dryingsim.show.core.outlet import console_on
from dryingsim.show.core.tables import WIDTH, Table, aligned, drawn, wrapped

if TYPE_CHECKING:
    from rich.console import Console

_LABEL = 8  # columns for the label of an answer
_GLUE = "\N{NO-BREAK SPACE}"
_WITH_UNIT = re.compile(r"(?<=\d) (?=°|%|(?:g|h|min|mm|lb|oz|log)\b)|(?<=h) (?=\d\d\b)")
_STYLES: dict[type, str] = {Heading: "bold", Caution: "dim"}


def plain_text(document: Document, *, details: bool = False, tables: bool = True) -> str:
    """Return a document as plain text.

    With `details` what is folded away is told too, at the end; else only what there is. `tables` may be left out.
    """
    if not details:
        document = _fitted(document, tables=tables)
    return _plain(document, details=details, tables=tables)


def _plain(document: Document, *, details: bool, tables: bool) -> str:
    groups = _groups(document, details=details, tables=tables)
    parts = ["\n".join(line for block in group for line in _lines(block)) for group in groups]
    return "\n\n".join(filter(None, [wrapped(document.title), *parts]))


def print_document(
    document: Document, *, details: bool = False, tables: bool = True, file: TextIO | None = None
) -> None:
    """Print a document: with rules and colour on a terminal, plain where piped or where NO_COLOR is set.

    It goes to standard output unless a file is named. The rest is as for `plain_text`.
    """
    out = file or sys.stdout
    if not out.isatty() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        print(plain_text(document, details=details, tables=tables), file=out)
        return
    console = console_on(out)
    if not details:
        document = _fitted(document, tables=tables)
    console.print(visible(wrapped(document.title)), style="bold", markup=False)
    for group in _groups(document, details=details, tables=tables):
        console.print()
        for block in group:
            _print(console, block)


def _fitted(document: Document, *, tables: bool) -> Document:
    """Return a document without as many of its spare lines, the last first, as its first screen has lines too many."""
    while len(_plain(document, details=False, tables=tables).splitlines()) > document.most_lines:
        blocks = list(document.blocks)
        for number in sorted(range(len(blocks)), key=lambda i: (isinstance(blocks[i], Table), -i)):
            block = blocks[number]
            if isinstance(block, Sentence | Table) and block.spare:
                blocks[number : number + 1] = _shorter(block) if isinstance(block, Sentence) else []
                break
        else:
            return document
        document = replace(document, blocks=blocks)
    return document


def _shorter(sentence: Sentence) -> list[Sentence]:
    """Return a sentence without the last of its spare lines; none where it has no other line."""
    *spare, last = sentence.spare
    lines = sentence.text.split("\n")
    del lines[last]
    return [replace(sentence, text="\n".join(lines), spare=tuple(spare))] if lines else []


def _print(console: "Console", block: Block) -> None:
    if isinstance(block, Table):
        console.print(drawn(block))
        if block.notes:
            console.print()
        for note in block.notes:
            console.print(visible(wrapped(note)), style="dim", markup=False)
    else:
        text = visible("\n".join(_lines(block)))
        console.print(text, style=_STYLES.get(type(block)), markup=False, soft_wrap=True)


def _groups(document: Document, *, details: bool, tables: bool) -> list[list[Block]]:
    """Return the blocks that stand together: paragraphs do, each table by itself."""
    folded = [block for block in document.blocks if isinstance(block, Detail)]
    blocks = [block for block in document.blocks if not isinstance(block, Detail)]
    groups = _together(blocks, tables=tables)
    if not details and folded:
        titles = ", ".join(one.title for one in folded)
        hint = Caution(textwrap.shorten(f"More with --details: {titles}.", WIDTH, placeholder=" ..."))
        return [*groups[:-1], [*groups[-1], hint]] if isinstance(blocks[-1], Caution) else [*groups, [hint]]
    for one in folded if details else ():
        groups += _together([Heading(one.title), *one.blocks], tables=tables)
    return groups


def _together(blocks: Sequence[Block], *, tables: bool) -> list[list[Block]]:
    shown = [block for block in blocks if tables or not isinstance(block, Table)]

    def kind(block: Block) -> int:
        return id(block) if isinstance(block, Table) else 1 if isinstance(block, Caution) else 0

    return [list(group) for _, group in groupby(shown, kind)]


def _lines(block: Block) -> list[str]:
    if isinstance(block, Table):
        return [*aligned(block.columns), *([""] if block.notes else []), *map(wrapped, block.notes)]
    if isinstance(block, Detail | Form | Picture):
        return []
    if isinstance(block, Heading):
        return [block.text.upper()]
    if isinstance(block, Sentence) and block.label:
        texts = block.text.split("\n")
        return [_hung(text, "" if number else block.label) for number, text in enumerate(texts)]
    return [wrapped(block.text)]


def _hung(text: str, label: str) -> str:
    """Return a text beside its label, broken into lines that hang under it; a number stays with its unit."""
    return textwrap.fill(
        _WITH_UNIT.sub(_GLUE, text),
        WIDTH,
        initial_indent=f"{label:<{_LABEL}}",
        subsequent_indent=" " * _LABEL,
        break_on_hyphens=False,
        break_long_words=False,
    ).replace(_GLUE, " ")
