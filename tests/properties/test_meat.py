"""Meat: handbook examples and table rows, measured values, an independent coding of the same equations."""

import numpy as np
import pytest
from made_late import coolprop

from dryingsim.errors import InputError
from dryingsim.properties import meat

ZERO = 273.15
FOOD = {"fibre": "Fiber"}
TOP_ROUND = {"protein": 0.2359, "fat": 0.0294, "ash": 0.0112}  # USDA NDB 23357, without its water


def food(output, component, kelvin):
    fluid = "INCOMP::Food" + FOOD.get(component, component.capitalize())
    return np.array([coolprop.PropsSI(output, "T", t, "P", 101325, fluid) for t in kelvin])


@pytest.mark.parametrize("component", meat.COMPONENTS)
def test_components_against_an_independent_coding(component):
    t = np.linspace(-38.0, -2.0, 5) + ZERO if component == "ice" else np.linspace(2.0, 140.0, 9) + ZERO
    np.testing.assert_allclose(meat.component_conductivity(component, t), food("L", component, t), rtol=1e-6)
    np.testing.assert_allclose(meat.component_density(component, t), food("D", component, t), rtol=1e-6)
    if component != "water":  # see the next test
        np.testing.assert_allclose(
            meat.component_specific_heat(component, t), food("C", component, t), rtol=1e-6
        )


def test_water_component_is_water():
    t = np.array([1.0, 20.0, 40.0, 60.0, 80.0, 99.0]) + ZERO

    def real(name):
        return np.array([coolprop.PropsSI(name, "T", x, "P", 101325, "Water") for x in t])

    # IAPWS; the quadratics are smoothed over 0-150 degC and worst at the cold end. From 20 degC upward the
    # 2006 handbook's constant of the specific heat, 1.0-1.3 % low, would fail.
    np.testing.assert_allclose(meat.component_specific_heat("water", t), real("C"), rtol=1e-2)
    np.testing.assert_allclose(meat.component_specific_heat("water", t[1:]), real("C")[1:], rtol=2e-3)
    np.testing.assert_allclose(meat.component_density("water", t), real("D"), rtol=3e-3)
    np.testing.assert_allclose(meat.component_conductivity("water", t), real("L"), rtol=2.7e-2)
    np.testing.assert_allclose(meat.component_conductivity("water", t[1:]), real("L")[1:], rtol=1e-2)


@pytest.mark.parametrize(
    ("cut", "printed"),
    [
        ({"water": 0.7083, "protein": 0.2203, "fat": 0.0489, "ash": 0.0107}, 3520.0),  # round, lean
        ({"water": 0.7170, "protein": 0.2124, "fat": 0.0440, "ash": 0.0108}, 3530.0),  # sirloin, lean
        ({"water": 0.6840, "protein": 0.2078, "fat": 0.0790, "ash": 0.0104}, 3430.0),  # tenderloin, lean
    ],
)
def test_specific_heat_of_lean_beef(cut, printed):
    # ASHRAE Refrigeration (2006) ch. 9, table 3, beef: printed to 10 J/(kg K), temperature not stated
    # (5-20 degC is worth 6 J/(kg K)), compositions from memory. Water at 4.1289 kJ would give 3483 for round.
    assert meat.mixture(cut, 293.15).specific_heat == pytest.approx(printed, abs=20.0)


def test_frozen_pork_example():
    # ASHRAE Refrigeration (2006) ch. 9, example 3 (from memory, recomputed apart): lean pork shoulder at
    # -40 degC with ice fraction 0.6715: 992 kg/m3, conductivity 1.96 parallel and 0.519 perpendicular
    pork = {"water": 0.7263 - 0.6715, "ice": 0.6715, "protein": 0.1955, "fat": 0.0714, "ash": 0.0102}
    got = meat.mixture(pork, -40 + ZERO)
    assert got.density == pytest.approx(992.0, abs=0.5)
    assert got.conductivity_parallel == pytest.approx(1.96, abs=0.005)
    assert got.conductivity_series == pytest.approx(0.519, abs=0.0005)


