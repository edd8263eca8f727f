"""Weighings and what a logger read meanwhile, fitted together; which readings of it count, and slips in naming it."""

from dataclasses import replace

import numpy as np
import pytest
from made_log import BATCH, KEYS, PRIORS, TRUE, log_text, true_course

from dryingsim.batch.reading.weigh_in_file import TOGETHER_S, read_weigh_ins
from dryingsim.errors import InputError
from dryingsim.learn.fit import fit
from dryingsim.learn.problem import logged_batch_of
from dryingsim.learn.readings import check_places, predicted, readings_of, uncertainties_of
from dryingsim.properties import moist_air
from dryingsim.show.thermometer.logger_text import what_was_read

BEGIN_MIN, FIRST_MIN = 9 * 60 + 50, 10 * 60  # the logger runs ten minutes before the slices go in


def logger_text(end_h=5.0, seed=7, date="2026-03-14"):
    """Return what a logger reads each minute in slice and air, cold before the start; and a relative humidity."""
    run, rng = true_course(), np.random.default_rng(seed)
    lines = ["Kitchen logger", "Time,Meat °C,Air °C,RH %"]
    for minute in range(BEGIN_MIN, FIRST_MIN + int(60 * end_h)):
        at = 60.0 * (minute - FIRST_MIN)
        meat, air = (
            np.interp(at, run.time_s, series[:, 0]) - 273.15 + rng.normal(0.0, 0.5)
            for series in (run.core_K, run.air_K)
        )
        lines.append(f"{date} {minute // 60:02d}:{minute % 60:02d}:00,{meat:.1f},{air:.1f},9")
    return "\n".join([*lines, ""])


@pytest.fixture
def files(tmp_path):
    def written(remarks="# logger: logger.csv\n", weights=None, logger=None):
        (tmp_path / "logger.csv").write_text(logger or logger_text(), encoding="utf-8")
        path = tmp_path / "weights.csv"
        path.write_text(remarks + (weights or log_text()), encoding="utf-8")
        return path

    return written


@pytest.fixture(scope="module")
def fitted(tmp_path_factory):
    folder = tmp_path_factory.mktemp("logged")
    (folder / "logger.csv").write_text(logger_text(), encoding="utf-8")
    two = "\n".join(log_text().splitlines()[:3])  # two weighings within half an hour
    found = []
    for name, remark in (("alone.csv", ""), ("both.csv", "# logger: logger.csv\n")):
        (folder / name).write_text(remark + two, encoding="utf-8")
        found.append(fit([logged_batch_of(BATCH, read_weigh_ins(folder / name))], PRIORS))
    return found


def test_readings_are_taken_together_and_by_the_clock(files):
    log = read_weigh_ins(files())
    meat = [reading for reading in log.of("meat") if reading.file]
    assert len(meat) == int(299 * 60.0 / TOGETHER_S)  # the last whole span of five hours less a minute
    run = true_course()
    for reading in meat:
        assert reading.time_s % TOGETHER_S in (0.0, pytest.approx(TOGETHER_S))
        true = np.interp(reading.time_s, run.time_s, run.core_K[:, 0])
        assert reading.value == pytest.approx(true, abs=0.8)  # noise of 0.5 K in ten readings, and a bend
    first = min(meat, key=lambda reading: reading.time_s)
    assert first.place("weights.csv") == f"logger.csv line {first.line}"
    assert first.line == 2 + 11 + int(TOGETHER_S / 60.0) - 1 + 1


def test_with_elapsed_times_the_logger_begins_as_the_slices_go_in(files):
    path = files("# logger: logger.csv\n# from: 10:00\n", log_text(clock=False))
    meat = read_weigh_ins(path).of("meat")
    assert meat[0].time_s == pytest.approx(TOGETHER_S)


def test_a_logger_tells_more_than_two_weighings(fitted):
    alone, both = fitted
    left = [found.spread(0)[0, 0] ** 0.5 for found in fitted]
    assert left[1] < 0.8 * left[0]  # of the diffusivity
    values = both.values(0)
    sizes = np.sqrt(np.diag(both.spread(0)))
    for key, true in zip(KEYS, TRUE, strict=True):
        i = both.priors.keys.index(key)
        assert abs(values[i] - true) < 3.0 * sizes[i]
    setting = both.priors.keys.index("setpoint")
    assert sizes[setting] < 0.5 * np.sqrt(alone.spread(0)[setting, setting])


def test_humidity_counts_in_an_appliance_alone(files):
    log = read_weigh_ins(files())
    assert log.of("wet_bulb")
    assert not logged_batch_of(BATCH, log).log.of("wet_bulb")  # its file states the air


def test_a_wet_bulb_is_compared_with_that_of_the_air_as_simulated(files):
    log = read_weigh_ins(files())
    bulbs = replace(log, readings=log.of("wet_bulb"))
    readings, run = readings_of(bulbs), true_course()
    at = readings.time_s
    vapour = np.full((at.size, 1), 2000.0)
    air = np.interp(at, run.time_s, run.air_K[:, 0])[:, None]
    noted = replace(run, time_s=at, air_K=air, vapour_Pa=vapour)
    expected = moist_air.wet_bulb(air[:, 0], 2000.0, BATCH.room.pressure_Pa)
    assert predicted(noted, readings, BATCH) == pytest.approx(expected)
    own = np.array([reading.error for reading in bulbs.readings])
    assert np.all(own > 1.0)  # 3 % of humidity is 2 K or so of wet bulb in warm dry air
    assert np.all(uncertainties_of(readings, noted, BATCH) >= own)


