"""What would reduce bacteria more: a batch's own schedule with one change at a time, each simulated.

Six changes. *Heated first*: the slices go into boiling marinade until their middle is as hot as home advice asks,
then onto the trays. *Boiled first*: they stay in it for five minutes. *Humid first*: 70 min of hot humid air before the
schedule. *Hotter first*: the first stage in hotter air. *Oven after*: ten minutes in a hot oven at the end.
*Thinner*: the same schedule with thinner slices.

Every answer comes from a run; none is recited. A change that cannot be simulated says why.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np

from dryingsim.batch.schema import Air, Batch, Humidity, Stage
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.grades import Lethality
from dryingsim.judge.hot_liquid import HeatedFirst, heat_in_liquid
from dryingsim.judge.verdict import HOME_ADVICE_K, judge_batch_lethality
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.surroundings import GivenSurroundings
from dryingsim.properties.diffusivity import LEAN_MEAT
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
_STEAM_KG_S: Annotated[
    float,
    Evidence(
        "kg/s",
        "numerical",
        "lent to an appliance for the humid hour, for vents left open; one that can be shut needs far less",
    ),
] = 2e-3
_INTERVAL_S: Annotated[
    float, Evidence("s", "numerical", "the first minutes of hot slices in air change fast")
] = 10.0
_NODES: Annotated[int, Evidence("-", "numerical", "across a slice")] = 24
_TOLERANCE: Annotated[float, Evidence("-", "numerical", "of the steps")] = 1.5e-4
_OVEN_RECORDS: Annotated[int, Evidence("-", "numerical", "states noted of the oven")] = 121

RemedyName = Literal[
    "as it is", "heated first", "boiled first", "humid first", "hotter first", "oven after", "thinner"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One change and what it does.

    Attributes
    ----------
    name : str
        What is changed, a `RemedyName`; `dryingsim.show.lethality.remedy_words` says it in a sentence.
    history : History or None
        The run with the change; None where it could not be simulated.
    heated : HeatedFirst or None
        The heating before, if that is the change.
    lethality : Lethality or None
    extra_s : float or None
        Time of the added step itself [s].
    done_s, done_shift_s : float or None
        When the batch is dry, counted from when it is laid on the trays, and how much later that is than
        without the change [s]; None where a run ends before.
    gains : dict of (float, float)
        Per organism: log10 gained by the lower bound and by the best estimate.
    problem : str
        Why it could not be simulated; empty if it was.
    """

    name: RemedyName
    history: History | None = None
    heated: HeatedFirst | None = None
    lethality: Lethality | None = None
    extra_s: float | None = None
    done_s: float | None = None
    done_shift_s: float | None = None
    gains: dict[str, tuple[float, float]]
    problem: str = ""


@dataclass(frozen=True, slots=True)
class _Tried:
    """A change carried out."""

    history: History
    extra_s: float
    heated: HeatedFirst | None = None


def remedies(batch: Batch, *, nodes: int = _NODES) -> list[Remedy]:
    """Simulate every change to a batch; first comes the batch as it is.

    Parameters
    ----------
    batch : Batch
    nodes : int
        Nodes across each slice.

    Returns
    -------
    list of Remedy
        The batch itself ("as it is"), then the changes in the order of the head of this module.
    """
    base = run(batch, nodes=nodes, interval_s=_INTERVAL_S)
    judged = judge_batch_lethality(base)
    asked = HOME_ADVICE_K[batch.meat.species]
    changes: dict[RemedyName, Callable[[], _Tried]] = {
        "heated first": lambda: _heated_first(batch, asked, 0.0, nodes),
        "boiled first": lambda: _heated_first(batch, asked, BOIL_S, nodes),
        "humid first": lambda: _changed(_humid_first(batch), nodes, HUMID_S),
        "hotter first": lambda: _changed(_hotter_first(batch), nodes, 0.0),
        "oven after": lambda: _oven_after(base),
        "thinner": lambda: _changed(_thinner(batch), nodes, 0.0),
    }
    tried = [_remedy("as it is", _Tried(base, 0.0), judged, base)]
    for name, attempt in changes.items():
        try:
            tried.append(_remedy(name, attempt(), judged, base))
        except InputError as problem:
            tried.append(Remedy(name=name, gains={}, problem=str(problem)))
    return tried


def _remedy(name: RemedyName, tried: _Tried, before: Lethality, base: History) -> Remedy:
    after = judge_batch_lethality(tried.history, tried.heated)
    done, was = (judge_batch(history).doneness.batch.expected_s for history in (tried.history, base))
    pairs = zip(after.organisms, before.organisms, strict=True)
    return Remedy(
        name=name,
        history=tried.history,
        heated=tried.heated,
        lethality=after,
        extra_s=tried.extra_s,
        done_s=done,
        done_shift_s=None if done is None or was is None else done - was,
        gains={new.organism: (new.lower - old.lower, new.best - old.best) for new, old in pairs},
    )


def _changed(batch: Batch, nodes: int, extra_s: float) -> _Tried:
    return _Tried(run(batch, nodes=nodes, interval_s=_INTERVAL_S), extra_s)


