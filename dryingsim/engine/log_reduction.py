"""Log reduction of one organism on many slices, by the rules of `dryingsim.judge.heat_resistance`.

While slices run, what bacteria see is kept sample by sample (`Samples`); at the end of a part of the schedule it is added up
slice by slice, where and when it was warm. All draws of what shapes D(T, a_w) are followed side by side, in single
precision: that errs by less than 1e-4 of a sum.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_draws import SHAPES, samples_of, shapes_of
from dryingsim.judge.heat_model import CENTRE_K, RAW_ACTIVITY, Matrix, heat_resistance
from dryingsim.judge.heat_resistance import BOUND, HeatBefore, quantile, survived
from dryingsim.properties.water_activity import UNCERTAINTY

_COLD_K = 10.0  # so far below the coolest temperature credited a day takes less than a thousandth of a log
_MINUTE = 60.0
_BLOCK = 64  # slices whose draws fit a core's cache
_AT_ONCE = 8192  # samples whose draws fit a large cache, and are long enough to hide numpy's overhead
_LANES = 16  # they are filled up to a multiple, so that none is ever in the odd end of a vector operation
_NEVER = 1e4  # ln of how many times slower than anything: exactly nothing


@dataclass(frozen=True)
class LogReduction:
    """What adds up to the log10 reduction of one organism at several places of several slices, sample by sample.

    Arrays (places, m); the `sums` of heat are (draw, places, m), at level zero. `start` is a water activity; heat is counted at
    the drier side of `activity_error`. `most` is how much the drying term counted at most, `drying_s` its sum [s]; `hot_s` for
    how long it was hot by `heat_model.Lasting` [s]. `before` is what heat did before drying began, where something heated the
    slices then.

    Attributes
    ----------
    matrix : Matrix
        What the meat is to bacteria: whole muscle or ground.
    """

    organism: str
    matrix: Matrix
    activity_error: float
    start: np.ndarray
    sums: np.ndarray
    most: np.ndarray
    drying_s: np.ndarray
    hot_s: np.ndarray
    before: HeatBefore | None = None

    @classmethod
    def begun(
        cls, organism: str, matrix: Matrix, activity: np.ndarray, activity_error: float = UNCERTAINTY
    ) -> "LogReduction":
        """Return that of slices to which nothing has happened yet.

        Parameters
        ----------
        organism, matrix : str
            As in `dryingsim.judge.heat_resistance.log10_d`.
        activity : ndarray, shape (places, m)
            Water activity.
        activity_error : float
            As `dryingsim.judge.exposed.drier_side` takes it [-].
        """
        start, nothing = np.minimum(activity, RAW_ACTIVITY), np.zeros_like(activity)
        sums = np.zeros((SHAPES, *activity.shape), dtype=np.float32)
        return cls(organism, matrix, activity_error, start, sums, nothing, nothing, nothing)

    def heated(self, activity: np.ndarray) -> "LogReduction":
        """Return that of slices that begin to dry, all that has added up so far having come from heat before.

        Parameters
        ----------
        activity : ndarray, shape (places, m)
            Water activity now.
        """
        drying = LogReduction.begun(self.organism, self.matrix, activity, self.activity_error)
        return replace(drying, before=HeatBefore(self.sums, self.hot_s))

    def turned(self) -> "LogReduction":
        """Return that of the slices turned over: what was below is above."""

        def turned(values: np.ndarray) -> np.ndarray:
            return np.concatenate([values[..., 1::-1, :], values[..., 2:, :]], axis=-2)

        return replace(
            self,
            start=turned(self.start),
            sums=turned(self.sums),
            most=turned(self.most),
            drying_s=turned(self.drying_s),
            hot_s=turned(self.hot_s),
            before=self.before and HeatBefore(turned(self.before.sums), turned(self.before.hot_s)),
        )

    def numbers(self, organism: str | None = None) -> dict[str, np.ndarray]:
        """Return the lower bound and the best estimate [log10] at the least-reduced place of every slice.

        Parameters
        ----------
        organism : str, optional
            Another than its own: the sums of heat are the same for all.
        """
        model = heat_resistance()
        samples = samples_of(model, organism or self.organism, self.matrix)
        slow, fast, drying, ceiling, rapid_ceiling = (  # by level and shape, as the sums stand below
            np.ascontiguousarray(values.T, dtype=np.float32)
            for values in (
                10.0**-samples.slow,
                10.0**-samples.fast,
                samples.drying,
                samples.ceilings["long"],
                samples.ceilings["rapid"],
            )
        )
        share = np.minimum(self.drying_s / model.drying.hours_s, self.most).astype(np.float32)
        later = _by_slice(self.sums)
        if self.before is not None:
            before = _by_slice(self.before.sums)
            lasting = model.lasting.share(self.before.hot_s).astype(np.float32)[..., None, None]
        found = []
        for first in range(0, share.shape[1], _BLOCK):
            part = slice(first, first + _BLOCK)
            least = np.full((1, 1, 1), np.inf, dtype=np.float32)
            for place in range(share.shape[0]):
                here = later[place, part] * slow + share[place, part, None, None] * drying
                if self.before is not None:
                    most = rapid_ceiling + lasting[place, part] * (ceiling - rapid_ceiling)
                    here += survived(before[place, part] * fast, most)
                least = np.minimum(least, here)
            studies = survived(least, ceiling).reshape(least.shape[0], -1)
            studies.sort(axis=-1)  # all of them: faster than to look for four
            found.append([quantile(studies, BOUND), quantile(studies, 0.5)])
        lower, best = np.concatenate(found, axis=1)
        return {"lower": lower, "best": best}


class Samples:
    """What bacteria see at the places of slices on their way, each slice at times of its own.

    Parameters
    ----------
    log_reduction : LogReduction
        Of the slices before.
    temperature, activity, heat_activity : ndarray, shape (places, m)
        As of `add`, at the beginning.
    heating : bool
        Whether they are heated before they dry: then for how long they are hot counts.
    """

    def __init__(
        self,
        log_reduction: LogReduction,
        temperature: np.ndarray,
        activity: np.ndarray,
        heat_activity: np.ndarray,
        *,
        heating: bool = False,
    ) -> None:
        self._before, self._heating = log_reduction, heating
        self._index: list[np.ndarray] = []
        self._seen: list[np.ndarray] = []
        m = log_reduction.start.shape[1]
        self.add(np.arange(m), np.zeros(m), temperature, activity, heat_activity, np.ones(m, dtype=bool))

    def add(
        self,
        index: np.ndarray,
        span_s: np.ndarray,
        temperature: np.ndarray,
        activity: np.ndarray,
        heat_activity: np.ndarray,
        taken: np.ndarray,
    ) -> None:
        """Add a sample of some slices.

        Parameters
        ----------
        index : ndarray of int, shape (n,)
            Which they are.
        span_s : ndarray, shape (n,)
            Since the last sample of each [s].
        temperature : ndarray, shape (places, n)
            [K].
        activity, heat_activity : ndarray, shape (places, n)
            Water activity, and that which heat is counted at.
        taken : ndarray of bool, shape (n,)
            Nothing is added where it is not.
        """
        model = heat_resistance()
        t = np.minimum(temperature, model.hottest_K) - CENTRE_K
        fall = np.maximum(RAW_ACTIVITY - drier_side(heat_activity, self._before.activity_error), 0.0)
        dried = model.drying.counts(temperature, self._before.start[:, index] - activity)
        seen = np.array([np.broadcast_to(span_s, t.shape), t, fall, dried], dtype=np.float32)
        which = np.flatnonzero(taken)
        self._index.append(index[which])
        self._seen.append(seen.take(which, axis=-1))

    def added_up(self) -> LogReduction:
        """Return the log reduction of the slices after all samples."""
        before, lasting = self._before, heat_resistance().lasting
        sums, most, drying_s = before.sums.copy(), before.most.copy(), before.drying_s.copy()
        hot_s = before.hot_s.copy()
        for place, series in enumerate(self._in_order()):
            for slices, first, (span, t, fall, dried) in _blocks(*series):
                heat = _between(_roots(t, fall), span)
                sums[:, place, slices] += np.add.reduceat(heat, first, axis=1)[:, :-1]
                drying_s[place, slices] += np.add.reduceat(_gathered(span, dried), first)[:-1]
                if self._heating:
                    hot = lasting.counts(t - np.float32(lasting.hot_K - CENTRE_K))
                    hot_s[place, slices] += np.add.reduceat(_gathered(span, hot), first)[:-1]
                highest = np.maximum.reduceat(dried, first)[:-1]
                most[place, slices] = np.maximum(most[place, slices], highest)
        return replace(before, sums=sums, most=most, drying_s=drying_s, hot_s=hot_s)

    def _in_order(self) -> Iterator[tuple[np.ndarray, np.ndarray]]:
        """Yield, for every place, the samples (4, n) slice by slice, and where those of each begin.

        Of samples there is the time since the one before [s], temperature above that of the model's level [K], fall of water
        activity [-], how much the drying term counts [-]; cold ones far from warm ones are left out.
        """
        m = self._before.start.shape[1]
        index = np.concatenate(self._index).astype(np.min_scalar_type(m))
        order = np.argsort(index, kind="stable")
        begin = np.searchsorted(index[order], np.arange(m))
        for samples in np.concatenate(self._seen, axis=-1).take(order, axis=-1).swapaxes(0, 1):
            warm = (samples[1] >= _coldest()) | (samples[3] > 0.0)
            near = warm.copy()
            near[1:] |= warm[:-1]
            near[:-1] |= warm[1:]
            samples[0, 1:] *= near[:-1]  # nothing happens between two that are cold
            near[begin] = True  # each slice has one
            yield samples[:, near], np.cumsum(near)[begin] - 1


def _blocks(samples: np.ndarray, begin: np.ndarray) -> Iterator[tuple[slice, np.ndarray, np.ndarray]]:
    """Yield some slices after the other: which, where the samples of each begin and where they end, and these.

    They are filled up to whole lanes, by one at least.
    """
    m, begin, low = begin.size, np.append(begin, samples.shape[1]), 0
    while low < m:
        high = max(int(np.searchsorted(begin, begin[low] + _AT_ONCE, side="right")) - 1, low + 1)
        first = begin[low : high + 1] - begin[low]
        filled = np.zeros((samples.shape[0], (first[-1] // _LANES + 1) * _LANES), dtype=samples.dtype)
        filled[:, : first[-1]] = samples[:, begin[low] : begin[high]]
        yield slice(low, high), first, filled
        low = high


def _by_slice(sums: np.ndarray) -> np.ndarray:
    """Sums (draw, places, m) with the draws of each slice beside each other, shape (places, m, 1, draw)."""
    return np.ascontiguousarray(sums.transpose(1, 2, 0))[:, :, None]


def _coldest() -> float:
    """Temperature below which nothing counts, above that of the model's level [K]."""
    return heat_resistance().coolest_K - _COLD_K - CENTRE_K


