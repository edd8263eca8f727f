"""One schedule tried: what it reaches, as plain numbers, by the full model or by the quick one for many at once.

The quick model is that of the maps: appliances side by side, then slices in their air (`engine.batch_group`). Each slice
stands for many: it is followed at five thicknesses, and what lies between is read off a smooth curve. That gives the
share of slices in the window and how far apart they are, from what is uncertain from slice to slice in [spread]. What
is uncertain of the whole batch (how fast this meat lets water pass) is left to the eye: a batch is taken out by its look
and its weight.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.catalog import growth_limits, organisms
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.batch_group import BatchGroup, groups_of, scheduled
from dryingsim.engine.ensemble import Request, run_ensemble
from dryingsim.engine.segments import Segment
from dryingsim.errors import InputError, SolverError
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.energy import energy_taken
from dryingsim.judge.exposed import drier_by
from dryingsim.judge.verdict import judge_as_computed, judge_taken_out
from dryingsim.kernels.grid import NODES
from dryingsim.kitchen.loads import loads_of
from dryingsim.model.build import with_ideal_thermostat
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE
from dryingsim.simulate import run

NAMES = ("log_time", "log_of_reduction", "water_activity", "in_window", "apart", "setting_K")
# Of the quick model, which only tells where to look: full runs correct it near by. It errs by 4e-4 kg/kg and 0.014 of a bound's
# log (root mean squares); the plan found is that of finer ones.
_NODES, _TOLERANCE = 12, 3e-3
# Of the full model: against much finer steps, times differ by 1e-4 of themselves, log reductions by 0.01 at most,
# and water activities by 3e-4, far less than what a search and its needs ask for.
_FULL_TOLERANCE = 1e-3
_LONGEST_S = 24 * 3600.0
_SHORTEST_S = 60.0  # a stage too short for its setting to be asked after
_NO_LIMIT_K = 99.0  # what "above its setting" says in given air
_REDUCTION_OFFSET = 0.5  # reductions are compared by log10(reduction + this), even near none
_Z = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])  # thicknesses followed, in standard deviations
_MIDDLE = 2
_FINE = (np.arange(101) + 0.5) / 101.0  # quantiles of the slices
_FILM_EFFECT, _DIFFUSIVITY_EFFECT = 0.15, 0.5  # of a thickness that changes the time as much (estimate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What a schedule reaches by the full model; a batch that the trays do not hold, load by load.

    Attributes
    ----------
    end_s : float
        When the plan ends, all loads one after the other [s].
    energy_J : float
        Taken until then; 0 in given air.
    water_activity : float
        Of the wettest slices then, evened out.
    setting_K : float
        How far above its setting the air gets, in the stage that comes least near to it [K].
    log_reductions, targets : dict of float
        Log10 reduction by the lower bound, less the uncertainty of its integration, and what is required, by
        organism; of the whole plan, and of meat taken out when done where that is in the last stage.
    reached : bool
        The bound reaches every target, as computed: `Plan.shown` says whether that is shown.
    problem : str
        Why it could not be simulated; the numbers are then nan.
    """

    end_s: float = math.nan
    energy_J: float = math.nan
    water_activity: float = math.nan
    setting_K: float = math.nan
    log_reductions: Mapping[str, float]
    targets: Mapping[str, float]
    reached: bool = False
    problem: str = ""

    @property
    def beyond(self) -> float:
        """Log10 reduction beyond the target, of the organism that decides; negative where it is missed."""
        return min(
            (self.log_reductions[key] - self.targets[key] for key in self.log_reductions), default=math.nan
        )

    @property
    def decides(self) -> str:
        """The organism farthest from its target."""
        return min(self.log_reductions, key=lambda key: self.log_reductions[key] - self.targets[key])


def log_of_reduction(log_reduction: float) -> float:
    """Return a log10 reduction on the scale that reductions are compared on."""
    return math.log10(max(log_reduction, 0.0) + _REDUCTION_OFFSET)


def tried(batch: Batch, nodes: int = NODES, tolerance: float = _FULL_TOLERANCE) -> Trial:
    """Simulate a batch, or a load of it where the trays do not hold it; a thermostat counts with the mean of its cycle.

    Parameters
    ----------
    batch : Batch
    nodes, tolerance
        See `dryingsim.run`.
    """
    try:
        loads = loads_of(batch)
        history = run(with_ideal_thermostat(loads.one), nodes=nodes, tolerance=tolerance)
        return judged(history, loads.count)
    except (InputError, SolverError) as problem:
        return Trial(log_reductions={}, targets={}, problem=str(problem))


