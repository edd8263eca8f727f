"""`dryingsim list appliances`: the table and the parameters of one."""

import pytest
from typer.testing import CliRunner

from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.cli.main import app

KINDS = all_appliances()


def invoke(*args, columns=100):
    env = {"COLUMNS": str(columns), "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["list", "appliances", *args], env=env)


def flat(text):
    return " ".join(text.split())


def test_the_table_shows_every_kind_within_a_hundred_columns():
    result = invoke()
    assert result.exit_code == 0, result.output
    assert max(map(len, result.output.splitlines())) <= 100
    rows = {line[:20].strip(): line for line in result.output.splitlines()}
    for name, one in KINDS.items():
        row = rows[name].split()
        rest = row[len(name.split()) :]
        assert rest[:2] == [str(one.si("trays.slots")), one.si("air.path")]
        assert " ".join(rest[2:4]) == one.entries["heater.power"].value
        assert float(rest[4]) == round(3600 * one.si("air.circulation"))
        assert float(rest[5]) == pytest.approx(3600 * (one.si("air.vents") + one.si("air.leak")), rel=5e-3)
    assert "Most numbers are estimates" in flat(result.output)


@pytest.mark.parametrize("name", KINDS)
def test_one_appliance_with_value_range_and_source_of_every_parameter(name):
    result = invoke(name)
    assert result.exit_code == 0, result.output
    assert max(map(len, result.output.splitlines())) <= 100
    assert flat(result.output).startswith(f"{name}: {KINDS[name].about}")
    for key, entry in KINDS[name].entries.items():
        (line,) = (line for line in result.output.splitlines() if line.split()[:1] == [key])
        assert entry.text in line
        assert entry.span_text in line
        assert flat(entry.source).split()[0] in line


def test_a_name_that_is_not_known_suggests_another():
    result = invoke("cabinet dehidrator")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "did you mean 'cabinet dehydrator'?" in result.stderr
    assert len(result.stderr.splitlines()) == 1
