"""Schedules by the clock: when their parts begin and end, and in what air."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.engine.appliance_ensemble import run_appliances
from dryingsim.engine.segments import (
    Clock,
    SliceAir,
    air_over_time,
    by_the_clock,
    clock_of,
    segments_in_appliances,
    segments_in_given_air,
)


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    first = replace(demo.stages[0], until=ds.Until(weight_loss=0.2), duration_s=3 * 3600.0)
    return replace(demo, stages=(first, replace(demo.stages[1], turn=True)))


@pytest.fixture(scope="module")
def history(batch):
    return ds.run(batch, nodes=6)


@pytest.fixture(scope="module")
def clock(history):
    return clock_of(history)


def test_the_clock_is_that_of_the_run_and_drying_may_go_on(history, clock):
    assert clock.ends_s == tuple(history.stage_end_s.tolist())
    assert clock.stage == 0
    assert clock.longer_s == pytest.approx(min(3 * 3600.0, 2.5 * clock.ends_s[0]))
    assert clock.goes_on(0)
    assert not clock.goes_on(1)


def test_by_the_clock_a_run_takes_as_long_without_conditions(batch, clock):
    timed = by_the_clock(batch, clock)
    assert all(stage.until is None for stage in timed.stages)
    np.testing.assert_allclose(ds.run(timed, nodes=6).stage_end_s, clock.ends_s, rtol=1e-12)
    skipped = by_the_clock(batch, Clock((600.0, 600.0), None, 600.0))
    assert [stage.name for stage in skipped.stages] == [batch.stages[0].name]


def test_what_is_left_in_longer_goes_on_from_the_drying_and_reduces_nothing(batch, clock):
    drying, oven, longer = segments_in_given_air([batch], clock)
    assert (drying.after, oven.after, longer.after) == (-1, 0, 0)
    assert (drying.dries, oven.dries, longer.dries) == (True, False, True)
    assert (drying.lethal, oven.lethal, longer.lethal) == (True, True, False)
    assert (oven.turn, longer.turn) == (True, False)
    assert longer.span(np.zeros(1, dtype=int)) == (clock.ends_s[0], clock.longer_s)
    assert longer.since(np.zeros(2, dtype=int)).tolist() == [0.0, 0.0]


def test_air_at_slices_is_worked_out_once_for_the_same_times():
    demo = warm_air()
    stage = demo.stages[0]
    ramp = replace(stage, air_end=replace(stage.air, temperature_K=350.0), until=None, duration_s=1000.0)
    (segment,) = segments_in_given_air([replace(demo, stages=(ramp,))], Clock((1000.0,), None, 1000.0))
    air = SliceAir(segment, np.zeros(2, dtype=int), np.ones(2))
    times = np.array([0.0, 500.0])
    first = air.at(times)
    assert air.at(times) is first
    assert air.at(times + 100.0) is not first
    np.testing.assert_allclose(
        first.temperature_K, [stage.air.temperature_K, 0.5 * (stage.air.temperature_K + 350.0)]
    )


def test_air_over_segments_is_that_of_the_stage_of_the_moment(batch, clock):
    segments = [segment for segment in segments_in_given_air([batch], clock) if segment.lethal]
    times = np.array([0.0, clock.ends_s[0] + 1.0])
    expected = [[stage.air.temperature_K] for stage in batch.stages]
    np.testing.assert_allclose(air_over_time(segments, times)[0], expected)


def test_appliances_by_one_clock_stand_side_by_side_and_their_trays_change_places():
    demo = warm_air()
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    stage = replace(demo.stages[0], until=None, duration_s=1800.0)
    hot = replace(demo, appliance=appliance, stages=(stage,), rotate_every_s=600.0)
    cool = replace(hot, stages=(replace(stage, air=replace(stage.air, temperature_K=325.0)),))
    clock = Clock((1800.0,), None, 1800.0)
    both = segments_in_appliances([hot, cool], clock, run_appliances([hot, cool]))
    assert [segment.end_s for segment in both] == [600.0, 1200.0, 1800.0]
    air = both[-1].air_history
    trays = air.columns // 2
    assert trays > 1
    assert np.all(air.temperature_K[-1, :trays] > air.temperature_K[-1, trays:] + 5.0)
    (alone, *_) = segments_in_appliances([cool], clock, run_appliances([cool]))
    # each takes steps of its own; in company they are not the same to the last bit
    np.testing.assert_allclose(
        both[0].air_history.temperature_K[:, trays:], alone.air_history.temperature_K, atol=0.05
    )
