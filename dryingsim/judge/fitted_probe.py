"""Whether a log can be that of a probe in the slice it was fitted to: what a probe in the air or in the tray gives away.

Arrays of shape (reading,) and (reading, draw); what is found are objections, with which nothing counts as met.
"""

from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.judge.logged_history import HOT_K, HUMID
from dryingsim.typing import Array

_OFF_K: Annotated[
    float, Evidence("K", "estimate", "a fitted slice is off its log by less, but for a reading or two")
] = 3.0
_OFF_S: Annotated[float, Evidence("s", "estimate", "for so long in all before it counts")] = 1200.0
_LIKE_AIR_K: Annotated[float, Evidence("K", "estimate", "two thermometers in the same air are so close")] = (
    1.5
)
_COOLER_K: Annotated[
    float, Evidence("K", "estimate", "evaporation keeps any such slice cooler than its air by so much")
] = 4.0
_APART_K: Annotated[
    float,
    Evidence(
        "K", "estimate", "cold meat that is laid into warming air is behind it by so much at some reading"
    ),
] = 8.0
_START_K: Annotated[
    float, Evidence("K", "estimate", "meat laid in is as cold as the batch file says, to so much")
] = 10.0
_HALF_OUT: Annotated[
    float, Evidence("-", "estimate", "share of the air that a probe inside meat does not show")
] = 0.13
_UNLIKELY: Annotated[
    float, Evidence("-", "derived", "chi square of nine unknowns that one honest log in 500 exceeds")
] = 26.1
_ENOUGH: Annotated[int, Evidence("-", "estimate", "readings after which it is no chance")] = 12
_FULL: Annotated[float, Evidence("-", "estimate", "relative humidity at which instruments show no more")] = (
    0.985
)
_OFTEN: Annotated[float, Evidence("-", "estimate", "share of the draws that counts as nearly all")] = 0.9


def probe_objections(
    time_s: Array,
    meat_K: Array,
    air_K: Array,
    before_K: Array,
    after_K: Array,
    exposed: float,
    first_K: float,
    start_K: float,
    unlikely: float,
    humidity: Array | None,
) -> list[Finding]:
    """Return what speaks against the log being that of the slice.

    Parameters
    ----------
    time_s, meat_K, air_K : ndarray, shape (n,)
        Readings [s], [K].
    before_K, after_K : ndarray, shape (n, s)
        What probes in slices show in such air before and after they were fitted [K].
    exposed : float
        Share of the air in what the probe shows, as fitted.
    first_K, start_K : float
        Of the meat when it is laid in, as the log begins and as the batch file says [K].
    unlikely : float
        Sum of squares of how far the unknowns had to be moved, in their standard deviations.
    humidity : ndarray, shape (n,), or None
        Relative humidity as logged [-].
    """
    found = [
        _as_fast_as_air(meat_K, air_K),
        _started_otherwise(first_K, start_K),
        _in_air(time_s, meat_K, air_K, before_K),
        _departs(time_s, meat_K, after_K),
        _half_out(exposed),
        _stuck(humidity),
        Finding("fit_unlikely", {"unlikely": unlikely}) if unlikely > _UNLIKELY else None,
    ]
    return [each for each in found if each is not None]


def _as_fast_as_air(meat_K: Array, air_K: Array) -> Finding | None:
    """Object to a probe that is never behind its air, as cold meat is."""
    behind = float((air_K - meat_K).max())
    if meat_K.max() < HOT_K or behind >= _APART_K:
        return None
    return Finding("never_behind_its_air", {"behind_K": behind, "least_K": _APART_K})


def _started_otherwise(first_K: float, start_K: float) -> Finding | None:
    if abs(first_K - start_K) <= _START_K:
        return None
    return Finding("started_otherwise", {"meat_K": first_K, "start_K": start_K})


def _in_air(time_s: Array, meat_K: Array, air_K: Array, before_K: Array) -> Finding | None:
    """Object to a probe that shows the air's temperature where nearly every slice is cooler."""
    cooler = (before_K < air_K[:, None] - _COOLER_K).mean(axis=1) >= _OFTEN
    like = (np.abs(meat_K - air_K) < _LIKE_AIR_K) & cooler
    spent = _spent_s(time_s, like)
    if spent < _OFF_S:
        return None
    return Finding("probe_in_air", {"begin_s": float(time_s[like.argmax()]), "span_s": spent})


def _departs(time_s: Array, meat_K: Array, after_K: Array) -> Finding | None:
    """Object to readings that no slice in such air explains."""
    miss = meat_K - np.median(after_K, axis=1)
    low, high = after_K.min(axis=1), after_K.max(axis=1)
    smooth = np.array([np.median(miss[max(i - 1, 0) : i + 2]) for i in range(miss.size)])
    off = (np.abs(smooth) > _OFF_K) & ((meat_K < low - 1.0) | (meat_K > high + 1.0))
    spent = _spent_s(time_s, off)
    if spent < _OFF_S:
        return None
    worst = int(np.where(off, np.abs(miss), 0.0).argmax())
    values = {"begin_s": float(time_s[off.argmax()]), "span_s": spent, "off_K": float(miss[worst])}
    return Finding("log_departs", values)


def _half_out(exposed: float) -> Finding | None:
    return Finding("probe_half_out", {"share": exposed}) if exposed > _HALF_OUT else None


def _stuck(humidity: Array | None) -> Finding | None:
    """Object to humid air whose humidity is the same to the last digit in all readings, but for saturated air."""
    if (
        humidity is None
        or humidity.size < _ENOUGH
        or np.ptp(humidity) > 0.0
        or not HUMID <= humidity[0] < _FULL
    ):
        return None
    return Finding("humidity_never_changes", {"humidity": float(humidity[0]), "count": int(humidity.size)})


def _spent_s(time_s: Array, where: Array) -> float:
    """Return how long something holds [s]: each reading for half the time to both neighbours."""
    edges = np.concatenate([time_s[:1], 0.5 * (time_s[1:] + time_s[:-1]), time_s[-1:]])
    return float(np.diff(edges)[where].sum())
