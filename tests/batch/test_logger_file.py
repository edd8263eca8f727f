"""Logger files in invented layouts: read without a question, or refused in one line that says why."""

import numpy as np
import pytest
from complaints import message_of
from made_logger import INVENTED, MINUTES, layouts, simulated_truth

from dryingsim.batch.reading.logger_file import (
    humidity_of,
    humidity_of_half_a_kelvin,
    parse_logger_file,
    read_logger_file,
)
from dryingsim.batch.reading.typed_columns import content_lines
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.probe import judge_log
from dryingsim.judge.thermometer_log import log_of_logger
from dryingsim.properties import moist_air
from dryingsim.show.thermometer.logger_text import what_was_read

LAYOUTS = {layout.name: layout for layout in layouts()}


def check_values(log, truth):
    """The readings are those of a truth, but for what stands for no reading."""
    kelvin = {"meat": truth.meat, "air": truth.air, "wet_bulb": truth.wet}
    shown = {name: celsius + ZERO_CELSIUS for name, celsius in kelvin.items()}
    shown["relative_humidity"] = truth.rh / 100.0
    np.testing.assert_allclose(log.time_s / 60.0, MINUTES, atol=1e-9)
    for quantity, values in log.values.items():
        known = ~np.isnan(values)
        assert known.sum() >= 88
        # half a digit of °F or °C, where they were rounded
        np.testing.assert_allclose(values[known], shown[quantity][known], atol=0.051)


def read_layout(folder, layout):
    path = folder / "logger.csv"
    path.write_bytes(layout.content)
    return read_logger_file(path, layout.columns, layout.dates)


@pytest.mark.parametrize("name", LAYOUTS)
def test_layouts_are_read_to_what_they_hold(tmp_path, name):
    layout = LAYOUTS[name]
    log = read_layout(tmp_path, layout)
    assert set(log.values) == set(layout.has)
    check_values(log, INVENTED)
    sentence = what_was_read(log)
    assert len(sentence.splitlines()) == 1
    assert all(repr(log.columns[quantity].heading) in sentence for quantity in layout.has)


@pytest.mark.parametrize("schedule", ["dry", "humid, then dry"])
def test_probes_in_a_simulated_slice_are_believed_in_every_layout(tmp_path, schedule):
    """They lag, are noisy, and drop out; nothing is held against them but that nobody knows the water activity."""
    truth = simulated_truth(schedule, seed=7)
    for layout in layouts(truth):
        log = read_layout(tmp_path, layout)
        check_values(log, truth)
        judged = judge_log(log_of_logger(log), thickness_m=5e-3)
        assert [finding.key for finding in judged.objections] == ["no_water_activity"], layout.name


def test_what_was_read_is_said():
    marked = parse_logger_file(
        LAYOUTS["marks for no reading, lines that stand twice"].content.decode("cp437"), "mine.csv"
    )
    text = what_was_read(marked)
    for part in (
        "Read of mine.csv: meat = 'Meat",
        "from 2026-03-14 10:05 to 2026-03-14 11:35, every 1 min",
        "1 gap, of 4 min before line 12",
        "'---' (2), 'ERR' (1), '-999.9' (1)",
        "1 line given twice",
    ):
        assert part in text
    turned = parse_logger_file(LAYOUTS["a clock set back by an hour"].content.decode(), "mine.csv")
    assert "the clock was set back by an hour before line 42" in what_was_read(turned)


def test_wet_bulb_and_dew_point_become_the_humidity_of_the_air():
    """The relative humidity the same air has when it is computed the other way."""
    air, vapour = 341.15, 4500.0
    wet = moist_air.wet_bulb(air, vapour, 101325.0) - ZERO_CELSIUS
    dew = moist_air.dew_point(vapour) - ZERO_CELSIUS
    for heading, value in (("wet bulb", wet), ("dew point", dew)):
        rows = [f"{i},20,{air - ZERO_CELSIUS:.6f},{value:.6f}" for i in range(3)]
        log = parse_logger_file("\n".join([f"time min,meat C,air C,{heading} C", *rows]))
        np.testing.assert_allclose(humidity_of(log), moist_air.relative_humidity(vapour, air), rtol=1e-5)