def judged(history: History, loads: int = 1) -> Trial:
    """Return the numbers of a run.

    Parameters
    ----------
    history : History
        Of one load.
    loads : int
        How many there are.
    """
    of_plan = judge_as_computed(history)
    verdicts = [of_plan]
    done = judge_batch(history).doneness.batch.expected_s
    last = history.stage_end_s[-2] if history.stage_end_s.size > 1 else 0.0
    early = judge_taken_out(history, judge_as_computed)
    if (
        early is not None and done is not None and done > last
    ):  # later stages belong to the plan, more of one does not
        verdicts.append(early[1])
    log_reductions: dict[str, float] = {}
    for verdict in verdicts:
        for organism in verdict.organisms:
            log_reduction = max(organism.lower - organism.quadrature_spread, 0.0)
            log_reductions[organism.organism] = min(
                log_reduction, log_reductions.get(organism.organism, math.inf)
            )
    return Trial(
        end_s=loads * float(history.time_s[-1]),
        energy_J=loads * float(energy_taken(history)[-1]),
        water_activity=float(history.equalised_water_activity[-1].max()),
        setting_K=_above_setting(history),
        log_reductions=log_reductions,
        targets={organism.organism: organism.target for organism in of_plan.organisms},
        reached=all(verdict.met_as_computed for verdict in verdicts),
    )


def _above_setting(history: History) -> float:
    """Smallest over the stages of how far the thermostat's air gets above its setting [K]."""
    chamber, appliance = history.chamber, history.batch.appliance
    if chamber is None or appliance is None:
        return _NO_LIMIT_K
    cells = chamber.cell_temperature_K
    if appliance.heater.sensor == "supply":
        sensed = cells[:, 0]
    else:
        sensed = cells[:, -1] if appliance.trays.flow == "series" else cells[:, 1:].mean(axis=1)
    above, start = [_NO_LIMIT_K], 0.0
    for index, (stage, end) in enumerate(zip(history.batch.stages, history.stage_end_s, strict=True)):
        if stage.dries and end - start >= _SHORTEST_S:
            above.append(float(sensed[history.stage == index].max()) - stage.air.temperature_K)
        start = float(end)
    return min(above)


# --- many at once ----------------------------------------------------------------------------------------------------
@dataclass(frozen=True)
class Many:
    """Schedules for the quick model, of one build.

    Attributes
    ----------
    batches : tuple of Batch
    organism : str
        Whose log reduction is wanted.
    uneven : float
        Standard deviation of the logarithm of the thickness that stands for all that differs from slice to slice.
    """

    batches: tuple[Batch, ...]
    organism: str
    uneven: float


def unevenness(uncertainties: Mapping[str, Uncertainty]) -> float:
    """Return the one standard deviation that stands for all uncertainties from slice to slice; see `Many`."""
    effects = {
        "thickness_between": 1.0,
        "thickness_within": 1.0,
        "diffusivity_slices": _DIFFUSIVITY_EFFECT,
        "film_places": _FILM_EFFECT,
    }
    return math.hypot(*(effect * uncertainties[key].deviation for key, effect in effects.items()))


def quick(batch: Batch) -> Batch:
    """Return a batch as the quick model takes it: full runs show what that leaves out.

    Where the trays do not hold it, a load of it. Trays keep their places. An appliance that holds a humidity is taken at its
    word: its air is given.
    """
    if batch.appliance is None:
        return batch
    batch = replace(loads_of(batch).one, rotate_every_s=None)
    if all(stage.air.humidity.kind == "room" for stage in batch.stages):
        return batch
    stages = tuple(replace(stage, door_gap_m=None) for stage in batch.stages)
    return replace(batch, appliance=None, trays=None, stages=stages)


def builds(batches: Sequence[Batch]) -> list[list[int]]:
    """Return the indices of batches that can be run as a group; those that do not fit their appliance are left out."""
    return groups_of([quick(batch) for batch in batches])[0]


def screened(many: Many) -> dict[str, np.ndarray]:
    """Run schedules by the quick model; nan where one cannot be run.

    Returns
    -------
    dict of ndarray, shape (schedules,)
        By `NAMES`: logarithm of the time of all loads [s], `log_of_reduction` by the lower bound, water activity of the wettest
        slices as meant when drying ends, share of the slices in the window, difference in water activity between
        the wettest and the driest twentieth of the slices, and how far the air gets above its setting [K].
    """
    try:
        return _screened(many)
    except (InputError, SolverError):
        if len(many.batches) == 1:
            return {name: np.array([np.nan]) for name in NAMES}
    half = len(many.batches) // 2
    parts = [screened(replace(many, batches=part)) for part in (many.batches[:half], many.batches[half:])]
    return {name: np.concatenate([part[name] for part in parts]) for name in NAMES}


