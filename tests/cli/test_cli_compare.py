"""`dryingsim compare` as a person uses it: what is printed where, what is written, and how it fails."""

import io
import json
import os
import re
import subprocess
import sys
import time

import pytest
import typer
from complaints import assert_one_line
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.cli.compare import compare
from dryingsim.cli.main import OneLineErrors
from dryingsim.show.core.tables import CAUTION

pytestmark = pytest.mark.usefixtures("coarse_steps")

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(compare)


@app.callback()
def main() -> None:
    """Hold the one command, as the whole program does."""


def invoke(*args):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["compare", *map(str, args)], env=environment)


def flat(text):
    return " ".join(text.split())


def batch_file(path, *changes):
    text = warm_air_text().replace('duration = "10 h"', 'duration = "20 min"')
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def warm(tmp_path):
    return batch_file(tmp_path / "warm.toml")


@pytest.fixture
def cool(tmp_path):
    return batch_file(tmp_path / "cool.toml", ("155 degF", "60 degC"), ("Food lab", "Cooler lab"))


@pytest.fixture
def no_simulation(monkeypatch):
    def never(*args, **keywords):
        raise AssertionError("the simulation ran")

    monkeypatch.setattr("dryingsim.explore.compare.run", never)


# ---- what is printed and written


def test_batches_stand_side_by_side(warm, cool):
    result = invoke(warm, cool, "--details")
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    assert "1  Food lab: eye of round, three thicknesses" in result.stdout
    assert "2  Cooler lab: eye of round, three thicknesses" in result.stdout
    assert CAUTION in flat(result.stdout)
    assert max(map(len, result.output.splitlines())) <= 80


def test_titles_that_begin_alike_stand_behind_their_files(warm, tmp_path):
    heated = batch_file(
        tmp_path / "heated.toml", ("three thicknesses", "heated first"), ("155 degF", "60 degC")
    )
    screen = invoke(warm, heated).stdout
    assert {line.split(":")[0] for line in screen.splitlines() if "Food" in line} >= {"warm", "heated"}


def test_one_batch_is_varied(warm):
    result = invoke(warm, "--vary", "meat.thickness = 1 to 2 mm in 3", "--units", "us", "--details")
    assert result.exit_code == 0, result.output
    assert [line.split()[:2] for line in result.stdout.splitlines() if " mm " in line][:3] == [
        ["1", "mm"],
        ["1.5", "mm"],
        ["2", "mm"],
    ]
    assert "°F" in result.stdout
    assert "Done first: thickness 1 mm" in result.stdout


def test_quiet_leaves_out_the_tables(warm, cool):
    whole, quiet = (invoke(warm, cool, "--details", *more).stdout for more in ((), ("--quiet",)))
    assert "Not done when the run ends: 1 (Food lab" in quiet
    assert set(quiet.splitlines()) < set(whole.splitlines())
    assert "h:min" not in quiet


def test_out_writes_the_comparison_and_names_it(warm, cool, tmp_path):
    folder = tmp_path / "results"
    result = invoke(warm, cool, "--out", folder)
    assert result.exit_code == 0, result.output
    names = ["comparison.csv", "comparison.json", "comparison.png"]
    assert sorted(path.name for path in folder.iterdir()) == names
    wrote = flat(result.stdout).split("Wrote ")[1]
    assert all(name in wrote for name in names)


def test_json_is_all_there_is_on_stdout_and_is_the_file(warm, tmp_path, monkeypatch):
    monkeypatch.setattr("dryingsim.show.core.writing.picture", lambda draw, made, kind: b"")
    result = invoke(warm, "--vary", "meat.thickness = 1, 2 mm", "--json", "--out", tmp_path / "results")
    data = json.loads(result.stdout)
    assert [one["label"] for one in data["runs"]] == ["1 mm", "2 mm"]
    assert result.stdout == (tmp_path / "results" / "comparison.json").read_text(encoding="utf-8")


