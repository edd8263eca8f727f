"""Thermometers against ice and boiling water: what is true there, how far off they are, how a limit moves."""

import pytest

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.kitchen.fixed_points import boiling_check, ice_check


@pytest.mark.parametrize(("pressure_kPa", "boils_C"), [(70.18, 90.0), (84.61, 95.0), (101.33, 99.97)])
def test_water_boils_where_steam_tables_say(pressure_kPa, boils_C):
    """IAPWS formulation of 1995, saturation table (from memory); the last digit of its pressures is 0.005 K."""
    found = boiling_check(368.15, 0.1, pressure_Pa=1e3 * pressure_kPa).true_K - ZERO_CELSIUS
    assert found == pytest.approx(boils_C, abs=0.01)


def test_height_lowers_the_boiling_point_by_a_degree_in_three_hundred_metres():
    """Common practice: about 1 °C for each 300 m (1 °F for 500 ft)."""
    low, high = (boiling_check(368.15, 0.1, altitude_m=metres).true_K for metres in (0.0, 1500.0))
    assert low - high == pytest.approx(5.0, abs=0.2)


def test_weather_is_part_of_the_range_unless_the_pressure_was_read():
    by_height = boiling_check(372.15, 0.1)
    by_pressure = boiling_check(372.15, 0.1, pressure_Pa=101325.0)
    assert by_height.true_high_K - by_height.true_low_K > 1.2
    assert by_pressure.true_high_K - by_pressure.true_low_K < 0.2
    assert by_height.true_K == by_pressure.true_K


def test_a_limit_is_shifted_by_the_largest_error_and_never_lowered():
    high = ice_check(ZERO_CELSIUS + 1.2, 0.2)
    assert (high.off_low_K, high.off_high_K) == (pytest.approx(0.9), pytest.approx(1.5))
    assert high.shown_for(344.15) == pytest.approx(345.65)
    low = ice_check(ZERO_CELSIUS - 1.2, 0.2)
    assert low.shown_for(344.15) == 344.15
    assert not high.doubtful
    assert ice_check(ZERO_CELSIUS + 2.5, 0.2).doubtful


def test_what_was_no_fixed_point_is_told():
    with pytest.raises(InputError, match=r"32\.0 degC where 0\.0 degC is true: was it in ice and water"):
        ice_check(ZERO_CELSIUS + 32.0, 1.0)
