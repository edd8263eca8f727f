"""Even cycles of a thermostat that switches, as mean and swing, beside runs that follow every switching."""

from dataclasses import replace

import numpy as np
import pytest
from made_appliance import tray_stack, with_parts
from made_batch import warm_air

from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.batch.schema import Until
from dryingsim.model import cycles
from dryingsim.simulate import run

STACK = tray_stack(
    heater={
        "power_W": 600.0,
        "control": "switching",
        "band_K": 6.0,
        "sensor_lag_s": 30.0,
        "element_lag_s": 30.0,
    }
)


def batch(appliance, *hours, until=None):
    made = warm_air()
    air = replace(made.stages[0].air, temperature_K=341.15)
    stages = [replace(made.stages[0], air=air, duration_s=h * 3600.0, until=None) for h in hours]
    stages[0] = replace(stages[0], until=until)
    meat = replace(made.meat, weight_kg=0.3)
    return replace(made, appliance=appliance, meat=meat, stages=tuple(stages), trays=None)


def of(what, tolerance=1.5e-4):
    """The run of a batch, and one that follows every switching in steps of a tolerance."""
    with pytest.MonkeyPatch.context() as patch:
        quick = run(what, nodes=8, interval_s=5.0)
        patch.setattr(cycles, "PRODUCTS", -1.0)
        return quick, run(what, nodes=8, interval_s=5.0, tolerance=tolerance)


@pytest.fixture(scope="module")
def both():
    # the first stage ends within a step of many cycles, and the second begins without any; at the usual tolerance the phase
    # of cycles that are followed one by one drifts by seconds, and air by kelvins with it
    return of(batch(STACK, 2.0, 0.1, until=Until(weight_loss=0.09)), tolerance=3e-5)


def test_even_cycles_take_few_steps(both):
    quick, followed = both
    # two beginnings are in it, and of four half-cycles each; at the usual tolerance others take six tenths of the steps
    assert 2 * quick.statistics.steps < 0.6 * followed.statistics.steps


def test_stage_ends_where_it_does_otherwise(both):
    quick, followed = both
    # 2 s are 1.5e-4 of weight loss, what steps may err
    np.testing.assert_allclose(quick.stage_end_s, followed.stage_end_s, atol=2.0)


def test_meat_and_air_come_out_the_same_at_any_time(both):
    time = np.arange(0.0, both[0].stage_end_s[0], 20.0)
    core, lost, air = (
        [np.interp(time, h.time_s, values(h)) for h in both]
        for values in (
            lambda h: h.core_temperature_K[:, 0],
            lambda h: h.weight_loss,
            lambda h: h.chamber.cell_temperature_K[:, 0],
        )
    )
    np.testing.assert_allclose(core[0], core[1], atol=0.035)  # the error of the steps of any run
    np.testing.assert_allclose(lost[0], lost[1], atol=2e-4)
    assert np.ptp(air[1][time > 600.0]) > 12.0
    # air passes 0.6 K a second at the most, and cycles are in phase within half a second
    np.testing.assert_allclose(air[0], air[1], atol=0.3)


def test_balances_close_as_in_any_run(both):
    history = both[0]
    assert history.water_closure < 1e-12
    assert history.energy_closure < 1e-12
    assert history.chamber.water_closure < 1e-12
    assert history.chamber.energy_closure < 1e-12


def test_swings_that_are_not_linear_are_followed_through_every_switching():
    still = with_parts(find_appliance("", "oven without fan").appliance(""), heater={"control": "switching"})
    quick, followed = of(batch(still, 0.6))
    assert quick.statistics == followed.statistics
    np.testing.assert_array_equal(quick.moisture_db, followed.moisture_db)