@pytest.mark.parametrize(
    ("moisture", "density", "heat", "parallel", "levy", "series"),
    [
        (2.642, 1047.4, 3599.5, 0.5571, 0.5286, 0.4571),
        (1.0, 1106.1, None, 0.4688, 0.4316, 0.3581),
        (0.3, 1185.4, None, 0.3495, 0.3217, 0.2770),
        (0.15, 1217.9, None, 0.3005, 0.2824, 0.2534),
    ],
)
def test_drying_top_round_at_60_against_an_independent_computation(
    moisture, density, heat, parallel, levy, series
):
    # computed apart from the same equations; equal to the last digit kept
    solids = sum(TOP_ROUND.values()) * (1.0 + moisture)
    mix = {name: x / solids for name, x in TOP_ROUND.items()} | {"water": moisture / (1.0 + moisture)}
    got = meat.mixture(mix, 60 + ZERO)
    assert got.density == pytest.approx(density, abs=0.1)
    assert got.conductivity_parallel == pytest.approx(parallel, abs=1.5e-4)
    assert got.conductivity_levy == pytest.approx(levy, abs=1.5e-4)
    assert got.conductivity_series == pytest.approx(series, abs=1.5e-4)
    if heat is not None:
        assert got.specific_heat == pytest.approx(heat, abs=0.5)


@pytest.mark.parametrize("celsius", [0.0, 10.0, 20.0])
def test_measured_conductivity_of_chicken_breast(celsius):
    # Sweat, Haugh & Stadelman (1973): 0.476 + 0.00060 t, white meat, 0-20 degC; composition USDA 5062.
    # Published error of such models for meats: 7 % (Baghe-Khandan & Okos 1981).
    breast = {"water": 0.739, "protein": 0.225, "fat": 0.0262, "ash": 0.0113}
    got = meat.mixture(breast, celsius + ZERO)
    measured = 0.476 + 0.00060 * celsius
    assert got.conductivity_levy == pytest.approx(measured, rel=0.07)
    assert got.conductivity_series < measured < got.conductivity_parallel


def test_beef_of_a_textbook():
    # Geankoplis, example 5.5-1: beef k 0.498 W/(m K), density 1073 kg/m3, specific heat 3.48 kJ/(kg K), of
    # unstated cut; our top round at 20 degC, made to sum to one. The tolerances are half the spread of beef
    # between textbooks (k 0.45-0.50, density 1057-1090); specific heat comes out 2.8 % high, as it would for
    # four points more water, so it is held to one typical difference between cuts.
    raw = TOP_ROUND | {"water": 0.7296}
    got = meat.mixture({name: x / sum(raw.values()) for name, x in raw.items()}, 293.15)
    assert got.conductivity_levy == pytest.approx(0.498, rel=0.05)
    assert got.density == pytest.approx(1073.0, rel=0.0155)
    assert got.specific_heat == pytest.approx(3480.0, rel=0.036)


def test_fractions_are_not_normalised():
    part = {"water": 0.5, "protein": 0.2}
    got, whole = meat.mixture(part, 300.0), meat.mixture({"water": 5 / 7, "protein": 2 / 7}, 300.0)
    assert got.specific_heat == pytest.approx(0.7 * whole.specific_heat)
    assert got.density == pytest.approx(whole.density / 0.7)
    assert got.conductivity_levy == pytest.approx(whole.conductivity_levy)  # shares of the volume


def test_levy_is_symmetric_and_has_its_limits():
    v = np.linspace(0.0, 1.0, 21)
    one = meat.levy(0.62, 0.21, v)
    np.testing.assert_allclose(one, meat.levy(0.21, 0.62, 1.0 - v), rtol=1e-13)
    np.testing.assert_allclose(one[[0, -1]], [0.21, 0.62], rtol=1e-13)
    np.testing.assert_allclose(meat.levy(0.4, 0.4, v), 0.4, rtol=1e-15)
    assert np.all(np.diff(one) > 0.0)
    # the printed form with its division by s
    ratio = 0.62 / 0.21
    s = (ratio - 1) ** 2 / ((ratio + 1) ** 2 + ratio / 2)
    b = 2 / s - 1 + 2 * v
    f = 0.5 * (b - np.sqrt(b**2 - 8 * v / s))
    printed = 0.21 * (2 + ratio + 2 * (ratio - 1) * f) / (2 + ratio - (ratio - 1) * f)
    np.testing.assert_allclose(one, printed, rtol=1e-12)


