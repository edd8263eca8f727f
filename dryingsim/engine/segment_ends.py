"""What slices are like at the ends of the parts of their schedule: every node, and the log reduction of every organism."""

from collections.abc import Sequence

import numpy as np

from dryingsim.batch.catalog.organisms import organisms
from dryingsim.engine.log_reduction import LogReduction
from dryingsim.engine.segments import Segment
from dryingsim.engine.views import View
from dryingsim.model.slab import Slabs

Ends = Sequence[tuple[np.ndarray, LogReduction | None]]  # of each segment: state (rows, m) and log reduction


def states_at_ends(ends: Ends, slabs: Slabs) -> dict[str, np.ndarray]:
    """Return moisture and temperature of every node at the end of each segment, as `ensemble.work` tells them.

    Parameters
    ----------
    ends : sequence
    slabs : Slabs
    """
    n = slabs.nodes.size
    states = np.stack([y for y, _ in ends])
    moisture, enthalpy = states[:, :n], states[:, n : 2 * n]
    return {"ends_moisture_db": moisture, "ends_K": slabs.temperature(moisture, enthalpy)}


def reductions_at_ends(
    segments: Sequence[Segment], ends: Ends, judged: Sequence[int], view: View, slabs: Slabs
) -> dict[str, np.ndarray]:
    """Return what came of every organism by the ends of some segments, as `ensemble.work` tells it.

    Parameters
    ----------
    segments : sequence of Segment
    ends : sequence
    judged : sequence of int
        Which of the segments; each counts what happens to bacteria.
    view : View
    slabs : Slabs
    """
    by_end: list[list[dict[str, np.ndarray]]] = []
    for index in judged:
        y, log_reduction = ends[index]
        assert log_reduction is not None  # the segment is lethal
        if segments[index].before:
            log_reduction = log_reduction.heated(view.places(y, slabs)[1])
        by_end.append([log_reduction.numbers(key) for key in organisms()])
    return {
        f"ends_{name}": np.array([[of_organism[name] for of_organism in row] for row in by_end])
        for name in ("lower", "best")
    }
