"""Whether the meat of a thermometer's log goes with the air that was logged beside it; see `log_plausibility`."""

from typing import Annotated

import numpy as np

from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.judge.logged_history import SLACK_K, WET_AW, LoggedHistory, Objection, Refusal, first_of
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

_RECENT_S: Annotated[
    float, Evidence("s", "estimate", "air as hot as this long ago may still explain the meat")
] = 1800.0
_BELOW_WET_BULB_K: Annotated[
    float,
    Evidence("K", "estimate", "hygrometers of a kitchen are off by 10 %, which is 2 to 3 K of wet bulb"),
] = 6.0
_BELOW_S: Annotated[float, Evidence("s", "estimate", "no door stands open so long")] = 900.0


def swapped(r: LoggedHistory) -> Refusal | None:
    """Refuse a log where the meat is hotter than its air most of the time."""
    if r.air_K is None:
        return None
    above = r.meat_K > r.air_K + SLACK_K
    if np.count_nonzero(above) <= above.size / 2:
        return None
    share = np.count_nonzero(above)
    return Refusal(
        f"the meat is hotter than its air in {share} of {above.size} readings; are the columns swapped?"
    )


def hotter_than_its_air(r: LoggedHistory) -> Objection | None:
    """Object to hot meat that is hotter than its air was in the last half hour."""
    if r.air_K is None:
        return None
    limit = _recent_maximum(r.time_s, r.air_K) + SLACK_K
    if r.started_warm:  # it may come from hot liquid
        limit = np.where(r.time_s - r.time_s[0] <= _RECENT_S, np.maximum(limit, r.meat_K[0] + SLACK_K), limit)
    i = first_of(r.hot & (r.meat_K > limit))
    if i is None:
        return None
    return Objection(Finding("hotter_than_its_air", {"meat_K": float(r.meat_K[i])}), i)


def cooler_than_wet_bulb(r: LoggedHistory) -> Objection | None:
    """Object to meat that stays far below the wet bulb of its logged air: wet or dry, air warms it to that and beyond."""
    if r.air_K is None or r.relative_humidity is None:
        return None
    vapour = np.minimum(r.relative_humidity * saturation_pressure(r.air_K), 0.99 * STANDARD_PRESSURE)
    wet_bulb = moist_air.wet_bulb(r.air_K, np.maximum(vapour, 1.0), STANDARD_PRESSURE)
    lowest = -_recent_maximum(r.time_s, -wet_bulb)
    below = (r.time_s - r.time_s[0] > _RECENT_S) & (r.meat_K < lowest - _BELOW_WET_BULB_K)
    spent = float(np.diff(r.time_s)[below[:-1] & below[1:]].sum())
    if spent < _BELOW_S:
        return None
    i = int(np.argmax(below))
    values = {"span_s": spent, "meat_K": float(r.meat_K[i]), "wet_bulb_K": float(wet_bulb[i])}
    return Objection(Finding("cooler_than_wet_bulb", values), i)


def as_hot_as_its_air(r: LoggedHistory) -> Objection | None:
    """Object to wet meat that takes the temperature of air that is not humid: the probe was in the air."""
    if r.air_K is None:
        return None
    wet = r.hot & (r.water_activity >= WET_AW) & ~r.humid
    same = wet & (np.abs(r.meat_K - r.air_K) < 0.5 * SLACK_K)
    if not np.count_nonzero(same) > 0.5 * np.count_nonzero(wet):
        return None
    i = int(np.argmax(same))
    return Objection(Finding("as_hot_as_its_air", {"meat_K": float(r.meat_K[i])}), i)


def _recent_maximum(time_s: Array, values: Array) -> Array:
    """Return the highest value of the last half hour at each reading."""
    begin = np.searchsorted(time_s, time_s - _RECENT_S)
    return np.array([values[b : i + 1].max() for i, b in enumerate(begin.tolist())])
