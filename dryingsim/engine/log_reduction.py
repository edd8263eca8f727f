"""Log reduction of one organism on many slices, added up while they run; by the rules of `dryingsim.judge.lethality`."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dryingsim.batch.catalog import organisms
from dryingsim.batch.catalog.organisms import EstimateSet
from dryingsim.judge.lethality import cumulative_exponential, desiccation_now, log_D
from dryingsim.judge.reductions import drier_side

_SETS: tuple[EstimateSet, ...] = ("cautious", "central")


@dataclass
class LogReduction:
    """Log10 reductions of one organism at several places of several slices, added up sample by sample.

    Arrays (places, m). `rates` are log10 of the rates at the last sample, `reductions` the sums, both by the cautious
    and the central set, and those by drying itself; `start` is a water activity.
    """

    organism: str
    temperature: np.ndarray
    rates: tuple[np.ndarray, np.ndarray]
    reductions: tuple[np.ndarray, np.ndarray]
    start: np.ndarray
    drying: np.ndarray

    @classmethod
    def begun(cls, organism: str, temperature: np.ndarray, activity: np.ndarray) -> "LogReduction":
        """Return one at its first sample.

        Parameters
        ----------
        organism : str
        temperature : ndarray, shape (places, m)
            [K].
        activity : ndarray, shape (places, m)
            Water activity.
        """
        start = np.minimum(activity, organisms.reference_water_activity())
        return cls(
            organism,
            temperature,
            _rates(organism, temperature, activity),
            (np.zeros_like(temperature), np.zeros_like(temperature)),  # each its own: `put` writes into them
            start,
            _drying(temperature, activity, start),
        )

    def _mapped(self, how: Callable[[np.ndarray], np.ndarray]) -> "LogReduction":
        return LogReduction(
            self.organism,
            how(self.temperature),
            (how(self.rates[0]), how(self.rates[1])),
            (how(self.reductions[0]), how(self.reductions[1])),
            how(self.start),
            how(self.drying),
        )

    def copy(self) -> "LogReduction":
        """Return one of the same numbers."""
        return self._mapped(np.copy)

    def take(self, which: np.ndarray) -> "LogReduction":
        """Return some of the slices."""
        return self._mapped(lambda a: np.ascontiguousarray(a[:, which]))

    def turned(self) -> "LogReduction":
        """Return the slices turned over: what was below is above."""
        return self._mapped(lambda a: np.concatenate([a[1::-1], a[2:]]))

    def put(self, where: np.ndarray, other: "LogReduction") -> None:
        """Set some of the slices.

        Parameters
        ----------
        where : ndarray of int
            Which of them.
        other : LogReduction
            Of as many slices.
        """
        pairs = zip(
            (self.temperature, *self.rates, *self.reductions, self.start, self.drying),
            (other.temperature, *other.rates, *other.reductions, other.start, other.drying),
            strict=True,
        )
        for mine, theirs in pairs:
            mine[:, where] = theirs

    def add(
        self, span_s: np.ndarray, temperature: np.ndarray, activity: np.ndarray, taken: np.ndarray
    ) -> None:
        """Go on by some time to a new sample.

        Parameters
        ----------
        span_s : ndarray, shape (m,)
            Since the last one [s].
        temperature : ndarray, shape (places, m)
            [K].
        activity : ndarray, shape (places, m)
            Water activity.
        taken : ndarray of bool, shape (m,)
            Nothing is added where it is not.
        """
        rates = _rates(self.organism, temperature, activity)
        level, unit = np.stack([self.temperature, temperature]), np.array([0.0, 1.0])
        sums = []
        for old, new, done, estimate in zip(self.rates, rates, self.reductions, _SETS, strict=True):
            floor = organisms.resistance(self.organism, estimate).floor_K
            mean = cumulative_exponential(unit, np.stack([old, new]), level, floor)[-1]
            sums.append(np.where(taken, done + span_s * mean, done))
        self.reductions = sums[0], sums[1]
        self.temperature = np.where(taken, temperature, self.temperature)
        self.rates = np.where(taken, rates[0], self.rates[0]), np.where(taken, rates[1], self.rates[1])
        drying = np.maximum(self.drying, _drying(temperature, activity, self.start))
        self.drying = np.where(taken, drying, self.drying)

    def numbers(self) -> dict[str, np.ndarray]:
        """Return the reductions at the worst place: by the cautious set, and by the central one."""
        drying, (cautious, central) = self.drying, self.reductions
        worst = (central + drying).argmin(axis=0)[None]
        return {
            "cautious": cautious.min(axis=0),
            "central_heat": np.take_along_axis(central, worst, axis=0)[0],
            "central_drying": np.take_along_axis(drying, worst, axis=0)[0],
        }


def _rates(organism: str, temperature: np.ndarray, activity: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Log10 of the rates [1/s] by the cautious and the central set."""
    return (
        -log_D(organism, temperature, drier_side(activity), "cautious"),
        -log_D(organism, temperature, activity, "central"),
    )


def _drying(temperature: np.ndarray, activity: np.ndarray, start: np.ndarray) -> np.ndarray:
    return desiccation_now(temperature, start - activity, organisms.desiccation())
