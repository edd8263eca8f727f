"""Tray by tray: the air agrees with what the slices met, and the trays with the whole batch."""

from dataclasses import replace

import numpy as np
import pytest
from made_appliance import tray_stack
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.history.columns import tray_places
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.trays import judge_trays, tray_air
from dryingsim.properties import water


@pytest.fixture(scope="module")
def fixed():
    return ds.run(in_stack(7.0))


@pytest.fixture(scope="module")
def rotated():
    return ds.run(in_stack(7.0, rotate_every_s=3600.0))


@pytest.mark.parametrize("name", ["fixed", "rotated"])
def test_the_air_that_enters_a_tray_is_that_its_slices_met(name, request):
    history = request.getfixturevalue(name)
    entering = tray_air(history).entering
    np.testing.assert_allclose(entering.temperature_K[:, history.tray], history.air_temperature_K, rtol=1e-12)
    vapour = entering.relative_humidity * water.saturation_pressure_liquid(entering.temperature_K)
    np.testing.assert_allclose(vapour[:, history.tray], history.air_vapour_pressure_Pa, rtol=1e-9)
    np.testing.assert_allclose(entering.wet_bulb_K[:, history.tray], history.air_wet_bulb_K, rtol=1e-9)


def test_in_series_what_leaves_one_tray_enters_the_next(fixed):
    air = tray_air(fixed)
    for entering, leaving in zip(
        (air.entering.temperature_K, air.entering.dew_point_K),
        (air.leaving.temperature_K, air.leaving.dew_point_K),
        strict=True,
    ):
        np.testing.assert_array_equal(entering[:, 1], leaving[:, 0])
    # while the meat is wet, the air cools and takes up water on its way
    hour = int(np.abs(fixed.time_s - 3600.0).argmin())
    assert (air.leaving.temperature_K[hour] < air.entering.temperature_K[hour]).all()
    assert (air.leaving.dew_point_K[hour] > air.entering.dew_point_K[hour]).all()
    for state in (air.entering, air.leaving):
        assert (state.dew_point_K <= state.wet_bulb_K).all()
        assert (state.wet_bulb_K <= state.temperature_K).all()


def test_side_by_side_all_trays_get_the_same_air():
    history = ds.run(in_stack(0.5, tray_stack(trays={"flow": "parallel"})))
    air = tray_air(history)
    np.testing.assert_array_equal(air.entering.temperature_K[:, 0], air.entering.temperature_K[:, 1])
    np.testing.assert_allclose(
        air.entering.temperature_K[:, history.tray], history.air_temperature_K, rtol=1e-12
    )


def test_rotated_trays_take_turns_and_the_arrays_follow_them(fixed, rotated):
    assert (tray_places(fixed) == [0, 1]).all()
    places = tray_places(rotated)
    hours = rotated.time_s / 3600.0
    assert (places[(hours > 0.0) & (hours <= 1.0)] == [0, 1]).all()
    assert (places[(hours > 1.0) & (hours <= 2.0)] == [1, 0]).all()


def test_the_batch_is_done_with_its_last_tray(fixed):
    trays = judge_trays(fixed)
    batch = judge_batch(fixed).doneness.batch
    windows = [one.all_done for one in trays.done]
    assert max(window.expected_s for window in windows) == pytest.approx(batch.expected_s)
    assert max(window.earliest_s for window in windows) == pytest.approx(batch.earliest_s)
    for one in trays.done:
        assert one.first_s < one.all_done.expected_s
        assert one.all_done.earliest_s < one.all_done.expected_s < one.all_done.latest_s
    assert trays.apart_s == pytest.approx(windows[1].expected_s - windows[0].expected_s)


def test_changing_places_brings_the_trays_together(fixed, rotated):
    assert 0.0 < judge_trays(rotated).apart_s < 0.5 * judge_trays(fixed).apart_s


def test_trays_that_are_not_done_are_not_apart(fixed):
    never = replace(fixed, batch=replace(fixed.batch, targets=ds.Targets(water_activity=0.2)))
    trays = judge_trays(never)
    assert trays.apart_s is None
    assert all(one.first_s is one.all_done.expected_s is None for one in trays.done)


def test_load_is_told(fixed):
    trays = judge_trays(fixed)
    assert (trays.used, trays.needed, trays.slots) == (2, 2, 5)
    assert trays.cover * trays.used * 0.3 * 0.3 == pytest.approx(fixed.area_m2.sum())
    spread = judge_trays(ds.run(in_stack(0.1, trays=4)))
    assert (spread.used, spread.needed) == (4, 2)
    assert spread.cover == pytest.approx(0.5 * trays.cover)


def test_given_air_has_no_trays():
    batch = warm_air()
    history = ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=600.0),)))
    assert judge_trays(history) is tray_air(history) is None
