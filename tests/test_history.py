"""What follows from the record: weights, ratios and mean values recomputed by hand."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air_text
from scipy.interpolate import CubicSpline, barycentric_interpolate

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.constants import MOLAR_MASS_WATER
from dryingsim.model.build import recipe_of
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import net_heat_of_sorption, water_activity
from dryingsim.simulate import run

BATCH = parse_batch(warm_air_text(), "demo")
SHORT = replace(BATCH, stages=(replace(BATCH.stages[0], duration_s=3600.0, until=None),))


@pytest.fixture(scope="module")
def history():
    return run(SHORT, nodes=12, interval_s=300.0)


def test_axes(history):
    t, n, m = 13, 12, 3
    assert history.time_s.shape == history.stage.shape == (t,)
    assert history.moisture_db.shape == history.temperature_K.shape == (t, n, m)
    assert history.vapour_kg_m2.shape == history.heat_J_m2.shape == (t, m)
    assert history.air_temperature_K.shape == history.air_vapour_pressure_Pa.shape == (t, m)
    assert history.area_m2.shape == (m,)
    assert history.surface_temperature_K.shape == history.surface_water_activity.shape == (t, 2, m)
    assert history.core_temperature_K.shape == history.thickness_m.shape == (t, m)


def test_first_record_is_the_batch_as_laid_on_the_trays(history):
    np.testing.assert_allclose(history.temperature_K[0], 277.15, rtol=1e-14)
    raw, salt, sugar = BATCH.meat.composition, 0.015, 0.012
    moisture = raw.water / (1.0 - raw.water + salt + sugar)
    np.testing.assert_allclose(history.moisture_db[0], moisture, rtol=1e-14)
    assert history.weight_kg[0].sum() == pytest.approx(0.7 * 1.027, rel=1e-12)
    np.testing.assert_allclose(history.thickness_m[0], [0.004, 0.005, 0.006], rtol=1e-12)
    assert history.weight_loss[0] == 0.0
    # water over protein: of the raw meat, since the marinade brought no water
    assert history.moisture_protein_ratio[0] == pytest.approx(raw.water / raw.protein, rel=1e-12)
    assert np.all(history.vapour_kg_m2[0] == 0.0)


def over_dry_mass(values, nodes):
    """Integral of nodal values (n, m) over the dry mass 0..1 by the trapezoidal rule."""
    return np.sum(0.5 * (values[1:] + values[:-1]) * np.diff(nodes)[:, None], axis=0)


def test_mean_moisture_is_the_integral_over_the_dry_mass(history):
    nodes = history.slabs.nodes
    for i in (0, 5, 12):
        by_hand = CubicSpline(nodes, history.moisture_db[i]).integrate(0.0, 1.0)
        # a smooth curve through few nodes against parabolas through them
        np.testing.assert_allclose(history.mean_moisture_db[i], by_hand, rtol=5e-3)


def test_weights_and_ratios_by_hand(history):
    raw = BATCH.meat.composition
    solids = 0.7 * (1.0 - raw.water + 0.027)  # kg, of the whole batch
    shares = np.array([0.25, 0.5, 0.25])
    np.testing.assert_allclose(history.dry_mass_kg, solids * shares, rtol=1e-12)
    x = history.mean_moisture_db[-1]
    weights = solids * shares * (1.0 + x)
    np.testing.assert_allclose(history.weight_kg[-1], weights, rtol=1e-12)
    assert history.weight_loss[-1] == pytest.approx(1.0 - weights.sum() / (0.7 * 1.027), rel=1e-12)
    water = float(np.sum(solids * shares * x))
    assert history.batch_moisture_db[-1] == pytest.approx(water / solids, rel=1e-12)
    assert history.moisture_protein_ratio[-1] == pytest.approx(water / (0.7 * raw.protein), rel=1e-12)


def test_vapour_is_what_the_weight_has_lost(history):
    given_off = history.vapour_kg_m2 * history.area_m2
    np.testing.assert_allclose(given_off, history.weight_kg[0] - history.weight_kg, rtol=1e-9, atol=1e-12)


def test_heat_received_covers_evaporation_and_warming(history):
    slabs = history.slabs
    nodes = slabs.nodes
    enthalpy = slabs.enthalpy(history.moisture_db[[0, -1]], history.temperature_K[[0, -1]])
    stored = (over_dry_mass(enthalpy[1], nodes) - over_dry_mass(enthalpy[0], nodes)) * slabs.dry_mass_kg_m2
    carried = history.heat_J_m2[-1] - stored
    per_kg = carried / history.vapour_kg_m2[-1]
    assert np.all(per_kg > 2.519e6)  # vapour of 10 degC
    assert np.all(per_kg < 2.612e6)  # of 60 degC


def test_the_heat_of_sorption_that_is_left_out_is_small(history):
    # what the slices need by their states, int q_s dX: q_s is not in their balance (validation/theory.md)
    x = np.geomspace(1e-3, 5.0, 3000)
    depression = -np.log(water_activity(x, 298.15, recipe_of(BATCH)[0]))
    to_bind = CubicSpline(x, net_heat_of_sorption(depression) / MOLAR_MASS_WATER).antiderivative()
    first, last = (to_bind(history.moisture_db[i]) for i in (0, -1))
    needed = over_dry_mass(first - last, history.slabs.nodes) * history.slabs.dry_mass_kg_m2
    assert np.all(needed > 0.0)
    assert np.all(needed < 0.006 * history.heat_J_m2[-1])  # the largest share that the theory page states


def test_water_activity_is_that_of_the_curve(history):
    recipe = recipe_of(BATCH)[0]
    exact = water_activity(history.moisture_db[-1], history.temperature_K[-1], recipe)
    np.testing.assert_allclose(history.water_activity[-1], exact, atol=1e-6)  # what the table promises
    even = water_activity(history.mean_moisture_db[-1], 298.15, recipe)
    np.testing.assert_allclose(history.equalised_water_activity[-1], even, atol=1e-6)


def test_faces_and_core_are_nodes_and_the_middle(history):
    np.testing.assert_array_equal(history.surface_temperature_K[:, 0], history.temperature_K[:, 0])
    np.testing.assert_array_equal(history.surface_temperature_K[:, 1], history.temperature_K[:, -1])
    np.testing.assert_array_equal(history.surface_water_activity[:, 1], history.water_activity[:, -1])
    # twelve nodes: the middle lies half-way between the sixth and the seventh, on the cubic through two on either side
    around = slice(4, 8)
    nodes, kelvin = history.slabs.nodes[around], history.temperature_K[:, around]
    np.testing.assert_allclose(
        history.core_temperature_K, barycentric_interpolate(nodes, kelvin, 0.5, axis=1), rtol=1e-12
    )


def test_air_and_its_wet_bulb(history):
    np.testing.assert_allclose(history.air_temperature_K, (155.0 - 32.0) / 1.8 + 273.15, rtol=1e-12)
    np.testing.assert_allclose(history.air_vapour_pressure_Pa, 0.45 * saturation_pressure(294.15), rtol=1e-12)
    wet = history.air_wet_bulb_K[3, 1]
    back = moist_air.vapour_pressure_from_wet_bulb(history.air_temperature_K[3, 1], wet, 101325.0)
    assert back == pytest.approx(history.air_vapour_pressure_Pa[3, 1], rel=1e-8)


def test_slices_shrink_by_the_water_they_lose(history):
    lost = history.mean_moisture_db[0] - history.mean_moisture_db[-1]
    shrunk = history.thickness_m[0] - history.thickness_m[-1]
    np.testing.assert_allclose(shrunk, lost * history.slabs.dry_mass_kg_m2 / 987.9, rtol=1e-12)


def test_text_form_says_what_it_is(history):
    assert "Food lab" in repr(history)
    assert "1.00 h" in repr(history)
