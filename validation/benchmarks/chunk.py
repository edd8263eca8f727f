"""The slices that are measured: of 3.5 to 7 mm in set air for eight hours; and the least time of some turns."""

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.engine.ensemble import Request
from dryingsim.engine.segments import Clock, Segment, segments_in_given_air
from dryingsim.engine.slices import Slices
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.model.build import build_slabs
from dryingsim.model.slab import taken
from validation.setups import drying_demo

HOURS = 8
END_S = HOURS * 3600.0
NOTED_S = 600.0


def set_air() -> tuple[Batch, tuple[Segment, ...]]:
    demo = drying_demo()
    batch = replace(demo, stages=(replace(demo.stages[demo.first_drying], until=None, duration_s=END_S),))
    return batch, segments_in_given_air([batch], Clock((END_S,), None, END_S))


def slices_(batch: Batch, count: int, nodes: int = NODES_OF_MANY) -> Slices:
    one = build_slabs(batch, nodes)
    slabs = taken(one, np.zeros(count, dtype=np.intp))
    per_m = one.dry_mass_kg_m2[0] / batch.meat.classes[0].thickness_m
    # in an order that makes all chunks alike
    thickness = np.random.default_rng(0).permutation(np.linspace(3.5e-3, 7e-3, count))
    return Slices(
        replace(slabs, dry_mass_kg_m2=per_m * thickness), np.zeros(count, dtype=np.intp), np.ones(count)
    )


def request(**changed: object) -> Request:
    times = np.arange(0.0, END_S + 1.0, NOTED_S)
    return replace(Request(temperature_K=277.15, times_s=times, series=False), **changed)


def best_of(turns: int, work_: Callable[[], object], clock: Callable[[], float] = time.process_time) -> float:
    found = []
    for _ in range(turns):
        start = clock()
        work_()
        found.append(clock() - start)
    return min(found)