def test_conductivities_are_ordered_and_rise_with_water():
    water = np.linspace(0.0, 1.0, 41)
    solids = 1.0 - water
    got = meat.mixture(
        {"water": water, "protein": 0.85 * solids, "fat": 0.1 * solids, "ash": 0.05 * solids}, 330.0
    )
    slack = 1e-12
    assert np.all(got.conductivity_series <= got.conductivity_levy + slack)
    assert np.all(got.conductivity_levy <= got.conductivity_parallel + slack)
    for rising in (got.conductivity_levy, got.specific_heat, -got.density):
        assert np.all(np.diff(rising) > 0.0)
    assert got.conductivity_levy[-1] == pytest.approx(meat.component_conductivity("water", 330.0))


def test_mixture_broadcasts():
    water, t = np.array([[0.2], [0.7]]), np.array([290.0, 320.0, 350.0])
    got = meat.mixture({"water": water, "protein": 1.0 - water}, t)
    assert got.conductivity_levy.shape == got.density.shape == got.specific_heat.shape == (2, 3)
    one = meat.mixture({"water": 0.7, "protein": 1.0 - 0.7}, 350.0)
    assert np.ndim(one.conductivity_levy) == 0
    assert got.conductivity_levy[1, 2] == pytest.approx(one.conductivity_levy, rel=1e-14)


@pytest.mark.parametrize(
    "call", [meat.component_density, meat.component_conductivity, meat.component_specific_heat]
)
def test_unknown_component_is_named_with_the_known_ones(call):
    with pytest.raises(InputError, match=r"'fibres' is not known; .*water, protein, .*fibre"):
        call("fibres", 300.0)


def test_unknown_component_in_a_mixture():
    with pytest.raises(InputError, match="'starch'"):
        meat.mixture({"water": 0.7, "starch": 0.3}, 300.0)


def test_dry_solids_complete_the_wet_meat():
    # water and dry solids put together again give the whole mixture's density and specific heat
    whole = meat.mixture(TOP_ROUND | {"water": 0.7235}, meat.DRY_SOLIDS_TEMPERATURE)
    dry = {name: x / sum(TOP_ROUND.values()) for name, x in TOP_ROUND.items()}
    solid = meat.dry_solids(dry["protein"], dry["fat"], 0.0, dry["ash"], 0.0, 0.0)
    t = meat.DRY_SOLIDS_TEMPERATURE
    heat = 0.2765 * solid.specific_heat + 0.7235 * meat.component_specific_heat("water", t)
    volume = 0.2765 * solid.specific_volume + 0.7235 / meat.component_density("water", t)
    assert whole.specific_heat == pytest.approx(heat, rel=1e-12)
    assert 1.0 / whole.density == pytest.approx(volume, rel=1e-12)
    dry_mixture = meat.mixture(dry, t)
    assert solid.conductivity == pytest.approx(dry_mixture.conductivity_parallel, rel=1e-15)


def test_salt_counts_as_ash_and_sugar_as_carbohydrate():
    one = meat.dry_solids(0.7, 0.1, 0.02, 0.04, 0.06, 0.08)
    two = meat.dry_solids(0.7, 0.1, 0.10, 0.10, 0.0, 0.0)
    assert one.specific_heat == pytest.approx(two.specific_heat, rel=1e-14)
    assert one.specific_volume == pytest.approx(two.specific_volume, rel=1e-14)
    assert one.conductivity == pytest.approx(two.conductivity, rel=1e-14)


def test_dry_solids_temperature_error_is_as_stated():
    t = np.array([10.0, 40.0, 80.0]) + ZERO
    got = meat.dry_solids(0.85, 0.11, 0.0, 0.04, 0.0, 0.0, temperature=t)
    heat, volume = (
        got.specific_heat / got.specific_heat[1] - 1,
        got.specific_volume / got.specific_volume[1] - 1,
    )
    conductivity = got.conductivity / got.conductivity[1] - 1
    # -2 to +3, -1.2 to +1.6, -12 to +13 %, within the rounding of the statement
    assert heat[[0, 2]] * 100 == pytest.approx([-2.0, 2.5], abs=0.5)
    assert volume[[0, 2]] * 100 == pytest.approx([-1.2, 1.6], abs=0.1)
    assert conductivity[[0, 2]] * 100 == pytest.approx([-12.0, 13.0], abs=0.5)


def test_dry_solids_take_arrays():
    protein = np.array([0.8, 0.9])
    got = meat.dry_solids(protein, 0.95 - protein, 0.0, 0.05, 0.0, 0.0)
    assert got.specific_heat.shape == got.specific_volume.shape == got.conductivity.shape == (2,)
