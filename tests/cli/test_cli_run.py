"""`dryingsim run` as a person uses it: what is printed where, what is written, and how it fails."""

import csv
import io
import json
import os
import re
import signal
import subprocess
import sys
import time

import pytest
from complaints import assert_one_line
from made_batch import warm_air_text
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli.main import app
from dryingsim.cli.shared import watched
from dryingsim.show.core.tables import BRIEF_CAUTION, CAUTION, plain
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.run.first_screen import run_document
from dryingsim.show.run.tables import tables

pytestmark = pytest.mark.usefixtures("coarse_steps")


def invoke(*args):
    return CliRunner().invoke(
        app, list(map(str, args)), env={"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    )


def flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def history():
    return ds.run(ds.demo_batch())


@pytest.fixture
def no_picture(monkeypatch):
    """Where the picture does not matter: drawing takes a second."""
    monkeypatch.setattr("dryingsim.show.core.writing.picture", lambda *args: b"")


@pytest.fixture
def no_simulation(monkeypatch):
    def never(*args, **keywords):
        raise AssertionError("the simulation ran")

    monkeypatch.setattr("dryingsim.simulate.run", never)


# ---- what is printed


def test_without_a_file_the_demonstration_runs_and_says_so():
    result = invoke("run")
    assert result.exit_code == 0, result.output
    assert "demonstration" in result.stderr
    assert "dryingsim new" in result.stderr
    assert BRIEF_CAUTION in flat(result.stdout)
    assert len(result.stdout.splitlines()) <= 25
    assert result.stdout.rstrip() == plain_text(run_document(ds.Answer(ds.run(ds.demo_batch()))))
    assert "\x1b" not in result.output
    assert max(map(len, result.output.splitlines())) <= 80


def test_a_file_is_not_called_a_demonstration(short):
    result = invoke("run", short)
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    assert "0:40" in result.stdout


def test_the_written_demo_file_runs_as_the_demonstration_does(tmp_path):
    path = tmp_path / "batch.toml"
    invoke("new", path)
    assert invoke("run", path).stdout == invoke("run").stdout


def test_nothing_is_written_unless_asked(tmp_path, monkeypatch, short):
    monkeypatch.chdir(tmp_path)
    invoke("run", short)
    assert list(tmp_path.iterdir()) == [short]


def test_quiet_leaves_out_the_table(short):
    whole, quiet = invoke("run", short).stdout, invoke("run", short, "--quiet").stdout
    assert "\nSAFETY  " in quiet
    assert BRIEF_CAUTION in flat(quiet)
    assert set(quiet.splitlines()) < set(whole.splitlines())
    assert "h:min" not in quiet


def test_json_is_all_there_is_on_stdout(history):
    result = invoke("run", "--json")
    summary = json.loads(result.stdout)
    assert summary["end"]["time_s"] == pytest.approx(history.time_s[-1])
    assert summary["caution"] == CAUTION
    assert json.loads(invoke("run", "--json", "--quiet", "--units", "us").stdout) == summary


def test_units_can_be_chosen(history):
    result = invoke("run", "--units", "us", "--details")
    assert plain(tables(ds.Answer(history), "us")) in result.stdout
    assert " oz of meat" in flat(result.stdout)
    assert "°C" not in result.stdout


def test_details_are_all_there_is_below_the_first_screen(history):
    first, whole = invoke("run").stdout, invoke("run", "--details").stdout
    assert plain(tables(ds.Answer(history))) in whole
    assert "Done after about" in whole
    assert flat(whole).endswith(CAUTION)
    *_, hint = first.splitlines()
    assert hint.startswith("More with --details: ")
    assert whole.startswith(first.removesuffix(f"{hint}\n"))
    assert max(map(len, whole.splitlines())) <= 80


@pytest.mark.usefixtures("no_simulation")
def test_a_price_without_an_appliance_is_not_swallowed(short):
    assert_one_line(invoke("run", short, "--price", "0.30 EUR/kWh"), "names no appliance")


@pytest.mark.usefixtures("no_simulation")
def test_a_price_is_checked_first(short):
    assert_one_line(
        invoke("run", short, "--price", "cheap"), "--price = 'cheap': an amount, a currency and /kWh"
    )


# ---- what is written


def test_out_writes_the_results_and_names_them(tmp_path, short):
    folder = tmp_path / "results"
    result = invoke("run", short, "--out", folder)
    assert result.exit_code == 0, result.output
    names = {"history.csv", "summary.json", "drying.png", "lethality.png"}
    assert {path.name for path in folder.iterdir()} == names
    wrote = flat(result.stdout).split("Wrote ")[1]
    assert all(name in wrote for name in names)
    with (folder / "history.csv").open(newline="") as file:
        assert len({len(row) for row in csv.reader(file)}) == 1
    assert json.loads((folder / "summary.json").read_text())["done"]["batch"]["expected_s"] is None


@pytest.mark.usefixtures("no_picture")
def test_pictures_are_of_the_kind_asked_for_and_no_other_is_left(tmp_path, short):
    for more, kind in (((), "png"), (("--pictures", "svg"), "svg"), (("--pictures", "png"), "png")):
        result = invoke("run", short, "--out", tmp_path / "out", *more)
        names = {f"drying.{kind}", f"lethality.{kind}"}
        assert {path.name for path in (tmp_path / "out").iterdir()} == {"history.csv", "summary.json", *names}
        assert all(name in flat(result.stdout).split("Wrote ")[1] for name in names)


@pytest.mark.usefixtures("no_simulation")
@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            ("--out", "new", "--pictures", "sgv"),
            "--pictures = 'sgv': did you mean 'svg'? known: 'png', 'svg'",
        ),
        (
            ("--out", "new", "--pictures", "jpg"),
            "--pictures = 'jpg': did you mean 'png'? known: 'png', 'svg'",
        ),
        (("--pictures", "svg"), "--pictures = 'svg': pictures are drawn only into a folder"),
    ],
)
def test_pictures_that_cannot_be_are_told_first(tmp_path, monkeypatch, short, typed, said):
    monkeypatch.chdir(tmp_path)
    assert_one_line(invoke("run", short, *typed), said)
    assert not (tmp_path / "new").exists()


