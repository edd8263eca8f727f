"""`dryingsim store` as a person uses it: typed values or a batch, and mistakes on one line."""

import json
import re

import numpy as np
import pytest
import typer
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.batch.reading.batch_file import demo_text, load_batch
from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.sheet import sheet
from dryingsim.cli.store import store
from dryingsim.judge.taking_off import taken_off
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.kitchen.store_text import STORE_CAUTION
from dryingsim.show.lethality.text import HEADLINES
from dryingsim.simulate import run

pytestmark = pytest.mark.usefixtures("coarse_steps")

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(store)
app.command()(sheet)
TYPED = ("--weight", "200 g", "--water-activity", "0.75")


def invoke(*args):
    env = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["store", *map(str, args), "--details"], env=env)


def flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def batch(tmp_path_factory):
    path = tmp_path_factory.mktemp("batch") / "b.toml"
    path.write_text(warm_air_text(), encoding="utf-8")
    return path


def test_typed_values_are_enough():
    result = invoke(*TYPED)
    assert result.exit_code == 0, result.output
    assert "a water activity of 0.75, known to ±0.04" in flat(result.stdout)
    for word in ("Room (21 °C)", "Refrigerator (4 °C)", "Freezer (-18 °C)", "Staphylococcus aureus"):
        assert word in result.stdout
    assert flat(STORE_CAUTION) in flat(result.stdout)
    assert "safe " not in result.stdout.replace("safety", "")
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_what_is_assumed_of_the_meat_is_told_unless_its_salt_is_named(batch):
    words = "Taken as beef eye of round without salt: say --salt and --cut, or give its batch file."
    assert words in flat(invoke(*TYPED).stdout)
    assert "Taken as" not in invoke(*TYPED, "--salt", "15 g/kg").stdout
    assert "Taken as" not in invoke(batch).stdout


def test_a_packet_of_gel_is_answered_with_what_it_does():
    """In a hot and humid room bacteria come first, and gel puts them off; a week by advice is the most, whatever is put in."""
    meat = ("--weight", "200 g", "--water-activity", "0.78", "--salt", "15 g/kg")
    room = ("--room", "32 degC", "--room-humidity", "95 %", "--size", "30 cm x 40 cm")

    def days(*gel):
        return json.loads(invoke(*meat, *room, *gel, "--json").stdout)["places"][0]["days"]

    none, some = days(), days("--gel", "5 g")
    assert none < some
    text = flat(invoke(*meat, *room, "--gel", "5 g").stdout)
    assert re.search(r"Your 5 g adds (\d+) (h|days) in the room: \S+ \S+ with it, \S+ \S+ without\.", text)
    assert "Your 5 g" not in invoke(*meat, *room).stdout
    assert "Your 5 g adds nothing in the room: 7 days with it, 7 days without." in flat(
        invoke("--weight", "200 g", "--water-activity", "0.6", "--salt", "15 g/kg", "--gel", "5 g").stdout
    )
    wet = invoke("--weight", "200 g", "--raw", "300 g", "--salt", "15 g/kg", "--gel", "5 g").stdout
    assert "Your 5 g is not enough to keep it in the room. No substitute for drying, it takes days" in flat(
        wet
    )


def test_a_batch_is_taken_as_it_leaves_the_trays(batch):
    result = invoke(batch, "--for", "60 days", "--package", "jar")
    assert result.exit_code == 0, result.output
    text = flat(result.stdout)
    history = run(load_batch(batch))
    off = taken_off(history)
    assert f"{1e3 * off.weight_kg:.0f} g in a glass jar with a lined lid, no silica gel" in text
    assert np.ptp(off.water_activity) == 0.0  # each was taken off as it was ready
    assert "slices stand between" not in text
    assert "For 60 days in the room" in text


def test_slices_that_are_wetter_than_the_batch_may_spoil_it(tmp_path):
    wetter = tmp_path / "wetter.toml"
    # all taken off at once, a little too soon, and without the oven at the end
    whole = warm_air_text().replace("until = { water_activity = 0.85 }", "until = { water_activity = 0.855 }")
    whole = whole.replace("[trays]\n", '[trays]\ntake_off = "together"\n')
    stages = whole[: whole.rindex("[[stage]]")] + whole[whole.index("# When the batch counts") :]
    wetter.write_text(stages, encoding="utf-8")
    text = flat(invoke(wetter, "--for", "60 days", "--package", "jar").stdout)
    assert "In the wettest slices Staphylococcus aureus may grow until then" in text


def test_what_drying_did_to_bacteria_goes_along(batch):
    text = flat(invoke(batch).stdout)
    judged = judge_batch_lethality(run(load_batch(batch)))
    assert f"before the meat is stored: {HEADLINES[judged.grade]}" in text
    assert json.loads(invoke(batch, "--json").stdout)["grade"] == judged.grade
    assert "before the meat is stored" not in invoke(*TYPED).stdout


@pytest.mark.parametrize(("units", "asked"), [("metric", "71 °C"), ("us", "160 °F")])
def test_a_verdict_that_counts_on_heating_first_says_so(tmp_path, units, asked):
    heated = tmp_path / "heated.toml"
    heated.write_text(demo_text(), encoding="utf-8")
    text = flat(invoke(heated, "--units", units).stdout)
    assert f"SAFETY MET if heated to {asked} first, as planned: Salmonella" in text
    assert "MET by this estimate" not in text


