"""Slices that are turned over, and faces that lie on a sheet or on one another: what counts on each side of the meat."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.engine.batch_group import BatchGroup, run_group
from dryingsim.explore.maps import map_over
from dryingsim.judge.exposed import Exposed, as_if_open, drier_side
from dryingsim.judge.growth_places import NodeHeights
from dryingsim.judge.sides import sides_of
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality.text import verdict_line

pytestmark = pytest.mark.usefixtures("coarse_steps")

HOUR = 3600.0
ROOM = ds.Humidity(kind="room")
COVERS = {
    "sheet": ("sheet", "flat"),
    "overlapping": ("mesh", "overlapping"),
    "pair on a sheet": ("sheet", "overlapping"),
}


def laid(cover=None, *, turn_h=1.0, hours=4.0, celsius=80.0, thickness=0.004, form="sliced", humidity=ROOM):
    """Slices in given air, turned over once unless that is left out."""
    support, lies = COVERS.get(cover, ("mesh", "flat"))
    base = warm_air()
    air = replace(base.stages[0].air, temperature_K=celsius + 273.15, humidity=humidity)
    spans = [turn_h, hours - turn_h] if turn_h else [hours]
    stages = tuple(
        ds.Stage(name="drying", air=air, duration_s=span * HOUR, turn=number > 0)
        for number, span in enumerate(spans)
    )
    classes = (ds.ThicknessClass(thickness_m=thickness, share=1.0, lies=lies),)
    meat = replace(base.meat, classes=classes, form=form)
    targets = ds.Targets(water_activity=0.1)  # many slices are followed until they are done, at most
    return replace(base, meat=meat, stages=stages, support=support, targets=targets)


@cache
def judged_of(cover, **way):
    """The verdict on such slices."""
    return judge_batch_lethality(ds.run(laid(cover, **way), nodes=8, interval_s=120.0))


def entry(judged, organism="salmonella"):
    return next(one for one in judged.organisms if one.organism == organism)


def trusting(history):
    """The lower bound if a covered face is as wet as it is simulated [log10]."""
    sides = sides_of(history)
    arrays = (
        history.time_s,
        sides.temperature_K,
        sides.water_activity,
        drier_side(sides.water_activity),
    )
    found = Exposed.of(arrays, "sliced", drying=True, from_cold=True).reduction("salmonella")
    return found.lower


@pytest.mark.parametrize(
    ("cover", "turn_h", "form"),
    [
        ("sheet", 1.0, "sliced"),
        ("sheet", 1.0, "minced"),
        ("sheet", 0.0, "sliced"),
        ("overlapping", 1.0, "sliced"),
        (None, 1.0, "sliced"),
    ],
)
def test_many_slices_tell_the_figure_of_a_run(cover, turn_h, form):
    """Within the steps of the engine, which are looser: 0.02 log."""
    batch = laid(cover, turn_h=turn_h, form=form)
    judged = entry(judge_as_computed(ds.run(batch, nodes=8, interval_s=60.0)))
    numbers, _ = run_group(
        BatchGroup.as_meant([batch]),
        organism="salmonella",
        levels=(),
        nodes=8,
        tolerance=1e-3,
        longest_s=HOUR,
    )
    assert float(numbers["lower"].min()) == pytest.approx(judged.lower, abs=0.02)
    assert float(numbers["best"].min()) == pytest.approx(judged.best, abs=0.02)


def test_spread_and_map_tell_the_figure_of_a_run_of_a_turned_sheet():
    batch = laid("sheet")
    judged = judge_as_computed(ds.run(batch, interval_s=30.0))
    exact = {key: replace(each, size=0.0) for key, each in ds.default_uncertainties().items()}
    many = ds.spread(batch, exact, slices=64)
    assert float(many.numbers["lower"].min()) == pytest.approx(entry(judged, many.organism).lower, abs=0.02)
    mapped = map_over(batch, {"thickness_m": np.array([0.004, 0.005])}, organism="salmonella")
    assert float(mapped.numbers["lower"][0]) == pytest.approx(entry(judged).lower, abs=0.02)


def test_what_happened_to_a_side_goes_with_it():
    history = ds.run(laid("sheet"), nodes=8, interval_s=300.0)
    sides, turned = sides_of(history), history.stage == 1
    np.testing.assert_array_equal(sides.temperature_K[~turned], history.temperature_K[~turned])
    np.testing.assert_array_equal(sides.temperature_K[turned], history.temperature_K[turned, ::-1])
    at = int(turned.argmax())  # a side has no jump where it is turned, the lower face has
    for values in (sides.water_activity, history.water_activity):
        jump = abs(values[at, 0, 0] - values[at - 1, 0, 0])
        assert (jump < 0.02) == (values is sides.water_activity)


@pytest.mark.parametrize("cover", COVERS)
def test_heat_counts_at_a_covered_face_as_at_the_open_one(cover):
    history = ds.run(laid(cover, turn_h=0.0), nodes=8, interval_s=300.0)
    wet, heat = history.water_activity[-1, [0, -1], 0], sides_of(history).heat_water_activity[-1, [0, -1], 0]
    assert wet[0] > wet[1] + 0.1
    np.testing.assert_array_equal(heat[0], heat[1])
    assert as_if_open(np.array(0.5), np.array(0.9), np.array(True)) == 0.5  # a drier one stays as it is


@pytest.mark.parametrize("turn_h", [0.0, 1.0])
@pytest.mark.parametrize("cover", COVERS)
@pytest.mark.parametrize(("celsius", "thickness"), [(75.0, 0.006), (95.0, 0.004)])
def test_a_cover_alone_makes_no_verdict_better(cover, turn_h, celsius, thickness):
    """Beside the same slices apart on mesh."""
    way = {"turn_h": turn_h, "celsius": celsius, "thickness": thickness}
    judged, mesh = (judged_of(each, **way) for each in (cover, None))
    assert "covered_counts_as_open" in [one.key for one in judged.warnings]
    assert "covered_counts_as_open" not in [one.key for one in mesh.warnings]
    for one, other in zip(judged.organisms, mesh.organisms, strict=True):
        assert one.grade != "met" or other.grade == "met"


def test_what_was_simulated_would_have_made_it_better():
    """So that the test above has something to hold back."""
    history = ds.run(laid("sheet", celsius=95.0), nodes=12, interval_s=120.0)
    judged = entry(judge_batch_lethality(history))
    assert trusting(history) > 5.0 > judged.lower
    assert judged.lower < 4.0


def test_what_holds_under_a_cover_alone_is_not_shown():
    """In humid air, measured, the open face of a covered slice stays wet for longer than both faces do on mesh."""
    humid = ds.Humidity(kind="wet_bulb", value=330.15, measured=True)
    way = {"celsius": 85.0, "thickness": 0.006, "humidity": humid}
    sheet, mesh = (ds.run(laid(cover, **way), nodes=12, interval_s=60.0) for cover in ("sheet", None))
    assert judge_as_computed(sheet).grade == "met"
    assert judge_as_computed(mesh).grade != "met"
    judged = judge_batch_lethality(sheet)
    assert judged.grade == "not shown"
    assert "cover_decides" in [one.key for one in judged.warnings]


def test_each_side_of_a_covered_slice_that_is_turned_is_at_times_without_air():
    height, open_ = np.linspace(0.0, 0.006, 4)[:, None], np.array([False])
    still = NodeHeights(height_m=height, lower_open=open_)
    turned = NodeHeights(height_m=height, lower_open=open_, turned=True)
    np.testing.assert_allclose(still.depth_m[:, 0], [0.006, 0.004, 0.002, 0.0], atol=1e-12)
    np.testing.assert_allclose(turned.depth_m[:, 0], [0.006, 0.004, 0.004, 0.006], atol=1e-12)


def test_a_stage_waits_for_where_slices_touch():
    base = laid("overlapping", turn_h=0.0, thickness=0.006)
    liquid = ds.Stage(
        name="heat", kind="marinade", air=ds.Air(temperature_K=368.15, humidity=ROOM, speed_m_s=0.0),
        until=ds.Until(core_temperature_K=344.26),
    )  # fmt: skip
    history = ds.run(replace(base, stages=(liquid, *base.stages)), nodes=12, interval_s=300.0)
    at = int(np.searchsorted(history.time_s, history.stage_end_s[0]))
    touching, coldest = history.temperature_K[at, 0, 0], history.temperature_K[at, :, 0].min()
    assert touching == coldest
    assert history.core_temperature_K[at, 0] == coldest
    assert (
        344.2 < coldest < 345.0
    )  # it is found within a second, and the slice warms by less than a kelvin in that


def test_a_side_is_named_by_where_it_lay_at_first():
    told = {}
    for turn_h in (0.0, 1.0):
        history = ds.run(laid("sheet", turn_h=turn_h), nodes=8, interval_s=300.0)
        told[turn_h] = verdict_line(judge_as_computed(history), Units(history, "metric"))
    assert (
        "the surface that lay below at first" in told[1.0]
        or "the surface that lay on top at first" in told[1.0]
    )
    assert "at first" not in told[0.0]
