"""`dryingsim measure`: findings on the screen, a description that a batch can use, and mistakes on one line."""

import pytest
from complaints import assert_one_line
from typer.testing import CliRunner

from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.batch.reading.appliance_file import load_description
from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.cli.main import app

ROOM = {"--room": "21 degC", "--room-humidity": "45 %"}
PAN = {
    "--length": "200 mm",
    "--width": "15 cm",
    "--lost": "38 g",
    "--during": "1 h",
    "--air": "155 degF",
    **ROOM,
}
WARM = {
    "--heating": "1 min = 65 degC, 2 min = 87 degC, 4 min = 113 degC",
    "--cooling": "0 min = 68.7 degC, 10 min = 65 degC, 40 min = 60 degC, 80 min = 53 degC",
    **ROOM,
}
BATCH = """
[meat]
cut = "beef eye of round"
thickness = "5 mm"
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"
[room]
temperature = "21 degC"
humidity = "45 %"
[appliance]
file = "mine.toml"
[[stage]]
air = "155 degF"
duration = "1 h"
"""


def invoke(command, appliance, options):
    words = [word for pair in options.items() for word in pair] + ["--details"]
    env = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["measure", command, appliance, *words], env=env)


def test_pan_prints_and_writes_what_a_batch_can_use(tmp_path):
    path = tmp_path / "mine.toml"
    result = invoke("pan", "stacked dehydrator", {**PAN, "--mean-power": "330 W", "--out": str(path)})
    assert result.exit_code == 0, result.output
    for word in (
        "air.speed",
        "air.vents",
        "described as 0.5 m/s",
        "coefficient over the pan",
        f"Wrote {path}",
    ):
        assert word in result.stdout
    assert [one.name for one in tmp_path.iterdir()] == ["mine.toml"]  # nothing left beside it
    own, base = load_description("x", path), find_appliance("", "stacked dehydrator")
    assert own.entries["air.speed"].source.startswith("measured by pan test, range ")
    same = {key for key in base.entries if own.entries[key] == base.entries[key]}
    assert set(base.entries) - same == {"air.speed", "air.vents"}
    (tmp_path / "b.toml").write_text(BATCH)
    assert load_batch(tmp_path / "b.toml").appliance.trays.speed_m_s == own.si("air.speed")


def test_units_do_not_matter():
    us = {
        "--length": "7.874015748 inch",
        "--width": "5.905511811 inch",
        "--lost": "1.3404106 oz",
        "--during": "60 min",
        "--air": "155 degF",
        "--room": "69.8 degF",
        "--room-humidity": "45 %",
        "--thermometer-error": "1.8 degF",
        "--scale-error": "0.035274 oz",
    }
    assert invoke("pan", "stacked dehydrator", us).stdout == invoke("pan", "stacked dehydrator", PAN).stdout


def test_one_weighing_says_what_it_cannot_tell():
    output = " ".join(invoke("pan", "Stacked  Dehydrator", PAN).stdout.split())
    assert "not how much fresh air comes in" in output
    assert "air.vents" not in output


def test_the_second_test_builds_on_the_file_of_the_first(tmp_path):
    first, second = tmp_path / "first.toml", tmp_path / "second.toml"
    pan = {**PAN, "--lost": "28 g", "--wet-bulb": "37 degC", "--out": str(first)}
    assert invoke("pan", "oven with fan", pan).exit_code == 0
    result = invoke("warm-up", str(first), {**WARM, "--out": str(second)})
    assert result.exit_code == 0, result.output
    own = load_description("x", second)
    measured = {key for key, entry in own.entries.items() if entry.source.startswith("measured")}
    assert {"air.speed", "air.leak", "walls.capacity", "walls.floor_capacity"} <= measured
    assert "The readings lie" in result.stdout


