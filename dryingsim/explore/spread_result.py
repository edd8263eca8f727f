"""What came of many slices of many batches: when they are done, how far apart they are, what makes them differ."""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, get_args

import numpy as np

from dryingsim.batch.checks import check_choice, check_range
from dryingsim.batch.distributions import Correlation
from dryingsim.batch.schema import Batch, Lies
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.counts import CountsOverTime
from dryingsim.engine.ensemble import Numbers
from dryingsim.engine.own_heating import Heating
from dryingsim.engine.segments import Clock
from dryingsim.explore.counted import counted
from dryingsim.explore.effect_shares import Effects
from dryingsim.explore.sampling import Points, Sample
from dryingsim.history import History
from dryingsim.judge.grades import Estimate, Grade, Lethality
from dryingsim.lazy_import import from_above
from dryingsim.model.laying import lying

if TYPE_CHECKING:
    import pandas
    import xarray
    from matplotlib.axes import Axes

FEW = 0.05  # of kitchens, in which a slice may miss what is still "met": as sure as the lower bound (95 %) itself


@dataclass(frozen=True, kw_only=True)
class Spread:
    """What came of the slices drawn.

    Axes: t times, m slices, b batches drawn; slices of a batch stand one after the other.

    Attributes
    ----------
    batch : Batch
        As it is meant.
    uncertainties : dict of Uncertainty
    correlations : tuple of (str, str, float)
        Rank correlations of the inputs.
    points : str
        How they fill the space.
    effects : Effects or None
        Of each input, where they were asked for: see `explore.effects`.
    seed : int
    sample : Sample
    thickness_m : ndarray, shape (m,)
        Where the slice is looked at.
    kind, tray : ndarray of int, shape (m,)
        Thickness class and tray of the slice.
    clock : Clock
        When the stages end.
    times_s : ndarray, shape (t,)
    numbers : dict of ndarray
        As `ensemble.work` returns them; without the series, which are in `counts_over_time`.
    counts_over_time : CountsOverTime
    in_batch : int
        Slices in the batch.
    heating : Heating or None
        How each kitchen heats them first, where a temperature inside ends that.
    judged : Lethality
        The judgement on the batch as it is meant.
    organism : str
        The one farthest from its target in it.
    target_log10 : float
        The reduction asked for of it.
    meant : History
        The batch as it is meant.
    first_look_s : float or None
    look_again_s : float
        When to look first, and after what time again, as a run of the batch as it is meant tells [s].
    workers : str or None
        What it was worked out on, if not on this machine alone.
    """

    batch: Batch
    uncertainties: dict[str, Uncertainty]
    seed: int
    sample: Sample
    thickness_m: np.ndarray
    kind: np.ndarray
    tray: np.ndarray
    clock: Clock
    times_s: np.ndarray
    numbers: Numbers
    counts_over_time: CountsOverTime
    in_batch: int
    judged: Lethality
    organism: str
    target_log10: float
    meant: History
    first_look_s: float | None
    look_again_s: float
    correlations: tuple[Correlation, ...] = ()
    points: Points = "sobol"
    effects: Effects | None = None
    heating: Heating | None = None
    workers: str | None = None

    @property
    def title(self) -> str:
        """What the numbers are of."""
        return f"{self.batch.name}: {self.drawn}"

    @property
    def drawn(self) -> str:
        """How many slices of how many batches, and by which seed."""
        batches = self.sample.batches["setpoint"].size
        return f"{self.thickness_m.size} slices of {batches} batches drawn (seed {self.seed})"

    def to_xarray(self) -> "xarray.Dataset":
        """Return slices and bands with their axes named; needs xarray. See `dryingsim.explore.labelled`."""
        arrays: xarray.Dataset = from_above("Spread.to_xarray")(self)
        return arrays

    def to_pandas(self) -> "pandas.DataFrame":
        """Return one row per slice; needs pandas. See `dryingsim.explore.labelled`."""
        table: pandas.DataFrame = from_above("Spread.to_pandas")(self)
        return table

    def plot(self, axes: "Axes | None" = None) -> "Axes":
        """Draw the bands of the water activity over time: half of all slices, nine in ten.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            To draw on; a new figure if left out.
        """
        drawn: Axes = from_above("Spread.plot")(self, axes)
        return drawn

    @property
    def reported(self) -> Numbers:
        """The numbers as they are told, see `explore.counted`."""
        return counted(self.numbers)

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
        """Return the values below which a share of the slices lies, over time.

        Parameters
        ----------
        name : str
            "water_activity", "moisture_db" [kg/kg], "core_K" or "face_K" [K].
        shares : tuple of float
            0 to 1.

        Returns
        -------
        ndarray, shape (shares, t)
        """
        for share in shares:
            check_range("shares", share, share, 0.0, 1.0, "0 to 1")
        return self.counts_over_time.below(name, shares)

    def states(self) -> np.ndarray:
        """Shares of the slices that are under-dried, in the window, over-dried, over time; shape (3, t)."""
        time = self.times_s[:, None]
        over = (time >= self.brittle_s).mean(axis=1)
        under = (time < self.done_s).mean(axis=1)
        return np.stack([under, 1.0 - under - over, over])

    def lying(self, lies: Lies) -> np.ndarray:
        """Whether each slice lies in a way, shape (m,)."""
        return np.array([one.lies == lies for one in self.batch.meat.classes])[self.kind]

    def done_quantile(self, share: float, lies: Lies | None = None) -> float | None:
        """Time when a share of the slices is done [s]; None where that is beyond the run, or there are none.

        Parameters
        ----------
        share : float
            0 to 1.
        lies : str, optional
            Of the slices that lie in this way; of all if left out.
        """
        check_range("share", share, share, 0.0, 1.0, "0 to 1")
        if lies is not None:
            check_choice("lies", lies, get_args(Lies))
        done = self.done_s if lies is None else self.done_s[self.lying(lies)]
        value = float(np.quantile(done, share, method="inverted_cdf")) if done.size else np.inf
        return value if np.isfinite(value) else None

    def slowest_misses(self, time_s: float | None = None) -> "Chance":
        """Chance that a batch has a slice that is not done by a time; by the planned end if left out."""
        return self._worst(self.done_s > (self.planned_s if time_s is None else time_s))

    def reduction_misses(self, estimate: Estimate = "lower") -> "Chance":
        """Chance that a batch has a slice on which the log reduction, by an estimate, is below the target."""
        reduction = self.numbers[estimate]
        return self._worst(reduction < self.target_log10)

    @cached_property
    def grade(self) -> Grade:
        """Of all slices: "not shown" where the batch as it is meant is "met", but a slice may miss in too many kitchens."""
        as_meant, misses = self.judged.grade, self.reduction_misses()
        too_many = misses.value + misses.error > FEW
        return "not shown" if as_meant.startswith("met") and too_many else as_meant

    def _worst(self, misses: np.ndarray) -> "Chance":
        """Chance that at least one of the slices of a batch is among those that miss.

        Where fewer were drawn of each batch than it has, the chance comes out too low: about as much for each doubling that is
        missing as it falls where half are left out. That step is added, and counted as an error, too.
        """
        count = self.sample.batches["setpoint"].size
        by_batch = misses.reshape(count, -1)
        chance, step = _some_miss(by_batch, self.in_batch), 0.0
        if self.in_batch > by_batch.shape[1] > 1:
            halves = [_some_miss(by_batch[:, half::2], self.in_batch) for half in (0, 1)]
            doublings = max(math.log2(self.in_batch / by_batch.shape[1]), 1.0)
            step = doublings * float(chance.mean() - np.mean(halves))
        # where all batches drawn agree, the spread of what was not drawn is still that of one among them
        scatter = max(float(chance.std(ddof=1)) / count**0.5, 1.0 / (count + 2.0))
        return Chance(float(np.clip(chance.mean() + step, 0.0, 1.0)), math.hypot(scatter, step))

    def influences(self) -> dict[str, float]:
        """Rank correlation of each input with the time at which a slice is done, the strongest first."""
        return self._correlations(self.done_s)

    def reduction_influences(self) -> dict[str, float]:
        """Rank correlation of each input with the log reduction on a slice (lower bound), the strongest first."""
        return self._correlations(self.numbers["lower"])

    def chance_correlation(self, key: str) -> float:
        """Rank correlation that an input of no effect stays below nineteen times in twenty: of few batches it is large.

        Parameters
        ----------
        key : str
            Of `influences`.
        """
        independent = self.sample.batches["setpoint"].size if key in self.sample.batches else self.kind.size
        return 2.0 / math.sqrt(independent)

    def _correlations(self, outcome: np.ndarray) -> dict[str, float]:
        names = [key for key in INPUTS if self.uncertainties[key].size > 0.0]
        values = {key: self.sample.of_slices(key) for key in names}
        values["thickness"] = self.thickness_m
        if self.tray.max():
            values["tray"] = self.tray.astype(float)
        lies = lying(self.batch)
        values["lies"] = (lies.slices / (1.0 + lies.vapour_below))[self.kind]  # how long the way out is
        ordered = ranks(outcome)
        correlations = {
            key: _correlation(ranks(drawn), ordered) for key, drawn in values.items() if np.ptp(drawn) > 0.0
        }
        return dict(sorted(correlations.items(), key=lambda item: -abs(item[1])))

    def between_batches(self) -> float:
        """Share of the variance of the ranks of the done times that lies between batches; the rest is within."""
        ordered = ranks(self.done_s)
        by_batch = ordered.reshape(self.sample.batches["setpoint"].size, -1)
        within, each_has = float(by_batch.var(axis=1, ddof=1).mean()), by_batch.shape[1]
        between = max(float(by_batch.mean(axis=1).var(ddof=1)) - within / each_has, 0.0)
        return between / (between + within) if between + within > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class Chance:
    """A probability and its sampling error: one standard error over the batches drawn, and the step for few slices of each.

    Attributes
    ----------
    value : float
        The probability [-].
    """

    value: float
    error: float


def _some_miss(misses: np.ndarray, in_batch: int) -> np.ndarray:
    """Return the chance that a batch of so many slices has one that misses, by those drawn (b, drawn) of each."""
    drawn, missing = misses.shape[1], misses.sum(axis=1)
    if in_batch <= drawn:  # exact for slices taken from those drawn without putting back
        i = np.arange(in_batch)
        return 1.0 - np.prod(np.maximum(drawn - missing[:, None] - i, 0) / (drawn - i), axis=1)
    return np.asarray(1.0 - (1.0 - missing / drawn) ** in_batch)


def ranks(values: np.ndarray) -> np.ndarray:
    """Return ranks; ties (and infinities) share their mean rank.

    Parameters
    ----------
    values : ndarray
        Of any unit.
    """
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    ends = np.cumsum(counts)
    return (ends - 0.5 * (counts - 1))[inverse.reshape(-1)]


def _correlation(a: np.ndarray, b: np.ndarray) -> float:
    spread = a.std() * b.std()
    return float(((a - a.mean()) * (b - b.mean())).mean() / spread) if spread > 0.0 else 0.0
