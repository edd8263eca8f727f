"""Pictures of kill, for teaching. Each draws on the axes it is given, or on a new figure of its own.

Figures are made without pyplot, as in `dryingsim.show.plots`, whose colours are used.
"""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import EstimateSet
from dryingsim.batch.checks import check_choice
from dryingsim.batch.units import display_units
from dryingsim.history import History
from dryingsim.judge.lethality import desiccation_reductions, log_D, log_reductions
from dryingsim.judge.verdict import OrganismLethality, drier_side, exposed_nodes, judge_batch_lethality
from dryingsim.show.plots import BLACK, BLUE, GREEN, GREY, ORANGE, RED, SKY
from dryingsim.show.quantities import Unit, Units, slices
from dryingsim.typing import Array

_LEVELS = (0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0)  # log10 reductions that the map tells apart
_SPANS = (
    (1.0, "1 s"),
    (10.0, "10 s"),
    (60.0, "1 min"),
    (600.0, "10 min"),
    (3600.0, "1 h"),
    (36000.0, "10 h"),
)


def lethal_rate(
    history: History,
    axes: tuple[Axes, Axes] | None = None,
    units: str | None = None,
    organism: str = "salmonella",
) -> tuple[Axes, Axes]:
    """Draw what happened at the worst place, and below it the speed of kill there.

    Above: temperature (left) and water activity (right) of the place that the cautious estimate finds worst.
    Below, over the same time: tenfold kills per hour of both estimates, on a logarithmic scale; and, for
    comparison, what they would be if the place were as wet as raw meat at the same temperature.

    Parameters
    ----------
    history : History
    axes : pair of matplotlib Axes, optional
        Upper and lower; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    organism : str
        "salmonella", "e_coli" or "listeria".

    Returns
    -------
    pair of matplotlib Axes
    """
    shown, entry = Units(history, units), _entry(history, organism)
    upper, lower = axes or _pair()
    hours = shown.time.value(history.time_s)
    t = history.temperature_K[:, entry.node, entry.slab]
    a = history.water_activity[:, entry.node, entry.slab]
    upper.plot(hours, shown.temperature.value(t), color=RED, linewidth=1.8, label="temperature")
    upper.plot(
        hours,
        shown.temperature.value(history.air_temperature_K[:, entry.slab]),
        color=GREY,
        linewidth=1.0,
        label="air",
    )
    upper.set_ylabel(f"temperature ({shown.temperature.symbol})", color=RED)
    end = float(hours[-1]), float(shown.temperature.value(history.air_temperature_K[-1, entry.slab]))
    upper.annotate("air", end, (-4.0, 3.0), textcoords="offset points", ha="right", color=GREY)
    right = upper.twinx()
    right.plot(hours, a, color=BLUE, linewidth=1.8, label="water activity")
    right.set_ylim(0.0, 1.02)
    right.set_ylabel("water activity (-)", color=BLUE)
    right.spines["top"].set_visible(False)
    upper.spines["top"].set_visible(False)
    upper.set_title(f"Worst place for {entry.name}: {slices(history, shown, entry.slab)}", loc="left")
    wet = np.full_like(a, catalog.reference_water_activity())
    lines: tuple[tuple[Array, EstimateSet, str, str, str], ...] = (
        (wet, "central", SKY, "--", "if it were wet"),
        (a, "central", GREEN, "-", "central"),
        (drier_side(a), "cautious", ORANGE, "-", "cautious"),
    )
    for values, estimate, colour, style, name in lines:
        lower.plot(hours, _per_hour(t, values, organism, estimate), color=colour, linestyle=style, label=name)
    lower.set_yscale("log")
    lower.set_ylim(1e-4, 1e4)
    lower.set_ylabel("tenfold kills (1/h)")
    lower.set_xlabel(f"time ({shown.time.symbol})")
    lower.legend(frameon=False, loc="upper left", ncols=3, fontsize="small")
    lower.spines[["top", "right"]].set_visible(False)
    for each in (upper, lower):
        each.set_xlim(0.0, float(hours[-1]))
    return upper, lower


def reduction_map(
    history: History,
    axes: Axes | None = None,
    units: str | None = None,
    organism: str = "salmonella",
    estimate: EstimateSet = "central",
) -> Axes:
    """Draw the log10 reduction over time and depth in the worst slab; the central set includes drying itself.

    Parameters
    ----------
    history : History
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    organism, estimate : str
        As in `dryingsim.judge.lethality.log_D`.
    """
    shown, entry, axes = Units(history, units), _entry(history, organism), axes or _new_axes()
    reductions = _reductions(history, organism, estimate)[:, :, entry.slab]
    hours = shown.time.value(history.time_s)
    depth = 100.0 * history.slabs.nodes
    most = _LEVELS[-1]
    filled = axes.contourf(
        hours, depth, np.minimum(reductions, most).T, levels=np.linspace(0.0, most, 21), cmap="cividis"
    )
    told = [level for level in _LEVELS if reductions.min() < level < reductions.max()]
    if told:
        colours = ["white" if level < 5.0 else BLACK for level in told]  # on dark and on light ground
        drawn = axes.contour(hours, depth, reductions.T, levels=told, colors=colours, linewidths=0.8)
        axes.clabel(drawn, fmt=lambda level: f"{level:g}", fontsize="small")
    bar = axes.figure.colorbar(filled, ax=axes, ticks=[0.0, 2.0, 5.0, 7.0, most])
    bar.set_label(f"log10 reduction (-), {estimate} estimate")
    axes.set_xlabel(f"time ({shown.time.symbol})")
    axes.set_ylabel("place, from the lower to the upper face (% of dry mass)")
    axes.set_title(f"{entry.name} in the {slices(history, shown, entry.slab)}", loc="left")
    return axes


