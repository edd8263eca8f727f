"""Pools of processes take long to start, and the fuzz is about reading and telling: all runs in one process."""

from dryingsim.engine import executors
from dryingsim.plan import planner


def none(workers: int) -> None:
    """Return no pool, as `dryingsim.engine.executors.processes` does for a single worker."""


HOMES = ((executors, "processes"), (planner, "processes"))
