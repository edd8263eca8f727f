"""The picture of a fit: what was weighed, what the model makes of it, and what is left over."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.learn.fit import SLIP, Fit
from dryingsim.learn.forecast import Forecast, predicted_weights
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.style import BLACK, BLUE, GREEN, GREY, INKS, ORANGE, RED, SKY, open_frame
from dryingsim.show.learn.text import title_of
from dryingsim.show.run.pictures import caution

_COLOURS = (BLUE, ORANGE, GREEN, SKY, BLACK)


def learn_figure(found: Fit, carried: list[Forecast], units: str | None = None) -> Figure:
    """Draw the weights of all logs above, what is left over below."""
    sheet = Figure(figsize=(8.6, 6.8), layout="constrained")
    above, below = sheet.subplots(2, 1, sharex=True, height_ratios=(2.0, 1.0))
    weights(found, carried, above, units)
    leftovers(found, below)
    sheet.suptitle(title_of(found), x=0.01, ha="left", fontweight="bold", fontsize="medium")
    caution(sheet)
    return sheet


def weights(found: Fit, carried: list[Forecast], axes: Axes, units: str | None = None) -> Axes:
    """Draw what was weighed and the fitted courses, each series as a share of its first weight if there are several."""
    parts = found.problem.parts
    several = sum(len(part.logged.readings.series) for part in parts) > 1
    shown = Units(parts[0].logged.batch, units)
    drawn = 0
    for i, part in enumerate(parts):
        readings = part.logged.readings
        for k, series in enumerate(readings.series):
            colour = _COLOURS[drawn % len(_COLOURS)]
            drawn += 1
            time, course = predicted_weights(found, i, k)
            mine = np.flatnonzero(readings.belongs == k)
            unit = 1.0 / course[0] if several else float(shown.weight.value(1.0))
            name = f"{part.logged.log.name}, {series.words}" if several else "fitted"
            axes.plot(time / 3600.0, unit * course, color=colour, linewidth=1.4, label=name)
            for used, marker, tint in ((True, "o", colour), (False, "x", RED)):
                at = mine[part.used[mine] == used]
                label = None if several or not at.size else "weighed" if used else "left out"
                axes.plot(
                    readings.time_s[at] / 3600.0,
                    unit * readings.value[at],
                    marker,
                    color=tint,
                    markersize=5,
                    label=label,
                )
        _mark_done(axes, carried[i])
    axes.set_ylabel("share of the first weight (-)" if several else f"weight ({shown.weight.symbol})")
    axes.set_ylim(bottom=0.0)
    axes.legend(frameon=False, fontsize="small")
    open_frame(axes)
    return axes


def _mark_done(axes: Axes, one: Forecast) -> None:
    if one.done_s is None:
        return
    axes.axvline(one.done_s / 3600.0, color=GREY, linewidth=0.9, linestyle=":")
    axes.annotate(
        "done", (one.done_s / 3600.0, 0.0), (3.0, 3.0), xycoords=("data", "axes fraction"),
        textcoords="offset points", color=INKS[GREY], fontsize="small",
    )  # fmt: skip
    if one.low_s is not None and one.high_s is not None:
        axes.axvspan(one.low_s / 3600.0, one.high_s / 3600.0, color=GREY, alpha=0.15, linewidth=0.0)


def leftovers(found: Fit, axes: Axes) -> Axes:
    """Draw the misses in standard deviations: weights as dots, temperatures as rings; what was left out in red."""
    for i, part in enumerate(found.problem.parts):
        miss, readings = np.clip(found.misses(i), -9.0, 9.0), part.logged.readings
        for weighs in (True, False):
            for used, colour in ((True, BLUE), (False, RED)):
                rows = (readings.weighs == weighs) & (part.used == used)
                fill = colour if weighs else "none"
                hours = readings.time_s[rows] / 3600.0
                what = "weight" if weighs else "temperature"
                name = what if used and not i and rows.any() else None
                axes.plot(
                    hours, miss[rows], "o", color=colour, markerfacecolor=fill, markersize=5, label=name
                )
    for level in (-SLIP, SLIP):
        axes.axhline(level, color=GREY, linewidth=0.8, linestyle="--")
    axes.axhline(0.0, color=GREY, linewidth=0.8)
    largest = max(
        4.0,
        *(float(np.abs(np.clip(found.misses(i), -9.0, 9.0)).max()) for i in range(len(found.problem.parts))),
    )
    axes.set_ylim(-1.1 * largest, 1.1 * largest)
    axes.legend(frameon=False, fontsize="small", ncols=2, loc="upper right")
    axes.set_ylabel("measured less fitted\n(standard deviations)")
    axes.set_xlabel("time (h)")
    open_frame(axes)
    return axes
