"""Several logs of one batch: the air of one logger beside the probe of another, by their clocks."""

import numpy as np
import pytest

from dryingsim.errors import InputError
from dryingsim.judge.logs_together import read_logs
from dryingsim.properties.water import saturation_pressure

MINUTES = np.arange(0, 40, 2)


def stamp(minute, day="2026-03-14 "):
    return f"{day}{10 + int(minute) // 60:02d}:{int(minute) % 60:02d}:00"


def table(path, heads, columns, times=None):
    rows = [[stamp(minute) for minute in MINUTES] if times is None else times, *columns]
    lines = [",".join(map(str, cells)) for cells in zip(*rows, strict=True)]
    path.write_text("\n".join([",".join(["Time", *heads]), *lines, ""]), encoding="utf-8")
    return path


@pytest.fixture
def meat(tmp_path):
    return table(tmp_path / "meat.csv", ["Meat °C"], [4 + MINUTES])


def air_of(path, begin=-4, end=50, day="2026-03-14 ", every=1):
    minutes = np.arange(begin, end, every)
    times = [stamp(minute, day) if minute >= 0 else f"{day}09:{60 + minute:02d}:00" for minute in minutes]
    return table(path, ["Air °C", "Wet bulb °C"], [60 + 0.1 * minutes, 30 + 0.1 * minutes], times)


def test_air_of_another_logger_is_taken_at_the_times_of_the_probe(meat, tmp_path):
    (log,) = read_logs([meat, air_of(tmp_path / "air.csv")], [None, None])
    assert log.name == "meat.csv"
    assert log.time_s.tolist() == (60.0 * MINUTES).tolist()
    assert log.air_temperature_K == pytest.approx(273.15 + 60.0 + 0.1 * MINUTES)
    assert np.all(
        (log.relative_humidity > 0.1) & (log.relative_humidity < 0.2)
    )  # a wet bulb 30 K below 60 degC
    assert log.logger.columns["air"].heading == "Air °C, air.csv"


def test_every_probe_is_a_log_and_keeps_its_own_air(meat, tmp_path):
    other = table(tmp_path / "other.csv", ["Meat °C", "Air °C"], [5 + MINUTES, np.full(MINUTES.size, 70)])
    first, second = read_logs([meat, other, air_of(tmp_path / "air.csv")], [None] * 3)
    assert (first.name, second.name) == ("meat.csv", "other.csv")
    assert first.air_temperature_K[0] == pytest.approx(333.15)
    assert second.air_temperature_K == pytest.approx(343.15)
    assert second.relative_humidity is not None


def test_two_probes_of_one_file_are_two_logs(tmp_path):
    path = table(tmp_path / "both.csv", ["CH1 °C", "CH2 °C"], [4 + MINUTES, 5 + MINUTES])
    logs = read_logs([path, path], ["meat=CH1", "meat=CH2"])
    assert [log.temperature_K[0] for log in logs] == pytest.approx([277.15, 278.15])


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"day": "2026-03-15 "}, "of another day"),
        ({"begin": 0, "end": 20}, "does it end too early"),
        ({"begin": 0, "every": 20}, "tells nothing of the air for"),
    ],
)
def test_air_that_was_not_read_all_along_is_refused(meat, tmp_path, given, told):
    with pytest.raises(InputError, match=told) as error:
        read_logs([meat, air_of(tmp_path / "air.csv", **given)], [None, None])
    assert "\n" not in str(error.value)


def test_without_clocks_nothing_tells_which_belong_together(meat, tmp_path):
    elapsed = table(tmp_path / "air.csv", ["Air °C"], [60 + 0 * MINUTES], [f"{minute}" for minute in MINUTES])
    elapsed.write_text(elapsed.read_text("utf-8").replace("Time", "Elapsed (min)"), encoding="utf-8")
    with pytest.raises(InputError, match=r"air\.csv: it has no times of day"):
        read_logs([meat, elapsed], [None, None])


def test_one_log_at_least_is_of_meat(tmp_path):
    paths = [air_of(tmp_path / name) for name in ("a.csv", "b.csv")]
    with pytest.raises(InputError, match="no column of any log is of meat"):
        read_logs(paths, [None, None])


def test_times_of_day_without_dates_go_past_midnight(tmp_path):
    clocks = [f"{(23 + (50 + int(m)) // 60) % 24:02d}:{(50 + int(m)) % 60:02d}:00" for m in MINUTES]
    meat = table(tmp_path / "meat.csv", ["Meat °C"], [4 + MINUTES], clocks)
    late = table(tmp_path / "air.csv", ["Air °C"], [60 + MINUTES], ["23:46:00", *clocks[:-1]])
    (log,) = read_logs([meat, late], [None, None], part=(None, "38 min"))
    assert log.air_temperature_K[1] == pytest.approx(273.15 + 64.0)


def test_a_hygrometer_in_cooler_air_tells_the_vapour_not_the_percentage(tmp_path):
    probe = table(tmp_path / "meat.csv", ["Meat °C", "Air °C"], [4 + MINUTES, np.full(MINUTES.size, 70)])
    cooler = table(
        tmp_path / "rh.csv", ["Air °C", "RH %"], [np.full(MINUTES.size, 50), np.full(MINUTES.size, 40)]
    )
    (log,) = read_logs([probe, cooler], [None, None])
    expected = 0.4 * saturation_pressure(323.15) / saturation_pressure(343.15)
    assert log.relative_humidity == pytest.approx(np.full(MINUTES.size, expected))
    assert log.air_temperature_K == pytest.approx(np.full(MINUTES.size, 343.15))
