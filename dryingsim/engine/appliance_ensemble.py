"""Loaded appliances run side by side: each takes its own steps (see `engine.appliance_system`).

A run of one appliance is mostly the overhead of small arrays; several at once cost hardly more. What comes of it is the air
of every appliance over time and when its stages ended, for `segments` to lay slices in; or what its own slabs are like.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dryingsim.batch.schema import Batch, Until
from dryingsim.engine.air_history import ApplianceAirHistory
from dryingsim.engine.appliance_system import ApplianceSystem
from dryingsim.engine.views import View
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.kernels.own_steps import Along, OwnSteps, Sweep, within
from dryingsim.model.balances import (
    chamber_closure,
    require_chamber_closed,
    require_slabs_closed,
    slab_exchange,
)
from dryingsim.model.build import with_ideal_thermostat
from dryingsim.model.conditions import EndOfStage, told_by_slabs
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

TOLERANCE = 5e-4  # of the steps: what it does to the slices is measured in validation.benchmarks.slices
_FIRST_S = 0.1
_HALVINGS = 16  # of a step, to find when a condition is met
_NOTED_S = 60.0
_INSTANT_S = 1e-6  # durations added up are off by rounding


def run_appliances(
    batches: Sequence[Batch],
    *,
    diffusivity_factor: np.ndarray | None = None,
    longest_s: float = 24 * 3600.0,
    taken_out: bool = False,
    nodes: int = NODES_OF_MANY,
    tolerance: float = TOLERANCE,
) -> list[ApplianceAirHistory]:
    """Run batches of one build (`engine.appliance_system.build_of`), each in its appliance with the mean of a thermostat's cycle.

    Parameters
    ----------
    batches : sequence of Batch
    diffusivity_factor : ndarray, shape (batches,), optional
        Multiplies the diffusivity in each.
    longest_s : float
        How long a stage without a duration lasts at most [s].
    taken_out : bool
        Where no stage ends by a condition, the last ends when the batch is done (`endings`).
    nodes, tolerance
        See `dryingsim.run`.
    """
    factor = np.ones(len(batches)) if diffusivity_factor is None else diffusivity_factor
    mean = [with_ideal_thermostat(batch) for batch in batches]
    with np.errstate(all="ignore"):  # where a trial state is wild the error tells, and the step is refused
        return _ApplianceRuns(
            mean, ApplianceSystem(mean, nodes, tolerance, factor), longest_s, taken_out
        ).airs()


@dataclass(frozen=True)
class SlabsSeen:
    """Slabs of appliances side by side at `t` times: tray by tray, class by class.

    Attributes
    ----------
    moisture_db, activity, core_K : ndarray, shape (t, slabs, batches)
        Mean moisture [kg/kg], that evened out as a water activity [-], and the temperature of the middle [K].
    """

    moisture_db: np.ndarray
    activity: np.ndarray
    core_K: np.ndarray


def follow_appliances(
    batches: Sequence[Batch], times_s: np.ndarray, *, diffusivity_factor: np.ndarray
) -> tuple[list[ApplianceAirHistory], SlabsSeen]:
    """Run batches by the clock as `run_appliances` does, and see what their slabs are like at some times.

    Parameters
    ----------
    batches : sequence of Batch
    times_s : ndarray, shape (t,)
        Rising from 0, to the end at most [s].
    diffusivity_factor : ndarray, shape (batches,)
        Multiplies the diffusivity in each [-].
    """
    mean = [with_ideal_thermostat(batch) for batch in batches]
    with np.errstate(all="ignore"):  # as in `run_appliances`
        system = ApplianceSystem(mean, NODES_OF_MANY, TOLERANCE, diffusivity_factor)
        runs = _ApplianceRuns(mean, system, np.inf, False, times_s)
        return runs.airs(), runs.slabs_seen()


def _conditions(batches: Sequence[Batch]) -> list[list[Until | None]]:
    """Conditions that end stages, by stage and batch."""
    return [
        [told_by_slabs(batch, batch.stages[i].until) for batch in batches]
        for i in range(len(batches[0].stages))
    ]


def endings(batches: Sequence[Batch]) -> tuple[list[list[Until | None]], bool]:
    """Conditions of each stage of each batch; where there are none, that the meat is taken out of the last when done.

    Returns
    -------
    tuple
        By stage and batch; whether that last one was added. It ends no stage at whose beginning it is met already.
    """
    untils = _conditions(batches)
    if any(any(row) for row, stage in zip(untils, batches[0].stages, strict=True) if stage.dries):
        return untils, False
    if not batches[0].stages[-1].dries:  # dry or not, they rest
        return untils, False
    return [*untils[:-1], [Until(water_activity=batch.targets.water_activity) for batch in batches]], True


class _Notes:
    """What is noted of each copy as it passes some times.

    Parameters
    ----------
    times_s : ndarray, shape (t,)
    look : callable
        A linear function of a state, shape (rows, copies).
    first : ndarray
        The state at the first of the times.
    """

    def __init__(
        self, times_s: np.ndarray, look: Callable[[np.ndarray], np.ndarray], first: np.ndarray
    ) -> None:
        self.times_s, self._look, seen = times_s, look, look(first)
        self.values = np.zeros((times_s.size, *seen.shape))
        self.values[0] = seen
        self.next = np.ones(first.shape[-1], dtype=np.intp)  # note to be made of each

    def add(self, sweep: Sweep, t1: np.ndarray) -> None:
        """Note those that have passed the time of their next note, one note at a time."""
        seen: Along | None = None
        last = self.times_s.size - 1
        while True:
            time = self.times_s[np.minimum(self.next, last)]
            due = sweep.taken & (self.next <= last) & (time <= t1 + _INSTANT_S)
            if not due.any():
                return
            seen = seen or sweep.along(self._look)
            s = (time - sweep.t0) / (sweep.t1 - sweep.t0)
            self.values[self.next[due], :, due] = within(seen, s)[:, due].T
            self.next = self.next + due


class _ApplianceRuns:
    """Appliances on their way through their stages."""

    def __init__(
        self,
        batches: Sequence[Batch],
        appliances: ApplianceSystem,
        longest_s: float,
        taken_out: bool,
        seen_s: np.ndarray | None = None,
    ) -> None:
        self.batches, self.appliances, self.longest = batches, appliances, longest_s
        self.untils, self.added = endings(batches) if taken_out else (_conditions(batches), False)
        self.copies = len(batches)
        self.y = appliances.initial().reshape(-1, self.copies)
        self.first = self.y
        self.outside = np.zeros((2, appliances.slabs.m))  # water and energy gained out of the appliance
        self.t = np.zeros(self.copies)
        self.rows = appliances.chamber.rows.size  # of the chamber, at the end of a state
        most = sum(
            max(batch.stages[i].duration_s or longest_s for batch in batches) for i in range(self.stages)
        )
        even = _NOTED_S * np.arange(int(most / _NOTED_S + 1e-9) + 1)
        self.air = _Notes(even, lambda state: state[-self.rows :], self.y)
        self.view = View(appliances.slabs.slabs, 2)
        self.seen = None if seen_s is None else _Notes(seen_s, self._few, self.y)
        self.ends: list[tuple[np.ndarray, np.ndarray]] = []
        turns = batches[0].rotate_every_s or np.inf
        self.rotations = turns * np.arange(1, int(min(most / turns, 1e4)) + 1)
        for index in range(self.stages):
            self._stage(index)

    @property
    def stages(self) -> int:
        return len(self.batches[0].stages)

    def _stage(self, index: int) -> None:
        own = [batch.stages[index] for batch in self.batches]
        self.appliances.begin(self.appliances.merged_stage(index), 0.0)
        if own[0].turn:
            flat = self.y.reshape(-1).copy()
            part = self.appliances.slab_part(flat)
            part[:] = self.appliances.slabs.turned(part)
            self.y = flat.reshape(self.y.shape)
        end = self.t + np.array([stage.duration_s or self.longest for stage in own])
        untils = self.untils[index]
        if any(untils):
            met = self._condition(untils)(self.y) > 0.0
            if self.added:
                untils = [None if gone else until for gone, until in zip(met, untils, strict=True)]
            else:
                end = np.where(met, self.t, end)
        if not own[0].dries:
            self._beside(end, untils)
            return
        for rotation in self.rotations[(self.rotations > self.t.min()) & (self.rotations < end.max())]:
            self._until(np.minimum(rotation, end), untils)
            self.appliances.rotate()
        self._until(end, untils)
        self.ends.append((self.t, self.y[-self.rows :]))

    def _beside(self, end: np.ndarray, untils: Sequence[Until | None]) -> None:
        """Carry slices through a stage outside of their appliances."""
        begun, content, system = self.t, self._content(), self.appliances.slabs
        self._until(end, untils)
        flat = self.y.reshape(-1).copy()
        system.drip(self.appliances.slab_part(flat), self.appliances.loaded.at(self.t - begun))
        self.y = flat.reshape(self.y.shape)
        self.outside += self._content() - content
        self.ends.append((self.t, self.y[-self.rows :]))

    def _content(self) -> np.ndarray:
        """Water and energy in each slab, per area of one face, shape (2, m)."""
        return self.appliances.slabs.content(self.appliances.slab_part(self.y.reshape(-1)))

    def _until(self, end: np.ndarray, untils: Sequence[Until | None]) -> None:
        system: Any = self.appliances.system
        steps = OwnSteps(system, self.t, end, self.y, _FIRST_S)
        margin = self._condition(untils) if any(untils) else None
        while steps.active.any():
            sweep = steps.sweep()
            if margin is not None:
                self._meet(sweep, margin, steps)
            for notes in filter(None, (self.air, self.seen)):
                notes.add(sweep, np.minimum(sweep.t1, steps.end))
        self.t, self.y = steps.t, steps.y

    def _condition(self, untils: Sequence[Until | None]) -> Callable[[np.ndarray], np.ndarray]:
        """Return what turns positive where an appliance's stage ends."""
        end_of_stage = EndOfStage(untils, self.appliances.slabs, self.appliances.load.area_m2)
        return lambda y: end_of_stage.margin(self.appliances.slab_part(y.reshape(-1)))

    def _meet(self, sweep: Sweep, margin: Callable[[np.ndarray], np.ndarray], steps: OwnSteps) -> None:
        """Let those arrive that meet a condition in this step."""
        met = sweep.taken & (margin(sweep.y1) > 0.0)
        if not met.any():
            return
        states, low, high = sweep.along(), np.zeros(self.copies), np.ones(self.copies)
        for _ in range(_HALVINGS):
            s = 0.5 * (low + high)
            there = margin(within(states, s)) > 0.0
            low, high = np.where(there, low, s), np.where(there, s, high)
        steps.arrive(met, sweep.t0 + high * (sweep.t1 - sweep.t0), within(states, high))

    def airs(self) -> list[ApplianceAirHistory]:
        """Return the air of each, its balances checked."""
        self._check()
        chamber, histories, notes = self.appliances.chamber, [], np.moveaxis(self.air.values, 1, 0)
        ends, states = (np.stack(part) for part in zip(*self.ends, strict=True))
        temperature, humidity, _ = chamber.cell_states(notes)
        shell, floor = chamber.wall_temperatures(notes)
        at_end = (
            chamber.cell_states(np.moveaxis(states, 1, 0)),
            chamber.wall_temperatures(np.moveaxis(states, 1, 0)),
        )
        for a in range(self.copies):
            passed = self.air.next[a]
            times = np.concatenate([self.air.times_s[:passed], ends[:, a]])
            order = np.argsort(times, kind="stable")

            def by_time(early: np.ndarray, late: np.ndarray) -> np.ndarray:
                joined = np.concatenate([early[..., :passed, a], late[..., a]], axis=-1)  # noqa: B023
                return joined[..., order].T  # noqa: B023

            histories.append(
                ApplianceAirHistory(
                    times[order],
                    by_time(temperature, at_end[0][0]),
                    by_time(humidity, at_end[0][1]),
                    by_time(shell, at_end[1][0]),
                    by_time(floor, at_end[1][1]),
                    ends[:, a],
                )
            )
        return histories

    def _few(self, state: np.ndarray) -> np.ndarray:
        """Mean moisture of each slab, then moisture and enthalpy of the few nodes that are looked at, shape (rows, copies)."""
        slabs = self.appliances.slab_part(state.reshape(-1)).reshape(-1, self.appliances.slabs.m)
        few = self.view.few(slabs).reshape(-1, self.appliances.slabs.m)
        return np.concatenate([self.view.mean(slabs)[None], few]).reshape(-1, self.copies)

    def slabs_seen(self) -> SlabsSeen:
        """Return the slabs at the times asked for."""
        assert self.seen is not None
        slabs, values = self.appliances.slabs.slabs, self.seen.values
        by_time = values.reshape(len(values), -1, self.appliances.slabs.m)
        moisture, few = by_time[:, 0], by_time[:, 1:].reshape(len(values), 2, -1, self.appliances.slabs.m)
        even = np.full_like(moisture, REFERENCE_TEMPERATURE)
        activity = np.exp(slabs.sorption.log_activity(moisture, even, slabs.recipe))
        core = np.stack([self.view.heat(state, slabs)[0] for state in few])
        shape = (len(values), -1, self.copies)
        return SlabsSeen(moisture.reshape(shape), activity.reshape(shape), core.reshape(shape))

    def _check(self) -> None:
        """Refuse appliances whose balances do not close, as `simulate` does."""
        system, chamber = self.appliances.slabs, self.appliances.chamber
        exchange = slab_exchange(
            system.mass, *system.split(self.appliances.slab_part((self.y - self.first).reshape(-1)))
        )
        area = self.appliances.load.area_m2.reshape(-1)
        gained, heated = (
            (area * change).reshape(-1, self.copies).sum(axis=0)
            for change in (exchange.water_kg_m2 - self.outside[0], exchange.energy_J_m2 - self.outside[1])
        )
        water, energy = chamber_closure(
            chamber, self.first[-self.rows :], self.y[-self.rows :], gained, heated
        )
        require_slabs_closed(exchange.water_closure, exchange.energy_closure)
        require_chamber_closed(water, energy)
