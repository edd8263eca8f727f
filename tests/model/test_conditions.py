"""When a stage ends by a condition: the one rule for a single batch and for many."""

import numpy as np
import pytest

from dryingsim.batch.schema import Until
from dryingsim.errors import SolverError
from dryingsim.model.balances import require_closed, slab_exchange
from dryingsim.model.conditions import Limits, weight_lost

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


def test_each_condition_has_its_margin_at_every_time_of_every_batch():
    limits = Limits.of([Until(weight_loss=0.5, water_activity=0.85), Until(core_temperature_K=340.0)])
    lost, core, activity = np.array([[0.1, 0.1], [0.6, 0.6]]), np.full((2, 2), 345.0), np.full((2, 2), 0.9)
    margins = limits.margins(lost, core, activity)
    assert margins.shape == (3, 2, 2)
    np.testing.assert_allclose(margins[:, 1, 0], [0.1, -np.inf, -0.05])
    np.testing.assert_allclose(margins[:, 1, 1], [-np.inf, 5.0, -np.inf])
    np.testing.assert_array_equal(limits.margin(lost, core, activity), margins.max(axis=0))


def test_weight_lost_counts_all_slices_of_a_batch_by_their_dry_solid():
    # 1 kg and 3 kg of dry solid with 2 and 1 kg/kg of water: 9 kg laid on, 1 + 1.5 kg gone
    solids, laid_on, now = np.array([[1.0], [3.0]]), np.array([[2.0], [1.0]]), np.array([[1.0], [0.5]])
    np.testing.assert_allclose(weight_lost(solids, laid_on, now), [2.5 / 9.0])


def test_a_balance_that_misses_is_refused_and_so_is_one_that_is_not_a_number():
    mass, change = np.ones((2, 1)), np.array([[-0.5], [-0.5]])
    totals = np.array([[1.0 + 1e-6], [0.0], [0.0], [0.0], [0.0]])
    exchange = slab_exchange(mass, change, 0.0 * change, totals)
    with pytest.raises(SolverError, match=r"water balance closed to 1\.0e-06 only"):
        require_closed("water", exchange.water_closure, 1e-9)
    with pytest.raises(SolverError):
        require_closed("water", np.nan, 1e-9)
