"""Log reductions of many runs as they are told: no more than is ever counted."""

import numpy as np

from dryingsim.engine.ensemble import Numbers
from dryingsim.judge.heat_resistance import COUNTABLE


def counted(numbers: Numbers) -> Numbers:
    """Return numbers with no log reduction above `judge.heat_resistance.COUNTABLE`: hardly anybody counts more.

    Parameters
    ----------
    numbers : dict of ndarray
        By name; `lower` and `best` are log10 reductions.
    """
    return {
        name: np.minimum(values, COUNTABLE) if name in ("lower", "best") else values
        for name, values in numbers.items()
    }