@pytest.mark.parametrize(
    ("air", "wet", "points"), [(60, 45, 1.42), (60, 58, 2.33), (76.7, 54.4, 0.98), (90, 82.2, 1.54)]
)
def test_half_a_kelvin_of_wet_bulb_moves_the_humidity_as_in_the_psychrometer_equation(air, wet, points):
    """e = es(Tw) - 6.53e-4 (1 + 0.000944 Tw) P (Td - Tw) at 101325 Pa: own computation, which ASTM E337 uses (from memory).

    0.1 points: the thermodynamic wet bulb of this package against an instrument's constant.
    """
    log = parse_logger_file(f"time min,meat C,air C,wet bulb C\n0,4,{air},{wet}\n1,5,{air},{wet}\n")
    assert 100.0 * humidity_of_half_a_kelvin(log) == pytest.approx(points, abs=0.1)
    assert (
        f"half a kelvin of it is up to {100.0 * humidity_of_half_a_kelvin(log):.1f} % of humidity"
        in what_was_read(log)
    )


HEAD = "Time,Meat °C,Air °C,Wet bulb °C\n"
ISO = "2026-03-14 10:0{}:00,{}\n"


def lines(*cells, head=HEAD):
    return head + "".join(ISO.format(i, cell) for i, cell in enumerate(cells))


HOSTILE = {
    "either order of the date": (
        "Date,Meat °C\n03/04/2026 10:00,4\n03/04/2026 10:01,5\n",
        ("3 April 2026 or 4 March 2026", "--dates day-first or --dates month-first"),
    ),
    "two-digit years": ("Date,Meat °C\n03/04/05 10:00,4\n03/04/05 10:01,5\n", ("year-first",)),
    "no such date": ("Date,Meat °C\n2026-02-30 10:00,4\n2026-02-30 10:01,5\n", ("line 2", "no such date")),
    "a scale nobody named": (lines("4", "5", head="Time,Meat\n"), ("degC or degF?", "--columns")),
    "two scales in a heading": (lines("4", "5", head="Time,Meat °C/°F\n"), ("degC or degF?",)),
    "probes without names": (
        lines("4,60", "5,60", head="Time,CH1 °C,CH2 °C\n"),
        ("which is of the meat", "meat=CH1 °C,air=CH2 °C"),
    ),
    "two probes in meat": (
        lines("4,5", "5,6", head="Time,Meat 1 °C,Meat 2 °C\n"),
        ("both may be of meat", "'Meat 1 °C'", "'Meat 2 °C'"),
    ),
    "a temperature beside a humidity": (
        lines("60,20", "61,21", head="Time,Temperature °C,RH %\n"),
        ("of the meat or of the air?",),
    ),
    "air near the product": (
        lines("60", "61", head="Time,Product air °C\n"),
        ("of the meat or of the air?",),
    ),
    "the meat is missing": (lines("60", "61", head="Time,Air °C\n"), ("no column is of meat",)),
    "decimal commas in commas": (
        lines("4,0,60,0,40,0", "4,5,60,0,40,0"),
        ("values, but the heading has 4 columns", "semicolons"),
    ),
    "another reading at the same time": (
        HEAD + 2 * ISO.format(0, "4,60,40") + ISO.format(0, "5,60,40"),
        ("line 4", "same time"),
    ),
    "time goes back": (
        HEAD + ISO.format(5, "4,60,40") + ISO.format(3, "5,60,40") + ISO.format(6, "5,60,40"),
        ("line 3", "goes back"),
    ),
    "a clock of twelve hours without halves": (
        "Time,Meat °C\n12:58:00,4\n12:59:00,5\n1:00:00,6\n1:01:00,6\n",
        ("goes back",),
    ),
    "a letter for a digit": (lines("4,60,40", "5O,60,40", "6,60,40"), ("line 3, Meat °C = '5O'",)),
    "too hot for the limits": (lines("4,60,40", "170,60,40"), ("line 3", "outside -20 degC to 150 degC")),
    "wet bulb above its air": (lines("4,40,60", "5,40,60"), ("are they swapped?",)),
    "a line of text among readings": (
        lines("4,60,40") + "battery changed\n" + ISO.format(3, "5,60,40"),
        ("line 3", "does not begin with a time"),
    ),
    "another scale from the middle on": (
        lines("4,60,40") + HEAD.replace("°C", "°F") + ISO.format(3, "41,140,100"),
        ("line 3", "stands among the readings"),
    ),
    "zones on some lines": (
        "Time,Meat °C\n2026-03-14T10:00:00Z,4\n2026-03-14T10:01:00,5\n",
        ("a time zone stands on some",),
    ),
    "half days on some lines": ("Time,Meat °C\n10:00 am,4\n10:01,5\n", ("am or pm stands on some",)),
    "seconds or minutes": ("Elapsed,Meat °C\n0,4\n1,5\n", ("seconds or minutes?",)),
    "hours or minutes": (
        "Elapsed,Meat °C\n00:00,4\n00:05,5\n",
        ("hours and minutes, or minutes and seconds?",),
    ),
    "a percentage below one": (
        lines("4,0.8", "5,0.8", head="Time,Meat °C,RH\n"),
        ("percent, or a ratio of 0 to 1?",),
    ),
    "a humidity beyond 100 %": (lines("4,180", "5,180", head="Time,Meat °C,RH %\n"), ("outside 0 to 100 %",)),
    "nothing but text": ("lorem ipsum\ndolor\n", ("fewer than two lines",)),
    "a decimal comma in one line": (
        "Time, Meat °C, Air °C\n10:00, 4, 60\n10:05, 5,6\n10:10, 6, 60\n",
        ("line 3: '5,6': a decimal comma, or two values? Write 5.6",),
    ),
    "a decimal comma before a note": (
        "Time,Meat °C,Note\n10:00,4\n10:05,5,6\n10:10,6\n",
        ("line 3: '5,6': a decimal comma, or two values?",),
    ),
    "years between lines": ("Time,Meat °C\n2025-03-14 10:00,4\n2026-03-14 10:00,5\n", ("365 days",)),
}


