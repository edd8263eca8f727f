"""What would reduce bacteria more: a batch's own schedule with one change at a time, each simulated.

Six changes, each of which makes a batch of its own. *Heated first*: the slices go into boiling liquid, or into steam if they
would fall apart in it, until their middle is as hot as home advice asks, then onto the trays. *Boiled first*: they stay in it for
five minutes, as thin slices need it, which are as hot as that within seconds.
*Humid first*: 70 min of hot humid air before the schedule. *Hotter first*: the first drying stage in hotter air. *Oven
after*: ten minutes in a hot oven at the end. *Thinner*: the same schedule with thinner slices.

Every answer comes from a run; none is recited. A change that the batch or its appliance does not allow says why.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Literal, cast

import numpy as np

from dryingsim.batch.checks import check_choice
from dryingsim.batch.schedule_checks import check_schedule, why_not_in_liquid
from dryingsim.batch.schema import Air, Batch, Humidity, Stage, StageKind, Until
from dryingsim.batch.units import to_si
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.grades import GRADES, Lethality
from dryingsim.judge.liquid_amount import enough_marinade
from dryingsim.judge.verdict import HOME_ADVICE_K, judge_batch_lethality
from dryingsim.kernels.grid import NODES
from dryingsim.properties.moist_air import dew_point
from dryingsim.simulate import run

BOIL_S: Annotated[
    float,
    Evidence("s", "published", "5 min at the boil: home leaflet, Univ. of Georgia, read in a quotation"),
] = 300.0
HUMID_K: Annotated[float, Evidence("K", "published", "70 degC: the published climate-chamber run")] = 343.15
HUMID_SHARE: Annotated[
    float,
    Evidence(
        "-",
        "derived",
        "relative humidity enough for the 90 % of the federal humidity condition on every tray of an "
        "appliance",
    ),
] = 0.95
HUMID_S: Annotated[
    float, Evidence("s", "derived", "enough for the hour of the federal humidity condition on every tray")
] = 4200.0
HOTTER_K: Annotated[
    float,
    Evidence(
        "K",
        "published",
        "76.7 degC, 170 degF: dry bulb of the published wet-bulb schedules (Buege et al. 2006)",
    ),
] = 349.82
OVEN_K: Annotated[float, Evidence("K", "published", "135 degC, 275 degF, for 10 min: USDA home advice")] = (
    408.15
)
OVEN_S: Annotated[float, Evidence("s", "published", "135 degC, 275 degF, for 10 min: USDA home advice")] = (
    600.0
)
OVEN_SPEED: Annotated[float, Evidence("m/s", "estimate", "of the air in an oven with a fan")] = 1.0
THINNER: Annotated[float, Evidence("-", "numerical", "share of the thickness that a thinner slice has")] = (
    2.0 / 3.0
)
_INTERVAL_S: Annotated[
    float, Evidence("s", "numerical", "the first minutes of hot slices in air change fast")
] = 10.0
_TOLERANCE: Annotated[
    float,
    Evidence(
        "-", "numerical", "of the steps: against finer ones 2 s of drying, 0.001 log; less than is told"
    ),
] = 5e-4
_BELOW_BOILING_K: Annotated[
    float, Evidence("K", "numerical", "a liquid so much cooler boils hardly less")
] = 5.0
_COARSE = 12  # nodes, to see how long slices are heated
_LONG_ENOUGH = "the slices are heated for as long already"
_SAME_K: Annotated[float, Evidence("K", "numerical", "settings closer than this are the same")] = 0.01
RemedyName = Literal[
    "as it is", "heated first", "boiled first", "humid first", "hotter first", "oven after", "thinner"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One change and what it does.

    Attributes
    ----------
    name : str
        What is changed, a `RemedyName`; `dryingsim.show.lethality.words` says it in a sentence.
    batch : Batch or None
        The batch with the change, as it can be run, planned and printed by itself; None where the change cannot be made.
    history : History or None
        Its run; None where it could not be simulated.
    lethality : Lethality or None
        Without the limits that a search would find.
    extra_s : float or None
        Time of the added step itself [s].
    done_s, done_shift_s : float or None
        When the batch is dry, and how much later that is than without the change [s]; None where a run ends before.
    gains : dict of (float, float)
        Per organism: log10 gained by the lower bound and by the best estimate.
    problem : str
        Why it could not be simulated; empty if it was.
    """

    name: RemedyName
    batch: Batch | None = None
    history: History | None = None
    lethality: Lethality | None = None
    extra_s: float | None = None
    done_s: float | None = None
    done_shift_s: float | None = None
    gains: dict[str, tuple[float, float]]
    problem: str = ""


def remedies(batch: Batch, *, nodes: int = NODES) -> list[Remedy]:
    """Simulate every change to a batch; first comes the batch as it is, then what helps most.

    Parameters
    ----------
    batch : Batch
    nodes : int
        Nodes across each slice.

    Returns
    -------
    list of Remedy
        The batch itself ("as it is"); then changes that meet what is required, by how much (to a tenth of a log) and how soon
        they are dry; then the others, by how near they come; at the end those that cannot be made.
    """
    base = run(batch, nodes=nodes, tolerance=_TOLERANCE, interval_s=_INTERVAL_S)
    judged = _lethality(base)
    found = [_tried(name, batch, base, judged, nodes) for name in CHANGES]
    return [_judged("as it is", batch, base, judged, base), *sorted(found, key=_rank)]


