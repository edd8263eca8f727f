"""Meat known as draws: the same draw many times is one history, and what is open makes the bound lower."""

from dataclasses import replace

import numpy as np
import pytest

from dryingsim.judge.drawn import DrawnHistories, judge_drawn
from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_resistance import lower_bound

TIME = np.linspace(0.0, 3600.0, 61)


def histories(hottest_K, activity=0.97, draws=8, slices=1):
    """Return slices that warm up in ten minutes, and stay as hot as each draw says."""
    rise = np.minimum(TIME / 600.0, 1.0)[:, None, None, None]
    hot = np.broadcast_to(np.asarray(hottest_K, dtype=float), (draws,))[None, None, :, None]
    t = 278.15 + rise * (hot - 278.15) + np.zeros((1, 3, 1, slices))
    return DrawnHistories(
        time_s=TIME,
        temperature_K=t,
        water_activity=np.full_like(t, activity),
        covered=np.zeros(t.shape[-1], dtype=bool),
    )


def of(found, organism="salmonella"):
    return next(entry for entry in found.lethality.organisms if entry.organism == organism)


def test_draws_that_are_alike_are_judged_as_one_history():
    same = histories(330.15)
    t, a = same.temperature_K[:, 0, 0, 0], np.full(TIME.size, 0.97)
    exact = lower_bound(TIME, t[:, None], drier_side(a[:, None]), "salmonella")
    found = of(judge_drawn(same, "sliced", "beef"))
    # a quantile of draws given eight times falls elsewhere between two of them: a thousandth at most, with so many studies
    assert found.lower == pytest.approx(exact.lower, rel=1e-3)
    assert found.best == pytest.approx(exact.median, rel=1e-3)


def test_what_is_open_lowers_the_bound_and_widens_the_band():
    sure, open_ = histories(331.15), histories(331.15 + np.linspace(-3.0, 3.0, 8))
    narrow, wide = (judge_drawn(each, "sliced", "beef") for each in (sure, open_))
    assert of(wide).lower < of(narrow).lower
    low, high = wide.median_band["salmonella"]
    assert low < of(narrow).best < high
    assert np.ptp(narrow.median_band["salmonella"]) == pytest.approx(0.0, abs=1e-9)


def test_the_least_reduced_slice_and_place_decide():
    pieces = histories(335.15, slices=2)
    pieces.temperature_K[:, 2, :, 1] -= 6.0
    found = of(judge_drawn(pieces, "sliced", "beef"))
    assert (found.slab, found.node) == (1, 2)
    pieces.temperature_K[:, 1, :, 0] -= 12.0  # the middle: only where bacteria may sit there
    assert of(judge_drawn(pieces, "sliced", "beef")).slab == 1
    assert (
        of(judge_drawn(pieces, "minced", "beef")).slab,
        of(judge_drawn(pieces, "minced", "beef")).node,
    ) == (0, 1)


def test_a_covered_face_counts_as_if_it_had_dried_like_the_open_one():
    pieces = histories(335.15)
    pieces.water_activity[:, 2] = 0.6
    pieces.temperature_K[:, 0] -= 3.0
    apart, covered = (
        of(judge_drawn(replace(pieces, covered=np.array([each])), "sliced", "beef")) for each in (False, True)
    )
    assert (apart.node, covered.node) == (2, 0)
    assert covered.lower < apart.lower


def test_meat_that_is_said_to_start_hot_earns_nothing():
    hot = histories(338.15)
    hot.temperature_K[:] = 338.15
    assert of(judge_drawn(hot, "sliced", "beef")).best < 0.1


def test_meat_that_stays_warm_and_wet_is_never_met():
    found = judge_drawn(histories(310.15), "sliced", "beef")
    later = DrawnHistories(
        time_s=8.0 * TIME,
        temperature_K=histories(310.15).temperature_K,
        water_activity=np.full((61, 3, 8, 1), 0.99),
        covered=np.zeros(1, dtype=bool),
    )
    assert not found.lethality.warnings
    assert any(
        each.key == "bacteria_grow" for each in judge_drawn(later, "sliced", "beef").lethality.warnings
    )
