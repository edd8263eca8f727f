"""Many slices of many batches like one: when they are done, how far apart they are, and what makes them differ.

Batches are drawn with all that is doubtful about a whole batch, and in each of them slices (see `sampling`). In an
appliance a batch drawn does not run by itself: the loaded appliance is simulated as it is meant and with each of the
batch's uncertainties off by itself, all of them side by side (`together`), and the air of a batch drawn is put together from
these, by straight lines between the runs and one uncertainty added to the other. Its slices then lie in the air of their tray
without acting on it. That holds while many slices share the air; the tests compare it with runs in which they act.

Stages end by the clock: when the batch as it is meant ends them. Where a stage ends by a condition, slices are also
followed beyond, in the same setting, to see when they would have been done.
"""

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import closing
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from dryingsim._version import __version__
from dryingsim.batch.catalog import growth_limits, organisms
from dryingsim.batch.checks import check_keys
from dryingsim.batch.schema import Batch
from dryingsim.engine.appliance_ensemble import ApplianceAirHistory, run_appliances
from dryingsim.engine.checkpoints import Checkpoints
from dryingsim.engine.counts import BINS, CountsOverTime, coded
from dryingsim.engine.ensemble import Numbers, Request, Slices, Task, each, joined, taken, tasks, work
from dryingsim.engine.segments import (
    Clock,
    Segment,
    by_the_clock,
    clock_of,
    segments_in_appliance,
    segments_in_given_air,
    shifted,
)
from dryingsim.errors import InputError
from dryingsim.explore.sampling import INPUTS, Sample, Uncertainty, default_uncertainties, draw
from dryingsim.history import History
from dryingsim.judge.grades import Lethality
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.model.build import build_slabs, recipe_of, slice_area, slice_count
from dryingsim.model.slab import WATER_VOLUME, Slabs
from dryingsim.properties.meat import dry_solids
from dryingsim.properties.water_activity import UNCERTAINTY, SorptionTable
from dryingsim.simulate import run

SALT_LEVELS = 33  # the sorption curve is tabulated for so many of the sampled amounts of salt and sugar
FEWEST, MOST = 64, 1_000_000
_BYTES_EACH = 500.0  # of a slice, in the process that gathers and writes them: measured on 60,000
_SHARE_OF_MEMORY = 0.7  # that a spread may take of a machine's; the system and the workers need some
_NOTES = 120  # states noted per slice, at most
_ROUND_S = (60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0)
# Runs that give the air: each uncertainty of the whole batch off by so many of its sizes, the others nil. A heater at its
# limit bends the answer to the setting and to the air exchange, so these have runs on both sides.
_KNOTS = {
    "diffusivity": (1.0,),
    "film": (1.0,),
    "setpoint": (-1.5, 1.5),
    "room_humidity": (1.0,),
    "air_exchange": (-1.5, 0.8, 1.8),
}


