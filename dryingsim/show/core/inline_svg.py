"""Pictures as part of an HTML page: SVG whose words stay words and whose colours follow the page, light or dark.

matplotlib writes every colour of `dryingsim.show.core.style` as a number; here it becomes a CSS variable of the page. What a
picture does not need inside a page goes: marks nobody refers to, digits nobody sees.
"""

import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.plain_text import html_text as escape
from dryingsim.show.core import style

PICTURE_SIZE = (4.2, 3.4)  # inches: 302 points wide, so that words keep their size on a narrow screen
_MARGINS = {"left": 0.16, "right": 0.975, "bottom": 0.145, "top": 0.975}
_NAMES = {
    style.BLUE: "blue",
    style.SKY: "sky",
    style.GREEN: "green",
    style.ORANGE: "orange",
    style.RED: "red",
    style.PURPLE: "purple",
    style.BLACK: "black",
    style.GREY: "grey",
}
_VARIABLES = (
    {colour: f"--{name}" for colour, name in _NAMES.items()}
    | {style.INKS[colour]: f"--{name}-ink" for colour, name in _NAMES.items() if style.INKS[colour] != colour}
    | {style.PAPER: "--paper"}
)
_STYLE: dict[str, Any] = {"svg.fonttype": "none", "font.size": 10.0}


def css_variables(*, dark: bool) -> dict[str, str]:
    """Return the colours of the page's pictures by the names of their CSS variables."""
    if not dark:
        return {name: colour for colour, name in _VARIABLES.items()}
    lines = {f"--{name}": style.DARK[colour] for colour, name in _NAMES.items()}
    inks = {f"--{name}-ink": style.DARK[colour] for colour, name in _NAMES.items()}
    return {name: (lines | inks | {"--paper": style.DARK_PAPER})[name] for name in _VARIABLES.values()}


@contextmanager
def picture_settings() -> Iterator[None]:
    """Draw with the settings of the pages' pictures, whatever a person's own are."""
    with style.own_settings(**_STYLE):
        yield


def inline_svg(key: str, title: str, message: str, draw: Callable[[Axes], object]) -> str:
    """Draw a picture and return it as an SVG element for a page.

    Parameters
    ----------
    key : str
        Of the picture in the page, a word.
    title, message : str
        What it is, and what it says in numbers: what a screen reader tells.
    draw : callable
        Draws on the axes it is given. Their title is left to the page.
    """
    sheet = Figure(figsize=PICTURE_SIZE)
    axes = sheet.add_axes(
        (
            _MARGINS["left"],
            _MARGINS["bottom"],
            _MARGINS["right"] - _MARGINS["left"],
            _MARGINS["top"] - _MARGINS["bottom"],
        )
    )
    draw(axes)
    for where in ("left", "center", "right"):
        axes.set_title("", loc=where)
    for each in sheet.axes:
        each.patch.set_visible(False)
    sheet.patch.set_visible(False)
    text = io.StringIO()
    sheet.savefig(text, format="svg", metadata={"Date": None})
    return _within_page(text.getvalue(), key, title, message)


def _within_page(text: str, key: str, title: str, message: str) -> str:
    body = text[text.index("<svg") :]
    head, _, body = body.partition(">")
    box = re.search(r'viewBox="([^"]+)"', head)
    assert box is not None  # every SVG of matplotlib has one
    for useless in (
        r"<metadata>.*?</metadata>",
        r"<!--.*?-->",
        r"<style[^>]*>.*?</style>",
        r"<defs>\s*</defs>",
    ):
        body = re.sub(useless, "", body, flags=re.DOTALL)
    body = body.replace("xlink:href", "href")
    kept = set(re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', body))
    wanted = {one or other for one, other in kept}
    body = re.sub(r' id="([^"]+)"', lambda m: f' id="{key}-{m[1]}"' if m[1] in wanted else "", body)
    body = re.sub(r'(href="#|url\(#)', rf"\g<1>{key}-", body)
    body = re.sub(r"font: (?:\w+ )*?(bold )?([\d.]+)px [^;\"]*", _font, body)
    body = re.sub(r" font-family: [^;\"]*;?", "", body)  # the page's own
    body = re.sub(r'(?<= )(?:d|x|y|transform)="[^"]+"', lambda m: re.sub(r"-?\d+\.\d+", _short, m[0]), body)
    body = body.replace(' clip-rule="evenodd"', "").replace('transform="rotate(-0', 'transform="rotate(0')
    body = re.sub(r"(?<=[ :])#[0-9a-f]{6}\b", lambda m: _colour(m[0]), body)
    body = re.sub(r"\s*\n\s*", "\n", body)
    return (
        f'<svg class="pic" viewBox="{box[1]}" role="img" aria-labelledby="{key}-title {key}-desc">'
        f'<title id="{key}-title">{escape(title)}</title><desc id="{key}-desc">{escape(message)}</desc>{body.strip()}'
    )


def _font(found: re.Match[str]) -> str:
    return f"font-size: {found[2]}px" + ("; font-weight: bold" if found[1] else "")


def _short(found: re.Match[str]) -> str:
    return f"{float(found[0]):.1f}".removesuffix(".0")


def _colour(colour: str) -> str:
    return f"var({_VARIABLES[colour]})" if colour in _VARIABLES else colour
