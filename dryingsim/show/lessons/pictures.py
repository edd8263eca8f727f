"""Pictures and formulas of a notebook that runs without one: each as SVG text."""

import io
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache

from matplotlib.axes import Axes

from dryingsim.show.core.style import own_settings

_SIZE = 13.0  # points, of formulas


@contextmanager
def collected_pictures() -> Iterator[Callable[[], list[tuple[str, str]]]]:
    """Collect what is drawn, without a window.

    Yields
    ------
    callable
        Returns the pictures drawn since it was last called, each as SVG and in words.
    """
    import matplotlib
    import matplotlib.pyplot as plt

    before = matplotlib.get_backend()
    plt.switch_backend("Agg")

    def take() -> list[tuple[str, str]]:
        drawn = []
        for number in plt.get_fignums():
            text = io.StringIO()
            figure = plt.figure(number)
            figure.savefig(text, format="svg", metadata={"Date": None})
            drawn.append((_element(text.getvalue()), "; ".join(map(_in_words, figure.axes))))
        plt.close("all")
        return drawn

    try:
        with own_settings():
            yield take
    finally:
        plt.close("all")
        plt.switch_backend(before)


@cache
def formula_picture(formula: str) -> tuple[str, float]:
    """Return a formula as SVG, and how far it reaches below the line of words, as a share of the size of its letters.

    Parameters
    ----------
    formula : str
        As LaTeX writes it, in what matplotlib understands of that, without dollar signs.
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.mathtext import math_to_image

    text = io.BytesIO()
    with own_settings(**{"mathtext.fontset": "stix", "text.parse_math": True}):
        depth = math_to_image(f"${formula}$", text, FontProperties(size=_SIZE), dpi=72, format="svg")
    svg = re.sub(
        r'(width|height)="([\d.]+)pt"',
        lambda m: f'{m[1]}="{float(m[2]) / _SIZE:.3f}em"',
        text.getvalue().decode(),
        count=2,
    )
    return _element(svg), float(depth) / _SIZE


def _in_words(axes: Axes) -> str:
    """Return what a picture shows, for those who cannot see it: its axes and what is written in it."""
    title, legend = axes.get_title(loc="left") or axes.get_title(), axes.get_legend()
    texts = [*axes.texts, *(legend.get_texts() if legend else ())]
    named = ", ".join(text.get_text() for text in texts if text.get_text())
    return f"{title + ': ' if title else ''}{axes.get_ylabel()} over {axes.get_xlabel()}{': ' + named if named else ''}"


def _element(svg: str) -> str:
    body = re.sub(r"<metadata>.*?</metadata>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    return re.sub(r"-?\d+\.\d{3,}", lambda m: f"{float(m[0]):.4g}", body)
