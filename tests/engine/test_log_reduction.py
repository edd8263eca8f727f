"""Log reductions added up slice by slice: against a history's own, and what becomes of slices."""

import numpy as np
import pytest

from dryingsim.engine.log_reduction import LogReduction, Samples
from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_resistance import accumulated, drying_share, lower_bound, reduction

ORGANISM = "salmonella"


def begun(temperature, activity):
    start = LogReduction.begun(ORGANISM, "surface", activity)
    return Samples(start, temperature, activity, activity)


def add(samples, span_s, temperature, activity, taken=None):
    m = temperature.shape[1]
    taken = np.ones(m, dtype=bool) if taken is None else np.array(taken)
    samples.add(np.arange(m), np.full(m, span_s), temperature, activity, activity, taken)


def numbers(samples):
    return samples.added_up().numbers()


def test_at_rest_it_is_that_of_the_history():
    temperature, activity = np.array([[330.0], [335.0]]), np.full((2, 1), 0.97)
    samples = begun(temperature, activity)
    for span in (1000.0, 2500.0):
        add(samples, span, temperature, activity)
    coolest = lower_bound(np.array([0.0, 3500.0]), np.full(2, 330.0), drier_side(np.full(2, 0.97)), ORGANISM)
    found = numbers(samples)
    # single precision
    assert (found["lower"][0], found["best"][0]) == pytest.approx((coolest.lower, coolest.median), rel=1e-4)


def warming(dry):
    """Half an hour of cold, then an hour and a half of warming, a sample every 225 s: time, temperature, water activity."""
    time = np.append(np.linspace(-1800.0, -225.0, 8), np.linspace(0.0, 5400.0, 25))
    temperature = np.append(np.full(8, 280.0), 315.0 + np.linspace(0.0, 30.0, 25))
    activity = np.append(np.full(8, 0.985), 0.985 - np.linspace(0.0, dry, 25))
    return time, *(values[:, None, None] * np.ones((1, 2, 1)) for values in (temperature, activity))


@pytest.mark.parametrize("dry", [0.0, 0.6])
def test_a_warming_with_steps_of_a_kelvin_or_two_is_within_a_hundredth_of_a_log(dry):
    time, temperature, activity = warming(dry)
    samples = begun(temperature[0], activity[0])
    for i in range(1, time.size):
        add(samples, time[i] - time[i - 1], temperature[i], activity[i])
    sums = accumulated(time, temperature, drier_side(activity))
    whole = reduction(sums, ORGANISM, drying=drying_share(time, temperature, activity))
    found = numbers(samples)
    assert (found["lower"][0], found["best"][0]) == pytest.approx((whole.lower, whole.median), abs=0.01)


def test_parts_of_a_schedule_add_up_and_so_do_those_that_are_cold_between():
    time, temperature, activity = warming(0.3)
    there_and_back = np.concatenate([temperature, temperature[::-1]])
    whole, part = begun(temperature[0], activity[0]), begun(temperature[0], activity[0])
    for i in range(1, there_and_back.shape[0]):
        if i == time.size + 3:
            half = part.added_up()
            part = Samples(half, there_and_back[i - 1], activity[-1], activity[-1])
        for each in (whole, part):
            add(each, 225.0, there_and_back[i], activity[min(i, time.size - 1)])
    assert half.sums.max() > 0.0
    np.testing.assert_allclose(part.added_up().sums, whole.added_up().sums, rtol=1e-5)
    for name in ("drying_s", "most"):
        np.testing.assert_allclose(getattr(part.added_up(), name), getattr(whole.added_up(), name), rtol=1e-5)


def test_what_is_beside_a_warm_moment_counts():
    hot, cold, activity = np.full((2, 1), 335.0), np.full((2, 1), 300.0), np.full((2, 1), 0.97)
    at_rest, jumping = begun(hot, activity), begun(cold, activity)
    add(at_rest, 600.0, hot, activity)
    for temperature in (hot, cold, cold, cold, hot):
        add(jumping, 600.0, temperature, activity)
    # each of the three spans that has a hot end counts a sixth: a third of the arithmetic mean, nothing of the geometric
    np.testing.assert_allclose(jumping.added_up().sums, at_rest.added_up().sums * 3.0 / 6.0, rtol=1e-5)


def test_a_slice_comes_out_the_same_in_any_company():
    rng, few = np.random.default_rng(3), np.array([1, 40, 95])
    temperature, activity = rng.uniform(300.0, 345.0, (2, 96)), rng.uniform(0.5, 0.99, (2, 96))
    all_of_them, some = begun(temperature, activity), begun(temperature[:, few], activity[:, few])
    for _ in range(60):
        off, taken = rng.normal(0.0, 3.0, (2, 96)), rng.random(96) < 0.8
        add(all_of_them, 300.0, temperature + off, activity, taken)
        add(some, 300.0, (temperature + off)[:, few], activity[:, few], taken[few])
    np.testing.assert_array_equal(all_of_them.added_up().sums[..., few], some.added_up().sums)
    assert all_of_them.added_up().sums.max() > 1.0


def test_nothing_is_added_where_a_step_was_not_taken():
    temperature, activity = np.full((2, 3), 335.0), np.full((2, 3), 0.97)
    samples = begun(temperature, activity)
    add(samples, 60.0, temperature + 5.0, activity, [True, False, True])
    lower = numbers(samples)["lower"]
    assert lower[1] == 0.0
    assert lower[0] == lower[2] > 0.0


def test_a_refused_step_that_led_nowhere_leaves_no_trace():
    temperature, activity = np.full((2, 2), 335.0), np.full((2, 2), 0.97)
    samples, alone = begun(temperature, activity), begun(temperature, activity)
    wild = temperature * np.array([np.nan, 1.0])
    add(samples, 60.0, wild, activity, [False, True])
    for each in (samples, alone):
        add(each, 600.0, temperature, activity)
    assert numbers(samples)["best"][0] == numbers(alone)["best"][0] > 0.0


def test_drying_in_hot_air_counts_in_both_figures():
    temperature, wet = np.full((2, 1), 325.0), np.full((2, 1), 0.97)
    found = []
    for fall in (0.0, 0.3):
        samples = begun(temperature, wet)
        for _ in range(2):
            add(samples, 1800.0, temperature, wet - fall)
        found.append(numbers(samples))
    assert found[1]["lower"][0] > found[0]["lower"][0]
    assert found[1]["best"][0] > found[0]["best"][0] + 2.0


def test_slices_are_turned_over_whole():
    temperature = np.array([[330.0, 332.0, 334.0], [331.0, 333.0, 335.0], [336.0, 337.0, 338.0]])
    activity = np.full((3, 3), 0.97)
    samples = begun(temperature, activity)
    add(samples, 60.0, temperature, activity)
    added = samples.added_up()
    # lower and upper surface change places, the middle stays
    np.testing.assert_array_equal(added.turned().sums, added.sums[:, [1, 0, 2]])
