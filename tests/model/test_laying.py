"""Slices that overlap or lie on foil: which faces are open, how long they take, what they cover."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.laying import laid
from dryingsim.engine.batch_group import BatchGroup, groups_of, run_group
from dryingsim.engine.ensemble import TOLERANCE
from dryingsim.engine.slices import Differences, different_slices
from dryingsim.explore.maps import map_over
from dryingsim.judge.growth_places import NodeHeights
from dryingsim.judge.trays import judge_trays
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.judge.yield_and_cost import judge_yield
from dryingsim.kitchen.loads import loads_of
from dryingsim.kitchen.packed_meat import product_of
from dryingsim.model.build import build_slabs, slice_area
from dryingsim.model.laying import face_area, slab_thickness, tray_area

FLAT = (ds.ThicknessClass(thickness_m=0.005, share=1.0),)
HALVES = laid(FLAT, {"sheet": 0.25, "overlapping": 0.25})
HOUR = 3600.0


def lying(classes=HALVES, hours=14.0, support="mesh", **changes):
    """The demonstration in given air."""
    demo = warm_air()
    stage = replace(demo.stages[0], until=None, duration_s=hours * HOUR)
    meat = replace(demo.meat, classes=classes, **changes)
    return replace(demo, meat=meat, stages=(stage,), support=support)


@pytest.fixture(scope="module")
def history():
    return ds.run(lying(), nodes=16, interval_s=600.0)


def done_s(history):
    return [window.expected_s for window in ds.judge_batch(history).doneness.classes]


def test_faces_that_touch_are_sealed():
    slabs = build_slabs(lying(), 5)
    np.testing.assert_array_equal(slabs.vapour_open, [[1.0, 0.0, 0.0], [1.0, 1.0, 1.0]])
    np.testing.assert_array_equal(slabs.heat_open, [[1.0, 1.0, 0.0], [1.0, 1.0, 1.0]])
    pair = build_slabs(lying(support="sheet"), 5)
    np.testing.assert_array_equal(pair.vapour_open, [[0.0] * 3, [1.0] * 3])
    np.testing.assert_array_equal(pair.heat_open, 1.0)
    assert pair.dry_mass_kg_m2[2] == 2.0 * pair.dry_mass_kg_m2[0]
    np.testing.assert_array_equal(slab_thickness(lying(support="sheet")), [0.005, 0.005, 0.01])


@pytest.mark.parametrize("support", ["mesh", "sheet"])
def test_a_pair_covers_the_tray_of_one(support):
    batch = lying(support=support)
    area = slice_area(batch, build_slabs(batch, 5))
    np.testing.assert_allclose(tray_area(batch, area) / area[0], [1.0, 0.5, 0.25], rtol=1e-12)
    np.testing.assert_allclose(face_area(batch, area) / area[0], [1.0, 0.5, 0.5], rtol=1e-12)


def test_overlapping_slices_take_two_to_four_times_as_long_and_stay_wet_where_they_touch(history):
    """Two: the air alone decides; four: the meat alone (one face for two)."""
    flat, sheet, overlapping = done_s(history)
    assert 2.0 < overlapping / flat < 4.0
    assert flat < sheet < overlapping  # heat comes through a sheet
    then = int(np.searchsorted(history.time_s, flat))
    touching, outer = history.surface_water_activity[then, :, 2]
    assert touching > 0.93
    assert outer < 0.5


def test_flat_slices_do_not_notice_in_given_air(history):
    alone = ds.run(lying(FLAT), nodes=16, interval_s=600.0)
    # all slabs share their steps, whose error is some thousandths
    np.testing.assert_allclose(history.mean_moisture_db[:, 0], alone.mean_moisture_db[:, 0], rtol=5e-3)


def test_where_slices_touch_bacteria_sit_and_are_judged(history):
    with_pairs, alone = (
        judge_batch_lethality(one) for one in (history, ds.run(lying(FLAT), nodes=16, interval_s=600.0))
    )
    assert "slices_overlap" in [one.key for one in with_pairs.warnings]
    assert "slices_overlap" not in [one.key for one in alone.warnings]
    grown, flat = (
        next(one for one in judged.growth if one.organism == "salmonella") for judged in (with_pairs, alone)
    )
    assert (with_pairs.slab_lies[grown.slab], grown.node) != ("flat", 0)
    assert grown.upper > flat.upper + 0.3
    heights = NodeHeights(
        height_m=history.slabs.nodes[:, None] * history.thickness_m[0],
        lower_open=history.slabs.vapour_open[0] > 0.0,
    )
    np.testing.assert_allclose(heights.depth_m[0], [0.0, 0.005, 0.005], rtol=1e-9)  # air does not get between


def test_a_stage_waits_for_the_overlapping_slices(history):
    batch = lying()
    until = ds.Until(water_activity=0.85)
    stage = replace(batch.stages[0], until=until)
    ended = ds.run(replace(batch, stages=(stage,)), nodes=16, interval_s=600.0)
    assert ended.stage_end_s[0] == pytest.approx(done_s(history)[2], rel=2e-3)


@pytest.mark.parametrize("support", ["mesh", "sheet"])
def test_many_slices_at_once_are_the_same(support):
    """The engine of spread, map and plan against a run, class by class."""
    batch = lying(hours=4.0, support=support)
    run = ds.run(batch, nodes=12)
    groups, problems = groups_of([batch, batch])
    assert (groups, problems) == ([[0, 1]], [])
    numbers, _ = run_group(
        BatchGroup.as_meant([batch, batch]),
        organism=None,
        levels=(0.85,),
        nodes=12,
        tolerance=TOLERANCE,
        longest_s=HOUR,
    )
    moisture = numbers["moisture_db"].reshape(2, 3)
    np.testing.assert_allclose(moisture[0], run.mean_moisture_db[-1], atol=2e-3)
    one = np.ones(3)
    as_meant = Differences(
        kind=np.arange(3),
        thickness=one,
        diffusivity=one,
        half_moisture=one,
        film=one,
        marinade=one,
        water=0.0 * one,
    )
    slices, _ = different_slices(batch, as_meant, np.zeros(3, dtype=int), 12)
    for name in ("dry_mass_kg_m2", "vapour_open", "heat_open"):
        np.testing.assert_allclose(getattr(slices.slabs, name), getattr(run.slabs, name), rtol=1e-12)


def test_a_map_over_thickness_keeps_how_slices_lie(history):
    found = map_over(lying(), {"thickness_m": np.array([0.004, 0.005])}, organism=None, nodes=16)
    assert found.numbers["done_s"][1] == pytest.approx(done_s(history)[2], rel=5e-3)


def test_in_an_appliance_pairs_share_trays_and_air():
    """All overlapping: half the tray covered, as many pieces, and the outer faces alone take from the air."""
    flat, pairs = (
        ds.run(replace(batch, meat=replace(batch.meat, classes=classes)), nodes=8)
        for batch in [in_stack(3.0)]
        for classes in (FLAT, laid(FLAT, {"overlapping": 1.0}))
    )
    # as many slices on fewer trays
    covered = [judge_trays(one).cover * judge_trays(one).used for one in (flat, pairs)]
    assert covered[1] == pytest.approx(0.5 * covered[0], rel=1e-9)
    pieces = [judge_yield(one, ds.judge_batch(one), None, None, None).pieces for one in (flat, pairs)]
    assert pieces[0] == pieces[1]
    assert pairs.weight_kg[0].sum() == pytest.approx(flat.weight_kg[0].sum(), rel=1e-12)
    assert pairs.weight_loss[-1] < 0.8 * flat.weight_loss[-1]
    assert max(pairs.water_closure, pairs.chamber.water_closure) < 1e-9
    much = [replace(one.batch, meat=replace(one.batch.meat, weight_kg=3.0)) for one in (flat, pairs)]
    loads = [loads_of(batch).count for batch in much]
    assert loads[0] > loads[1]


def test_batches_that_lie_differently_are_not_one_build():
    flat = in_stack(3.0)
    one = replace(flat, meat=replace(flat.meat, classes=FLAT))
    other = replace(flat, meat=replace(flat.meat, classes=laid(FLAT, {"overlapping": 1.0})))
    assert groups_of([one, other])[0] == [[0], [1]]


def test_a_side_that_stayed_wet_counts_in_the_package(history):
    assert product_of(history).one_sided
    assert not product_of(ds.run(lying(FLAT, hours=1.0), nodes=8)).one_sided
