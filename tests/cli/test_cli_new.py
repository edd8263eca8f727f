"""`new --ask`: a batch of a person's own out of answers in kitchen words."""

import pytest
from typer.testing import CliRunner

from dryingsim.batch.reading.batch_file import demo_text, load_batch
from dryingsim.cli import new as module
from dryingsim.cli.main import app


def ask(folder, answers, *words, monkeypatch, terminal=True):
    monkeypatch.chdir(folder)
    monkeypatch.setattr(module, "at_terminal", lambda: terminal)
    return CliRunner().invoke(app, ["new", "mine.toml", "--ask", *words], input="\n".join(answers) + "\n")


@pytest.mark.parametrize(("units", "thick_m"), [("metric", 0.005), ("us", 0.0047625)])
def test_enter_at_every_question_makes_a_batch(tmp_path, monkeypatch, units, thick_m):
    result = ask(tmp_path, [""] * 12, "--units", units, monkeypatch=monkeypatch)
    assert result.exit_code == 0, result.output
    batch = load_batch(tmp_path / "mine.toml")
    assert batch.display == units
    assert batch.meat.classes[0].thickness_m == pytest.approx(thick_m)
    assert [stage.kind for stage in batch.stages] == ["liquid", "air"]


def test_kitchen_words_are_understood_and_what_is_not_is_asked_again(tmp_path, monkeypatch):
    answers = [
        "top round",
        "ground",
        "3/16 in.",
        "",
        "",
        "2 lbs.",
        "",
        "",
        "oven with fan",
        "155 degrees",
        "155 F",
        "overnight",
        "no",
    ]
    result = ask(tmp_path, answers, monkeypatch=monkeypatch)
    assert result.exit_code == 0, result.output
    assert "may be Celsius or Fahrenheit" in result.output
    batch = load_batch(tmp_path / "mine.toml")
    assert (batch.meat.name, batch.meat.form) == ("beef top round", "minced")
    assert batch.meat.classes[0].thickness_m == pytest.approx(0.0047625)
    assert batch.meat.weight_kg == pytest.approx(0.90718, rel=1e-4)
    (drying,) = batch.stages
    assert drying.air.temperature_K == pytest.approx(341.483, abs=1e-3)
    assert drying.duration_s == 36000.0


def test_nothing_is_written_where_answers_end_early(tmp_path, monkeypatch):
    assert ask(tmp_path, ["", ""], monkeypatch=monkeypatch).exit_code != 0
    assert not list(tmp_path.iterdir())


def test_without_a_terminal_the_starting_file_is_written(tmp_path, monkeypatch):
    assert ask(tmp_path, [], monkeypatch=monkeypatch, terminal=False).exit_code == 0
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == demo_text()