@pytest.mark.usefixtures("no_picture")
def test_json_with_out_keeps_stdout_clean_and_is_the_file(tmp_path, short):
    result = invoke("run", short, "--json", "--out", tmp_path)
    assert result.stdout == (tmp_path / "summary.json").read_text(encoding="utf-8")


@pytest.mark.usefixtures("no_picture")
def test_running_again_replaces_the_results(tmp_path, short):
    (tmp_path / "history.csv").write_text("old")
    assert invoke("run", short, "--out", tmp_path, "--quiet").exit_code == 0
    assert (tmp_path / "history.csv").read_text().startswith("time_s,stage,")


# ---- how it fails


@pytest.mark.usefixtures("no_simulation")
def test_a_bad_out_is_told_before_anything_is_simulated(tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("mine")
    assert_one_line(invoke("run", "--out", taken), f"{taken} is a file; a folder")
    assert_one_line(invoke("run", "--out", taken / "below"), "cannot be written to")
    assert taken.read_text() == "mine"


@pytest.mark.usefixtures("no_simulation")
@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a folder that refuses its owner")
def test_a_folder_without_write_permission_is_told_first(tmp_path):
    tmp_path.chmod(0o500)
    try:
        assert_one_line(invoke("run", "--out", tmp_path), "cannot be written to")
    finally:
        tmp_path.chmod(0o700)


@pytest.mark.usefixtures("no_simulation")
def test_a_bad_batch_leaves_no_folder_behind(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text(warm_air_text().replace('"4 degC"', '"4 furlongs"'), encoding="utf-8")
    assert_one_line(invoke("run", path, "--out", tmp_path / "results"), "furlongs")
    assert not (tmp_path / "results").exists()


@pytest.mark.usefixtures("no_simulation")
def test_wrong_words_are_answered_with_the_right_ones(tmp_path):
    assert_one_line(invoke("run", "--units", "metirc"), "did you mean 'metric'?")
    assert_one_line(invoke("run", tmp_path / "b.toml"), "there is no such file")


def test_a_disk_that_fills_up_is_one_line_after_the_answers(tmp_path, short, monkeypatch):
    def full(*args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", full)
    result = invoke("run", short, "--out", tmp_path)
    assert result.exit_code == 1
    assert "Not ready by the end" in result.stdout
    assert result.stderr == "dryingsim: the results cannot be written (No space left on device)\n"
    assert list(tmp_path.iterdir()) == [short]


# ---- progress


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_bar_is_for_terminals_and_long_work_only(monkeypatch):
    batch = ds.demo_batch()
    screen = Terminal()
    monkeypatch.setenv("TERM", "xterm")
    for terminal, hidden in ((io.StringIO(), False), (screen, True), (screen, False)):
        monkeypatch.setattr(sys, "stderr", terminal)
        with watched(batch, hidden=hidden) as tick:
            tick(60.0)
        assert terminal.getvalue() == ""  # over before it was worth showing

    late = time.monotonic() + 10.0
    with watched(batch, hidden=False) as tick:
        monkeypatch.setattr("dryingsim.cli.shared.time.monotonic", lambda: late)
        tick(3720.0)
    assert "simulated time 1:02 h" in re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", screen.getvalue())


@pytest.mark.parametrize("screen", [io.StringIO(), Terminal()], ids=["no terminal", "--quiet"])
def test_long_work_says_what_it_waits_for_without_a_bar(screen, monkeypatch):
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr("dryingsim.cli.shared.TELLING_AFTER_S", 0.05)
    before = signal.getsignal(signal.SIGALRM)
    with watched(ds.demo_batch(), hidden=screen.isatty()) as tick:
        tick(3720.0)
        time.sleep(0.25)  # told after 0.05, 0.1 and 0.2 s; the clock may be late
    lines = screen.getvalue().splitlines()
    assert 1 <= len(lines) <= 3
    assert set(lines) == {"dryingsim: at work for 0 s: simulated time 1:02 h"}
    assert signal.getsignal(signal.SIGALRM) is before
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


def test_a_run_that_makes_no_headway_is_given_up_with_a_reason(short, monkeypatch):
    monkeypatch.setattr("dryingsim.simulate.SHORTEST_MEAN_STEP_S", 1e6)
    monkeypatch.setattr("dryingsim.simulate._STEPS_SEEN", 10)
    result = invoke("run", short)
    assert result.exit_code == 1
    assert result.stdout == ""
    assert re.fullmatch(
        r"dryingsim: .*: stage 1 \(.*\) is given up after 10 steps, at .* min of simulated time: .*\n",
        result.stderr,
    )
    assert "heater" not in result.stderr  # in air as the stages state it there is none


def test_a_reader_that_stops_early_sees_no_traceback():
    code = f"{sys.executable} -m dryingsim run | head -n 1"
    done = subprocess.run(["bash", "-c", code], capture_output=True, text=True, timeout=60)
    assert done.stdout == f"{ds.demo_batch().name}\n"
    assert "Traceback" not in done.stderr


def test_costs_that_were_asked_for_are_told_in_quiet_too(short):
    quiet = flat(invoke("run", short, "--quiet", "--meat-price", "20 USD/kg").stdout)
    assert "It costs 14.00 USD" in quiet
