"""`dryingsim measure wick` and `measure dial`."""

import json

import pytest
from complaints import assert_one_line
from test_cli_fixed_points import measure

from dryingsim.batch.reading.batch_file import demo_text, load_batch

ROOM = ("wick", "--air", "21 degC", "--humidity", "45 %")


@pytest.mark.parametrize(
    ("shows", "holds", "dry"),
    [("13.9 degC", True, False), ("17.5 degC", False, True), ("10 degC", False, False)],
)
def test_a_wick_is_held_against_the_room(shows, holds, dry):
    """21 degC and 45 %: a wet bulb of 13.9 degC by any psychrometric chart at sea level."""
    found = json.loads(measure(*ROOM, "--wet-bulb", shows, "--json").stdout)
    assert found["true_K"] == pytest.approx(273.15 + 13.9, abs=0.15)
    assert (found["holds"], found["dry"]) == (holds, dry)
    text = " ".join(measure(*ROOM, "--wet-bulb", shows).stdout.split())
    assert ("It holds." in text) is holds
    assert ("the wick is dry" in text) is dry


def test_where_a_wick_cannot_be_checked():
    assert_one_line(measure(*ROOM, "--wet-bulb", "23 degC"), "are the two swapped?")
    assert_one_line(
        measure("wick", "--air", "21 degC", "--humidity", "85 %", "--wet-bulb", "19 degC"),
        "check it in drier",
    )


def test_a_dial_is_held_against_the_air_and_batches_then_speak_of_the_dial(tmp_path):
    batch, out = tmp_path / "mine.toml", tmp_path / "dial.toml"
    batch.write_text(demo_text(), encoding="utf-8")
    result = measure(
        "dial",
        "--shows",
        "155 degF = 146 degF, 165 degF = 157 degF",
        "--units",
        "us",
        "--batch",
        str(batch),
        "--out",
        str(out),
    )
    assert result.exit_code == 0, result.output
    assert "The air stands -8.5 °F from the dial, give or take 1.9 °F" in " ".join(result.stdout.split())
    plain = load_batch(batch)
    typed = plain.stages[plain.first_drying].air.temperature_K
    batch.write_text(demo_text() + f'\n[learned]\nfile = "{out.name}"\n', encoding="utf-8")
    assert load_batch(batch).stages[plain.first_drying].air.temperature_K == pytest.approx(
        typed - 8.5 / 1.8, abs=0.01
    )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--shows", "155 degF"), "'DIAL = AIR' is expected"),
        (("--shows", "155 degF = 66 degF"), "--shows"),
        (("--shows", "150 degC = 80 degC"), "is the unit of both the same"),
        (("--shows", "155 degF = 146 degF", "--out", "x.toml"), "needs --batch"),
    ],
)
def test_slips_are_told(words, told):
    assert_one_line(measure("dial", *words), told)
