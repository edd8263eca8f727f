"""How long meat stands warm and wet, where bacteria grow, and the warning about that and about what may have grown."""

from collections.abc import Sequence
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.judge.federal_table import COME_UP_K, LONGEST_COME_UP_S
from dryingsim.judge.grades import Remark, logs
from dryingsim.judge.growth_places import OrganismGrowth, too_much
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


def growth_warning(hours: float, grown: Sequence[OrganismGrowth] = ()) -> tuple[Remark, ...]:
    """Return the warning for meat that stands warm and wet too long, or where more grows than is allowed; else nothing.

    Parameters
    ----------
    hours : float
        As from `growth_hours` [h].
    grown : sequence of OrganismGrowth
        The upper figure decides.
    """
    told: list[str] = []
    if hours > LONGEST_H:
        told.append(
            f"some of the meat stands between {{}} and {{}} above a water activity of {WET:g} for {hours:.1f} h; federal "
            f"guidance allows {LONGEST_H:g} h"
        )
    told += [
        f"{one.name} may grow by {logs(one.upper)} log where bacteria sit ({logs(one.lagged)} if they need time to begin); "
        f"federal guidance allows {one.limit:g} log"
        for one in too_much(grown)
    ]
    if not told:
        return ()
    words = ". ".join(["bacteria grow: " + told[0], *told[1:]])
    return (
        Remark(
            f"{words}. They may multiply and leave toxins that no heat removes; what is killed counts from the raw meat and "
            "leaves that out",
            COME_UP_K if hours > LONGEST_H else (),
        ),
    )
