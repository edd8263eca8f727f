"""Log reductions added up slice by slice: against a history's own, and what becomes of places and slices."""

import numpy as np
import pytest

from dryingsim.engine.log_reduction import LogReduction
from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_resistance import accumulated, drying_share, lower_bound, reduction

ORGANISM = "salmonella"


def begun(temperature, activity):
    return LogReduction.begun(ORGANISM, "surface", temperature, activity, activity)


def test_at_rest_it_is_that_of_the_history():
    temperature, activity = np.array([[330.0], [335.0]]), np.full((2, 1), 0.97)
    added = begun(temperature, activity)
    for span in (1000.0, 2500.0):
        added.add(np.array([span]), temperature, activity, activity, np.array([True]))
    coolest = lower_bound(np.array([0.0, 3500.0]), np.full(2, 330.0), drier_side(np.full(2, 0.97)), ORGANISM)
    found = added.numbers()
    # single precision
    assert (found["lower"][0], found["best"][0]) == pytest.approx((coolest.lower, coolest.median), rel=1e-4)


@pytest.mark.parametrize("dry", [0.0, 0.6])
def test_a_warming_with_steps_of_a_kelvin_or_two_is_within_a_hundredth_of_a_log(dry):
    time = np.linspace(0.0, 5400.0, 25)
    temperature = (315.0 + np.linspace(0.0, 30.0, 25))[:, None, None] * np.ones((1, 2, 1))
    activity = (0.985 - np.linspace(0.0, dry, 25))[:, None, None] * np.ones((1, 2, 1))
    added = begun(temperature[0], activity[0])
    for i in range(1, 25):
        added.add(np.diff(time)[i - 1 : i], temperature[i], activity[i], activity[i], np.array([True]))
    sums = accumulated(time, temperature, drier_side(activity))
    whole = reduction(sums, ORGANISM, drying=drying_share(time, temperature, activity))
    found = added.numbers()
    assert (found["lower"][0], found["best"][0]) == pytest.approx((whole.lower, whole.median), abs=0.01)


def test_nothing_is_added_where_a_step_was_not_taken():
    temperature, activity = np.full((2, 3), 335.0), np.full((2, 3), 0.97)
    added = begun(temperature, activity)
    added.add(np.full(3, 60.0), temperature + 5.0, activity, activity, np.array([True, False, True]))
    lower = added.numbers()["lower"]
    assert lower[1] == 0.0
    assert lower[0] == lower[2] > 0.0
    assert added.temperature[0].tolist() == [340.0, 335.0, 340.0]


def test_a_refused_step_that_led_nowhere_leaves_no_trace():
    temperature, activity = np.full((2, 2), 335.0), np.full((2, 2), 0.97)
    added, alone = begun(temperature, activity), begun(temperature, activity)
    wild = temperature * np.array([np.nan, 1.0])
    added.add(np.full(2, 60.0), wild, activity, activity, np.array([False, True]))
    for each in (added, alone):
        each.add(np.full(2, 600.0), temperature, activity, activity, np.array([True, True]))
    assert added.numbers()["best"][0] == alone.numbers()["best"][0] > 0.0


def test_drying_in_hot_air_counts_in_both_figures():
    temperature, wet = np.full((2, 1), 325.0), np.full((2, 1), 0.97)
    found = []
    for fall in (0.0, 0.3):
        added = begun(temperature, wet)
        for _ in range(2):
            added.add(np.array([1800.0]), temperature, wet - fall, wet - fall, np.array([True]))
        found.append(added.numbers())
    assert found[1]["lower"][0] > found[0]["lower"][0]
    assert found[1]["best"][0] > found[0]["best"][0] + 2.0


def test_slices_are_taken_put_back_and_turned_over_whole():
    temperature = np.array([[330.0, 332.0, 334.0], [331.0, 333.0, 335.0], [336.0, 337.0, 338.0]])
    activity = np.full((3, 3), 0.97)
    added = begun(temperature, activity)
    added.add(np.full(3, 60.0), temperature, activity, activity, np.ones(3, dtype=bool))
    some = added.take(np.array([2, 0]))
    np.testing.assert_array_equal(some.sums, added.sums[..., [2, 0]])
    turned = added.turned()  # lower and upper surface change places, the middle stays
    np.testing.assert_array_equal(turned.sums, added.sums[:, [1, 0, 2]])
    other = begun(temperature, activity)
    other.put(np.array([2, 0]), some)
    np.testing.assert_array_equal(other.sums[..., [0, 2]], added.sums[..., [0, 2]])
    assert np.all(other.sums[..., 1] == 0.0)
