"""What follows from slices drawn: chances and their errors, on spreads whose answers are known."""

import numpy as np
import pytest

from dryingsim.explore.spread_result import Spread


def fake(missing, drawn, in_batch):
    """A spread of batches in which so many of the slices drawn miss."""
    done = np.concatenate([np.where(np.arange(drawn) < k, np.inf, 100.0) for k in missing])
    spread = object.__new__(Spread)
    spread.__dict__.update(
        numbers={"done_s": np.stack([done] * 4)},
        in_batch=in_batch,
        sample=type("", (), {"batches": {"setpoint": np.zeros(len(missing))}}),
    )
    return spread


def test_chance_that_the_slowest_misses_is_that_of_drawing_without_putting_back():
    # 2 of 10 miss; of 3 slices none misses with 8/10 * 7/9 * 6/8
    found = fake([2, 2, 2], 10, 3).slowest_misses(200.0)
    assert found.value == pytest.approx(1.0 - 8 / 10 * 7 / 9 * 6 / 8)
    assert fake([0, 10], 10, 3).slowest_misses(200.0).value == 0.5
    assert fake([1, 1], 2, 4).slowest_misses(200.0).value == pytest.approx(1.0 - 0.5**4)


def test_sampling_error_is_that_of_batches():
    found = fake([0, 10, 10, 0], 10, 3).slowest_misses(200.0)
    assert found.error == pytest.approx(np.std([0, 1, 1, 0], ddof=1) / 2.0)
    assert fake([0, 0, 0, 0], 10, 3).slowest_misses(200.0).error > 0.0
