"""Meat known as draws: the same draw many times is one history, and what is open makes the bound lower."""

from dataclasses import replace

import numpy as np
import pytest

from dryingsim.judge.drawn import DrawnHistories, held_by_heat_before, judge_drawn
from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_resistance import HeatBefore, accumulated, lower_bound, reduction

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


def heated(hottest_K, before_K, slices=1):
    """Return slices that were as hot as that for half a minute before they dried."""
    dried = histories(hottest_K, slices=slices)
    before_s = np.linspace(0.0, 30.0, 7)
    return replace(dried, heated_s=before_s, heated_K=np.full((7, 8, slices), before_K))


def test_heat_before_drying_adds_to_that_of_drying_as_in_a_batch():
    """As `heat_resistance.reduction` has it for a single history: fast heat, with its own resistant fraction."""
    pieces = heated(330.15, 341.15)
    t, a = pieces.temperature_K[:, 0, 0], drier_side(np.full((61, 1), 0.97))
    wet = np.full((7, 1), float(drier_side(np.array(0.97))))
    before = HeatBefore.of(pieces.heated_s, pieces.heated_K[:, 0], wet)
    exact = reduction(accumulated(TIME, t, a), "salmonella", before=before)
    found = of(judge_drawn(pieces, "sliced", "beef"))
    assert found.lower == pytest.approx(exact.lower, rel=1e-3)  # as above
    assert found.best == pytest.approx(exact.median, rel=1e-3)
    assert found.lower > of(judge_drawn(pieces.dried_alone(), "sliced", "beef")).lower + 0.5


def test_the_slice_that_was_heated_least_decides():
    pieces = heated(310.15, 345.15, slices=2)
    pieces.heated_K[:, :, 1] = 325.15
    least = of(judge_drawn(pieces, "sliced", "beef"))
    alone = of(judge_drawn(heated(310.15, 325.15), "sliced", "beef"))
    assert least.lower == pytest.approx(alone.lower, abs=1e-6)


@pytest.mark.parametrize(("dried_K", "grade"), [(330.15, "met only if measured"), (345.15, "met")])
def test_what_is_met_only_with_the_heat_before_is_met_only_if_measured(dried_K, grade):
    pieces = heated(dried_K, 353.15)
    whole = judge_drawn(pieces, "sliced", "beef")
    assert of(whole).grade == "met"
    held = held_by_heat_before(whole, judge_drawn(pieces.dried_alone(), "sliced", "beef"), 344.0)
    assert of(held).grade == grade
    warned = [each for each in held.lethality.warnings if each.key == "heat_before_decides"]
    assert bool(warned) == (grade != "met")
    assert not warned or (warned[0].values["relied_log10"] < 5.0 and warned[0].values["asked_K"] == 344.0)
