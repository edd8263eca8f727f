"""From a batch to its history: the one place where the parts meet."""

from collections.abc import Callable
from numbers import Integral

import numpy as np

from dryingsim.batch.checks import check_range
from dryingsim.batch.component_checks import laws_named
from dryingsim.batch.components import Components
from dryingsim.batch.schedule_checks import check_schedule
from dryingsim.batch.schema import Batch, Stage, with_components
from dryingsim.errors import InputError, SolverError
from dryingsim.history import ChamberHistory, History
from dryingsim.kernels.grid import NODES
from dryingsim.kernels.rosenbrock import Step, Stepper, first_crossing
from dryingsim.model.balances import (
    chamber_closure,
    require_chamber_closed,
    require_slabs_closed,
    slab_exchange,
)
from dryingsim.model.conditions import EndOfStage, told_by_slabs
from dryingsim.model.surroundings import ApplianceSurroundings, Surroundings, surroundings_of
from dryingsim.properties.diffusivity import DiffusivityLaw

LONGEST_STAGE_S = 72 * 3600.0  # a stage that ends by a condition is given up after this time
LONGEST_INTERVAL_S = 600.0  # what is judged is the record: heat between two far apart cannot be told
EVENT_RESOLUTION_S = 0.01  # liquid heats thin slices by 2 K a second
DEFAULT_TOLERANCE = 1.5e-4
# When a run is given up. The worst of switching thermostats (0.5 K, no lags, ten times the heater needed) still gets
# 0.25 s a step; a day of that is as many steps as here, a quarter of an hour of work.
SHORTEST_MEAN_STEP_S = 0.1  # over so many steps as follow, at the default tolerance
_STEPS_SEEN, MOST_STEPS = 500, 300_000
_LIKELY_SWINGS = ", most often a heater far too strong for the air that passes it, or a thermostat with next to no band and lag"
# in liquid, in steam and at rest, and so long after it, so many states are noted of every step
_CLOSELY_S, _WITHIN = 600.0, 3


def run(
    batch: Batch,
    *,
    nodes: int = NODES,
    tolerance: float = DEFAULT_TOLERANCE,
    interval_s: float = 60.0,
    diffusivity: DiffusivityLaw | None = None,
    components: Components | None = None,
    progress: Callable[[float], None] | None = None,
) -> History:
    """Simulate a batch.

    Parameters
    ----------
    batch : Batch
        What is dried and how.
    nodes : int
        Nodes across each slice; grades are meant for 12 or more, and warn below.
    tolerance : float
        Error allowed in a step: `tolerance` * (0.3 + X) in moisture [kg/kg], `tolerance` * 40 K in
        temperature.
    interval_s : float
        Time between recorded states [s]; ends of stages are recorded as well.
    diffusivity : DiffusivityLaw, optional
        In place of that of the components.
    components : Components, optional
        Laws to simulate with, in place of those of the batch.
    progress : callable, optional
        Called with the simulated time [s] after every step.

    Returns
    -------
    History

    Raises
    ------
    InputError
        If a stage's end condition is not reached within three days, the slices need more trays than there are, or they are as dry
        as asked for before they are dried.
    SolverError
        If the equations cannot be advanced, no headway is made, or a balance does not close.

    Examples
    --------
    >>> from dryingsim.batch.reading.batch_file import demo_text, parse_batch
    >>> history = run(parse_batch(demo_text(), "demo"))
    >>> bool(history.water_closure < 1e-9)
    True
    """
    if not isinstance(batch, Batch):
        raise InputError(f"a Batch is expected, as load_batch returns it, not {type(batch).__name__}")
    if not isinstance(nodes, Integral) or isinstance(nodes, bool):
        raise InputError(f"nodes = {nodes!r}: a whole number from 3 to 1000 is expected")
    check_range("nodes", nodes, nodes, 3, 1000, "3 to 1000")
    check_range("tolerance", tolerance, tolerance, 1e-9, 0.1, "1e-9 to 0.1")
    check_range("interval_s", interval_s, interval_s, 0.1, LONGEST_INTERVAL_S, "0.1 to 600")
    batch = with_components(batch, components, diffusivity)
    if not batch.stages:
        raise InputError(f"{batch.name}: at least one stage is needed")
    check_schedule(batch.name, batch)
    surroundings = surroundings_of(batch, nodes, tolerance)
    headway = _Headway(tolerance, progress, batch.appliance is not None)
    with laws_named(batch.components):
        history = _Run(batch, surroundings, interval_s, headway).history()
    _check_dries(history)
    return history


