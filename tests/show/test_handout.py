"""The page with sliders: one small file that loads nothing, whose numbers are those of its grid, and never says too much."""

import base64
import json
import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_slider_grid import AXES, full_size_grid, small_errors, small_grid, start_answer
from test_report import Page

import dryingsim as ds
from dryingsim.explore.settings import at_start
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core.quantities import Units
from dryingsim.show.handout import words
from dryingsim.show.handout.data import stops
from dryingsim.show.handout.page import handout_html, write_handout
from dryingsim.show.lethality.brief import VERDICTS
from dryingsim.show.lethality.words import CAUTIONS

TITLE = 'A </script><script>alert("x")</script> & "title" 50 %'


@pytest.fixture(scope="module")
def text():
    return handout_html(small_grid(), small_errors(), start_answer())


@pytest.fixture(scope="module")
def data(text):
    return json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])


def test_one_small_file_that_loads_nothing(text):
    page = Page(text)  # which sees that every element is closed
    assert text.startswith("<!doctype html>")
    assert not re.search(r"https?:|url\(|@import|fetch\(|XMLHttp|import\(", text)
    assert not [one for one in page.found if {"src", "href"} & set(one["attributes"]) and one["tag"] != "a"]
    policy = next(one for one in page.all("meta") if "http-equiv" in one["attributes"])["attributes"]
    assert policy["content"].startswith("default-src 'none'")
    full = handout_html(full_size_grid(), small_errors(), start_answer())
    assert 0.5e6 < len(full.encode()) < 1.5e6  # what forty telephones are sent
    assert text == handout_html(small_grid(), small_errors(), start_answer())  # the same to the last byte


def test_what_is_typed_stays_text():
    grid = replace(small_grid(), batch=replace(small_grid().batch, name=TITLE))
    text = handout_html(grid, small_errors(), start_answer())
    assert "<script>alert" not in text
    assert len(Page(text).all("script")) == 2
    assert Page(text).all("h1")[0]["text"] == TITLE


def test_every_control_and_picture_has_a_name(text):
    page = Page(text)
    labelled = {one["attributes"]["for"] for one in page.all("label")}
    assert [one["attributes"]["id"] for one in page.all("input")] == [*words.NAMES]
    assert labelled == set(words.NAMES)
    assert {one["attributes"]["type"] for one in page.all("input")} == {"range"}
    assert all(one["text"].strip() for one in page.all("button", "h1", "h2", "h3"))
    assert page.by_id("spoken")["attributes"]["aria-live"] == "polite"
    pictures = [one for one in page.all("svg") if one["attributes"].get("class") == "pic"]
    assert [one["attributes"]["id"] for one in pictures] == [*words.TITLES]
    assert "needs JavaScript" in page.all("noscript")[0]["text"]


def test_its_numbers_are_those_of_the_grid(data):
    grid = small_grid()
    shape = grid.moisture_db.level.shape
    level = np.frombuffer(base64.b64decode(data["moisture"]["level"]), np.uint8).reshape(shape)
    np.testing.assert_array_equal(level, grid.moisture_db.level)
    lower = np.frombuffer(base64.b64decode(data["verdicts"]["lower"]), np.uint8).reshape(
        grid.followed.lower.shape
    )
    assert np.all(lower / 10 <= grid.followed.lower + 1e-9)  # rounded down
    assert np.all(lower / 10 > grid.followed.lower - 0.1)
    np.testing.assert_allclose(data["ready"], grid.followed.ready_s, atol=0.051)
    answer = start_answer()
    assert data["stopShare"] == pytest.approx(answer.doneness.stop.weight_kg / answer.loaded_kg, rel=1e-6)
    activity = np.interp(data["targetMoisture"], data["curve"]["moisture"], data["curve"]["activity"])
    assert activity == pytest.approx(0.85, abs=2e-3)  # straight lines between 64 points
    early, late = data["window"]
    window = answer.doneness.batch
    assert early == pytest.approx(window.earliest_s / window.expected_s)
    assert late == pytest.approx(window.latest_s / window.expected_s)


def test_sliders_stop_at_round_values_within_their_range():
    found = stops(small_grid())
    assert [*found] == [*words.NAMES]
    for axis in AXES:
        assert axis.nodes[0] <= found[axis.key].min() < found[axis.key].max() <= axis.nodes[-1]
        assert np.all(np.diff(found[axis.key]) > 0.0)
    np.testing.assert_allclose(found["thickness_m"][:3], [4e-3, 4.1e-3, 4.2e-3])
    np.testing.assert_allclose(found["air_K"][:2] - 273.15, [52.0, 52.5])
    assert found["time_s"][0] == 0.0
    assert found["time_s"][-1] == 24 * 3600.0
    assert np.all(found["time_s"] % 60.0 == 0.0)


def test_words_are_those_of_the_package_and_never_a_bare_safe(text, data):
    assert data["words"]["verdicts"] == list(VERDICTS.values())
    assert CAUTIONS[0] in Page(text).all("header")[0]["text"]
    assert not re.search(r"\bsafe\b", text)
    met, short = (data["words"][name]["metric"] for name in ("cautionsMet", "cautionsShort"))
    assert short[0].startswith("Do first: heat the slices to 71 °C")
    assert data["words"]["cautionsShort"]["us"][0].startswith("Do first: heat the slices to 160 °F")
    assert met == short[1:]


def test_what_stands_beside_every_verdict_goes_by_the_batch():
    demo = ds.demo_batch()
    meat = replace(demo.meat, species="unknown", name="haunch")
    start = at_start(replace(demo, meat=meat), AXES)
    said = words.cautions(judge_batch_lethality(ds.run(start, nodes=12)), Units(demo), met=True)
    assert said[0] == "Do first: heat to 74 °C inside each portion's thickest; the plan stops cooler."
    assert any("which meat it is" in line for line in said)
    assert not any("wet bulb" in line for line in said)  # that goes by where the sliders stand


def test_it_says_what_is_held_and_how_well_it_tells():
    demo, shown = ds.demo_batch(), Units(ds.demo_batch())
    held = words.held(demo, at_start(demo, AXES), shown)
    assert "first “heat the slices” (stirred in marinade at 100 °C), as planned" in held
    assert "Humidity that is set was not measured" in held
    errors = replace(small_errors(), ready=0.004, profile=0.0091, moisture=0.062, bolder=0)
    told = words.accuracy(errors, shown)
    assert "0.4 % of the time until ready, 0.9 % of the moisture profile" in told
    assert "no verdict was better" in told
    assert "2 verdicts were better" in words.accuracy(replace(errors, bolder=2), shown)


def test_an_appliance_is_named_as_left_out():
    from made_history import in_stack

    batch = in_stack(1.0)
    assert f"the file names {batch.appliance.name}" in words.held(batch, at_start(batch, AXES), Units(batch))


def test_it_is_written_whole(tmp_path):
    written = write_handout(small_grid(), small_errors(), start_answer(), tmp_path / "page.html", "us")
    assert '"units":"us"' in written.read_text(encoding="utf-8")
    assert [one.name for one in tmp_path.iterdir()] == ["page.html"]


def test_the_batch_it_starts_from_is_the_files():
    assert start_answer().batch.meat.classes[0].thickness_m == warm_air().meat.mean_thickness_m
