"""Pictures: every axis has its unit, the lines are the history's numbers, nothing is shared or left open."""

import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from made_appliance import tray_stack
from made_batch import warm_air
from made_history import in_stack
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

import dryingsim as ds
from dryingsim.batch.units import from_si
from dryingsim.judge.taking_off import held_activity, leaving_times, until_all_off, while_in
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.run import pictures as plots

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def history():
    return ds.run(warm_air())


@pytest.fixture(scope="module")
def stacked():
    return ds.run(in_stack(6.5, rotate_every_s=3600.0))


ALL = [plots.temperatures, plots.moisture, plots.water_activity, plots.weight]


def lines(axes):
    return {line.get_label(): line for line in axes.get_lines()}


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("plot", ALL)
def test_every_axis_says_its_unit(history, plot, units):
    axes = plot(history, units=units)
    for label in (axes.get_xlabel(), axes.get_ylabel()):
        assert re.fullmatch(r".+ \(.+\)", label)
    assert axes.get_title(loc="left")


@pytest.mark.parametrize("plot", ALL)
def test_draws_where_it_is_told(history, plot):
    mine = Figure().add_subplot()
    assert plot(history, mine) is mine


def test_units_change_the_numbers_and_the_label_together(history):
    metric, us = (plots.temperatures(history, units=units) for units in ("metric", "us"))
    assert (metric.get_ylabel(), us.get_ylabel()) == ("temperature (°C)", "temperature (°F)")
    for name in ("air", "core", "face", "wet bulb"):
        celsius = lines(metric)[name].get_ydata()
        np.testing.assert_allclose(lines(us)[name].get_ydata(), 32.0 + 1.8 * celsius, rtol=1e-12)
    assert plots.weight(history, units="us").get_ylabel() == "weight of the meat (oz)"
    assert plots.moisture(history, units="us").get_xlabel() == "height above the lower face (in)"


def test_temperature_lines_are_those_of_the_thickest_slices(history):
    axes = plots.temperatures(history, units="metric")
    inside = history.time_s <= leaving_times(history)[2]
    assert not inside.all()  # the plan goes on when they have left
    np.testing.assert_allclose(
        lines(axes)["core"].get_ydata(), from_si(history.core_temperature_K[inside, 2], "degC")
    )
    np.testing.assert_allclose(lines(axes)["core"].get_xdata(), history.time_s[inside] / 3600.0)
    assert "6 mm" in axes.get_title(loc="left")


def test_moisture_profiles_span_the_shrinking_thickness(history):
    drawn = plots.moisture(history, units="metric").get_lines()
    widths = [line.get_xdata()[-1] for line in drawn]
    assert max(widths) == pytest.approx(1000.0 * history.thickness_m[0, 2], rel=1e-12)
    assert min(widths) == pytest.approx(1000.0 * while_in(history, 2).thickness_m[-1, 2], rel=1e-12)
    assert len({*widths}) == len(drawn)


def test_lines_are_named_where_they_end_not_in_a_legend(history):
    axes = plots.water_activity(history, units="metric")
    names = {text.get_text() for text in axes.texts}
    assert {"4 mm slices", "5 mm slices", "6 mm slices"} <= names
    assert axes.get_legend() is None


def test_names_do_not_overlap(history):
    sheet = plots.figure(ds.Answer(history))
    sheet.draw_without_rendering()
    for axes in sheet.axes:
        boxes = [text.get_window_extent() for text in axes.texts]
        for number, box in enumerate(boxes):
            assert not any(box.overlaps(other) for other in boxes[number + 1 :])


def test_sheet_has_three_panels_and_marks_when_it_is_done(history):
    sheet = plots.figure(ds.Answer(history), "us")
    assert len(sheet.axes) == 3
    words = " ".join(text.get_text() for axes in sheet.axes for text in axes.texts)
    assert "done: 4 h" in words
    assert " oz" in words
    never = replace(history, batch=replace(history.batch, targets=ds.Targets(water_activity=0.2)))
    words = " ".join(text.get_text() for axes in plots.figure(ds.Answer(never)).axes for text in axes.texts)
    assert "done" not in words


