"""Counts in narrow bins tell shares of slices over time as well as the slices themselves, and the same in any chunks."""

import numpy as np
import pytest

from dryingsim.engine.counts import BINS, CountsOverTime, coded

NAMES = {
    "moisture_db": (0.2, 3.2),
    "water_activity": (0.4, 1.0),
    "core_K": (277.0, 350.0),
    "face_K": (277.0, 350.0),
}
SHARES = (0.0, 0.05, 0.5, 0.95, 1.0)


def series(slices, times=5, seed=1):
    drawn = np.random.default_rng(seed)
    return {f"series_{k}": drawn.uniform(*ends, (times, slices)) for k, ends in NAMES.items()}


def counted(numbers, cuts=()):
    courses = CountsOverTime(5)
    for part in np.split(np.arange(numbers["series_core_K"].shape[1]), list(cuts)):
        courses.take_from(coded({name: values[:, part] for name, values in numbers.items()}))
    return courses


@pytest.mark.parametrize("slices", [2, 64, 1001])
def test_shares_are_those_of_the_slices_to_half_a_bin(slices):
    numbers = series(slices)
    courses = counted(numbers)
    assert courses.slices == slices
    for name in NAMES:
        found, exact = courses.below(name, SHARES), np.quantile(numbers[f"series_{name}"], SHARES, axis=1)
        # half a bin: of moisture per weight it is one of moisture per dry solid times (1 + x)^2
        half = 0.5 / BINS * {"moisture_db": (1.0 + exact) ** 2, "water_activity": 1.0}.get(name, 240.0)
        assert np.all(np.abs(found - exact) <= 1.001 * half), name


def test_chunks_and_their_order_change_nothing():
    numbers = series(100)
    whole, parts = counted(numbers), counted(numbers, (7, 20, 61))
    backwards = counted({name: values[:, ::-1] for name, values in numbers.items()}, (50,))
    for name in NAMES:
        np.testing.assert_array_equal(parts.counts[name], whole.counts[name])
        np.testing.assert_array_equal(backwards.counts[name], whole.counts[name])


def test_times_at_which_some_are_not_followed_tell_nothing():
    numbers = series(10)
    numbers["series_core_K"][3, 4] = np.nan
    found = counted(numbers).below("core_K", (0.5,))[0]
    np.testing.assert_array_equal(np.isnan(found), [False, False, False, True, False])


def test_what_lies_outside_a_range_counts_at_its_end():
    numbers = series(3)
    numbers["series_water_activity"][0] = [-1.0, 1.0, 2.0]
    np.testing.assert_allclose(
        counted(numbers).below("water_activity", (0.0, 1.0))[:, 0], [0.0, 1.0], atol=1e-4
    )


def test_other_numbers_pass():
    numbers = {"done_s": np.ones((1, 4)), **series(4)}
    assert CountsOverTime(5).take_from(coded(numbers)).keys() == {"done_s"}
