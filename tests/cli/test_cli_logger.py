"""`dryingsim thermometer` with files that loggers write: the example, `--columns`, wrong air, and slips of every kind."""

import json
import random
import sys
from pathlib import Path

import numpy as np
import pytest
from complaints import assert_one_line
from made_logger import INVENTED, MINUTES, layouts, stamps, table
from made_readings import simulated
from test_cli_thermometer import flat, invoke

from dryingsim.constants import ZERO_CELSIUS

sys.path.append(str(Path(__file__).resolve().parents[1] / "fuzz"))
import mutations

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "logger_file.csv"
LAYOUTS = list(layouts())


def test_the_example_says_it_is_invented_and_what_was_read_of_it():
    assert "Invented readings" in EXAMPLE.read_text(encoding="utf-8")
    result = invoke(EXAMPLE, "--species", "beef", "--thickness", "5 mm")
    assert result.exit_code == 0, result.stderr
    text = flat(result.stdout)
    assert (
        "Read of logger_file.csv: meat = 'CH1 meat (°F)', air = 'CH2 air (°F)', wet bulb = 'CH3 wet bulb (°F)'"
        in text
    )
    assert "from 2026-03-14 13:10 to 2026-03-14 17:10, every 2 min; 1 gap, of 6 min before line 65" in text
    assert "no water activity was logged" in text
    found = json.loads(invoke(EXAMPLE, "--json").stdout)
    assert found["read"] in text
    assert found["grade"] == "not shown"


def test_columns_and_dates_answer_what_is_asked(tmp_path):
    path = tmp_path / "channels.csv"
    path.write_text(
        table(["Date", "CH1", "CH2"], [stamps("%d/%m/%Y %H:%M"), INVENTED.meat, INVENTED.air]),
        encoding="utf-8",
    )
    assert_one_line(invoke(path), "which is of the meat, which of the air?")
    assert_one_line(invoke(path, "--columns", "meat=CH1,air=CH2"), "degC or degF?")
    result = invoke(path, "--columns", "meat=CH1 [degC],air=CH2 [degC]", "--dates", "day-first")
    assert result.exit_code == 0, result.stderr
    assert "Read of channels.csv: meat = 'CH1' in °C, air = 'CH2' in °C" in flat(result.stdout)
    assert_one_line(invoke(path, "--columns", "meat=CH7"), "its columns: Date, CH1, CH2")
    assert_one_line(invoke(path, "--dates", "day"), "--dates = 'day'")


def test_an_hour_that_is_missing_is_no_drying_time(tmp_path):
    """Set forward, or no readings: the file cannot tell, so it is asked."""
    minutes = np.where(MINUTES < 40.0, MINUTES, MINUTES + 60.0)
    clock = [f"2026-03-29 {1 + int(m) // 60:02d}:{int(m) % 60:02d}:00" for m in minutes]
    path = tmp_path / "forward.csv"
    path.write_text(table(["Time", "Meat °C"], [clock, INVENTED.meat]), encoding="utf-8")
    assert_one_line(invoke(path), "was the clock set forward by an hour?")
    path.write_text(
        table(["Time", "Meat °C"], [[f"{at}+01:00" for at in clock], INVENTED.meat]), encoding="utf-8"
    )
    result = invoke(path)
    assert_one_line(result, "61 min without a reading")
    assert "clock" not in result.stderr  # the zone says that it was none


def test_a_wick_that_has_run_dry_is_an_objection(tmp_path):
    """Dry air all along; the wet bulb shows the air's own temperature, which would make it humid."""
    history = simulated("dry", "5 mm")
    time = np.arange(0.0, 3 * 3600.0, 120.0)
    meat = (
        np.interp(time, history.time_s, history.temperature_K[:, history.temperature_K.shape[1] // 2, 0])
        - ZERO_CELSIUS
    )
    air = np.interp(time, history.time_s, history.air_temperature_K[:, 0]) - ZERO_CELSIUS
    rows = zip(time / 60.0, meat, air, air - 0.4, strict=True)
    lines = [", ".join(f"{value:.1f}" for value in row) for row in rows]
    path = tmp_path / "wick.csv"
    path.write_text("\n".join(["time min, meat C, air C, wet bulb C", *lines]), encoding="utf-8")
    options = ("--water-activity", "0.99", "--thickness", "5 mm")
    found = json.loads(invoke(path, "--json", *options).stdout)
    assert any("is the wick dry" in said for said in found["objections"])
    told = invoke(path, "--details", *options).stdout
    assert "?" in told
    assert "?." not in told


@pytest.mark.parametrize("number", range(60))
def test_slips_in_logger_files_are_read_or_told_in_one_line(tmp_path, number):
    rng = random.Random(number)
    layout = rng.choice(LAYOUTS)
    content = layout.content
    if b"\0" not in content[:200]:
        text = content.decode("utf-8", "surrogateescape")
        for _ in range(rng.choice((1, 1, 2))):
            text = rng.choice(mutations.CSV)(rng, text)
        content = text.encode("utf-8", "surrogateescape")
    if rng.random() < 0.2:
        content = mutations.as_bytes(rng, content)
    path = tmp_path / "slip.csv"
    path.write_bytes(content)
    options = [("--columns", layout.columns), ("--dates", layout.dates)]
    result = invoke(path, "--json", *[word for option, value in options if value for word in (option, value)])
    if result.exit_code == 0:
        assert result.stderr == ""
        assert json.loads(result.stdout)["objections"]  # none of them tells the water activity
    else:
        assert_one_line(result, "")
