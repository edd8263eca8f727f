"""What slices that overlap cost, as it is told."""

from dataclasses import replace

import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.laying import laid
from dryingsim.show.core.document import Form, Sentence
from dryingsim.show.core.quantities import Units, class_name, slices, slowest, spoken
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.run.first_screen import run_document
from dryingsim.show.run.laying_text import laying_sentences
from dryingsim.show.run.sheet import sheet_document
from dryingsim.show.spread.text import spread_sentences

pytestmark = pytest.mark.usefixtures("coarse_steps")


def batch(hours, **shares):
    demo = warm_air()
    flat = replace(demo.meat.classes[1], share=1.0)
    stage = replace(demo.stages[0], until=None, duration_s=3600.0 * hours)
    return replace(demo, meat=replace(demo.meat, classes=laid([flat], shares)), stages=(stage,))


def run(hours, **shares):
    return ds.run(batch(hours, **shares), nodes=12, interval_s=600.0)


@pytest.fixture(scope="module")
def whole():
    return run(14.0, sheet=0.2, overlapping=0.1)


def test_times_are_told_beside_those_that_lie_flat(whole):
    answers = ds.judge_batch(whole)
    sheet, overlapping = laying_sentences(ds.Answer(whole))
    flat_s, sheet_s, pair_s = (window.expected_s for window in answers.doneness.classes)
    assert sheet.startswith("The 20 % of the meat that lies on a sheet is done after ")
    assert f"{sheet_s / flat_s:.1f} times as long" in sheet
    assert overlapping.startswith("The 10 % of the meat that overlaps is done after ")
    assert f"{pair_s / flat_s:.1f} times as long" in overlapping
    assert overlapping.endswith(": lay it apart, or turn and part it at the first look.")


def test_what_is_not_done_is_not_given_a_time():
    short = run(5.0, overlapping=0.1)
    (told,) = laying_sentences(ds.Answer(short))
    assert told.startswith(
        "The 10 % of the meat that overlaps is not done in this run, unlike what lies flat ("
    )
    nothing = run(1.0, overlapping=1.0)
    assert laying_sentences(ds.Answer(nothing)) == [
        "The 100 % of the meat that overlaps is not done in this run: lay it apart, or turn and part it at the first look."
    ]


def test_flat_slices_are_not_spoken_of():
    flat = run(1.0)
    assert laying_sentences(ds.Answer(flat)) == []
    assert "overlap" not in plain_text(run_document(ds.Answer(flat)), details=True)


def test_run_and_sheet_say_it(whole):
    answer = ds.Answer(whole)
    text = " ".join(plain_text(run_document(answer), details=True).split())
    assert "5 mm overlapping after" in text
    assert "Warning: 10 % of the meat overlaps: surfaces that touch stay wet" in text
    blocks = sheet_document(answer).blocks
    assert {*laying_sentences(ds.Answer(whole))} < {one.text for one in blocks if isinstance(one, Sentence)}
    looks = [
        row[1] for one in blocks if isinstance(one, Form) and one.heads[0] == "h:min" for row in one.rows
    ]
    assert any("turn and part those that overlap" in look for look in looks)


def test_slices_are_named_by_how_they_lie(whole):
    units = Units(whole, "metric")
    names = [class_name(units, one) for one in whole.batch.meat.classes]
    assert names == ["5 mm", "5 mm on a sheet", "5 mm overlapping"]
    assert slices(whole, units, slowest(whole)) == "5 mm slices that overlap"


def test_a_spread_tells_them_apart():
    many = ds.spread(batch(16.0, overlapping=0.25), slices=64, nodes=8)
    assert many.lying("overlapping").mean() == pytest.approx(0.25, abs=0.05)
    flat, overlapping = (many.done_quantile(0.5, lies) for lies in ("flat", "overlapping"))
    assert 2.0 < overlapping / flat < 4.0
    assert many.done_quantile(0.5, "sheet") is None
    assert many.influences()["lies"] > 0.4
    (told,) = [
        one for one in spread_sentences(many) if one.startswith("Of the meat that overlaps half is done by ")
    ]
    assert f", of what lies flat by {spoken(flat)}: lay it apart" in told
    assert "on a sheet" not in " ".join(spread_sentences(many))
