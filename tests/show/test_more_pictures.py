"""Pictures over depth, of the rate, of the air, of trays, of changes: units, numbers as in the history, no word on another."""

import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

import dryingsim as ds
from dryingsim.batch.units import from_si
from dryingsim.explore.changes import Changed
from dryingsim.judge.trays import judge_trays
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.properties import moist_air
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.style import RED
from dryingsim.show.lethality import pictures as lethality_plots
from dryingsim.show.report import change_pictures as change_plots
from dryingsim.show.report import words
from dryingsim.show.run import air_pictures as air_plots
from dryingsim.show.run import depth_pictures as depth_plots
from dryingsim.show.run import pictures as plots
from dryingsim.show.run import rate_pictures as rate_plots

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def history():
    return ds.run(warm_air(), nodes=16)


@pytest.fixture(scope="module")
def stacked():
    return ds.run(in_stack(6.0), nodes=12)


@pytest.fixture(scope="module")
def changes(history):
    """Made up: what the engine finds is tested with it."""
    answers = ds.judge_batch(history)

    def changed(subject, change, later_s):
        done = answers.doneness
        window = replace(done.batch, expected_s=done.batch.expected_s + later_s)
        moved = replace(answers, doneness=replace(done, batch=window))
        return Changed(
            subject=subject,
            change=change,
            why="",
            end_s=2e4,
            answers=moved,
            lethality=judge_batch_lethality(history),
        )

    return [
        changed("as it is", "", 0.0),
        changed("thickness of the slices", "10 % less", -2600.0),
        changed("thickness of the slices", "10 % more", 2800.0),
        changed("water moving through the meat", "half as fast", 10_000.0),
        changed("water moving through the meat", "twice as fast", -5500.0),
        changed("speed of the air", "a third less", 600.0),
        changed("speed of the air", "half as much again", -20.0),
    ]


DEPTH = [depth_plots.moisture_map, depth_plots.temperature_map]
OF_HISTORY = [*DEPTH, rate_plots.drying_rate, air_plots.air_path]


def words_of(axes):
    axes.figure.draw_without_rendering()
    return [text for text in axes.texts if text.get_text()]


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("draw", OF_HISTORY)
def test_every_axis_says_its_unit(history, draw, units):
    axes = draw(history, units=units)
    for label in (axes.get_xlabel(), axes.get_ylabel()):
        assert re.fullmatch(r".+ \(.+\)", label)
    assert axes.get_title(loc="left")


@pytest.mark.parametrize("draw", OF_HISTORY)
def test_draws_where_it_is_told(history, draw):
    mine = Figure().add_subplot()
    assert draw(history, mine) is mine


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("draw", OF_HISTORY)
def test_no_word_lies_on_another(history, stacked, draw, units):
    for one in (history, stacked):
        boxes = [text.get_window_extent() for text in words_of(draw(one, units=units))]
        for a, b in combinations(boxes, 2):
            assert not a.overlaps(b)


# ---- depth


def test_heights_end_at_the_thickness_and_fall(history):
    for k in range(history.area_m2.size):
        top = depth_plots.heights(history, k)[:, -1]
        np.testing.assert_allclose(top, history.thickness_m[:, k], rtol=1e-12)
        assert top[-1] < 0.5 * top[0]


def test_the_target_is_where_the_water_activity_is_the_target(history):
    x = depth_plots.target_moisture_db(history)
    k = int(np.argmax(history.mean_moisture_db[-1]))
    mean, activity = history.mean_moisture_db[:, k], history.equalised_water_activity[:, k]
    assert np.interp(-x, -mean, activity) == pytest.approx(history.batch.targets.water_activity, abs=1e-3)


def test_the_moisture_map_shows_the_target_and_the_slice_alone(history):
    axes = depth_plots.moisture_map(history, units="metric")
    drawn = [c for c in axes.collections if np.any(c.get_linewidth() > 2.0)]
    assert len(drawn) == 1
    assert to_hex(drawn[0].get_edgecolor()[0]) == RED
    points = np.concatenate([path.vertices for path in drawn[0].get_paths()])
    thickest = 1000.0 * history.thickness_m[:, 2]
    assert (points[:, 1] <= np.interp(points[:, 0], history.time_s / 3600.0, thickest) + 0.01).all()