def test_what_the_plan_leaves_raw_is_not_kept_as_dried_meat(tmp_path):
    raw, text = tmp_path / "raw.toml", warm_air_text().replace('"10 h"', '"30 min"')
    raw.write_text(
        text[: text.rindex("[[stage]]")] + text[text.index("# When the batch counts") :], encoding="utf-8"
    )
    said = flat(invoke(raw).stdout)
    assert (
        "SAFETY NOT DRY: raw or half-dried meat, not dried meat (water activity 0.97, 0.85 required)." in said
    )
    assert "FRIDGE As raw meat, some days at most." in said
    assert "FREEZER As raw meat. Nothing grows there." in said
    assert "First of all: NOT DRY" in said
    assert json.loads(invoke(raw, "--json").stdout)["dry"] is False
    (just,) = re.findall(
        r"NOT DRY: [^(]*\(([^)]*)\)", flat(invoke("--weight", "9 oz", "--water-activity", "0.854").stdout)
    )[:1]
    assert just == "water activity 0.854, 0.85 required"
    dried = invoke(*TYPED)
    assert "NOT DRY" not in dried.stdout
    assert json.loads(invoke(*TYPED, "--json").stdout)["dry"] is True


def test_raw_and_finished_weight_tell_how_dry_the_meat_is():
    """0.7 kg of eye of round (27.3 % solids as scaled) at 267 g: 1.40 times its dry weight, X = 0.40."""
    result = invoke("--weight", "267 g", "--raw", "700 g", "--json")
    found = json.loads(result.stdout)
    assert found["moisture_db"] == pytest.approx(0.40, abs=0.01)
    assert 0.85 < found["water_activity"] < 0.92


def test_units_change_the_print_only():
    us = invoke("--weight", "7.0548 oz", "--water-activity", "0.75", "--units", "us", "--json")
    metric = json.loads(invoke(*TYPED, "--json").stdout)
    assert json.loads(us.stdout)["places"][0]["days"] == pytest.approx(metric["places"][0]["days"], rel=1e-4)
    text = invoke(*TYPED, "--units", "us").stdout
    assert "70 °F" in text
    assert "Freezer (0 °F)" in text
    assert "°C" not in text


def test_json_is_whole(batch):
    found = json.loads(invoke(*TYPED, "--gel", "10 g", "--for", "30 days", "--json").stdout)
    assert [place["place"] for place in found["places"]] == ["room", "fridge", "freezer"]
    assert found["caution"] == STORE_CAUTION
    assert found["gel"]["days"] == 30.0
    for place in found["places"][:2]:
        assert place["decided_by"] in ("computed", "advice")
        assert all(row["source"] for row in place["may_grow"])
    start = found["places"][0]["course"][0]["water_activity"]
    assert start < found["water_activity"]


def test_size_and_package_matter():
    def after_a_year(*more):
        found = json.loads(invoke(*TYPED, "--room-humidity", "30 %", "--json", *more).stdout)
        return found["places"][0]["course"][-1]["water_activity"]

    small, large = (after_a_year("--size", f"{one} cm x 20 cm") for one in (10, 40))
    assert large < small
    assert after_a_year("--package", "foil pouch") > small


@pytest.mark.parametrize(
    ("args", "says"),
    [
        ((), "what is stored?"),
        (("--weight", "200 g"), "--water-activity or --raw"),
        ((*TYPED, "--raw", "500 g"), "--water-activity or --raw"),
        (("--weight", "200 g", "--water-activity", "1.3"), "outside 0.2 to 0.99"),
        (("--weight", "200 g", "--water-activity", "nan"), "outside 0.2 to 0.99"),
        (("--weight", "100 g", "--raw", "700 g"), "is possible for beef eye of round dried"),
        (("--weight", "200", "--water-activity", "0.8"), "a weight with its unit is expected"),
        ((*TYPED, "--package", "bag"), "did you mean 'zip bag'?"),
        ((*TYPED, "--size", "18cm"), "width x height"),
        ((*TYPED, "--package", "ziplike"), "did you mean 'zip bag'?"),
        ((*TYPED, "--package", "jar", "--size", "18 cm x 20 cm"), "no meaning for the jar"),
        ((*TYPED, "--gel", "5 cm"), "'cm' measures a length"),
        ((*TYPED, "--for", "5 kg"), "a duration"),
        ((*TYPED, "--cut", "beef eye of rond"), "did you mean 'beef eye of round'?"),
        ((*TYPED, "--room-humidity", "150 %"), "outside 1 % to 99 %"),
        ((*TYPED, "--units", "si"), "known: 'metric', 'us'"),
        (("none.toml",), "no such file"),
    ],
)
def test_mistakes_are_one_line(args, says):
    result = invoke(*args)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    assert says in result.stderr


def test_a_batch_file_and_typed_meat_do_not_mix(batch):
    result = invoke(batch, "--raw", "700 g")
    assert result.exit_code == 2
    assert "says what the meat is" in result.stderr


def test_part_of_a_batch_is_packed(batch):
    found = json.loads(invoke(batch, "--weight", "100 g", "--json").stdout)
    assert found["weight_kg"] == pytest.approx(0.1)


def test_silica_gel_makes_meat_brittle_but_does_not_end_its_keeping():
    without, much = (
        flat(
            invoke(
                "--weight", "200 g", "--water-activity", "0.7", "--package", "zip bag", "--gel", gel
            ).stdout
        )
        for gel in ("0 g", "20 g")
    )
    assert "Room (21 °C): by advice, about a week" in without
    assert "Room (21 °C): by advice, about a week" in much
    assert "do not keep it there" not in much
    assert "spoils the bite, not the meat; less silica gel, or none, keeps it softer" in much
