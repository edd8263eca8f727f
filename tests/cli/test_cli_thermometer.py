"""`dryingsim thermometer` as a person uses it: an example, units, JSON, and bad logs."""

import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import typer
from complaints import assert_one_line
from made_batch import warm_air
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.thermometer import thermometer
from dryingsim.judge.federal_table import column_of
from dryingsim.judge.heat_resistance import lower_bound
from dryingsim.judge.thermometer_log import read_log_file
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.lethality.words import CAUTIONS

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "thermometer_log.csv"

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(thermometer)


@app.callback()
def main() -> None:
    """Hold the one command, as the whole program does."""


def invoke(*args):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["thermometer", *map(str, args), "--details"], env=environment)


def flat(text):
    return " ".join(text.split())


def log_file(path, text):
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def held(tmp_path):
    """An hour at 62 degC, without water activity or humidity, the meat warm from the start."""
    lines = [f"{minutes}, 62" for minutes in range(0, 61, 5)]
    return log_file(
        tmp_path / "held.csv",
        "\n".join(["# started warm: in a bath", "time [min], temperature [degC]", *lines]),
    )


def test_the_example_says_it_is_invented_and_is_judged():
    assert "our own invented numbers" in EXAMPLE.read_text(encoding="utf-8")
    result = invoke(EXAMPLE)
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    text = flat(result.stdout)
    for name in ("Salmonella", "E. coli O157:H7", "L. monocytogenes"):
        assert name in text
    assert "as cool and as dry as at either of them" in text
    assert "humidity option 3, humid air" in text
    assert "place of the probe only" in text
    assert text.endswith(CAUTION)
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)


@pytest.mark.parametrize(("form", "matrix"), [("ground", "ground"), ("sliced", "surface"), (None, "whole")])
def test_numbers_of_a_constant_temperature_are_time_over_d(held, form, matrix):
    given = ("--form", form) if form else ()
    found = json.loads(invoke(held, "--water-activity", "0.99", *given, "--json").stdout)
    assert found["form"] == {"ground": "minced", "surface": "sliced", "whole": "pounded"}[matrix]
    for one in found["organisms"]:
        place = np.array([0.0, 3600.0]), np.full(2, 335.15), np.full(2, 0.99)
        expected = lower_bound(*place, one["organism"], matrix)
        assert one["lower"] == pytest.approx(min(expected.lower, 7.0), rel=1e-9)
        assert one["best"] == pytest.approx(min(expected.median, 7.0), rel=1e-9)
        assert one["drying_share"] == 0.0
    assert found["federal_table"] is None
    assert found["cautions"] == list(CAUTIONS)
    assert "not looked at" in flat(invoke(held, "--water-activity", "0.99").stdout)


def test_dryness_matters(held):
    wet, dry = (
        json.loads(invoke(held, "--water-activity", a, "--json").stdout)["organisms"][0]["lower"]
        for a in ("0.99", "0.7")
    )
    assert dry < 0.1 * wet


def test_json_is_all_there_is_on_stdout():
    found = json.loads(invoke(EXAMPLE, "--species", "beef", "--json", "--units", "us").stdout)
    log = read_log_file(EXAMPLE)
    assert (found["log"], found["readings"]) == ("thermometer_log.csv", log.time_s.size)
    assert found["hottest_K"] == pytest.approx(log.temperature_K.max())
    assert found["federal_table"]["table"] == "meat"
    assert found["grade"] == min(
        (one["grade"] for one in found["organisms"]),
        key=["far below", "below target", "not shown", "met"].index,
    )


def test_units_can_be_chosen():
    text = invoke(EXAMPLE, "--units", "us").stdout
    assert "39 to 142 °F" in text
    assert "°C" not in text


def test_a_species_that_nobody_states_is_judged_by_the_strictest():
    found = json.loads(invoke(EXAMPLE, "--json").stdout)
    poultry = json.loads(invoke(EXAMPLE, "--species", "poultry", "--json").stdout)
    assert [one["target"] for one in found["organisms"]] >= [one["target"] for one in poultry["organisms"]]
    assert found["federal_table"]["table"] == "poultry"
    assert any("species of the meat is not stated" in text for text in found["warnings"])


def test_poultry_asks_for_more_and_has_a_table_of_its_own():
    found = json.loads(invoke(EXAMPLE, "--species", "poultry", "--json").stdout)
    assert found["organisms"][0]["target"] == 7.0
    assert found["federal_table"]["table"] == "poultry"


@pytest.mark.parametrize("species", ["beef", "poultry", "unknown"])
def test_tables_are_those_of_a_simulated_batch(species):
    batch = warm_air()
    short = replace(
        batch,
        meat=replace(batch.meat, name="meat", species=species),
        stages=(replace(batch.stages[0], duration_s=120.0, until=None),),
    )
    judged = ds.judge_batch_lethality(ds.run(short, nodes=6))
    assert judged.species == species
    column = column_of(species, fat=batch.meat.composition.fat)
    found = judged.table
    assert (found.table, found.target, found.fat_percent) == (column.table, column.target, column.fat_percent)


