"""Pictures of a lesson's own numbers, in the style of the package's pictures."""

import itertools
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes


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
    ends: list[tuple[float, str, str]] = []
    for name, values in curves.items():
        colour = own.get(name) or next(free)
        axes.plot(x, values, color=colour, linewidth=1.8)
        ends.append((float(np.asarray(values, dtype=float)[-1]), name, colour))
    for (name, (places, values)), mark in zip((points or {}).items(), itertools.cycle("osD^v"), strict=False):
        axes.plot(places, values, mark, color="black", label=name, markersize=6)
    for which in logarithmic:
        (axes.set_xscale if which == "x" else axes.set_yscale)("log")
    axes.set_xlabel(x_label)
    axes.set_ylabel(y_label)
    style.open_frame(axes)
    first, last = float(np.min(x)), float(np.max(x))
    room = style.room_for(axes, list(curves))
    axes.set_xlim(
        first, last * (last / first) ** room if "x" in logarithmic else last + room * (last - first)
    )
    if "x" not in logarithmic:
        axes.set_xticks([place for place in axes.get_xticks() if first <= place <= last])
    style.name_lines(axes, last, ends)
    if points:
        axes.legend(frameon=False)
    return axes
