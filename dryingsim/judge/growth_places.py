"""Growth of each organism where bacteria may sit, and beside it at the surface, a millimetre below and in the middle.

The places where bacteria may sit decide: the inside of intact muscle is nearly free of them, that of minced, pounded or needled
meat is not, and it is the inside that stays wet and warm.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dryingsim.batch.catalog.growth_models import growers, growth_model
from dryingsim.judge.grades import OrganismLethality
from dryingsim.judge.growth import BELOW_M, OrganismGrowth, growth_rate, log10_growth, with_lag
from dryingsim.typing import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeHeights:
    """Where the nodes of raw slices are: needed for a depth, and for what grows without air only.

    Attributes
    ----------
    height_m : ndarray, shape (node, slab)
        Above the lower face, in the raw slice [m].
    lower_open : ndarray of bool, shape (slab,)
        Whether air reaches the lower face.
    turned : bool
        Whether slices are turned over: then each side of a covered slice is at times the one without air.
    """

    height_m: Array
    lower_open: Array
    turned: bool = False

    @property
    def depth_m(self) -> Array:
        """Distance of each node from the nearest face that air reaches, the most at any time [m], shape (node, slab)."""
        above = self.height_m[-1] - self.height_m
        covered = np.maximum(self.height_m, above) if self.turned else above
        return np.where(self.lower_open, np.minimum(self.height_m, above), covered)


def judge_growth(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    exposed: Array,
    heights: NodeHeights | None = None,
    reduced: Sequence[OrganismLethality] = (),
) -> tuple[OrganismGrowth, ...]:
    """Return the growth of every organism; of one that needs to be without air, where the heights are known.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, node, slab)
        Temperature [K] and water activity [-], from the lower face to the upper.
    exposed : ndarray of int
        Nodes where bacteria may sit.
    heights : NodeHeights, optional
    reduced : sequence of OrganismLethality
        The log reductions of the same history, for the net change.
    """
    by_organism = {entry.organism: entry for entry in reduced}
    every: list[OrganismGrowth] = []
    for key in growers():
        model = growth_model(key)
        if model.airless_m is not None and heights is None:
            continue
        grown = log10_growth(time_s, growth_rate(key, temperature_K, water_activity))
        if model.airless_m is not None and heights is not None:
            grown = np.where(heights.depth_m > model.airless_m, grown, 0.0)
        every.append(_placed(key, grown, exposed, heights, by_organism.get(key)))
    return tuple(every)


def _placed(
    key: str, grown: Array, exposed: Array, heights: NodeHeights | None, reduced: OrganismLethality | None
) -> OrganismGrowth:
    """Return the growth of one organism from that at every node, shape (node, slab)."""
    model = growth_model(key)
    row, slab = np.unravel_index(int(grown[exposed].argmax()), grown[exposed].shape)
    node, last = int(exposed[row]), grown.shape[0] - 1
    upper = float(grown[node, slab])
    return OrganismGrowth(
        organism=key,
        name=model.name,
        slab=int(slab),
        node=node,
        upper=upper,
        lagged=float(with_lag(upper, model.h0)),
        surface=float(grown[[0, last]].max()),
        middle=float(grown[[last // 2, (last + 1) // 2]].max()),
        below=None if heights is None else _below(grown, heights),
        limit=model.limit_log10,
        net=None if reduced is None else float(grown[reduced.node, reduced.slab]) - reduced.counted,
    )


def _below(grown: Array, heights: NodeHeights) -> float:
    """Return the most that grows a millimetre below a face of any slab [log10]."""
    return max(
        float(np.interp([BELOW_M, height[-1] - BELOW_M], height, logs).max())
        for height, logs in zip(heights.height_m.T, grown.T, strict=True)
    )


def too_much(growth: Sequence[OrganismGrowth]) -> tuple[OrganismGrowth, ...]:
    """Return those that pass what a guideline allows."""
    return tuple(entry for entry in growth if entry.too_much)
