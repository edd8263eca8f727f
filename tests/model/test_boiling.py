"""Boiling inside: the source and its slopes, and hot finishes that stay at the boiling point."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.model.boiling import Boiling, may_boil
from dryingsim.model.build import build_slabs
from dryingsim.model.faces import CARRIED, VAPOUR, vapour_over
from dryingsim.properties.moist_air import dew_point
from dryingsim.properties.water import saturation_pressure
from dryingsim.simulate import run

BATCH = warm_air()
SLABS = build_slabs(BATCH, 6)
KINDS = SLABS.dry_mass_kg_m2.size


def states(seed=0):
    rng = np.random.default_rng(seed)
    return 0.1 + 1.5 * rng.random((6, KINDS)), 365.0 + 15.0 * rng.random((6, KINDS))


def source(x, t):
    return Boiling(SLABS, x, t, vapour_over(SLABS, STANDARD_PRESSURE, x, t))


def test_nothing_boils_below_the_pressure_and_more_the_further_above():
    x = 1.0 * np.ones((6, KINDS))
    boiled = [source(x, t * np.ones((6, KINDS))).boundary_flux[VAPOUR] for t in (370.0, 376.0, 380.0)]
    assert np.all(boiled[0] == 0.0)
    assert np.all(boiled[1] > 0.0)
    assert np.all(boiled[2] > boiled[1])


def test_slopes_are_those_of_what_boils_away():
    x, t = states()

    def flux(dx, dt):
        return source(x + dx, t + dt).boundary_flux

    slope = source(x, t).slopes()
    by_x, by_t = (flux(1e-6, 0.0) - flux(-1e-6, 0.0)) / 2e-6, (flux(0.0, 1e-4) - flux(0.0, -1e-4)) / 2e-4
    scale = np.abs(by_t[VAPOUR]).max()
    np.testing.assert_allclose(slope[VAPOUR, 0], by_x[VAPOUR], rtol=1e-4, atol=1e-5 * scale)
    np.testing.assert_allclose(slope[VAPOUR, 1], by_t[VAPOUR], rtol=1e-4, atol=1e-5 * scale)
    scale = np.abs(by_t[CARRIED]).max()
    np.testing.assert_allclose(slope[CARRIED, 0], by_x[CARRIED], rtol=1e-4, atol=1e-5 * scale)
    np.testing.assert_allclose(slope[CARRIED, 1], by_t[CARRIED], rtol=1e-4, atol=1e-5 * scale)


@pytest.mark.parametrize("pressure", [50e3, 80e3, STANDARD_PRESSURE, 108e3])
def test_whatever_boils_is_looked_at(pressure):
    boiling = float(dew_point(pressure))  # of pure water: meat, less active, boils above
    assert may_boil(np.array([boiling]), pressure)
    assert not may_boil(np.array([boiling - 3.0, np.nan]), pressure)


@pytest.mark.parametrize(("celsius", "speed"), [(135.0, 1.0), (150.0, 3.0)])
def test_a_hot_finish_stays_at_the_boiling_point(celsius, speed):
    stage = BATCH.stages[0]
    air = replace(stage.air, temperature_K=celsius + 273.15, speed_m_s=speed)
    hot = replace(BATCH, stages=(replace(stage, air=air, duration_s=3600.0, until=None),))
    history = run(hot)
    slabs = build_slabs(hot, history.moisture_db.shape[1])
    log_activity = slabs.sorption.log_activity(history.moisture_db, history.temperature_K, slabs.recipe)
    over = np.exp(log_activity) * saturation_pressure(history.temperature_K) / hot.room.pressure_Pa
    assert 1.0 < over.max() <= 1.02  # the source is smooth: a little above is what drives it
    assert history.water_closure < 1e-9
    assert history.energy_closure < 1e-6
