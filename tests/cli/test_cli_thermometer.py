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
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.thermometer import thermometer
from dryingsim.judge.lethality import CAUTIONS, log_D
from dryingsim.judge.thermometer_log import read_log_file
from dryingsim.judge.verdict import TABLES
from dryingsim.show.tables import CAUTION

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "thermometer_log.csv"

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(thermometer)


@app.callback()
def main() -> None:
    """Hold the one command, as the whole program does."""


def invoke(*args):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["thermometer", *map(str, args)], env=environment)


def flat(text):
    return " ".join(text.split())


def log_file(path, text):
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def held(tmp_path):
    """An hour at 62 degC, without water activity or humidity."""
    lines = [f"{minutes}, 62" for minutes in range(0, 61, 5)]
    return log_file(tmp_path / "held.csv", "\n".join(["time [min], temperature [degC]", *lines]))


def test_the_example_says_it_is_invented_and_is_judged():
    assert "our own invented numbers" in EXAMPLE.read_text(encoding="utf-8")
    result = invoke(EXAMPLE)
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    text = flat(result.stdout)
    for name in ("Salmonella", "E. coli O157:H7", "L. monocytogenes"):
        assert name in text
    assert "straight lines" in text
    assert "at least 90 % relative humidity; humidity rule 2014 option B" in text
    assert "place of the probe only" in text
    assert text.endswith(CAUTION)
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)


def test_numbers_of_a_constant_temperature_are_time_over_d(held):
    found = json.loads(invoke(held, "--water-activity", "0.99", "--json").stdout)
    for one in found["organisms"]:
        for estimate in ("cautious", "central"):
            expected = 3600.0 / 10.0 ** log_D(one["organism"], 335.15, 0.99, estimate)
            assert one[estimate] == pytest.approx(min(expected, 10.0), rel=1e-9)
        assert one["central_drying"] == 0.0
    assert found["federal_table"] is None
    assert found["cautions"] == list(CAUTIONS)
    assert "not looked at" in flat(invoke(held, "--water-activity", "0.99").stdout)


def test_dryness_matters(held):
    wet, dry = (
        json.loads(invoke(held, "--water-activity", a, "--json").stdout)["organisms"][0]["cautious"]
        for a in ("0.99", "0.7")
    )
    assert dry < 0.1 * wet


def test_json_is_all_there_is_on_stdout():
    found = json.loads(invoke(EXAMPLE, "--json", "--units", "us").stdout)
    log = read_log_file(EXAMPLE)
    assert (found["log"], found["readings"]) == ("thermometer_log.csv", log.time_s.size)
    assert found["hottest_K"] == pytest.approx(log.temperature_K.max())
    assert found["federal_table"]["table"] == "beef_1999"
    assert found["grade"] == min(
        (one["grade"] for one in found["organisms"]),
        key=["hardly any", "short", "not shown", "reached"].index,
    )


def test_units_can_be_chosen():
    text = invoke(EXAMPLE, "--units", "us").stdout
    assert "39 to 142 °F" in text
    assert "°C" not in text


def test_poultry_asks_for_more_and_has_a_table_of_its_own():
    found = json.loads(invoke(EXAMPLE, "--species", "poultry", "--json").stdout)
    assert found["organisms"][0]["target"] == 7.0
    assert found["federal_table"]["table"] == "poultry_fat_12"


@pytest.mark.parametrize("species", TABLES)
def test_tables_are_those_of_a_simulated_batch(species):
    batch = ds.demo_batch()
    short = replace(
        batch,
        meat=replace(batch.meat, species=species),
        stages=(replace(batch.stages[0], duration_s=120.0, until=None),),
    )
    judged = ds.judge_batch_lethality(ds.run(short, nodes=6))
    assert judged.species == species
    assert (judged.table.table, judged.table.target) == TABLES[species]


def test_coarse_readings_are_told_with_their_organism(tmp_path):
    text = "time [min], temperature [degC], water_activity\n0, 20, 0.99\n10, 65, 0.99\n20, 40, 0.99\n"
    told = flat(invoke(log_file(tmp_path / "coarse.csv", text)).stdout)
    differences = re.findall(r"Beyond what was measured, ([^:]+(?:O157:H7)?): coarse samples", told)
    assert len(differences) == len(set(differences)) > 0


# ---- how it fails


def assert_one_line(result, says):
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("dryingsim: ")
    assert len(result.stderr.splitlines()) == 1
    assert says in result.stderr


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
    assert_one_line(invoke(tmp_path), "cannot be read")
    assert_one_line(invoke(held), "say with --water-activity what it was at the probe")
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
