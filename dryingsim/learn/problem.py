"""Logs and priors as one function of standard normal numbers z: what the readings should be at z, and how they miss it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from dryingsim.batch.reading.weigh_in_file import TOGETHER_S
from dryingsim.batch.reading.weigh_in_log import Reading, WeighInLog
from dryingsim.batch.schema import Batch, UnitSystem
from dryingsim.batch.units import from_si
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.judge.stop_weight import ready_share
from dryingsim.learn.fitted_run import (
    ClockedBatch,
    FittedRun,
    Simulate,
    clocked_batch_of,
    simulate_runs,
    times_of,
)
from dryingsim.learn.parameters import Priors
from dryingsim.learn.readings import (
    LAID_ON,
    PART,
    Readings,
    check_places,
    check_rises,
    predicted,
    readings_of,
    uncertainties_of,
)

_BEND = 2.0  # from here on rho is straight
_STEP = 0.25  # of z, for differences
_AT_START_S, _ANOTHER = (
    600.0,
    1.5,
)  # a first weight so soon, and off by such a factor, is of another batch or unit
_LIGHTER = (
    0.03  # than taken off as ready: more than a per cent of water thought wrong in the raw meat makes of it
)
_HEATED = 0.9  # share of what is laid in: heating takes a tenth to a quarter of it off
_KEPT = 3  # points whose runs are kept: they are large


@dataclass(frozen=True)
class LoggedBatch:
    """A batch that was dried, and its log.

    Attributes
    ----------
    batch : Batch
        By the clock; slices stay in to the end where the log shows that they did.
    log : WeighInLog
    readings : Readings
    clocked : ClockedBatch
    stayed_in : bool
        The file takes slices off as they are ready, but the log has weighed less than that leaves.
    """

    batch: Batch
    log: WeighInLog
    readings: Readings
    clocked: ClockedBatch
    stayed_in: bool


def logged_batch_of(batch: Batch, log: WeighInLog) -> LoggedBatch:
    """Put a batch and its log together.

    Parameters
    ----------
    batch : Batch
        Without learned values.
    log : WeighInLog

    Raises
    ------
    InputError
        Where the log goes on for too long, gets heavier, or cannot be of this batch.
    """
    check_rises(log)
    clocked = clocked_batch_of(batch, log.last_s)
    log = _comparable(log, clocked.batch)
    if log.last_s > clocked.horizon_s:
        raise InputError(
            f"{log.name}: {log.last_s / 3600.0:.0f} h is longer than any drying that can be followed"
        )
    check_places(log, clocked.batch, int(clocked.meant.tray.max()) + 1)
    _check_start(log, clocked.meant.batch.laid_on_kg, batch)
    stayed_in = clocked.batch.take_off == "as ready" and _lighter_than_ready(log, clocked.meant)
    dried = replace(clocked.batch, take_off="together") if stayed_in else clocked.batch
    return LoggedBatch(dried, log, readings_of(log), clocked, stayed_in)


def _lighter_than_ready(log: WeighInLog, meant: History) -> bool:
    """Whether the batch or a tray of it has weighed less than it can if slices are taken off as they are ready."""
    ready = ready_share(meant.batch)
    first: dict[str, float] = {}
    for reading in log.of("weight"):
        laid_on = first.setdefault(f"{reading.scope} {reading.name}", reading.value)
        if reading.scope != "slice" and reading.value < (1.0 - _LIGHTER) * ready * laid_on:
            return True
    return False


def _comparable(log: WeighInLog, batch: Batch) -> WeighInLog:
    """Return a log without what its logger read before the drying air, and of humidity where the batch file states it."""
    laid_s = sum(stage.duration_s or 0.0 for stage in batch.stages[: batch.first_drying])

    def compared(reading: Reading) -> bool:
        if reading.quantity == "wet_bulb" and batch.appliance is None:
            return False
        return not reading.file or reading.time_s >= laid_s + TOGETHER_S / 2.0

    return replace(log, readings=tuple(filter(compared, log.readings)))


def _check_start(log: WeighInLog, laid_in_kg: float, batch: Batch) -> None:
    """Raise where the first weight of the whole batch is not its own: another unit, trays along, or slices already heated."""
    weights = log.of("weight")
    first = next(
        (reading for reading in weights if reading.scope == "batch" and reading.time_s <= _AT_START_S), None
    )
    if first is None:
        return
    share = first.value / laid_in_kg
    found, laid = (_weight(kg, batch.display) for kg in (first.value, laid_in_kg))
    place = f"{log.name} line {first.line}: {found} at the start, but the batch file lays"
    if not 1.0 / _ANOTHER <= share <= _ANOTHER:
        raise InputError(
            f"{place} {laid} on the trays; are the units right, and are trays weighed along (column 'tare')?"
        )
    if batch.heated_first and share < _HEATED:
        raise InputError(
            f"{place} in {laid}, and these slices are heated first, which takes a tenth to a quarter off: the first weight is "
            f"to be that before heating. Put it there ({laid} by the batch file), and what they weighed after heating nowhere; "
            "or, if there is less meat, change 'weight' in [meat]"
        )


def _weight(kg: float, units: UnitSystem) -> str:
    """Return a weight for a message."""
    unit, digits = ("lb", 2) if units == "us" else ("g", 0)
    return f"{from_si(kg, unit, 'mass'):.{digits}f} {unit}"


@dataclass
class LoggedPart:
    """One logged batch within the problem: where its numbers stand in z, and what was simulated of it last.

    Attributes
    ----------
    differs : ndarray
        Places in z of what differs from batch to batch.
    factors : ndarray
        Places in z of the weights' factors.
    factor_size : ndarray
        One standard deviation of each of them, as a logarithm.
    times_s : ndarray
        Of the readings [s].
    sigma : ndarray
        One standard deviation of each reading, in its unit.
    used : ndarray
        Whether each reading counts.
    seen : dict[bytes, list[FittedRun]]
        Runs that were simulated, by the unknowns.
    """

    logged: LoggedBatch
    differs: np.ndarray
    factors: np.ndarray
    factor_size: np.ndarray
    times_s: np.ndarray
    sigma: np.ndarray = field(default_factory=lambda: np.ones(0))
    used: np.ndarray = field(default_factory=lambda: np.ones(0, dtype=bool))
    seen: dict[bytes, list[FittedRun]] = field(default_factory=dict)

    def predicted(self, fitted_run: FittedRun) -> np.ndarray:
        """Return what every reading should be by a run, in its unit."""
        return predicted(fitted_run, self.logged.readings, self.logged.batch)


class Problem:
    """Logs and priors as a function of z.

    Parameters
    ----------
    logged_batches : sequence of LoggedBatch
        All in the same appliance.
    priors : Priors
    simulate : callable, optional
        As `fitted_run.simulate_runs`. Runs go on to the horizon: that takes hardly longer, and the forecast needs it.
    """

    def __init__(
        self,
        logged_batches: Sequence[LoggedBatch],
        priors: Priors,
        simulate: Simulate = simulate_runs,
    ) -> None:
        self.priors, self.simulate = priors, simulate
        self.k = len(priors.keys)
        self.varying = np.flatnonzero(priors.between > 0.0)
        self.parts: list[LoggedPart] = []
        at = self.k
        for logged in logged_batches:
            series = logged.readings.series
            differs = at + np.arange(self.varying.size)
            factors = at + self.varying.size + np.arange(len(series))
            at += self.varying.size + len(series)
            sizes = np.array([LAID_ON if scale.scope == "batch" else PART for scale in series])
            # close to the last reading, then on to the horizon
            ends = max(logged.log.last_s, 60.0), logged.clocked.horizon_s
            times = np.union1d(*(times_of(logged.clocked, logged.readings.time_s, end) for end in ends))
            part = LoggedPart(logged, differs, factors, sizes, times)
            part.used = np.ones(len(logged.readings), dtype=bool)
            self.parts.append(part)
        self.size = at

        for part in self.parts:
            meant = self.fitted_runs(part, np.zeros(self.size))[0]
            part.sigma = uncertainties_of(part.logged.readings, meant, part.logged.batch)

    def values(self, part: LoggedPart, z: np.ndarray) -> np.ndarray:
        """Return how far things are off in a batch, shape (k,): logarithms of factors, offsets in SI.

        Parameters
        ----------
        part : LoggedPart
        z : ndarray, shape (size,)
            Standard normal numbers.
        """
        off = self.priors.mean + self.priors.common * z[: self.k]
        off[self.varying] += self.priors.between[self.varying] * z[part.differs]
        return off

    def fitted_runs(self, part: LoggedPart, z: np.ndarray) -> list[FittedRun]:
        """Simulate a batch at z and around it: at z itself, then with each thing more and less.

        Parameters
        ----------
        part : LoggedPart
        z : ndarray, shape (size,)
            Standard normal numbers.
        """
        values = self.values(part, z)
        key = values.tobytes()
        if key not in part.seen:
            steps = np.zeros((2 * self.k + 1, self.k))
            rows = np.arange(self.k)
            steps[1 + 2 * rows, rows] = _STEP * self.priors.total
            steps[2 + 2 * rows, rows] = -_STEP * self.priors.total
            runs = self.simulate(part.logged.batch, self.priors.keys, values + steps, part.times_s)
            part.seen = {**dict(list(part.seen.items())[1 - _KEPT :]), key: runs}
        return part.seen[key]

    def slopes(
        self, part: LoggedPart, z: np.ndarray, look: Callable[[FittedRun], np.ndarray]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return what a function of the run gives (n,), and its derivatives by all of z (n, size).

        Parameters
        ----------
        part : LoggedPart
        z : ndarray, shape (size,)
            Standard normal numbers.
        look : callable
            Gives numbers of a FittedRun, in any unit, shape (n,).
        """
        seen = np.stack([look(fitted_run) for fitted_run in self.fitted_runs(part, z)])
        more, less = seen[1::2], seen[2::2]
        both = np.isfinite(more) & np.isfinite(
            less
        )  # what never comes on one side has its slope on the other
        with np.errstate(invalid="ignore"):
            aside = np.where(np.isfinite(more), more - seen[0], seen[0] - less)
            change = np.where(both, 0.5 * (more - less), aside)
        by_value = np.moveaxis(change, 0, -1) / (_STEP * self.priors.total)
        slope = np.zeros((*seen[0].shape, self.size))
        slope[..., : self.k] = by_value * self.priors.common
        slope[..., part.differs] = by_value[..., self.varying] * self.priors.between[self.varying]
        return seen[0], slope

    def misses(self, part: LoggedPart, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return readings less what they should be, in standard deviations (n,), and derivatives (n, size).

        Parameters
        ----------
        part : LoggedPart
        z : ndarray, shape (size,)
            Standard normal numbers.
        """
        logged = part.logged
        should, slope = self.slopes(part, z, part.predicted)
        factor = self.factors(part, z)
        slope = slope * factor[:, None]
        rows = np.flatnonzero(logged.readings.weighs)
        series = logged.readings.belongs[rows]
        slope[rows, part.factors[series]] = (should * factor)[rows] * part.factor_size[series]
        return (logged.readings.value - should * factor) / part.sigma, -slope / part.sigma[:, None]

    def near(self, z: np.ndarray) -> Callable[[np.ndarray], np.ndarray]:
        """Return everything that is squared and summed as a function of z, with the readings of runs on parabolas from here."""
        parabolas = [(part, self.values(part, z), *self._parabola(part, z)) for part in self.parts]

        def residuals(at: np.ndarray) -> np.ndarray:
            rows = []
            for part, here, seen, rise, bow in parabolas:
                off = self.values(part, at) - here
                should = (seen + rise @ off + bow @ off**2) * self.factors(part, at)
                rows.append(bent((part.logged.readings.value - should)[part.used] / part.sigma[part.used])[0])
            return np.concatenate([*rows, at])

        return residuals

    def _parabola(self, part: LoggedPart, z: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Readings of a batch (n,), and their change by how far each thing is off and by its square (n, k)."""
        seen, step = (
            np.stack([part.predicted(run) for run in self.fitted_runs(part, z)]),
            _STEP * self.priors.total,
        )
        more, less = seen[1::2], seen[2::2]
        return seen[0], (0.5 * (more - less)).T / step, (0.5 * (more + less) - seen[0]).T / step**2

    def factors(self, part: LoggedPart, z: np.ndarray) -> np.ndarray:
        """Return the factor on each reading [-]: that of its series for a weight, 1 for a temperature.

        Parameters
        ----------
        part : LoggedPart
        z : ndarray, shape (size,)
            Standard normal numbers.
        """
        logs = np.append(part.factor_size * z[part.factors], 0.0)  # -1, a temperature, is the last
        return np.exp(logs[part.logged.readings.belongs])

    def residuals(self, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Everything that is squared and summed, and its derivatives."""
        rows, slopes = [], []
        for part in self.parts:
            miss, slope = self.misses(part, z)
            bent_miss, bend = bent(miss[part.used])
            rows.append(bent_miss)
            slopes.append(slope[part.used] * bend[:, None])
        return np.concatenate([*rows, z]), np.concatenate([*slopes, np.eye(self.size)])

    def log_density(self, part: LoggedPart, z: np.ndarray) -> np.ndarray:
        """Return the logarithm of the posterior of a problem with one batch, but for a constant, shape (s,).

        Parameters
        ----------
        part : LoggedPart
        z : ndarray, shape (s, size)
            Many points of standard normal numbers.
        """
        values = np.stack([self.values(part, point) for point in z])
        fitted_runs = self.simulate(part.logged.batch, self.priors.keys, values, part.times_s)
        logged, out = part.logged, np.empty(len(z))
        for i, (point, fitted_run) in enumerate(zip(z, fitted_runs, strict=True)):
            should = part.predicted(fitted_run) * self.factors(part, point)
            miss, _ = bent(((logged.readings.value - should) / part.sigma)[part.used])
            out[i] = -0.5 * float(miss @ miss + point @ point)
        return out


def bent(miss: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the root of rho with the sign of the miss, and its derivative.

    Examples
    --------
    >>> root, slope = bent(np.array([-1.0, 4.0]))
    >>> root.round(2).tolist(), slope.round(2).tolist()  # as it is within two standard deviations, then flatter
    ([-1.0, 3.46], [1.0, 0.58])
    """
    far = np.abs(miss) > _BEND
    root = np.sqrt(np.where(far, 2.0 * _BEND * np.abs(miss) - _BEND**2, 1.0))
    return np.where(far, np.sign(miss) * root, miss), np.where(far, _BEND / root, 1.0)
