"""`new --ask`: a batch of a person's own out of answers in kitchen words."""

import re

import pytest
from complaints import assert_one_line
from typer.testing import CliRunner

from dryingsim.batch.reading.batch_file import demo_text, load_batch, parse_batch
from dryingsim.batch.writing.us_units import in_us_units
from dryingsim.cli import new as module
from dryingsim.cli.main import app
from dryingsim.errors import Remark


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
    assert [stage.kind for stage in batch.stages] == ["marinade", "air"]


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
        "no",
        "155 degrees",
        "155 F",
        "overnight",
    ]
    result = ask(tmp_path, answers, monkeypatch=monkeypatch)
    assert result.exit_code == 0, result.output
    assert "may be Celsius or Fahrenheit" in result.output
    assert result.output.count("duration = 'overnight' is taken as 10 h") == 1
    with pytest.warns(Remark, match="is taken as 10 h"):
        batch = load_batch(tmp_path / "mine.toml")
    assert (batch.meat.name, batch.meat.form) == ("beef top round", "minced")
    assert batch.meat.classes[0].thickness_m == pytest.approx(0.0047625)
    assert batch.meat.weight_kg == pytest.approx(0.90718, rel=1e-4)
    (drying,) = batch.stages
    assert drying.air.temperature_K == pytest.approx(341.483, abs=1e-3)
    assert drying.duration_s == 36000.0


def test_ground_meat_is_heated_in_steam_as_it_would_fall_apart_in_liquid(tmp_path, monkeypatch):
    assert ask(tmp_path, ["", "ground", *[""] * 10], monkeypatch=monkeypatch).exit_code == 0
    assert [stage.kind for stage in load_batch(tmp_path / "mine.toml").stages] == ["steam", "air"]


def test_nothing_is_written_where_answers_end_early(tmp_path, monkeypatch):
    assert ask(tmp_path, ["", ""], monkeypatch=monkeypatch).exit_code != 0
    assert not list(tmp_path.iterdir())


def test_without_a_terminal_nothing_can_be_asked_and_the_starting_file_is_written(tmp_path, monkeypatch):
    assert_one_line(ask(tmp_path, [], monkeypatch=monkeypatch, terminal=False), "--ask needs a terminal")
    assert not list(tmp_path.iterdir())
    assert CliRunner().invoke(app, ["new", "mine.toml"]).exit_code == 0
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == demo_text()


def _quantities(batch):
    meat, room, took = batch.meat, batch.room, batch.marinade
    stated = [each.thickness_m for each in meat.classes]
    stated += [meat.length_m, meat.width_m, meat.weight_kg, meat.temperature_K - 273.15]
    stated += [took.salt_kg_kg, took.sugar_kg_kg, room.temperature_K - 273.15]
    return [*stated, *(stage.air.speed_m_s for stage in batch.stages if stage.air is not None)]


def test_a_us_file_is_typed_in_us_units_and_is_the_same_batch(tmp_path, monkeypatch):
    """Within 3 %: quantities are written to two digits, as a ruler, a dial or a kitchen scale shows them."""
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(app, ["new", "mine.toml", "--units", "us"]).exit_code == 0
    text = (tmp_path / "mine.toml").read_text(encoding="utf-8")
    assert not re.search(r'"[\d.]+ (mm|kg|g|degC|g/kg|m/s|m|K|kPa)"', text)
    us, metric = load_batch(tmp_path / "mine.toml"), parse_batch(demo_text(), "demo")
    assert us.display == "us"
    assert _quantities(us) == pytest.approx(_quantities(metric), rel=0.03)
    assert [stage.kind for stage in us.stages] == [stage.kind for stage in metric.stages]


def test_comments_of_a_us_file_are_in_us_units():
    text = in_us_units(demo_text())
    for metric, us in (('"85 degC"', '"185 degF"'), ('"4 degC"', '"39 degF"'), ('"71 degC"', '"160 degF"')):
        assert metric in demo_text()
        assert us in text
        assert metric not in text


def test_units_of_what_is_typed_are_those_of_the_batch_unless_they_are_chosen(tmp_path, monkeypatch):
    answers = ["", "", '1/4"', *[""] * 9]
    result = ask(tmp_path, answers, monkeypatch=monkeypatch)
    assert result.exit_code == 0, result.output
    assert "[5 inch]" in result.output  # what is suggested goes along
    batch = load_batch(tmp_path / "mine.toml")
    assert batch.display == "us"
    assert batch.meat.classes[0].thickness_m == pytest.approx(0.00635)
    ask(tmp_path, answers, "--units", "metric", "--force", monkeypatch=monkeypatch)
    assert load_batch(tmp_path / "mine.toml").display == "metric"


@pytest.mark.parametrize(
    ("said", "g_per_kg"),
    [
        ("2 teaspoons", 2.0 / 3.0 * 18.0 / 0.68039),  # 18 g a tablespoon, from the table of ingredients
        ("1 tsp of salt per lb", 6.0 / 0.45359),
        ("1/2 Tbsp. per pound", 9.0 / 0.45359),
    ],
)
def test_salt_may_be_told_in_spoons(tmp_path, monkeypatch, said, g_per_kg):
    result = ask(tmp_path, [""] * 6 + [said] + [""] * 5, "--units", "us", monkeypatch=monkeypatch)
    assert result.exit_code == 0, result.output
    assert 1e3 * load_batch(tmp_path / "mine.toml").marinade.salt_kg_kg == pytest.approx(g_per_kg, rel=5e-3)
