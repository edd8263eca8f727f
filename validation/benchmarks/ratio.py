"""What a chunk of slices costs, in passes of plain numpy over its nodes: `python -m validation.benchmarks.ratio`.

A ratio of processor times of one run, which hardly depends on the machine nor on its other work: the test beside it
(`tests/engine/test_speed.py`) fails where it rises, as a time by the clock could not. A solver of scipy is no peer for
that: where it strays it takes minutes.
"""

from dataclasses import replace

import numpy as np

from dryingsim.engine.ensemble import Task, work
from dryingsim.kernels.grid import NODES_OF_MANY
from validation.benchmarks.chunk import best_of, request, set_air, slices_

SLICES = 512
PASSES = 1000
_TURNS = 3


def passes_of_numpy() -> None:
    """Go over arrays as large as those of the slices: an exponential, a product and a sum."""
    values = np.full((NODES_OF_MANY, SLICES), -0.5)
    out = np.empty_like(values)
    for _ in range(PASSES):
        np.exp(values, out=out)
        np.multiply(out, values, out=out)
        np.add(out, values, out=out)


def passes() -> float:
    """Return the time of a chunk over eight hours of drying, in passes [-]."""
    batch, segments = set_air()
    task = Task(slices_(batch, SLICES), segments, request())
    work(replace(task, slices=task.slices.take(slice(0, 8))))  # what is tabulated once
    return PASSES * best_of(_TURNS, lambda: work(task)) / best_of(_TURNS, passes_of_numpy)


if __name__ == "__main__":
    print(f"{SLICES} slices over eight hours take as long as {passes():.0f} passes of numpy over their nodes")
