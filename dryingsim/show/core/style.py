"""What makes the pictures one family: colours, sizes, names of lines, frames.

The lines are drawn in the hues of Okabe & Ito (2008), told apart with any colour vision; all but green are darkened, until
they stand out three to one from white paper and still from each other, as the Web Content Accessibility Guidelines (WCAG
2.1, 1.4.11) ask of lines. Words in the colour of a line are darker still (`ink`): of text they ask 4.5 to one (1.4.3).
Each colour has a lighter twin for dark paper. Colours keep their meaning: blue is water, red the air's heat, black the
meat.

Figures are made without pyplot, so nothing is shared between them and none needs closing; but where pyplot is in use, or a
notebook runs, a picture that is given no axes is one of pyplot's, so that it shows.
"""

import sys
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

BLUE, SKY, GREEN = "#005a94", "#3c9ad3", "#009e73"
ORANGE, RED, PURPLE = "#c98400", "#c4420a", "#c4649a"
BLACK, GREY = "#000000", "#767676"
LINE_COLOURS = (BLUE, GREEN, RED, PURPLE, ORANGE, SKY, BLACK)
PAPER = "#ffffff"
# the colour of words beside a line of a colour
INKS = {
    BLUE: BLUE,
    SKY: "#1f74ab",
    GREEN: "#007a56",
    ORANGE: "#8f5e00",
    RED: RED,
    PURPLE: "#a2447a",
    BLACK: BLACK,
    GREY: "#5f5f5f",
}
# on dark paper: a line, and the words beside it
DARK = {
    BLUE: "#4aa3e8",
    SKY: "#a3d8fa",
    GREEN: "#2fc79c",
    ORANGE: "#f2b632",
    RED: "#ff8a4c",
    PURPLE: "#eba3cb",
    BLACK: "#f0f0f0",
    GREY: "#a6abb0",
}
DARK_PAPER = "#16191d"
MAP_DARK, MAP_LIGHT = "#1a1a1a", "#fdfdfd"  # words and lines on a map, which keeps its colours on any paper
# colour maps, all rising in darkness alone, so that no hue has to be told apart
MOISTURE_MAP, HEAT_MAP, REDUCTION_MAP = "Blues", "Oranges", "cividis"

# fonts of many systems that have Chinese, Japanese and Korean letters
_WIDE_FONTS = (
    "Noto Sans CJK JP",
    "Noto Sans CJK SC",
    "WenQuanYi Zen Hei",
    "Hiragino Sans",
    "PingFang SC",
    "Yu Gothic",
    "Microsoft YaHei",
    "Malgun Gothic",
)

AXES_SIZE = (7.0, 4.2)  # inches, of a picture on its own
WIDE_SHEET, TALL_SHEET = (10.0, 4.4), (10.0, 6.4)


@contextmanager
def own_settings(**settings: Any) -> Iterator[None]:
    """Draw with the family's settings, whatever a person's own are, and with what was typed as it was typed.

    A title may hold dollar signs, which matplotlib would take for mathematics, and letters that its own font lacks:
    another font lends them where one is installed, else a box stands for each.
    """
    with matplotlib.rc_context(), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        matplotlib.rcdefaults()
        matplotlib.rcParams["text.parse_math"] = False
        matplotlib.rcParams["axes.formatter.useoffset"] = False  # which would stand above the axes
        matplotlib.rcParams["axes.titley"] = 1.0  # so no title need look for its place
        matplotlib.rcParams["svg.hashsalt"] = "dryingsim"
        matplotlib.rcParams["font.family"] = ["DejaVu Sans", *_lending_fonts()]
        matplotlib.rcParams.update(settings)  # type: ignore[arg-type]
        yield


@cache
def _lending_fonts() -> tuple[str, ...]:
    """Return installed fonts that have the letters of many scripts."""
    from matplotlib.font_manager import fontManager

    known = {font.name for font in fontManager.ttflist}
    return tuple(name for name in _WIDE_FONTS if name in known)


def ink(colour: object) -> object:
    """Return the colour of words beside a line of a colour; one of no family stays as it is."""
    return INKS.get(colour, colour) if isinstance(colour, str) else colour


def new_axes(size: tuple[float, float] = AXES_SIZE) -> Axes:
    """Return axes on a new figure of their own: one that shows, where pyplot is in use or a notebook runs."""
    pyplot = sys.modules.get("matplotlib.pyplot") or _pyplot_of_notebook()
    make: Any = pyplot.figure if pyplot else Figure
    axes: Axes = make(figsize=size, layout="constrained").add_subplot()
    return axes


def _pyplot_of_notebook() -> Any:
    """Return pyplot if a notebook (or another IPython) runs, which shows pyplot's figures."""
    running = getattr(sys.modules.get("IPython"), "get_ipython", lambda: None)()
    if running is None:
        return None
    import matplotlib.pyplot as plt

    return plt


def open_frame(axes: Axes) -> None:
    """Take away the frame's upper and right side."""
    axes.spines[["top", "right"]].set_visible(False)


def line_share(axes: Axes, size: float = 10.0) -> float:
    """Return the height of a line of text [points], with its gap, as a share of the height of axes."""
    inches = axes.get_position().height * axes.get_figure(root=True).get_figheight()  # type: ignore[union-attr]
    return 1.45 * size / (72.0 * inches)


def room_for(axes: Axes, names: Sequence[str], size: float = 10.0) -> float:
    """Return the share of the width of axes that names at the ends of lines need; letters are 0.62 of their size [points]."""
    inches = axes.get_position().width * axes.get_figure(root=True).get_figwidth()  # type: ignore[union-attr]
    return min((8.0 + 0.62 * size * max(map(len, names))) / (72.0 * inches), 0.45) if names else 0.0


def name_lines(axes: Axes, x: float, ends: Sequence[tuple[float, str, str]], *, joined: bool = True) -> None:
    """Write each line's name at its end; apart where names would overlap, joined where lines meet.

    Parameters
    ----------
    axes : matplotlib Axes
        Its limits are set.
    x : float
        Where the lines end.
    ends : sequence of (float, str, str)
        Last value, name and colour of each line; values that are not numbers are left out.
    joined : bool
        Whether lines that meet share a line of words; else each has its own.
    """
    gap = line_share(axes)
    scale = axes.transScale + axes.transLimits
    shares = [
        (float(scale.transform((x, value))[1]), name, colour)
        for value, name, colour in ends
        if np.isfinite(value)
    ]
    named: list[tuple[float, str, str]] = []
    for share, name, colour in sorted(shares):
        if joined and named and share - named[-1][0] < 0.15 * gap:
            named[-1] = (named[-1][0], f"{named[-1][1]}, {name}", named[-1][2])
        else:
            named.append((share, name, colour))
    places: list[float] = []
    for share, _, _ in named:
        places.append(max(share, places[-1] + gap) if places else max(share, 0.45 * gap))
    excess = max(0.0, places[-1] - (1.0 - 0.3 * gap)) if places else 0.0
    for place, (_, name, colour) in zip(places, named, strict=True):
        axes.annotate(
            name,
            (x, place - excess),
            (5.0, 0.0),
            xycoords=axes.get_xaxis_transform(),
            textcoords="offset points",
            va="center",
            color=ink(colour),
            annotation_clip=False,
        )
