"""The judgement on kill: every organism at its worst place, against what guidelines ask for.

The *cautious* estimate counts heat alone, takes the water activity at the drier side of its error, and decides
whether a target counts as reached. The *central* estimate is the middle of what is published, with the kill by
drying itself shown apart; counts in published runs scatter around it by `SCATTER`. A federal time-temperature
table is a second, separate check, and home advice a third.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import Desiccation, Resistance, Species
from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Form
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.federal_table import RULES, TableCompliance, table_compliance
from dryingsim.judge.hot_liquid import HeatedFirst
from dryingsim.judge.lethality import (
    CAUTIONS,
    cumulative_exponential,
    cumulative_trapezoid,
    desiccation_reductions,
    log_D,
    log_reductions,
)
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import UNCERTAINTY
from dryingsim.typing import Array

SCATTER = 2.0  # log10: counts of published runs of drying around the central estimate (validation.challenge_studies)
HOME_ADVICE_K = {"beef": 344.26, "poultry": 347.04, "other": 344.26}  # 160 and 165 degF, before drying starts
# federal table, and its column [log10], for each kind of meat
TABLES = {"beef": ("beef_1999", 6.5), "poultry": ("poultry_fat_12", 7.0), "other": ("beef_1999", 6.5)}
_RULE = "2014 option B"  # the version whose text was read most completely; any pair of the table may be used
_POULTRY = ("chicken", "turkey", "duck", "goose", "poultry", "hen", "ostrich", "emu")
_LOWEST_MEASURED_AW = 0.11  # wheat flour, the driest of the [dry_points] of organisms.toml
_COARSE = 0.1  # share of the reduction on which two rules of integration may differ unmentioned; estimate
COUNTABLE = 10.0  # log10: nobody can count more
_HARDLY_ANY = 1.0  # log10; estimate: a kill below tenfold is within the scatter of counting
_ABOUT_DONE_S = 15 * 60.0  # a plan that goes on for less than this after the meat is done is one with it
_DRIED = 0.85  # the curve of water activity was compared with measurements on meat about this dry, and drier

Grade = Literal["hardly any", "short", "not shown", "reached"]
GRADES: dict[Grade, str] = {  # worst first
    "hardly any": "even the central estimate is below a tenfold kill",
    "short": "the central estimate is below the target",
    "not shown": "the central estimate reaches the target, the cautious one does not",
    "reached": "both estimates reach the target",
}


def celsius(kelvin: float) -> str:
    """Return a temperature [K] in words: "71.1 degC".

    Examples
    --------
    >>> celsius(328.15), celsius(344.26)
    ('55 degC', '71.1 degC')
    """
    return f"{kelvin - ZERO_CELSIUS:.1f}".removesuffix(".0") + " degC"


def logs(reduction: float) -> str:
    """Return a log10 reduction in words; nobody can count more than ten.

    Examples
    --------
    >>> logs(3.14), logs(650.0)
    ('3.1', 'more than 10')
    """
    return f"{reduction:.1f}" if reduction <= COUNTABLE else f"more than {COUNTABLE:.0f}"


@dataclass(frozen=True, slots=True)
class Remark:
    """A sentence with temperatures [K] in it, to be told in any unit."""

    template: str
    kelvins: tuple[float, ...] = ()

    def told(self, degrees: Callable[[float], str]) -> str:
        """Return the sentence, its temperatures printed by `degrees`."""
        return self.template.format(*map(degrees, self.kelvins))

    def __str__(self) -> str:
        return self.told(celsius)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganismLethality:
    """What the history does to one organism at the worst place where it may sit.

    Attributes
    ----------
    organism, name : str
    slab, node : int
        Worst slab and node, by the cautious estimate.
    cautious : float
        Log10 reduction by heat, smallest over the places.
    central_heat, central_drying : float
        Log10 reduction by the central set, at its own worst place: by heat, and by drying itself.
    target : float
        Log10 reduction asked for, and who asks.
    guideline : str
    grade : str
        A key of `GRADES`.
    reason, circumstances : Remark
        The numbers of the grade; what happened at the worst place.
    quadrature_spread : float
        Log10 by which two rules of integration disagree on `cautious`; deducted for the grade (`counted`).
    flags : tuple of Remark
        Where the history leaves the measured range, and what was done about it.
    """

    organism: str
    name: str
    slab: int
    node: int
    cautious: float
    central_heat: float
    central_drying: float
    target: float
    guideline: str
    grade: Grade
    reason: Remark
    circumstances: Remark
    quadrature_spread: float
    flags: tuple[Remark, ...]

    @property
    def counted(self) -> float:
        """What the grade counts: `cautious` less the doubt of its integration, rounded down to a tenth."""
        return math.floor(10.0 * max(self.cautious - self.quadrature_spread, 0.0) + 1e-9) / 10.0

    @property
    def central(self) -> float:
        """Log10 reduction of the central estimate, heat and drying together."""
        return self.central_heat + self.central_drying


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeAdvice:
    """How the batch stands to the home advice to heat the meat through before it is dried.

    Attributes
    ----------
    asked_K, hottest_K : float
        Temperature asked for, and the highest that the coldest spot of the meat reached [K].
    reached_s : float or None
        When the coldest spot first was as hot as asked [s].
    face_water_activity : float or None
        The lowest of any face at that time [-].
    before_drying : bool
        Whether it was reached by heating the meat before it was laid on the trays.
    """

    asked_K: float
    hottest_K: float
    reached_s: float | None
    face_water_activity: float | None
    before_drying: bool

    @property
    def remark(self) -> Remark:
        """Return the comparison as a sentence."""
        asked = "Home advice is to heat the meat to {} throughout before it is dried"
        if self.before_drying:
            return Remark(asked + "; that was done.", (self.asked_K,))
        if self.reached_s is None:
            kelvins = self.asked_K, self.hottest_K
            return Remark(asked + ". Here its coldest spot never got hotter than {}.", kelvins)
        late = f"after {self.reached_s / 3600.0:.1f} h of drying, its faces at a water activity of "
        return Remark(f"{asked}. Here it got there {late}{self.face_water_activity:.2f}.", (self.asked_K,))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lethality:
    """The judgement on a batch: every organism, the worst one decides.

    Attributes
    ----------
    form, species : str
    places : str
        Where the bacteria are taken to sit.
    organisms : tuple of OrganismLethality
    table : TableCompliance or None
        The federal table with its humidity condition; None where only a probe's place is judged.
    advice : HomeAdvice or None
    slab_tray, slab_thickness_m : tuple
        Tray and thickness [m] of every slab; empty where unknown.
    node_count : int
        Nodes across a slab.
    cautions : tuple of str
    """

    form: Form
    species: Species
    places: str
    organisms: tuple[OrganismLethality, ...]
    table: TableCompliance | None = None
    advice: HomeAdvice | None = None
    slab_tray: tuple[int, ...] = ()
    slab_thickness_m: tuple[float, ...] = ()
    node_count: int = 0
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def grade(self) -> Grade:
        """The worst grade of all organisms."""
        return self.worst.grade

    @property
    def worst(self) -> OrganismLethality:
        """The organism with the worst grade; of several, the one farthest from its target."""
        order = list(GRADES)
        return min(self.organisms, key=lambda e: (order.index(e.grade), e.central - e.target))


def exposed_nodes(form: Form, node_count: int) -> Array:
    """Return the nodes where bacteria may sit: the faces of intact muscle, every depth of other forms."""
    check_choice("form", form, ("sliced", "pounded", "minced"))
    return np.array([0, node_count - 1]) if form == "sliced" else np.arange(node_count)


def species_of(meat_name: str) -> Species:
    """Return which target applies to meat of a name: "beef", "poultry", or "other" for anything else.

    Examples
    --------
    >>> species_of("beef eye of round"), species_of("turkey breast"), species_of("minced venison")
    ('beef', 'poultry', 'other')
    """
    words = meat_name.lower().split()
    if any(word in _POULTRY for word in words):
        return "poultry"
    return "beef" if "beef" in words else "other"


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


def judge_batch_lethality(history: History, heated: HeatedFirst | None = None) -> Lethality:
    """Judge what a batch does to three kinds of bacteria.

    Parameters
    ----------
    history : History
        The batch from when it was laid on the trays.
    heated : HeatedFirst, optional
        What was done in hot liquid before.

    Returns
    -------
    Lethality
        The worst place of the worst slab, over all trays and thicknesses, decides.

    Examples
    --------
    >>> from dryingsim import demo_batch, run
    >>> judge_batch_lethality(run(demo_batch())).grade == "reached"
    False
    """
    meat = history.batch.meat
    time, t, a = history.time_s, history.temperature_K, history.water_activity
    if heated is not None:
        time = np.concatenate([heated.time_s, heated.time_s[-1] + time])
        before = heated.temperature_K[:, :, history.kind]  # every tray holds the same slices
        t = np.concatenate([before, t])
        a = np.concatenate([np.broadcast_to(a[0], before.shape), a])
    species = species_of(meat.name)
    judged = judge_lethality(
        time,
        t,
        a,
        meat.form,
        species,
        desiccation=catalog.desiccation(),
        cautious_water_activity=drier_side(a),
    )
    table, log10 = TABLES[species]
    humidity = history.air_vapour_pressure_Pa / saturation_pressure(history.air_temperature_K)
    coldest = history.temperature_K.min(axis=(1, 2))
    compliance = table_compliance(
        history.time_s,
        coldest,
        humidity.min(axis=1),
        table,
        log10,
        RULES[_RULE],
        cooking_end_s=_cooking_end(history),
    )
    return replace(
        judged,
        table=compliance,
        advice=_home_advice(history, HOME_ADVICE_K[species], coldest, heated),
        slab_tray=tuple(history.tray.tolist()),
        slab_thickness_m=tuple(meat.classes[k].thickness_m for k in history.kind),
    )


def judge_taken_out(history: History) -> tuple[float, Lethality] | None:
    """Judge the kill of meat that is taken out when it is done, where the plan goes on for long after that.

    Returns
    -------
    tuple or None
        When it is done [s] and the judgement; None where it is not done, or the plan is about over by then: the
        judgement on the whole plan then tells all.
    """
    done = judge_batch(history).doneness.batch.expected_s
    if done is None or history.time_s[-1] - done < _ABOUT_DONE_S:
        return None
    return done, judge_batch_lethality(history.up_to(done))


def _cooking_end(history: History) -> float:
    """Return when cooking ends and drying begins [s]: with the last stage that holds a humidity, else at the end."""
    held = [
        end
        for end, stage in zip(history.stage_end_s, history.batch.stages, strict=True)
        if stage.air.humidity.kind != "room"
    ]
    return float(held[-1] if held else history.time_s[-1])


def _home_advice(history: History, asked: float, coldest: Array, heated: HeatedFirst | None) -> HomeAdvice:
    hot = np.flatnonzero(coldest >= asked)
    first = int(hot[0]) if hot.size else None
    before = heated is not None and heated.coldest_K >= asked
    return HomeAdvice(
        asked_K=asked,
        hottest_K=max(float(coldest.max()), heated.coldest_K if heated else 0.0),
        reached_s=None if first is None else float(history.time_s[first]),
        face_water_activity=None if first is None else float(history.surface_water_activity[first].min()),
        before_drying=before,
    )


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
        Temperature [K] and water activity [-] at every node, from the lower face to the upper.
    form : str
        "sliced", "pounded" or "minced": where the bacteria may sit.
    species : str
        "beef", "poultry" or "other": which target applies.
    desiccation : Desiccation, optional
        Kill by drying itself, added to the central estimate and shown apart. Never part of the cautious one.
    cautious_water_activity : ndarray, shape (t, node, slab), optional
        What the cautious estimate uses instead [-]; see `drier_side`.
    """
    check_choice("species", species, catalog.SPECIES)
    nodes = exposed_nodes(form, np.shape(temperature_K)[1])
    low = water_activity if cautious_water_activity is None else cautious_water_activity
    time = np.asarray(time_s, dtype=float)
    t, a, drier = (np.asarray(v, dtype=float)[:, nodes] for v in (temperature_K, water_activity, low))
    if not all(np.isfinite(values).all() for values in (time, t, a, drier)):
        raise InputError("the history has values that are not numbers: no lethality can be judged")
    if (np.diff(time) < 0.0).any():
        raise InputError("the history's time goes backwards: no lethality can be judged")
    drying = desiccation_reductions(t, a, desiccation)[-1] if desiccation else np.zeros_like(t[-1])
    entries = tuple(_judge(time, t, a, drier, drying, nodes, key, species) for key in catalog.organisms())
    where = "at both faces, as on intact muscle" if form == "sliced" else f"at every depth, as in {form} meat"
    places = f"bacteria are taken to sit {where}"
    return Lethality(
        form=form, species=species, places=places, organisms=entries, node_count=np.shape(temperature_K)[1]
    )


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
    grade = _grade(low - spread, central, goal.log10)
    name = catalog.organisms()[organism]
    doubt = f" ({spread:.1f} of it in doubt, coarse samples)" if spread > _COARSE * max(low, 1.0) else ""
    by_drying = f", {float(drying[mildest]):.1f} of it by drying itself" if drying[mildest] >= 0.05 else ""
    found = (
        f"{logs(low)} log{doubt} by the cautious and {logs(central)} log{by_drying} by the central estimate"
    )
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
        reason=Remark(
            f"{name}: {found}, {goal.log10:.1f} log asked for ({goal.guideline}): {GRADES[grade]}."
        ),
        circumstances=_circumstances(time, t[here], a[here], p),
        quadrature_spread=spread,
        flags=_flags(t, a, organism, spread, low),
    )


