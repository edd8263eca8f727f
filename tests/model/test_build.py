"""From a batch to slabs: masses, thickness, area, what is sealed, what is narrow."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air_text
from made_history import in_stack

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Marinade, ThicknessClass
from dryingsim.model.build import build_slabs, moistened, recipe_of, slice_area, with_ideal_thermostat
from dryingsim.properties import meat
from dryingsim.properties.diffusivity import LEAN_MEAT

BATCH = parse_batch(warm_air_text(), "demo")


def with_meat(**changes):
    return replace(BATCH, meat=replace(BATCH.meat, **changes))


def test_recipe_holds_what_a_kilogram_of_meat_and_its_marinade_hold():
    recipe, solids, water = recipe_of(BATCH)
    raw = BATCH.meat.composition
    # 15 g/kg salt and 12 g/kg sugar in the demonstration batch
    assert solids == pytest.approx(1.0 - raw.water + 0.015 + 0.012, rel=1e-14)
    assert recipe.protein * solids == pytest.approx(raw.protein, rel=1e-14)
    assert recipe.salt * solids == pytest.approx(0.015, rel=1e-14)
    assert recipe.sugar * solids == pytest.approx(0.012, rel=1e-14)
    assert water == raw.water


@pytest.mark.parametrize("gained", [0.05, -0.05])
def test_water_of_the_marinade_counts(gained):
    batch = replace(BATCH, marinade=Marinade(water_kg_kg=gained))
    _, solids, water = recipe_of(batch)
    assert water == pytest.approx(BATCH.meat.composition.water + gained)
    np.testing.assert_allclose(build_slabs(batch, 5).initial_moisture_db, water / solids)


def test_thickness_as_laid_on_the_tray_is_that_of_the_class():
    slabs = build_slabs(BATCH, 5)
    np.testing.assert_allclose(
        slabs.thickness(slabs.initial_moisture_db), [c.thickness_m for c in BATCH.meat.classes], rtol=1e-14
    )


def test_another_moisture_leaves_the_thickness_and_changes_the_dry_mass():
    slabs = build_slabs(BATCH, 6)
    wetter = moistened(slabs, slabs.initial_moisture_db + 0.3)
    np.testing.assert_allclose(
        wetter.thickness(wetter.initial_moisture_db), slabs.thickness(slabs.initial_moisture_db), rtol=1e-14
    )
    assert np.all(wetter.dry_mass_kg_m2 < slabs.dry_mass_kg_m2)


def test_an_ideal_thermostat_is_all_that_changes():
    assert with_ideal_thermostat(BATCH) is BATCH  # in given air there is none
    batch = in_stack(1.0)
    heater = replace(batch.appliance.heater, control="switching")
    switching = replace(batch, appliance=replace(batch.appliance, heater=heater))
    ideal = with_ideal_thermostat(switching)
    assert ideal.appliance.heater.control == "ideal"
    assert replace(ideal, appliance=switching.appliance) == switching


def test_all_slices_together_weigh_what_the_batch_and_its_marinade_weigh():
    slabs = build_slabs(BATCH, 5)
    weight = slice_area(BATCH, slabs) * slabs.dry_mass_kg_m2 * (1.0 + slabs.initial_moisture_db)
    expected = 0.7 * (1.0 + 0.015 + 0.012)
    assert weight.sum() == pytest.approx(expected, rel=1e-12)
    np.testing.assert_allclose(weight / weight.sum(), [0.25, 0.5, 0.25], rtol=1e-12)


def test_area_is_volume_over_thickness():
    """0.7 kg of slices: their volume over their thickness, with the density of the components summed by hand."""
    batch = replace(with_meat(classes=(ThicknessClass(thickness_m=0.005, share=1.0),)), marinade=Marinade())
    raw = batch.meat.composition
    solids = 1.0 - raw.water
    t = 313.15  # where the package takes the dry solid; water at 50 degC
    parts = {"protein": raw.protein, "fat": raw.fat, "carbohydrate": raw.carbohydrate, "ash": raw.ash}
    volume = sum(x / meat.component_density(name, t) for name, x in parts.items()) + raw.water / 987.9
    assert sum(parts.values()) == pytest.approx(solids, abs=1e-12)
    area = slice_area(batch, build_slabs(batch, 5))
    assert area == pytest.approx(0.7 * volume / 0.005, rel=1e-9)


def test_slices_on_a_sheet_have_a_sealed_lower_face_that_conducts():
    open_, sheet = build_slabs(BATCH, 5), build_slabs(replace(BATCH, support="sheet"), 5)
    assert np.all(open_.vapour_open == 1.0)
    np.testing.assert_array_equal(sheet.vapour_open, [[0.0] * 3, [1.0] * 3])
    assert np.all(sheet.heat_open == 1.0)


def test_edges_count_in_full_at_any_width():
    np.testing.assert_array_equal(build_slabs(BATCH, 5).edge_length_m, 0.025)  # 50 mm wide
    strips = build_slabs(with_meat(width_m=0.020), 5)
    np.testing.assert_array_equal(strips.edge_length_m, 0.010)
    np.testing.assert_allclose(strips.edge_area, 2.0 * np.array([4.0, 5.0, 6.0]) / 20.0, rtol=1e-12)


def test_shapes_and_diffusivity():
    slabs = build_slabs(BATCH, 7)
    assert slabs.nodes.shape == (7,)
    assert slabs.diffusivity == LEAN_MEAT
    for name in ("dry_mass_kg_m2", "initial_moisture_db", "solid_volume", "diffusivity_factor", "recipe"):
        assert getattr(slabs, name).shape == (3,)
    np.testing.assert_array_equal(slabs.diffusivity_factor, 1.0)
