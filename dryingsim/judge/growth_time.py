"""How long meat stands warm and wet, where bacteria grow, and the warning about that and about what may have grown."""

from collections.abc import Sequence
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.judge.federal_table import COME_UP_K, LONGEST_COME_UP_S
from dryingsim.judge.findings import Finding
from dryingsim.judge.growth import OrganismGrowth
from dryingsim.judge.growth_places import too_much
from dryingsim.typing import Array

LONGEST_H = LONGEST_COME_UP_S / 3600.0
WET: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "pathogens grow well above, hardly below (cured, dried meat); S. aureus goes on to 0.81",
    ),
] = 0.95


def growth_hours(time_s: Array, temperature_K: Array, water_activity: Array) -> float:
    """Return the hours that the worst place stands between 10 and 54 degC above a water activity of 0.95.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, node, slab)
        Temperature [K] and water activity [-].

    Notes
    -----
    All times count together. An interval with one end in the range counts half.

    Examples
    --------
    >>> warm, wet = np.full((2, 1, 1), 303.15), np.full((2, 1, 1), 0.99)
    >>> growth_hours(np.array([0.0, 7200.0]), warm, wet)
    2.0
    """
    low, high = COME_UP_K
    within = (temperature_K >= low) & (temperature_K <= high) & (water_activity > WET)
    share = 0.5 * (within[:-1].astype(float) + within[1:])
    return float(np.tensordot(np.diff(time_s), share, axes=1).max()) / 3600.0


def growth_warning(hours: float, grown: Sequence[OrganismGrowth] = ()) -> tuple[Finding, ...]:
    """Return the warning for meat that stands warm and wet too long, or where more grows than is allowed; else nothing.

    Parameters
    ----------
    hours : float
        As from `growth_hours` [h].
    grown : sequence of OrganismGrowth
        The upper figure decides.
    """
    warm_h = hours if hours > LONGEST_H else 0.0
    beyond = tuple(too_much(grown))
    if not warm_h and not beyond:
        return ()
    low, high = COME_UP_K
    warm = {"warm_h": warm_h, "low_K": low, "high_K": high, "longest_h": LONGEST_H, "water_activity": WET}
    return (Finding("bacteria_grow", {**warm, "grown": beyond}),)