def _grade(cautious: float, central: float, goal: float) -> Grade:
    if cautious >= goal and central >= goal:
        return "reached"
    if central >= goal:
        return "not shown"
    return "short" if central >= _HARDLY_ANY else "hardly any"


def _circumstances(time: Array, t: Array, a: Array, p: Resistance) -> Remark:
    """Say in numbers what happened at the worst place."""
    hottest = float(t.max())
    above = np.flatnonzero(t >= p.floor_K)
    if above.size == 0:
        return Remark(
            "the meat reached {} and never {}, below which the cautious estimate credits nothing",
            (hottest, p.floor_K),
        )
    hours = float(cumulative_exponential(time, np.zeros_like(t), t, p.floor_K)[-1]) / 3600.0
    first, least = float(a[above[0]]), float(a[above].min())
    passed = (
        "when its water activity was still"
        if first >= 0.95
        else "only after its water activity had fallen to"
    )
    return Remark(
        f"the meat passed {{}} {passed} {first:.2f}; it was hotter for {hours:.2f} h, reached {{}}, and dried to "
        f"{least:.2f} meanwhile",
        (p.floor_K, hottest),
    )


def _flags(t: Array, a: Array, organism: str, spread: float, cautious: float) -> tuple[Remark, ...]:
    """Say where the history leaves the measured range at any exposed place, and what was done about it."""
    flags = []
    limit = catalog.hottest_measured_K(organism)
    if (t > limit).any():
        held = tuple(catalog.resistance(organism, estimate).held_above_K for estimate in catalog.SETS)
        text = "up to {}; D was measured in wet meat up to {} and is held constant from {} (central) and {} (cautious)"
        flags.append(Remark(text, (float(t.max()), limit, *held)))
    if (a < _LOWEST_MEASURED_AW).any():
        flags.append(Remark(f"water activity down to {a.min():.2f}; measured down to {_LOWEST_MEASURED_AW}"))
    if organism != "salmonella" and (a < catalog.reference_water_activity()).any():
        flags.append(Remark("the effect of dryness was measured on Salmonella and is assumed the same here"))
    if spread > _COARSE * max(cautious, 1.0):
        flags.append(
            Remark(f"coarse samples: two rules of integration differ by {spread:.1f} log; it is deducted")
        )
    return tuple(flags)
