"""Maps over one or two parameters: each point is the slice it says, whatever the grid."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air, warm_air_text
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.executors import processes
from dryingsim.errors import InputError
from dryingsim.explore.compare import judged, measure
from dryingsim.explore.maps import map_file, map_over
from dryingsim.explore.spread import spread
from dryingsim.explore.vary import load_grid, read_request
from dryingsim.kitchen.loads import loads_of


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=9 * 3600.0),))


@pytest.fixture(scope="module")
def found(batch):
    axes = {"thickness_m": np.array([3e-3, 5e-3, 7e-3]), "air_K": np.array([328.15, 341.4833333])}
    return map_over(batch, axes)


def test_a_point_is_a_run_of_its_own(batch, found):
    meat = replace(batch.meat, classes=(ds.ThicknessClass(thickness_m=5e-3, share=1.0),))
    own = ds.run(replace(batch, meat=meat))
    done = ds.judge_batch(own).doneness.batch.expected_s
    # notes five minutes apart on one side, one on the other
    assert found.numbers["done_s"][1, 1] == pytest.approx(done, abs=30.0)
    assert found.numbers["moisture_db"][1, 1] == pytest.approx(own.mean_moisture_db[-1, 0], abs=5e-4)


def test_hours_given_as_seconds_are_refused(batch):
    with pytest.raises(InputError, match="duration_s = 5 is outside 60 to 31622400; seconds are expected"):
        map_over(batch, {"thickness_m": np.array([5e-3])}, duration_s=5)


def test_thick_and_cool_takes_longer(found):
    done = found.numbers["done_s"]
    assert done.shape == (3, 2)
    assert np.all(done[1:] >= done[:-1])
    assert np.all(done[:, 1] <= done[:, 0])
    assert np.all(found.numbers["lower"][:, 1] >= found.numbers["lower"][:, 0])


@pytest.mark.parametrize("until", [ds.Until(water_activity=0.85), ds.Until(weight_loss=0.55)])
def test_what_the_clock_takes_out_wet_is_not_done_whatever_comes_after(until):
    demo = warm_air()  # its drying is followed by an oven
    stages = (replace(demo.stages[0], until=until, duration_s=3 * 3600.0), demo.stages[1])
    found = map_over(
        replace(demo, stages=stages), {"thickness_m": np.array([3e-3, 7e-3, 25e-3])}, organism=None
    )
    done, brittle = found.numbers["done_s"], found.numbers["brittle_s"]
    assert 3600.0 < done[0] < 2 * 3600.0
    np.testing.assert_array_equal(done[1:], np.inf)
    np.testing.assert_array_equal(brittle[1:], np.inf)


HOT = ds.Until(core_temperature_K=330.0), ds.Until(weight_loss=0.3), ds.Until(water_activity=0.95)


@pytest.fixture(scope="module", params=HOT, ids=["core", "weight loss", "water activity"])
def hot_start(request):
    """A hot start that ends by a condition long before the meat is dry; then as many hours as the clock tells."""
    demo = warm_air()
    hot = replace(demo.stages[1], until=request.param, duration_s=None)
    warm = replace(demo.stages[0], until=None, duration_s=9 * 3600.0)
    one = (ds.ThicknessClass(thickness_m=5e-3, share=1.0),)
    return replace(demo, meat=replace(demo.meat, classes=one), stages=(hot, warm))


def test_a_hot_start_is_not_where_the_drying_ends(hot_start):
    done_s = ds.judge_batch(ds.run(hot_start, nodes=8)).doneness.batch.expected_s
    assert done_s > 2 * 3600.0
    mapped = map_over(hot_start, {"thickness_m": np.array([5e-3])}, organism=None, nodes=8)
    # as `assert_as_run`
    assert mapped.numbers["done_s"][0] == pytest.approx(done_s, rel=5e-3)
    sure = {key: Uncertainty("normal", 0.0) for key in INPUTS}
    many = spread(hot_start, sure, slices=64, nodes=8)
    assert many.done_quantile(0.5) == pytest.approx(done_s, rel=5e-3)
    assert many.planned_s == pytest.approx(9 * 3600.0, rel=0.2)


def test_in_an_appliance_too():
    batch = in_stack(2.0)
    stages = (
        replace(batch.stages[0], until=ds.Until(water_activity=0.85)),
        replace(batch.stages[0], duration_s=600.0),
    )
    found = map_over(
        replace(batch, stages=stages), {"thickness_m": np.array([2e-3, 8e-3])}, organism=None, nodes=12
    )
    assert found.numbers["done_s"][0] < 2 * 3600.0
    assert found.numbers["done_s"][1] == np.inf


def test_the_grid_changes_nothing(batch, found):
    one = map_over(batch, {"air_K": found.axes["air_K"], "thickness_m": np.array([7e-3, 3e-3])})
    np.testing.assert_array_equal(one.numbers["done_s"].T[::-1], found.numbers["done_s"][::2])


@pytest.mark.parametrize(
    ("key", "values", "slower"),
    [
        ("diffusivity_factor", [0.5, 2.0], 0),
        ("film_factor", [0.5, 2.0], 0),
        ("moisture_db", [2.0, 3.0], 1),
        ("speed_m_s", [0.2, 3.0], 0),
    ],
)
def test_every_parameter_works_the_way_it_should(batch, key, values, slower):
    done = map_over(batch, {key: np.array(values)}, organism=None, nodes=12).numbers["done_s"]
    assert done.argmax() == slower
    assert done[0] != done[1]


def test_moist_room_air_is_that_of_a_run_in_it(batch):
    # which way it goes is not plain: moister air dries less, but keeps the meat warmer
    done = map_over(batch, {"room_humidity": np.array([0.1, 0.9])}, organism=None).numbers["done_s"]
    for humidity, time in zip((0.1, 0.9), done, strict=True):
        own = ds.run(replace(batch, room=replace(batch.room, relative_humidity=humidity)))
        assert time == pytest.approx(ds.judge_batch(own).doneness.batch.expected_s, abs=30.0)


@pytest.mark.parametrize(
    ("axes", "says"),
    [
        ({}, "0 parameters to map over: one or two are expected"),
        ({"thickness": [1.0]}, "known: 'thickness_m'"),
        ({"thickness_m": [1.0], "air_K": [1.0], "film_factor": [1.0]}, "3 parameters"),
    ],
)
def test_mistakes_are_told(batch, axes, says):
    with pytest.raises(InputError, match=says):
        map_over(batch, {key: np.array(values) for key, values in axes.items()})


# ---- of a file


def file_of(path, text):
    path.write_text(text, encoding="utf-8")
    return path


def assert_as_run(found, index, batch):
    """A point says what a run of its batch says, judged for the meat taken out when done."""
    one = measure(judged(batch, None, None))
    # by steps of another tolerance, with notes 2 % of the time apart: 0.5 % of the time, a few hundredths of a log
    assert found.numbers["done_s"].flat[index] == pytest.approx(one["done_s"], rel=5e-3)
    for name in ("lower", "best"):
        assert found.numbers[name].flat[index] == pytest.approx(one[f"{found.organism}_{name}"], abs=0.05)


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory):
    return file_of(tmp_path_factory.mktemp("map") / "b.toml", warm_air_text())


OVER = ("stage.1.speed = 0.3, 1 m/s", "meat.thickness = 3, 6 mm")


def test_points_of_a_file_are_runs_of_their_own_with_what_comes_after_they_are_done(demo_file):
    found = map_file(demo_file, OVER)
    batches = load_grid(demo_file, [read_request("", one) for one in OVER])
    assert found.numbers["done_s"].shape == (2, 2)
    for index in (1, 2):
        assert_as_run(found, index, batches[index])
    assert found.units == {"stage.1.speed": "m/s", "meat.thickness": "mm"}


def test_without_a_condition_the_meat_counts_as_taken_out_when_done(tmp_path):
    text = warm_air_text().replace("until = {", "# until = {").split("[[stage]]")
    rest = text[2].partition("# When the batch")
    hot = text[1].replace('"155 degF"', '"100 degC"')
    file = file_of(tmp_path / "b.toml", text[0] + "[[stage]]" + hot + "".join(rest[1:]))
    found = map_file(file, ["meat.thickness = 3, 6 mm"])
    for index, batch in enumerate(load_grid(file, [read_request("", "meat.thickness = 3, 6 mm")])):
        assert_as_run(found, index, batch)
    assert np.all(found.numbers["end_s"] < 10 * 3600.0)


def test_factors_are_no_places_in_the_file(demo_file):
    found = map_file(demo_file, ["diffusivity = 0.5 to 2 in 3", "meat.thickness = 3, 5 mm"], nodes=6)
    done = found.numbers["done_s"]
    assert np.all(np.diff(done, axis=0) < 0.0)
    alone = map_file(demo_file, ["meat.thickness = 3, 5 mm"], nodes=6).numbers["done_s"]
    by_over = map_file(demo_file, ["meat.thickness = 3, 5 mm", "film = 1, 2"], nodes=6).numbers["done_s"]
    np.testing.assert_array_equal(by_over[:, 0], alone)
    assert np.all(by_over[:, 1] < alone)


@pytest.mark.parametrize(
    ("over", "says"),
    [
        ([], "0 parameters to map over"),
        (["meat.thickness = 3, 5 mm", "meat.thickness = 3, 6 mm"], "two different parameters"),
        (["meat.form = sliced, minced"], "words are varied with 'compare --vary'"),
        (["thickness = 3, 5 mm"], "a place in the batch file is expected"),
        (["film = 0 to 1 in 3"], "plain numbers above zero"),
        (["meat.thickness = 3 to 8 mm in 150", "stage.1.air = 50 to 70 degC in 150"], "10000 points at most"),
    ],
)
def test_mistakes_on_the_command_line_are_told(demo_file, over, says):
    with pytest.raises(InputError, match=says):
        map_file(demo_file, over)


# ---- in appliances


@pytest.fixture(scope="module")
def loaded_file(tmp_path_factory):
    text = warm_air_text().replace(
        '# appliance.use = "oven with fan"', 'appliance.use = "stacked dehydrator"'
    )
    lines = [
        line
        for line in text.replace('"135 degC"', '"70 degC"').splitlines()
        if not line.startswith("speed =")
    ]
    return file_of(tmp_path_factory.mktemp("map") / "b.toml", "\n".join(lines))


def test_points_in_an_appliance_are_runs_of_their_own(loaded_file):
    over = ("meat.weight = 0.4, 20 kg", "stage.1.air = 50, 70 degC")
    found = map_file(loaded_file, over)
    batches = load_grid(loaded_file, [read_request("", one) for one in over])
    loads = loads_of(batches[2])  # 20 kg do not fit
    assert loads.count > 5
    assert any(f"up to {loads.count} loads" in remark for remark in found.remarks)
    for index in (1, 2):  # each differs from the first in one thing
        assert_as_run(found, index, loads_of(batches[index]).one)


def test_workers_change_nothing_in_an_appliance(loaded_file, tmp_path):
    text = loaded_file.read_text(encoding="utf-8")
    file = file_of(tmp_path / "b.toml", text.replace("water_activity = 0.85 }", 'weight_loss = "30 %" }'))
    over = ["appliance.air.vents = 5 to 20 m3/h in 3"]
    alone, two = (map_file(file, over, nodes=8, executor=made) for made in (None, processes(2)))
    for name, values in alone.numbers.items():
        np.testing.assert_array_equal(two.numbers[name], values)
    assert np.ptp(alone.numbers["end_s"]) > 0.0


def test_trays_that_change_places_are_in_no_map(batch):
    oven = appliance_of("appliance", {"use": "oven with fan"}, Path())
    with pytest.raises(InputError, match="rotate_every: a map cannot follow"):
        map_over(replace(batch, appliance=oven, rotate_every_s=600.0), {"film_factor": np.array([1.0])})
