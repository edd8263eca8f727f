"""Pictures of log reduction, for teaching. Each draws on the axes it is given, or on a new figure of its own.

Figures are made without pyplot, in the style of `dryingsim.show.core.style`.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.checks import check_choice
from dryingsim.batch.units import display_units
from dryingsim.history import History
from dryingsim.judge.exposed import MATRIX, Exposed, exposed_nodes
from dryingsim.judge.grades import ESTIMATES, Estimate, Lethality, OrganismLethality, cut
from dryingsim.judge.heat_model import RAW_ACTIVITY, heat_resistance
from dryingsim.judge.heat_resistance import (
    BOUND,
    COUNTABLE,
    accumulated,
    drying_share,
    log10_d,
    place_quantiles,
    rate_quantiles,
)
from dryingsim.judge.sides import sides_of
from dryingsim.judge.taking_off import leaving_times, while_in
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core.quantities import Unit, Units, lasting, logs, slices
from dryingsim.show.core.style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    INKS,
    MAP_DARK,
    MAP_LIGHT,
    ORANGE,
    PAPER,
    RED,
    REDUCTION_MAP,
    SKY,
    name_lines,
    new_axes,
    open_frame,
    room_for,
)
from dryingsim.show.lethality.words import ESTIMATE_WORDS
from dryingsim.typing import Array

_LEVELS = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0)  # log10 reductions that the map tells apart
_MOST = COUNTABLE  # log10: where lines over time are cut off
_MOST_ROWS = 48  # records that a map is drawn from
_EDGE = 0.03  # share of the time at the beginning of a map in which no number can be read
_SHARES: dict[Estimate, float] = {"lower": BOUND, "best": 0.5}
_RATES = 1e-4, 1e4  # log reductions per hour: what is shown
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
    judged: Lethality | None = None,
) -> tuple[Axes, Axes]:
    """Draw what happened at the least-reduced place, and below it how fast heat reduces bacteria there.

    Above: temperature (left) and water activity (right) of the least-reduced place. Below, over the same time: log
    reductions per hour by heat, best estimate and lower bound, on a logarithmic scale; and, for comparison, what the best
    estimate would be if the place were as wet as raw meat at the same temperature.

    Parameters
    ----------
    history : History
    axes : pair of matplotlib Axes, optional
        Upper and lower; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    organism : str
        "salmonella", "e_coli" or "listeria".
    judged : Lethality, optional
        As `dryingsim.judge.verdict.judge_batch_lethality` gives it; judged here if left out.

    Returns
    -------
    pair of matplotlib Axes
    """
    shown, entry = Units(history, units), _entry(history, organism, judged)
    upper, lower = axes or _pair()
    history = while_in(history, entry.slab)
    hours = shown.time.value(history.time_s)
    sides, place = sides_of(history), (slice(None), entry.node, entry.slab)
    t, drier = sides.temperature_K[place], sides.heat_water_activity[place]
    _draw_state(upper, history, shown, entry)
    wet, matrix, ends = np.full_like(t, RAW_ACTIVITY), MATRIX[history.batch.meat.form], []
    (if_wet,) = rate_quantiles(t, wet, organism, matrix, [_SHARES["best"]])
    best, bound = rate_quantiles(t, drier, organism, matrix, [_SHARES["best"], _SHARES["lower"]])
    lines = (
        (if_wet, SKY, "--", "if it were wet"),
        (best, GREEN, "-", "best estimate"),
        (bound, ORANGE, "-", "lower bound"),
    )
    for per_second, colour, style, name in lines:
        rate = 3600.0 * per_second
        lower.plot(hours, rate, color=colour, linestyle=style, label=name)
        ends.append((float(np.clip(rate[-1], *_RATES)), name, colour))  # beyond: at the edge
    lower.set_yscale("log")
    # the usual powers of ten would want mathematics, see `style.own_settings`
    lower.yaxis.set_major_formatter("{x:g}")
    lower.set_ylim(*_RATES)
    lower.set_ylabel("log reduction by heat (1/h)")
    lower.set_xlabel(f"time ({shown.time.symbol})")
    open_frame(lower)
    room = 1.0 - room_for(lower, [name for _, name, _ in ends])
    for axes_of_pair in (upper, lower):
        axes_of_pair.set_xlim(0.0, float(hours[-1]) / room)
    name_lines(lower, float(hours[-1]), ends)
    return upper, lower


def _draw_state(axes: Axes, history: History, shown: Units, entry: OrganismLethality) -> None:
    """Draw the temperature (left) and the water activity (right) of a place over time, and its air."""
    hours, sides = shown.time.value(history.time_s), sides_of(history)
    temperature = shown.temperature.value(sides.temperature_K[:, entry.node, entry.slab])
    air = shown.temperature.value(history.air_temperature_K[:, entry.slab])
    axes.plot(hours, temperature, color=RED, linewidth=1.8, label="temperature")
    axes.plot(hours, air, color=GREY, linewidth=1.0, label="air")
    axes.set_ylabel(f"temperature ({shown.temperature.symbol})", color=INKS[RED])
    end = float(hours[-1]), float(air[-1])
    axes.annotate("air", end, (-4.0, 3.0), textcoords="offset points", ha="right", color=INKS[GREY])
    right = axes.twinx()
    activity = sides.water_activity[:, entry.node, entry.slab]
    right.plot(hours, activity, color=BLUE, linewidth=1.8, label="water activity")
    right.set_ylim(0.0, 1.02)
    right.set_ylabel("water activity (-)", color=BLUE)
    right.spines["top"].set_visible(False)
    axes.spines["top"].set_visible(False)
    axes.set_title(f"Least-reduced place for {entry.name}: {slices(history, shown, entry.slab)}", loc="left")


def reduction_map(
    history: History,
    axes: Axes | None = None,
    units: str | None = None,
    organism: str = "salmonella",
    estimate: Estimate = "lower",
    judged: Lethality | None = None,
) -> Axes:
    """Draw the log10 reduction over time and depth in the least-reduced slab, with the line of the target.

    The lower bound decides, so it is drawn unless the best estimate is asked for.
    Bacteria are taken to sit where `dryingsim.judge.verdict` says: on intact muscle at the two faces alone, which are the
    lower and the upper edge of the map. The least-reduced place of this estimate is marked with what it comes to.

    Parameters
    ----------
    history : History
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    organism : str
        "salmonella", "e_coli" or "listeria".
    estimate : str
        "lower" or "best".
    judged : Lethality, optional
        As `dryingsim.judge.verdict.judge_batch_lethality` gives it; judged here if left out.
    """
    check_choice("estimate", estimate, ESTIMATES)
    axes = axes or new_axes((7.0, 4.6))
    reduction_maps(history, {estimate: axes}, units, organism, judged)
    return axes


def reduction_maps(
    history: History,
    panels: Mapping[Estimate, Axes],
    units: str | None = None,
    organism: str = "salmonella",
    judged: Lethality | None = None,
) -> None:
    """Draw such maps of some estimates, which come of the same sums.

    Parameters
    ----------
    history, units, organism, judged
        See `reduction_map`.
    panels : mapping of matplotlib Axes
        By estimate.
    """
    shown, entry = Units(history, units), _entry(history, organism, judged)
    history = while_in(history, entry.slab)
    rows = np.unique(np.linspace(0, history.time_s.size - 1, _MOST_ROWS).astype(int))
    found = _reductions(history, organism, list(panels), rows, entry.slab)
    for (estimate, axes), reductions in zip(panels.items(), found, strict=True):
        _draw_map(axes, history, shown, entry, estimate, rows, reductions)


def _draw_map(
    axes: Axes,
    history: History,
    shown: Units,
    entry: OrganismLethality,
    estimate: Estimate,
    rows: Array,
    reductions: Array,
) -> None:
    """Draw a map of reductions, shape (rows, n), by one estimate."""
    hours, depth = shown.time.value(history.time_s)[rows], 100.0 * history.slabs.nodes
    most = _LEVELS[-1]
    seen = np.minimum(reductions, most).T
    axes.contourf(hours, depth, seen, levels=(0.0, *_LEVELS), cmap=REDUCTION_MAP, vmin=0.0, vmax=most)
    level = _only_level(seen[:, hours >= _EDGE * hours[-1]])
    if level is None:
        _draw_levels(axes, hours, depth, seen)
        _mark_goal(axes, reductions, hours, depth, entry)
    else:  # one colour is better a sentence
        first = int((reductions >= level).all(axis=1).argmax())
        after = lasting(float(history.time_s[rows][first]))
        _say(axes, f"{level:g} log or more at every depth after {after}; required: {entry.target:g}")
    places = exposed_nodes(history.batch.meat.form, depth.size)
    node = int(places[reductions[-1, places].argmin()])
    least = entry.counted if estimate == "lower" else cut(float(reductions[-1, node]))
    axes.plot([hours[-1]], [depth[node]], "o", color=RED, markersize=7.0, clip_on=False)
    axes.annotate(
        f"least reduced: {logs(least)}", (hours[-1], depth[node]), (-9.0, -9.0 if node else 9.0),
        textcoords="offset points", ha="right", va="center", fontsize="small", color=MAP_DARK,
        bbox={"facecolor": MAP_LIGHT, "alpha": 0.85, "linewidth": 0.0, "pad": 1.5},
    )  # fmt: skip
    axes.set_xlim(0.0, float(hours[-1]))
    axes.set_ylim(0.0, 100.0)
    axes.set_xlabel(f"time ({shown.time.symbol})")
    axes.set_ylabel("height (% of dry mass)")
    axes.set_title(
        f"{entry.name}: log10 reduction, {ESTIMATE_WORDS[estimate]},\nin the {slices(history, shown, entry.slab)}",
        loc="left",
    )


def _only_level(seen: Array) -> float | None:
    """Return the level that all values lie above, none of them above the next; None where they lie between several."""
    below = [level for level in _LEVELS if level <= seen.min()]
    return below[-1] if below and not any(below[-1] < level < seen.max() for level in _LEVELS) else None


def _draw_levels(axes: Axes, hours: Array, depth: Array, seen: Array) -> None:
    """Draw lines of equal reduction, shape (n, rows), with their numbers; none where lines crowd at the beginning."""
    told = [level for level in _LEVELS if seen.min() < level < seen.max()]
    if not told:
        return
    colours = [MAP_LIGHT if level < 5.0 else MAP_DARK for level in told]  # on dark and on light ground
    drawn = axes.contour(hours, depth, seen, levels=told, colors=colours, linewidths=0.7)
    for number in axes.clabel(drawn, fmt=lambda level: f"{level:g}", fontsize="small"):
        if number.get_position()[0] < _EDGE * hours[-1]:
            number.remove()


def _say(axes: Axes, words: str) -> None:
    axes.annotate(
        words, (0.02, 0.5), xycoords="axes fraction", va="center", fontsize="small", color=MAP_DARK,
        bbox={"facecolor": MAP_LIGHT, "alpha": 0.85, "linewidth": 0.0, "pad": 1.5},
    )  # fmt: skip


def _mark_goal(axes: Axes, reductions: Array, hours: Array, depth: Array, entry: OrganismLethality) -> None:
    """Draw the line of the reduction required, or say that it is nowhere reached."""
    reached = reductions.max() >= entry.target
    words = (
        f"thick line: {entry.target:g} log required"
        if reached
        else f"the {entry.target:g} log required is nowhere reached"
    )
    if reached and reductions.min() < entry.target:
        axes.contour(hours, depth, reductions.T, levels=[entry.target], colors=[RED], linewidths=2.4)
    _say(axes, words)


def against_humid(
    history: History,
    humid: History,
    axes: Axes | None = None,
    units: str | None = None,
    organism: str = "salmonella",
) -> Axes:
    """Draw the reduction at the least-reduced place over time for a schedule, and for the same held humid.

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
    shown, axes = Units(history, units), axes or new_axes((7.0, 4.6))
    goal = catalog.target(organism, judge_batch_lethality(history).species).log10
    axes.axhline(goal, color=GREY, linewidth=1.0)
    end = max(float(shown.time.value(one.time_s[-1])) for one in (history, humid))
    axes.set_xlim(0.0, end / (1.0 - room_for(axes, ["as scheduled, lower bound (95 %)"])))
    axes.set_ylim(0.0, _MOST + 0.5)
    axes.set_yticks(range(int(_MOST) + 1), [*map(str, range(int(_MOST))), logs(_MOST)])
    axes.annotate(
        f"required: {goal:g}", (0.5, goal), (0.0, 3.0), xycoords=axes.get_yaxis_transform(),
        textcoords="offset points", ha="center", color=INKS[GREY],
    )  # fmt: skip
    ends = []
    for one, colour, name in ((history, RED, "as scheduled"), (humid, BLUE, "held humid")):
        rows = np.unique(np.linspace(0, one.time_s.size - 1, _MOST_ROWS).astype(int))
        hours, sides = shown.time.value(one.time_s)[rows], sides_of(one)
        arrays = (one.time_s, sides.temperature_K, sides.water_activity, sides.heat_water_activity)
        exposed = Exposed.of(arrays, one.batch.meat.form, drying=True, leaves_s=leaving_times(one))
        course = exposed.over_time(organism, rows)
        for estimate, style in zip(ESTIMATES, ("-", "--"), strict=True):
            least = np.array([each.quantile(_SHARES[estimate]) for each in course])
            seen, words = np.minimum(least, _MOST), f"{name}, {ESTIMATE_WORDS[estimate]}"
            axes.plot(hours, seen, color=colour, linestyle=style, label=words)
            ends.append((float(seen[-1]), words, colour))
    name_lines(axes, end, ends, joined=False)
    axes.set_xlabel(f"time ({shown.time.symbol})")
    axes.set_ylabel("log10 reduction at the least-reduced place (-)")
    axes.set_title(f"{catalog.organisms()[organism]}: the same schedule, held humid", loc="left")
    open_frame(axes)
    return axes


