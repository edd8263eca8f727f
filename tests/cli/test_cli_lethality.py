"""What `dryingsim run` says about kill: after the answers, in JSON, with changes simulated, and its pictures."""

import io
import json
import re
import sys

import pytest
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli.main import app
from dryingsim.cli.run import _remedies
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.lethality.text import HEADLINES
from dryingsim.show.lethality.words import CAUTIONS

pytestmark = pytest.mark.usefixtures("coarse_steps")


def invoke(*args):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["run", *map(str, args)], env=environment)


def flat(text):
    return " ".join(text.split())


@pytest.fixture
def few_nodes(monkeypatch):
    """The same changes, simulated coarsely: what they do is tested elsewhere."""
    from dryingsim.judge import remedies as module

    real = module.remedies
    monkeypatch.setattr(module, "remedies", lambda batch: real(batch, nodes=8))


def test_reductions_are_told_after_the_answers_with_every_caution(short):
    text = flat(invoke(short, "--quiet", "--details").stdout)
    judged = ds.judge_batch_lethality(ds.run(ds.load_batch(short)))
    assert text.index("Not done when the run ends") < text.index(HEADLINES[judged.grade])
    for one in judged.organisms:
        assert f"{one.name}: " in text
    assert "Federal time-temperature table" in text
    assert "May grow meanwhile where bacteria sit" in text
    assert "Home advice is to heat the meat" in text
    assert all(caution in text for caution in CAUTIONS)
    assert text.endswith(CAUTION)
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)


def test_units_reach_the_verdict(short):
    text = flat(invoke(short, "--units", "us", "--details").stdout)
    assert "heat the meat to 160 °F" in text
    assert "°C" not in text


def test_nothing_is_changed_unless_asked(short, monkeypatch):
    def never(batch):
        raise AssertionError("changes were simulated")

    monkeypatch.setattr("dryingsim.judge.remedies.remedies", never)
    assert "What each change does to bacteria" not in invoke(short).stdout
    assert json.loads(invoke(short, "--json").stdout)["remedies"] is None


@pytest.mark.usefixtures("few_nodes")
def test_changes_are_simulated_and_told_last(short):
    plain, changed = invoke(short, "--quiet").stdout, invoke(short, "--quiet", "--remedies").stdout
    assert changed.startswith(plain.rstrip())
    told = flat(changed.removeprefix(plain))
    assert told.startswith("What each change does to bacteria")
    for name in ("Heated first", "Boiled first", "Humid first", "Hotter first", "Oven after", "Thinner"):
        assert re.search(
            rf"{name}: .*? lower bound .*? log, best estimate .*? log of \d\.\d: .*? It adds ", told
        )
    assert max(map(len, changed.splitlines())) <= 80
    assert not re.search(r"\bsafe\b", told, re.IGNORECASE)


@pytest.mark.usefixtures("few_nodes")
def test_changes_in_json_are_the_file(short, tmp_path, monkeypatch):
    monkeypatch.setattr("dryingsim.show.core.writing.picture", lambda draw, made, kind: b"")
    result = invoke(short, "--remedies", "--json", "--out", tmp_path / "results")
    assert result.stdout == (tmp_path / "results" / "summary.json").read_text(encoding="utf-8")
    found = json.loads(result.stdout)
    assert len(found["remedies"]) == 6
    before = {one["organism"]: one["lower"] for one in found["lethality"]["organisms"]}
    for one in found["remedies"]:
        for organism in one["lethality"]["organisms"]:
            gain = one["gains"][organism["organism"]]["lower"]
            # the batch itself is run again for the changes, coarser here: within 0.05 log of so small a reduction
            assert organism["lower"] - gain == pytest.approx(before[organism["organism"]], abs=0.05)


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_terminal_shows_that_changes_are_simulated(monkeypatch):
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr("dryingsim.judge.remedies.remedies", lambda batch: [batch])
    assert _remedies("batch", hidden=True) == ["batch"]
    assert screen.getvalue() == ""
    assert _remedies("batch", hidden=False) == ["batch"]
    assert "simulating changes" in screen.getvalue()