def _check_dries(history: History) -> None:
    """Refuse a batch none of whose stages in drying air takes any time: there is nothing to dry, and nothing to tell of it."""
    batch, lasted = history.batch, np.diff(history.stage_end_s, prepend=0.0)
    if not any(stage.dries and time > 0.0 for stage, time in zip(batch.stages, lasted, strict=True)):
        raise InputError(
            f"{batch.name}: its slices are as dry as asked for before they are dried at all, by its salt "
            f"({100.0 * batch.marinade.salt_kg_kg:.3g} % of the raw meat), a stage's condition or its targets: change that"
        )


class _Run:
    """A batch on its way through its stages."""

    def __init__(
        self, batch: Batch, surroundings: Surroundings, interval_s: float, headway: "_Headway"
    ) -> None:
        self.batch, self.surroundings, self.headway = batch, surroundings, headway
        self.recorder = _Recorder(surroundings, interval_s)
        y = surroundings.initial()
        self.recorder.start(batch.stages[0], y)
        self.stepper = surroundings.stepper(y)
        self.next_rotation = batch.rotate_every_s or np.inf
        self.outside = np.zeros((2, surroundings.slabs.m))  # water and energy gained outside of an appliance
        self.stage_ends: list[float] = []
        for index, stage in enumerate(batch.stages):
            self._begin(stage, batch.stages[index - 1] if index else None)
            begun = self._content()
            self._advance(stage, index)
            if not stage.dries:
                self._drip(self.stepper.t - (self.stage_ends[-1] if self.stage_ends else 0.0))
                self.outside += self._content() - begun
            self.stage_ends.append(self.stepper.t)

    def _begin(self, stage: Stage, before: Stage | None) -> None:
        self.surroundings.begin(stage, self.stepper.t)
        self.stepper.system = self.surroundings.system
        if not stage.dries:
            self.recorder.closely(np.inf)
        while self.next_rotation <= self.stepper.t:  # it fell due while the slices were outside
            self.next_rotation += self.batch.rotate_every_s or np.inf
        if stage.turn:
            y = self.stepper.y.copy()
            part = self.surroundings.slab_part(y)
            part[:] = self.surroundings.slabs.turned(part)
            self.stepper.y = y
            if stage.dries:  # what was below is in the air of a sudden
                self.recorder.closely(self.stepper.t + _CLOSELY_S)
        # where nothing jumps a step as long as the last one is tried; should it be too long, its error tells
        self.stepper.restart(self.stepper.h if before and _goes_on(before, stage) else None)

    def _content(self) -> np.ndarray:
        """Water and energy in each slab, per area of one face, shape (2, m)."""
        return self.surroundings.slabs.content(self.surroundings.slab_part(self.stepper.y))

    def _drip(self, time_s: float) -> None:
        """Let go juice at the end of a stage outside of drying air that took some time [s]."""
        system, y = self.surroundings.slabs, self.stepper.y.copy()
        juice = system.drip(self.surroundings.slab_part(y), time_s)
        self.stepper.y = y
        self.recorder.dripped(y, juice)
        self.recorder.closely(self.stepper.t + _CLOSELY_S)

    def _advance(self, stage: Stage, index: int) -> None:
        """Carry the stepper through one stage."""
        stepper = self.stepper
        limit = stage.duration_s if stage.duration_s is not None else LONGEST_STAGE_S
        end = stepper.t + limit
        until = told_by_slabs(self.batch, stage.until)
        end_of_stage = EndOfStage([until], self.surroundings.slabs, self.surroundings.load.area_m2)

        def done(y: np.ndarray) -> float:
            return float(end_of_stage.margin(self.surroundings.slab_part(y))[0]) if stage.until else -1.0

        if done(stepper.y) > 0.0:
            return
        while stepper.t < end:
            step = stepper.step(min(end, self.next_rotation) if stage.dries else end)
            ended = done(step.y1) > 0.0
            if ended:
                step = self._cut(step, done)
            self.recorder.add(step, index, ends_stage=ended or stepper.t >= end)
            self.headway.step(stepper.t, f"{self.batch.name}: stage {index + 1} ({stage.name})")
            if ended:
                return
            if stage.dries and stepper.t >= self.next_rotation:
                self.surroundings.rotate()
                stepper.restart()
                self.next_rotation += self.batch.rotate_every_s or np.inf
        if stage.duration_s is None:
            raise InputError(
                f"{self.batch.name}: stage {index + 1} ({stage.name}) does not reach its end condition within "
                f"{limit / 3600:.0f} h; give it a duration or an easier condition"
            )

    def _cut(self, step: Step, value: Callable[[np.ndarray], float]) -> Step:
        """Take the last step again, to where `value` has turned positive: where it is interpolated it may be off by 1e-6."""
        t1 = first_crossing(lambda t: value(step.at(t)), step.t0, step.t1, EVENT_RESOLUTION_S)
        cut, further = self.stepper.shorten(step, t1), EVENT_RESOLUTION_S
        while value(cut.y1) <= 0.0 and t1 < step.t1:
            t1, further = min(t1 + further, step.t1), 2.0 * further
            cut = self.stepper.shorten(step, t1)
        return cut

    def history(self) -> History:
        """Return the record, its balances checked."""
        history = self.recorder.history(self.batch, np.array(self.stage_ends), self.stepper, self.outside)
        require_slabs_closed(history.water_closure, history.energy_closure)
        if history.chamber is not None:
            require_chamber_closed(history.chamber.water_closure, history.chamber.energy_closure)
        return history


