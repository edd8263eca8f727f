"""Batches as a group, each by its own schedule: when their stages end, against runs of their own."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.engine.batch_group import BatchGroup, groups_of, note_times, run_group, scheduled
from dryingsim.judge.taking_off import coldest_place
from dryingsim.judge.verdict import judge_as_computed

UNTILS = [
    ds.Until(weight_loss=0.5),
    ds.Until(core_temperature_K=320.0),
    ds.Until(water_activity=0.93),
    ds.Until(weight_loss=0.6, core_temperature_K=326.0, water_activity=0.9),
]


def drying(until, duration_s=None):
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], until=until, duration_s=duration_s),))


def cooler(batch, by_K):
    stages = tuple(
        replace(stage, air=replace(stage.air, temperature_K=stage.air.temperature_K - by_K))
        for stage in batch.stages
    )
    return replace(batch, stages=stages)


@pytest.mark.parametrize("until", UNTILS, ids=["weight", "core", "activity", "any"])
def test_a_stage_ends_where_that_of_a_run_does(until):
    batches = [drying(until), cooler(drying(until), 6.0)]
    group = BatchGroup.as_meant(batches)
    laid = scheduled(group, nodes=8, longest_s=24 * 3600.0, tolerance=2e-4)
    own = [ds.run(batch, nodes=8).stage_end_s[0] for batch in batches]
    # notes a minute apart, later 2 % of the time: read off straight lines between them
    np.testing.assert_allclose(laid.ends_s, own, rtol=3e-3)
    assert laid.segments[-1].lethal is False  # and then left in, to see when the last would be done


def test_a_finish_is_shorter_than_notes_lie_apart_when_it_begins():
    """Done by the clock after nine hours; the finish then ends as its core is hot, minutes later."""
    demo = warm_air()
    dry = replace(demo.stages[0], until=None, duration_s=9 * 3600.0)
    hot = replace(dry, name="finish", air=replace(dry.air, temperature_K=408.15), duration_s=600.0)
    group = BatchGroup.as_meant([replace(demo, stages=(dry, hot))])
    laid = scheduled(group, nodes=8, longest_s=24 * 3600.0, tolerance=2e-4)
    assert laid.ends_s[0] == pytest.approx(9 * 3600.0 + 600.0)
    until = replace(hot, until=ds.Until(core_temperature_K=370.0))
    batch = replace(demo, stages=(dry, until))
    laid = scheduled(BatchGroup.as_meant([batch]), nodes=8, longest_s=24 * 3600.0, tolerance=2e-4)
    own = ds.run(batch, nodes=8).stage_end_s[-1]
    assert laid.ends_s[0] == pytest.approx(own, abs=10.0)  # straight lines between notes a minute apart


@pytest.mark.parametrize("take_off", ["as ready", "together"])
def test_heat_counts_until_slices_are_taken_off_as_in_a_run(take_off):
    """Within the steps of the engine, 0.02 log; thin slices leave an hour and a half before the thick ones."""
    batch = replace(warm_air(), take_off=take_off)
    history = ds.run(batch, nodes=8, interval_s=30.0)
    judged = next(e for e in judge_as_computed(history).organisms if e.organism == "salmonella")
    numbers, _ = run_group(
        BatchGroup.as_meant([batch]),
        organism="salmonella",
        levels=(),
        nodes=8,
        tolerance=2e-4,
        longest_s=24 * 3600.0,
    )
    assert float(numbers["lower"].min()) == pytest.approx(judged.lower, abs=0.02)
    assert float(numbers["best"].min()) == pytest.approx(judged.best, abs=0.02)
    assert float(numbers["peak_K"].min()) == pytest.approx(coldest_place(history).max(axis=0).min(), abs=0.5)


def test_slices_that_leave_early_are_no_more_reduced_than_those_left_in():
    ways = [replace(warm_air(), take_off=take_off) for take_off in ("as ready", "together")]
    early, together = (ds.spread(batch, slices=64, nodes=8).numbers["lower"] for batch in ways)
    assert (early <= together).all()
    assert (early < together - 0.1).mean() > 0.5


def test_batches_of_one_group_may_end_by_conditions_of_their_own():
    batches = [drying(ds.Until(weight_loss=0.4)), drying(ds.Until(weight_loss=0.6))]
    laid = scheduled(BatchGroup.as_meant(batches), nodes=8, longest_s=24 * 3600.0, tolerance=1e-3)
    assert laid.ends_s[0] < 0.7 * laid.ends_s[1]


def test_the_clock_comes_before_a_condition_that_is_not_met():
    batches = [drying(ds.Until(weight_loss=0.6), duration_s=1800.0)]
    laid = scheduled(BatchGroup.as_meant(batches), nodes=8, longest_s=24 * 3600.0, tolerance=1e-3)
    assert laid.ends_s.tolist() == [1800.0]


def test_without_a_condition_the_meat_is_taken_out_when_done():
    batch = drying(None, duration_s=12 * 3600.0)
    laid = scheduled(BatchGroup.as_meant([batch]), nodes=12, longest_s=24 * 3600.0, tolerance=2e-4)
    done = ds.judge_batch(ds.run(batch, nodes=12)).doneness.batch.expected_s
    np.testing.assert_allclose(laid.ends_s, done, rtol=3e-3)


def test_batches_are_grouped_by_what_must_be_the_same_and_told_where_they_do_not_fit():
    batch = drying(None, duration_s=3600.0)
    turned = replace(batch, stages=(replace(batch.stages[0], turn=True),))
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    loaded = replace(batch, appliance=appliance)
    full = replace(loaded, meat=replace(batch.meat, weight_kg=50.0))
    groups, problems = groups_of([batch, turned, cooler(batch, 5.0), loaded, full, full])
    assert groups == [[0, 2], [1], [3]]
    assert len(problems) == 1  # the same trouble is told once
    assert "trays" in problems[0]


def test_some_of_a_group_keep_their_own_factors():
    batches = [drying(None, duration_s=60.0 * (k + 1)) for k in range(3)]
    group = BatchGroup(
        batches, np.array([1.0, 2.0, 3.0]), np.array([4.0, 5.0, 6.0]), np.array([2.5, 2.6, 2.7])
    )
    some = group.take([2, 0])
    assert [batch.stages[0].duration_s for batch in some.batches] == [180.0, 60.0]
    assert some.diffusivity.tolist() == [3.0, 1.0]
    assert some.film.tolist() == [6.0, 4.0]
    assert some.moisture_db.tolist() == [2.7, 2.5]


@pytest.mark.parametrize("longest", [30.0, 3000.0, 90_000.0])
def test_notes_are_never_farther_apart_than_promised(longest):
    times = note_times(longest)
    assert times[0] == 0.0
    assert times[-1] == pytest.approx(longest)
    apart = np.diff(times)
    assert np.all(apart > 0.0)
    assert np.all(apart <= np.maximum(60.0, 0.0205 * times[1:]) + 1e-9)
