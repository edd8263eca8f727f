"""Films, silica gel and the air of a package: known values, limits, directions."""

import numpy as np
import pytest

from dryingsim.batch.catalog import packages
from dryingsim.batch.catalog.packages import Span, find_package
from dryingsim.errors import InputError
from dryingsim.properties import packaging
from dryingsim.properties.water import saturation_pressure

COLD, ROOM, WARM = 277.15, 298.15, 311.15


def test_gel_is_dry_in_dry_air_and_full_in_wet_air():
    assert packaging.gel_uptake(0.0, ROOM) == 0.0
    assert packaging.gel_uptake(1.0, ROOM) == pytest.approx(0.40, rel=0.02)


def test_gel_holds_more_in_moister_and_in_colder_air():
    humidity = np.linspace(0.01, 0.99, 99)
    held = packaging.gel_uptake(humidity, ROOM)
    assert held.shape == humidity.shape
    assert np.all(np.diff(held) > 0.0)
    assert np.all(packaging.gel_uptake(humidity, COLD) > held)


def test_gel_obeys_clausius_clapeyron_where_it_is_dry():
    """Far from full the load follows K alone, whose heat is 2.71 MJ/kg: more than that of condensing water."""
    load, change = 0.05, 1.0
    pressures = []
    for kelvin in (ROOM - change, ROOM + change):
        humidity = np.linspace(0.01, 0.5, 5001)
        pressures.append(
            np.interp(load, packaging.gel_uptake(humidity, kelvin), humidity * saturation_pressure(kelvin))
        )
    rise = np.log(pressures[1] / pressures[0])
    heat = rise * packaging.VAPOUR_CONSTANT / (1.0 / (ROOM - change) - 1.0 / (ROOM + change))
    assert heat == pytest.approx(2.71e6, rel=1e-3)


def test_permeability_is_its_table_value_at_38_degrees_and_falls_in_the_cold():
    assert packaging.permeability(3.0, 33.0e3, packaging.TABLE_TEMPERATURE) == 3.0
    assert packaging.permeability(3.0, 33.0e3, COLD) < packaging.permeability(3.0, 33.0e3, ROOM) < 3.0
    assert packaging.permeability(3.0, 0.0, COLD) == 3.0


def test_transmission_has_the_sign_and_the_size_of_its_driving_force():
    rate = packaging.transmission_rate(1e-11, ROOM, np.array([-0.5, 0.0, 0.5]))
    assert rate == pytest.approx([-1e-11 * 0.5 * 3169.0, 0.0, 1e-11 * 0.5 * 3169.0], rel=1e-3)


def test_air_water_is_the_ideal_gas():
    assert packaging.air_water(1.0, 1.0, ROOM) == pytest.approx(3169.0 / 461.5 / ROOM, rel=1e-3)


# ---- the catalog


def test_every_package_is_tighter_than_none_and_names_its_source():
    for package in packages.packages().values():
        low, middle, high = package.conductances(0.05, ROOM)
        assert 0.0 < middle <= high
        assert low <= middle
        assert len(package.source) > 20
    assert packages.source()


def test_order_of_the_packages_is_that_of_their_tightness():
    """Polyethylene lets more through than a nylon laminate, that more than metal, and a jar least of all."""
    names = ("zip bag", "freezer bag", "vacuum pouch", "metallised pouch", "foil pouch")
    wall = [packages.packages()[name].permeance_38C.middle for name in names]
    assert wall == sorted(wall, reverse=True)


def test_a_transmission_rate_is_given_back():
    foil = packages.packages()["foil pouch"]
    rate = packaging.transmission_rate(foil.permeance_38C.high, WARM, 0.9)
    assert rate * 86400.0 == pytest.approx(0.05e-3, rel=1e-12)


def test_middle_of_a_span():
    assert Span(1.0, 4.0).middle == pytest.approx(2.0)
    assert Span(0.0, 4.0).middle == 2.0


def test_package_is_found_whatever_its_capitals_and_a_stranger_is_not():
    assert find_package("x", " Zip  BAG ").name == "zip bag"
    with pytest.raises(InputError, match="did you mean 'jar'"):
        find_package("--package", "jars")