def _heated_first(batch: Batch, asked_K: float, least_s: float, nodes: int) -> _Tried:
    boiling = float(dew_point(batch.room.pressure_Pa))  # at this altitude
    heated = heat_in_liquid(batch, asked_K, liquid_K=boiling, least_s=least_s, nodes=nodes)
    warm = replace(batch, meat=replace(batch.meat, temperature_K=heated.mean_K))
    return _Tried(run(warm, nodes=nodes, interval_s=_INTERVAL_S), float(heated.time_s[-1]), heated)


def _humid_first(batch: Batch) -> Batch:
    first = batch.stages[0]
    air = Air(
        temperature_K=HUMID_K,
        humidity=Humidity(kind="relative", value=HUMID_SHARE),
        speed_m_s=first.air.speed_m_s,
    )
    appliance = batch.appliance
    if appliance is not None:
        steam = max(appliance.moisture.steam_kg_s, _STEAM_KG_S)
        appliance = replace(appliance, moisture=replace(appliance.moisture, steam_kg_s=steam))
    stage = Stage(name="humid first", air=air, duration_s=HUMID_S)
    return replace(batch, appliance=appliance, stages=(stage, *batch.stages))


def _hotter_first(batch: Batch) -> Batch:
    first, *rest = batch.stages
    limit = batch.appliance.heater.highest_K if batch.appliance else None
    setting = HOTTER_K if limit is None else min(HOTTER_K, limit)
    if first.air.temperature_K >= setting:
        raise InputError("the first stage is as hot already, or the appliance goes no higher")
    air = replace(first.air, temperature_K=setting, humidity=replace(first.air.humidity, measured=False))
    hotter = replace(first, air=air, air_end=None)
    return replace(batch, stages=(hotter, *rest))


def _thinner(batch: Batch) -> Batch:
    """Slices thinner by a third; an appliance then takes less at a time."""
    meat = batch.meat
    classes = tuple(replace(each, thickness_m=THINNER * each.thickness_m) for each in meat.classes)
    weight = meat.weight_kg if batch.appliance is None else THINNER * meat.weight_kg
    return replace(batch, meat=replace(meat, classes=classes, weight_kg=weight))


def _oven_after(base: History) -> _Tried:
    """Carry every slab on from where it is into a preheated oven, as given air."""
    batch, n = base.batch, base.slabs.nodes.size
    stage = Stage(
        name="oven after",
        air=Air(temperature_K=OVEN_K, humidity=Humidity(kind="room"), speed_m_s=OVEN_SPEED),
        duration_s=OVEN_S,
    )
    area = base.area_m2 / base.area_m2.sum()
    classes = tuple(
        replace(batch.meat.classes[k], share=float(share)) for k, share in zip(base.kind, area, strict=True)
    )
    alone = replace(
        batch, appliance=None, trays=None, stages=(stage,), meat=replace(batch.meat, classes=classes)
    )
    surroundings = GivenSurroundings(alone, n, _TOLERANCE, LEAN_MEAT)
    surroundings.begin(stage, 0.0)
    stepper = Stepper(
        surroundings.system, 0.0, surroundings.slabs.initial(base.moisture_db[-1], base.temperature_K[-1])
    )
    times = np.linspace(0.0, OVEN_S, _OVEN_RECORDS)
    states = [stepper.y[None]]
    while stepper.t < OVEN_S:
        step = stepper.step(OVEN_S)
        states.append(step.at(times[(times > step.t0) & (times <= step.t1)]))
    rows = np.concatenate(states)
    return _Tried(_extended(base, surroundings, times, rows), OVEN_S)


def _extended(base: History, surroundings: GivenSurroundings, times: np.ndarray, rows: np.ndarray) -> History:
    """Return a history followed by states recorded in an oven; totals and the chamber end where they were."""
    n, m = base.slabs.nodes.size, base.area_m2.size
    parts = rows.reshape(times.size, -1, m)
    x, t = parts[:, :n], surroundings.slabs.slabs.temperature(parts[:, :n], parts[:, n : 2 * n])
    air, vapour = surroundings.air(times, rows)

    def more(before: np.ndarray, after: np.ndarray) -> np.ndarray:
        return np.concatenate([before, after[1:]])

    def last(before: np.ndarray) -> np.ndarray:
        return more(before, np.broadcast_to(before[-1], (times.size, *before.shape[1:])))

    return replace(
        base,
        time_s=more(base.time_s, base.time_s[-1] + times),
        stage=more(base.stage, np.full(times.size, base.stage[-1])),
        place=last(base.place),
        moisture_db=more(base.moisture_db, x),
        temperature_K=more(base.temperature_K, t),
        vapour_kg_m2=last(base.vapour_kg_m2),
        heat_J_m2=last(base.heat_J_m2),
        air_temperature_K=more(base.air_temperature_K, air),
        air_vapour_pressure_Pa=more(base.air_vapour_pressure_Pa, vapour),
        chamber=None,
    )
