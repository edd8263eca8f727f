"""Arrays of temperature and water activity judged, organism by organism, at the least-reduced place."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Form, Meat, Species
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.judge.circumstances import circumstances, heated_circumstances
from dryingsim.judge.decline import decline_without_heat
from dryingsim.judge.exposed import Exposed, exposed_nodes
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Grade, Lethality, OrganismLethality
from dryingsim.judge.growth_places import NodeHeights, judge_growth
from dryingsim.judge.growth_time import growth_hours, growth_warning
from dryingsim.judge.heat_model import RAW_ACTIVITY, heat_resistance
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.judge.hot_liquid import InLiquid
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

_LOWEST_MEASURED_AW: Annotated[
    float, Evidence("-", "published", "the driest row of shared/heat_resistance_evidence.csv")
] = 0.11
_AW_TOLD: Annotated[
    float,
    Evidence("-", "assumed", "half of the last decimal to which water activities are measured and told"),
] = 0.005
_HARDLY_ANY: Annotated[
    float, Evidence("log10", "estimate", "a reduction below tenfold is within the scatter of counting")
] = 1.0
_MEAT_K: Annotated[
    tuple[float, float],
    Evidence(
        "K",
        "estimate",
        "frozen hard to burnt over an oven's element: what lies beyond is another unit or a slip",
    ),
] = (230.0, 600.0)
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
STRICTEST_FORM: Form = "pounded"  # bacteria inside muscle die about half as fast as in ground meat
SPECIES_WARNING: dict[Species, Finding] = {
    "unknown": Finding("species_unknown"),
    "other": Finding("species_other"),
    "fish": Finding("species_fish"),
}


def judge_lethality(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    form: Form,
    species: Species,
    *,
    drying: bool = False,
    drier_water_activity: Array | None = None,
) -> Lethality:
    """Judge arrays against the reductions guidelines require; the least-reduced place of all slabs decides.

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
    drying : bool
        Whether what is dried in hot air loses more than heat explains; only for a water activity that is known.
    drier_water_activity : ndarray, shape (t, node, slab), optional
        What heat is counted at instead [-]; see `drier_side`.

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
    ['met', 'far below']
    """
    shape = np.shape(temperature_K)
    if len(shape) != 3 or shape[1] < 2:
        raise InputError(
            f"temperature_K has the shape {shape}: (times, nodes, slabs) with two nodes at least is expected, from the "
            "lower face to the upper; a single place is judged by judge_place"
        )
    judged = judge_computed(
        time_s,
        temperature_K,
        water_activity,
        form,
        species,
        drying=drying,
        drier_water_activity=drier_water_activity,
    )
    _check_boiling(temperature_K, water_activity)
    return judged


def judge_place(
    time_s: Array, temperature_K: Array, water_activity: Array, species: Species, form: Form = STRICTEST_FORM
) -> Lethality:
    """Judge one place in the meat, such as that of a thermometer's probe, as if all bacteria sat there.

    Parameters
    ----------
    time_s, temperature_K, water_activity : ndarray, shape (t,)
        Time, not falling [s]; temperature [K] and water activity [-] there.
    species : str
        As for `judge_lethality`.
    form : str
        What the bacteria sit in; if not given the strictest, the inside of muscle.

    Examples
    --------
    >>> judge_place(np.linspace(0.0, 3600.0, 61), np.full(61, 338.15), np.full(61, 0.99), "beef").worst.organism
    'salmonella'
    """
    shape = np.shape(temperature_K)
    if len(shape) != 1:
        raise InputError(f"temperature_K has the shape {shape}: one value for each time is expected")
    t, a = (np.asarray(values)[..., None, None] for values in (temperature_K, water_activity))
    judged = judge_computed(time_s, t, a, form, species)
    _check_boiling(t, a)
    return judged


def judge_computed(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    form: Form,
    species: Species,
    *,
    drying: bool = False,
    drier_water_activity: Array | None = None,
    in_liquid: InLiquid | None = None,
    from_cold: bool = False,
    heights: NodeHeights | None = None,
    leaves_s: Array | None = None,
) -> Lethality:
    """Judge computed meat as `judge_lethality` does; the model does not stop it at the boiling point.

    That makes no verdict better: a reduction by heat is credited no more above 90 degC.

    Parameters
    ----------
    time_s, temperature_K, water_activity, form, species, drying, drier_water_activity
        As for `judge_lethality` [s], [K], [-].
    in_liquid : InLiquid, optional
        What came before in hot liquid; it is not in the other arrays.
    from_cold : bool
        Meat that starts hot earns nothing until it has been cooler: what made it hot was not shown.
    heights : NodeHeights, optional
        How deep the nodes are [m], for growth without air.
    leaves_s : ndarray, shape (slab,), optional
        When each slab is taken off the trays: nothing reduces bacteria after that [s]. Growth counts to the end, as if it
        were left in.
    """
    check_choice("species", species, catalog.SPECIES)
    low = water_activity if drier_water_activity is None else drier_water_activity
    time, t, a, drier = (np.asarray(v, dtype=float) for v in (time_s, temperature_K, water_activity, low))
    _check(time, t, a, drier)
    nodes = exposed_nodes(form, t.shape[1])
    exposed = Exposed.of(
        (time, t, a, drier),
        form,
        drying=drying,
        in_liquid=in_liquid,
        from_cold=from_cold,
        leaves_s=leaves_s,
    )
    at = cache(exposed.at)  # one place is mostly the least reduced for all organisms
    heated = None if in_liquid is None else (in_liquid.time_s, in_liquid.exposed_K(form, nodes))
    entries = tuple(_judge(exposed, at, nodes, key, species, heated) for key in catalog.organisms())
    if in_liquid is not None:
        time, t, a = in_liquid.before(time, t, a)
    growth = judge_growth(time, t, a, nodes, heights, entries)
    warned = growth_warning(growth_hours(time, t, a), growth)
    if warned and all(entry.grade == "met" for entry in entries):
        targets = {entry.organism: entry.target for entry in entries}
        samples = exposed.t.shape[0]
        last = time.size - samples + (exposed.samples_to(targets) or samples)
        early = time[:last], t[:last], a[:last]
        warned_early = growth_warning(growth_hours(*early), judge_growth(*early, nodes, heights))
    if warned and (any(entry.grade != "met" for entry in entries) or warned_early):
        entries = tuple(entry.not_shown() for entry in entries)
    unsaid = (SPECIES_WARNING[species],) if species in SPECIES_WARNING else ()
    return Lethality(
        form=form,
        species=species,
        organisms=entries,
        node_count=t.shape[1],
        growth=growth,
        without_heat=float(decline_without_heat(time, t[:, nodes], a[:, nodes]).min()),
        warnings=(*warned, *unsaid),
    )


def with_clash(judged: Lethality, meat: Meat) -> Lethality:
    """Return a judgement that says, first of all, where the name of the meat speaks of another species than was stated.

    Parameters
    ----------
    judged : Lethality
        By `Meat.judged_as`.
    meat : Meat
    """
    if meat.named_as is None:
        return judged
    clash = Finding("species_clash", {"name": meat.name, "stated": meat.species, "named": meat.named_as})
    rest = [finding for finding in judged.warnings if finding not in SPECIES_WARNING.values()]
    return replace(judged, warnings=(clash, *rest))


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
        ("drier_water_activity", drier, (0.0, 1.0 + 1e-9), "fractions, not percent,"),
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


def _judge(
    exposed: Exposed,
    at: Callable[[tuple[int, int]], Exposed],
    nodes: Array,
    organism: str,
    species: Species,
    heated: tuple[Array, Array] | None,
) -> OrganismLethality:
    """Judge one organism; `at` tells of a single place, `heated` of when and how hot all were before [s, K]."""
    whole = exposed.reduction(organism)
    place = np.unravel_index(whole.place, exposed.t.shape[1:])
    row, slab = int(place[0]), int(place[1])
    least = at((row, slab))
    spread = least.quadrature_spread(organism)
    goal = catalog.target(organism, species)
    history = least.time, least.t[:, 0, 0], least.a[:, 0, 0]
    judged = OrganismLethality(
        organism=organism,
        name=catalog.organisms()[organism],
        slab=slab,
        node=int(nodes[row]),
        lower=whole.lower,
        best=whole.median,
        heat_lower=exposed.reduction(organism, heat_alone=True).lower,
        drying_share=float(exposed.share[row, slab]),
        probability=whole.probability(goal.log10),
        target=goal.log10,
        guideline=goal.guideline,
        grade=grade_of(whole.lower - spread, whole.median, goal.log10),
        circumstances=circumstances(*history)
        if heated is None
        else heated_circumstances(
            heated[0],
            heated[1][:, row, slab],
            *history,
            most=least.if_heated_on(organism).lower,
            target=goal.log10,
        ),
        quadrature_spread=spread,
        flags=tuple(_flags(exposed.t, exposed.a, organism, goal.log10)),
    )
    if not judged.coarse:
        return judged
    return replace(judged, flags=(*judged.flags, Finding("coarse_samples", {"spread_log10": spread})))


def grade_of(lower: float, best: float, goal: float) -> Grade:
    """Return the grade of a reduction.

    Parameters
    ----------
    lower, best, goal : float
        Lower 95 % bound, best estimate and target [log10].
    """
    if lower >= goal:
        return "met"
    if best >= goal:
        return "not shown"
    return "below target" if best >= _HARDLY_ANY else "far below"


def _flags(t: Array, a: Array, organism: str, goal: float) -> Iterator[Finding]:
    """Yield where the history leaves the measured range at any exposed place, and what was done about it."""
    limit = heat_resistance().hottest_K
    if (t > limit).any():
        yield Finding("hotter_than_measured_D", {"hottest_K": float(t.max()), "measured_K": limit})
    if (a < _LOWEST_MEASURED_AW - _AW_TOLD).any():
        values = {"water_activity": float(a.min()), "measured": _LOWEST_MEASURED_AW}
        yield Finding("drier_than_measured", values)
    if goal >= COUNTABLE:
        yield Finding("beyond_counting", {"target_log10": goal})
    if organism == "listeria" and (a < RAW_ACTIVITY).any():
        yield Finding("dryness_of_others")
