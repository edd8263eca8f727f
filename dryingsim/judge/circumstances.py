"""What happened to the meat where bacteria are reduced least: how hot it was, for how long, and how wet meanwhile."""

from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.lethality import cumulative_exponential
from dryingsim.typing import Array

_STILL_WET: Annotated[
    float,
    Evidence("-", "estimate", "water activity above which heat works as in wet meat; for the sentence only"),
] = 0.95


def circumstances(time_s: Array, temperature_K: Array, water_activity: Array) -> Finding:
    """Return what happened at a place.

    Parameters
    ----------
    time_s, temperature_K, water_activity : ndarray, shape (t,)
        Time [s], temperature [K] and water activity [-] there.
    """
    t, a = temperature_K, water_activity
    floor, hottest = heat_resistance().coolest_K, int(t.argmax())
    above = np.flatnonzero(t >= floor)
    if above.size == 0:
        return Finding("never_hot", {"hottest_K": float(t[hottest]), "floor_K": floor})
    values = {
        "floor_K": floor,
        "first_activity": float(a[above[0]]),
        "hotter_s": _hotter(time_s, t),
        "hottest_K": float(t[hottest]),
        "activity_then": float(a[hottest]),
        "least_activity": float(a[above].min()),
    }
    if values["first_activity"] < _STILL_WET:
        return Finding("hot_once_dry", values)
    wet = np.where(a >= _STILL_WET, t, 0.0)
    return Finding(
        "hot_while_wet", {**values, "wet_s": _hotter(time_s, wet), "wet_hottest_K": float(wet.max())}
    )


def heated_circumstances(
    heated_s: Array,
    heated_K: Array,
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    *,
    most: float = np.inf,
    target: float = 0.0,
) -> Finding:
    """Return what happened at a place that was heated before it came into drying air; of that only once it had cooled.

    Parameters
    ----------
    heated_s, heated_K : ndarray, shape (h,)
        Time [s] and temperature [K] there before drying.
    time_s, temperature_K, water_activity : ndarray, shape (t,)
        From then on, as for `circumstances`.
    most, target : float
        Lower bound there if it were heated before drying for however long, infinite where that is not known, and what is
        required [log10].
    """
    floor = heat_resistance().coolest_K
    cool = np.flatnonzero(temperature_K < floor)
    at = int(cool[0]) if cool.size else time_s.size - 1
    values = {
        "floor_K": floor,
        "hotter_s": _hotter(heated_s, heated_K) + _hotter(time_s[: at + 1], temperature_K[: at + 1]),
        "hottest_K": float(heated_K.max()),
        "dried": circumstances(time_s[at:], temperature_K[at:], water_activity[at:]) if cool.size else None,
        "most_log10": most,
        "longer_may_do": most >= target,
    }
    return Finding("heated_before", values)


def _hotter(time_s: Array, temperature_K: Array) -> float:
    """Return for how long a place is hotter than what hardly anything is credited below [s]."""
    floor = heat_resistance().coolest_K
    return float(cumulative_exponential(time_s, np.zeros_like(temperature_K), temperature_K, floor)[-1])
