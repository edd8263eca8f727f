"""Pictures of kill and its sentences: units, numbers as judged, nothing promised."""

import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from matplotlib.figure import Figure

import dryingsim as ds
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.errors import InputError
from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_resistance import rate_quantiles
from dryingsim.judge.remedies import remedies
from dryingsim.judge.taking_off import leaving_times
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality import pictures as plots
from dryingsim.show.lethality.text import lines, remedy_lines, verdict_line

pytestmark = pytest.mark.usefixtures("coarse_steps")


def batch(humidity=None):
    demo = warm_air()
    stage = replace(
        demo.stages[0],
        air=replace(demo.stages[0].air, humidity=humidity or ds.Humidity(kind="room")),
        duration_s=4.0 * 3600.0,
        until=None,
    )
    return replace(demo, stages=(stage,))


@pytest.fixture(scope="module")
def history():
    return ds.run(batch(), nodes=16)


@pytest.fixture(scope="module")
def humid():
    return ds.run(batch(ds.Humidity(kind="wet_bulb", value=333.15)), nodes=16)


def drawn(history, humid, units):
    return [
        *plots.lethal_rate(history, units=units),
        plots.reduction_map(history, units=units),
        plots.against_humid(history, humid, units=units),
        plots.decimal_times(units=units, path=history),
    ]


@pytest.mark.parametrize(("units", "symbol"), [("metric", "°C"), ("us", "°F")])
def test_axes_say_their_units(history, humid, units, symbol):
    upper, lower, *others = drawn(history, humid, units)
    assert symbol in upper.get_ylabel()
    assert symbol in others[-1].get_xlabel()
    for axes in (lower, *others):
        assert re.fullmatch(r".+ \(.+\)", axes.get_xlabel())
        assert re.fullmatch(r".+ \(.+\)", axes.get_ylabel())


def test_they_can_be_saved(history, humid, tmp_path):
    for i, axes in enumerate(drawn(history, humid, "metric")[1:]):
        axes.figure.savefig(tmp_path / f"{i}.png", dpi=20)
        assert (tmp_path / f"{i}.png").stat().st_size > 1000


def test_drawn_where_they_are_told(history, humid):
    a, b = Figure().subplots(2, 1)
    assert plots.lethal_rate(history, (a, b)) == (a, b)
    for draw in (
        plots.reduction_map,
        lambda h, axes: plots.against_humid(h, humid, axes),
        lambda h, axes: plots.decimal_times(axes),
    ):
        mine = Figure().add_subplot()
        assert draw(history, mine) is mine


def by_label(axes):
    return {line.get_label(): line for line in axes.get_lines()}


def test_the_rate_is_that_of_the_least_reduced_place(history):
    upper, lower = plots.lethal_rate(history, units="metric")
    worst = next(e for e in judge_batch_lethality(history).organisms if e.organism == "salmonella")
    while_in = history.up_to(float(leaving_times(history)[worst.slab]))  # a thin slice leaves before the end
    assert while_in.time_s.size < history.time_s.size
    t = while_in.temperature_K[:, worst.node, worst.slab]
    a = while_in.water_activity[:, worst.node, worst.slab]
    np.testing.assert_allclose(by_label(upper)["temperature"].get_ydata(), t - 273.15)
    rate = by_label(lower)["best estimate"].get_ydata()
    drier = drier_side(a, activity_error_of(history.batch).half_width)
    expected = 3600.0 * rate_quantiles(t, drier, "salmonella", "surface", [0.5])[0]
    np.testing.assert_allclose(rate, expected)
    assert (by_label(lower)["lower bound"].get_ydata() < rate).all()
    hot = t > 330.0
    assert hot.any()
    assert (by_label(lower)["if it were wet"].get_ydata()[hot] > 10.0 * rate[hot]).all()


@pytest.mark.parametrize(("estimate", "words"), [("best", "best estimate"), ("lower", "lower bound (95 %)")])
def test_lines_end_at_the_judged_numbers(history, humid, estimate, words):
    axes = plots.against_humid(history, humid, organism="listeria")
    for name, one in (("as scheduled", history), ("held humid", humid)):
        entry = next(e for e in judge_batch_lethality(one).organisms if e.organism == "listeria")
        end = by_label(axes)[f"{name}, {words}"].get_ydata()[-1]
        assert end == pytest.approx(min(getattr(entry, estimate), 7.0))


def texts(axes):
    return [text.get_text() for text in axes.texts]


def test_a_map_of_one_colour_is_a_sentence_and_no_number_stands_where_lines_crowd(history):
    """Heated first, every depth passes all levels within the first minutes of hours."""
    heated = ds.run(ds.demo_batch(), nodes=16)
    (said,) = [words for words in texts(plots.reduction_map(heated, estimate="best")) if "depth" in words]
    assert re.fullmatch(r"[5-7] log or more at every depth after \d+ s; required: 5", said)
    axes = plots.reduction_map(heated)
    numbers = [text for text in axes.texts if re.fullmatch(r"[\d.]+", text.get_text())]
    assert numbers
    assert min(number.get_position()[0] for number in numbers) > 0.02 * axes.get_xlim()[1]
    assert not any("at every depth" in words for words in texts(plots.reduction_map(history)))


def test_unknown_words(history):
    with pytest.raises(InputError, match="did you mean 'listeria'"):
        plots.reduction_map(history, organism="listera")
    with pytest.raises(InputError, match="units"):
        plots.decimal_times(units="imperial")
    with pytest.raises(InputError, match="'lower'"):
        plots.reduction_map(history, estimate="careful")


# --- sentences --------------------


@pytest.mark.parametrize("units", ["metric", "us"])
def test_sentences(history, humid, units):
    for one in (history, humid):
        judged = judge_batch_lethality(one)
        told = lines(judged, Units(one, units))
        text = " ".join(told)
        assert all(sentence.endswith((".", ")")) for sentence in told)
        assert judged.worst.name in told[0]
        assert all(entry.name in text for entry in judged.organisms)
        assert ("°C" if units == "metric" else "°F") in text
        assert ("°F" if units == "metric" else "°C") not in text
        assert "degC" not in text
        assert "{" not in text.replace("humidity = { wet_bulb", "")
        assert not re.search(r"\bsafe(ly)?\b", text, re.IGNORECASE)


def test_the_reason_has_its_numbers(history):
    text = lines(judge_batch_lethality(history), Units(history, "metric"))[0]
    assert re.search(r"passed 50 °C only after its water activity had fallen to 0\.\d\d", text)
    assert re.search(r"the (lower|upper) surface of the [456] mm slices", text)


def test_verdict_line(history, humid):
    dry_line, humid_line = (
        verdict_line(judge_batch_lethality(h), Units(h, "metric")) for h in (history, humid)
    )
    assert dry_line.startswith("The log reduction is below what is required")
    assert humid_line != dry_line
    assert "log required" in humid_line


def test_remedy_lines():
    small = batch()
    small = replace(small, stages=(replace(small.stages[0], duration_s=3600.0),))
    found = remedies(small, nodes=8)
    shown = Units(found[0].history, "us")
    told = remedy_lines(found, shown)
    assert len(told) == len(found) - 1
    for sentence, one in zip(told, found[1:], strict=True):
        assert sentence.startswith(one.name.capitalize())
        assert sentence.endswith(".")
    gone = replace(found[1], history=None, lethality=None, problem="why not")
    name = gone.name.capitalize()
    assert remedy_lines([found[0], gone], shown) == [f"{name}: cannot be simulated; why not."]
