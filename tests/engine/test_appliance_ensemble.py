"""Appliances side by side: each has the air of a run of its own."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.schema import Until
from dryingsim.engine.air_history import ApplianceAirHistory
from dryingsim.engine.appliance_ensemble import endings, run_appliances
from dryingsim.engine.deviations import deviated


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    used = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    first = replace(demo.stages[0], until=Until(weight_loss=0.06), duration_s=None)
    last = replace(demo.stages[0], until=None, duration_s=300.0, turn=True)
    return replace(demo, appliance=used, stages=(first, last), rotate_every_s=600.0)


def assert_same_air(found, own):
    """Within what the steps allow: by half a kelvin at most, where the setting jumps, by 0.02 K in the mean."""
    # the end of a stage is found within a step; what is noted next to it may be on its other side
    times = np.arange(0.0, own.stage_end_s[-1], 60.0)
    times = times[np.abs(times - own.stage_end_s[0]) > 60.0]
    for name, typical in (("cell_temperature_K", 0.02), ("cell_humidity_ratio", 1e-5)):
        a, b = (
            np.stack([np.interp(times, one.time_s, column) for column in getattr(one, name).T])
            for one in (found, own)
        )
        assert np.abs(a - b).mean() < typical
        assert np.abs(a - b).max() < 25.0 * typical


def test_each_is_a_run_of_its_own(batch):
    wetter = deviated(batch, {"setpoint": -8.0, "room_humidity": 0.2, "air_exchange": math.log(0.7)})[0]
    together = run_appliances([batch, wetter], nodes=12)
    for found, one in zip(together, (batch, wetter), strict=True):
        own = ApplianceAirHistory.of_run(ds.run(one, nodes=12))
        np.testing.assert_allclose(found.stage_end_s, own.stage_end_s, atol=5.0)
        assert_same_air(found, own)


def test_company_changes_nothing_to_speak_of(batch):
    short = replace(batch, rotate_every_s=None, stages=(replace(batch.stages[1], turn=False),))
    others = [deviated(short, {"setpoint": -float(k)})[0] for k in range(5)]
    alone, crowd = run_appliances([short])[0], run_appliances(others)[0]
    np.testing.assert_allclose(alone.cell_temperature_K, crowd.cell_temperature_K, rtol=1e-6)


def test_factors_on_the_diffusivity_are_those_of_each(batch):
    short = replace(batch, rotate_every_s=None, stages=(replace(batch.stages[1], duration_s=3600.0),))
    slow, fast = run_appliances([short, short], diffusivity_factor=np.array([0.5, 2.0]))
    assert fast.cell_humidity_ratio[-1, -1] > slow.cell_humidity_ratio[-1, -1]


def test_taken_out_when_done_ends_the_last_stage_alone(batch):
    stages = tuple(replace(one, until=None, duration_s=3600.0) for one in batch.stages)
    untils, added = endings([replace(batch, stages=stages)])
    assert added
    assert untils == [[None], [Until(water_activity=batch.targets.water_activity)]]
    assert endings([batch]) == ([[Until(weight_loss=0.06)], [None]], False)


@pytest.mark.parametrize("tolerance", [3e-3, 1e-3])
def test_a_loose_tolerance_does_not_throw_the_steps_about(batch, tolerance):
    # Beyond the width of the thermostat errors in the air did: thousands of them. What is left is the luck of some ten
    # refused steps while the air warms.
    short = replace(batch, stages=(replace(batch.stages[1], duration_s=1800.0),))
    loose, usual = (ds.run(short, tolerance=one).statistics for one in (tolerance, 1.5e-4))
    assert loose.factorisations < 1.5 * usual.factorisations