def test_other_meat_is_told_in_one_line_and_compared_all_the_same(warm, tmp_path):
    other = batch_file(tmp_path / "other.toml", ('"0.7 kg"', '"2 kg"'))
    result = invoke(warm, other, "--json")
    assert result.exit_code == 0
    assert len(result.stderr.splitlines()) == 1
    assert "differ in their meat too (weight)" in result.stderr
    assert len(json.loads(result.stdout)["runs"]) == 2


# ---- how it fails


@pytest.mark.usefixtures("no_simulation")
@pytest.mark.parametrize(
    ("args", "says"),
    [
        ([], "no batch file: two or more"),
        (["WARM"], "alone cannot be compared"),
        (
            ["WARM", "COOL", "--vary", "meat.thickness = 1, 2 mm"],
            "--vary goes with one batch file; there are 2",
        ),
        (["--vary", "meat.thickness = 1, 2 mm"], "no batch file"),
        (["WARM", "none.toml"], "none.toml: there is no such file"),
        (["WARM", "--vary", "meat.thickness"], "a parameter and its values are expected"),
        (["WARM", "--vary", "meat.thickness = 2 mm"], "one value alone varies nothing"),
        (["WARM", "--vary", "meat.thickness = 1 to 2 mm in 1"], "2 to 200 values"),
        (["WARM", "--vary", "meat.thicknes = 1, 2 mm"], "did you mean 'thickness'?"),
        (["WARM", "--vary", "meat.thickness = 2, 80 mm"], "thickness = '80 mm' is outside"),
        (["WARM", "--vary", "a = 1, 2", "--vary", "b = 1, 2"], "once only"),
        (["WARM", "COOL", "--price", "0.3"], "an amount, a currency and /kWh are expected"),
        (["WARM", "COOL", "--units", "metirc"], "did you mean 'metric'?"),
        (["WARM", "COOL", "--out", "WARM"], "is a file; a folder for the results is expected"),
    ],
)
def test_bad_input_is_one_line_before_anything_is_simulated(args, says, warm, cool):
    named = {"WARM": str(warm), "COOL": str(cool)}
    assert_one_line(invoke(*(named.get(arg, arg) for arg in args)), says)


@pytest.mark.usefixtures("no_simulation")
def test_a_bad_value_leaves_no_folder_behind(warm, tmp_path):
    result = invoke(warm, "--vary", "meat.thickness = 2, 80 mm", "--out", tmp_path / "results")
    assert result.exit_code == 2
    assert not (tmp_path / "results").exists()


# ---- start-up and progress


def test_help_loads_nothing_heavy():
    code = (
        "import sys, typer\nfrom dryingsim.cli.compare import compare\n"
        "try: typer.run(compare)\nexcept SystemExit: pass\n"
        "print('\\nLOADED', *{name.split('.')[0] for name in sys.modules})"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "--help"], capture_output=True, text=True, timeout=60, check=True
    )
    loaded = set(done.stdout.rsplit("LOADED", 1)[1].split())
    assert "dryingsim" in loaded
    assert not loaded & {"numpy", "scipy", "pint", "matplotlib"}


def test_a_comparison_without_files_draws_nothing(warm, cool):
    code = (
        "import sys, typer\nfrom dryingsim.cli.compare import compare\n"
        "try: typer.run(compare)\nexcept SystemExit as end: assert not end.code\n"
        "print('LOADED', *sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(warm), str(cool)],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env={**os.environ, "NO_COLOR": "1"},
    )
    loaded = set(done.stdout.rsplit("LOADED", 1)[1].split())
    assert "dryingsim.simulate" in loaded
    assert not loaded & {"matplotlib", "scipy.integrate", "scipy.optimize", "scipy.sparse"}


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_progress_tells_which_run(monkeypatch):
    from dryingsim.cli.compare import _tick
    from dryingsim.cli.shared import bar

    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    late = time.monotonic() + 10.0
    with bar(3, hidden=False) as show:
        monkeypatch.setattr("dryingsim.cli.shared.time.monotonic", lambda: late)
        _tick(show, 3)(1, 3720.0)
    assert "run 2 of 3, simulated time 1:02 h" in re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", screen.getvalue())