@pytest.mark.parametrize(
    ("remarks", "told"),
    [
        ("# logger: nowhere.csv\n", "nowhere.csv: there is no such file"),
        (f"# logger: {'n' * 5000}.csv\n", "File name too long"),
        ("# columns: meat=CH1\n", "# columns: this is said of a logger; name its file above"),
        (
            "# logger: logger.csv\n# from: 10:00\n# from: 10:01\n",
            "# from stands twice below # logger: logger.csv",
        ),
        ("# logger: logger.csv\n# columns: meat=CH7\n", "no column 'CH7'"),
        ("# logger: logger.csv\n# date: 2026-03-15\n", "do the clocks agree, and the days?"),
        ("# logger: logger.csv\n# tray: upper\n", "# tray: upper: the number of a tray is expected"),
        ("# logger: logger.csv\n# until: 10:05\n", "do the clocks agree"),
    ],
)
def test_slips_in_naming_a_logger_are_one_line(files, remarks, told):
    with pytest.raises(InputError) as error:
        read_weigh_ins(files(remarks))
    assert told in str(error.value)
    assert "\n" not in str(error.value)


def test_a_logger_that_runs_before_the_trays_is_not_compared_with_liquid(files):
    liquid = replace(BATCH.stages[0], name="hot", kind="marinade", duration_s=5400.0)
    log = read_weigh_ins(files())
    compared = logged_batch_of(replace(BATCH, stages=(liquid, BATCH.stages[0])), log).log
    assert min(reading.time_s for reading in compared.readings if reading.file) > 5400.0


def test_a_logger_given_in_place_of_weighings_is_told_what_it_is_for(files, tmp_path):
    files()
    with pytest.raises(InputError, match=r"no log of weighings.*# logger: logger\.csv") as error:
        read_weigh_ins(tmp_path / "logger.csv")
    assert "\n" not in str(error.value)


def test_a_logger_of_the_air_alone_is_read_and_told(files):
    lines = [",".join(line.split(",")[i] for i in (0, 2, 3)) for line in logger_text().splitlines()[1:]]
    log = read_weigh_ins(files(logger="\n".join([*lines, ""])))
    assert not log.of("meat")
    assert len([reading for reading in log.of("air") if reading.file]) == len(log.of("wet_bulb")) == 11
    assert what_was_read(log.loggers[0]).startswith("Read of logger.csv: air = 'Air °C', relative humidity")


def test_several_loggers_each_add_their_readings(files, tmp_path):
    path = files("# logger: logger.csv\n# logger: air.csv\n# columns: air=Fan\n")
    lines = [",".join(line.split(",")[i] for i in (0, 2)) for line in logger_text(seed=8).splitlines()[1:]]
    (tmp_path / "air.csv").write_text("\n".join(["Time,Fan °C", *lines[1:], ""]), encoding="utf-8")
    log = read_weigh_ins(path)
    assert [logger.name for logger in log.loggers] == ["logger.csv", "air.csv"]
    assert len([reading for reading in log.of("air") if reading.file == "air.csv"]) == 11
    assert len([reading for reading in log.of("meat") if reading.file]) == 11


def test_a_logger_that_ran_over_night_is_put_by_its_date_or_asked(files):
    """It began at eight in the evening before, so that the nearest such time of day is not the right one."""
    clocks = [f"13 {hour}" for hour in range(20, 24)] + [f"14 {hour:02d}" for hour in range(9)]
    night = [
        f"2026-03-{clock}:{minute:02d}:00,20.0,20.0,40" for clock in clocks for minute in range(0, 60, 10)
    ]
    head, *rows = logger_text().splitlines()[1:]
    long = "\n".join([head, *night, *rows, ""])
    with pytest.raises(InputError, match="was reading on the day before, too"):
        read_weigh_ins(files(logger=long))
    dated = read_weigh_ins(files("# logger: logger.csv\n# date: 2026-03-14\n", logger=long)).of("meat")
    plain = read_weigh_ins(files()).of("meat")
    assert [reading.value for reading in dated] == pytest.approx([reading.value for reading in plain])


def test_with_several_trays_a_logger_says_which_it_was_on(files):
    """The air of one tray is not that of all: taken for it, it would teach a thermostat that is not off."""
    with pytest.raises(InputError, match=r"on which of the 3 trays did logger\.csv read\? .*'# tray: 2'"):
        check_places(read_weigh_ins(files()), BATCH, 3)
    on_second = read_weigh_ins(files("# logger: logger.csv\n# tray: 2\n"))
    assert {reading.name for reading in on_second.readings if reading.file} == {"2"}
    with pytest.raises(InputError, match=r"logger\.csv line \d+: tray 2, but .* has no appliance"):
        check_places(on_second, BATCH, 1)
