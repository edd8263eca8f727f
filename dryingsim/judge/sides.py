"""What happens to each side of slices: bacteria stay on their side of the meat when it is turned over.

A run counts nodes from the lower face, whichever side that is. What adds up over time - log reduction, growth - adds up by
side. A face that lies on a closed sheet or on another slice stays wet and hot, as it is simulated; nobody measured that, and
air may get between. So heat counts there as if the face had dried like the open one.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.history import History
from dryingsim.judge.exposed import as_if_open, drier_by, drier_side
from dryingsim.typing import Array


@dataclass(frozen=True, slots=True)
class Sides:
    """A history by side, arrays (t, node, slab), the nodes counted from the side that lay below at first.

    Attributes
    ----------
    temperature_K : ndarray
        [K].
    water_activity : ndarray
        As simulated, 1 at most [-].
    heat_water_activity : ndarray
        What heat is counted at: at a covered face that of the open one if it is drier; less the error of it [-].
    """

    temperature_K: Array
    water_activity: Array
    heat_water_activity: Array


def sides_of(history: History) -> Sides:
    """Return what happened to each side of the slices.

    Parameters
    ----------
    history : History
    """
    a = np.minimum(history.water_activity, 1.0)
    for_heat = a.copy()
    for_heat[:, 0] = as_if_open(a[:, 0], a[:, -1], history.slabs.covered)
    drier = drier_side(for_heat, drier_by(history.batch))
    over = history.by_stage(turned_over(history.batch))

    def by_side(values: Array) -> Array:
        return np.where(over[:, None, None], values[:, ::-1], values) if over.any() else values

    return Sides(by_side(history.temperature_K), by_side(a), by_side(drier))


def turned_over(batch: Batch) -> Array:
    """Return whether the side that lay below at first lies on top in each stage, shape (stage,)."""
    return np.cumsum([stage.turn for stage in batch.stages]) % 2 == 1
