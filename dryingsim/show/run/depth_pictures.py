"""Maps over depth and time: the slice as it shrinks, its moisture and its temperature at every height."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from dryingsim.history import History
from dryingsim.judge.taking_off import while_in
from dryingsim.kernels.grid import weights_at
from dryingsim.model.build import curve_of
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE
from dryingsim.show.core.quantities import Units, slices, slowest
from dryingsim.show.core.style import HEAT_MAP, MAP_DARK, MAP_LIGHT, MOISTURE_MAP, RED, new_axes, open_frame
from dryingsim.typing import Array

_MOISTURES = (0.1, 0.2, 0.4, 0.7, 1.0, 1.5, 2.0, 2.5, 3.0)  # kg/kg: lines that a map tells apart
_EVEN = np.linspace(0.0, 1.0, 41)  # places that a profile is drawn through, besides the nodes
_APART = 0.06  # of the time axis, between the names of two lines
_ROWS = 100  # records that a map is drawn from; more would only make its file larger


def heights(history: History, slab: int) -> Array:
    """Return the height [m] of each node of a slab above its lower face, shape (t, n): it falls as the slab shrinks."""
    slabs = history.slabs
    volume = slabs.volume(history.moisture_db)[:, :, slab]  # per dry solid
    layers = 0.5 * (volume[:, 1:] + volume[:, :-1]) * np.diff(slabs.nodes)
    places: Array = np.concatenate([np.zeros((layers.shape[0], 1)), np.cumsum(layers, axis=1)], axis=1)
    # straight lines between the nodes miss some thousandths of the thickness
    return places * (history.thickness_m[:, slab] / places[:, -1])[:, None]


def between(history: History) -> Array:
    """Return the weights that give what lies between the nodes of a slab, for smooth pictures; shape (n, places)."""
    nodes = history.slabs.nodes
    return weights_at(nodes, np.union1d(nodes, _EVEN))


def target_moisture_db(history: History) -> float:
    """Return the moisture at which the meat has the water activity aimed at, at 25 degC [kg/kg]."""
    target = history.batch.targets.water_activity
    return float(curve_of(history.batch).moisture(target, REFERENCE_TEMPERATURE))


def moisture_map(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the moisture at every height of the slowest slices over time, with the line of the target.

    The lower face lies at zero, the upper face sinks as the slice shrinks.

    Parameters
    ----------
    history : History
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.

    Returns
    -------
    matplotlib Axes
    """
    shown, axes, k = Units(history, units), axes or new_axes(), slowest(history)
    history = while_in(history, k)
    x = history.moisture_db[:, :, k]
    levels = [level for level in _MOISTURES if x.min() < level < x.max()]
    _map(axes, history, shown, x, levels, MOISTURE_MAP, k)
    target = target_moisture_db(history)
    if x.min() < target < x.max():
        place, height = _grid(history, shown, k)
        rows = _rows(history)
        axes.contour(place, height, x[rows] @ between(history), levels=[target], colors=[RED], linewidths=2.2)
    axes.set_title(f"Moisture in the {slices(history, shown, k)} ({shown.ratio}; thick: target)", loc="left")
    return axes


def temperature_map(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the temperature at every height of the slowest slices over time. Parameters as for `moisture_map`."""
    shown, axes, k = Units(history, units), axes or new_axes(), slowest(history)
    history = while_in(history, k)
    t = shown.temperature.value(history.temperature_K[:, :, k])
    usual = np.quantile(t[:, t.shape[1] // 2], 0.9)  # a short hot finish would leave no lines for the rest
    step = float(np.diff(MaxNLocator(8, steps=[1, 2, 5, 10]).tick_values(t.min(), usual))[0])
    levels = np.arange(np.ceil(t.min() / step), t.max() / step) * step
    _map(axes, history, shown, t, [float(level) for level in levels if level > t.min()], HEAT_MAP, k)
    axes.set_title(f"Temperature in the {slices(history, shown, k)} ({shown.temperature.symbol})", loc="left")
    return axes


def _rows(history: History) -> Array:
    """Return the records a map is drawn from: an even choice, closer at the start, and every end of a stage."""
    last = history.time_s.size - 1
    even = (np.linspace(0.0, 1.0, min(_ROWS, last + 1)) ** 1.3 * last).round().astype(int)
    ends = np.searchsorted(history.time_s, history.stage_end_s)
    return np.unique(np.concatenate([even, np.minimum(ends, last)]))


def _grid(history: History, shown: Units, slab: int) -> tuple[Array, Array]:
    """Return time and height of every place of a map, as printed."""
    rows = _rows(history)
    height = shown.length.value(heights(history, slab)[rows] @ between(history))
    return np.broadcast_to(shown.time.value(history.time_s[rows])[:, None], height.shape), height


def _map(
    axes: Axes, history: History, shown: Units, values: Array, levels: list[float], colours: str, slab: int
) -> None:
    """Fill the slice with colours between levels, and write on the lines between them what they are."""
    values = values[_rows(history)] @ between(history)
    place, height = _grid(history, shown, slab)
    low, high = float(values.min()), float(values.max())
    edges = [low - 1e-9, *levels, high + 1e-9]
    axes.contourf(place, height, values, levels=edges, cmap=colours, vmin=low - 0.2 * (high - low), vmax=high)
    middle = 0.5 * (low + high)
    if levels:
        inks = [MAP_LIGHT if level > middle else MAP_DARK for level in levels]
        axes.contour(place, height, values, levels=levels, colors=inks, linewidths=0.6)
    axes.set_xlim(0.0, float(place[-1, 0]))
    axes.set_ylim(0.0, 1.02 * float(height.max()))
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10]))
    axes.set_xlabel(f"time ({shown.time.symbol})")
    axes.set_ylabel(f"height above the lower face ({shown.length.symbol})")
    open_frame(axes)
    for level, i in _crossings(values[:, values.shape[1] // 2], place[:, 0], levels):
        colour = MAP_LIGHT if level > middle else MAP_DARK
        node = values.shape[1] // 2
        axes.annotate(
            f"{level:g}", (float(place[i, 0]), float(height[i, node])), (2.0, 0.0), textcoords="offset points",
            ha="left", va="center", color=colour, fontsize="small",
        )  # fmt: skip


def _crossings(middle: Array, time: Array, levels: list[float]) -> list[tuple[float, int]]:
    """Return the levels that the middle of the slice passes far enough apart to be named, and the record of each."""
    found: list[tuple[float, int]] = []
    passed = np.sign(middle[:, None] - np.array(levels)) if levels else np.zeros((1, 0))
    for number, level in enumerate(levels):
        at = np.flatnonzero(np.diff(passed[:, number]))
        if at.size:
            found.append((level, int(at[0]) + 1))
    apart, named = _APART * float(time[-1]), []
    last = -np.inf
    for level, i in sorted(found, key=lambda one: one[1]):
        if time[i] - last >= apart and time[-1] - time[i] >= apart:
            named.append((level, i))
            last = float(time[i])
    return named
