"""When to look, and what share of the slices is ready by then: beside what thousands of drawn slices do."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.schema import ThicknessClass
from dryingsim.batch.uncertainties import default_uncertainties
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.explore.spread import spread
from dryingsim.judge.looking import look_times, ready_shares
from dryingsim.judge.taking_off import ready_levels


def dried(**uncertainties):
    """Return 5 mm slices in given air for 8 h, with nothing uncertain but what is named."""
    batch = warm_air()
    meat = replace(batch.meat, classes=(ThicknessClass(thickness_m=5e-3, share=1.0),))
    stage = replace(batch.stages[0], until=None, duration_s=8 * 3600.0)
    none = {key: replace(known, size=0.0) for key, known in default_uncertainties().items()}
    return replace(batch, meat=meat, stages=(stage,), uncertainties=none | uncertainties)


@pytest.fixture(scope="module")
def answer():
    return ds.Answer(ds.run(dried(), nodes=10))


def shares(answer, times, **uncertainties):
    history = replace(answer.history, batch=dried(**uncertainties))
    return ready_shares(history, answer._course, list(times))


def test_with_nothing_uncertain_all_are_ready_at_once(answer):
    ready_s = answer.doneness.stop.likely_s
    before, after = shares(answer, [0.99 * ready_s, 1.01 * ready_s])
    assert (before.low, before.likely, before.high) == (0.0, 0.0, 0.0)
    assert (after.low, after.likely, after.high) == (1.0, 1.0, 1.0)


def test_what_differs_between_slices_spreads_each_batch_and_what_differs_between_kitchens_moves_all_of_it(
    answer,
):
    ready_s = answer.doneness.stop.likely_s
    of_slices = {"thickness_between": Uncertainty("lognormal", 0.15)}
    of_kitchens = {"diffusivity": Uncertainty("lognormal", 0.3)}
    (alike,) = shares(answer, [ready_s], **of_slices)
    assert alike.low == alike.high  # every kitchen is the same
    assert alike.likely == pytest.approx(0.5, abs=0.05)  # as many are thinner as are thicker
    (apart,) = shares(answer, [ready_s], **of_kitchens)
    assert (apart.low, apart.high) == (0.0, 1.0)


def test_shares_are_those_of_slices_drawn_and_dried_one_by_one(answer):
    """As many slices are ready by a time as in the engine of many slices, which dries each of them."""
    of_slices = {"thickness_between": Uncertainty("lognormal", 0.15)}
    batch = replace(dried(**of_slices), take_off="together")
    many = spread(batch, batch.uncertainties, slices=256, seed=2, nodes=10)
    level, ranks = ready_levels([dried()])[0], np.linspace(0.02, 0.98, 49)
    bands = many.bands("water_activity", tuple(ranks.tolist()))
    times = np.array([0.8, 0.95, 1.1, 1.3]) * answer.doneness.stop.likely_s
    rows = [int(np.abs(many.times_s - time).argmin()) for time in times]
    found = shares(answer, many.times_s[rows].tolist(), **of_slices)
    for row, share in zip(rows, found, strict=True):
        drawn = float(np.interp(level, bands[:, row], ranks, left=0.0, right=1.0))
        # two standard errors of 256 drawn slices
        assert share.likely == pytest.approx(drawn, abs=0.06)


def test_looks_go_on_until_all_are_ready_as_computed(answer):
    looks, stop = answer.regular_looks, answer.doneness.stop
    assert looks[0].key == "first look"
    assert looks[0].time_s == answer.doneness.first_look_s
    gaps = np.diff([look.time_s for look in looks])
    assert (gaps == answer.texture.look_again_s).all()
    assert looks[-2].time_s < stop.likely_s <= looks[-1].time_s
    assert look_times(10.0, 5.0, 3.0) == [10.0]
    weights = [look.weight_kg for look in looks]
    assert weights == sorted(weights, reverse=True)
    assert weights[-1] == pytest.approx(stop.weight_kg)
