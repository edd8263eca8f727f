"""A batch with things off, and the air of many such batches put together from few runs."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.engine.deviations import KNOTS, airs_of_deviations, deviated, runs_for_air, shares_of_runs
from dryingsim.engine.segments import Clock, segments_in_appliance
from dryingsim.errors import InputError
from dryingsim.model.build import with_ideal_thermostat
from dryingsim.properties.diffusivity import LEAN_MEAT

NOTHING_OFF = dict.fromkeys(KNOTS, 0.0)


@pytest.fixture(scope="module")
def dehydrator():
    demo = warm_air()
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    return replace(
        demo, appliance=appliance, stages=(replace(demo.stages[0], until=None, duration_s=3 * 3600.0),)
    )


@pytest.mark.parametrize(
    ("key", "off", "most_K"),
    [
        ("setpoint", -6.0, 0.05),
        ("air_exchange", math.log(0.6), 0.05),
        # Between the knots at 1.27 and 1.72 the heater comes to its limit: a corner, cut by the straight line.
        ("air_exchange", math.log(1.5), 1.5),
        ("diffusivity", math.log(0.4), 0.2),
    ],
)
def test_the_air_of_a_batch_drawn_is_near_that_of_its_own_run(dehydrator, key, off, most_K):
    # near: against the 3 K by which the setting is uncertain, and within a twentieth of the moistest air
    sizes = NOTHING_OFF | {key: INPUTS[key].default.size}
    own, factor = deviated(with_ideal_thermostat(dehydrator), {key: off})
    far = ds.run(own, diffusivity=replace(LEAN_MEAT, reference_m2_s=LEAN_MEAT.reference_m2_s * factor))
    runs = airs_of_deviations(dehydrator, [{}, *runs_for_air(sizes)])
    drawn = {name: np.full(1, off if name == key else 0.0) for name in KNOTS}
    times = np.arange(0.0, 3 * 3600.0, 600.0)
    rows = np.searchsorted(far.time_s, times)
    clock = Clock((3 * 3600.0,), None, 3 * 3600.0)
    air_history = segments_in_appliance(dehydrator, clock, runs, shares_of_runs(drawn, sizes))[0].air_history
    air = np.stack(
        [np.interp(times, air_history.time_s, values) for values in air_history.temperature_K.T], axis=1
    )
    vapour = np.stack(
        [np.interp(times, air_history.time_s, values) for values in air_history.vapour_fraction.T], axis=1
    )
    assert np.abs(air - far.air_temperature_K[rows, ::3]).mean() < most_K
    pressure = far.air_vapour_pressure_Pa[rows, ::3]
    assert np.abs(vapour * dehydrator.room.pressure_Pa - pressure).mean() < 0.05 * pressure.max()


def test_shares_of_runs_reproduce_the_knots_and_straight_lines():
    sizes = NOTHING_OFF | {"setpoint": 2.0, "air_exchange": 0.5}
    drawn = {name: np.zeros(4) for name in KNOTS}
    drawn["setpoint"] = np.array([-3.0, 0.0, 1.5, 6.0])
    drawn["air_exchange"] = 0.5 * np.array([0.0, 0.8, 1.3, 1.8])
    wanted = [[1, 0, 0, 0], [0, 0, 0.5, 2.0], [0, 0, 0, 0], [0, 1, 0.5, 0], [0, 0, 0.5, 1]]
    np.testing.assert_allclose(shares_of_runs(drawn, sizes), wanted, atol=1e-12)
    assert [list(run) for run in runs_for_air(sizes)] == [["setpoint"]] * 2 + [["air_exchange"]] * 3


def test_nothing_off_leaves_the_batch_as_it_is(dehydrator):
    same, factor = deviated(dehydrator, {})
    assert same == dehydrator
    assert factor == 1.0


def test_a_room_stays_possible_however_far_its_humidity_is_off(dehydrator):
    assert deviated(dehydrator, {"room_humidity": -2.0})[0].room.relative_humidity == pytest.approx(0.02)
    assert deviated(dehydrator, {"room_humidity": 2.0})[0].room.relative_humidity == pytest.approx(0.98)


def test_air_that_cannot_be_names_what_put_it_there(dehydrator):
    with pytest.raises(
        InputError, match=r"^setpoint, 200 K off: Air, temperature_K = .* is so much uncertainty"
    ):
        deviated(dehydrator, {"setpoint": 200.0})
