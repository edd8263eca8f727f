"""A batch between the points of a grid: its points are runs of their own, and no verdict is better than those around."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_slider_grid import AXES, few_left_out, small_errors, small_grid

import dryingsim as ds
from dryingsim.explore.followed import follow
from dryingsim.explore.settings import Axis, as_set, at_start, axes_of, coordinate, settings_of
from dryingsim.explore.slider_errors import errors_of
from dryingsim.explore.slider_grid import Levels
from dryingsim.judge.grades import GRADES
from dryingsim.kernels.grid import NODES_OF_MANY

POINTS = np.stack(np.meshgrid(*(axis.nodes for axis in AXES), indexing="ij"), axis=-1).reshape(-1, 4)
DRY, HUMID = 0, POINTS.shape[0] - 1  # thin, cool and slow; thick, hot, humid and fast


@pytest.fixture(scope="module")
def grid():
    return small_grid()


# ---- the settings


def test_a_polynomial_goes_through_its_nodes_and_is_exact_for_what_is_one():
    axis = axes_of(warm_air())[0]
    np.testing.assert_allclose(axis.weights(axis.nodes), np.eye(axis.nodes.size), atol=1e-12)
    between = np.array([3.3e-3, 5.1e-3, 8.7e-3])
    weights = axis.weights(between)
    np.testing.assert_allclose(weights.sum(axis=1), 1.0, atol=1e-12)
    cubic = np.log(axis.nodes) ** 3  # four nodes: a cubic of the logarithm
    np.testing.assert_allclose(weights @ cubic, np.log(between) ** 3, rtol=1e-12)


def test_the_nodes_around_a_value_are_two_and_one_where_it_is_met():
    axis = Axis("thickness_m", np.array([1.0, 2.0, 4.0]))
    around = axis.around(np.array([1.0, 1.5, 2.0, 3.9, 4.0, 9.0]))
    assert [np.flatnonzero(row).tolist() for row in around] == [[0], [0, 1], [1], [1, 2], [2], [2]]


def test_ranges_go_by_the_batch():
    batch = warm_air()
    thick = replace(batch.meat, classes=(ds.ThicknessClass(thickness_m=0.012, share=1.0),))
    drier = replace(batch, meat=thick, targets=ds.Targets(water_activity=0.6))
    thickness, air, humidity, _ = axes_of(drier)
    assert thickness.nodes[-1] == 0.012
    assert [axis.nodes.size for axis in axes_of(drier)] == [4, 5, 7, 3]
    thicker = replace(thick, classes=(ds.ThicknessClass(thickness_m=0.02, share=1.0),))
    assert axes_of(replace(batch, meat=thicker))[0].nodes.size == 5  # with four the profiles were 2.02 % off
    assert humidity.nodes[-1] == pytest.approx(0.42)  # 0.7 of the target: drier air than that gets it there
    assert np.all(np.diff(coordinate("air_K", air.nodes)) < 0.0)
    np.testing.assert_allclose(air.nodes[[0, -1]], [323.15, 348.15])


def test_sliders_start_where_the_batch_stands_and_hold_what_they_do_not_move():
    demo = ds.demo_batch()
    axes = axes_of(demo)
    settings = settings_of(demo, axes)
    room = (
        0.45 * 2487.0 / 28900.0
    )  # Pa over water at 21 degC, over saturation at 155 degF (steam tables, from memory)
    np.testing.assert_allclose(settings, [5e-3, 341.483, room, 1.0], rtol=5e-3)
    start = at_start(demo, axes)
    assert start.stages[0] == demo.stages[0]  # heated first, as in the file
    assert start.stages[-1].until == ds.Until(water_activity=0.85)
    assert (start.marinade, start.room, start.support) == (demo.marinade, demo.room, demo.support)


def test_a_held_surface_is_refused():
    held = replace(warm_air(), components=ds.Components(surface=ds.HeldSurface(moisture_db=0.1)))
    with pytest.raises(ds.InputError, match="nothing to slide"):
        as_set(held, (5e-3, 340.0, 0.1, 1.0))


# ---- its points are runs of their own


def run_of(grid, point, progress):
    """Return a run of one point for a share of the time until it is ready."""
    batch = as_set(grid.batch, POINTS[point])
    lasted = float(grid.followed.ready_s[point] * progress)
    return ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=lasted),)), nodes=NODES_OF_MANY)


@pytest.mark.parametrize("point", [DRY, HUMID])
def test_a_point_is_a_run_of_its_own(grid, point):
    look = int(np.flatnonzero(grid.progress == 1.0)[0])
    history = run_of(grid, point, 1.0)
    # notes 2 % of the time apart, steps to 1e-3: the water activity at the end is that of being ready to 0.002
    assert history.equalised_water_activity[-1, 0] == pytest.approx(0.85, abs=2e-3)
    np.testing.assert_allclose(
        grid.followed.moisture_db[look, :, point], history.moisture_db[-1, :, 0], atol=5e-3
    )
    np.testing.assert_allclose(
        grid.followed.temperature_K[look, :, point], history.temperature_K[-1, :, 0], atol=0.15
    )
    judged = ds.judge_batch_lethality(history)
    at = int(np.flatnonzero(grid.judged == look)[0])
    assert GRADES[grid.followed.grade[at, point]] == judged.grade
    # less 0.05 for what the engine may be off; 0.05 for what it is
    assert grid.followed.lower[at, point] == pytest.approx(max(judged.worst.lower - 0.05, 0.0), abs=0.05)
    assert grid.followed.best[at, point] == pytest.approx(judged.worst.best, abs=0.05)


def test_humid_air_is_met_only_if_measured_and_cool_air_lets_bacteria_grow(grid):
    last = grid.followed.grade[-1]
    assert GRADES[last[HUMID]] == "met only if measured"  # whatever is set was not measured
    assert "met" not in {GRADES[grade] for grade in last}
    assert np.all(np.diff(grid.followed.grown.astype(int), axis=0) >= 0)
    thick_cool_humid = POINTS.shape[0] // 2 + 5  # 6 mm at 52 degC, 59 %
    history = run_of(grid, thick_cool_humid, 1.0)
    warned = "bacteria_grow" in {finding.key for finding in ds.judge_batch_lethality(history).warnings}
    assert grid.followed.grown[-1, thick_cool_humid] >= warned


# ---- between them


def test_at_a_point_it_tells_the_point(grid):
    times = 0.5 * grid.followed.ready_s
    told = grid.at(POINTS, times)
    look = int(np.flatnonzero(grid.progress == 0.5)[0])
    np.testing.assert_allclose(told.ready_s, grid.followed.ready_s, rtol=1e-9)
    half = 0.5 * grid.moisture_db.step[look]  # numbers are kept to the nearest of 255 steps
    np.testing.assert_allclose(told.moisture_db, grid.followed.moisture_db[look].T, atol=1.001 * half)
    at = int(np.flatnonzero(grid.judged == look)[0])
    expected = np.minimum(grid.followed.grade[at], grid.followed.grade[at + 1])
    np.testing.assert_array_equal(told.grade, expected)


def test_a_verdict_between_points_is_that_of_the_worst_around(grid):
    rng = np.random.default_rng(21)
    low, high = POINTS.min(axis=0), POINTS.max(axis=0)
    settings = low + (high - low) * rng.random((40, 4))
    times = rng.uniform(0.0, 2.0, 40) * grid.at(settings, np.zeros(40)).ready_s
    told = grid.at(settings, times)
    final = grid.followed.grade[-1]
    for row, grade, lower in zip(settings, told.grade, told.lower, strict=True):
        near = np.all(
            [
                axis.around(row[i : i + 1])[0][np.searchsorted(axis.nodes, POINTS[:, i])]
                for i, axis in enumerate(AXES)
            ],
            axis=0,
        )
        assert near.sum() == 16
        assert grade <= final[near].min()
        assert lower <= grid.followed.lower[-1, near].max()
    later = grid.at(settings, 1.5 * times)
    assert np.all(later.lower >= told.lower - 1e-9)


def test_what_it_is_off_is_measured_where_no_point_is(grid):
    errors = small_errors()
    assert (errors.settings, errors.looks) == (3, 31)
    # two nodes an axis are too few by far: the error seen says so, and no verdict is bolder for it
    assert 0.0 < errors.ready < 0.5
    assert 0.0 < errors.profile <= errors.moisture
    assert errors.temperature_K > 0.1
    assert errors.wet_bulb_K > 1e-3
    assert errors.bolder == 0


def test_a_wrong_grid_would_be_seen(grid):
    wrong = replace(grid, followed=replace(grid.followed, ready_s=1.2 * grid.followed.ready_s))
    bold = replace(grid.followed, grade=np.full_like(grid.followed.grade, GRADES.index("met")))
    assert errors_of(wrong, few_left_out()).ready > small_errors().ready + 0.05
    assert errors_of(replace(grid, followed=bold), few_left_out()).bolder > 0


def test_numbers_are_kept_to_a_step():
    values = np.random.default_rng(1).random((2, 3, 4)) * np.array([1.0, 50.0])[:, None, None]
    levels = Levels.of(values)
    assert levels.level.dtype == np.uint8
    assert np.all(np.abs(levels.values - values) <= 0.5001 * levels.step[:, None, None])


def test_no_air_gets_it_as_dry_as_that():
    batch = replace(warm_air(), targets=ds.Targets(water_activity=0.05))
    with pytest.raises(ds.InputError, match="less dry"):
        follow(batch, np.array([[9e-3, 323.15, 0.6, 0.2]]), np.array([0.0, 1.0, 2.0]), np.array([2]))