def remedied(batch: Batch, name: str) -> Batch:
    """Return a batch with one change made.

    Parameters
    ----------
    batch : Batch
    name : str
        A `RemedyName`, with blanks or hyphens.

    Raises
    ------
    InputError
        For a name that there is not, or a change that this batch or its appliance does not allow.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> remedied(demo_batch(), "thinner").meat.classes[0].thickness_m < demo_batch().meat.classes[0].thickness_m
    True
    """
    known = check_choice("change", name.replace("-", " "), tuple(CHANGES))
    changed = replace(CHANGES[cast(RemedyName, known)](batch), name=f"{batch.name}, {known}")
    check_schedule(changed.name, changed)
    return changed


def allowed(batch: Batch, name: RemedyName) -> bool:
    """Say whether a batch and its appliance allow a change; nothing is simulated.

    Parameters
    ----------
    batch : Batch
    name : str
    """
    try:
        remedied(batch, name)
    except InputError:
        return False
    return True


def _tried(name: RemedyName, batch: Batch, base: History, before: Lethality, nodes: int) -> Remedy:
    try:
        changed = remedied(batch, name)
        history = run(changed, nodes=nodes, tolerance=_TOLERANCE, interval_s=_INTERVAL_S)
    except InputError as problem:
        return Remedy(name=name, gains={}, problem=str(problem))
    return _judged(name, changed, history, before, base)


def _lethality(history: History) -> Lethality:
    return judge_batch_lethality(history, limits=False, tolerance=_TOLERANCE)


def _judged(name: RemedyName, batch: Batch, history: History, before: Lethality, base: History) -> Remedy:
    after = before if history is base else _lethality(history)
    done, was = (judge_batch(one).doneness.batch.expected_s for one in (history, base))
    pairs = zip(after.organisms, before.organisms, strict=True)
    return Remedy(
        name=name,
        batch=batch,
        history=history,
        lethality=after,
        extra_s=_extra_s(name, history, base),
        done_s=done,
        done_shift_s=None if done is None or was is None else done - was,
        gains={new.organism: (new.lower - old.lower, new.best - old.best) for new, old in pairs},
    )


def _extra_s(name: RemedyName, history: History, base: History) -> float:
    """Return for how much longer a batch is heated, before it dries or after [s]."""
    if name == "oven after":
        return OVEN_S
    longer = name.endswith("first") and name != "hotter first"
    return max(_begins(history, base) - _begins(base, base), 0.0) if longer else 0.0


def _begins(history: History, base: History) -> float:
    """Return when what dries first in a batch begins in a run of it, or of one with more before [s]."""
    before = len(history.batch.stages) - (len(base.batch.stages) - base.batch.first_drying)
    return float([0.0, *history.stage_end_s.tolist()][before])


def _rank(remedy: Remedy) -> tuple[float, ...]:
    """Return what the order of remedies goes by, the most helpful first."""
    if remedy.lethality is None:
        return (float(len(GRADES)),)
    worst, grade = remedy.lethality.worst, remedy.lethality.grade
    soon = remedy.done_s if remedy.done_s is not None else np.inf
    short = worst.target - worst.counted
    return (GRADES[::-1].index(grade), *((round(short, 1), soon) if grade == "met" else (short, soon)))


def _heated(batch: Batch, stage: Stage) -> Batch:
    """Return the batch with a stage that heats it in place of all that does before drying."""
    rests = [each for each in batch.stages[: batch.first_drying] if each.kind == "rest"]
    return replace(batch, stages=(*rests, stage, *batch.stages[batch.first_drying :]))


def _boiled(batch: Batch, until: Until | None = None, duration_s: float | None = None) -> Stage:
    """Return a stage at the boil where the batch is: in what heats it already; else in marinade, water where there is too little.

    What would fall apart in liquid is steamed. What was steamed for as long goes into liquid, which counts for the federal table.
    """
    kind: StageKind = "marinade" if batch.marinade.seasoned and enough_marinade(batch) else "water"
    heating = _heating(batch)
    if heating and not _steamed_long(heating):
        kind = heating[0].kind
    if why_not_in_liquid(batch.meat):
        kind = "steam"
    at = Air(
        temperature_K=float(dew_point(batch.room.pressure_Pa)), humidity=Humidity(kind="room"), speed_m_s=0.0
    )
    name = "heat in steam" if kind == "steam" else f"heat in boiling {kind}"
    return Stage(name=name, kind=kind, air=at, until=until, duration_s=duration_s)


def _heated_first(batch: Batch) -> Batch:
    if batch.heated_first:
        raise InputError("the slices are heated before they are dried already")
    until = Until(core_temperature_K=_whole_degF(HOME_ADVICE_K[batch.meat.judged_as]))
    return _heated(batch, _boiled(batch, until=until))