def _goes_on(before: Stage, stage: Stage) -> bool:
    """Whether a stage begins in the very air that the one before it ended in, with the slices as they lay."""
    if before.air_end and before.until:  # it may have ended on its way there
        return False
    as_before = (before.air_end or before.air) == stage.air and before.door_gap_m == stage.door_gap_m
    return as_before and before.dries and stage.dries and not stage.turn


class _Headway:
    """Tells how far a run is, and gives it up where it gets no further."""

    def __init__(
        self, tolerance: float, progress: Callable[[float], None] | None, in_appliance: bool
    ) -> None:
        self._progress = progress
        self._likely = _LIKELY_SWINGS if in_appliance else ""
        # the length of a step goes with the cube root of the tolerance
        self._shortest_s = SHORTEST_MEAN_STEP_S * min(1.0, float(np.cbrt(tolerance / DEFAULT_TOLERANCE)))
        self._steps, self._since_s = 0, 0.0

    def step(self, t: float, where: str) -> None:
        """Count a step that led to time t [s]."""
        self._steps += 1
        if self._progress:
            self._progress(t)
        if self._steps % _STEPS_SEEN:
            return
        mean_s, self._since_s = (t - self._since_s) / _STEPS_SEEN, t
        if mean_s < self._shortest_s or self._steps >= MOST_STEPS:
            raise SolverError(
                f"{where} is given up after {self._steps} steps, at {t / 60.0:.1f} min of simulated time: the last steps "
                f"were {mean_s:.2g} s long on average. Something swings faster than meat dries{self._likely}"
            )