@pytest.mark.parametrize(("units", "unit"), [("metric", "degC"), ("us", "degF")])
def test_names_of_the_temperature_map_stand_where_the_middle_is_that_warm(history, units, unit):
    axes = depth_plots.temperature_map(history, units=units)
    assert axes.texts
    middle = from_si(history.temperature_K[:, history.slabs.nodes.size // 2, 2], unit)
    for text in axes.texts:
        hour, level = text.xy[0], float(text.get_text())
        near = np.abs(history.time_s / 3600.0 - hour) < 0.2  # a map has a record every few minutes
        assert middle[near].min() <= level <= middle[near].max()


def test_even_a_short_run_can_be_mapped():
    batch = warm_air()
    short = ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=120.0),)), nodes=8)
    for draw in OF_HISTORY:
        draw(short).figure.draw_without_rendering()


# ---- rate


@pytest.mark.parametrize(("units", "factor"), [("metric", 3600.0), ("us", 3600.0 / 0.45359237 * 0.3048**2)])
def test_the_rate_is_what_the_slices_lose(history, units, factor):
    axes = rate_plots.drying_rate(history, units=units)
    lines = {line.get_label(): line for line in axes.get_lines()}
    name = "6 mm" if units == "metric" else "0.24 in"
    first = history.stage[1:] == 0
    # the water balance: what the faces give off is what the dry mass loses, over both faces of a mesh
    lost = (
        -np.diff(history.mean_moisture_db[:, 2])
        * history.slabs.dry_mass_kg_m2[2]
        / np.diff(history.time_s)
        / 2.0
    )
    np.testing.assert_allclose(lines[name].get_ydata(), factor * lost[first], rtol=1e-6, atol=1e-9)


def test_what_is_left_out_after_heating_is_said_beside_the_rate(history):
    batch = warm_air()
    dip = ds.Stage(
        name="dip", kind="marinade", air=replace(batch.stages[0].air, temperature_K=350.0), duration_s=300.0
    )
    heated = replace(batch, stages=(dip, replace(batch.stages[0], duration_s=3600.0, until=None)))
    for made, minutes in ((ds.run(heated, nodes=8), 10), (history, 0)):
        first = rate_plots.in_first_stage(made)
        began = made.stage_end_s[0] if minutes else 0.0
        assert made.time_s[1:][first].min() > began + 60.0 * minutes
        title = rate_plots.drying_rate(made).get_title(loc="left")
        assert ("(without the first 10 min after heating)" in title) == bool(minutes)
        assert ("in the first 10 min of drying, is left out" in words.rate(made, Units(made))) == bool(
            minutes
        )


def test_on_a_sheet_one_face_gives_it_all_off():
    batch = replace(warm_air(), support="sheet")
    closed = ds.run(
        replace(batch, stages=(replace(batch.stages[0], duration_s=1800.0, until=None),)), nodes=8
    )
    _, rate = rate_plots.fluxes(closed)
    np.testing.assert_allclose(rate[-1] * 60.0, np.diff(closed.vapour_kg_m2, axis=0)[-1])


def test_steady_share_counts_what_leaves_near_the_highest_rate(history):
    share = rate_plots.steady_share(history, 2)
    _, rate = rate_plots.fluxes(history)
    first = history.stage[1:] == 0
    near = rate[first, 2] >= rate_plots.STEADY * rate[first, 2].max()
    assert 0.0 < share < 1.0
    assert share == pytest.approx(float(rate[first, 2][near].sum() / rate[first, 2].sum()), rel=0.05)


# ---- air


def test_given_air_has_one_moment_per_stage(history):
    drying, finish = air_plots.moments(history)
    assert (drying.name, finish.name) == ("drying", "oven finish")
    assert drying.temperature_K[0] == pytest.approx(341.4833, abs=0.001)  # 155 degF
    np.testing.assert_allclose(drying.humidity_ratio, finish.humidity_ratio)  # the room's, only warmed


def test_in_an_appliance_the_air_cools_and_takes_up_water(stacked):
    for way in air_plots.moments(stacked):
        assert (np.diff(way.temperature_K) < 0.0).all()
        assert (np.diff(way.humidity_ratio) > 0.0).all()


def test_the_face_starts_on_the_line_of_saturation(history):
    axes = air_plots.air_path(history, units="metric")
    line = next(one for one in axes.get_lines() if one.get_label() == "face of the meat")
    t, w = line.get_xdata()[0] + 273.15, line.get_ydata()[0] / 1000.0
    vapour = moist_air.vapour_pressure(w, history.batch.room.pressure_Pa)
    assert moist_air.relative_humidity(vapour, t) == pytest.approx(0.98, abs=0.02)


