"""Pictures of a history. Each function draws on the axes it is given, or on a new figure of its own.

Figures are made without pyplot, so nothing is shared between them and none needs closing. The colours are
those of Okabe & Ito (2008), told apart with any colour vision; lines carry their names instead of a legend.
"""

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.doneness import Answers, judge_batch
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.model.slab import WATER_VOLUME
from dryingsim.properties.water_activity import UNCERTAINTY
from dryingsim.show.quantities import Units, slices, slowest, spoken

BLUE, SKY, GREEN = "#0072B2", "#56B4E9", "#009E73"
ORANGE, RED, PURPLE = "#E69F00", "#D55E00", "#CC79A7"
BLACK, GREY = "#000000", "#767676"
LINE_COLOURS = (BLUE, GREEN, RED, PURPLE, ORANGE, SKY, BLACK)
_DEPTH_COLOURS = (BLUE, SKY, GREEN, BLACK, RED)  # wet to dry
_NAMED = 8  # of more lines than this only some are named, evenly
_LABEL_ROOM = 1.28  # the time axis goes this far past the end, so that the names of the lines fit


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
    shown, axes, k = Units(history, units), axes or _new_axes(), slowest(history)
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
    _time_axis(axes, history, shown)
    axes.set_ylabel(f"temperature ({shown.temperature.symbol})")
    axes.set_title(f"Temperature of the {slices(history, shown, k)} and their air", loc="left")
    name_lines(axes, float(hours[-1]), ends)
    return axes