def decimal_times(
    axes: Axes | None = None,
    units: str = "metric",
    organism: str = "salmonella",
    path: History | None = None,
) -> Axes:
    """Draw lines of equal decimal reduction time (best estimate) over temperature and water activity.

    Parameters
    ----------
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.
    units : str
        "metric" or "us".
    organism : str
        "salmonella", "e_coli" or "listeria".
    path : History, optional
        Its least-reduced place is drawn on top, from wet and cold to dry and hot.
    """
    check_choice("units", units, ("metric", "us"))
    unit, axes = Unit("temperature", display_units(units)["temperature"]), axes or new_axes((7.0, 4.6))
    t = np.linspace(283.15, 378.15, 381)
    a = np.linspace(0.05, 1.0, 191)
    seconds = 10.0 ** log10_d(t[None], a[:, None], organism)
    told = unit.value(t)
    drawn = axes.contour(told, a, np.log10(seconds), levels=[np.log10(s) for s, _ in _SPANS], colors=BLUE)
    axes.clabel(drawn, fmt={float(np.log10(s)): words for s, words in _SPANS}, fontsize="small")
    floor = float(unit.value(heat_resistance().coolest_K))
    axes.axvspan(float(told[0]), floor, color=GREY, alpha=0.25, linewidth=0.0)
    axes.text(0.5 * (float(told[0]) + floor), 0.12, "hardly any credited", ha="center", va="center")
    if path is not None:
        entry = _entry(path, organism, None)
        sides = sides_of(while_in(path, entry.slab))
        place = (slice(None), entry.node, entry.slab)
        t, a = unit.value(sides.temperature_K[place]), sides.water_activity[place]
        axes.plot(t, a, color=BLACK, linewidth=1.8)
        start = max(float(t[0]), float(told[0])), float(a[0])
        axes.annotate(
            "least-reduced place, from here on", start, (4.0, -12.0), textcoords="offset points",
            bbox={"facecolor": PAPER, "edgecolor": "none", "alpha": 0.85, "pad": 1.0},
        )  # fmt: skip
    axes.set_xlim(float(told[0]), float(told[-1]))
    axes.set_ylim(0.05, 1.0)
    axes.set_xlabel(f"temperature ({unit.symbol})")
    axes.set_ylabel("water activity (-)")
    axes.set_title(f"Time for 1 log of {catalog.organisms()[organism]} by heat, best estimate", loc="left")
    return axes


def _entry(history: History, organism: str, judged: Lethality | None) -> OrganismLethality:
    check_choice("organism", organism, catalog.organisms())
    found = judged or judge_batch_lethality(history)
    return next(entry for entry in found.organisms if entry.organism == organism)


def _reductions(
    history: History, organism: str, estimates: Sequence[Estimate], rows: Array, slab: int
) -> Array:
    """Log10 reduction at every node of a slab after some records, shape (estimates, rows, n)."""
    sides = sides_of(history)
    t, a, drier = (
        values[..., slab] for values in (sides.temperature_K, sides.water_activity, sides.heat_water_activity)
    )
    sums = accumulated(history.time_s, t, drier, over_time=True)[:, rows]
    share = drying_share(history.time_s, t, a, over_time=True)[rows]
    matrix = MATRIX[history.batch.meat.form]
    return place_quantiles(sums, organism, matrix, [_SHARES[each] for each in estimates], drying=share)


def _pair() -> tuple[Axes, Axes]:
    sheet = Figure(figsize=(7.0, 6.0), layout="constrained")
    upper, lower = sheet.subplots(2, 1, sharex=True)
    return upper, lower
