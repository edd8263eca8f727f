"""A verdict that rests on learned values says so, and "reached" does not rest on them."""

import json
import math
from dataclasses import replace

import pytest
from typer.testing import CliRunner

from dryingsim import parse_batch, run
from dryingsim.batch.learned import may_gain, unlearned, with_learned
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.writing.learned_file import learned_toml
from dryingsim.cli.main import app
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality
from dryingsim.show.lethality.finding_words import sentence

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


def batch(air, text=TEXT, **corrections):
    learned = Learned(
        logs=("a.csv",),
        corrections={key: Correction(value=value, uncertainty=0.1) for key, value in corrections.items()},
    )
    return with_learned(parse_batch(text.format(air=air), "b"), learned)


def test_an_offset_that_was_learned_does_not_make_meat_hot():
    history = run(batch("50 degC", setpoint=20.0))
    assert judge_as_computed(history).grade == "met"  # as computed it is
    judged = judge_batch_lethality(history)
    assert judged.grade == "not shown"
    told = " ".join(map(sentence, judged.warnings))
    assert "air against its setting +20.0 K (+36.0 degF)" in told
    assert "learned values decide" in told


@pytest.mark.parametrize(
    "corrections", [{"setpoint": -3.0}, {"diffusivity": math.log(0.8)}, {"setpoint": 1.0}]
)
def test_what_holds_without_them_stays_reached_and_they_are_named(corrections):
    judged = judge_batch_lethality(run(batch("72 degC", **corrections)))
    assert judged.grade == "met"
    assert "learned_counted" in [one.key for one in judged.warnings]


def test_meat_that_was_learned_to_dry_faster_does_not_get_hot_sooner():
    """Wet faces are hot in humid air: water that moves four times as fast keeps them wet."""
    left_in = TEXT.replace("[[stage]]", '[trays]\ntake_off = "together"\n[[stage]]')
    barely = left_in.replace("95 %", "30 %").replace("40 min", "3 h")
    history = run(batch("82 degC", barely, diffusivity=math.log(4.0)))
    assert judge_as_computed(history).grade == "met"
    assert judge_batch_lethality(history).grade == "not shown"


def test_the_federal_table_counts_no_learned_heat_either():
    longer = TEXT.replace("40 min", "90 min")  # the rule asks for an hour of humid air
    hotter, as_set = (
        run(batch(air, longer, setpoint=by)) for air, by in (("50 degC", 20.0), ("70 degC", 0.0))
    )
    assert judge_as_computed(hotter).table.fulfilled
    assert not judge_batch_lethality(hotter).table.fulfilled
    assert judge_batch_lethality(as_set).table.fulfilled


def test_what_was_learned_to_be_worse_is_no_ground_to_object():
    worse = batch("72 degC", setpoint=-3.0, diffusivity=-0.2)
    assert not may_gain(worse)
    assert may_gain(batch("72 degC", moisture=0.01))
    assert not may_gain(replace(worse, learned=None))


def test_without_what_was_learned_the_air_is_never_hotter():
    warmer, cooler = batch("50 degC", setpoint=20.0), batch("50 degC", setpoint=-5.0)
    assert unlearned(warmer).stages[0].air.temperature_K == pytest.approx(323.15)
    assert unlearned(cooler).stages[0].air.temperature_K == pytest.approx(318.15)
    plain = replace(warmer, learned=None)
    assert unlearned(plain) is plain


@pytest.mark.parametrize("mode", ["--quiet", "--json"])
def test_it_is_said_in_every_mode(tmp_path, mode):
    learned = Learned(logs=("a.csv",), corrections={"setpoint": Correction(value=20.0, uncertainty=1.0)})
    (tmp_path / "mine.toml").write_text(learned_toml(learned, "air as the stages say", "one log"))
    file = tmp_path / "b.toml"
    file.write_text(TEXT.format(air="50 degC") + '[learned]\nfile = "mine.toml"\n')
    said = " ".join(CliRunner().invoke(app, ["run", str(file), mode]).stdout.split())
    if mode == "--quiet":
        assert said.startswith("b (with learned values) SAFETY")
        assert "LEARNED In these numbers, from 1 log: air against its setting +20.0 K." in said
        assert "What earlier batches taught is counted in" in said
    else:
        assert json.loads(said)["learned"]["corrections"]["setpoint"]["value"] == 20.0
        assert "learned values decide" in said