@pytest.mark.parametrize("why", HOSTILE)
def test_what_is_open_is_asked_and_what_is_wrong_is_told(why):
    text, says = HOSTILE[why]

    def read():
        humidity_of(parse_logger_file(text, "log.csv"))

    message = message_of(read)
    assert all(part in message for part in says), message
    assert message.startswith("log.csv")


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ("meet=CH1", "did you mean 'meat'?"),
        ("meat=CH9", "its columns: Time, CH1, CH2"),
        ("meat=", "which column is meat?"),
        ("meat=CH1,meat=CH2", "meat stands twice"),
        ("meat=CH1,air=CH1", "cannot be two things at once"),
        ("meat=Time", "cannot be two things at once"),
        ("meat=CH1 [kelvins]", "degC, degF or K is expected"),
        ("meat=CH", "has no column 'CH'"),
    ],
)
def test_columns_that_cannot_be_are_told(columns, says):
    text = lines("4,60", "5,60", head="Time,CH1,CH2\n")
    assert says in message_of(parse_logger_file, text, "log.csv", columns)


def test_columns_go_by_heading_number_and_part_of_a_heading():
    text = lines("4,60", "5,60", head="Time,CH1 °C (left),CH2 °C (right)\n")
    for columns in ("meat=CH1,air=CH2", "meat=2, air=3", "meat=ch1 °c (left),air=CH2 °C (right)"):
        log = parse_logger_file(text, "log.csv", columns)
        assert [log.columns[each].index for each in ("meat", "air")] == [1, 2]


def test_dates_said_against_the_file_are_refused():
    text = "Date,Meat °C\n14/03/2026 10:00,4\n14/03/2026 10:01,5\n"
    assert "cannot be read so" in message_of(parse_logger_file, text, "log.csv", None, "month-first")
    assert "did you mean 'day-first'?" in message_of(parse_logger_file, text, "log.csv", None, "dayfirst")


def test_a_day_that_follows_tells_the_order_of_a_date():
    """Read the other way round the second line would be a month later."""
    text = "Date,Meat °C\n03/04/2026 23:59,4\n03/05/2026 00:00,5\n"
    log = parse_logger_file(text)
    assert (log.begins, log.time_s.tolist()) == ("2026-03-04 23:59", [0.0, 60.0])


