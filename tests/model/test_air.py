"""Given air: the kinds of humidity, ramps, and the film over slices against the correlations by hand."""

import numpy as np
import pytest

from dryingsim.batch.schema import Air, Humidity, Room
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.model.air import given_air, slice_film, vapour_pressure
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure

ROOM = Room(temperature_K=294.15, relative_humidity=0.45)
LENGTH, WIDTH = np.array([0.12, 0.12, 0.06]), np.array([0.05, 0.05, 0.03])


def air(celsius, kind="room", value=0.0, speed=1.0):
    return Air(temperature_K=celsius + 273.15, humidity=Humidity(kind=kind, value=value), speed_m_s=speed)


# --- humidity -----------------------------------------------------------------------------------------------
def test_room_air_keeps_its_vapour_when_warmed():
    expected = 0.45 * saturation_pressure(294.15)
    assert vapour_pressure(air(68.0), ROOM) == pytest.approx(expected, rel=1e-14)
    assert vapour_pressure(air(135.0), ROOM) == pytest.approx(expected, rel=1e-14)


def test_relative_humidity_is_that_of_the_warm_air():
    # ASHRAE Fundamentals ch. 1 table 3: 19 944 Pa at 60 degC (IAPWS and Hyland & Wexler agree to 0.01 %
    # there)
    assert vapour_pressure(air(60.0, "relative", 0.2), ROOM) == pytest.approx(0.2 * 19944.0, rel=2e-4)


def test_dew_point_is_where_the_vapour_saturates():
    assert vapour_pressure(air(60.0, "dew_point", 285.15), ROOM) == pytest.approx(saturation_pressure(285.15))


@pytest.mark.parametrize("pressure", [STANDARD_PRESSURE, 80000.0])
def test_wet_bulb_is_found_again(pressure):
    room = Room(temperature_K=294.15, relative_humidity=0.45, pressure_Pa=pressure)
    p = vapour_pressure(air(60.0, "wet_bulb", 308.15), room)
    assert moist_air.wet_bulb(333.15, p, pressure) == pytest.approx(308.15, abs=1e-6)


# --- constant air and ramps ---------------------------------------------------------------------------------
def test_constant_air_is_the_same_at_all_times():
    given = given_air(air(68.0), None, ROOM, 100.0, 1.0, LENGTH, WIDTH)
    assert given.at(0.0) is given.at(1e6)
    now = given.at(0.0)
    np.testing.assert_array_equal(now.temperature_K, 341.15)
    np.testing.assert_array_equal(now.wall_K, 341.15)  # the faces look at walls as warm as the air
    np.testing.assert_allclose(now.vapour_fraction, 0.45 * saturation_pressure(294.15) / STANDARD_PRESSURE)


def test_a_ramp_is_straight_between_its_ends():
    given = given_air(
        air(50.0, "relative", 0.4), air(70.0, "relative", 0.1), ROOM, 3600.0, 7200.0, LENGTH, WIDTH
    )
    ends = [0.4 * saturation_pressure(323.15), 0.1 * saturation_pressure(343.15)]
    for share in (0.0, 0.25, 1.0):
        now = given.at(3600.0 + 7200.0 * share)
        np.testing.assert_allclose(now.temperature_K, 323.15 + 20.0 * share, rtol=1e-14)
        np.testing.assert_allclose(now.wall_K, 323.15 + 20.0 * share, rtol=1e-14)
        np.testing.assert_allclose(
            now.vapour_fraction * STANDARD_PRESSURE, (1.0 - share) * ends[0] + share * ends[1], rtol=1e-12
        )


def test_a_ramp_to_the_same_air_is_constant():
    ramp = given_air(air(60.0), air(60.0), ROOM, 0.0, 600.0, LENGTH, WIDTH).at(200.0)
    constant = given_air(air(60.0), None, ROOM, 0.0, 600.0, LENGTH, WIDTH).at(200.0)
    np.testing.assert_allclose(ramp.temperature_K, constant.temperature_K, rtol=1e-14)
    np.testing.assert_array_equal(ramp.film.forced, constant.film.forced)


# --- film ---------------------------------------------------------------------------------------------------
def film_of(celsius, p, speed):
    one = np.ones(3)
    return slice_film((celsius + 273.15) * one, p * one, STANDARD_PRESSURE, speed * one, LENGTH, WIDTH)


# Computed plates (digest of kinetics, section 6, kin_h_flatplate.csv, apart from this code): 30 mm strip and
# 100 mm strip in air of 60 degC at 0.5, 1 and 2 m/s. Theirs takes the film at the mean of the air and its own
# surface temperature; printed with two or three digits. Properties of the film change h by 1 % per 20 K.
@pytest.mark.parametrize(
    ("length", "speed", "printed", "digit"),
    [(0.03, 0.5, 16.0, 0.5), (0.03, 1.0, 22.6, 0.05), (0.03, 2.0, 32.0, 0.5), (0.1, 1.0, 12.4, 0.05)],
)
def test_forced_film_is_the_laminar_plates(length, speed, printed, digit):
    one = np.ones(1)
    film = slice_film(333.15 * one, 1170.0 * one, STANDARD_PRESSURE, speed * one, length * one, 0.05 * one)
    np.testing.assert_allclose(film.forced, printed, atol=digit + 0.01 * printed)


def test_both_faces_are_alike_and_the_film_grows_with_the_root_of_speed_over_length():
    slow, fast = film_of(60.0, 1200.0, 0.5), film_of(60.0, 1200.0, 2.0)
    np.testing.assert_array_equal(slow.forced[0], slow.forced[1])
    np.testing.assert_allclose(fast.forced / slow.forced, 2.0, rtol=1e-12)  # laminar throughout
    np.testing.assert_allclose(slow.forced[:, 2] / slow.forced[:, 0], np.sqrt(2.0), rtol=1e-12)


def test_still_air_has_a_natural_film_only():
    film = film_of(60.0, 1200.0, 0.0)
    assert np.all(film.forced == 0.0)
    assert np.all(film.natural > 0.0)
    # quarter power of area over perimeter: 120 x 50 mm against 60 x 30 mm
    size = LENGTH * WIDTH / (2.0 * (LENGTH + WIDTH))
    assert film.natural[2] / film.natural[0] == pytest.approx((size[0] / size[2]) ** 0.25, rel=1e-12)


def test_vapour_film_per_heat_film_is_chilton_and_colburns():
    # dry air limit by hand: M_w/(M_a cp) Le^(-2/3), Le 0.86 at 45 degC (digest of kinetics: 0.863)
    factor = film_of(60.0, 1.0, 1.0).mass_factor
    expected = 18.015268 / (28.966 * 1006.0) / 0.863 ** (2.0 / 3.0)
    np.testing.assert_allclose(
        factor, expected, rtol=0.02
    )  # 1 % of Le between sources, 1 % of vapour in the film
