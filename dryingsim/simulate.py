"""From a batch to its history: the one place where the parts meet."""

from collections.abc import Callable

import numpy as np

from dryingsim.batch.schema import Batch, Stage, Until
from dryingsim.errors import InputError, SolverError
from dryingsim.history import History
from dryingsim.kernels.grid import control_volumes, middle_weights
from dryingsim.kernels.rosenbrock import Step, Stepper, first_crossing
from dryingsim.model.air import given_air
from dryingsim.model.build import build_slabs, slice_area
from dryingsim.model.slab import Slabs
from dryingsim.model.system import SlabSystem
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

LONGEST_STAGE_S = 72 * 3600.0  # a stage that ends by a condition is given up after this time
EVENT_RESOLUTION_S = 0.5
WATER_CLOSURE, ENERGY_CLOSURE = 1e-9, 1e-6  # a run that closes worse is an error, not a result


def run(
    batch: Batch,
    *,
    nodes: int = 24,
    tolerance: float = 1.5e-4,
    interval_s: float = 60.0,
    diffusivity: Diffusivity = LEAN_MEAT,
    progress: Callable[[float], None] | None = None,
) -> History:
    """Simulate a batch.

    Parameters
    ----------
    batch : Batch
        What is dried and how.
    nodes : int
        Nodes across each slice.
    tolerance : float
        Error allowed in a step: `tolerance` * (0.3 + X) in moisture [kg/kg], `tolerance` * 20 K in temperature.
    interval_s : float
        Time between recorded states [s]; ends of stages are recorded as well.
    diffusivity : Diffusivity
        Moisture diffusivity of the meat.
    progress : callable, optional
        Called with the simulated time [s] after every step.

    Returns
    -------
    History

    Raises
    ------
    InputError
        If a stage's end condition is not reached within three days.
    SolverError
        If the equations cannot be advanced or a balance does not close.

    Examples
    --------
    >>> from dryingsim.batch.toml_file import demo_batch
    >>> history = run(demo_batch())
    >>> bool(history.water_closure < 1e-9)
    True
    """
    slabs = build_slabs(batch, nodes, diffusivity)
    ones = np.ones_like(slabs.dry_mass_kg_m2)
    length, width = batch.meat.length_m * ones, batch.meat.width_m * ones
    stepper: Stepper | None = None
    recorder = _Recorder(interval_s)
    for index, stage in enumerate(batch.stages):
        t0 = stepper.t if stepper else 0.0
        air = given_air(stage.air, stage.air_end, batch.room, t0, stage.duration_s or 1.0, length, width)
        if stepper is None:
            system = SlabSystem(slabs, air, tolerance)
            y0 = system.initial(slabs.initial_moisture_db, batch.meat.temperature_K * ones)
            stepper = Stepper(system, 0.0, y0)
            recorder.start(y0, system)
        system.air = air
        if stage.turn:
            stepper.y = system.turned(stepper.y)
        stepper.restart()
        _advance(stepper, system, stage, index, batch, recorder, progress)
    assert stepper is not None
    history = recorder.history(batch, slabs, system, stepper)
    for name, value, limit in (
        ("water", history.water_closure, WATER_CLOSURE),
        ("energy", history.energy_closure, ENERGY_CLOSURE),
    ):
        if not value <= limit:
            raise SolverError(f"the {name} balance closed to {value:.1e} only; {limit:.0e} is required")
    return history


def _advance(
    stepper: Stepper,
    system: SlabSystem,
    stage: Stage,
    index: int,
    batch: Batch,
    recorder: "_Recorder",
    progress: Callable[[float], None] | None,
) -> None:
    """Carry the stepper through one stage."""
    end = stepper.t + (stage.duration_s if stage.duration_s is not None else LONGEST_STAGE_S)
    reached = _condition(stage.until, system, batch) if stage.until else None
    if reached is None or reached(stepper.y) <= 0.0:
        while stepper.t < end:
            step = stepper.step(end)
            met = reached is not None and reached(step.y1) > 0.0
            if met:
                assert reached is not None
                t1 = first_crossing(lambda t, s=step: reached(s.at(t)), step.t0, step.t1, EVENT_RESOLUTION_S)
                step = stepper.shorten(step, t1)
            recorder.add(step, index, ends_stage=met or stepper.t >= end, system=system)
            if progress:
                progress(stepper.t)
            if met:
                break
        else:
            if stage.duration_s is None:
                raise InputError(
                    f"stage {index + 1} ({stage.name}): its end condition is not reached within "
                    f"{LONGEST_STAGE_S / 3600:.0f} h; give the stage a duration or an easier condition"
                )
    recorder.end_stage(stepper.t)


