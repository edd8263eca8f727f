"""Quick searches of a schedule, for small problems: fewer schedules and slices than a person gets, verified less finely."""

import pytest

from dryingsim.plan import planner, search


def few_schedules(patch: pytest.MonkeyPatch) -> None:
    """Put it into the package."""
    patch.setattr(search, "_FIRST", 6)
    patch.setattr(search, "_PER_VARIABLE", 4)
    patch.setattr(search, "_ROUNDS", 1)
    patch.setattr(planner, "SLICES", 64)
    patch.setattr(planner, "UNCERTAIN", 64)
    patch.setattr(planner, "VERIFY_NODES", 30)
    patch.setattr(planner, "VERIFY_TOLERANCE", 5e-5)
