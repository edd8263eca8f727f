"""Log reduction of one organism on many slices, added up while they run; by the rules of `dryingsim.judge.heat_resistance`.

All draws of what shapes D(T, a_w) are followed side by side, in single precision: that errs by less than 1e-4 of a sum.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_draws import samples_of, shapes_of
from dryingsim.judge.heat_model import CENTRE_K, RAW_ACTIVITY, Matrix, heat_resistance
from dryingsim.judge.heat_resistance import BOUND, quantile, survived
from dryingsim.properties.water_activity import UNCERTAINTY

_COLD_K = 10.0  # so far below the coolest temperature credited a day takes less than a thousandth of a log
_MINUTE = 60.0
_BLOCK = 32  # slices whose draws fit a core's cache


@dataclass
class LogReduction:
    """What adds up to the log10 reduction of one organism at several places of several slices, sample by sample.

    Arrays (places, m); `rates` [1/min] at the last sample and the `sums` of heat (draw, places, m), at level zero. `start` is
    a water activity; heat is counted at the drier side of `activity_error`. `dried` is how much the
    drying term counts at the last sample, `most` its largest so far, `drying_s` its sum [s]. `rapid` are sums of heat
    (draw, places, m) before drying began, where something heated the slices then.

    Attributes
    ----------
    matrix : Matrix
        What the meat is to bacteria: whole muscle or ground.
    temperature : ndarray
        At the last sample [K].
    """

    organism: str
    matrix: Matrix
    activity_error: float
    temperature: np.ndarray
    rates: np.ndarray
    sums: np.ndarray
    start: np.ndarray
    dried: np.ndarray
    most: np.ndarray
    drying_s: np.ndarray
    rapid: np.ndarray | None = None

    @classmethod
    def begun(
        cls,
        organism: str,
        matrix: Matrix,
        temperature: np.ndarray,
        activity: np.ndarray,
        heat_activity: np.ndarray,
        activity_error: float = UNCERTAINTY,
    ) -> "LogReduction":
        """Return one at its first sample.

        Parameters
        ----------
        organism, matrix : str
            As in `dryingsim.judge.heat_resistance.log10_d`.
        temperature : ndarray, shape (places, m)
            [K].
        activity, heat_activity : ndarray, shape (places, m)
            Water activity, and that which heat is counted at, see `dryingsim.judge.exposed.as_if_open`.
        activity_error : float
            As `dryingsim.judge.exposed.drier_side` takes it [-].
        """
        start = np.minimum(activity, RAW_ACTIVITY)
        rates = _rates(temperature, heat_activity, activity_error)
        nothing, dried = np.zeros_like(temperature), _dried(temperature, activity, start)
        return cls(
            organism,
            matrix,
            activity_error,
            temperature,
            rates,
            np.zeros_like(rates),
            start,
            dried,
            dried.copy(),  # each its own: `put` writes into them
            nothing,
        )

    def heated(
        self, temperature: np.ndarray, activity: np.ndarray, heat_activity: np.ndarray
    ) -> "LogReduction":
        """Return one that begins to dry, all that it has added up so far having come from heat before.

        Parameters
        ----------
        temperature, activity, heat_activity : ndarray, shape (places, m)
            Now [K], [-], [-].
        """
        now = temperature, activity, heat_activity
        return replace(
            LogReduction.begun(self.organism, self.matrix, *now, self.activity_error), rapid=self.sums
        )

    def _mapped(self, how: Callable[[np.ndarray], np.ndarray]) -> "LogReduction":
        changed: dict[str, Any] = {name: how(getattr(self, name)) for name in self._arrays}
        return replace(self, **changed)

    @property
    def _arrays(self) -> tuple[str, ...]:
        return _ARRAYS if self.rapid is None else (*_ARRAYS, "rapid")

    def copy(self) -> "LogReduction":
        """Return one of the same numbers."""
        return self._mapped(np.copy)

    def take(self, which: np.ndarray) -> "LogReduction":
        """Return some of the slices."""
        return self._mapped(lambda a: np.ascontiguousarray(a[..., which]))

    def turned(self) -> "LogReduction":
        """Return the slices turned over: what was below is above."""
        return self._mapped(lambda a: np.concatenate([a[..., 1::-1, :], a[..., 2:, :]], axis=-2))

    def put(self, where: np.ndarray, other: "LogReduction") -> None:
        """Set some of the slices.

        Parameters
        ----------
        where : ndarray of int
            Which of them.
        other : LogReduction
            Of as many slices.
        """
        for name in self._arrays:
            getattr(self, name)[..., where] = getattr(other, name)

    def add(
        self,
        span_s: np.ndarray,
        temperature: np.ndarray,
        activity: np.ndarray,
        heat_activity: np.ndarray,
        taken: np.ndarray,
    ) -> None:
        """Go on by some time to a new sample.

        Parameters
        ----------
        span_s : ndarray, shape (m,)
            Since the last one [s].
        temperature : ndarray, shape (places, m)
            [K].
        activity, heat_activity : ndarray, shape (places, m)
            Water activity, and that which heat is counted at.
        taken : ndarray of bool, shape (m,)
            Nothing is added where it is not.
        """
        rates = _rates(temperature, heat_activity, self.activity_error)
        dried = _dried(temperature, activity, self.start)
        if not taken.all():  # a step that was not taken may have led anywhere
            kept = ~taken
            rates[..., kept], dried[:, kept] = self.rates[..., kept], self.dried[:, kept]
            temperature = np.where(taken, temperature, self.temperature)
        span = np.where(taken, span_s, 0.0)
        # near the mean of an exponential: two thirds of the geometric mean, one third of the arithmetic one
        mean = self.rates * rates
        np.sqrt(mean, out=mean)
        mean *= 4.0
        mean += self.rates
        mean += rates
        mean *= (span / (6.0 * _MINUTE)).astype(np.float32)
        mean += self.sums
        self.drying_s = self.drying_s + span * 0.5 * (self.dried + dried)
        self.most = np.maximum(self.most, dried)
        self.temperature, self.rates, self.sums, self.dried = temperature, rates, mean, dried

    def numbers(self, organism: str | None = None) -> dict[str, np.ndarray]:
        """Return the lower bound and the best estimate [log10] at the least-reduced place of every slice.

        Parameters
        ----------
        organism : str, optional
            Another than its own: the sums of heat are the same for all.
        """
        model = heat_resistance()
        samples = samples_of(model, organism or self.organism, self.matrix)
        slow, fast, drying, ceiling, rapid_ceiling = (
            values.astype(np.float32)
            for values in (
                10.0**-samples.slow,
                10.0**-samples.fast,
                samples.drying,
                samples.ceilings["long"],
                samples.ceilings["rapid"],
            )
        )
        share = np.minimum(self.drying_s / model.drying.hours_s, self.most).astype(np.float32)
        found = []
        for first in range(0, share.shape[1], _BLOCK):
            part = slice(first, first + _BLOCK)
            least = np.full((1, 1, 1), np.inf, dtype=np.float32)
            for place in range(share.shape[0]):
                here = self.sums[:, place, part].T[..., None] * slow + share[place, part, None, None] * drying
                if self.rapid is not None:
                    here += survived(self.rapid[:, place, part].T[..., None] * fast, rapid_ceiling)
                least = np.minimum(least, here)
            studies = survived(least, ceiling).reshape(least.shape[0], -1)
            studies.sort(axis=-1)  # all of them: faster than to look for four
            found.append([quantile(studies, BOUND), quantile(studies, 0.5)])
        lower, best = np.concatenate(found, axis=1)
        return {"lower": lower, "best": best}


_ARRAYS = ("temperature", "rates", "sums", "start", "dried", "most", "drying_s")


def _rates(temperature: np.ndarray, activity: np.ndarray, activity_error: float) -> np.ndarray:
    """Rates by heat [1/min] of all draws at level zero, shape (draw, places, m); at the drier side of the activity's error."""
    model = heat_resistance()
    shapes = shapes_of(model)
    warm = (
        temperature >= model.coolest_K - _COLD_K
    )  # slice by slice: none depends on what else is in its chunk
    if not warm.any():
        return np.zeros((shapes.values.shape[0], *temperature.shape), dtype=np.float32)
    slope, low, rise, linear, ln_width, hinge = shapes.columns
    t = (np.minimum(temperature, model.hottest_K) - CENTRE_K).astype(np.float32)
    fall = np.maximum(RAW_ACTIVITY - drier_side(activity, activity_error), 0.0).astype(np.float32)
    near = fall * -np.exp(-ln_width)
    np.exp(near, out=near)
    near -= np.float32(1.0)
    above = t - hinge
    ramp = above * above
    ramp += np.float32(4.0)
    np.sqrt(ramp, out=ramp)
    ramp += above
    ramp *= 0.5 * rise
    ramp += low
    ramp *= near
    ramp += slope * t
    ramp -= linear * fall
    ramp -= np.float32(model.cold_slope) * np.maximum(np.float32(model.coolest_K - CENTRE_K) - t, 0.0)
    ramp *= np.float32(np.log(10.0))
    np.maximum(ramp, -60.0, out=ramp)
    np.exp(ramp, out=ramp)
    ramp *= warm
    return ramp


def _dried(temperature: np.ndarray, activity: np.ndarray, start: np.ndarray) -> np.ndarray:
    """Share to which the drying term counts at a moment."""
    drying = heat_resistance().drying
    return drying.counts(temperature, start - activity)