def moisture(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the moisture across the shrinking thickness of the slowest slices, at several times.

    The lower face stays at zero; each line ends where the upper face was at its time. Parameters as for
    `temperatures`.
    """
    shown, axes, k = Units(history, units), axes or _new_axes(), slowest(history)
    times = _telling_times(history)
    top = 1.15 * float(history.moisture_db[times, :, k].max())
    label = 0.0
    for i, colour in reversed(list(zip(times, _DEPTH_COLOURS, strict=True))):
        x, height = history.moisture_db[i, :, k], shown.length.value(_heights(history, i, k))
        axes.plot(height, x, color=colour, linewidth=1.8)
        # the name stands on the highest point of its line; of the first, on the right, where no other line is
        peak = int(x.argmax()) if i else x.size - 1
        side = "right" if i == 0 else "left" if peak == 0 else "center"
        label = max(float(x[peak]), label + 0.045 * top) if i else float(x[peak])
        words = spoken(float(history.time_s[i])) if i else "laid on"
        where = (float(height[peak]), label)
        axes.annotate(words, where, (0.0, 3.0), textcoords="offset points", ha=side, color=colour)
    axes.set_xlabel(f"height above the lower face ({shown.length.symbol})")
    axes.set_ylabel("moisture (kg water per kg dry solid)")
    axes.set_ylim(0.0, top)
    axes.set_xlim(left=0.0)
    open_frame(axes)
    axes.set_title(f"Moisture inside the {slices(history, shown, k)}", loc="left")
    return axes


def water_activity(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the evened-out water activity of each class over time, with the target and its uncertainty.

    Of each class the wettest slices over all trays. Parameters as for `temperatures`.
    """
    shown, axes = Units(history, units), axes or _new_axes()
    hours = shown.time.value(history.time_s)
    mark_target(axes, history.batch.targets.water_activity)
    ends = []
    for number, one in enumerate(history.batch.meat.classes):
        values = history.equalised_water_activity[:, history.kind == number].max(axis=1)
        colour = LINE_COLOURS[number % len(LINE_COLOURS)]
        name = f"{shown.length.text(one.thickness_m)} slices"
        axes.plot(hours, values, color=colour, linewidth=1.6, label=name)
        ends.append((float(values[-1]), name, colour))
    _time_axis(axes, history, shown)
    axes.set_ylabel("water activity (-)")
    axes.set_title("Water activity once the moisture has evened out", loc="left")
    name_lines(axes, float(hours[-1]), ends)
    return axes


def mark_target(axes: Axes, target: float) -> None:
    """Draw the water activity aimed at and its uncertainty as a band."""
    axes.axhspan(target - UNCERTAINTY, target + UNCERTAINTY, color=GREY, alpha=0.18, linewidth=0.0)
    axes.axhline(target, color=GREY, linewidth=1.0)
    axes.annotate(
        f"target {target:g} ± {UNCERTAINTY:g}",
        (0.0, target - UNCERTAINTY),
        (3.0, 2.0),
        textcoords="offset points",
        color="#555555",
        fontsize="small",
        va="bottom",
        bbox={"facecolor": "white", "alpha": 0.6, "linewidth": 0.0, "pad": 0.5},
    )


def tray_water_activity(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the evened-out water activity of the wettest slices of each tray over time.

    Trays are numbered by where they lie at the start. Parameters as for `temperatures`.
    """
    axes, trays = axes or _new_axes(), int(history.tray.max()) + 1
    activity = history.equalised_water_activity
    wettest = [activity[:, history.tray == tray].max(axis=1) for tray in range(trays)]
    mark_target(axes, history.batch.targets.water_activity)
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
    shown, axes = Units(history, units), axes or _new_axes()
    cells = history.chamber.cell_temperature_K.T
    names = ["before the trays", *(f"after place {number}" for number in range(1, len(cells)))]
    _draw_row(axes, history, shown, [shown.temperature.value(cell) for cell in cells], names)
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
    axes.set_xlim(right=float(hours[-1]))
    axes.legend(frameon=False, fontsize="small")  # such lines lie too close for names at their ends


def weight(history: History, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the weight of the whole batch on the trays over time. Parameters as for `temperatures`."""
    shown, axes = Units(history, units), axes or _new_axes()
    hours, total = shown.time.value(history.time_s), history.weight_kg.sum(axis=1)
    values = shown.weight.value(total)
    axes.plot(hours, values, color=BLUE, linewidth=1.8)
    _time_axis(axes, history, shown)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel(f"weight on the trays ({shown.weight.symbol})")
    axes.set_title("Weight of the batch", loc="left")
    name_lines(axes, float(hours[-1]), [(float(values[-1]), shown.weight.text(total[-1]), BLUE)])
    return axes


def figure(history: History, answers: Answers | None = None, units: str | None = None) -> Figure:
    """Draw three panels on one sheet: temperatures, water activity with the time it is done, and moisture.

    Parameters
    ----------
    history : History
    answers : Answers, optional
        Judged here if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    done = (answers or judge_batch(history)).doneness
    shown = Units(history, units)
    sheet = Figure(figsize=(10.0, 6.4), layout="constrained")
    panels = sheet.subplot_mosaic([["heat", "depth"], ["dry", "depth"]], width_ratios=[1.35, 1.0])
    temperatures(history, panels["heat"], units)
    panels["heat"].set_xlabel("")
    dry = water_activity(history, panels["dry"], units)
    moisture(history, panels["depth"], units)
    if done.batch.expected_s is not None and done.weight_kg is not None:
        hour = float(shown.time.value(done.batch.expected_s))
        dry.plot([hour], [done.target_water_activity], "o", color=BLACK, markersize=5.0)
        dry.annotate(
            f"done: {spoken(done.batch.expected_s)}\ntrays: {shown.weight.text(done.weight_kg)}",
            (hour, done.target_water_activity),
            (8.0, 10.0),
            textcoords="offset points",
        )
    sheet.suptitle(history.batch.name, x=0.01, ha="left", fontweight="bold")
    caution(sheet)
    return sheet


def tray_figure(history: History, units: str | None = None) -> Figure:
    """Draw the trays of an appliance side by side: how they dry, and the air between them.

    Parameters
    ----------
    history : History
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    sheet = Figure(figsize=(10.0, 4.4), layout="constrained")
    left, right = sheet.subplots(1, 2)
    tray_water_activity(history, left, units)
    tray_air_temperature(history, right, units)
    sheet.suptitle(history.batch.name, x=0.01, ha="left", fontweight="bold")
    caution(sheet)
    return sheet


def lethality_figure(history: History, units: str | None = None) -> Figure:
    """Draw what happened to the organism that decides at its worst place, and its kill over time and depth.

    Parameters
    ----------
    history : History
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    from dryingsim.show import lethality_plots  # which draws in the colours of this module

    worst = judge_batch_lethality(history).worst.organism
    sheet = Figure(figsize=(10.0, 6.4), layout="constrained")
    panels = sheet.subplot_mosaic([["place", "depth"], ["rate", "depth"]], width_ratios=[1.35, 1.0])
    panels["place"].sharex(panels["rate"])
    lethality_plots.lethal_rate(history, (panels["place"], panels["rate"]), units, worst)
    lethality_plots.reduction_map(history, panels["depth"], units, worst)
    sheet.suptitle(history.batch.name, x=0.01, ha="left", fontweight="bold")
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


def _heights(history: History, i: int, k: int) -> np.ndarray:
    """Return the height [m] of each node of slab k above its lower face at record i."""
    slabs = history.slabs
    volume = slabs.solid_volume[k] + WATER_VOLUME * history.moisture_db[i, :, k]  # per dry solid
    layers = 0.5 * (volume[1:] + volume[:-1]) * np.diff(slabs.nodes) * slabs.dry_mass_kg_m2[k]
    return np.concatenate([[0.0], np.cumsum(layers)])


def _new_axes() -> Axes:
    return Figure(figsize=(7.0, 4.2), layout="constrained").add_subplot()


def _time_axis(axes: Axes, history: History, shown: Units) -> None:
    """Label the time axis and mark where one stage follows another."""
    end = float(shown.time.value(history.time_s[-1]))
    axes.set_xlim(0.0, _LABEL_ROOM * end)
    axes.set_xlabel(f"time ({shown.time.symbol})")
    for change in history.stage_end_s[:-1]:
        axes.axvline(float(shown.time.value(change)), color=GREY, linewidth=0.8, linestyle=":")
    open_frame(axes)


def open_frame(axes: Axes) -> None:
    """Take away the frame's upper and right side."""
    axes.spines[["top", "right"]].set_visible(False)


def name_lines(axes: Axes, x: float, ends: list[tuple[float, str, str]]) -> None:
    """Write each line's name at its end; apart where names would overlap, joined where lines meet."""
    low, high = axes.get_ylim()
    gap = 0.085 * (high - low)
    named: list[tuple[float, str, str]] = []
    for value, name, colour in sorted(ends):
        if named and value - named[-1][0] < 0.15 * gap:
            named[-1] = (named[-1][0], f"{named[-1][1]}, {name}", named[-1][2])
        else:
            named.append((value, name, colour))
    places: list[float] = []
    for value, _, _ in named:
        places.append(max(value, places[-1] + gap) if places else value)
    excess = max(0.0, places[-1] - (high - 0.3 * gap))
    for place, (_, name, colour) in zip(places, named, strict=True):
        axes.text(1.02 * x, place - excess, name, va="center", color=colour)
