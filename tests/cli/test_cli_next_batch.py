"""`dryingsim learn`, `logbook` and `plan` as a person uses them: files, one-line mistakes, what later runs make of it."""

import json

import pytest
from complaints import assert_one_line
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.cli.main import app

pytestmark = pytest.mark.usefixtures("coarse_steps")

LOG = "time, weight [g]\n10:00, 719\n11:00, 520\n12:00, 420\n"
ENVIRONMENT = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}


def invoke(*args):
    return CliRunner().invoke(app, list(map(str, args)), env=ENVIRONMENT)


def flat(text):
    return " ".join(text.split())


@pytest.fixture
def kitchen(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(warm_air_text(), encoding="utf-8")
    (tmp_path / "mine.csv").write_text(LOG, encoding="utf-8")
    return tmp_path


def test_what_two_weighings_teach_is_told_written_and_used(kitchen):
    told = invoke("learn", "mine.toml", "mine.csv", "--out", "learned.toml", "--picture", "fit.svg")
    assert told.exit_code == 0, told.stderr
    assert (kitchen / "fit.svg").read_bytes().startswith(b"<?xml")
    assert not (kitchen / "fit.png").exists()
    text = flat(told.stdout)
    assert "READY At 15:" in text
    assert "not how far bacteria were reduced" in text
    assert max(map(len, told.stdout.splitlines())) <= 80 + 20  # the table may be wider than the text
    with (kitchen / "mine.toml").open("a", encoding="utf-8") as file:
        file.write('\n[learned]\nfile = "learned.toml"\n')
    assert "with learned values" in invoke("run", "mine.toml").stdout
    assert_one_line(invoke("learn", "mine.toml", "mine.csv", "--out", "learned.toml"), "learned.toml")


def test_a_folder_of_batches_has_a_history(kitchen):
    found = invoke("logbook", ".")
    assert found.exit_code == 0, found.stderr
    assert "mine.csv" in found.stdout
    assert "\nNEXT    " in found.stdout


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["learn", "mine.toml", "none.csv"], "none.csv"),
        (["learn", "none.toml", "mine.csv"], "none.toml"),
        (["learn", "mine.toml", "slip.csv"], "did you mean 'weight'?"),
        (["learn", "mine.toml", "mine.csv", "--picture", "fit.pdf"], "ends in .png or .svg is expected"),
        (["logbook", "nowhere"], "nowhere"),
        (["plan", "none.toml"], "none.toml"),
        (["plan", "odd.toml"], "[plan] has no key 'aims'; did you mean 'aim'?"),
        (["plan", "mine.toml", "--units", "metirc"], "did you mean 'metric'?"),
        (["plan", "mine.toml", "--pictures", "sgv"], "did you mean 'svg'?"),
    ],
)
def test_mistakes_are_one_line(words, says, kitchen):
    (kitchen / "slip.csv").write_text("time, weigth [g]\n10:00, 719\n", encoding="utf-8")
    (kitchen / "odd.toml").write_text(warm_air_text() + '\n[plan]\naims = "time"\n', encoding="utf-8")
    assert_one_line(invoke(*words), says)


def test_json_is_json(kitchen):
    found = json.loads(invoke("learn", "mine.toml", "mine.csv", "--json").stdout)
    assert found
