"""When a stage ends by a condition: the one rule for a single batch and for many."""

import numpy as np
import pytest

from dryingsim.batch.schema import Until
from dryingsim.errors import SolverError
from dryingsim.model.balances import require_closed, slab_exchange
from dryingsim.model.conditions import Limits

LOST, CORE, ACTIVITY = np.array([0.5]), np.array([330.0]), np.array([0.9])


@pytest.mark.parametrize(
    ("until", "met"),
    [
        (Until(weight_loss=0.49), True),
        (Until(weight_loss=0.51), False),
        (Until(core_temperature_K=329.0), True),
        (Until(core_temperature_K=331.0), False),
        (Until(water_activity=0.91), True),
        (Until(water_activity=0.89), False),
        (Until(weight_loss=0.51, water_activity=0.91), True),  # the first of several is enough
        (None, False),  # by the clock
    ],
)
def test_a_stage_ends_with_the_first_of_its_conditions(until, met):
    assert (Limits.of([until]).margin(LOST, CORE, ACTIVITY)[0] > 0.0) == met


def test_each_batch_has_its_own_condition():
    limits = Limits.of([Until(weight_loss=0.4), Until(weight_loss=0.6), None])
    two = np.full(3, 0.5), np.full(3, 330.0), np.full(3, 0.9)
    assert (limits.margin(*two) > 0.0).tolist() == [True, False, False]


def test_a_balance_that_misses_is_refused_and_so_is_one_that_is_not_a_number():
    mass, change = np.ones((2, 1)), np.array([[-0.5], [-0.5]])
    totals = np.array([[1.0 + 1e-6], [0.0], [0.0], [0.0], [0.0]])
    exchange = slab_exchange(mass, change, 0.0 * change, totals)
    with pytest.raises(SolverError, match=r"water balance closed to 1\.0e-06 only"):
        require_closed("water", exchange.water_closure, 1e-9)
    with pytest.raises(SolverError):
        require_closed("water", np.nan, 1e-9)
