"""What follows from slices drawn: chances and their errors, on spreads whose answers are known."""

import numpy as np
import pytest
from scipy.special import betaln

from dryingsim.explore.spread_result import Spread


def fake(missing, drawn, in_batch):
    """A spread of batches in which so many of the slices drawn miss."""
    return spread_of(np.arange(drawn) < np.array(missing)[:, None], in_batch)


def spread_of(misses, in_batch):
    """A spread in which these of the slices drawn miss, shape (batches, drawn)."""
    done = np.where(misses, np.inf, 100.0).reshape(-1)
    spread = object.__new__(Spread)
    spread.__dict__.update(
        numbers={"done_s": np.stack([done] * 4)},
        in_batch=in_batch,
        sample=type("", (), {"batches": {"setpoint": np.zeros(len(misses))}}),
    )
    return spread


def test_chance_that_the_slowest_misses_is_that_of_drawing_without_putting_back():
    # 2 of 10 miss; of 3 slices none misses with 8/10 * 7/9 * 6/8
    found = fake([2, 2, 2], 10, 3).slowest_misses(200.0)
    assert found.value == pytest.approx(1.0 - 8 / 10 * 7 / 9 * 6 / 8)
    assert fake([0, 10], 10, 3).slowest_misses(200.0).value == 0.5
    assert (
        fake([0, 1], 1, 4).slowest_misses(200.0).value == 0.5
    )  # of a single slice drawn nothing more is known


def test_chance_in_a_batch_of_more_slices_than_are_drawn_of_it_comes_near_the_true_one():
    """Kitchens in which slices miss with a beta-distributed share; exact chances by the beta function."""
    rng, kitchens, in_batch, a, b = np.random.default_rng(5), 4000, 150, 0.1, 2.0
    exact = 1.0 - np.exp(betaln(a, b + in_batch) - betaln(a, b))
    for drawn in (16, 32, 64, 126):
        missing = rng.binomial(drawn, rng.beta(a, b, kitchens))
        shuffled = rng.permuted(np.arange(drawn) < missing[:, None], axis=1)
        found = spread_of(shuffled, in_batch).slowest_misses(200.0)
        plain = float(np.mean(1.0 - (1.0 - missing / drawn) ** in_batch))
        scatter = 0.5 / kitchens**0.5  # of so many kitchens, at most
        assert exact - plain > 3.0 * scatter  # what is mended
        assert abs(found.value - exact) < 0.3 * (exact - plain) + 2.0 * scatter
        assert found.error > abs(exact - found.value)


def test_sampling_error_is_that_of_batches():
    found = fake([0, 10, 10, 0], 10, 3).slowest_misses(200.0)
    assert found.error == pytest.approx(np.std([0, 1, 1, 0], ddof=1) / 2.0)
    assert fake([0, 0, 0, 0], 10, 3).slowest_misses(200.0).error > 0.0
