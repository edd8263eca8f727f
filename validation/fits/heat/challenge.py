"""Published challenge studies as rows with a simulated history each.

`validation.food_safety.challenge_runs` says how they are simulated.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.schema import Air
from dryingsim.judge.exposed import exposed_nodes
from dryingsim.judge.heat_model import HeatResistance, Matrix
from dryingsim.judge.heat_resistance import HeatBefore, accumulated, drying_share
from dryingsim.kernels.grid import clustered_nodes, node_shares
from validation.dipped_slices import heat_in_liquid, temperatures_in_liquid
from validation.food_safety.challenge_runs import (
    DRYING,
    LIQUID_FIRST,
    OVEN_FIRST,
    PROCESSES,
    ROWS,
    Condition,
    Record,
    organism,
    printed,
    record,
    relative,
)

THICKNESS_M = 0.006
LEAK = 0.30  # relative humidity that a vented dryer falls to once its fan runs: shared/lethality_challenge_studies.csv
KINDS = ("dry air", "rising air", "heated first, dips", "smokehouse", "wet-bulb holds")
EXTREMES = frozenset(range(78, 82))  # minimum and maximum of a study, no ordinary rows
IN_LIQUID_ACTIVITY, NODES_IN_LIQUID = 0.985, 48
NOT_FOUND = 5.0  # log10: "undetectable" after at least 4.5-5.5 log in the same study


@dataclass(frozen=True)
class Challenge:
    """A row: what was counted, and the history it was counted after.

    `liquid_s` is the time in boiling liquid before (0: none; -1: until the middle is at 71.1 degC).
    """

    row: int
    study: str
    kind: str
    organism: str
    condition: Condition
    hours: float | None
    low: float
    high: float
    liquid_s: float = 0.0
    nothing_after: bool = False

    @property
    def target(self) -> float:
        """What guidelines ask for of beef."""
        return catalog.target(self.organism, "beef").log10

    @property
    def sufficient(self) -> bool:
        """Whether the study showed the target reached."""
        return self.low >= self.target

    @property
    def insufficient(self) -> bool:
        """Whether the study showed it missed."""
        return self.high < self.target or (ROWS[self.row]["meets_5log"] == "no" and self.target == 5.0)

    @property
    def two_sided(self) -> bool:
        """Whether both ends are printed, of an ordinary row."""
        return bool(np.isfinite(self.low) and np.isfinite(self.high)) and self.row not in EXTREMES

    @property
    def formed(self) -> bool:
        """Whether bacteria are at every depth."""
        return self.condition.form != "sliced"

    @property
    def matrix(self) -> Matrix:
        """The matrix the bacteria sit in."""
        return "ground" if self.formed else "surface"


def _kind(row: int) -> str:
    if row in DRYING:
        return "dry air"
    if row < 72:
        return "wet-bulb holds"
    return "rising air" if row < 78 else "smokehouse"


@cache
def challenges() -> tuple[Challenge, ...]:
    """All rows that can be simulated."""
    out = [
        Challenge(row, ROWS[row]["study"], _kind(row), organism(row), condition, hours, *printed(row))
        for row, (condition, hours) in (DRYING | PROCESSES).items()
    ]

    def more(row: int, condition: Condition, low: float, high: float, **how: float | bool) -> None:
        own = ROWS[row]["study"], "heated first, dips", organism(row)
        out.append(Challenge(row, *own, condition, None, low, high, **how))  # type: ignore[arg-type]

    for row in (7, 8, 9):
        more(row, LIQUID_FIRST, *printed(row), liquid_s=-1.0, nothing_after=True)
    for row in (10, 11, 12):
        more(row, LIQUID_FIRST, NOT_FOUND, np.inf, liquid_s=-1.0)
    for row in (15, 18, 19):
        more(row, OVEN_FIRST, *printed(row))
    for row in (150, 151, 152):  # 20 to 30 s; what was dried afterwards is not printed
        more(row, LIQUID_FIRST, *printed(row), liquid_s=20.0, nothing_after=True)
    return tuple(sorted(out, key=lambda one: one.row))


@dataclass(frozen=True)
class Sums:
    """What a row needs: sums by heat of the draws (draw, place), before in liquid and after; shares of places."""

    heat: np.ndarray
    before: HeatBefore | None
    drying: np.ndarray
    weights: np.ndarray  # of the places in a count


def deeper(values: np.ndarray, depth_m: float) -> np.ndarray:
    """Return values (t, node) at a depth below both faces, (t, 2)."""
    nodes = clustered_nodes(values.shape[1])
    share = depth_m / THICKNESS_M
    rows = [[np.interp(s, nodes, line) for s in (share, 1.0 - share)] for line in values]
    return np.array(rows)


def places(one: Challenge, values: np.ndarray, depth_m: float = 0.0) -> np.ndarray:
    """Return the values where bacteria sit: at both faces or a depth below, or at every node."""
    if depth_m and not one.formed:
        return deeper(values, depth_m)
    return values[:, exposed_nodes(one.condition.form, values.shape[1])]


def sums(one: Challenge, model: HeatResistance, depth_m: float = 0.0) -> Sums:
    """Return the sums of a row along its history."""
    rec = _record(one)
    end = rec.index(one.hours)
    stop = rec.time_s.size if end == -1 else end + 1
    time = rec.time_s[:stop]
    t, a = (places(one, v[:stop], depth_m) for v in (rec.temperature_K, np.minimum(rec.water_activity, 1.0)))
    before = None
    if one.liquid_s:
        first = time <= 0.0  # the time in the liquid stands before zero
        before = _in_liquid(one, model)
        time, t, a = time[~first], t[~first], a[~first]
        if one.nothing_after:
            time, t, a = time[:1], t[:1], a[:1]
    n = t.shape[1]
    weights = np.full(n, 1.0 / n) if n == 2 else node_shares(clustered_nodes(n))
    return Sums(accumulated(time, t, a, model), before, drying_share(time, t, a, model), weights)


def _record(one: Challenge) -> Record:
    return record(one.condition, True)


def _in_liquid(one: Challenge, model: HeatResistance) -> HeatBefore:
    seconds = None if one.liquid_s < 0.0 else one.liquid_s
    return heat_of_liquid(model, 373.15, seconds, model.depth_m)


def heat_of_liquid(
    model: HeatResistance,
    liquid_K: float,
    seconds: float | None,
    depth_m: float,
    film: float = 1000.0,
    start_K: float = 277.15,
) -> HeatBefore:
    """Return what hot liquid does to slices in a time, or until their middle is at 71.1 degC, so deep below the faces."""
    time, t = _warming(liquid_K, seconds, film, start_K)
    below = deeper(t, depth_m)
    return HeatBefore.of(time, below, np.full(below.shape, IN_LIQUID_ACTIVITY), model)


@cache
def _warming(
    liquid_K: float, seconds: float | None, film: float, start_K: float
) -> tuple[np.ndarray, np.ndarray]:
    batch = LIQUID_FIRST.batch
    batch = replace(batch, meat=replace(batch.meat, temperature_K=start_K))
    if seconds is None:
        first = heat_in_liquid(batch, 344.26, liquid_K=liquid_K, nodes=NODES_IN_LIQUID, film_W_m2K=film)
        return first.time_s, first.temperature_K[..., 0]
    time = np.arange(0.0, seconds + 0.125, 0.25)
    t = temperatures_in_liquid(batch, time, liquid_K, nodes=NODES_IN_LIQUID, film_W_m2K=film)
    return time, t[..., 0]


def leaking(one: Challenge) -> Challenge:
    """Return the row as it would be in air that falls to 30 % wherever a humidity above that is held."""
    return _with_air(one, lambda air: replace(air, humidity=relative(LEAK)) if _held(air) else air)


def drier(one: Challenge) -> Challenge:
    """Return the row with 5 % less relative humidity, or 1 K less wet bulb: a good instrument's error."""

    def less(air: Air) -> Air:
        humidity = air.humidity
        if humidity.kind == "relative":
            return replace(air, humidity=relative(max(humidity.value - 0.05, 0.0)))
        if humidity.kind == "wet_bulb":
            return replace(air, humidity=replace(humidity, value=humidity.value - 1.0))
        return air

    return _with_air(one, less)


def _with_air(one: Challenge, how: Callable[[Air], Air]) -> Challenge:
    stages = tuple(
        replace(stage, air=how(stage.air), air_end=None if stage.air_end is None else how(stage.air_end))
        for stage in one.condition.stages
    )
    return replace(one, condition=replace(one.condition, stages=stages))


def _held(air: Air) -> bool:
    """Whether air is held more humid than what leaks."""
    return air.humidity.kind == "wet_bulb" or (air.humidity.kind == "relative" and air.humidity.value > LEAK)


def holds_humidity(one: Challenge) -> bool:
    """Whether its air was held more humid than a leaking dryer's."""
    return any(_held(stage.air) for stage in one.condition.stages)
