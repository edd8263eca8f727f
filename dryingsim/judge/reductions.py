"""Arrays of temperature and water activity judged, organism by organism, at its worst place."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import Desiccation, Resistance
from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Form, Species
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Grade, Lethality, OrganismLethality
from dryingsim.judge.growth_places import NodeHeights, judge_growth
from dryingsim.judge.growth_time import growth_hours, growth_warning
from dryingsim.judge.lethality import (
    cumulative_exponential,
    cumulative_trapezoid,
    desiccation_reductions,
    log_D,
    log_reductions,
)
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import UNCERTAINTY
from dryingsim.typing import Array

_LOWEST_MEASURED_AW: Annotated[
    float, Evidence("-", "published", "wheat flour, the driest of the [dry_points] of organisms.toml")
] = 0.11
_STILL_WET: Annotated[
    float,
    Evidence("-", "estimate", "water activity above which heat works as in wet meat; for the sentence only"),
] = 0.95
_HARDLY_ANY: Annotated[
    float, Evidence("log10", "estimate", "a reduction below tenfold is within the scatter of counting")
] = 1.0
_DRIED: Annotated[
    float,
    Evidence(
        "-",
        "derived",
        "the curve of water activity was compared with measurements on meat about this dry, and drier",
    ),
] = 0.85
_MEAT_K: Annotated[
    tuple[float, float],
    Evidence("K", "estimate", "frozen hard to an oven's air: what lies beyond is another unit or a slip"),
] = (230.0, 430.0)
_HIGHEST_PRESSURE_PA: Annotated[
    float,
    Evidence(
        "Pa", "estimate", "more vapour than this no wet meat holds in open air; 110 kPa and some rounding"
    ),
] = 1.15e5
_WET: Annotated[
    float,
    Evidence(
        "-", "estimate", "what is drier may be taken hotter than its water boils: dry crusts in an oven are"
    ),
] = 0.9
_SPECIES_WARNING = {"unknown": Finding("species_unknown"), "fish": Finding("species_fish")}


def exposed_nodes(form: Form, node_count: int) -> Array:
    """Return the nodes where bacteria may sit: the faces of intact muscle, every depth of other forms.

    Parameters
    ----------
    form : str
        "sliced", "pounded" or "minced".
    node_count : int
        Nodes across a slice.

    Examples
    --------
    >>> exposed_nodes("sliced", 5).tolist(), exposed_nodes("minced", 3).tolist()
    ([0, 4], [0, 1, 2])
    """
    check_choice("form", form, ("sliced", "pounded", "minced"))
    return np.array([0, node_count - 1]) if form == "sliced" else np.arange(node_count)


def drier_side(water_activity: Array) -> Array:
    """Return the water activity less its error [-].

    The error of 0.04 was found on dried meat. Raw meat's water activity is known to some thousandths, so from
    0.85 upward the error is taken to shrink in proportion to the distance from 1 (estimate).

    Examples
    --------
    >>> [round(float(drier_side(a)), 3) for a in (1.0, 0.98, 0.85, 0.6)]
    [1.0, 0.975, 0.81, 0.56]
    """
    a = np.asarray(water_activity, dtype=float)
    error = np.minimum(UNCERTAINTY, np.maximum(1.0 - a, 0.0) * UNCERTAINTY / (1.0 - _DRIED))
    return np.maximum(a - error, 0.0)


def judge_lethality(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    form: Form,
    species: Species,
    *,
    desiccation: Desiccation | None = None,
    cautious_water_activity: Array | None = None,
) -> Lethality:
    """Judge arrays against the reductions guidelines ask for; the worst place of the worst slab decides.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, node, slab)
        Temperature [K] and water activity [-] at every node, from the lower face to the upper; two nodes at least.
    form : str
        "sliced", "pounded" or "minced": where the bacteria may sit.
    species : str
        "beef", "pork", "poultry", "game", "fish", "other" or "unknown": which target applies.
    desiccation : Desiccation, optional
        Log reduction by drying itself, added to the central estimate and shown apart. Never part of the cautious one.
    cautious_water_activity : ndarray, shape (t, node, slab), optional
        What the cautious estimate uses instead [-]; see `drier_side`.

    Raises
    ------
    InputError
        For arrays that cannot be meat: of other shapes, not numbers, percent for a fraction, degrees Celsius for
        kelvin, or wet meat above the boiling point of its water.

    Examples
    --------
    An hour at 65 degC does to wet meat what it does not do to dry meat:

    >>> time_s, hot = np.linspace(0.0, 3600.0, 61), np.full((61, 5, 1), 338.15)
    >>> [judge_lethality(time_s, hot, np.full_like(hot, aw), "sliced", "beef").grade for aw in (0.99, 0.5)]
    ['reached', 'hardly any']
    """
    shape = np.shape(temperature_K)
    if len(shape) != 3 or shape[1] < 2:
        raise InputError(
            f"temperature_K has the shape {shape}: (times, nodes, slabs) with two nodes at least is expected, from the "
            "lower face to the upper; a single place is judged by judge_place"
        )
    judged = judge_computed(
        time_s, temperature_K, water_activity, form, species, desiccation, cautious_water_activity
    )
    _check_boiling(temperature_K, water_activity)
    return judged


def judge_place(time_s: Array, temperature_K: Array, water_activity: Array, species: Species) -> Lethality:
    """Judge one place in the meat, such as that of a thermometer's probe, as if all bacteria sat there.

    Parameters
    ----------
    time_s, temperature_K, water_activity : ndarray, shape (t,)
        Time, not falling [s]; temperature [K] and water activity [-] there.
    species : str
        As for `judge_lethality`.

    Examples
    --------
    >>> judge_place(np.linspace(0.0, 3600.0, 61), np.full(61, 338.15), np.full(61, 0.99), "beef").worst.organism
    'listeria'
    """
    shape = np.shape(temperature_K)
    if len(shape) != 1:
        raise InputError(f"temperature_K has the shape {shape}: one value for each time is expected")
    t, a = (np.asarray(values)[..., None, None] for values in (temperature_K, water_activity))
    judged = judge_computed(time_s, t, a, "minced", species)
    _check_boiling(t, a)
    return judged


def judge_computed(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    form: Form,
    species: Species,
    desiccation: Desiccation | None = None,
    cautious_water_activity: Array | None = None,
    heights: NodeHeights | None = None,
) -> Lethality:
    """Judge computed meat as `judge_lethality` does; the model does not stop it at the boiling point.

    That makes no verdict better: a reduction by heat is credited no more above 84 degC (cautious) or 99 degC (central).

    Parameters
    ----------
    time_s, temperature_K, water_activity, form, species, desiccation, cautious_water_activity
        As for `judge_lethality` [s], [K], [-].
    heights : NodeHeights, optional
        How deep the nodes are [m], for growth without air.
    """
    check_choice("species", species, catalog.SPECIES)
    low = water_activity if cautious_water_activity is None else cautious_water_activity
    time, t, a, drier = (np.asarray(v, dtype=float) for v in (time_s, temperature_K, water_activity, low))
    _check(time, t, a, drier)
    nodes = exposed_nodes(form, t.shape[1])
    drying = desiccation_reductions(t[:, nodes], a[:, nodes], desiccation)[-1] if desiccation else 0.0
    exposed = (time, t[:, nodes], a[:, nodes], drier[:, nodes], drying * np.ones_like(t[-1, nodes]))
    entries = tuple(_judge(*exposed, nodes, key, species) for key in catalog.organisms())
    growth = judge_growth(time, t, a, nodes, heights, entries)
    warned = growth_warning(growth_hours(time, t, a), growth)
    if warned:
        early = _until_reduced(time, t, a, drier, entries)
        if growth_warning(growth_hours(*early), judge_growth(*early, nodes, heights)):
            entries = tuple(entry.not_shown() for entry in entries)
    unsaid = (_SPECIES_WARNING[species],) if species in _SPECIES_WARNING else ()
    return Lethality(
        form=form,
        species=species,
        organisms=entries,
        node_count=t.shape[1],
        growth=growth,
        warnings=(*warned, *unsaid),
    )


def _check(time: Array, t: Array, a: Array, drier: Array) -> None:
    """Raise for arrays that cannot be the history of meat."""
    if time.shape != t.shape[:1] or a.shape != t.shape or drier.shape != t.shape or t.size == 0:
        raise InputError(
            f"time_s {time.shape}, temperature_K {t.shape} and water_activity {a.shape} do not go together: one time for "
            "each row, and a water activity for each temperature, are expected"
        )
    if not all(np.isfinite(values).all() for values in (time, t, a, drier)):
        raise InputError("the history has values that are not numbers: no lethality can be judged")
    if (np.diff(time) < 0.0).any():
        raise InputError("the history's time goes backwards: no lethality can be judged")
    for name, values, (least, most), hint in (
        ("temperature_K", t, _MEAT_K, "kelvin"),
        ("water_activity", a, (0.0, 1.0 + 1e-9), "fractions, not percent,"),
        ("cautious_water_activity", drier, (0.0, 1.0 + 1e-9), "fractions, not percent,"),
    ):
        if values.min() < least or values.max() > most:
            raise InputError(
                f"{name} goes from {values.min():g} to {values.max():g}: {hint} from {least:g} to {most:g} are expected"
            )


def _check_boiling(temperature_K: Array, water_activity: Array) -> None:
    """Raise for wet meat above the boiling point of its water."""
    t, a = np.asarray(temperature_K, dtype=float), np.asarray(water_activity, dtype=float)
    boils = (a > _WET) & (a * saturation_pressure(t) > _HIGHEST_PRESSURE_PA)
    if boils.any():
        at = np.unravel_index(int(boils.argmax()), t.shape)
        raise InputError(
            f"temperature_K = {t[at]:g} at a water activity of {a[at]:.2f}: wet meat gets no hotter than the boiling point "
            "of its water; was the air taken for the meat?"
        )


def _until_reduced(
    time: Array, t: Array, a: Array, drier: Array, entries: tuple[OrganismLethality, ...]
) -> tuple[Array, Array, Array]:
    """Return the arrays up to when the last organism is down by its target: growth after that undoes nothing that was reduced."""
    last = 1
    for entry in entries:
        place = (slice(None), entry.node, entry.slab)
        sums = log_reductions(time, t[place], drier[place], entry.organism, "cautious")
        last = max(last, int(np.searchsorted(sums, entry.target)) + 1)
    return time[:last], t[:last], a[:last]


def _judge(
    time: Array,
    t: Array,
    a: Array,
    drier: Array,
    drying: Array,
    nodes: Array,
    organism: str,
    species: Species,
) -> OrganismLethality:
    """Judge one organism; the arrays hold the exposed nodes only."""
    cautious = log_reductions(time, t, drier, organism, "cautious")[-1]
    heat = log_reductions(time, t, a, organism, "central")[-1]
    worst = np.unravel_index(np.lexsort(((heat + drying).ravel(), cautious.ravel()))[0], heat.shape)
    mildest = np.unravel_index(np.argmin(heat + drying), heat.shape)
    here = (slice(None), *worst)
    p = catalog.resistance(organism, "cautious")
    rate = np.where(t[here] >= p.floor_K, 10.0 ** -log_D(organism, t[here], drier[here], "cautious"), 0.0)
    low, central = float(cautious[worst]), float((heat + drying)[mildest])
    spread = abs(float(cumulative_trapezoid(time, rate)[-1]) - low)
    goal = catalog.target(organism, species)
    judged = OrganismLethality(
        organism=organism,
        name=catalog.organisms()[organism],
        slab=int(worst[1]),
        node=int(nodes[worst[0]]),
        cautious=low,
        central_heat=float(heat[mildest]),
        central_drying=float(drying[mildest]),
        target=goal.log10,
        guideline=goal.guideline,
        grade=_grade(low - spread, central, goal.log10),
        circumstances=_circumstances(time, t[here], a[here], p),
        quadrature_spread=spread,
        flags=tuple(_flags(t, a, organism)),
    )
    if not judged.coarse:
        return judged
    return replace(judged, flags=(*judged.flags, Finding("coarse_samples", {"spread_log10": spread})))


def _grade(cautious: float, central: float, goal: float) -> Grade:
    if cautious >= goal and central >= goal:
        return "reached"
    if central >= goal:
        return "not shown"
    return "short" if central >= _HARDLY_ANY else "hardly any"


def _circumstances(time: Array, t: Array, a: Array, p: Resistance) -> Finding:
    """Return what happened at the worst place."""
    hottest = float(t.max())
    above = np.flatnonzero(t >= p.floor_K)
    if above.size == 0:
        return Finding("never_hot", {"hottest_K": hottest, "floor_K": p.floor_K})
    values = {
        "floor_K": p.floor_K,
        "first_activity": float(a[above[0]]),
        "hotter_s": float(cumulative_exponential(time, np.zeros_like(t), t, p.floor_K)[-1]),
        "hottest_K": hottest,
        "least_activity": float(a[above].min()),
    }
    if values["first_activity"] >= _STILL_WET:
        return Finding("hot_while_wet", values)
    return Finding("hot_once_dry", values)


def _flags(t: Array, a: Array, organism: str) -> Iterator[Finding]:
    """Yield where the history leaves the measured range at any exposed place, and what was done about it."""
    limit = catalog.hottest_measured_K(organism)
    if (t > limit).any():
        held = {f"held_{each}_K": catalog.resistance(organism, each).held_above_K for each in catalog.SETS}
        yield Finding("hotter_than_in_wet_meat", {"hottest_K": float(t.max()), "measured_K": limit, **held})
    if (a < _LOWEST_MEASURED_AW).any():
        values = {"water_activity": float(a.min()), "measured": _LOWEST_MEASURED_AW}
        yield Finding("drier_than_measured", values)
    if organism != "salmonella" and (a < catalog.reference_water_activity()).any():
        yield Finding("dryness_of_salmonella")