def test_the_columns_of_the_readme_are_read_and_what_is_unknown_is_an_objection(tmp_path):
    """`time, meat °F` alone: judged as wet meat, but nothing is shown, since nobody knows how wet it was."""
    readme = (EXAMPLE.parents[1] / "README.md").read_text(encoding="utf-8")
    for heading in re.findall(r"`(time, meat[^`]*)`", readme):
        cells = {
            "time": "{0}:{1:02d}",
            "meat °F": "{2:.0f}",
            "air °F": "160",
            "water_activity": "0.99",
            "rh %": "95",
        }
        columns = [cells[name.strip()] for name in heading.split(",")]
        warming = [40, 68, 85, 99, 112, 124, 132, 139, *[150] * 28]
        rows = [", ".join(columns).format(8 + 5 * i // 60, 5 * i % 60, t) for i, t in enumerate(warming)]
        path = log_file(tmp_path / "readme.csv", "\n".join([heading, *rows]))
        result = invoke(path, "--species", "beef", "--json")
        assert result.exit_code == 0, result.stderr
        found = json.loads(result.stdout)
        if "water_activity" in heading:
            assert (found["grade"], found["objections"]) == ("met", [])
        else:
            assert found["grade"] == "not shown"
            assert "no water activity was logged" in found["objections"][0]
            printed = flat(invoke(path).stdout)
            assert "The log is not relied on: no water activity was logged" in printed
            assert "7 or more" not in printed  # as the best estimates would be
            assert "NOT relied on, so no best estimate (-): no water activity was logged" in printed
            assert all(one["best"] is None for one in found["organisms"])
            assert all("no best estimate" in one["reason"] for one in found["organisms"])


def test_a_warm_start_is_asked_about_and_its_reason_is_repeated(tmp_path):
    rows = [f"{2 * i}, {t}, 0.99" for i, t in enumerate([64] * 30)]
    path = log_file(tmp_path / "warm.csv", "\n".join([HEAD.strip(), *rows]))
    assert_one_line(invoke(path), "warm.csv line 2: the log begins with meat at 64 degC")
    text = flat(invoke(path, "--started-warm", "heated in the marinade").stdout)
    assert "the meat was warm when the log began, said to be so because: 'heated in the marinade'" in text


def test_objections_are_told_in_the_units_asked_for_and_no_table_is_fulfilled(tmp_path):
    rows = [f"{5 * i}, {t}, 0.99, 95" for i, t in enumerate([4, 20, 35, 48, 56, 62, 75, *[90] * 20])]
    head = "time [min], temperature [degC], water_activity, rh [%]"
    path = log_file(tmp_path / "hot.csv", "\n".join([head, *rows]))
    text = flat(invoke(path, "--units", "us").stdout)
    assert "It is not shown that the required log reduction is met" in text
    assert "meat of a water activity of 0.99 at 194 °F" in text
    assert "not fulfilled" in text
    assert "Since the log is not relied on, it fulfils no table" in text


# ---- how it fails


HEAD = "time [min], temperature [degC], water_activity\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "bad.csv: no line with columns found"),
        ("time, temperature\n0, 20\n", "line 2, temperature = '20' has no unit"),
        (
            HEAD + "0, 20, 0.99\n5, warm, 0.99\n",
            "line 3, temperature = 'warm': a temperature with its unit is expected",
        ),
        (
            HEAD + "0, 20, 0.99\n# pause\n5, 20\n",
            "line 4, water_activity = '': a number without a unit is expected",
        ),
        (HEAD + "0, 20, 0.99\n5, 20, 99\n", "line 3, water_activity = '99' is outside 0 to 1"),
        (HEAD + "0, 20, 0.99\n50, 20, 0.99\n", "line 3: 50 min without a reading"),
        (HEAD + "5, 20, 0.99\n0, 20, 0.99\n", "line 3, time = '0' is before the line above"),
        (HEAD + "0, 200, 0.99\n", "line 2, temperature = '200 degC' is outside -20 degC to 150 degC"),
    ],
)
def test_bad_logs_are_one_line_with_the_line_of_the_file(tmp_path, text, says):
    assert_one_line(invoke(log_file(tmp_path / "bad.csv", text)), says)


def test_wrong_words_and_missing_files_are_one_line(held, tmp_path):
    assert_one_line(invoke(tmp_path / "none.csv"), "none.csv: there is no such file")
    assert_one_line(invoke(tmp_path), "this is a folder")
    assert_one_line(
        invoke(EXAMPLE, "--thickness", "5"), "--thickness = '5': a length with its unit is expected"
    )
    assert_one_line(invoke(EXAMPLE, "--thickness", "5 cm"), "--thickness = '5 cm' is outside 1 mm to 30 mm")
    assert_one_line(invoke(EXAMPLE, "--started-warm", " "), "--started-warm is empty")
    assert_one_line(invoke(held, "--water-activity", "99"), "water activity 99 is outside 0 to 1")
    assert_one_line(invoke(EXAMPLE, "--water-activity", "0.9"), "has a column water_activity already")
    assert_one_line(invoke(EXAMPLE, "--species", "pultry"), "did you mean 'poultry'?")
    assert_one_line(invoke(EXAMPLE, "--units", "metirc"), "did you mean 'metric'?")


def test_bytes_that_are_no_text_are_one_line(tmp_path):
    path = tmp_path / "picture.csv"
    path.write_bytes(np.arange(256, dtype=np.uint8).tobytes())
    assert_one_line(invoke(path), "this is not a text file")


def test_help_loads_nothing_heavy():
    code = (
        "import sys, typer\nfrom dryingsim.cli.thermometer import thermometer\n"
        "try: typer.run(thermometer)\nexcept SystemExit: pass\n"
        "print('\\nLOADED', *{name.split('.')[0] for name in sys.modules})"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "--help"], capture_output=True, text=True, timeout=60, check=True
    )
    loaded = set(done.stdout.rsplit("LOADED", 1)[1].split())
    assert "dryingsim" in loaded
    assert not loaded & {"numpy", "scipy", "pint", "matplotlib"}


def test_fish_is_judged_without_a_table():
    result = invoke(EXAMPLE, "--species", "fish")
    assert result.exit_code == 0, result.output
    assert "not looked at. None speaks of fish" in " ".join(result.stdout.split())
