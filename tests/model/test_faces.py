"""At the faces: signs, sealed faces, equilibrium, slopes, and the film over them."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air_text

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Air, Humidity
from dryingsim.constants import MASS_RATIO, STANDARD_PRESSURE, STEFAN_BOLTZMANN
from dryingsim.model.air import given_air
from dryingsim.model.build import build_slabs, recipe_of
from dryingsim.model.faces import (
    CARRIED,
    CONVECTED,
    LOWER,
    RADIATED,
    UPPER,
    VAPOUR,
    FaceExchange,
    Film,
    film_coefficient,
)
from dryingsim.properties.water import heat_of_evaporation, saturation_pressure, vapour_enthalpy
from dryingsim.properties.water_activity import water_activity

BATCH = parse_batch(warm_air_text(), "demo")
SLABS, RECIPE = build_slabs(BATCH, 9), recipe_of(BATCH)[0]  # three slabs
ONE = np.ones(3)
BOTH = np.ones((2, 3))


WARM = Air(temperature_K=333.15, humidity=Humidity(kind="room"), speed_m_s=1.0)
BASE = given_air(WARM, None, BATCH.room, 0.0, 1.0, 0.12 * ONE, 0.05 * ONE).start


def air(celsius, vapour_pressure, *, forced=15.0, natural=0.0, wall=None):
    film = Film(forced=forced * BOTH, natural=natural * ONE, mass_factor=6.2e-4 * ONE)
    return replace(
        BASE,
        temperature_K=(celsius + 273.15) * ONE,
        vapour_fraction=vapour_pressure / STANDARD_PRESSURE * ONE,
        wall_K=((celsius if wall is None else wall) + 273.15) * BOTH,
        film=film,
    )


def exchange(surroundings, moisture, celsius, slabs=SLABS):
    return FaceExchange(slabs, surroundings, moisture * BOTH, (celsius + 273.15) * BOTH)


# --- signs --------------------------------------------------------------------------------------------------
def test_warm_dry_air_draws_vapour_out_and_puts_heat_in():
    boundary_flux = exchange(air(60.0, 1000.0), 2.0, 30.0).boundary_flux
    assert np.all(boundary_flux > 0.0)


def test_cold_meat_in_humid_air_takes_condensate_and_its_heat():
    boundary_flux = exchange(air(60.0, 10000.0), 2.0, 4.0).boundary_flux
    assert np.all(boundary_flux[VAPOUR] < 0.0)
    assert np.all(boundary_flux[CARRIED] < 0.0)  # enthalpy comes in
    assert np.all(boundary_flux[CONVECTED] > 0.0)


def test_meat_hotter_than_air_and_walls_gives_heat_off():
    boundary_flux = exchange(air(20.0, 1000.0), 2.0, 60.0).boundary_flux
    assert np.all(boundary_flux[[CONVECTED, RADIATED]] < 0.0)
    assert np.all(boundary_flux[VAPOUR] > 0.0)


def test_nothing_passes_in_equilibrium():
    t = 323.15
    activity = np.exp(SLABS.sorption.log_activity(0.4 * ONE, t * ONE, SLABS.recipe))[0]
    boundary_flux = exchange(air(50.0, activity * saturation_pressure(t)), 0.4, 50.0).boundary_flux
    # against what passes 1 K away from it; the logarithms of the flux round to 1e-16 of their 1
    away = exchange(air(51.0, activity * saturation_pressure(t)), 0.4, 50.0).boundary_flux
    assert np.all(boundary_flux[[CONVECTED, RADIATED]] == 0.0)
    assert np.all(np.abs(boundary_flux[VAPOUR]) < 1e-12 * 15.0 * 6.2e-4)
    assert np.all(away[[CONVECTED, RADIATED]] > 0.0)


def test_drier_faces_evaporate_less_at_the_same_cost():
    wet, dry = (exchange(air(60.0, 1000.0), x, 40.0).boundary_flux for x in (2.0, 0.1))
    assert np.all(dry[VAPOUR] < 0.5 * wet[VAPOUR])
    cost = [(p[CARRIED] / p[VAPOUR])[0, 0] for p in (wet, dry)]
    np.testing.assert_allclose(cost, vapour_enthalpy(313.15), rtol=1e-12)  # whatever holds the water


# --- sealed faces, walls ------------------------------------------------------------------------------------
def test_a_sealed_face_passes_heat_but_no_vapour():
    slabs = replace(SLABS, vapour_open=np.array([[0.0], [1.0]]) * BOTH)
    boundary_flux = exchange(air(60.0, 1000.0), 2.0, 30.0, slabs).boundary_flux
    assert np.all(boundary_flux[[VAPOUR, CARRIED], LOWER] == 0.0)
    assert np.all(boundary_flux[VAPOUR, UPPER] > 0.0)
    assert np.all(
        boundary_flux[CONVECTED, LOWER] > boundary_flux[CONVECTED, UPPER]
    )  # no vapour blows against the heat


def test_an_insulated_sealed_face_passes_nothing():
    closed = np.array([[0.0], [1.0]]) * BOTH
    boundary_flux = exchange(
        air(60.0, 1000.0), 2.0, 30.0, replace(SLABS, vapour_open=closed, heat_open=closed)
    ).boundary_flux
    assert np.all(boundary_flux[:, LOWER] == 0.0)
    assert np.all(boundary_flux[:, UPPER] != 0.0)


def test_radiation_is_stefan_and_boltzmanns_for_each_face():
    surroundings = replace(air(60.0, 1000.0), wall_K=np.array([[350.0], [320.0]]) * BOTH)
    got = exchange(surroundings, 2.0, 30.0).boundary_flux[RADIATED]
    expected = SLABS.emissivity * STEFAN_BOLTZMANN * (np.array([[350.0], [320.0]]) ** 4 - 303.15**4)
    np.testing.assert_allclose(got, expected * BOTH, rtol=1e-12)


# --- size of the fluxes -------------------------------------------------------------------------------------
def test_small_fluxes_are_those_of_the_linear_film():
    # 1 K and 100 Pa: film theory tends to h dT and beta h dp/P; the corrections are y and phi/2, each below 5
    # %
    t, p = 303.15, saturation_pressure(303.15)
    slabs = SLABS
    activity = np.exp(slabs.sorption.log_activity(2.0 * ONE, t * ONE, slabs.recipe))[0]
    got = exchange(air(31.0, activity * p - 100.0), 2.0, 30.0).boundary_flux
    np.testing.assert_allclose(got[CONVECTED], 15.0, rtol=0.01)
    y = activity * p / STANDARD_PRESSURE
    np.testing.assert_allclose(got[VAPOUR], 6.2e-4 * 15.0 * 100.0 / STANDARD_PRESSURE / (1.0 - y), rtol=0.002)


def test_a_wet_face_without_radiation_settles_at_the_psychrometers_temperature():
    """Heat by convection pays for the evaporation; the balance is solved here by bisection, apart from the solver."""
    slabs = replace(SLABS, emissivity=0.0)
    surroundings = air(60.0, 1000.0)

    def surplus(celsius):
        p = exchange(surroundings, 15.0, celsius, slabs).boundary_flux[:, 0, 0]
        return p[CONVECTED] - p[VAPOUR] * heat_of_evaporation(celsius + 273.15)

    low, high = 0.0, 60.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if surplus(middle) > 0.0 else (low, middle)
    # psychrometer equation e = e_s(t_w) - A P (t - t_w), A = 1/(beta L P) by its own definition; linear film,
    # so the corrections (y/2 + phi/2, some 3 % of the flux) shift it by a few tenths of a kelvin
    wet = low + 273.15
    activity = water_activity(15.0, wet, RECIPE)
    e = activity * saturation_pressure(wet) - STANDARD_PRESSURE * (60.0 - low) / (
        6.2e-4 * heat_of_evaporation(wet)
    )
    steep = (
        saturation_pressure(wet + 0.5)
        - saturation_pressure(wet - 0.5)
        + STANDARD_PRESSURE / (6.2e-4 * heat_of_evaporation(wet))
    )
    assert (e - 1000.0) / steep == pytest.approx(0.0, abs=0.5)
    assert 20.0 < low < 30.0


# --- slopes -------------------------------------------------------------------------------------------------
def taylor(slabs, surroundings, x, t, dx, dt, rows):
    """Return what the linear prediction misses, over h, for two sizes of h."""
    base = FaceExchange(slabs, surroundings, x, t)
    slope, out = base.slopes(), []
    for h in (1e-2, 5e-3):
        moved = FaceExchange(slabs, surroundings, x + h * dx, t + h * dt).boundary_flux
        miss = moved - base.boundary_flux - h * (slope[:, 0] * dx + slope[:, 1] * dt)
        out.append(
            np.linalg.norm((miss / np.abs(base.boundary_flux).max(axis=(1, 2), keepdims=True))[rows]) / h
        )
    return out


STATES = {"wet": (2.0, 310.0), "half dry": (0.5, 320.0), "dry": (0.12, 330.0)}


@pytest.mark.parametrize(("moisture", "kelvin"), STATES.values(), ids=STATES.keys())
def test_slopes_of_vapour_and_radiation_are_exact_with_a_fixed_film(moisture, kelvin):
    miss = taylor(
        SLABS,
        air(68.0, 1200.0),
        moisture * BOTH,
        kelvin * BOTH,
        0.3 * moisture * BOTH,
        -5.0 * BOTH,
        [VAPOUR, RADIATED],
    )
    assert miss[0] / miss[1] == pytest.approx(2.0, rel=0.15)  # the second derivative itself changes over h


def test_slope_of_convection_is_exact_where_no_vapour_blows_against_it():
    # left out: the change of Ackermann's correction with the vapour flux
    slabs = replace(SLABS, vapour_open=0.0 * BOTH)
    base = exchange(air(68.0, 1200.0), 0.5, 40.0, slabs)
    moved = exchange(air(68.0, 1200.0), 0.6, 41.0, slabs)
    np.testing.assert_allclose(
        (moved.boundary_flux - base.boundary_flux)[CONVECTED], base.slopes()[CONVECTED, 1], rtol=1e-12
    )
    assert np.all(base.slopes()[CONVECTED, 0] == 0.0)


def test_slope_of_the_carried_enthalpy_is_exact_with_a_fixed_film():
    miss = taylor(SLABS, air(68.0, 1200.0), 0.2 * BOTH, 320.0 * BOTH, 0.0 * BOTH, 5.0 * BOTH, [CARRIED])
    assert miss[0] / miss[1] == pytest.approx(2.0, rel=0.1)
    for moisture in (2.0, 0.3):
        h = 1e-4 * moisture
        base = exchange(air(68.0, 1200.0), moisture, 45.0)
        up, down = (exchange(air(68.0, 1200.0), moisture + s, 45.0).boundary_flux[CARRIED] for s in (h, -h))
        np.testing.assert_allclose(base.slopes()[CARRIED, 0], (up - down) / (2.0 * h), rtol=1e-6)


def test_slopes_by_the_air_are_exact_with_a_fixed_film():
    def at(h, which):
        base = air(60.0, 3000.0, wall=70.0)
        step = [h * (which == k) for k in range(4)]
        return replace(
            base,
            temperature_K=base.temperature_K + step[0],
            vapour_fraction=base.vapour_fraction + 1e-2 * step[1],
            wall_K=base.wall_K + np.array([[step[2]], [step[3]]]),
        )

    slope = exchange(at(0.0, 0), 0.5, 40.0).input_slopes()
    for which in range(4):
        numeric = (
            exchange(at(1e-3, which), 0.5, 40.0).boundary_flux
            - exchange(at(-1e-3, which), 0.5, 40.0).boundary_flux
        ) / (2e-3 * (1e-2 if which == 1 else 1.0))
        rows = [VAPOUR, CARRIED, RADIATED] if which == 1 else [VAPOUR, CARRIED, CONVECTED, RADIATED]
        np.testing.assert_allclose(slope[rows, which], numeric[rows], rtol=1e-6, atol=1e-6)


# --- film ---------------------------------------------------------------------------------------------------
def test_moving_air_gives_the_forced_film_whatever_the_face():
    film = film_coefficient(air(60.0, 1000.0), (303.15) * BOTH, 0.04 * BOTH)
    np.testing.assert_allclose(film, 15.0)


def test_still_air_moves_twice_as_well_below_a_cold_slab_as_above_it():
    # McAdams: 0.54 for a cold face down, 0.27 for a cold face up; both faces of one slab at the same
    # difference
    film = film_coefficient(air(60.0, 1000.0, forced=0.0, natural=5.0), 303.15 * BOTH, 0.01 * BOTH)
    # the change between the two is rounded off over 1 K: 0.1 % at 30 K
    np.testing.assert_allclose(film[LOWER], 2.0 * film[UPPER], rtol=1e-3)
    warm = film_coefficient(air(30.0, 1000.0, forced=0.0, natural=5.0), 333.15 * BOTH, 0.01 * BOTH)
    np.testing.assert_allclose(warm[UPPER], 2.0 * warm[LOWER], rtol=1e-3)


def test_still_air_follows_the_quarter_power_of_the_virtual_difference():
    vapour = 0.01
    ratio = (1.0 - (1.0 - MASS_RATIO) * vapour) / 1.0
    surroundings = replace(air(60.0, 0.0, forced=0.0, natural=5.0), vapour_fraction=vapour * ONE)
    film = film_coefficient(surroundings, 313.15 * BOTH, vapour * BOTH)
    # 20 K of real, 20 K/ratio of virtual difference; rounding off over 1 K changes 1e-3
    np.testing.assert_allclose(film[UPPER], 0.27 * 5.0 * (20.0 / ratio) ** 0.25, rtol=1e-3)


def test_moist_air_at_a_wet_face_is_lighter_than_it_is_cold():
    # face 5 K colder than the air but much moister (y 0.10 against 0.01: 11 K of virtual difference): it
    # rises
    film = film_coefficient(
        replace(air(50.0, 0.0, forced=0.0, natural=5.0), vapour_fraction=0.01 * ONE),
        318.15 * BOTH,
        0.10 * BOTH,
    )
    assert np.all(film[UPPER] > film[LOWER])


def test_forced_and_natural_add_by_cubes():
    separate = [
        film_coefficient(air(60.0, 1000.0, forced=f, natural=n), 303.15 * BOTH, 0.04 * BOTH)
        for f, n in ((8.0, 0.0), (0.0, 3.0))
    ]
    both = film_coefficient(air(60.0, 1000.0, forced=8.0, natural=3.0), 303.15 * BOTH, 0.04 * BOTH)
    np.testing.assert_allclose(both**3, separate[0] ** 3 + separate[1] ** 3, rtol=1e-12)


# --- air that is not plentiful ------------------------------------------------------------------------------
@pytest.mark.parametrize("celsius", [30.0, 60.0, 85.0, 92.0])
def test_scarce_air_leaves_as_moist_as_the_face_can_make_it_and_no_moister(celsius):
    flow = 1e-3  # kg of dry air a second, past a square metre of face
    warm = air(celsius + 5.0, 1500.0)
    factor = float(warm.film.mass_factor[0])
    # of the potential -ln(1 - y), in which dry air takes up MASS_RATIO of its flow for each unit
    carrying = 1e3 * ONE, flow * MASS_RATIO / factor * ONE
    scarce = replace(warm, film=replace(warm.film, carrying=carrying))
    taken = exchange(scarce, 2.0, celsius).boundary_flux[VAPOUR, UPPER]
    activity = np.exp(SLABS.sorption.log_activity(2.0 * ONE, (celsius + 273.15) * ONE, SLABS.recipe))
    at_face = activity * saturation_pressure(celsius + 273.15) / STANDARD_PRESSURE
    coming = 1500.0 / STANDARD_PRESSURE
    could = flow * MASS_RATIO * (at_face / (1.0 - at_face) - coming / (1.0 - coming))
    # far more film than air: all that it can take but for exp(-NTU); with the straight line of dry air 0.56 at 85 degC
    np.testing.assert_allclose(taken, could, rtol=0.02 if celsius < 90.0 else 0.1)
    assert np.all(taken <= could * (1.0 + 1e-9))


def test_plentiful_air_is_not_minded():
    warm = air(65.0, 1500.0)
    plenty = replace(warm, film=replace(warm.film, carrying=(1e9 * ONE, 1e9 * ONE)))
    np.testing.assert_allclose(
        exchange(plenty, 2.0, 50.0).boundary_flux, exchange(warm, 2.0, 50.0).boundary_flux, rtol=1e-6
    )
