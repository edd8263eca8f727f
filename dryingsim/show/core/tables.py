"""Tables as a person reads them, and the caution that goes with everything."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from dryingsim.plain_text import visible
from dryingsim.properties.diffusivity import LABORATORY_SPREAD
from dryingsim.show.core.quantities import clock
from dryingsim.show.lethality.words import CAUTIONS

if TYPE_CHECKING:
    from rich.table import Table as DrawnTable

WIDTH = 80  # columns of plain text
CAUTION = " ".join(CAUTIONS)
SPREAD = (
    f"Laboratories differ by a factor of {LABORATORY_SPREAD[1]:g} either way on how fast water moves "
    "through meat: go by the weight, not by the clock."
)
BRIEF_CAUTION = (
    "Estimates, which validate no process; dry meat may hold live bacteria. Measure the meat itself; to sell, ask a process "
    "authority. 5 log = one in 100,000 left."
)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: three lines of `heading`, the last one the unit, and `cells`; flush right, or `left`."""

    heading: tuple[str, str, str]
    cells: list[str]
    left: bool = False

    def set(self, text: str, width: int) -> str:
        """Return a cell at its place in the column."""
        return text.ljust(width) if self.left else text.rjust(width)


@dataclass(frozen=True, slots=True)
class Table:
    """A table: `columns`, with `notes` on what their short headings mean; `ends` are the rows that end a group of rows.

    `name` is what a screen reader calls it; one that `wraps` holds words, which a page breaks into lines; a `spare` one is
    left to the details where a first screen would be too long without its spare lines too.
    """

    columns: list[Column]
    notes: list[str] = field(default_factory=list)
    ends: set[int] = field(default_factory=set)
    name: str = ""
    wraps: bool = False
    spare: bool = False

    def headings(self) -> list[tuple[str, ...]]:
        """Return the lines of the headings that hold anything."""
        lines = zip(*(column.heading for column in self.columns), strict=True)
        return [line for line in lines if any(line)]


def word_columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[Column]:
    """Return the columns of a table of words, flush left, from its rows."""
    return [
        Column(("", head, ""), list(cells), left=True)
        for head, cells in zip(heads, zip(*rows, strict=True), strict=True)
    ]


def clock_or_dash(seconds: float | None) -> str:
    """Return a time as hours and minutes; a dash for one that was not reached (None or nan)."""
    return "-" if seconds is None or np.isnan(seconds) else clock(seconds)


def aligned(columns: list[Column]) -> list[str]:
    """Return the lines of a table as plain text."""
    widths = [max(map(len, (*column.heading, *column.cells))) for column in columns]
    lines = [*Table(columns).headings(), tuple("-" * width for width in widths)]
    lines += [*zip(*(column.cells for column in columns), strict=True)]
    rows = (zip(columns, line, widths, strict=True) for line in lines)
    return ["  ".join(column.set(cell, width) for column, cell, width in row).rstrip() for row in rows]


def plain(tables: list[Table]) -> str:
    """Return tables as plain text with their notes, at most 80 columns wide."""
    parts = []
    for one in tables:
        parts.append("\n".join(aligned(one.columns)))
        if one.notes:
            parts.append("\n".join(map(wrapped, one.notes)))
    return "\n\n".join(parts)


def drawn(table: Table) -> "DrawnTable":
    """Return a table with rules and colour, for a terminal."""
    from rich import box
    from rich.table import Table as DrawnTable

    found = DrawnTable(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for number, (column, *heading) in enumerate(zip(table.columns, *table.headings(), strict=True)):
        style = "bold" if number == 0 else "cyan" if column.heading[2].startswith("°") else None
        side = "left" if column.left else "right"
        found.add_column(visible("\n".join(heading)), justify=side, no_wrap=True, style=style)  # type: ignore[arg-type]
    for row, cells in enumerate(zip(*(column.cells for column in table.columns), strict=True)):
        found.add_row(*map(visible, cells), end_section=row in table.ends)
    return found


def wrapped(text: str) -> str:
    """Return a paragraph broken into lines of at most 80 columns."""
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, break_long_words=False)
