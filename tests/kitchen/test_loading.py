"""Laying slices on trays: counts that can be done by hand."""

import pytest

from dryingsim.batch.catalog.cuts import find_cut
from dryingsim.batch.schema import Composition
from dryingsim.errors import InputError
from dryingsim.kitchen.loading import SlicedMeat, Tray, lay_out
from dryingsim.model.surroundings import PACKING

EYE = find_cut("test", "beef eye of round").composition


def slices(**changes):
    size = {"weight_kg": 0.7, "thickness_m": 0.005, "length_m": 0.12, "width_m": 0.05}
    return SlicedMeat(composition=EYE, **{**size, **changes})


def test_area_weight_and_count_agree():
    found = lay_out(slices())
    assert found.area_m2 * 0.005 * found.density_kg_m3 == pytest.approx(0.7, rel=1e-12)
    assert abs(found.count * found.slice_kg - 0.7) <= 0.5 * found.slice_kg
    # raw meat is 1063.5-1067 kg/m3 (data sheet); textbooks have up to 1090
    assert found.density_kg_m3 == pytest.approx(1065.0, abs=15.0)
    assert found.layout is None


def test_water_alone_is_water():
    water = Composition(water=1.0, protein=0.0, fat=0.0, carbohydrate=0.0, ash=0.0)
    found = lay_out(SlicedMeat(composition=water, weight_kg=1.0, thickness_m=0.01, length_m=0.1, width_m=0.1))
    assert found.density_kg_m3 == pytest.approx(1000.0, rel=4e-3)  # the component's own error at 4 degC
    assert found.count == 10  # 1.003 litres in tenths of a litre


def test_rows_by_hand():
    # 260 mm tray, 5 mm gaps: 2 of 120 mm (245), 4 of 50 mm (215); turned the same way about
    layout = lay_out(slices(), Tray(length_m=0.26, width_m=0.26, slots=5)).layout
    assert (layout.rows, layout.across, layout.per_tray, layout.turned) == (2, 4, 8, False)
    assert (layout.trays, layout.in_rows, layout.loads) == (3, 3, 1)
    assert layout.cover == pytest.approx(8 * 0.12 * 0.05 / 0.26**2)


def test_slices_are_turned_where_that_takes_more():
    layout = lay_out(slices(), Tray(length_m=0.10, width_m=0.30)).layout
    assert layout.turned
    assert (layout.rows, layout.across) == (1, 2)
    assert layout.loads is None


def test_gap_that_just_fits_and_no_gap():
    assert lay_out(slices(), Tray(length_m=0.245, width_m=0.05), 0.005).layout.per_tray == 2
    assert lay_out(slices(), Tray(length_m=0.244, width_m=0.05), 0.005).layout.per_tray == 1
    assert lay_out(slices(), Tray(length_m=0.24, width_m=0.05), 0.0).layout.per_tray == 2


def test_more_than_the_appliance_holds_takes_several_loads():
    layout = lay_out(slices(weight_kg=7.0), Tray(length_m=0.26, width_m=0.26, slots=5)).layout
    assert layout.in_rows == 28  # 220 slices by 8
    assert (layout.trays, layout.loads) == (25, 5)


def test_by_area_counts_as_the_simulation_does():
    found = lay_out(slices(weight_kg=7.0), Tray(length_m=0.26, width_m=0.26))
    exact = found.area_m2 / (PACKING * 0.26 * 0.26)
    assert exact <= found.layout.trays < exact + 1.0


def test_slice_larger_than_the_tray():
    with pytest.raises(InputError, match="does not fit on a tray of 100 by 100 mm"):
        lay_out(slices(), Tray(length_m=0.1, width_m=0.1))


def test_a_scrap_is_still_a_slice():
    assert lay_out(slices(weight_kg=0.001)).count == 1


def test_drip_is_a_share_of_the_weight_within_its_range():
    found = lay_out(slices())
    assert found.drip_range_kg[0] < found.drip_kg < found.drip_range_kg[1] < 0.1 * 0.7
