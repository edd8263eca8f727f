"""Pools of processes take long to start, and the fuzz is about reading and telling: all runs in one process."""

from dryingsim.engine import ensemble
from dryingsim.plan import planner


def none(workers: int) -> None:
    """Return no pool, as `dryingsim.engine.ensemble.processes` does for a single worker."""


HOMES = ((ensemble, "processes"), (planner, "processes"))
