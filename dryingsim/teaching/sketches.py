"""Pictures of a lesson's own numbers, in the style of the package's pictures."""

import itertools
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_APART = 0.02  # of the height of a picture: nearer ends share a line of words


def lines(
    x: Any,
    curves: Mapping[str, Any],
    x_label: str,
    y_label: str,
    *,
    points: Mapping[str, tuple[Any, Any]] | None = None,
    logarithmic: str = "",
    axes: "Axes | None" = None,
) -> "Axes":
    """Draw curves with their names at their ends, and points.

    Parameters
    ----------
    x : ndarray
        In any unit, common to the curves.
    curves : mapping of ndarray
        By name.
    x_label, y_label : str
        With their units.
    points : mapping of (ndarray, ndarray), optional
        Measured or guessed values by name: places and values.
    logarithmic : str
        Axes with a logarithmic scale: "x", "y" or "xy".
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.

    Returns
    -------
    matplotlib Axes
    """
    from dryingsim.show.core import style

    axes = axes or style.new_axes()
    own = {"air": style.RED, "surface": style.ORANGE, "core": style.BLACK, "wet bulb": style.BLUE}
    free = itertools.cycle(style.LINE_COLOURS)
    named = _end_apart(curves)
    ends: list[tuple[float, str, str]] = []
    for name, values in curves.items():
        colour = own.get(name) or next(free)
        axes.plot(x, values, color=colour, linewidth=1.8, label="_" if named else name)
        ends.append((float(np.asarray(values, dtype=float)[-1]), name, colour))
    for (name, (places, values)), mark in zip((points or {}).items(), itertools.cycle("osD^v"), strict=False):
        axes.plot(places, values, mark, color="black", label=name, markersize=6)
    axes.set_xlabel(x_label)
    axes.set_ylabel(y_label)
    style.open_frame(axes)
    first, last = float(np.min(x)), float(np.max(x))
    room = style.room_for(axes, list(curves) if named else [])
    axes.set_xlim(
        first, last * (last / first) ** room if "x" in logarithmic else last + room * (last - first)
    )
    for which in logarithmic:
        _make_logarithmic(axes, which)
    if "x" not in logarithmic:
        axes.set_xticks([place for place in axes.get_xticks() if first <= place <= last])
    if named:
        style.name_lines(axes, last, ends)
    if points or not named:
        axes.legend(frameon=False)
    return axes


def _end_apart(curves: Mapping[str, Any]) -> bool:
    """Whether lines can be told by names at their ends: they end apart there, or are the same all along."""
    values = [np.asarray(one, dtype=float) for one in curves.values()]
    if len(values) < 2:
        return True
    height = max(float(np.nanmax(one)) for one in values) - min(float(np.nanmin(one)) for one in values)
    return all(
        abs(a[-1] - b[-1]) > _APART * height or float(np.nanmax(np.abs(a - b))) < _APART * height
        for a, b in itertools.combinations(values, 2)
    )


def _make_logarithmic(axes: "Axes", which: str) -> None:
    """Give an axis a logarithmic scale with plain numbers on it."""
    (axes.set_xscale if which == "x" else axes.set_yscale)("log")
    low, high = axes.get_xlim() if which == "x" else axes.get_ylim()
    decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    ticks = [step * 10.0**decade for decade in decades for step in (1, 2, 5)]
    shown = [tick for tick in ticks if low <= tick <= high]
    set_ticks = axes.set_xticks if which == "x" else axes.set_yticks
    set_ticks(shown, [f"{tick:g}" for tick in shown])
    set_ticks([], minor=True)