def test_a_file_is_not_overwritten_unless_told(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    options = {**PAN, "--out": str(path)}
    assert_one_line(invoke("pan", "oven with fan", options), f"{path} exists already")
    assert path.read_text() == "mine"
    words = [word for pair in {**options, "--lost": "20 g"}.items() for word in pair]
    assert CliRunner().invoke(app, ["measure", "pan", "oven with fan", "--force", *words]).exit_code == 0
    load_description("x", path)


def test_a_folder_that_is_not_there(tmp_path):
    path = tmp_path / "nowhere" / "mine.toml"
    result = invoke("pan", "stacked dehydrator", {**PAN, "--out": str(path)})
    assert result.exit_code == 2
    assert f"{path} cannot be written" in result.stderr
    assert not path.parent.exists()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"--lost": "38"}, "--lost = '38': a weight with its unit is expected"),
        ({"--lost": "0 g"}, "--lost = '0 g' is outside 1 g to 20 kg"),
        ({"--length": "200 kg"}, "--length = '200 kg': 'kg' measures a weight"),
        (
            {"--air": "22 degC"},
            "--air = '22 degC': the air is expected to be at least 5 K warmer than the room",
        ),
        ({"--wet-bulb": "70 degC"}, "--wet-bulb = '70 degC' is not below the air temperature (155 degF)"),
        (
            {"--wet-bulb": "30 degC", "--mean-power": "300 W"},
            "--wet-bulb and --mean-power both tell the fresh air",
        ),
        ({"--mean-power": "50 W"}, "50 W is less than walls and water take"),
        ({"--lost": "400 g"}, "is more than a pan of this size can lose"),
        ({"--room-humidity": "120 %"}, "--room-humidity = '120 %' is outside 0 % to 100 %"),
        ({"--power-error": "5"}, "--power-error = '5': a percentage with its unit is expected"),
        ({"--thermometer-error": "0 K"}, "--thermometer-error = '0 K' is outside 0.01 K to 10 K"),
    ],
)
def test_mistake_in_a_pan_test_is_one_line(change, says):
    assert_one_line(invoke("pan", "stacked dehydrator", {**PAN, **change}), says)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (
            {"--heating": "5 min 38 degC"},
            "--heating, '5 min 38 degC': times and temperatures are expected as",
        ),
        ({"--heating": "5 = 38 degC"}, "--heating = '5': a duration with its unit is expected"),
        ({"--heating": "5 min = 38"}, "--heating = '38': a temperature with its unit is expected"),
        ({"--heating": ""}, "a cool-down tells only capacity over loss"),
        (
            {"--cooling": "5 min = 60 degC, 9 min = 55 degC"},
            "the cool-down's first reading is expected at 0 min",
        ),
        ({"--power": "5 W"}, "--power = '5 W' is outside 10 W to 20 kW"),
    ],
)
def test_mistake_in_a_warm_up_is_one_line(change, says):
    assert_one_line(invoke("warm-up", "oven with fan", {**WARM, **change}), says)


@pytest.mark.parametrize(
    ("name", "says"),
    [("oven with van", "did you mean 'oven with fan'?"), ("none.toml", "there is no such file")],
)
def test_an_appliance_that_is_not_there(name, says):
    assert_one_line(invoke("pan", name, PAN), says)


@pytest.mark.parametrize(
    "args", [["measure", "--help"], ["measure", "pan", "--help"], ["measure", "warm-up", "--help"]]
)
def test_help_fits_eighty_columns(args):
    result = CliRunner().invoke(app, args, env={"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"})
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        (
            {"--wet-bulb": "30 degC", "--room-humidity": "90 %"},
            "check --wet-bulb, --room and --room-humidity",
        ),
        ({"--wet-bulb": "30 degC", "--air": "205 degF"}, "check --wet-bulb, --room and --room-humidity"),
    ],
    ids=["no moister than the room", "drier than bone-dry"],
)
def test_a_wet_bulb_that_no_wet_pan_leaves_is_refused(changed, says):
    assert_one_line(invoke("pan", "stacked dehydrator", {**PAN, **changed}), says)