def _whole_degF(temperature_K: float) -> float:
    """Return a temperature as the advice words it, and as a file is to hold it [K]."""
    return to_si("core", f"{round(1.8 * temperature_K - 459.67)} degF", "temperature")


def _heating(batch: Batch) -> list[Stage]:
    """Return the stages that heat slices before they dry."""
    return [each for each in batch.stages[: batch.first_drying] if each.kind != "rest"]


def _at_the_boil(stage: Stage, batch: Batch) -> bool:
    """Whether a stage is about as hot as water boils where the batch is."""
    return stage.air.temperature_K > float(dew_point(batch.room.pressure_Pa)) - _BELOW_BOILING_K


def _steamed_long(heating: Sequence[Stage]) -> bool:
    """Whether stages that heat are all of steam, and last as long as advice boils slices."""
    return all(each.kind == "steam" for each in heating) and _timed(heating) >= BOIL_S


def _timed(heating: Sequence[Stage]) -> float:
    """Return for how long stages heat that the clock alone ends [s]."""
    return sum(each.duration_s or 0.0 for each in heating if each.until is None)


def _boiled_first(batch: Batch) -> Batch:
    boiled = _boiled(batch, duration_s=BOIL_S)
    heating = _heating(batch)
    if heating and heating[0].kind == boiled.kind and _heated_enough(batch):
        raise InputError(_LONG_ENOUGH)
    return _heated(batch, boiled)


def _heated_enough(batch: Batch) -> bool:
    """Whether slices are heated for as long as advice boils them, and at the boil or until they are as hot as advice asks.

    By a run: how long a heating that ends by a temperature inside takes, and how hot it gets, no file says.
    """
    history = run(batch, nodes=_COARSE, tolerance=_TOLERANCE)
    lasted = np.diff(history.stage_end_s, prepend=0.0)
    heating = _heating(batch)
    if sum(time for time, stage in zip(lasted, batch.stages, strict=True) if stage in heating) < BOIL_S:
        return False
    if all(_at_the_boil(stage, batch) for stage in heating):
        return True
    before = history.time_s <= history.stage_end_s[batch.first_drying - 1]
    coldest = history.temperature_K[before].min(axis=(1, 2))
    return float(coldest.max()) >= HOME_ADVICE_K[batch.meat.judged_as]


def _humid_first(batch: Batch) -> Batch:
    at = batch.first_drying
    if batch.appliance is not None and not batch.appliance.moisture.steam_kg_s > 0.0:
        raise InputError(f"the {batch.appliance.name} has no steam")
    air = Air(
        temperature_K=HUMID_K,
        humidity=Humidity(kind="relative", value=HUMID_SHARE),
        speed_m_s=batch.stages[at].air.speed_m_s,
    )
    stage = Stage(name="humid first", air=air, duration_s=HUMID_S)
    return replace(batch, stages=(*batch.stages[:at], stage, *batch.stages[at:]))


def _hotter_first(batch: Batch) -> Batch:
    at = batch.first_drying
    first = batch.stages[at]
    limit = batch.appliance.heater.highest_K if batch.appliance else None
    setting = HOTTER_K if limit is None else min(HOTTER_K, limit)
    if first.air.temperature_K >= setting - _SAME_K:
        raise InputError("the first stage is as hot already, or the appliance goes no higher")
    air = replace(first.air, temperature_K=setting, humidity=replace(first.air.humidity, measured=False))
    hotter = replace(first, air=air, air_end=None)
    return replace(batch, stages=(*batch.stages[:at], hotter, *batch.stages[at + 1 :]))


def _thinner(batch: Batch) -> Batch:
    """Slices thinner by a third; an appliance then takes less at a time."""
    meat = batch.meat
    # to a micrometre, finer than any knife: a file then says it in few digits
    classes = tuple(replace(each, thickness_m=round(THINNER * each.thickness_m, 6)) for each in meat.classes)
    weight = meat.weight_kg if batch.appliance is None else THINNER * meat.weight_kg
    return replace(batch, meat=replace(meat, classes=classes, weight_kg=weight))


def _oven_after(batch: Batch) -> Batch:
    """Ten minutes in a hot oven at the end, where the batch is in one or its air is given."""
    highest = None if batch.appliance is None else batch.appliance.heater.highest_K
    if batch.appliance is not None and highest is not None and highest < OVEN_K:
        raise InputError(f"the {batch.appliance.name} does not go as hot as that")
    speed = OVEN_SPEED if batch.appliance is None else batch.appliance.trays.speed_m_s
    air = Air(temperature_K=OVEN_K, humidity=Humidity(kind="room"), speed_m_s=speed)
    oven = Stage(name="oven after", air=air, duration_s=OVEN_S)
    return replace(batch, stages=(*batch.stages, oven), take_off="together")  # all of it goes into the oven


CHANGES: dict[RemedyName, Callable[[Batch], Batch]] = {
    "heated first": _heated_first,
    "boiled first": _boiled_first,
    "humid first": _humid_first,
    "hotter first": _hotter_first,
    "oven after": _oven_after,
    "thinner": _thinner,
}
