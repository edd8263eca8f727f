"""`dryingsim spread` as a person uses it: what is printed and written, how it goes on, how it fails."""

import contextlib
import csv
import json
import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import numpy as np
import pytest
import typer
from made_batch import warm_air_text
from made_once import once
from typer.testing import CliRunner

from dryingsim.batch.uncertainties import INPUTS
from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.spread import spread
from dryingsim.explore import spread as module
from dryingsim.show.core.tables import CAUTION

FILES = ("slices.npz", "spread.csv", "spread.json", "spread.png")

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(spread)


@app.callback()
def main() -> None:
    """Hold the one command, as the whole program does."""


def invoke(*args):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["spread", *map(str, args)], env=environment)


def flat(text):
    return " ".join(text.split())


def batch_file(path, more="", duration="2 h"):
    text = warm_air_text().replace('duration = "10 h"', f'duration = "{duration}"').replace("[spread]\n", "")
    path.write_text(text + more, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("spread")
    file = batch_file(
        folder / "b.toml", '\n[spread]\nthickness_between = "15 %"\nsetpoint = { uniform = "2 K" }\n'
    )
    done = invoke(file, "--slices", 64, "--workers", 1, "--out", folder / "out", "--details")
    assert done.exit_code == 0, done.output
    return folder / "out", done


def test_answers_and_table_are_printed(written):
    _, done = written
    text = flat(done.stdout)
    for words in (
        "64 slices of 8 batches drawn (seed 1)",
        "Of all slices, 5 % are done",
        "the end of drying by the plan",
        "the slowest is then not done with a chance of",
        "the log reduction on the least-reduced of the slices is below 5 is",
        "rank correlation",
    ):
        assert words in text
    assert flat(CAUTION) in text
    assert max(map(len, done.stdout.split("Wrote")[0].splitlines())) <= 80


def test_files_hold_what_they_say(written):
    folder, done = written
    assert sorted(path.name for path in folder.iterdir()) == list(FILES)  # no finished chunks are left
    assert all(str(folder / name) in done.stdout.replace("\n", "") for name in FILES)
    rows = list(csv.DictReader((folder / "spread.csv").read_text(encoding="utf-8").splitlines()))
    assert float(rows[0]["under_dried"]) == 1.0
    for row in rows:
        assert float(row["water_activity_p05"]) <= float(row["water_activity_p95"])
        assert sum(float(row[key]) for key in ("under_dried", "in_window", "over_dried")) == pytest.approx(
            1.0
        )
    data = json.loads((folder / "spread.json").read_text(encoding="utf-8"))
    assert data["uncertainties"]["setpoint"] == {"shape": "uniform", "size": 2.0}
    assert data["slices"] == 64
    with np.load(folder / "slices.npz") as slices:
        assert slices["thickness_m"].shape == (64,)
        done = slices["done_s"][1]
    assert (done <= float(rows[-1]["time_s"])).any()
    for row in rows:
        assert float(row["under_dried"]) == pytest.approx((done > float(row["time_s"])).mean())
    assert (folder / "spread.png").read_bytes().startswith(b"\x89PNG")


def test_json_is_the_same_summary_and_nothing_else(written, tmp_path):
    folder, _ = written
    file = batch_file(
        tmp_path / "b.toml", '\n[spread]\nthickness_between = "15 %"\nsetpoint = { uniform = "2 K" }\n'
    )
    done = invoke(file, "--slices", 64, "--workers", 2, "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout) == json.loads((folder / "spread.json").read_text(encoding="utf-8"))


def test_quiet_leaves_out_the_table(tmp_path):
    done = invoke(batch_file(tmp_path / "b.toml"), "--slices", 64, "--workers", 1, "--quiet")
    assert "\nREADY   " in done.stdout
    assert "h:min" not in done.stdout


@pytest.mark.parametrize(
    ("args", "more", "says"),
    [
        ((), '\n[spread]\nthickness = "5 %"\n', "has no key 'thickness'; did you mean 'thickness_within'"),
        ((), '\n[spread]\nfilm = "80 %"\n', "[spread], film = '80 %' is outside 0 to 50 %"),
        (("--slices", "10"), "", "slices = 10 is outside 64 to 1000000"),
        (("--workers", "0"), "", "--workers = 0 is outside 1 to 1024"),
        (("--units", "imperial"), "", "--units = 'imperial': did you mean 'us'?"),
        (("--seed", "-1"), "", "--seed = -1 is outside"),
    ],
)
def test_mistakes_come_out_as_one_line(tmp_path, args, more, says):
    done = invoke(batch_file(tmp_path / "b.toml", more), *args)
    assert done.exit_code == 2
    assert says in flat(done.stderr)
    assert len(done.stderr.strip().splitlines()) == 1


def test_a_missing_file(tmp_path):
    done = invoke(tmp_path / "none.toml")
    assert done.exit_code == 2
    assert "there is no such file" in flat(done.stderr)


@pytest.fixture
def slowly(tmp_path):
    """The words that start the command in small chunks which take a second each, and the environment they need."""
    (tmp_path / "slow_app.py").write_text(
        "import signal, time\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)  # what starts tests behind a shell may have it ignored\n"
        "from functools import partial\n"
        "from dryingsim.cli.main import app\n"
        "from dryingsim.explore import spread as module\n"
        "from dryingsim.explore.spread import work\n"
        "def slowly(task):\n"
        "    time.sleep(1.0)  # some are left when the first is done, however busy the machine is\n"
        "    return work(task)\n"
        "module.tasks, module.work = partial(module.tasks, chunk=64), slowly\n"
    )
    code = "from slow_app import app; app(prog_name='dryingsim')"
    environment = {**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{Path.cwd()}"}
    return [sys.executable, "-c", code, "spread"], environment


@pytest.mark.skipif(sys.platform != "linux", reason="told to end the Unix way, looked for the Linux way")
def test_told_to_end_it_leaves_the_older_result_and_nothing_running(tmp_path, slowly):
    file, out = batch_file(tmp_path / "b.toml", duration="1 h"), tmp_path / "out"
    out.mkdir()
    for name in FILES:
        (out / name).write_text("older")
    command, environment = slowly
    begun = subprocess.Popen(
        [*command, str(file), "--slices", "256", "--workers", "2", "--out", str(out)],
        env={**environment, "TOLD_TO_END": str(tmp_path)},
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
    )
    limit = time.monotonic() + 60.0
    while not list(out.glob("finished-*.chunk")):
        assert begun.poll() is None
        assert time.monotonic() < limit
        time.sleep(0.02)
    begun.terminate()
    _, said = begun.communicate(timeout=30)
    assert begun.returncode == 143, said
    # a busy machine may have told before that it is at work
    lines = [line for line in said.splitlines() if not line.startswith("dryingsim: at work for")]
    assert lines == [f"What is finished is kept in {out}; the same command goes on from there."]
    assert {(out / name).read_text() for name in FILES} == {"older"}
    assert not list(out.glob("*.part"))
    mark = f"TOLD_TO_END={tmp_path}".encode()
    running = []
    for place in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if mark in (place / "environ").read_bytes():
                running.append(place.name)
    assert not running


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent the Unix way")
def test_stopped_by_ctrl_c_it_goes_on_from_there(tmp_path, slowly, monkeypatch):
    file, out = batch_file(tmp_path / "b.toml", duration="30 min"), tmp_path / "out"
    asked = ("--slices", "256", "--out", str(out))  # four chunks of 64
    command, environment = slowly
    begun = subprocess.Popen(
        [*command, str(file), *asked, "--workers", "2"],
        env=environment,
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    limit = time.monotonic() + 60.0
    while not (out.exists() and list(out.glob("finished-*.chunk"))):
        assert begun.poll() is None
        assert time.monotonic() < limit
        time.sleep(0.05)
    os.killpg(begun.pid, signal.SIGINT)  # as a terminal does: to all processes
    _, said = begun.communicate(timeout=60)
    assert begun.returncode == 130, said
    assert "the same command goes on from there" in flat(said)
    assert "Traceback" not in said
    kept = len(list(out.glob("finished-*.chunk")))
    assert 1 <= kept < 4
    worked = []
    monkeypatch.setattr(module, "tasks", partial(module.tasks, chunk=64))
    monkeypatch.setattr(module, "work", lambda task, work=module.work: worked.append(task) or work(task))
    again = invoke(file, *asked, "--workers", "1", "--json")
    assert again.exit_code == 0, again.output
    assert json.loads(again.stdout)["slices"] == 256
    assert len(worked) == 4 - kept
    assert not list(out.glob("finished-*.chunk"))


def test_effects_and_latin_points_are_told_when_asked_for(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "spread", once(module.spread))
    sure = "\n".join(
        f'{key} = "0 %"' for key, one in INPUTS.items() if one.dimension == "fraction" and key != "film"
    )
    file = batch_file(
        tmp_path / "b.toml",
        f'\n[spread]\n{sure}\nsetpoint = "2 K"\ncorrelations = [["film", "setpoint", 0.5]]\n',
    )
    asked = (file, "--slices", 128, "--workers", 1, "--points", "latin", "--effects")
    done = invoke(*asked, "--json")
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert told["points"] == "latin"
    assert told["correlations"] == [["film", "setpoint", 0.5]]
    assert set(told["effects"]["of_time"]) == {"film + setpoint", "class"}
    for one in told["effects"]["of_reduction"].values():
        assert one["total"] > 0.0
        assert one["total_error"] > 0.0
    page = flat(invoke(*asked, "--details").stdout)
    assert "film coefficient, whole appliance with air temperature against its setting" in page
    assert "which thickness it was cut to" in page


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--effects", "--slices", 64), "slices = 64: 512 or more are expected for effects of"),
        (("--points", "random"), "--points = 'random': one of 'sobol', 'latin' is expected"),
    ],
)
def test_what_cannot_be_drawn_is_told_in_one_line(tmp_path, more, says):
    done = invoke(batch_file(tmp_path / "b.toml"), "--workers", 1, *more)
    assert done.exit_code == 2
    assert says in flat(done.stderr)
