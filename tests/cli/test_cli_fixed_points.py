"""`dryingsim measure ice` and `measure boiling`, and a log whose probe reads high."""

import json

import pytest
from complaints import assert_one_line
from test_cli_thermometer import EXAMPLE
from test_cli_thermometer import invoke as thermometer
from typer.testing import CliRunner

from dryingsim.cli.main import app


def measure(*words):
    return CliRunner().invoke(
        app, ["measure", *words], env={"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    )


def test_what_is_shown_is_set_beside_what_is_true():
    text = " ".join(
        measure(
            "ice",
            "--shows",
            "33 degF",
            "--step",
            "1 degF",
            "--limit",
            "160 degF",
            "--units",
            "us",
            "--details",
        ).stdout.split()
    )
    assert "Ice point: 32.0 °F. The thermometer shows 33.0 °F, so it is off by +1.0 °F." in text
    assert "Ice point: 31.6 °F to 32.4 °F; off by +0.1 to +1.9 °F." in text
    assert "only when it shows 161.9 °F" in text


def test_json_has_the_ranges_and_the_shifted_limit():
    found = json.loads(
        measure(
            "boiling", "--shows", "94.1 degC", "--altitude", "1600 m", "--limit", "71 degC", "--json"
        ).stdout
    )
    assert found["true_low_K"] < found["true_K"] < found["true_high_K"]
    assert found["shown_for_limit_K"] == pytest.approx(found["limit_K"] + max(found["off_high_K"], 0.0))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("ice", "--shows", "33"), "--shows = '33': a temperature with its unit is expected"),
        (("ice", "--shows", "33"), 'for example "0.5 degC" or "33 degF"'),
        (("boiling", "--shows", "210"), 'for example "99 degC" or "211 degF"'),
        (("ice", "--shows", "33 degC"), "was it in ice and water"),
        (("boiling", "--shows", "99 degC", "--altitude", "1 m", "--pressure", "100 kPa"), "give one of them"),
        (("boiling", "--shows", "99 degC", "--pressure", "1 kPa"), "--pressure"),
    ],
)
def test_slips_are_one_line(words, says):
    assert_one_line(measure(*words), says)


def test_a_probe_that_reads_high_is_corrected_and_earns_less():
    plain, corrected = (
        json.loads(thermometer(EXAMPLE, "--json", *more).stdout) for more in ((), ("--reads-high", "1.5 K"))
    )
    assert corrected["hottest_K"] == pytest.approx(plain["hottest_K"] - 1.5)
    assert any("1.5 K was taken off every reading" in remark for remark in corrected["remarks"])
    assert_one_line(thermometer(EXAMPLE, "--reads-high", "9 K"), "--reads-high = '9 K' is outside 0 K to 5 K")