def _condition(until: Until, system: SlabSystem, batch: Batch) -> Callable[[np.ndarray], float]:
    """Return a function of the state that turns positive when the first of the conditions is met."""
    slabs = system.slabs
    share = control_volumes(slabs.nodes)
    middle = middle_weights(slabs.nodes)
    area = slice_area(batch, slabs)
    initial = float(np.sum(area * slabs.dry_mass_kg_m2 * (1.0 + slabs.initial_moisture_db)))

    def margin(y: np.ndarray) -> float:
        x, h, _ = system.split(y)
        margins = []
        if until.weight_loss is not None:
            water = float(np.sum(area * slabs.dry_mass_kg_m2 * (slabs.initial_moisture_db - share @ x)))
            margins.append(water / initial - until.weight_loss)
        if until.core_temperature_K is not None:
            core = middle @ slabs.temperature(x, h)
            margins.append(float(np.min(core)) - until.core_temperature_K)
        if until.water_activity is not None:
            log_activity = slabs.sorption.at(
                share @ x, np.full(system.m, REFERENCE_TEMPERATURE), slabs.recipe
            )[0]
            margins.append(until.water_activity - float(np.exp(np.max(log_activity))))
        return max(margins)

    return margin


class _Recorder:
    """Collects states at even intervals and at the ends of stages."""

    def __init__(self, interval_s: float) -> None:
        self._interval = interval_s
        self._times: list[np.ndarray] = []
        self._states: list[np.ndarray] = []
        self._stages: list[np.ndarray] = []
        self._air: list[tuple[np.ndarray, np.ndarray]] = []
        self._ends: list[float] = []
        self._next = interval_s

    def start(self, y: np.ndarray, system: SlabSystem) -> None:
        self._keep(np.array([0.0]), y[None], 0, system)

    def add(self, step: Step, stage: int, *, ends_stage: bool, system: SlabSystem) -> None:
        """Record the part of the run that a step covers."""
        count = int(np.floor((step.t1 - self._next) / self._interval + 1e-9)) + 1
        times = self._next + self._interval * np.arange(max(count, 0))
        self._next += self._interval * times.size
        if ends_stage and not (times.size and abs(times[-1] - step.t1) < 1e-6):
            times = np.append(times, step.t1)
        if times.size:
            self._keep(times, step.at(times), stage, system)

    def _keep(self, times: np.ndarray, states: np.ndarray, stage: int, system: SlabSystem) -> None:
        self._times.append(times)
        self._states.append(states)
        self._stages.append(np.full(times.size, stage))
        for t in times:
            air = system.air.at(float(t))
            self._air.append((air.temperature_K, air.vapour_fraction * air.pressure_Pa))

    def end_stage(self, t: float) -> None:
        self._ends.append(t)

    def history(self, batch: Batch, slabs: Slabs, system: SlabSystem, stepper: Stepper) -> History:
        """Assemble the record."""
        states = np.concatenate(self._states)
        n, m = system.n, system.m
        rows = states.reshape(-1, 2 * n + 5, m)
        x, h = rows[:, :n], rows[:, n : 2 * n]
        totals = rows[:, 2 * n :]
        gained = (system.mass * (x[-1] - x[0])).sum(axis=0)
        heated = (system.mass * (h[-1] - h[0])).sum(axis=0)
        vapour, carried = totals[-1, :2]
        heat = totals[-1, 2:].sum(axis=0)
        return History(
            batch=batch,
            slabs=slabs,
            area_m2=slice_area(batch, slabs),
            time_s=np.concatenate(self._times),
            stage=np.concatenate(self._stages),
            stage_end_s=np.array(self._ends),
            moisture_db=x,
            temperature_K=slabs.temperature(x, h),
            vapour_kg_m2=totals[:, 0],
            heat_J_m2=totals[:, 2:].sum(axis=1),
            air_temperature_K=np.array([a for a, _ in self._air]),
            air_vapour_pressure_Pa=np.array([p for _, p in self._air]),
            water_closure=float(np.max(np.abs(gained + vapour) / np.maximum(np.abs(vapour), 1e-12))),
            energy_closure=float(np.max(np.abs(heated - heat + carried) / np.maximum(np.abs(heat), 1e-6))),
            statistics=stepper.statistics,
        )
