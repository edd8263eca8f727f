"""Kill of bacteria by heat along a history of temperature and water activity, and the judgement on it.

    d(log10 reduction)/dt = 1/D,    log10 D = log10 D_ref - (T - T_ref)/z_T + g(a_w, T)

g is one monotone curve: steep near a_w 0.99 (raw meat), flat in dry matter. Its parameters, with their
evidence, stand in `batch/catalog/organisms.toml`, in two sets: *central* (middle of the published values)
and *cautious* (unfavourable end).

Limits. No published D(T, a_w) of drying meat was found; the curve joins wet beef, ground turkey, whey
powder and wheat flour, all for Salmonella, and is assumed for the other two. Published log10 D scatters by
0.8 between laboratories. Cells warmed slowly grow more resistant, and models that know only the present
state erred by 2 to 5 log on the unsafe side (Stasiewicz et al. 2008; Tenorio-Bernal et al. 2013): the
cautious set answers with a published factor on D and no credit below 55 degC. Extrapolation is never
favourable: nothing is credited below the coolest measured temperature, and D is held above the hottest.
Survivor curves often bend (shape 1.1 to 7.8 in one study of dry fat, two populations in ground beef), but
no shape was found for drying meat, and bent curves do not add up when conditions change; so none is used,
and the cautious D carries that doubt.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import EstimateSet, Resistance, Species
from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Form
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.typing import Array

_LN10 = float(np.log(10.0))
_LOWEST_MEASURED_AW = 0.11  # wheat flour, the driest of the [dry_points] of organisms.toml
_COARSE = 0.1  # share of the reduction on which two rules of integration may differ unmentioned; estimate
_HARDLY_ANY = 1.0  # log10; estimate: a kill below tenfold is within the scatter of counting

Grade = Literal["hardly any", "short", "not shown", "reached"]
GRADES: dict[Grade, str] = {  # worst first
    "hardly any": "even the central estimate is below a tenfold kill",
    "short": "the central estimate is below the target",
    "not shown": "the central estimate reaches the target, the cautious one does not",
    "reached": "both estimates reach the target",
}
CAUTIONS = (
    "A simulation validates no process: these are estimates from published laboratory values, not a test.",
    "Measure the meat itself with a checked thermometer; the temperature of the air says little.",
    "Follow your local food-safety authority; to sell, have a process authority review the process.",
    "Dryness and kill are two questions: neither stands for the other, nor for what happens in storage.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Desiccation:
    """Kill by drying itself, for the central estimate only: proportional to the deepest fall of a_w so far.

    To be fitted on challenge studies; there is no default. Wetting again takes nothing back, and drying again
    adds nothing until it goes deeper than before.
    """

    log10_per_unit_fall: float
    starts_below_aw: float = 0.99


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganismLethality:
    """What the history does to one organism at the worst place where it may sit."""

    organism: str
    name: str
    slab: int  # worst slab and node, by the cautious estimate
    node: int
    cautious: float  # log10 reduction by heat, smallest over the places
    central_heat: float  # the same by the central set, at its own worst place
    central_drying: float  # part of the central estimate due to drying itself, at the same place
    target: float
    guideline: str
    grade: Grade
    reason: str
    quadrature_spread: float  # log10; how far two rules of integration disagree on `cautious`
    flags: tuple[str, ...]  # where the history leaves the measured range, and what was done about it

    @property
    def central(self) -> float:
        """Log10 reduction of the central estimate, heat and drying together."""
        return self.central_heat + self.central_drying


@dataclass(frozen=True, slots=True, kw_only=True)
class Lethality:
    """The judgement on a batch: every organism, the worst one decides."""

    form: Form
    species: Species
    places: str
    organisms: tuple[OrganismLethality, ...]
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def grade(self) -> Grade:
        """The worst grade of all organisms."""
        return min((entry.grade for entry in self.organisms), key=list(GRADES).index)


def dryness_effect(temperature: Array, water_activity: Array, organism: str, estimate: EstimateSet) -> Array:
    """Return g, the rise of log10 D by dryness; zero at and above the water activity of raw meat (0.99).

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Points span 323-363 K.
    water_activity : float or ndarray
        Water activity at the bacteria and at that temperature [-]. Points span 0.11-1.
    organism : str
        "salmonella", "e_coli" or "listeria".
    estimate : str
        "central" or "cautious".

    Examples
    --------
    >>> [round(float(dryness_effect(333.15, a, "salmonella", "central")), 2) for a in (0.99, 0.95, 0.85, 0.4)]
    [0.0, 0.44, 1.21, 2.6]
    """
    p = catalog.resistance(organism, estimate)
    return _dryness_effect(np.minimum(temperature, p.held_above_K), water_activity, p)


def _dryness_effect(temperature: Array, water_activity: Array, p: Resistance) -> Array:
    fall = np.maximum(p.reference_aw - water_activity, 0.0)
    near = -np.expm1(-fall / p.width)
    wider = np.maximum(temperature - p.pivot_K, 0.0) * (1.0 - 1.0 / p.widening) / p.z_K
    return near * (p.plateau + wider) + fall / p.aw_step


def log_D(organism: str, temperature: Array, water_activity: Array, estimate: EstimateSet) -> Array:
    """Return log10 of the decimal reduction time, D in seconds.

    Parameters
    ----------
    organism : str
        "salmonella", "e_coli" or "listeria".
    temperature : float or ndarray
        Temperature [K]. D is held above `held_above_K`; below `floor_K` the line goes on, but
        no kill is credited there.
    water_activity : float or ndarray
        Water activity [-].
    estimate : str
        "central" or "cautious".

    Examples
    --------
    >>> round(float(10 ** log_D("salmonella", 333.15, 0.99, "central")) / 60, 2)  # minutes, wet, 60 degC
    4.13
    """
    p = catalog.resistance(organism, estimate)
    t = np.minimum(temperature, p.held_above_K)
    return p.log10_D_ref - (t - p.T_ref_K) / p.z_K + _dryness_effect(t, water_activity, p)


def cumulative_exponential(time_s: Array, log10_rate: Array, level: Array, floor: float) -> Array:
    """Integrate 10**log10_rate along axis 0 over the time in which `level` is at or above `floor`.

    Between samples `log10_rate` and `level` are straight lines, and the integral over the part above the
    floor is exact: a temperature linear in time at constant water activity leaves no quadrature error.
    Where a rate is capped (held D), the chord lies below the true rate, so less is credited. Equal times (a
    jump) are allowed.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    log10_rate : ndarray, shape (t, ...)
        Log10 of the rate [1/s].
    level : ndarray, shape (t, ...)
        What is compared with the floor, such as temperature [K].
    floor : float
        No credit below it.

    Returns
    -------
    ndarray, shape (t, ...)
        Cumulative integral [-], starting with zero.
    """
    v0, v1, u0, slope = level[:-1], level[1:], log10_rate[:-1], np.diff(log10_rate, axis=0)
    rise = v1 - v0
    crossing = (floor - v0) / np.where(rise == 0.0, 1.0, rise)
    start = np.where(v0 >= floor, 0.0, np.where(v1 >= floor, crossing, 1.0))
    end = np.where(v1 >= floor, 1.0, np.where(v0 >= floor, crossing, start))
    x = _LN10 * slope * (end - start)
    mean = np.where(x == 0.0, 1.0, np.expm1(x) / np.where(x == 0.0, 1.0, x)) * 10.0 ** (u0 + start * slope)
    return _accumulate(_steps(time_s, level) * (end - start) * mean)


def cumulative_trapezoid(time_s: Array, rate: Array) -> Array:
    """Integrate a rate [1/s] along axis 0 by the trapezoid rule; the cumulative integral starts with zero."""
    return _accumulate(_steps(time_s, rate) * 0.5 * (rate[:-1] + rate[1:]))


def _steps(time_s: Array, like: Array) -> Array:
    return np.diff(time_s).reshape((-1,) + (1,) * (np.ndim(like) - 1))


def _accumulate(parts: Array) -> Array:
    return np.concatenate([np.zeros((1, *parts.shape[1:])), np.cumsum(parts, axis=0)])


def log_reductions(
    time_s: Array, temperature: Array, water_activity: Array, organism: str, estimate: EstimateSet
) -> Array:
    """Return the cumulative log10 reduction by heat, by the rule of `cumulative_exponential`.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] at the bacteria.
    organism, estimate : str
        As in `log_D`.

    Returns
    -------
    ndarray, shape (t, ...)
        Log10 reduction [-] since the first sample.
    """
    rate = -log_D(organism, temperature, water_activity, estimate)
    return cumulative_exponential(
        time_s, rate, np.broadcast_to(temperature, rate.shape), catalog.resistance(organism, estimate).floor_K
    )


def desiccation_reductions(water_activity: Array, desiccation: Desiccation) -> Array:
    """Return the cumulative log10 reduction [-] by drying itself; time along axis 0 of `water_activity`."""
    fall = desiccation.starts_below_aw - np.minimum.accumulate(np.asarray(water_activity), axis=0)
    return desiccation.log10_per_unit_fall * np.maximum(fall, 0.0)


def lethal_rate(temperature: Array, reference: float, z: float) -> Array:
    """Return the lethal rate 10**((T - T_ref)/z) [-]; all three arguments in one unit, such as K."""
    return 10.0 ** ((np.asarray(temperature, dtype=float) - reference) / z)


def equivalent_time(time: Array, temperature: Array, reference: float, z: float) -> Array:
    """Return the cumulative equivalent time at a reference temperature (an F value), in the unit of `time`.

    Exact for a temperature linear between samples. `temperature`, `reference` and `z` in one unit, such as K.

    Examples
    --------
    >>> round(float(equivalent_time(np.array([0.0, 20.0]), np.array([333.15, 333.15]), 333.15, 5.56)[-1]), 6)
    20.0
    """
    t = np.asarray(temperature, dtype=float)
    return cumulative_exponential(time, (t - reference) / z, t, -np.inf)


def fit_resistance(temperature: Array, decimal_time: Array, reference: float) -> tuple[float, float]:
    """Return (D at `reference`, z) of the least-squares line of log10 D on temperature; units as given."""
    slope, level = np.polyfit(np.asarray(temperature) - reference, np.log10(decimal_time), 1)
    return float(10.0**level), float(-1.0 / slope)


def exposed_nodes(form: Form, node_count: int) -> Array:
    """Return the nodes where bacteria may sit: the faces of intact muscle, every depth of other forms."""
    check_choice("form", form, ("sliced", "pounded", "minced"))
    return np.array([0, node_count - 1]) if form == "sliced" else np.arange(node_count)


def judge_lethality(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    form: Form,
    species: Species,
    desiccation: Desiccation | None = None,
) -> Lethality:
    """Judge a history against the reductions guidelines ask for; the worst place of the worst slab decides.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, node, slab)
        Temperature [K] and water activity [-] at every node, from the lower face to the upper.
    form : str
        "sliced", "pounded" or "minced": where the bacteria may sit.
    species : str
        "beef", "poultry" or "other": which target applies.
    desiccation : Desiccation, optional
        Kill by drying itself, added to the central estimate and shown apart. Never part of the cautious one.
    """
    check_choice("species", species, catalog.SPECIES)
    nodes = exposed_nodes(form, np.shape(temperature_K)[1])
    time = np.asarray(time_s, dtype=float)
    t = np.asarray(temperature_K, dtype=float)[:, nodes]
    a = np.asarray(water_activity, dtype=float)[:, nodes]
    if not (np.isfinite(time).all() and np.isfinite(t).all() and np.isfinite(a).all()):
        raise InputError("the history has values that are not numbers: no lethality can be judged")
    if (np.diff(time) < 0.0).any():
        raise InputError("the history's time goes backwards: no lethality can be judged")
    entries = tuple(_judge(time, t, a, nodes, key, species, desiccation) for key in catalog.organisms())
    where = "at both faces, as on intact muscle" if form == "sliced" else f"at every depth, as in {form} meat"
    places = f"bacteria are taken to sit {where}"
    return Lethality(form=form, species=species, places=places, organisms=entries)


def _judge(
    time: Array,
    t: Array,
    a: Array,
    nodes: Array,
    organism: str,
    species: Species,
    desiccation: Desiccation | None,
) -> OrganismLethality:
    """Judge one organism; `t` and `a` hold the exposed nodes only."""
    cautious = log_reductions(time, t, a, organism, "cautious")[-1]
    heat = log_reductions(time, t, a, organism, "central")[-1]
    drying = desiccation_reductions(a, desiccation)[-1] if desiccation else np.zeros_like(heat)
    worst = np.unravel_index(np.lexsort(((heat + drying).ravel(), cautious.ravel()))[0], heat.shape)
    mildest = np.unravel_index(np.argmin(heat + drying), heat.shape)
    here = (slice(None), *worst)
    p = catalog.resistance(organism, "cautious")
    rate = np.where(t[here] >= p.floor_K, 10.0 ** -log_D(organism, t[here], a[here], "cautious"), 0.0)
    low, central = float(cautious[worst]), float((heat + drying)[mildest])
    spread = abs(float(cumulative_trapezoid(time, rate)[-1]) - low)
    goal = catalog.target(organism, species)
    grade = _grade(low - spread, central, goal.log10)
    name = catalog.organisms()[organism]
    doubt = f" ({spread:.1f} of it in doubt, coarse samples)" if spread > _COARSE * max(low, 1.0) else ""
    found = f"{name}: {low:.1f} log{doubt} by the cautious and {central:.1f} log by the central estimate"
    asked = f"{goal.log10:.1f} log asked for ({goal.guideline})"
    return OrganismLethality(
        organism=organism,
        name=name,
        slab=int(worst[1]),
        node=int(nodes[worst[0]]),
        cautious=low,
        central_heat=float(heat[mildest]),
        central_drying=float(drying[mildest]),
        target=goal.log10,
        guideline=goal.guideline,
        grade=grade,
        reason=f"{found}, {asked}: {GRADES[grade]}. {_circumstances(time, t[here], a[here], p)}",
        quadrature_spread=spread,
        flags=_flags(t, a, organism, spread, low),
    )


def _grade(cautious: float, central: float, goal: float) -> Grade:
    if cautious >= goal and central >= goal:
        return "reached"
    if central >= goal:
        return "not shown"
    return "short" if central >= _HARDLY_ANY else "hardly any"


def _circumstances(time: Array, t: Array, a: Array, p: Resistance) -> str:
    """Say in numbers what happened at the worst place."""
    hottest = f"At the worst place the meat reached {t.max() - ZERO_CELSIUS:.1f} degC"
    floor = f"{p.floor_K - ZERO_CELSIUS:.0f} degC"
    above = np.flatnonzero(t >= p.floor_K)
    if above.size == 0:
        return f"{hottest} and never {floor}, below which the cautious estimate credits nothing."
    hours = float(cumulative_exponential(time, np.zeros_like(t), t, p.floor_K)[-1]) / 3600.0
    first, least = a[above[0]], a[above].min()
    return (
        f"{hottest}; it was above {floor} for {hours:.2f} h, "
        f"with a water activity of {first:.2f} when it got there and {least:.2f} at its driest."
    )


def _flags(t: Array, a: Array, organism: str, spread: float, cautious: float) -> tuple[str, ...]:
    """Say where the history leaves the measured range at any exposed place, and what was done about it."""
    flags = []
    limit = catalog.hottest_measured_K(organism)
    if (t > limit).any():
        held = " and ".join(
            f"from {catalog.resistance(organism, estimate).held_above_K - ZERO_CELSIUS:.0f} degC ({estimate})"
            for estimate in catalog.SETS
        )
        flags.append(
            f"up to {t.max() - ZERO_CELSIUS:.0f} degC; D was measured in wet meat up to "
            f"{limit - ZERO_CELSIUS:.0f} degC and is held constant {held}"
        )
    if (a < _LOWEST_MEASURED_AW).any():
        flags.append(f"water activity down to {a.min():.2f}; measured down to {_LOWEST_MEASURED_AW}")
    if organism != "salmonella" and (a < catalog.resistance(organism, "central").reference_aw).any():
        flags.append("the effect of dryness was measured on Salmonella and is assumed the same here")
    if spread > _COARSE * max(cautious, 1.0):
        flags.append(f"coarse samples: two rules of integration differ by {spread:.1f} log; it is deducted")
    return tuple(flags)
