"""What a person does with the answers: look in time, take the meat out when it is done, notice what is not drying."""

import dataclasses

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

from dryingsim import ThicknessClass, Until, judge_batch_lethality, parse_batch, run
from dryingsim.answer import Answer
from dryingsim.judge.done_window import windows
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.grades import GRADES
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.run.data import summary
from dryingsim.show.run.first_screen import run_document
from dryingsim.show.run.text import loss_sentences

LONG = """
title = "hot and humid, left in for a day"
[meat]
cut = "beef top round"
form = "sliced"
thickness = "5 mm"
length = "120 mm"
width = "50 mm"
weight = "1 kg"
[marinade]
salt = "{salt}"
[room]
temperature = "21 degC"
humidity = "45 %"
[trays]
take_off = "together"
[[stage]]
name = "drying"
air = "85 degC"
humidity = {{ wet_bulb = "65 degC", measured = true }}
speed = "1 m/s"
duration = "24 h"
"""


def told(history):
    return plain_text(run_document(Answer(history)), details=True)


def flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def long_run():
    return run(parse_batch(LONG.format(salt="15 g/kg"), "long"), interval_s=120.0)


def test_the_reduction_of_meat_taken_out_when_done_is_told_before_that_of_the_whole_plan(long_run):
    done = judge_batch(long_run).doneness.batch.expected_s
    early, late = judge_batch_lethality(long_run.up_to(done)), judge_batch_lethality(long_run)
    order = list(GRADES)
    # the plan goes on for 20 h after the meat is done
    assert order.index(early.grade) <= order.index(late.grade)
    assert all(one.lower <= other.lower for one, other in zip(early.organisms, late.organisms, strict=True))
    text = flat(told(long_run))
    assert text.index("Taken out when done, after 3 h") < text.index(
        "Left in to the end of the plan, after 24 h"
    )


def test_files_hold_both_and_no_more_than_can_be_counted(long_run):
    found = summary(Answer(long_run))
    early, late = found["taken_out"]["lethality"], found["lethality"]
    assert found["taken_out"]["done_s"] == judge_batch(long_run).doneness.batch.expected_s
    assert late["organisms"][0]["lower"] > early["organisms"][0]["lower"]
    assert max(one["best"] for one in late["organisms"]) <= 7.0
    short = run(parse_batch(LONG.format(salt="15 g/kg").replace("24 h", "1 h"), "short"))
    assert summary(Answer(short))["taken_out"] is None


def test_part_of_a_history_is_what_was_recorded_until_then(long_run):
    part = long_run.up_to(3600.0)
    assert part.time_s[-1] == 3600.0
    np.testing.assert_array_equal(part.water_activity[-1], long_run.water_activity[part.time_s.size - 1])
    assert long_run.up_to(1e9).time_s.size == long_run.time_s.size


def test_first_look_is_at_the_tray_that_is_done_first():
    history = run(in_stack(7.0))
    done = judge_batch(history).doneness
    target, slabs = history.batch.targets.water_activity, np.eye(history.kind.size, dtype=bool)
    each = windows(history, list(slabs), target)
    soonest = min(window.earliest_s for window in each if window.earliest_s is not None)
    assert done.first_look_s == 900.0 * (soonest // 900.0)  # told in whole quarters of an hour
    first = history.time_s[(history.equalised_water_activity <= target).any(axis=1).argmax()]
    assert (
        0.4 * first < done.first_look_s < 0.9 * first
    )  # what dries as computed is not the fastest of kitchens


def test_weight_that_allows_for_the_error_is_lower(long_run):
    done = judge_batch(long_run).doneness
    assert 0.8 * done.weight_kg < done.stop.weight_kg < done.weight_kg
    assert "then at or below 0.85 with 95 % certainty" in flat(told(long_run))


def test_meat_that_salt_alone_makes_done_is_called_hardly_dried():
    history = run(parse_batch(LONG.format(salt="15 %").replace("24 h", "1 h"), "salty"))
    assert "This meat has hardly dried" in flat(told(history))


def test_what_the_grade_counts_is_never_more_than_the_estimate(long_run):
    for one in judge_batch_lethality(long_run).organisms:
        assert one.counted <= one.lower
        assert dataclasses.replace(one, quadrature_spread=one.lower + 1.0).counted == 0.0


def test_an_end_by_weight_loss_says_of_what_it_is_where_slices_are_taken_off_before():
    """It counts all slices as left in; the table of a run weighs those that are taken off as they are then."""
    kinds = (ThicknessClass(thickness_m=3e-3, share=0.5), ThicknessClass(thickness_m=7e-3, share=0.5))
    batch = warm_air()
    stage = dataclasses.replace(batch.stages[0], until=Until(weight_loss=0.55), duration_s=None)
    batch = dataclasses.replace(batch, meat=dataclasses.replace(batch.meat, classes=kinds), stages=(stage,))
    together = dataclasses.replace(batch, take_off="together")
    answer = Answer(run(batch, nodes=8))
    (told,) = loss_sentences(answer)
    assert "45 % of the weight is then left" in told
    assert f"{100.0 * answer.weight_at(answer.end_s) / answer.loaded_kg:.0f} % with those taken off" in told
    assert answer.weight_at(answer.end_s) > 0.455 * answer.loaded_kg
    assert not loss_sentences(Answer(run(together, nodes=8)))
