"""A fit as sentences, JSON and a picture."""

from dataclasses import replace

import numpy as np
import pytest
from made_log import HOURS, fitted, log_text

from dryingsim.judge.stop_weight import ready_moisture
from dryingsim.learn.causes import Cause
from dryingsim.learn.estimates import estimates
from dryingsim.learn.forecast import forecast
from dryingsim.model.build import recipe_of
from dryingsim.show.core.tables import plain
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.learn.pictures import learn_figure
from dryingsim.show.learn.text import estimate_table, forecast_sentences, learn_document

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def found():
    return fitted(log_text(HOURS[:4]))


@pytest.fixture(scope="module")
def ahead(found):
    return forecast(found)


def test_no_more_dry_matter_is_taken_from_weighings_than_the_file_counts_with(found, ahead):
    batch = found.problem.parts[0].logged.batch
    ready = batch.meat.weight_kg * recipe_of(batch)[1] * (1.0 + ready_moisture(batch)) / batch.laid_on_kg
    assert ahead.surely_kg / ahead.laid_on_kg <= ready * (1.0 + 1e-9)


def test_the_time_of_day_is_told_where_the_log_has_one(found, ahead):
    logged = found.problem.parts[0].logged
    known = replace(ahead, done_s=20400.0, low_s=19200.0, high_s=21600.0)
    assert forecast_sentences(logged, known)[0].startswith(
        "Done at 15:40 ± 20 min, that is after 5 h 40 min:"
    )
    elapsed = replace(logged, log=replace(logged.log, start_clock_s=None))
    assert forecast_sentences(elapsed, known)[0].startswith("Done after 5 h 40 min ± 20 min:")
    night = replace(logged, log=replace(logged.log, start_clock_s=20.0 * 3600.0))
    assert "at 1:40 the next day" in forecast_sentences(night, known)[0]
    halves = replace(logged, log=replace(logged.log, half_days=True))
    assert forecast_sentences(halves, known)[0].startswith("Done at 3:40 pm ± 20 min")
    noon = replace(halves, log=replace(halves.log, start_clock_s=6.5 * 3600.0))
    assert forecast_sentences(noon, known)[0].startswith("Done at 12:10 pm")
    past = replace(known, last_s=30000.0)
    assert forecast_sentences(logged, past)[0].startswith("Was done at 15:40")
    never = replace(known, done_s=None)
    assert "Not done" in forecast_sentences(logged, never)[0]


def test_table_and_text_in_both_unit_systems(found, ahead):
    rows = {one.key: one for one in estimates(found)}
    assert f"x {rows['diffusivity'].after[0]:.2f}" in plain([estimate_table(found)])
    assert f"{1.8 * rows['setpoint'].after[0]:+.0f} (" in plain([estimate_table(found, "us")])
    assert " oz" in plain_text(learn_document(found, [ahead], (), "us"))
    assert "Note: a word." in plain_text(learn_document(found, [ahead], ("a word",)), details=True)


def test_what_this_batch_taught_and_what_the_next_one_is_run_with_are_told_apart(found, ahead):
    said = " ".join(plain_text(learn_document(found, [ahead], ()), details=True).split())
    own, following = estimates(found)[0].after[0], np.exp(found.next_batch()[0][0])
    assert f"Speed of water in the meat x {own:.2f} (" in said
    assert f"The next batch is run with (--out) speed of water in the meat x {following:.2f}" in said


def test_one_cause_is_named_first_and_how_sure_that_is(found, ahead):
    slow = replace(
        ahead,
        causes=(Cause("diffusivity", 1.30, 0.7), Cause("film", 1.05, 0.28), Cause("setpoint", 1.0, 0.02)),
    )
    said = " ".join(plain_text(learn_document(found, [slow], ()), details=True).split())
    assert "It dries slower than its file says. Likeliest cause: speed of water in the meat, x " in said
    assert "+30 % of the time; chance to be the main cause 70 %. Else: film coefficient, x" in said
    assert "begin with the first" in said
    sure = replace(slow, causes=(Cause("diffusivity", 0.70, 0.999), Cause("film", 0.99, 0.001)))
    said = " ".join(plain_text(learn_document(found, [sure], ()), details=True).split())
    assert "It dries faster than its file says" in said
    assert "main cause over 99 %" in said
    assert "Else:" not in said
    as_meant = replace(slow, causes=(Cause("diffusivity", 1.04, 0.5), Cause("film", 0.98, 0.5)))
    assert "no cause need be named" in " ".join(
        plain_text(learn_document(found, [as_meant], ()), details=True).split()
    )


def test_every_thing_that_can_be_learned_has_its_chance_the_likeliest_first(found, ahead):
    assert {one.key for one in ahead.causes} == set(found.priors.keys)
    assert sum(one.chance for one in ahead.causes) == pytest.approx(1.0)
    assert [one.chance for one in ahead.causes] == sorted((one.chance for one in ahead.causes), reverse=True)


def test_json_holds_what_was_measured_and_expected(found, ahead):
    data = learn_document(found, [ahead], ()).data()
    one = data["batches"][0]
    weights = [row for row in one["readings"] if row["quantity"] == "weight"]
    assert len(weights) == 4
    assert all(abs(row["measured"] - row["expected"]) < 5e-3 for row in weights)
    assert one["forecast"]["done_s"] == pytest.approx(ahead.done_s)


def test_the_picture_shows_every_reading(found, ahead):
    sheet = learn_figure(found, [ahead])
    above, below = sheet.axes
    drawn = [line for line in above.lines if line.get_marker() == "o"]
    assert np.concatenate([line.get_xdata() for line in drawn]) == pytest.approx(HOURS[:4])
    assert below.get_ylabel().startswith("measured less fitted")
