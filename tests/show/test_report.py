"""The page: answer first, pictures told in numbers, assumptions with sources, nothing loaded, nothing typed trusted."""

import re
from collections import Counter
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.explore.changes import small_changes
from dryingsim.judge.heat_model import numbers
from dryingsim.judge.remedies import remedies
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.show.core.page import style_sheet
from dryingsim.show.core.quantities import Units, spoken
from dryingsim.show.lethality.brief import VERDICTS
from dryingsim.show.lethality.words import CAUTIONS
from dryingsim.show.report import words
from dryingsim.show.report.document import report_html, write_report
from dryingsim.show.report.sources import assumptions, described
from dryingsim.show.run.text import lethality_sentences, load_sentences, when_sentences

pytestmark = pytest.mark.usefixtures("coarse_steps")

TITLE = 'A <script>alert("x")</script> & $^{\\frac "title" 50 %'
VOID = {"meta", "br", "link", "img", "input"}


class Page(HTMLParser):
    """What a test asks of a page: its elements with their attributes, and the text inside each."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open, self.found = [], []
        self.feed(text)
        assert not self.open, "every element is closed"

    def handle_starttag(self, tag, attributes):
        entry = {
            "tag": tag,
            "attributes": dict(attributes),
            "text": "",
            "inside": [one["tag"] for one in self.open],
        }
        self.found.append(entry)
        if tag not in VOID:
            self.open.append(entry)

    def handle_startendtag(self, tag, attributes):
        self.found.append({"tag": tag, "attributes": dict(attributes), "text": "", "inside": []})

    def handle_endtag(self, tag):
        assert self.open.pop()["tag"] == tag

    def handle_data(self, data):
        for entry in self.open:
            entry["text"] += data

    def all(self, *tags):
        return [entry for entry in self.found if entry["tag"] in tags]

    def by_id(self, name):
        (entry,) = (one for one in self.found if one["attributes"].get("id") == name)
        return entry


@pytest.fixture(scope="module")
def history():
    return ds.run(replace(warm_air(), name=TITLE))


@pytest.fixture(scope="module")
def changes(history):
    stages = (replace(history.batch.stages[0], duration_s=600.0),)  # what they come to is tested elsewhere
    return small_changes(replace(history.batch, stages=stages))


@pytest.fixture(scope="module")
def text(history, changes):
    return report_html(ds.Answer(history), changes)


@pytest.fixture(scope="module")
def page(text):
    return Page(text)


def test_what_was_typed_is_text(text, page):
    assert "<script" not in text
    assert page.all("h1")[0]["text"] == TITLE
    assert page.all("title")[0]["text"].startswith(TITLE)


def test_nothing_is_loaded(text, page):
    for entry in page.found:
        for name, value in entry["attributes"].items():
            if name in ("src", "href", "srcset", "data", "action", "poster", "xlink:href"):
                assert (value or "").startswith("#"), (entry["tag"], name, value)
            assert not name.startswith("on"), "no script in an attribute"
    assert not page.all("script", "link", "img", "iframe", "object", "embed", "base", "form", "image")
    assert "http" not in text
    assert "@import" not in text
    assert set(re.findall(r"url\(([^)]{1,3})", text)) <= {"#pi"}  # parts of the same picture


def test_the_answer_comes_first(history, page):
    headings = [entry["text"] for entry in page.all("h2")]
    shown = page.all("dl")[0]["text"]
    assert [label for label in ("SAFETY", "READY", "WEIGH", "MEAT", "YIELD") if label in shown] == [
        entry["text"] for entry in page.all("dt")
    ]
    assert headings == [
        "The answer", "Pictures", "What moves the answer", "What is assumed, and by whose word", "Cautions",
    ]  # fmt: skip
    answer = page.all("section")[0]["text"]
    of_run = ds.Answer(history)
    for sentence in (*when_sentences(of_run), *load_sentences(of_run), *lethality_sentences(of_run)):
        assert sentence in answer


def test_both_systems_stand_in_the_answer(history, changes, page):
    def of_both(made):
        return next(
            one["text"] for one in made.all("details") if one["text"].startswith("both systems of units")
        )

    answers = ds.judge_batch(history)
    weight, hottest = answers.doneness.weight_kg, answers.heating.peak_K - 273.15
    us = Page(report_html(ds.Answer(history), changes, "us"))
    for cells in (of_both(page), of_both(us)):
        assert f"{1e3 * weight:.0f} g{weight / 0.0283495:.1f} oz" in cells
        assert f"{hottest:.0f} °C{32.0 + 1.8 * hottest:.0f} °F" in cells
    assert "in air of 155 °F" in us.by_id("pic-heat-desc")["text"]


def test_what_is_read_at_once_is_short(text):
    """A page is read at one sitting: what is not needed for that is folded away, and nothing is lost."""
    drawn = re.sub(r"<(svg|style).*?</\1>", "", text, flags=re.DOTALL)
    at_once = re.sub(r"(?s)(<details><summary>.*?</summary>).*?</details>", r"\1", drawn)
    words = [len(unescape(re.sub(r"<[^>]+>", " ", part)).split()) for part in (at_once, drawn)]
    assert words[0] <= 1500 < words[1]


def test_no_names_of_the_code_are_read(page):
    read = " ".join(entry["text"] for entry in page.all("p", "th", "td", "dd", "figcaption", "summary"))
    assert not re.findall(r"\b[a-z]+_(?:m2_s|K|kg|db|m|s)\b|\b(?:model|judge|properties)\.[a-z]+", read)


def test_the_verdict_speaks_as_elsewhere(history, text, page):
    judged = judge_batch_lethality(history)
    assert VERDICTS[judged.grade] in page.all("dd")[0]["text"]
    assert "grave" in page.all("dl")[0]["text"] or judged.grade == "met" or 'class="grave"' in text
    assert not re.search(r"\bsafe(ly)?\b", unescape(text).replace("safer.toml", ""), re.IGNORECASE)
    cautions = page.all("section")[-1]["text"]
    assert all(caution in cautions for caution in CAUTIONS)
    assert CAUTIONS[0] in page.all("main")[0]["text"][:200]


def test_remedies_only_if_asked_for(history, changes, text):
    assert "What each change does to bacteria" not in text
    brief = replace(history.batch, stages=(replace(history.batch.stages[0], duration_s=300.0),))
    tried = remedies(brief, nodes=8)
    told = report_html(ds.Answer(history), changes, None, tried)
    assert "What each change does to bacteria" in told
    assert told.count("<p>Heated first") == 1


# ---- for a screen reader


def test_landmarks_and_language(page):
    assert page.all("html")[0]["attributes"]["lang"] == "en"
    for landmark in ("header", "nav", "main", "footer"):
        assert len(page.all(landmark)) == 1
    ids = {entry["attributes"]["id"] for entry in page.found if "id" in entry["attributes"]}
    for link in page.all("a"):
        assert link["attributes"]["href"].removeprefix("#") in ids
        assert link["text"]
    for section in page.all("section"):
        assert section["attributes"]["aria-labelledby"] in ids


def test_headings_go_down_one_level_at_a_time(page):
    levels = [int(entry["tag"][1]) for entry in page.all("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_every_table_has_headings_with_scope(page):
    assert page.all("table")
    for head in page.all("th"):
        assert head["attributes"]["scope"] == ("col" if "thead" in head["inside"] else "row")
    for row in page.all("tr"):
        assert "thead" in row["inside"] or "tbody" in row["inside"]
    for box in page.all("div"):
        if "tabindex" in box["attributes"]:  # what scrolls can be reached by keys, and has a name
            assert box["attributes"]["role"] == "region"
            assert box["attributes"]["aria-label"]


def test_every_picture_says_its_message_in_numbers(page):
    pictures = page.all("svg")
    assert len(pictures) == 9
    for picture in pictures:
        assert picture["attributes"]["role"] == "img"
        title, message = (
            page.by_id(name)["text"] for name in picture["attributes"]["aria-labelledby"].split()
        )
        assert len(title) > 5
        # of runs too short to be done only their length can be told
        assert len(re.findall(r"\d+", message)) >= (1 if title == "The time until done" else 3), message
        assert message.endswith(".")
        assert "nan" not in message
        assert "None" not in message


def test_messages_have_the_numbers_of_the_run(history, page):
    answers = ds.judge_batch(history)
    slowest = answers.doneness.classes[-1].expected_s
    assert f"6 mm after {spoken(slowest)}" in page.by_id("pic-dry-desc")["text"]
    assert f"{1e3 * answers.doneness.weight_kg:.0f} g when done" in page.by_id("pic-weight-desc")["text"]
    assert (
        f"comes to {judge_batch_lethality(history).worst.counted:.1f}"
        in page.by_id("pic-reduction-lower-desc")["text"]
    )
    assert "0.52" in page.by_id("pic-depth-desc")["text"]
    assert answers.doneness.batch.expected_s is not None


def test_the_usual_wet_bulb_is_that_of_the_drying_air_over_time():
    """In hot liquid, and where a stage begins, records crowd; here the wet bulb climbs evenly from 20 to 40 °C after it."""
    batch = ds.demo_batch()
    drying = replace(batch.stages[-1], duration_s=1800.0, until=None)
    history = ds.run(replace(batch, stages=(batch.stages[0], drying)), nodes=8)
    begun, end = history.stage_end_s
    climbing = np.where(
        history.time_s <= begun, 373.15, 293.15 + 20.0 * (history.time_s - begun) / (end - begun)
    )
    vars(history)["air_wet_bulb_K"] = climbing[:, None] * np.ones(history.kind.size)
    assert "wet bulb of the drying air is 30 °C" in words.temperatures(
        ds.Answer(history), Units(batch, "metric")
    )


def test_ids_are_unique_and_every_reference_leads_somewhere(text):
    ids = Counter(re.findall(r'\bid="([^"]+)"', text))
    assert max(ids.values()) == 1
    assert set(re.findall(r'(?:href="#|url\(#)([^")]+)', text)) <= set(ids)


# ---- looks


def test_pictures_follow_the_page_light_and_dark(text):
    style = style_sheet()
    named = set(re.findall(r"(--[a-z-]+):#", style))
    used = set(re.findall(r"var\((--[a-z-]+)\)", text))
    assert used <= named
    assert {"--black", "--blue", "--red-ink"} & used
    dark = style.split("prefers-color-scheme:dark")[1].split("}}")[0]
    assert named == set(re.findall(r"(--[a-z-]+):#", dark))
    assert "@media print" in style
    pictures = "".join(re.findall(r"<svg.*?</svg>", text, re.DOTALL))
    assert "#000000" not in pictures
    assert "font-family" not in pictures
    assert "<style" not in pictures  # it would hold for the whole page


def test_the_same_run_writes_the_same_bytes(history, changes, text, tmp_path):
    path = write_report(ds.Answer(history), changes, tmp_path / "b.html")
    assert path.read_text(encoding="utf-8") == text
    assert [one.name for one in tmp_path.iterdir()] == ["b.html"]
    assert len(text) < 300_000


# ---- assumptions


def test_sources_are_read_where_they_stand(history):
    groups = dict(assumptions(history))
    rows = {row.what: row for group in groups.values() for row in group}
    law = rows["diffusivity of water in lean meat"]
    assert f"{LEAN_MEAT.reference_m2_s:g}" in law.value
    assert "geometric mean" in law.source
    assert "fish muscle" in law.source
    emissivity = rows["emissivity of the meat"]
    assert emissivity.value == "0.95"
    assert emissivity.source.startswith("published: as water")
    assert "McAdams" in rows["still air: the same, stable"].source
    assert rows["heat of sorption: how the water activity rises with temperature"].value == "6000 J/mol"
    assert "USDA" in rows["composition"].source
    bacteria = " ".join(row.source for row in groups["Bacteria"])
    for number in numbers():
        assert number.evidence.source in bacteria
    assert all(row.what and row.value and row.source for row in rows.values())


def test_what_is_not_from_the_table_of_foods_is_not_said_to_be(history):
    meat = history.batch.meat
    own = replace(meat, composition=replace(meat.composition, water=0.70, fat=0.0577))
    told = dict(assumptions(replace(history, batch=replace(history.batch, meat=own))))
    assert {row.what: row.source for row in told["The batch"]}["composition"] == "batch file"


def test_an_appliance_shows_every_parameter_with_its_source(tmp_path):
    document = {"appliance": {"use": "stacked dehydrator", "heater": {"power": "600 W"}}}
    description = described(document, tmp_path)
    batch = in_stack(0.1, description.appliance("test"))
    history = ds.run(batch, nodes=8)
    for given in (description, None):
        (heading,) = (name for name, _ in assumptions(history, given) if name.startswith("The appliance"))
        rows = {row.what: row for row in dict(assumptions(history, given))[heading]}
        if given is None:  # not as in the catalog, and no description: at least the numbers
            assert rows["heater power W"].value == "600.0"
            continue
        assert rows["heater.power"].value == "600 W"
        assert rows["heater.power"].source == "own value"
        for key, entry in all_appliances()["stacked dehydrator"].entries.items():
            if key != "heater.power":
                assert rows[key.replace("_", " ")].source == entry.source
    assert described({}, tmp_path) is None


def test_a_batch_in_an_appliance_that_is_not_done():
    history = ds.run(in_stack(0.3), nodes=8)
    page = Page(report_html(ds.Answer(history), small_changes(in_stack(0.1))))
    assert "not in this run" in page.all("dl")[0]["text"]
    assert "not in this run" in page.by_id("pic-trays-desc")["text"]
    assert any("not done in the plan" in table["text"] for table in page.all("table"))


def test_without_changes_the_page_has_no_word_of_them(history):
    page = report_html(ds.Answer(history), [])
    assert "What moves the answer" not in page
    assert "Cautions" in page