def test_a_part_of_a_log_is_by_the_clock_or_since_its_first_line():
    text = "Time,Meat °C\n" + "".join(
        f"2026-03-14 {23 + i // 60 if i < 60 else 0:02d}:{i % 60:02d}:00,{i}\n" for i in range(60)
    )
    text += "".join(f"2026-03-15 00:{i:02d}:00,60\n" for i in range(30))
    for part, first, last in (
        (("23:30", "12:10 am"), "2026-03-14 23:30", "2026-03-15 00:10"),
        (("30 min", None), "2026-03-14 23:30", "2026-03-15 00:29"),
        ((None, "23:01"), "2026-03-14 23:00", "2026-03-14 23:01"),
    ):
        log = parse_logger_file(text, "log.csv", part=part)
        assert (log.begins, log.ends, log.time_s[0]) == (first, last, 0.0)
        assert f"{90 - len(log.lines)} lines before and after cut off" in what_was_read(log)
    for part, says in (
        (
            ("22:30", "22:40"),
            "--from = '22:30' is not within the log, which goes from 2026-03-14 23:00 to 2026-03-15 00:29",
        ),
        ((None, "22:40"), "--until = '22:40' is not within the log, which goes from"),
        (
            ("23:10", "23:10"),
            "fewer than two readings lie within --from and --until; the log goes from 2026-03-14 23:00",
        ),
        (("soon", None), "--from = 'soon'"),
    ):
        assert says in message_of(lambda part=part: parse_logger_file(text, "log.csv", part=part))
    assert (
        parse_logger_file(text, "log.csv", part=(None, "01:20")).ends == "2026-03-15 00:29"
    )  # a log may end early
    elapsed = "Time min,Meat °C\n0,4\n1,5\n"
    assert "--from = '3 min' is not within the log, which goes from 0 min to 1 min" in message_of(
        lambda: parse_logger_file(elapsed, "log.csv", part=("3 min", None))
    )
    assert "no times of day" in message_of(
        lambda: parse_logger_file(elapsed, "log.csv", part=("10:00", None))
    )


def test_blanks_behind_commas_may_be_as_in_the_heading():
    log = parse_logger_file("Date, Time,Meat °C,Air °C\n2026-03-14, 10:00,4,60\n2026-03-14, 10:05,5,61\n")
    assert log.values["air"].round(2).tolist() == [333.15, 334.15]


TITLES = "Max,16.5\nMin,4.0,x\n2026-03-14, exported 5\n"


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        (TITLES + "Time,Meat C,Air C\n2026-03-14 10:00,4,60\n2026-03-14 10:01,5,60\n", 60.0),
        ("Date,Time,AM/PM,Meat C\n03/14/2026,11:59:00,AM,4\n03/14/2026,12:00:00,PM,5\n", 60.0),
        ("Date,Meat C\n46095.5,4\n46095.501,5\n", 86.4),
        ("Time,Meat C\nSat Mar 14 2026 10:00:00 EDT,4\nSat Mar 14 2026 10:02:00 EDT,5\n", 120.0),
        ("Time,Meat C\n2026-11-01T01:59:00-04:00,4\n2026-11-01T01:00:00-05:00,5\n", 60.0),
        ("sep=;\nDate;Meat C\n14-03-2026 10:00;4,0\n14-03-2026 10:01;4,5\n", 60.0),
    ],
)
def test_odd_titles_and_times_are_read(text, seconds):
    log = parse_logger_file(text)
    assert log.time_s[1] == pytest.approx(seconds, abs=1e-4)  # days have eleven digits
    assert log.columns["meat"].heading == "Meat C"


def test_readings_within_a_minute_count_by_the_coolest():
    text = (
        "Time,Meat °C\n2026-03-14 10:00,50\n2026-03-14 10:00,52\n2026-03-14 10:01,60\n2026-03-14 10:01,58\n"
    )
    log = parse_logger_file(text)
    np.testing.assert_allclose(log.values["meat"] - ZERO_CELSIUS, [50.0, 58.0])
    assert content_lines(what_was_read(log))
