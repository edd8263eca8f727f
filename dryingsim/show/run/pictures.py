"""Pictures of a history over time. Each function draws on the axes it is given, or on a new figure of its own.

They are drawn in the style of `dryingsim.show.core.style`; lines carry their names instead of a legend. Maps over depth and
time are in `depth_pictures`, the drying rate in `rate_pictures`, the way of the air in `air_pictures`, log reductions in
`show.lethality.pictures`.
"""

from collections.abc import Sequence

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.answer import Answer
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.grades import ESTIMATES
from dryingsim.judge.taking_off import held_activity, held_weight, leaving_times, until_all_off, while_in
from dryingsim.judge.trays import judge_trays
from dryingsim.show.core.quantities import Units, slices, slices_name, slowest, spoken
from dryingsim.show.core.style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    INKS,
    LINE_COLOURS,
    ORANGE,
    PURPLE,
    RED,
    SKY,
    TALL_SHEET,
    WIDE_SHEET,
    ink,
    name_lines,
    new_axes,
    open_frame,
    room_for,
)
from dryingsim.show.run.depth_pictures import between, heights

__all__ = [  # the style's names have long been read from here
    "BLACK",
    "BLUE",
    "GREEN",
    "GREY",
    "LINE_COLOURS",
    "ORANGE",
    "PURPLE",
    "RED",
    "SKY",
    "caution",
    "figure",
    "lethality_figure",
    "mark_target",
    "moisture",
    "name_lines",
    "open_frame",
    "temperatures",
    "tray_air_temperature",
    "tray_done",
    "tray_figure",
    "tray_water_activity",
    "water_activity",
    "weight",
]
_DEPTH_COLOURS = (BLUE, SKY, GREEN, BLACK, RED)  # wet to dry
_NAMED = 8  # of more lines than this only some are named, evenly