@dataclass(frozen=True, kw_only=True)
class Spread:
    """What came of the slices drawn.

    Axes: t times, m slices, b batches drawn; slices of a batch stand together.

    Attributes
    ----------
    batch : Batch
        As it is meant.
    uncertainties : dict of Uncertainty
    seed : int
    sample : Sample
    thickness_m : ndarray, shape (m,)
        Where the slice is looked at.
    tray : ndarray of int, shape (m,)
    clock : Clock
        When the stages end.
    times_s : ndarray, shape (t,)
    numbers : dict of ndarray
        As `ensemble.work` returns them; without the series, which are in `courses`.
    courses : CountsOverTime
        What the slices do over time.
    in_batch : int
        Slices in the batch.
    organism : str
        The one farthest from its target in the batch as it is meant.
    target_log10 : float
        The reduction asked for of it.
    """

    batch: Batch
    uncertainties: dict[str, Uncertainty]
    seed: int
    sample: Sample
    thickness_m: np.ndarray
    tray: np.ndarray
    clock: Clock
    times_s: np.ndarray
    numbers: Numbers
    courses: CountsOverTime
    in_batch: int
    organism: str
    target_log10: float
    judged: Lethality

    @property
    def title(self) -> str:
        """What the numbers are of."""
        drawn = self.sample.batches["setpoint"].size
        return (
            f"{self.batch.name}: {self.thickness_m.size} slices of {drawn} batches drawn (seed {self.seed})"
        )

    @cached_property
    def done_s(self) -> np.ndarray:
        """When each slice is down to the target's water activity [s], infinite if it never is; shape (m,)."""
        return self.numbers["done_s"][1]

    @cached_property
    def brittle_s(self) -> np.ndarray:
        """When each slice becomes brittle [s], likewise."""
        return self.numbers["done_s"][3]

    @cached_property
    def planned_s(self) -> float:
        """When drying ends by the plan [s]: the last stage that ends by a condition, or the schedule."""
        return self.clock.ends_s[-1] if self.clock.stage is None else self.clock.ends_s[self.clock.stage]

    def bands(self, name: str, shares: tuple[float, ...] = (0.05, 0.25, 0.5, 0.75, 0.95)) -> np.ndarray:
        """Values below which a share of the slices lies, over time; shape (shares, t).

        `name` : "water_activity", "moisture_db", "core_K" or "face_K".
        """
        return self.courses.below(name, shares)

    def states(self) -> np.ndarray:
        """Shares of the slices that are under-dried, in the window, over-dried, over time; shape (3, t)."""
        time = self.times_s[:, None]
        over = (time >= self.brittle_s).mean(axis=1)
        under = (time < self.done_s).mean(axis=1)
        return np.stack([under, 1.0 - under - over, over])

    def done_quantile(self, share: float) -> float | None:
        """Time when a share of all slices is done [s]; None where that is beyond the run."""
        value = float(np.quantile(self.done_s, share, method="inverted_cdf"))
        return value if np.isfinite(value) else None

    def first_look_s(self) -> float | None:
        """When to look first: one slice in twenty is done by then [s]."""
        return self.done_quantile(0.05)

    def look_again_s(self) -> float | None:
        """How long one may stay away [s]: of the slices that become brittle, nine in ten take longer from done."""
        brittle = np.isfinite(self.brittle_s)
        dwell = self.brittle_s[brittle] - self.done_s[brittle]
        return float(np.quantile(dwell, 0.1)) if dwell.size else None

    def slowest_misses(self, time_s: float | None = None) -> "Chance":
        """Chance that a batch has a slice that is not done by a time; by the planned end if left out."""
        return self._worst(self.done_s > (self.planned_s if time_s is None else time_s))

    def kill_misses(self, estimate: str = "cautious") -> "Chance":
        """Chance that a batch has a slice on which the kill, by an estimate, is below the target."""
        kill = self.numbers["cautious"]
        if estimate == "central":
            kill = self.numbers["central_heat"] + self.numbers["central_drying"]
        return self._worst(kill < self.target_log10)

    def _worst(self, misses: np.ndarray) -> "Chance":
        """Chance that at least one of the slices of a batch is among those that miss."""
        count = self.sample.batches["setpoint"].size
        by_batch = misses.reshape(count, -1)
        drawn, missing = by_batch.shape[1], by_batch.sum(axis=1)
        if self.in_batch <= drawn:  # exact for slices taken from those drawn without putting back
            i = np.arange(self.in_batch)
            none = np.prod(np.maximum(drawn - missing[:, None] - i, 0) / (drawn - i), axis=1)
        else:
            none = (1.0 - missing / drawn) ** self.in_batch
        chance = 1.0 - none
        # where all batches drawn agree, the spread of what was not drawn is still that of one among them
        return Chance(float(chance.mean()), max(float(chance.std(ddof=1)) / count**0.5, 1.0 / (count + 2.0)))

    def influences(self) -> dict[str, float]:
        """Rank correlation of each input with the time at which a slice is done, the strongest first."""
        return self._correlations(self.done_s)

    def kill_influences(self) -> dict[str, float]:
        """Rank correlation of each input with the kill on a slice (cautious estimate), the strongest first."""
        return self._correlations(self.numbers["cautious"])

    def _correlations(self, outcome: np.ndarray) -> dict[str, float]:
        names = [key for key in INPUTS if self.uncertainties[key].size > 0.0]
        values = {key: self.sample.of_slices(key) for key in names}
        values["thickness"] = self.thickness_m
        if self.tray.max():
            values["tray"] = self.tray.astype(float)
        ranks = _ranks(outcome)
        found = {key: _correlation(_ranks(one), ranks) for key, one in values.items() if np.ptp(one) > 0.0}
        return dict(sorted(found.items(), key=lambda item: -abs(item[1])))

    def between_batches(self) -> float:
        """Share of the variance of the ranks of the done times that lies between batches; the rest is within."""
        ranks = _ranks(self.done_s)
        by_batch = ranks.reshape(self.sample.batches["setpoint"].size, -1)
        within, each_has = float(by_batch.var(axis=1, ddof=1).mean()), by_batch.shape[1]
        between = max(float(by_batch.mean(axis=1).var(ddof=1)) - within / each_has, 0.0)
        return between / (between + within) if between + within > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class Chance:
    """A probability and its sampling error (one standard error over the batches drawn)."""

    value: float
    error: float


