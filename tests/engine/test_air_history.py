"""Air of columns over time: as stated, as noted in appliances, and what lies between the notes."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.engine.air_history import AirHistory, ApplianceAirHistory, segment_times
from dryingsim.engine.appliance_system import ApplianceSystem
from dryingsim.model.surroundings import ApplianceSurroundings

FIELDS = ("time_s", "temperature_K", "vapour_fraction", "wall_K", "view", "pressure_Pa")


@pytest.fixture(scope="module")
def ramp():
    demo = warm_air()
    first = demo.stages[0]
    cool, hot = (replace(first.air, temperature_K=t) for t in (320.0, 340.0))
    return replace(demo, stages=(replace(first, air=cool, air_end=hot, until=None, duration_s=1000.0),))


@pytest.fixture(scope="module")
def loaded():
    """Two batches in the stacked dehydrator, one of them cooler, and the air of their runs."""
    demo = warm_air()
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    appliance = replace(appliance, heater=replace(appliance.heater, control="ideal"))
    stage = replace(demo.stages[0], until=None, duration_s=1200.0)
    hot = replace(demo, appliance=appliance, stages=(stage,))
    cool = replace(hot, stages=(replace(stage, air=replace(stage.air, temperature_K=325.0)),))
    return [(batch, ApplianceAirHistory.of_run(ds.run(batch, nodes=6))) for batch in (hot, cool)]


def surroundings_of(batch):
    surroundings = ApplianceSurroundings(batch, 3, 1e-3)
    surroundings.begin(batch.stages[0], 0.0)
    return surroundings


def assert_same(one, other):
    for name in FIELDS:
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=1e-12, err_msg=name)
    for name in ("forced", "natural", "mass_factor", "carrying"):
        np.testing.assert_allclose(getattr(one.film, name), getattr(other.film, name), rtol=1e-9)


def test_a_stated_ramp_is_straight_and_constant_beyond(ramp):
    air = AirHistory.given([ramp, ramp], 0)
    assert air.columns == 2
    times, column = np.array([-50.0, 0.0, 250.0, 1000.0, 5000.0]), np.array([0, 1, 0, 1, 0])
    temperature, fraction, wall = air.at(times, column)
    np.testing.assert_allclose(temperature, [320.0, 320.0, 325.0, 340.0, 340.0])
    np.testing.assert_allclose(
        wall, np.stack([temperature, temperature])
    )  # all they face is at air temperature
    np.testing.assert_allclose(fraction, fraction[0])  # the room's vapour, however warm


def test_air_side_by_side_is_that_of_each(ramp):
    hotter = replace(
        ramp, stages=(replace(ramp.stages[0], air=replace(ramp.stages[0].air, temperature_K=330.0)),)
    )
    both = AirHistory.side_by_side([AirHistory.given([batch], 0) for batch in (ramp, hotter)])
    at_once = AirHistory.given([ramp, hotter], 0)
    for name in FIELDS:
        np.testing.assert_array_equal(getattr(both, name), getattr(at_once, name), err_msg=name)
    np.testing.assert_array_equal(both.film.forced, at_once.film.forced)


def test_a_factor_on_the_film_leaves_what_the_air_can_carry(loaded):
    batch, noted = loaded[0]
    air = AirHistory.put_together(surroundings_of(batch), [noted], np.zeros((0, 1)), 0.0, 600.0)
    column = np.array([1, 0, 1])
    film = air.film_of(column, np.array([1.0, 2.0, 0.5]))
    np.testing.assert_allclose(film.forced, air.film.forced[:, column] * [1.0, 2.0, 0.5])
    np.testing.assert_allclose(film.natural, air.film.natural[column] * [1.0, 2.0, 0.5])
    np.testing.assert_array_equal(film.carrying[0], air.film.carrying[0][column])


def test_appliances_at_once_and_each_alone_give_the_same_air(loaded):
    batches, noted = zip(*loaded, strict=True)
    system = ApplianceSystem(batches, 3, 1e-3, np.ones(2))
    system.begin(system.merged_stage(0), 0.0)
    at_once = AirHistory.in_appliances(system, noted, np.zeros(2), np.full(2, 1200.0))
    alone = [
        AirHistory.put_together(surroundings_of(batch), [own], np.zeros((0, 1)), 0.0, 1200.0)
        for batch, own in loaded
    ]
    assert at_once.columns == 2 * system.load.trays > 2
    assert_same(at_once, AirHistory.side_by_side(alone))


def test_half_of_a_difference_lies_half_way(loaded):
    (batch, hot), (_, cool) = loaded
    shares = np.array([[0.0, 0.5, 1.0]])
    air = AirHistory.put_together(surroundings_of(batch), [hot, cool], shares, 0.0, 1200.0)
    by_batch = air.temperature_K.reshape(air.time_s.size, 3, -1)
    np.testing.assert_allclose(by_batch[:, 1], 0.5 * (by_batch[:, 0] + by_batch[:, 2]), rtol=1e-12)
    warmest = by_batch[-1].max(axis=1)
    assert warmest[2] < warmest[0] - 5.0


def test_an_appliance_whose_segment_is_over_stays_in_its_last_air(loaded):
    batches, noted = zip(*loaded, strict=True)
    system = ApplianceSystem(batches, 3, 1e-3, np.ones(2))
    system.begin(system.merged_stage(0), 0.0)
    air = AirHistory.in_appliances(system, noted, np.zeros(2), np.array([300.0, 1200.0]))
    early = air.temperature_K[:, : system.load.trays]
    assert np.all(early[air.time_s >= 300.0] == early[-1])
    assert np.ptp(air.temperature_K[air.time_s >= 300.0, system.load.trays :]) > 0.1


@pytest.mark.parametrize("span", [0.0, 59.0, 1800.0, 4000.0])
def test_notes_begin_and_end_with_the_segment(span):
    times = segment_times(span)
    assert times[0] == 0.0
    assert times[-1] == span
    assert np.all(np.diff(times) > 0.0)
