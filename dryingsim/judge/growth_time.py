"""How long meat stands warm and wet, where bacteria grow: a plain warning, not yet a model of growth."""

import numpy as np

from dryingsim.judge.grades import Remark
from dryingsim.typing import Array

WARM_K = (
    283.15,
    327.59,
)  # 50 and 130 degF: the range in which federal guidance (FSIS Appendix A, 2021) counts the time
LONGEST_H = 6.0  # of that guidance, for meat on its way from the one to the other; from memory
WET = 0.95  # pathogens grow well above, hardly below (cured, dried meat); S. aureus goes on to 0.85


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
    within = (temperature_K >= WARM_K[0]) & (temperature_K <= WARM_K[1]) & (water_activity > WET)
    share = 0.5 * (within[:-1].astype(float) + within[1:])
    return float(np.tensordot(np.diff(time_s), share, axes=1).max()) / 3600.0


def growth_warning(hours: float) -> tuple[Remark, ...]:
    """Return the warning for meat that stands warm and wet for too long; nothing otherwise."""
    if hours <= LONGEST_H:
        return ()
    return (
        Remark(
            f"bacteria grow: some of the meat stands between {{}} and {{}} above a water activity of {WET:g} for "
            f"{hours:.1f} h; federal guidance allows {LONGEST_H:g} h. They may multiply and leave toxins that no heat "
            "removes; what is killed counts from the raw meat and leaves that out",
            WARM_K,
        ),
    )
