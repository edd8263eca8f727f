"""`dryingsim list`: the names at once, every number with its source on request."""

import json

import pytest
from typer.testing import CliRunner

from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.batch.catalog.cuts import all_cuts
from dryingsim.cli.main import app

KINDS = all_appliances()


def invoke(*args, kind="appliances"):
    env = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["list", kind, *args], env=env)


def flat(text):
    return " ".join(text.split())


def shown(*args, kind="appliances"):
    result = invoke(*args, kind=kind)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.output.splitlines())) <= 80
    if "--details" not in args:
        assert len(result.output.splitlines()) <= 15
    return result.output


def test_the_table_shows_every_kind():
    rows = {line[:20].strip(): line for line in shown().splitlines()}
    for name, one in KINDS.items():
        slots, path, watts, moved, fresh = rows[name][len(name) :].split()
        assert (slots, path) == (str(one.si("trays.slots")), one.si("air.path"))
        assert float(watts) == one.si("heater.power")
        assert float(moved) == round(3600 * one.si("air.circulation"))
        assert float(fresh) == pytest.approx(3600 * (one.si("air.vents") + one.si("air.leak")), rel=5e-3)
    assert all(one.about in flat(shown("--details")) for one in KINDS.values())


@pytest.mark.parametrize("name", KINDS)
def test_one_appliance_with_value_range_and_source_of_every_parameter(name):
    assert flat(shown(name)).startswith(f"{name}: {KINDS[name].about}")
    told = flat(shown(name, "--details"))
    for key, entry in KINDS[name].entries.items():
        span = f" ({entry.span_text})" if entry.span_text else ""
        assert f"{key.split('.')[-1].replace('_', ' ')} {entry.text}{span}" in told
        assert f"{key}: {flat(entry.source)}." in told


def test_american_units_are_the_same_quantities():
    told = flat(shown("stacked dehydrator", "--units", "us", "--details"))
    assert "circulation 40 ft3/min (20 ft3/min to 60 ft3/min)" in told  # 68 m3/h over 1.699
    assert "length 10.2 in" in told
    assert not any(unit in told.partition("SOURCES")[0] for unit in (" mm", "m3/h", "W/K", "kJ"))


def test_cuts_by_name_and_by_composition():
    names = flat(shown(kind="cuts"))
    assert all(name in names for name in all_cuts())
    table = {line[:18].strip(): line for line in shown("--details", kind="cuts").splitlines()}
    cut = all_cuts()["pork loin"]
    assert f"{cut.water:.2f}" in table["pork loin"]
    assert f"{cut.ndb:05d}" in table["pork loin"]


def test_values_for_other_programs():
    (told,) = json.loads(invoke("oven with fan", "--json").stdout)["appliances"]
    assert told["parameters"]["heater.power"]["value"] == KINDS["oven with fan"].si("heater.power")
    assert len(json.loads(invoke("--json", kind="cuts").stdout)["cuts"]) == len(all_cuts())


def test_a_name_that_is_not_known_suggests_another():
    result = invoke("cabinet dehidrator")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "did you mean 'cabinet dehydrator'?" in result.stderr
    assert len(result.stderr.splitlines()) == 1
