"""What makes the fuzz quick. It is about reading and telling: all runs in one process, by coarse steps, and few of them."""

import pytest
from made_search import few_schedules

from dryingsim import simulate
from dryingsim.engine import executors
from dryingsim.plan import planner

COARSE = 3e-3  # error of a step, twenty times what a person gets; water and heat balance at any


def _no_pool(*_: object) -> None:
    """Return no pool, as `dryingsim.engine.executors.processes` does for a single worker: pools take long to start."""


def lighten(patch: pytest.MonkeyPatch) -> None:
    """Put it into the package."""
    for module in (executors, planner):
        patch.setattr(module, "processes", _no_pool)
    patch.setitem(simulate.run.__kwdefaults__, "tolerance", COARSE)
    few_schedules(patch)
    patch.setattr(
        planner, "_heated", lambda *_: None
    )  # a second plan, and told as any other but for a sentence