def against_humid(
    history: History,
    humid: History,
    axes: Axes | None = None,
    units: str | None = None,
    organism: str = "salmonella",
) -> Axes:
    """Draw the reduction at the worst place over time for a schedule, and for the same held humid.

    Parameters
    ----------
    history, humid : History
        Two runs of the same slices, for example in room air and with a wet bulb of 60 degC.
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    organism : str
        "salmonella", "e_coli" or "listeria".
    """
    shown, axes = Units(history, units), axes or _new_axes()
    goal = catalog.target(organism, judge_batch_lethality(history).species).log10
    axes.axhline(goal, color=GREY, linewidth=1.0)
    end = max(float(shown.time.value(one.time_s[-1])) for one in (history, humid))
    axes.annotate(
        f"asked for: {goal:g}", (end, goal), (0.0, 3.0), textcoords="offset points", ha="right", color=GREY
    )
    for one, colour, name in ((history, RED, "as scheduled"), (humid, BLUE, "held humid")):
        hours = shown.time.value(one.time_s)
        nodes = exposed_nodes(one.batch.meat.form, one.slabs.nodes.size)
        for estimate, style in zip(catalog.SETS, ("-", "--"), strict=True):
            least = _reductions(one, organism, estimate)[:, nodes].min(axis=(1, 2))
            axes.plot(
                hours, np.minimum(least, 12.0), color=colour, linestyle=style, label=f"{name}, {estimate}"
            )
    axes.set_xlim(0.0, end)
    axes.set_ylim(0.0, 12.0)
    axes.set_xlabel(f"time ({shown.time.symbol})")
    axes.set_ylabel("log10 reduction at the worst place (-)")
    axes.set_title(f"{catalog.organisms()[organism]}: the same schedule, held humid", loc="left")
    axes.legend(frameon=False, loc="center right", bbox_to_anchor=(1.0, 0.66), fontsize="small")
    axes.spines[["top", "right"]].set_visible(False)
    return axes


def same_kill(
    axes: Axes | None = None,
    units: str = "metric",
    organism: str = "salmonella",
    estimate: EstimateSet = "central",
    path: History | None = None,
) -> Axes:
    """Draw lines of equal decimal reduction time over temperature and water activity.

    Parameters
    ----------
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str
        "metric" or "us".
    organism, estimate : str
        As in `dryingsim.judge.lethality.log_D`.
    path : History, optional
        Its worst place is drawn on top, from wet and cold to dry and hot.
    """
    check_choice("units", units, ("metric", "us"))
    unit, axes = Unit("temperature", display_units(units)["temperature"]), axes or _new_axes()
    t = np.linspace(283.15, 378.15, 381)
    a = np.linspace(0.05, 1.0, 191)
    seconds = 10.0 ** log_D(organism, t[None], a[:, None], estimate)
    told = unit.value(t)
    drawn = axes.contour(told, a, np.log10(seconds), levels=[np.log10(s) for s, _ in _SPANS], colors=BLUE)
    axes.clabel(drawn, fmt={float(np.log10(s)): words for s, words in _SPANS}, fontsize="small")
    floor = float(unit.value(catalog.resistance(organism, estimate).floor_K))
    axes.axvspan(float(told[0]), floor, color=GREY, alpha=0.25, linewidth=0.0)
    axes.text(0.5 * (float(told[0]) + floor), 0.62, "no kill by heat credited", ha="center", va="center")
    if path is not None:
        entry = _entry(path, organism)
        place = (slice(None), entry.node, entry.slab)
        axes.plot(
            unit.value(path.temperature_K[place]),
            path.water_activity[place],
            color=BLACK,
            linewidth=1.8,
            label=f"worst place of {path.batch.name}",
        )
        axes.legend(frameon=False, loc="lower left", fontsize="small")
    axes.set_xlim(float(told[0]), float(told[-1]))
    axes.set_ylim(0.05, 1.0)
    axes.set_xlabel(f"temperature ({unit.symbol})")
    axes.set_ylabel("water activity (-)")
    axes.set_title(
        f"Time for a tenfold kill of {catalog.organisms()[organism]} by heat, {estimate}", loc="left"
    )
    return axes


def _entry(history: History, organism: str) -> OrganismLethality:
    check_choice("organism", organism, catalog.organisms())
    return next(e for e in judge_batch_lethality(history).organisms if e.organism == organism)


def _reductions(history: History, organism: str, estimate: EstimateSet) -> Array:
    """Cumulative log10 reduction at every node, shape (t, n, m)."""
    t, a = history.temperature_K, history.water_activity
    if estimate == "cautious":
        return log_reductions(history.time_s, t, drier_side(a), organism, estimate)
    return log_reductions(history.time_s, t, a, organism, estimate) + desiccation_reductions(t, a)


def _per_hour(t: Array, a: Array, organism: str, estimate: EstimateSet) -> Array:
    """Tenfold kills per hour [1/h]; not a number where none is credited."""
    rate = 3600.0 * 10.0 ** -log_D(organism, t, a, estimate)
    return np.where(t >= catalog.resistance(organism, estimate).floor_K, rate, np.nan)


def _pair() -> tuple[Axes, Axes]:
    sheet = Figure(figsize=(7.0, 6.0), layout="constrained")
    upper, lower = sheet.subplots(2, 1, sharex=True)
    return upper, lower


def _new_axes() -> Axes:
    return Figure(figsize=(7.0, 4.6), layout="constrained").add_subplot()
