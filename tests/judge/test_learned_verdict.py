"""A verdict that rests on learned values says so, and "reached" does not rest on them."""

import math
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from dryingsim import parse_batch, run
from dryingsim.batch.learned import learned_toml, unlearned, with_learned
from dryingsim.batch.schema import Correction, Learned
from dryingsim.cli.main import app
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality

TEXT = """
[meat]
cut = "beef eye of round"
thickness = "4 mm"
length = "120 mm"
width = "50 mm"
weight = "0.5 kg"
temperature = "4 degC"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
air = "{air}"
humidity = {{ relative = "95 %", measured = true }}
speed = "1 m/s"
duration = "40 min"
"""


def batch(air, **corrections):
    learned = Learned(
        logs=("a.csv",),
        corrections={key: Correction(value=value, doubt=0.1) for key, value in corrections.items()},
    )
    return with_learned(parse_batch(TEXT.format(air=air), "b"), learned)


def test_an_offset_that_was_learned_does_not_make_meat_hot():
    history = run(batch("50 degC", setpoint=20.0))
    assert judge_as_computed(history).grade == "reached"  # as computed it is
    judged = judge_batch_lethality(history)
    assert judged.grade == "not shown"
    told = " ".join(map(str, judged.warnings))
    assert "air against its setting +20.0 K (+36.0 degF)" in told
    assert "learned values decide" in told


@pytest.mark.parametrize(
    "corrections", [{"setpoint": -3.0}, {"diffusivity": math.log(0.8)}, {"setpoint": 1.0}]
)
def test_what_holds_without_them_stays_reached_and_they_are_named(corrections):
    judged = judge_batch_lethality(run(batch("72 degC", **corrections)))
    assert judged.grade == "reached"
    assert any("what earlier batches taught is counted in" in str(one) for one in judged.warnings)


def test_without_what_was_learned_the_air_is_never_hotter():
    warmer, cooler = batch("50 degC", setpoint=20.0), batch("50 degC", setpoint=-5.0)
    assert unlearned(warmer).stages[0].air.temperature_K == pytest.approx(323.15)
    assert unlearned(cooler).stages[0].air.temperature_K == pytest.approx(318.15)
    plain = replace(warmer, learned=None)
    assert unlearned(plain) is plain


@pytest.mark.parametrize("mode", ["--quiet", "--json"])
def test_it_is_said_in_every_mode(tmp_path, mode):
    learned = Learned(logs=("a.csv",), corrections={"setpoint": Correction(value=20.0, doubt=1.0)})
    (tmp_path / "mine.toml").write_text(learned_toml(learned, "air as the stages say", "one log"))
    file = tmp_path / "b.toml"
    file.write_text(TEXT.format(air="50 degC") + '[learned]\nfile = "mine.toml"\n')
    said = " ".join(CliRunner().invoke(app, ["run", str(file), mode]).stdout.split())
    assert "air against its setting +20.0 K" in said
    assert "learned values decide" in said