def test_one_class_and_one_short_stage_can_be_drawn():
    batch = warm_air()
    meat = replace(batch.meat, classes=(ds.ThicknessClass(thickness_m=0.005, share=1.0),))
    short = ds.run(replace(batch, meat=meat, stages=(replace(batch.stages[0], duration_s=300.0),)))
    plots.figure(ds.Answer(short)).draw_without_rendering()


@pytest.mark.parametrize("units", ["metric", "us"])
def test_reductions_are_drawn_for_the_organism_that_decides(history, units):
    sheet = plots.lethality_figure(ds.Answer(history), units)
    sheet.draw_without_rendering()
    name = judge_batch_lethality(history).worst.name
    titles = [axes.get_title(loc="left") for axes in sheet.axes]
    assert sum(name in title for title in titles) == 3
    (lower,) = (title for title in titles if "lower bound" in title)
    (best,) = (title for title in titles if "best estimate" in title)
    assert titles.index(lower) < titles.index(best)
    place, _, rate, *_ = sheet.axes
    assert any(f"(°{'C' if units == 'metric' else 'F'})" in axes.get_ylabel() for axes in sheet.axes)
    assert len({axes.get_xlim() for axes in (place, rate)}) == 1


def test_every_sheet_is_cautioned(history, stacked):
    for sheet in (
        plots.figure(ds.Answer(history)),
        plots.lethality_figure(ds.Answer(history)),
        plots.tray_figure(stacked),
    ):
        words = " ".join(sheet.get_supxlabel().split())
        for part in (
            "validates no process",
            "checked thermometer",
            "food-safety authority",
            "process authority",
        ):
            assert part in words
        sheet.draw_without_rendering()
        box = sheet._supxlabel.get_window_extent()
        assert box.x1 <= sheet.bbox.x1


@pytest.mark.parametrize("units", ["metric", "us"])
def test_trays_are_drawn_side_by_side(stacked, units):
    sheet = plots.tray_figure(stacked, units)
    sheet.draw_without_rendering()
    done, dry, air = sheet.axes
    assert [text.get_text() for text in done.get_yticklabels()] == ["tray 1", "tray 2"]
    for axes in (dry, air):
        for label in (axes.get_xlabel(), axes.get_ylabel()):
            assert re.fullmatch(r".+ \(.+\)", label)
    inside = until_all_off(stacked).time_s.size
    assert inside < stacked.time_s.size
    activity = held_activity(stacked)[:inside, stacked.tray == 1].max(axis=1)
    np.testing.assert_allclose(lines(dry)["tray 2"].get_ydata(), activity)
    cells = stacked.chamber.cell_temperature_K[:inside]
    unit = {"metric": "degC", "us": "degF"}[units]
    for cell, name in enumerate(("before the trays", "after place 1", "after place 2")):
        np.testing.assert_allclose(lines(air)[name].get_ydata(), from_si(cells[:, cell], unit))


def test_of_many_trays_some_are_named_and_all_are_drawn():
    axes = plots.tray_water_activity(ds.run(in_stack(0.02, tray_stack(trays={"slots": 20}), trays=20)))
    names = [text.get_text() for text in axes.get_legend().get_texts()]
    assert names[0] == "tray 1"
    assert names[-1] == "tray 20"
    assert len(names) <= 9
    assert len({to_hex(line.get_color()) for line in axes.get_lines()} - {to_hex(plots.GREY)}) == 20


def test_given_air_has_no_trays_to_draw(history):
    with pytest.raises(ds.InputError, match="there is no appliance"):
        plots.tray_air_temperature(history)


def test_history_draws_itself(history):
    assert history.plot().get_ylabel() == "temperature (°C)"
    mine = Figure().add_subplot()
    assert history.plot_moisture(mine, "us") is mine
    assert "(in)" in mine.get_xlabel()


def test_where_pyplot_is_in_use_pictures_are_its_own_and_show():
    code = (
        "import matplotlib; matplotlib.use('Agg')\nimport matplotlib.pyplot as plt\n"
        "from dryingsim.show.core.style import new_axes\n"
        "print(new_axes().figure is plt.gcf(), plt.get_fignums())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "True [1]"


def test_pyplot_is_left_alone():
    code = (
        "import sys, dryingsim as ds\nfrom dryingsim.show.run.pictures import figure\n"
        "figure(ds.Answer(ds.run(ds.demo_batch()))).canvas\nprint('matplotlib.pyplot' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "False"
