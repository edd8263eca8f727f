"""Maps over one or two parameters: each point is the slice it says, whatever the grid."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.catalog.appliances import appliance_of
from dryingsim.errors import InputError
from dryingsim.explore.maps import map_over


@pytest.fixture(scope="module")
def batch():
    demo = ds.demo_batch()
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


def test_thick_and_cool_takes_longer(found):
    done = found.numbers["done_s"]
    assert done.shape == (3, 2)
    assert np.all(done[1:] >= done[:-1])
    assert np.all(done[:, 1] <= done[:, 0])
    assert np.all(found.numbers["cautious"][:, 1] >= found.numbers["cautious"][:, 0])


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
    meat = replace(batch.meat, classes=(replace(batch.meat.classes[0], share=1.0),))
    for humidity, time in zip((0.1, 0.9), done, strict=True):
        own = ds.run(replace(batch, meat=meat, room=replace(batch.room, relative_humidity=humidity)))
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


def test_an_appliance_is_sent_elsewhere(batch):
    oven = appliance_of("appliance", {"use": "oven with fan"}, Path())
    with pytest.raises(InputError, match="a map is made in given air"):
        map_over(replace(batch, appliance=oven), {"thickness_m": np.array([5e-3])})
