"""A document set on pages, as a PDF: black on white, for a pencil."""

import io
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from dryingsim._version import __version__
from dryingsim.show.core.document import Block, Caution, Document, Form, Heading, Picture, Sentence

PAPERS = {"metric": (595.3, 841.9), "us": (612.0, 792.0)}  # points: A4 and letter
_MARGIN, _FONT, _LEADING = 40.0, 8.5, 1.2  # points, points, -
_PICTURE = 230.0  # points: height of one, its words included
_BELOW_FORM = 9.0  # points
_FOOT = "Times and weights are computed by dryingsim; temperatures are to be measured."
_CHARACTER, _BOLD = (
    0.54,
    1.15,
)  # width of a letter over the size of the type, and of a bold one over it (estimate)


def pdf_of(document: Document, system: str, foot: str = _FOOT, made: str | None = None) -> bytes:
    """Return a document as a PDF, the same bytes for the same document.

    It sets headings, sentences, cautions, forms and pictures; `system` is "metric" (on A4) or "us" (on letter paper), `foot`
    stands at the foot of every page, and `made`, for the metadata, says where its numbers come from.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    from dryingsim.show.core.style import own_settings

    blocks, title, book = document.blocks, document.title, io.BytesIO()
    # text that can be searched; the fonts every reader has need no embedding, which takes a second, but have no other letters.
    with own_settings(**{"pdf.fonttype": 42, "pdf.use14corefonts": _is_western(blocks, title)}):
        pages = _filled(blocks, PAPERS[system], title)
        about = {"CreationDate": None, "Title": title, "Creator": f"dryingsim {__version__}", "Subject": made}
        with PdfPages(book, metadata=about) as drawn:
            for number, page in enumerate(pages, start=1):
                page.foot(f"page {number} of {len(pages)}. {foot}")
                drawn.savefig(page.figure)
    return book.getvalue()


def _is_western(content: Sequence[Block], title: str) -> bool:
    try:
        f"{title}{content}".encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def _filled(blocks: Sequence[Block], paper: tuple[float, float], title: str) -> "list[_Page]":
    """Set the blocks on pages; one that does not fit begins another, and no heading stands alone at the foot.

    Of a form as many rows stay as fit; the others go on under the same heads.
    """
    pages, left = [_Page(paper, title)], list(blocks)
    while left:
        page, block = pages[-1], left.pop(0)
        part, rest = page.split(block)
        needed = page.height_of(part)
        if isinstance(block, Heading) and left:
            needed += page.height_of(page.split(left[0], above=needed)[0])
        if page.room < needed and not page.empty:
            pages.append(_Page(paper, title))
            left.insert(0, block)
            continue
        page.add(part)
        if rest is not None:
            left.insert(0, rest)
    return pages


class _Page:
    """A page that is filled from the top down, in points."""

    def __init__(self, paper: tuple[float, float], title: str) -> None:
        import matplotlib
        from matplotlib.figure import Figure

        self.width, self.height = paper
        self.full = self.width - 2.0 * _MARGIN
        self.plain = "medium" if matplotlib.rcParams["pdf.use14corefonts"] else "normal"  # what each font has
        self.figure: Figure = Figure(figsize=(self.width / 72.0, self.height / 72.0))
        self.below = self.height - _MARGIN
        self.empty = True
        self._write(_MARGIN, self.below, textwrap.shorten(title, 56), size=13.0, weight="bold")
        self._write(self.width - _MARGIN, self.below, "date ____________", ha="right")
        self.below -= 24.0

    @property
    def room(self) -> float:
        """Height that is left [points]."""
        return self.below - _MARGIN

    def split(self, block: Block, above: float = 0.0) -> tuple[Block, Form | None]:
        """Return what of a block fits on this page below something of a height [points], and the rest of a form."""
        if not isinstance(block, Form) or self.height_of(block) <= self.room - above:
            return block, None
        ends = np.cumsum([high for _, high in self._rows(block)]) + _BELOW_FORM
        fit = int(np.count_nonzero(ends <= self.room - above)) - 1  # without the heads
        if fit < 1:
            return block, None
        return replace(block, rows=block.rows[:fit]), replace(block, rows=block.rows[fit:])

    def foot(self, text: str) -> None:
        """Write the last line."""
        self._write(_MARGIN, 30.0, text, size=7.0)

    def height_of(self, block: Block) -> float:
        """Height a block takes [points]."""
        if isinstance(block, Heading):
            return 18.0
        if isinstance(block, Sentence | Caution):
            return len(_broken(block.text, self.full)) * _FONT * _LEADING + 4.0
        if isinstance(block, Picture):
            return _PICTURE
        return sum(high for _, high in self._rows(block)) + _BELOW_FORM if isinstance(block, Form) else 0.0

    def add(self, block: Block) -> None:
        """Set a block below those that stand there."""
        self.empty = False
        if isinstance(block, Heading):
            self._write(_MARGIN, self.below - 3.0, block.text, size=10.0, weight="bold")
        elif isinstance(block, Sentence | Caution):
            self._lines(_MARGIN, self.below, _broken(block.text, self.full))
        elif isinstance(block, Form):
            self._grid(block)
        elif isinstance(block, Picture):
            self._picture(block)
        self.below -= self.height_of(block)

    def _picture(self, block: Picture) -> None:
        self._write(_MARGIN, self.below, block.title, weight="bold")
        left, low, room = _MARGIN + 30.0, self.below - _PICTURE + 40.0, _PICTURE - 60.0
        box = (left / self.width, low / self.height, (self.full - 40.0) / self.width, room / self.height)
        axes = self.figure.add_axes(box)
        block.draw(axes)
        axes.set_title("")

    def _edges(self, grid: Form) -> np.ndarray:
        return _MARGIN + self.full * np.concatenate([[0.0], np.cumsum(grid.widths) / sum(grid.widths)])

    def _rows(self, grid: Form) -> list[tuple[list[list[str]], float]]:
        """Lines of each cell, and the height of the row."""
        found, widths = [], np.diff(self._edges(grid)) - 6.0
        for number, row in enumerate((grid.heads, *grid.rows)):
            wider = 1.0 if number else _BOLD
            cells = [_broken(cell, width / wider) for cell, width in zip(row, widths, strict=True)]
            least = 15.0 if number == 0 else 22.0 if grid.tall else 17.0
            found.append((cells, max(max(map(len, cells)) * _FONT * _LEADING + 5.0, least)))
        return found

    def _grid(self, grid: Form) -> None:
        edges, top = self._edges(grid), self.below + 3.0
        left, right, level = float(edges[0]), float(edges[-1]), self.below + 3.0
        for number, (cells, high) in enumerate(self._rows(grid)):
            if number == 0:
                self._shade(left, level - high, right - left, high)
            for lines, edge in zip(cells, edges, strict=False):
                self._lines(float(edge) + 3.0, level - 4.0, lines, weight="normal" if number else "bold")
            self._rule((left, right), (level, level))
            level -= high
        self._rule((left, right), (level, level))
        for edge in edges:
            self._rule((float(edge), float(edge)), (top, level))

    def _lines(self, x: float, y: float, lines: list[str], **style: Any) -> None:
        for number, line in enumerate(lines):
            self._write(x, y - number * _FONT * _LEADING, line, **style)

    def _write(
        self, x: float, y: float, text: str, size: float = _FONT, weight: str = "normal", **style: Any
    ) -> None:
        if text:  # parse_math: a dollar sign is a dollar sign
            place = x / self.width, (y - 0.8 * size) / self.height
            heavy = weight if weight == "bold" else self.plain
            self.figure.text(*place, text, fontsize=size, fontweight=heavy, parse_math=False, **style)

    def _rule(self, x: tuple[float, float], y: tuple[float, float]) -> None:
        from matplotlib.lines import Line2D

        across, up = [one / self.width for one in x], [one / self.height for one in y]
        self.figure.add_artist(Line2D(across, up, color="black", linewidth=0.5))

    def _shade(self, x: float, y: float, width: float, height: float) -> None:
        from matplotlib.patches import Rectangle

        corner, size = (x / self.width, y / self.height), (width / self.width, height / self.height)
        self.figure.add_artist(Rectangle(corner, *size, facecolor="0.92", edgecolor="none"))


def _broken(text: str, width: float) -> list[str]:
    """Break a text into lines of about a width in points."""
    return textwrap.wrap(text, max(int(width / (_FONT * _CHARACTER)), 4)) or [""]