def _roots(t: np.ndarray, fall: np.ndarray) -> np.ndarray:
    """Square roots of the rates by heat [1/min] of all draws at level zero, shape (draw, n); t and fall as of `Samples`."""
    model = heat_resistance()
    slope, low, rise, linear, ln_width, hinge = shapes_of(model).columns
    half = np.float32(0.5 * np.log(10.0))
    cold = half * np.float32(model.cold_slope) * np.maximum(np.float32(model.coolest_K - CENTRE_K) - t, 0.0)
    cold[t < _coldest()] = _NEVER
    near = fall * -np.exp(-ln_width)
    np.exp(near, out=near)
    near -= np.float32(1.0)
    work = t - hinge
    ramp = work * work
    ramp += np.float32(4.0)
    np.sqrt(ramp, out=ramp)
    ramp += work
    ramp *= 0.5 * half * rise
    ramp += half * low
    ramp *= near
    ramp += np.multiply(t, half * slope, out=work)
    ramp -= np.multiply(fall, half * linear, out=work)
    ramp -= cold
    return np.asarray(np.exp(ramp, out=ramp))


def _gathered(span_s: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Time between each sample and the one before, of which a share counts [s], shape (n,); by straight lines."""
    return np.append(np.float32(0.0), np.float32(0.5) * span_s[1:] * (share[:-1] + share[1:]))


def _between(roots: np.ndarray, span_s: np.ndarray) -> np.ndarray:
    """Reduction between each sample and the one before, by a mean rate near that of an exponential, shape (draw, n).

    It is two thirds of the geometric mean and one third of the arithmetic one.
    """
    total = np.empty_like(roots)
    total[:, 0] = 0.0
    before, now, between = roots[:, :-1], roots[:, 1:], total[:, 1:]
    np.add(before, now, out=between)
    between *= between
    product = before * now
    product *= np.float32(2.0)
    between += product
    between *= span_s[1:] * np.float32(1.0 / (6.0 * _MINUTE))
    return total