def test_a_stage_may_be_called_anything():
    batch = warm_air()
    odd = replace(
        batch, name="$x_", stages=(replace(batch.stages[0], name="50 $ & $\\frac<b>", duration_s=300.0),)
    )
    history = ds.run(odd, nodes=8)
    air_plots.air_path(history).figure.draw_without_rendering()
    plots.figure(ds.Answer(history)).draw_without_rendering()


# ---- trays, kill, changes


def test_each_tray_has_its_time(stacked):
    axes = plots.tray_done(stacked)
    done = [one.all_done.expected_s for one in judge_trays(stacked).done]
    dots = [line.get_xdata()[0] for line in axes.get_lines() if line.get_marker() == "o"]
    np.testing.assert_allclose(dots, np.array([one for one in done if one is not None]) / 3600.0)
    with pytest.raises(ds.InputError, match="there is no appliance"):
        plots.tray_done(
            ds.run(
                replace(warm_air(), stages=(replace(warm_air().stages[0], duration_s=60.0),)),
                nodes=8,
            )
        )


def test_the_map_of_reductions_shows_the_estimate_that_decides_and_the_target(history):
    axes = lethality_plots.reduction_map(history, organism="e_coli")
    words = [text.get_text() for text in axes.texts]
    assert "lower bound" in axes.get_title(loc="left")
    assert any("5 log required" in text for text in words)
    entry = next(e for e in judge_batch_lethality(history).organisms if e.organism == "e_coli")
    assert f"least reduced: {entry.lower:.1f}" in words


def test_the_line_of_the_target_is_thick_where_there_is_one():
    batch = warm_air()
    wet = ds.Humidity(kind="wet_bulb", value=333.15)
    stage = replace(
        batch.stages[0], air=replace(batch.stages[0].air, humidity=wet), duration_s=7200.0, until=None
    )
    humid = ds.run(replace(batch, stages=(stage,)), nodes=8)
    best = lethality_plots.reduction_map(humid, organism="e_coli", estimate="best")
    assert "thick line: 5 log required" in [text.get_text() for text in best.texts]
    thick = [c for c in best.collections if np.any(c.get_linewidth() > 2.0)]
    assert len(thick) == 1


def test_the_largest_effect_stands_on_top(changes):
    rows = change_plots.subjects(changes)
    assert rows[0][0] == "water moving through the meat"
    shifts = [max(abs(change_plots.shift_s(one, changes[0])) for one in runs) for _, runs in rows]
    assert shifts == sorted(shifts, reverse=True)
    axes = change_plots.what_moves(changes)
    assert sorted(bar.get_width() for bar in axes.patches) == pytest.approx(
        sorted(change_plots.shift_s(one, changes[0]) / 3600.0 for one in changes[1:])
    )
    for a, b in combinations([text.get_window_extent() for text in words_of(axes)], 2):
        assert not a.overlaps(b)


def test_what_is_not_done_in_its_plan_says_so(changes):
    base, _, _, slower, *_ = changes
    never = replace(slower, answers=replace(slower.answers, doneness=replace(
        slower.answers.doneness, batch=replace(slower.answers.doneness.batch, expected_s=None))))  # fmt: skip
    assert "not done when the plan ends" in change_plots.shift_words(never, base)
    assert "not done yet" in " ".join(
        t.get_text() for t in words_of(change_plots.what_moves([base, slower, never]))
    )
    broken = replace(slower, answers=None, lethality=None)
    assert change_plots.shift_words(broken, base) == "could not be simulated"
    axes = change_plots.what_moves([base, slower, broken])
    told = " ".join(t.get_text() for t in words_of(axes))
    assert f"{broken.change}: could not be simulated" in told
    assert "not done yet" not in told
    assert len(axes.patches) == 1  # no bar on either side for what was refused
    assert (
        change_plots.subjects([*changes[:3], broken, replace(broken, change="more")])[-1][0] == broken.subject
    )
    early = replace(never, end_s=0.5 * base.end_s)  # its plan ends before the unchanged batch is done
    assert change_plots.shift_s(early, base) == 0.0


def test_units_of_the_rate():
    shown = Units(warm_air(), "us")
    factor, unit = rate_plots.rate_unit(shown)
    assert unit == "lb/(ft² h)"
    assert factor == pytest.approx(3600.0 * 0.204816, rel=1e-5)  # 1 kg/m2 is 0.204816 lb/ft2
