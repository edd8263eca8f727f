"""Pictures of a map: lines over one parameter, contours over two."""

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.contour import ContourSet
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from dryingsim.batch.catalog import organisms
from dryingsim.errors import InputError
from dryingsim.explore.maps import Map
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.show.core.style import new_axes
from dryingsim.show.run.pictures import BLACK, BLUE, GREY, ORANGE, RED, caution, open_frame

_LEVELS = 12
_SLIGHT = 0.1  # log10: a smaller difference is not worth a contour


def map_figure(mapped: Map) -> Figure:
    """Draw when the batch is done, and the log reduction if that was asked for, side by side; in the units typed."""
    count = 1 if mapped.organism is None else 2
    sheet = Figure(figsize=(5.6 * count, 4.9), layout="constrained")
    panels = sheet.subplots(1, count, squeeze=False)[0]
    draw = (_done_line, _reduction_lines) if len(mapped.axes) == 1 else (done_contours, reduction_contours)
    for axes, how in zip(panels, draw, strict=False):
        how(mapped, axes)
        axes.set_xlabel(mapped.axis_label(next(iter(mapped.axes))))
    sheet.suptitle(mapped.title, x=0.01, ha="left", fontweight="bold")
    caution(sheet)
    return sheet


def done_over(mapped: Map, axes: Axes | None = None) -> Axes:
    """Draw when the batch is done: a line over one parameter, contours over two.

    Parameters
    ----------
    mapped : Map
    axes : matplotlib.axes.Axes, optional
        A new figure if left out.
    """
    axes = axes or new_axes()
    (_done_line if len(mapped.axes) == 1 else done_contours)(mapped, axes)
    axes.set_xlabel(mapped.axis_label(next(iter(mapped.axes))))
    return axes


def _hours(mapped: Map, name: str = "done_s") -> np.ndarray:
    values = mapped.numbers[name]
    return np.where(np.isfinite(values), values, np.nan) / 3600.0


def _name(mapped: Map) -> str:
    return str(organisms.organisms()[mapped.organism]) if mapped.organism else ""


def done_contours(mapped: Map, axes: Axes) -> Axes:
    """Draw contours of the time when the batch is done [h]; grey where it is not within the time followed."""
    _check_two(mapped)
    hours = _hours(mapped)
    _frame(mapped, axes)
    axes.set_title("Done after (hours)", loc="left")
    if not np.isfinite(hours).any():
        words = "nowhere done within\nthe time followed"
        axes.text(0.5, 0.5, words, transform=axes.transAxes, ha="center", va="center")
        return axes
    x, y = mapped.axes.values()
    levels = _even(float(np.nanmin(hours)), float(np.nanmax(hours)))
    paper = LinearSegmentedColormap.from_list("wait", ["#ffffff", "#a9d6f2"])
    fine = np.linspace(*_ends(hours), 41) if np.nanmax(hours) > np.nanmin(hours) else levels
    axes.contourf(x, y, hours.T, levels=fine, cmap=paper, antialiased=False)
    lines = axes.contour(x, y, hours.T, levels=levels, colors=BLUE, linewidths=1.3)
    _labelled(axes, lines, lambda value: f"{value:g} h")
    return axes


def reduction_contours(mapped: Map, axes: Axes) -> Axes:
    """Draw contours of the log10 reductions, lower bound and best estimate; the reduction required is drawn thick."""
    _check_two(mapped)
    x, y = mapped.axes.values()
    _frame(mapped, axes)
    asked = _target(mapped)
    axes.set_title(
        f"{_name(mapped)}, log10 reduction; required: {asked:g}\nsolid: lower bound, it decides; dashed: best estimate",
        loc="left",
    )
    axes.set_facecolor("#ffffff")
    height = 0.96
    for name, colour, style in (("lower", RED, "-"), ("best", ORANGE, "--")):
        values = np.minimum(mapped.numbers[name], COUNTABLE)
        low, high = _ends(values)
        if not high - low >= _SLIGHT:
            axes.text(
                0.04, height, f"{name}: {low:.1f} all over", transform=axes.transAxes, va="top", color=colour
            )
            height -= 0.07
            continue
        levels = np.unique([*_even(low, high, 6), *([asked] if low < asked < high else [])])
        widths = [2.6 if level == asked else 1.1 for level in levels]
        lines = axes.contour(
            x, y, values.T, levels=levels, colors=colour, linewidths=widths, linestyles=style
        )
        _labelled(axes, lines, lambda value: f"{value:g}")
    return axes


def _target(mapped: Map) -> float:
    if mapped.target_log10 is None:
        raise InputError("this map follows no organism: 'map_over' takes one")
    return mapped.target_log10


def _check_two(mapped: Map) -> None:
    if len(mapped.axes) != 2:
        raise InputError("contours need a map over two parameters; 'map_figure' draws one over one as lines")


def _frame(mapped: Map, axes: Axes) -> None:
    x, y = mapped.axes.values()
    axes.set_xlim(x.min(), x.max())
    axes.set_ylim(y.min(), y.max())
    axes.set_facecolor("#e8e8e8")
    axes.set_ylabel(mapped.axis_label([*mapped.axes][1]))
    open_frame(axes)


def _ends(values: np.ndarray) -> tuple[float, float]:
    return float(np.nanmin(values)), float(np.nanmax(values))


def _even(low: float, high: float, count: int = _LEVELS) -> list[float]:
    """Round levels strictly within a range."""
    ticks = MaxNLocator(count, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    return [float(tick) for tick in ticks if low < tick < high] or [0.5 * (low + high)]


def _labelled(axes: Axes, lines: ContourSet, words: Callable[[float], str]) -> None:
    labels = axes.clabel(lines, fmt=words, fontsize="small", inline=True, inline_spacing=3)
    for label in labels:
        label.set_fontweight("bold")


def _done_line(mapped: Map, axes: Axes) -> Axes:
    (values,) = mapped.axes.values()
    axes.plot(values, _hours(mapped), "o-", color=BLUE, markersize=3.5)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("done after (h)")
    axes.set_title("When the batch is done", loc="left")
    open_frame(axes)
    return axes


def _reduction_lines(mapped: Map, axes: Axes) -> Axes:
    (values,) = mapped.axes.values()
    ends = []
    for name, colour in (("best", ORANGE), ("lower", RED)):
        reduced = np.minimum(mapped.numbers[name], COUNTABLE)
        axes.plot(values, reduced, "o-", color=colour, markersize=3.5)
        ends.append((float(reduced[-1]), name, colour))
    axes.axhline(_target(mapped), color=GREY, linewidth=1.0)
    axes.annotate(
        "required", (values[0], _target(mapped)), (0.0, 3.0), textcoords="offset points", color=BLACK
    )
    axes.set_ylim(0.0, max(1.1 * axes.get_ylim()[1], 1.2 * _target(mapped)))
    for value, name, colour in ends:
        axes.annotate(
            name, (values[-1], value), (6.0, 0.0), textcoords="offset points", va="bottom", color=colour
        )
    axes.set_xlim(values.min() - 0.02 * np.ptp(values), values.max() + 0.2 * np.ptp(values))
    axes.set_ylabel(f"{_name(mapped)}, log10 reduction")
    axes.set_title("Log reduction: the lower bound decides", loc="left")
    open_frame(axes)
    return axes
