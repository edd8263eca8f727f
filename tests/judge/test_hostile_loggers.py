"""The logs that must not pass, as a logger would have written them: dated, with semicolons and decimal commas."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from made_readings import SCHEDULES, Probe, log_text, simulated
from test_hostile_logs import cases

from dryingsim.batch.reading.logger_file import parse_logger_file
from dryingsim.errors import InputError
from dryingsim.judge.probe import judge_log, judge_probe
from dryingsim.judge.thermometer_log import log_of_logger, read_log

_START = datetime(2026, 3, 14, 9, 30)
_MINUTES = {"time [s]": 1.0 / 60.0, "time [min]": 1.0, "time [h]": 60.0}


def as_logger(text):
    """Return a typed log as the file of a logger."""
    rows = [line.split(", ") for line in text.splitlines() if line.strip() and not line.startswith("#")]
    head, body = rows[0], rows[1:]
    stamps = [_START + timedelta(minutes=float(cells[0]) * _MINUTES[head[0]]) for cells in body]
    lines = [
        ";".join([stamp.strftime("%d.%m.%Y %H:%M:%S.%f"), *(cell.replace(".", ",") for cell in cells[1:])])
        for stamp, cells in zip(stamps, body, strict=True)
    ]
    return "\n".join(["Drying room 2", "", ";".join(["Date and time", *head[1:]]), *lines, ""])


WRITTEN = [case for case in cases() if case.values[0].timed]


def test_there_are_enough():
    assert len(WRITTEN) >= 60


def outcome(log, how):
    """What comes of a log: the start of the refusal, or what was found and the grade."""
    try:
        found = judge_log(log, **how)
    except InputError as error:
        return str(error).split(": ", 1)[1][:40]
    findings = (*found.objections, *found.remarks)
    return [finding.key for finding in findings], judge_probe(found, "beef").grade


@pytest.mark.parametrize("hostile", WRITTEN)
def test_a_logger_is_believed_no_more_than_a_typed_log(hostile):
    """What comes of the typed one is tested beside it: none of them passes."""
    text = as_logger(hostile.written)
    try:
        typed = read_log(hostile.written, "log.csv")
    except InputError:
        with pytest.raises(InputError) as caught:
            log_of_logger(parse_logger_file(text, "log.csv"))
        assert str(caught.value).startswith("log.csv")
        assert "\n" not in str(caught.value)
    else:
        logged = log_of_logger(parse_logger_file(text, "log.csv"))
        assert outcome(logged, hostile.how) == outcome(typed, hostile.how)


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_honest_logs_are_read_alike_in_both_ways(schedule):
    columns = ("water_activity", "air", "relative_humidity")
    text = log_text(simulated(schedule), Probe(columns=columns))
    typed, logged = read_log(text), log_of_logger(parse_logger_file(as_logger(text)))
    for name in ("time_s", "temperature_K", "water_activity", "relative_humidity", "air_temperature_K"):
        np.testing.assert_allclose(getattr(logged, name), getattr(typed, name), rtol=1e-12, err_msg=name)


def test_a_gap_over_the_hot_part_is_refused():
    text = as_logger(log_text(simulated("humid, then dry"), Probe()))
    lines = text.splitlines()
    for first, last, says in ((15, 26, "24 min without a reading"), (15, 46, "64 min without a reading")):
        cut = "\n".join([*lines[:first], *lines[last:]])
        with pytest.raises(InputError, match=says):
            log_of_logger(parse_logger_file(cut, "log.csv"))
    marked = [line.split(";")[0] + ";---;0,99" if 15 <= i < 26 else line for i, line in enumerate(lines)]
    with pytest.raises(InputError, match="24 min without a reading"):
        log_of_logger(parse_logger_file("\n".join(marked), "log.csv"))