def _ranks(values: np.ndarray) -> np.ndarray:
    """Ranks with ties (and infinities) sharing their mean rank."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    ends = np.cumsum(counts)
    return (ends - 0.5 * (counts - 1))[inverse.reshape(-1)]


def _correlation(a: np.ndarray, b: np.ndarray) -> float:
    spread = a.std() * b.std()
    return float(((a - a.mean()) * (b - b.mean())).mean() / spread) if spread > 0.0 else 0.0


# --- slices ----------------------------------------------------------------------------------------------------------
def slices_of_sample(batch: Batch, sample: Sample, trays: int, nodes: int) -> tuple[Slices, np.ndarray]:
    """Build the slices of a sample; returns them and their thickness [m].

    Column `b * trays + tray` of the segments' air. Salt and sugar go together, at `SALT_LEVELS` levels of what there is
    per dry solid.
    """
    kinds, meat = build_slabs(batch, nodes), batch.meat
    number = np.array([one.share / one.thickness_m for one in meat.classes])  # slices, not weight
    edges = np.cumsum(number) / number.sum()
    kind = np.minimum(np.searchsorted(edges, sample.kind, side="right"), number.size - 1)
    tray = np.minimum((sample.tray * trays).astype(int), trays - 1)
    raw = np.array([one.thickness_m for one in meat.classes])[kind]
    thickness = raw * sample.slices["thickness_between"] * sample.slices["thickness_within"]
    own, marinade = sample.slices["marinade"], batch.marinade
    water = np.clip(meat.composition.water + sample.slices["moisture"], 0.2, 0.95)
    solids = 1.0 - water + own * (marinade.salt_kg_kg + marinade.sugar_kg_kg)
    moisture = (water + marinade.water_kg_kg) / solids
    level, solid, sorption = _salted(batch, own * recipe_of(batch)[1] / solids)
    film = sample.of_slices("film") * sample.slices["film_places"]
    slabs = replace(
        taken(kinds, kind),
        dry_mass_kg_m2=thickness / (solid.solid_volume[level] + WATER_VOLUME * moisture),
        initial_moisture_db=moisture,
        solid_specific_heat=solid.solid_specific_heat[level],
        solid_volume=solid.solid_volume[level],
        solid_conductivity=solid.solid_conductivity[level],
        diffusivity_factor=sample.of_slices("diffusivity") * sample.slices["diffusivity_slices"],
        sorption=sorption,
        recipe=level,
    )
    return Slices(slabs, sample.batch * trays + tray, film), thickness


def _salted(batch: Batch, amount: np.ndarray) -> tuple[np.ndarray, Slabs, SorptionTable]:
    """Level of each slice's amount of salt and sugar per dry solid (1: as meant), and the slabs of all levels.

    Levels hold equal numbers of slices; each stands at their median.
    """
    m, raw, marinade = amount.size, batch.meat.composition, batch.marinade
    count = (
        min(SALT_LEVELS, m)
        if np.ptp(amount) > 0.0 and marinade.salt_kg_kg + marinade.sugar_kg_kg > 0.0
        else 1
    )
    level = np.empty(m, dtype=np.intp)
    level[np.argsort(amount, kind="stable")] = np.arange(m) * count // m
    middle = np.array([np.median(amount[level == k]) for k in range(count)]) if count > 1 else np.ones(1)
    salted = [
        replace(
            batch,
            marinade=replace(
                marinade, salt_kg_kg=marinade.salt_kg_kg * f, sugar_kg_kg=marinade.sugar_kg_kg * f
            ),
        )
        for f in middle.tolist()
    ]
    recipes, solids, _ = zip(*(recipe_of(one) for one in salted), strict=True)
    per = np.array(solids)
    solid = dry_solids(
        raw.protein / per,
        raw.fat / per,
        raw.carbohydrate / per,
        raw.ash / per,
        marinade.salt_kg_kg * middle / per,
        marinade.sugar_kg_kg * middle / per,
    )
    slabs = replace(
        build_slabs(batch, 3),
        solid_specific_heat=solid.specific_heat,
        solid_volume=solid.specific_volume,
        solid_conductivity=solid.conductivity,
    )
    return level, slabs, SorptionTable(list(recipes))


# --- air -------------------------------------------------------------------------------------------------------------
def _off(batch: Batch, off: Mapping[str, float]) -> tuple[Batch, float]:
    """Return the batch with some doubtful things off, by factor or addition, and the factor on its diffusivity."""
    step = {key: off.get(key, 1.0 if INPUTS[key].factor else 0.0) for key in _KNOTS}
    batch = shifted(
        batch,
        setpoint_K=step["setpoint"],
        room_humidity=step["room_humidity"],
        air_exchange=step["air_exchange"],
    )
    assert batch.appliance is not None
    trays = batch.appliance.trays
    trays = replace(trays, speed_m_s=trays.speed_m_s * step["film"] ** 2)  # a laminar film goes with the root
    heater = replace(batch.appliance.heater, control="ideal")  # slices feel the mean of a cycle
    return replace(batch, appliance=replace(batch.appliance, trays=trays, heater=heater)), step["diffusivity"]


def _runs(uncertainties: Mapping[str, Uncertainty]) -> list[dict[str, float]]:
    """What is off in each of the runs that give the air."""
    runs = []
    for key, knots in _KNOTS.items():
        sizes = [knot * uncertainties[key].size for knot in knots] if uncertainties[key].size > 0.0 else []
        runs += [{key: float(np.exp(size)) if INPUTS[key].factor else size} for size in sizes]
    return runs


def _shares(sample: Sample, uncertainties: Mapping[str, Uncertainty]) -> np.ndarray:
    """Share of each of the `_runs` in the air of every batch drawn, shape (runs, b).

    Straight lines between the knots of each uncertainty, carried on beyond the last; the uncertainties add up.
    """
    rows: list[np.ndarray] = []
    for key, own in _KNOTS.items():
        if uncertainties[key].size == 0.0:
            continue
        drawn = sample.batches[key]
        place = (np.log(drawn) if INPUTS[key].factor else drawn) / uncertainties[key].size
        knots = np.array(sorted((0.0, *own)))
        i = np.clip(np.searchsorted(knots, place) - 1, 0, knots.size - 2)
        above = (place - knots[i]) / (knots[i + 1] - knots[i])
        for k, knot in enumerate(knots):
            if knot != 0.0:
                rows.append(np.where(i == k, 1.0 - above, 0.0) + np.where(i + 1 == k, above, 0.0))
    return np.stack(rows) if rows else np.zeros((0, sample.batches["setpoint"].size))


@dataclass(frozen=True)
class _Call:
    """A call as data, for a worker."""

    function: Callable[..., Any]
    arguments: tuple[Any, ...]


def _called(call: _Call) -> Any:
    return call.function(*call.arguments)


def airs_off(batch: Batch, offs: Sequence[Mapping[str, float]]) -> list[ApplianceAirHistory]:
    """Air of the batch with some doubtful things off in each."""
    batches, factors = zip(*(_off(batch, off) for off in offs), strict=True)
    return run_appliances(batches, diffusivity_factor=np.array(factors))


def _laid(
    meant: History,
    clock: Clock,
    uncertainties: Mapping[str, Uncertainty],
    sample: Sample,
    nodes: int,
    executor: Executor | Callable[[], Executor] | None,
) -> tuple[tuple[Segment, ...], int, Slices, np.ndarray]:
    """Find the air of every batch drawn; the number of trays; the slices and their thickness [m]."""
    batch = meant.batch
    if batch.appliance is None:
        off = zip(sample.batches["setpoint"].tolist(), sample.batches["room_humidity"].tolist(), strict=True)
        batches = [shifted(batch, setpoint_K=kelvin, room_humidity=humidity) for kelvin, humidity in off]
        return segments_in_given_air(batches, clock), 1, *slices_of_sample(batch, sample, 1, nodes)
    timed, trays = by_the_clock(batch, clock), int(meant.tray.max()) + 1
    calls = [
        _Call(airs_off, (timed, [{}, *_runs(uncertainties)])),
        _Call(slices_of_sample, (batch, sample, trays, nodes)),
    ]
    done = dict(each(_called, calls, executor))
    segments = segments_in_appliance(_off(timed, {})[0], clock, done[0], _shares(sample, uncertainties))
    return segments, trays, *done[1]


# --- all together ----------------------------------------------------------------------------------------------------
def spread(
    batch: Batch,
    uncertainties: Mapping[str, Uncertainty] | None = None,
    *,
    slices: int = 4000,
    seed: int = 1,
    batches: int | None = None,
    nodes: int = 24,
    executor: Executor | Callable[[], Executor] | None = None,
    folder: Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    notice: Callable[[str], None] | None = None,
) -> Spread:
    """Simulate many slices of many batches like one.

    Parameters
    ----------
    batch : Batch
    uncertainties : mapping of Uncertainty, optional
        By the keys of `sampling.INPUTS`; the defaults where one is left out.
    slices : int
        How many in all, at least; filled up to the same number in each batch drawn.
    seed : int
    batches : int, optional
        Batches drawn, see `sampling.draw`.
    nodes : int
        Across each slice.
    executor : Executor, or a callable that makes one, optional
        See `ensemble.each`. The result does not depend on it.
    folder : Path, optional
        Where finished chunks are kept; those of an earlier, interrupted call of the same work are taken from there.
        `kept.forget` removes them.
    progress : callable, optional
        Called with the number of slices done, and of all.
    notice : callable, optional
        Called with a sentence where something had to be done again.
    """
    if not FEWEST <= slices <= MOST:
        raise InputError(f"slices = {slices} is outside {FEWEST} to {MOST}")
    _check_memory(slices)
    check_keys("uncertainties", uncertainties or {}, INPUTS)
    for key, one in (uncertainties or {}).items():
        if not isinstance(one, Uncertainty):
            raise InputError(f"uncertainties, {key}: an Uncertainty is expected, not {one!r}")
    uncertainties = default_uncertainties() | dict(uncertainties or {})
    begun = dict(
        each(_called, [_Call(draw, (uncertainties, slices, seed, batches)), _Call(run, (batch,))], executor)
    )
    sample, nominal = begun[0], begun[1]
    clock = clock_of(nominal)
    segments, trays, laid_slices, thickness = _laid(nominal, clock, uncertainties, sample, nodes, executor)
    lethality = judge_batch_lethality(nominal)
    worst = lethality.worst.organism
    times = times_of_sample(clock)
    target = batch.targets.water_activity
    request = Request(
        temperature_K=batch.meat.temperature_K,
        times_s=times,
        levels=(target + UNCERTAINTY, target, target - UNCERTAINTY, growth_limits.texture().brittle),
        organism=worst,
        everywhere=batch.meat.form != "sliced",
    )
    todo = tasks(laid_slices, segments, request)
    sizes = [len(task.slices) for task in todo]
    work_of = batch, uncertainties, slices, seed, batches, nodes, sizes, BINS, __version__, np.__version__
    kept = Checkpoints(folder, repr(work_of))
    courses = CountsOverTime(times.size)
    done = {i: courses.take_from(numbers) for i, numbers in kept.load(len(todo))}
    if kept.damaged and notice:
        notice(f"{kept.damaged} of the finished parts in {folder} were damaged; they are done again")
    missing = [i for i in range(len(todo)) if i not in done]
    with closing(each(_work, [todo[i] for i in missing], executor)) as results:
        for k, numbers in results:
            kept.keep(missing[k], numbers)
            done[missing[k]] = courses.take_from(numbers)
            if progress:
                progress(sum(one["steps"].size for one in done.values()), len(laid_slices))
    kinds = build_slabs(batch, 3)
    return Spread(
        batch=batch,
        uncertainties=uncertainties,
        seed=seed,
        sample=sample,
        thickness_m=thickness,
        tray=(laid_slices.column % trays).astype(int),
        clock=clock,
        times_s=times,
        numbers=joined([done[i] for i in range(len(todo))]),
        courses=courses,
        in_batch=slice_count(batch, float(slice_area(batch, kinds).sum())),
        organism=worst,
        target_log10=organisms.target(worst, batch.meat.species).log10,
        judged=lethality,
    )


def _work(task: Task) -> Numbers:
    return coded(work(task))


def _check_memory(slices: int) -> None:
    """Refuse, before the work, what this machine's memory cannot hold."""
    try:
        memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, OSError, ValueError):  # a system that does not tell
        return
    most = int(_SHARE_OF_MEMORY * memory / _BYTES_EACH)
    if slices > most:
        need, have = slices * _BYTES_EACH / 1e9, memory / 1e9
        raise InputError(
            f"{slices} slices need about {need:.1f} GB of memory and this machine has {have:.1f} GB: at most "
            f"{most} fit"
        )


def times_of_sample(clock: Clock) -> np.ndarray:
    """Even times over all that counts for how dry the slices get [s], round ones."""
    end = clock.longer_s
    step = next((one for one in _ROUND_S if end / one <= _NOTES), 2.0 * _ROUND_S[-1])
    return step * np.arange(int(end / step + 1e-9) + 1)