def temperatures(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the temperature of the air, its wet bulb, and core and upper face of the slowest slices over time.

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
    hours = shown.time.value(history.time_s)
    lines = [
        ("air", history.air_temperature_K[:, k], RED, "-", 1.6),
        ("face", history.surface_temperature_K[:, 1, k], ORANGE, "-", 3.2),
        ("core", history.core_temperature_K[:, k], BLACK, "-", 1.3),
        ("wet bulb", history.air_wet_bulb_K[:, k], BLUE, "--", 1.6),
    ]
    ends = []
    for name, kelvin, colour, style, width in lines:
        values = shown.temperature.value(kelvin)
        axes.plot(hours, values, color=colour, linestyle=style, linewidth=width, label=name)
        ends.append((float(values[-1]), name, colour))
    _time_axis(axes, history, shown, ["core, face"])  # which end together
    axes.set_ylabel(f"temperature ({shown.temperature.symbol})")
    axes.set_title(f"Temperature of the {slices(history, shown, k)} and their air", loc="left")
    name_lines(axes, float(hours[-1]), ends)
    return axes


def moisture(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the moisture across the shrinking thickness of the slowest slices, at several times.

    The lower face stays at zero; each line ends where the upper face was at its time. Parameters as for
    `temperatures`.
    """
    shown, axes, k = Units(history, units), axes or new_axes(), slowest(history)
    history = while_in(history, k)
    times = _telling_times(history)
    top = 1.15 * float(history.moisture_db[times, :, k].max())
    label, smooth = 0.0, between(history)
    for i, colour in reversed(list(zip(times, _DEPTH_COLOURS, strict=True))):
        x, height = (values @ smooth for values in (history.moisture_db[i, :, k], heights(history, k)[i]))
        height = shown.length.value(height)
        axes.plot(height, x, color=colour, linewidth=1.8)
        # the name stands on the highest point of its line; of the first, on the right, where no other line is
        peak = int(x.argmax()) if i else x.size - 1
        side = "right" if i == 0 else "left" if peak == 0 else "center"
        label = max(float(x[peak]), label + 0.045 * top) if i else float(x[peak])
        words = spoken(float(history.time_s[i])) if i else "laid on"
        where = (float(height[peak]), label)
        axes.annotate(words, where, (0.0, 3.0), textcoords="offset points", ha=side, color=ink(colour))
    axes.set_xlabel(f"height above the lower face ({shown.length.symbol})")
    axes.set_ylabel(f"moisture ({shown.ratio}: water per dry solid)")
    axes.set_ylim(0.0, top)
    axes.set_xlim(left=0.0)
    open_frame(axes)
    axes.set_title(f"Moisture inside the {slices(history, shown, k)}", loc="left")
    return axes


def water_activity(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the evened-out water activity of each class over time, with the target and its uncertainty.

    Of each class the wettest slices over all trays; a dot marks where they are taken off, and from then on they stay as they
    are. Parameters as for `temperatures`.
    """
    shown, axes, history = Units(history, units), axes or new_axes(), until_all_off(history)
    hours, activity = shown.time.value(history.time_s), held_activity(history)
    together = history.batch.take_off == "together"
    mark_target(axes, history.batch)
    ends = []
    for number, one in enumerate(history.batch.meat.classes):
        slabs = history.kind == number
        values = activity[:, slabs].max(axis=1)
        colour = LINE_COLOURS[number % len(LINE_COLOURS)]
        name = slices_name(shown, one.thickness_m, one.lies)
        axes.plot(hours, values, color=colour, linewidth=1.6, label=name)
        off = int(history.time_s.searchsorted(leaving_times(history)[slabs].max()))
        if not together and off < hours.size - 1:
            axes.plot(hours[off], values[off], "o", color=colour, markersize=4.0, label=f"_{name} off")
        ends.append((float(values[-1]), name, colour))
    _time_axis(axes, history, shown, [name for _, name, _ in ends])
    axes.set_ylabel("water activity (-)")
    axes.set_title("Water activity once the moisture has evened out", loc="left")
    name_lines(axes, float(hours[-1]), ends, joined=together)
    return axes


def mark_target(axes: Axes, batch: Batch) -> None:
    """Draw the water activity aimed at and its uncertainty as a band."""
    target, error = batch.targets.water_activity, activity_error_of(batch).half_width
    axes.axhspan(target - error, target + error, color=GREY, alpha=0.18, linewidth=0.0)
    axes.axhline(target, color=GREY, linewidth=1.0)
    axes.annotate(
        f"target {target:g} ± {error:.2f}",
        (0.0, target - error),
        (3.0, 2.0),
        textcoords="offset points",
        color=INKS[GREY],
        fontsize="small",
        va="bottom",
        bbox={"facecolor": "white", "alpha": 0.6, "linewidth": 0.0, "pad": 0.5},
    )


def tray_water_activity(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the evened-out water activity of the wettest slices of each tray over time.

    Trays are numbered by where they lie at the start. Parameters as for `temperatures`.
    """
    axes, trays, history = axes or new_axes(), int(history.tray.max()) + 1, until_all_off(history)
    activity = held_activity(history)
    wettest = [activity[:, history.tray == tray].max(axis=1) for tray in range(trays)]
    mark_target(axes, history.batch)
    _draw_row(
        axes, history, Units(history, units), wettest, [f"tray {number}" for number in range(1, trays + 1)]
    )
    axes.set_ylabel("water activity (-)")
    axes.set_title("Wettest slices of each tray, evened out", loc="left")
    return axes


def tray_air_temperature(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the temperature of the air before the trays and after each place in the flow over time.

    Parameters as for `temperatures`.
    """
    if history.chamber is None:
        raise InputError(f"{history.batch.name}: there is no appliance, so no air of its trays")
    shown, axes = Units(history, units), axes or new_axes()
    until = until_all_off(history)
    cells = history.chamber.cell_temperature_K[: until.time_s.size].T
    names = ["before the trays", *(f"after place {number}" for number in range(1, len(cells)))]
    _draw_row(axes, until, shown, [shown.temperature.value(cell) for cell in cells], names)
    axes.set_ylabel(f"temperature ({shown.temperature.symbol})")
    axes.set_title("Air on its way past the trays", loc="left")
    return axes


def _draw_row(axes: Axes, history: History, shown: Units, values: list[np.ndarray], names: list[str]) -> None:
    """Draw lines that stand in a row, as trays do, over time: in colours from dark to light."""
    hours = shown.time.value(history.time_s)
    colours = matplotlib.colormaps["viridis"](np.linspace(0.0, 0.85, len(values)))  # pale yellow is left out
    step = -(-len(values) // _NAMED)
    for number, (line, name, colour) in enumerate(zip(values, names, colours, strict=True)):
        named = number % step == 0 or number == len(values) - 1
        axes.plot(hours, line, color=colour, linewidth=1.6, label=name if named else f"_{name}")
    _time_axis(axes, history, shown)
    axes.legend(frameon=False, fontsize="small")  # such lines lie too close for names at their ends


def tray_done(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw when each tray is done: from its first slices (tick) to all (dot), and the window of that (bar).

    Nine times in ten all are done within the bar.
    Trays are numbered by where they lie at the start. Parameters as for `temperatures`.
    """
    judged = judge_trays(history)
    if judged is None:
        raise InputError(f"{history.batch.name}: there is no appliance, so no trays of it")
    shown, axes = Units(history, units), axes or new_axes()
    end, edge = float(shown.time.value(history.time_s[-1])), 0.0
    for number, one in enumerate(judged.done):
        window = one.all_done
        early, first, done, late = (
            None if when is None else float(shown.time.value(when))
            for when in (window.earliest_s, one.first_s, window.expected_s, window.latest_s)
        )
        beside = end if late is None else late
        if early is not None:
            axes.barh(number, beside - early, left=early, color=SKY, height=0.44)
        if first is not None and first != done:
            axes.plot([first], [number], "|", color=BLACK, markersize=12.0)
        if done is not None:
            axes.plot([done], [number], "o", color=BLUE, markersize=6.0)
        said = "not in this run" if window.expected_s is None else spoken(window.expected_s)
        axes.annotate(
            said, (beside, number), (5.0, 0.0), textcoords="offset points", va="center", color=INKS[BLUE]
        )
        edge = max(edge, beside)
    _time_axis(axes, history, shown)
    axes.set_xlim(0.0, edge / (1.0 - room_for(axes, ["not in this run"])))
    axes.set_yticks(range(judged.used), [f"tray {number}" for number in range(1, judged.used + 1)])
    axes.set_ylim(judged.used - 0.4, -0.6)  # the first on top
    axes.set_title("When each tray is done (dot), and how well that is known", loc="left")
    return axes


def weight(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the weight of the whole batch over time, slices taken off among it. Parameters as for `temperatures`."""
    shown, axes, history = Units(history, units), axes or new_axes(), until_all_off(history)
    hours, total = shown.time.value(history.time_s), held_weight(history)
    values = shown.weight.value(total)
    axes.plot(hours, values, color=BLUE, linewidth=1.8)
    _time_axis(axes, history, shown, [shown.weight.text(total[-1])])
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel(f"weight of the meat ({shown.weight.symbol})")
    axes.set_title("Weight of the batch", loc="left")
    name_lines(axes, float(hours[-1]), [(float(values[-1]), shown.weight.text(total[-1]), BLUE)])
    return axes


def figure(answer: Answer, units: str | None = None) -> Figure:
    """Draw three panels on one sheet: temperatures, water activity with the time it is done, and moisture.

    Parameters
    ----------
    answer : Answer
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    history, done = answer.history, answer.doneness
    shown = Units(history, units)
    sheet = Figure(figsize=TALL_SHEET, layout="constrained")
    panels = sheet.subplot_mosaic([["heat", "depth"], ["dry", "depth"]], width_ratios=[1.35, 1.0])
    temperatures(history, panels["heat"], units)
    panels["heat"].set_xlabel("")
    dry = water_activity(history, panels["dry"], units)
    moisture(history, panels["depth"], units)
    if done.batch.expected_s is not None and done.weight_kg is not None:
        hour = float(shown.time.value(done.batch.expected_s))
        dry.plot([hour], [done.target_water_activity], "o", color=BLACK, markersize=5.0)
        dry.annotate(
            f"done: {spoken(done.batch.expected_s)}\nmeat: {shown.weight.text(done.weight_kg)}",
            (hour, done.target_water_activity),
            (8.0, 10.0),
            textcoords="offset points",
        )
    sheet.suptitle(history.batch.name, x=0.01, ha="left", fontweight="bold", parse_math=False)
    caution(sheet)
    return sheet


def tray_figure(history: History, units: str | None = None) -> Figure:
    """Draw the trays of an appliance side by side: when they are done, how they dry, and the air between them.

    Parameters
    ----------
    history : History
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    sheet = Figure(figsize=WIDE_SHEET, layout="constrained")
    done, dry, air = sheet.subplots(1, 3)
    tray_done(history, done, units)
    tray_water_activity(history, dry, units)
    tray_air_temperature(history, air, units)
    for axes, title in ((done, "When they are done"), (dry, "How dry"), (air, "Air past them")):
        axes.set_title(title, loc="left")
    sheet.suptitle(history.batch.name, x=0.01, ha="left", fontweight="bold", parse_math=False)
    caution(sheet)
    return sheet


def lethality_figure(answer: Answer, units: str | None = None) -> Figure:
    """Draw what happened to the organism that limits at its least-reduced place, and its log reduction over time and depth.

    The lower bound, which decides, stands above the best estimate.

    Parameters
    ----------
    answer : Answer
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    from dryingsim.show.lethality import (
        pictures as lethality_plots,  # which draws in the colours of this module
    )

    history, judged = answer.history, answer.lethality
    worst = judged.worst.organism
    sheet = Figure(figsize=TALL_SHEET, layout="constrained")
    panels = sheet.subplot_mosaic([["place", "lower"], ["rate", "best"]])
    panels["place"].sharex(panels["rate"])
    lethality_plots.lethal_rate(history, (panels["place"], panels["rate"]), units, worst, judged)
    maps = {estimate: panels[estimate] for estimate in ESTIMATES}
    lethality_plots.reduction_maps(history, maps, units, worst, judged)
    panels["lower"].set_xlabel("")
    sheet.suptitle(history.batch.name, x=0.01, ha="left", fontweight="bold", parse_math=False)
    caution(sheet)
    return sheet


def caution(sheet: Figure) -> None:
    """Write below a sheet what it is not."""
    text = (
        "A simulation validates no process. Measure the meat itself with a checked thermometer; follow your local "
        "food-safety authority;\nto sell, have a process authority review the process."
    )
    sheet.supxlabel(text, x=0.01, ha="left", fontsize="small")


def _telling_times(history: History) -> list[int]:
    """Return the indices of five records, closer together at first, when the moisture falls fastest."""
    end = float(history.time_s[-1])
    step = 600.0 if end > 7200.0 else 60.0  # round times
    times = [0.0, *(step * round(end / part / step) for part in (16.0, 4.0, 2.0)), end]
    return [int(np.abs(history.time_s - time).argmin()) for time in times]


def _time_axis(axes: Axes, history: History, shown: Units, names: Sequence[str] = ()) -> None:
    """Label the time axis, leave room for the names of the lines, and mark where one stage follows another."""
    end = float(shown.time.value(history.time_s[-1]))
    axes.set_xlim(0.0, end / (1.0 - room_for(axes, names)))
    axes.set_xlabel(f"time ({shown.time.symbol})")
    for change in history.stage_end_s[:-1]:
        axes.axvline(float(shown.time.value(change)), color=GREY, linewidth=0.8, linestyle=":")
    open_frame(axes)
