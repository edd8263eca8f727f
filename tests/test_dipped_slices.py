"""Slices in hot liquid: the exact plane-wall series, energy, bounds, and bad input."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from scipy.optimize import brentq

import dryingsim as ds
from dryingsim.errors import InputError
from dryingsim.judge.remedies import remedied
from dryingsim.kernels.grid import clustered_nodes, control_volumes
from dryingsim.model.build import build_slabs
from dryingsim.model.medium import LIQUID_W_M2K
from dryingsim.model.slab import WATER_CONDUCTIVITY, WATER_VOLUME
from validation.dipped_slices import heat_in_liquid, temperatures_in_liquid

BOIL = 373.15
TARGET = 344.26


@pytest.fixture(scope="module")
def batch():
    base = warm_air()
    classes = (ds.ThicknessClass(thickness_m=0.006, share=1.0),)
    return replace(base, meat=replace(base.meat, classes=classes))


def wall_series(batch, times, film):
    """Centre and face of a plane wall in liquid, 40 terms of the exact series: share of the way from the liquid."""
    slabs = build_slabs(batch, 24)
    x = slabs.initial_moisture_db[0]
    volume = slabs.solid_volume[0] + WATER_VOLUME * x
    k = (slabs.solid_volume[0] * slabs.solid_conductivity[0] + WATER_VOLUME * WATER_CONDUCTIVITY * x) / volume
    half = 0.5 * slabs.dry_mass_kg_m2[0] * volume
    capacity = slabs.heat_capacity(slabs.initial_moisture_db)[0] / volume
    biot = film * half / k
    zeta = np.array(
        [
            brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi + 1e-9, (n + 0.5) * np.pi - 1e-12)
            for n in range(40)
        ]
    )
    c = 4.0 * np.sin(zeta) / (2.0 * zeta + np.sin(2.0 * zeta))
    decay = c * np.exp(-np.outer(times * k / (capacity * half**2), zeta**2))
    return decay.sum(axis=1), (decay * np.cos(zeta)).sum(axis=1)


@pytest.mark.parametrize("film", [200.0, 1000.0, 5000.0])
def test_the_exact_series_of_a_plane_wall(batch, film):
    times = np.array([10.0, 30.0, 60.0, 120.0])
    got = temperatures_in_liquid(batch, times, BOIL, film_W_m2K=film, nodes=25)[..., 0]
    start = batch.meat.temperature_K
    centre, face = wall_series(batch, times, film)
    # 0.2 K of 96 K: second-order space steps on 25 nodes; time is exact
    np.testing.assert_allclose(got[:, 12], BOIL - (BOIL - start) * centre, atol=0.2)
    np.testing.assert_allclose(got[:, 0], BOIL - (BOIL - start) * face, atol=0.2)


@pytest.mark.parametrize("nodes", [12, 20])
def test_a_stage_in_liquid_ends_when_the_middle_of_a_plane_wall_is_so_hot(batch, nodes):
    heated = remedied(batch, "heated first")
    stage = heated.stages[0]
    boil, core = stage.air.temperature_K, stage.until.core_temperature_K

    def too_cold(time):
        centre, _ = wall_series(batch, np.array([time]), LIQUID_W_M2K)
        return core - (boil - (boil - batch.meat.temperature_K) * centre[0])

    ended = ds.run(heated, nodes=nodes).stage_end_s[0]
    # 0.1 s: what the end is looked for by, and 0.1 K of steps; with a straight line over the middle 12 nodes end 0.5 s early
    assert ended == pytest.approx(brentq(too_cold, 5.0, 300.0), abs=0.1)


def test_the_space_error_falls_with_the_square_of_the_spacing(batch):
    times = np.array([20.0])
    exact = BOIL - (BOIL - batch.meat.temperature_K) * wall_series(batch, times, 1000.0)[0][0]
    coarse, fine = (
        abs(temperatures_in_liquid(batch, times, BOIL, film_W_m2K=1000.0, nodes=n)[0, n // 2, 0] - exact)
        for n in (13, 49)
    )
    assert coarse / fine > 10.0  # 16 for second order


def test_warming_is_symmetric_monotone_and_bounded(batch):
    t = temperatures_in_liquid(batch, np.arange(0.0, 300.0), BOIL)[..., 0]
    np.testing.assert_allclose(t[0], batch.meat.temperature_K, atol=1e-9)
    np.testing.assert_allclose(t, t[:, ::-1], atol=1e-8)
    assert (np.diff(t, axis=0) > -1e-9).all()
    assert (t <= BOIL + 1e-9).all()
    assert t[-1].min() > BOIL - 1.0


def test_it_stops_when_the_coldest_place_is_hot_enough(batch):
    heated = heat_in_liquid(batch, TARGET, liquid_K=BOIL)
    coldest = heated.temperature_K.min(axis=(1, 2))
    assert coldest[-1] == heated.coldest_K >= TARGET > coldest[-2]
    mean = control_volumes(clustered_nodes(24)) @ heated.temperature_K[-1, :, 0]
    assert heated.mean_K == pytest.approx(mean)
    assert 20.0 < heated.time_s[-1] < 120.0  # a 6 mm slice, in a minute or so


def test_the_thickest_slices_decide():
    three = heat_in_liquid(warm_air(), TARGET, liquid_K=BOIL)  # 4, 5 and 6 mm
    assert three.temperature_K[-1, 12, 2] == pytest.approx(three.coldest_K, abs=0.5)
    assert three.temperature_K[-1, 12, 0] > three.temperature_K[-1, 12, 2] + 3.0


def test_liquid_that_is_not_hot_enough(batch):
    with pytest.raises(InputError, match="hotter than"):
        heat_in_liquid(batch, TARGET, liquid_K=TARGET)
    with pytest.raises(InputError, match="do not reach"):
        heat_in_liquid(batch, TARGET, liquid_K=TARGET + 0.1, film_W_m2K=1.0)


def test_liquid_is_as_hot_as_liquid_can_be(batch):
    with pytest.raises(InputError, match="liquid_K"):
        heat_in_liquid(batch, TARGET, liquid_K=500.0)