def _screened(many: Many) -> dict[str, np.ndarray]:
    batches, count = [quick(batch) for batch in many.batches], len(many.batches)
    loads = np.array([loads_of(batch).count for batch in many.batches])
    schedule = scheduled(
        BatchGroup.as_meant(batches), nodes=_NODES, longest_s=_LONGEST_S, tolerance=_TOLERANCE
    )
    z = _Z if many.uneven > 0.0 else np.zeros(_Z.size)
    laid = len(schedule.slices)
    slices = schedule.slices.take(np.repeat(np.arange(laid), z.size))
    slices = slices.thicker(np.tile(np.exp(many.uneven * z), laid))
    # nobody goes on after the plan's end
    segments = tuple(segment for segment in schedule.segments if segment.lethal)
    request = Request(
        temperature_K=batches[0].meat.temperature_K,
        times_s=np.zeros(1),
        organism=many.organism,
        form=batches[0].meat.form,
        activity_error=drier_by(batches[0]),
        series=False,
        tolerance=_TOLERANCE,
    )
    numbers = run_ensemble(slices, segments, request)
    kinds = len(batches[0].meat.classes)
    shape = (count, -1, kinds, z.size)
    slabs, even = slices.slabs, np.full(len(slices), REFERENCE_TEMPERATURE)
    activity = np.exp(slabs.sorption.log_activity(numbers["moisture_db"], even, slabs.recipe)).reshape(shape)
    log_reduction = numbers["lower"].reshape(shape)[..., _MIDDLE].min(axis=(1, 2))
    kept = (
        activity if slices.ready is None else np.maximum(activity, slices.ready.reshape(shape))
    )  # once taken off
    share, apart = _differences(batches, kept)
    return {
        "log_time": np.log(np.maximum(loads * schedule.ends_s, 1.0)),
        "log_of_reduction": np.array([log_of_reduction(reduction) for reduction in log_reduction.tolist()]),
        "water_activity": activity[..., _MIDDLE].max(axis=(1, 2)),
        "in_window": share,
        "apart": apart,
        "setting_K": _settings(batches, segments) if batches[0].appliance else np.full(count, _NO_LIMIT_K),
    }


def _differences(batches: Sequence[Batch], activity: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Share of the slices in the window, and how far apart they are; `activity` (p, trays, classes, z)."""
    from scipy.interpolate import PchipInterpolator  # slow to import
    from scipy.special import ndtri

    z, brittle = np.clip(ndtri(_FINE), _Z[0], _Z[-1]), growth_limits.texture().brittle
    values = PchipInterpolator(_Z, activity, axis=-1)(z)
    shares, aparts = np.empty(len(batches)), np.empty(len(batches))
    for i, batch in enumerate(batches):
        classes = batch.meat.classes
        number = np.array([kind.share / kind.thickness_m for kind in classes])
        weight = np.broadcast_to((number / number.sum())[:, None], values[i].shape) / (
            z.size * values.shape[1]
        )
        target = batch.targets.water_activity
        inside = np.minimum(_below(values[i], target), 1.0 - _below(values[i], brittle))
        shares[i] = float((weight * inside).sum())
        order = np.argsort(values[i], axis=None)
        total = np.cumsum(weight.reshape(-1)[order])
        wet, dry = np.interp([0.95, 0.05], total, values[i].reshape(-1)[order])
        aparts[i] = wet - dry
    return shares, aparts


def _below(values: np.ndarray, level: float) -> np.ndarray:
    """Whether values are below a level, 0 to 1, without a jump that would make shares go in steps."""
    width = np.maximum(np.abs(np.gradient(values, axis=-1)), 1e-6)
    return np.clip((level - values) / width + 0.5, 0.0, 1.0)


def _settings(batches: Sequence[Batch], segments: Sequence[Segment]) -> np.ndarray:
    """How far the air at the trays gets above its setting, in the stage that comes least near to it [K]."""
    least = np.full(len(batches), _NO_LIMIT_K)
    for i, stage in enumerate(batches[0].stages):
        if not stage.dries:
            continue
        segment = segments[i]
        hottest = segment.air_history.temperature_K.max(axis=0).reshape(len(batches), -1).max(axis=1)
        start, end = segment.span(np.arange(segment.air_history.columns))
        asked = np.array([batch.stages[i].air.temperature_K for batch in batches])
        long = (end - start).reshape(len(batches), -1)[:, 0] >= _SHORTEST_S
        least = np.where(long, np.minimum(least, hottest - asked), least)
    return least


def target_of(batch: Batch, organism: str) -> float:
    """Return the log10 reduction required of an organism.

    Parameters
    ----------
    batch : Batch
        What its meat is judged as counts.
    organism : str
    """
    return float(organisms.target(organism, batch.meat.judged_as).log10)
