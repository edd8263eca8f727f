"""A probed slice fitted to what was logged of it: draws of what is not known, weighted by how well they explain the readings.

What is compared: the probe's temperature at every reading (thinned where there are very many), and weights where there are
any. Readings that follow each other closely miss in the same way - the model's own errors, a probe that has slipped a little -
so they count as one for each `_TOGETHER_S`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np

from dryingsim.engine.ensemble import Numbers
from dryingsim.evidence import Evidence
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.learn.probed_draws import KEYS, Slice, Unknowns, dried, shown
from dryingsim.learn.weighted_draws import WeightedDraws, weighted_draws
from dryingsim.typing import Array

DRAWS, ROUNDS = 256, 4
_MOST_READINGS = 120
_EARLY_S = 2400.0  # while the meat warms every reading is looked at
_READING_K: Annotated[
    float, Evidence("K", "estimate", "noise and last digit of a probe, one standard deviation")
] = 0.5
_SLOW_S: Annotated[
    float, Evidence("s", "estimate", "a probe follows so late, or a clock is off by as much")
] = 30.0
_TOGETHER_S: Annotated[
    float,
    Evidence(
        "s",
        "estimate",
        "errors of the model and a probe hold on so long; chosen so that ranges of made logs hold the truth as stated",
    ),
] = 1500.0
_WEIGHT: Annotated[
    float, Evidence("-", "estimate", "of a weight over the first one, one standard deviation")
] = 0.015


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """Weights of slices like the probed one, over the first of them.

    Attributes
    ----------
    time_s, share : ndarray, shape (w,)
    """

    time_s: Array
    share: Array

    def since(self, start_s: float) -> "Weights | None":
        """Return those from a time on [s], over the first of them; none where fewer than two are left."""
        kept = self.time_s >= start_s
        if np.count_nonzero(kept) < 2:
            return None
        share = self.share[kept]
        return Weights(time_s=self.time_s[kept] - start_s, share=share / share[0])


@dataclass(frozen=True, kw_only=True)
class FittedSlice:
    """What a log says of its slice.

    Attributes
    ----------
    piece : Slice
    log : ThermometerLog
    drawn : WeightedDraws
    values : dict of ndarray, shape (s,)
        What each draw stands for, see `probed_draws.Unknowns`.
    used : ndarray of int, shape (n,)
        Readings that were looked at.
    before_K, after_K : ndarray, shape (n, s)
        What probes show there, of draws before anything was fitted, and of the weighted draws [K].
    surface : ndarray, shape (n, s)
        Water activity at the drier surface of the weighted draws.
    """

    piece: Slice
    log: ThermometerLog
    drawn: WeightedDraws
    values: dict[str, Array]
    used: Array
    before_K: Array
    after_K: Array
    surface: Array

    def even(self, count: int) -> dict[str, Array]:
        """Return the values of draws that stand for all, each for as much, shape (count,)."""
        kept = self.drawn.even(count)
        return {key: values[kept] for key, values in self.values.items()}


def fit_slice(
    piece: Slice,
    log: ThermometerLog,
    unknowns: Unknowns,
    weights: Weights | None = None,
    *,
    draws: int = DRAWS,
    rounds: int = ROUNDS,
    seed: int = 1,
    progress: Callable[[str], Any] | None = None,
) -> FittedSlice:
    """Fit a slice to a log.

    Parameters
    ----------
    piece : Slice
        That holds the probe.
    log : ThermometerLog
    unknowns : Unknowns
    weights : Weights, optional
    draws, rounds, seed : int
        See `weighted_draws.weighted_draws`.
    progress : callable, optional
        Called with a word about what is done, as each round begins.
    """
    used = _looked_at(log.time_s)
    time, read = log.time_s[used], log.temperature_K[used]
    times = time if weights is None else np.union1d(time, weights.time_s)
    at = np.searchsorted(times, time)
    deviation, share = _deviation(time, read), _own_share(time)
    seen: list[tuple[dict[str, Array], Array, Array]] = []

    def residuals(z: Array) -> Array:
        if progress is not None:
            progress("slices of this batch in the air as logged")
        values = unknowns.values(z)
        numbers = dried(piece, values, times)
        showing = shown(piece, values, numbers, times)[at]
        seen.append((values, showing, numbers["places_activity"][::2].min(axis=0)[at]))
        missed = ((showing - read[:, None]) / deviation[:, None] * share[:, None]).T
        return (
            missed if weights is None else np.column_stack([missed, _weights_missed(weights, times, numbers)])
        )

    drawn = weighted_draws(residuals, len(KEYS), count=draws, rounds=rounds, seed=seed)
    last = seen[-(drawn.z.shape[0] // draws) :]
    return FittedSlice(
        piece=piece,
        log=log,
        drawn=drawn,
        values={key: np.concatenate([values[key] for values, *_ in last]) for key in KEYS},
        used=used,
        before_K=seen[0][1],
        after_K=np.concatenate([showing for _, showing, _ in last], axis=1),
        surface=np.concatenate([surface for *_, surface in last], axis=1),
    )


def _looked_at(time_s: Array) -> Array:
    """Return which readings are compared: all early ones if there are not too many, and even ones later."""
    early = np.flatnonzero(time_s <= _EARLY_S)
    late = np.flatnonzero(time_s > _EARLY_S)
    most = _MOST_READINGS // 3
    chosen = [
        part[:: -(-part.size // limit)] for part, limit in ((early, most), (late, 2 * most)) if part.size
    ]
    return np.concatenate(chosen)


def _deviation(time_s: Array, read_K: Array) -> Array:
    """Return how well each reading is known [K], one standard deviation: worse while it changes fast."""
    slope = np.abs(np.gradient(read_K, time_s))
    return np.hypot(_READING_K, _SLOW_S * slope)


def _own_share(time_s: Array) -> Array:
    """Return the root of how much each reading counts beside its neighbours."""
    apart = np.gradient(time_s)
    return np.sqrt(np.minimum(apart / _TOGETHER_S, 1.0))


def _weights_missed(weights: Weights, times_s: Array, numbers: Numbers) -> Array:
    wet = 1.0 + numbers["series_moisture_db"][np.searchsorted(times_s, weights.time_s)]
    return np.asarray(((wet / wet[0] - weights.share[:, None]) / _WEIGHT).T)