class _Recorder:
    """Collects states at even intervals and at the ends of stages."""

    def __init__(self, surroundings: Surroundings, interval_s: float) -> None:
        self._surroundings, self._interval = surroundings, interval_s
        self._times: list[np.ndarray] = []
        self._states: list[np.ndarray] = []
        self._stages: list[np.ndarray] = []
        self._air: list[tuple[np.ndarray, np.ndarray]] = []
        self._places: list[np.ndarray] = []
        self._drips: list[tuple[int, np.ndarray]] = []  # record from which on it is off, and juice
        self._next = interval_s
        self._closely_until_s = 0.0

    def start(self, stage: Stage, y: np.ndarray) -> None:
        """Record the beginning."""
        self._surroundings.begin(stage, 0.0)
        self._keep(np.array([0.0]), y[None], 0)

    def closely(self, until_s: float) -> None:
        """Record within every step up to a time [s]: slices in liquid, and hot ones in air, change fast."""
        self._closely_until_s = until_s

    def dripped(self, y: np.ndarray, juice: np.ndarray) -> None:
        """Put the state once juice [kg/m2] has dripped off in place of the last record."""
        self._states[-1] = np.concatenate([self._states[-1][:-1], y[None]])
        self._drips.append((sum(times.size for times in self._times) - 1, juice))

    def add(self, step: Step, stage: int, *, ends_stage: bool) -> None:
        """Record the part of the run that a step covers."""
        count = int(np.floor((step.t1 - self._next) / self._interval + 1e-9)) + 1
        times = self._next + self._interval * np.arange(max(count, 0))
        self._next += self._interval * times.size
        if step.t0 < self._closely_until_s:
            within = step.t0 + (step.t1 - step.t0) * np.arange(1, _WITHIN + 1) / _WITHIN
            times = np.union1d(times, within)
        if ends_stage and not (times.size and abs(times[-1] - step.t1) < 1e-6):
            times = np.append(times, step.t1)
        if times.size:
            self._keep(times, step.at(times), stage)

    def _keep(self, times: np.ndarray, states: np.ndarray, stage: int) -> None:
        self._times.append(times)
        self._states.append(states)
        self._stages.append(np.full(times.size, stage))
        self._air.append(self._surroundings.air(times, states))
        self._places.append(np.repeat(self._surroundings.load.tray[None], times.size, axis=0))

    def history(self, batch: Batch, stage_ends: np.ndarray, stepper: Stepper, outside: np.ndarray) -> History:
        """Assemble the record; `outside` is what the slabs gained out of their appliance, see `_Run`."""
        surroundings, system = self._surroundings, self._surroundings.slabs
        n, m, slabs = system.n, system.m, system.slabs
        states = np.concatenate(self._states)
        rows = surroundings.slab_part(states).reshape(-1, 2 * n + 5, m)
        x, h, totals = rows[:, :n], rows[:, n : 2 * n], rows[:, 2 * n :]
        exchange = slab_exchange(system.mass, x[-1] - x[0], h[-1] - h[0], totals[-1])
        drip = np.zeros((rows.shape[0], m))
        for first, juice in self._drips:
            drip[first:] += juice
        kinds = len(batch.meat.classes)
        history = History(
            batch=batch,
            slabs=slabs,
            kind=np.arange(m) % kinds,
            tray=np.arange(m) // kinds,
            place=np.concatenate(self._places),
            area_m2=surroundings.load.area_m2,
            time_s=np.concatenate(self._times),
            stage=np.concatenate(self._stages),
            stage_end_s=stage_ends,
            moisture_db=x,
            temperature_K=slabs.temperature(x, h),
            vapour_kg_m2=totals[:, 0] - drip,
            heat_J_m2=totals[:, 2:].sum(axis=1),
            air_temperature_K=np.concatenate([t for t, _ in self._air]),
            air_vapour_pressure_Pa=np.concatenate([p for _, p in self._air]),
            water_closure=float(np.max(exchange.water_closure)),
            energy_closure=float(np.max(exchange.energy_closure)),
            statistics=stepper.statistics,
            chamber=None,
            drip_kg_m2=drip if self._drips else None,
        )
        if isinstance(surroundings, ApplianceSurroundings):
            gained = float(np.sum(history.area_m2 * (exchange.water_kg_m2 - outside[0])))
            heated = float(np.sum(history.area_m2 * (exchange.energy_J_m2 - outside[1])))
            history = history.with_chamber(chamber_history(surroundings, states, gained, heated))
        return history


def chamber_history(
    surroundings: ApplianceSurroundings, states: np.ndarray, slab_water_kg: float, slab_energy_J: float
) -> ChamberHistory:
    """Return the history of the chamber.

    Parameters
    ----------
    surroundings : ApplianceSurroundings
    states : ndarray, shape (t, size)
        Of slabs and chamber, as recorded.
    slab_water_kg, slab_energy_J : float
        What all slabs gained over the run [kg], [J].
    """
    chamber = surroundings.chamber
    c = surroundings.chamber_part(states).T
    t, w, _ = chamber.cell_states(c)
    shell, floor = chamber.wall_temperatures(c)
    water, energy = chamber_closure(chamber, c[:, 0], c[:, -1], slab_water_kg, slab_energy_J)
    return ChamberHistory(
        cell_temperature_K=t.T,
        cell_humidity_ratio=w.T,
        shell_K=shell,
        floor_K=floor,
        totals=chamber.totals(c),
        energy_closure=float(energy),
        water_closure=float(water),
    )
