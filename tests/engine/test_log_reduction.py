"""Log reductions added up slice by slice: against the rate by hand, and what becomes of places and slices."""

import numpy as np
import pytest

from dryingsim.engine.log_reduction import LogReduction
from dryingsim.judge.lethality import log_D
from dryingsim.judge.reductions import drier_side

ORGANISM = "salmonella"


def begun(temperature, activity):
    return LogReduction.begun(ORGANISM, temperature, activity)


def test_at_rest_it_is_the_time_over_the_decimal_reduction_time():
    temperature, activity = np.array([[330.0], [335.0]]), np.full((2, 1), 0.97)
    reduction = begun(temperature, activity)
    for span in (100.0, 250.0):
        reduction.add(np.array([span]), temperature, activity, np.array([True]))
    wanted = 350.0 / 10.0 ** log_D(ORGANISM, temperature, drier_side(activity), "cautious")
    np.testing.assert_allclose(reduction.reductions[0], wanted, rtol=1e-9)
    assert reduction.numbers()["cautious"][0] == pytest.approx(wanted.min(), rel=1e-9)  # the coolest place


def test_nothing_is_added_where_a_step_was_not_taken():
    temperature, activity = np.full((2, 3), 335.0), np.full((2, 3), 0.97)
    reduction = begun(temperature, activity)
    reduction.add(np.full(3, 60.0), temperature + 5.0, activity, np.array([True, False, True]))
    cautious = reduction.numbers()["cautious"]
    assert cautious[1] == 0.0
    assert cautious[0] == cautious[2] > 0.0
    assert reduction.temperature[0].tolist() == [340.0, 335.0, 340.0]


def test_drying_adds_to_the_central_estimate_only():
    temperature, wet = np.full((2, 1), 335.0), np.full((2, 1), 0.97)
    reduction = begun(temperature, wet)
    reduction.add(np.array([60.0]), temperature, wet - 0.3, np.array([True]))
    numbers = reduction.numbers()
    assert numbers["central_drying"][0] > 0.0
    assert numbers["cautious"][0] < numbers["central_heat"][0] + numbers["central_drying"][0]


def test_slices_are_taken_put_back_and_turned_over_whole():
    temperature = np.array([[330.0, 332.0, 334.0], [331.0, 333.0, 335.0], [336.0, 337.0, 338.0]])
    activity = np.full((3, 3), 0.97)
    reduction = begun(temperature, activity)
    reduction.add(np.full(3, 60.0), temperature, activity, np.ones(3, dtype=bool))
    some = reduction.take(np.array([2, 0]))
    np.testing.assert_array_equal(some.reductions[1], reduction.reductions[1][:, [2, 0]])
    turned = reduction.turned()  # lower and upper surface change places, the middle stays
    np.testing.assert_array_equal(turned.reductions[0], reduction.reductions[0][[1, 0, 2]])
    other = begun(temperature, activity)
    other.put(np.array([2, 0]), some)
    np.testing.assert_array_equal(other.reductions[0][:, [0, 2]], reduction.reductions[0][:, [0, 2]])
    assert np.all(other.reductions[0][:, 1] == 0.0)
