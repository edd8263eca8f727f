"""Logs of simulated slices, read by a lagging and noisy probe, are read and judged: the guards refuse no truth."""

import itertools

import numpy as np
import pytest
from made_readings import SCHEDULES, Probe, log_text, simulated

from dryingsim.judge.probe import judge_log, judge_probe
from dryingsim.judge.reductions import judge_place
from dryingsim.judge.thermometer_log import read_log

AW, ALL = ("water_activity",), ("water_activity", "relative_humidity", "air")
SLICES = (("4 mm", "4 degC", "45 %"), ("5 mm", "20 degC", "20 %"), ("8 mm", "4 degC", "70 %"))
CADENCES = ((60.0, 10.0), (120.0, 30.0), (300.0, 60.0))  # between readings, lag of the probe [s]


def honest():
    """Return every schedule in every slice, the way of reading changing from one to the next."""
    cadences = itertools.cycle(CADENCES)
    for number, (schedule, piece) in enumerate(itertools.product(SCHEDULES, SLICES)):
        for columns in (AW, ALL):
            # an ideal cabinet makes humid air at once: without humidity in the log that is no honest warming to see
            if columns == AW and ("humid" in schedule or "steamy" in schedule or "oven" in schedule):
                continue
            every, lag = next(cadences)
            probe = Probe(every_s=every, lag_s=lag, seed=number, columns=columns, fahrenheit=number % 2 == 1)
            yield pytest.param(
                schedule, piece, probe, id=f"{schedule}, {piece[0]}, {len(columns)}, {every:g} s"
            )


def judged(schedule, piece, probe):
    log = read_log(log_text(simulated(schedule, *piece), probe))
    return log, judge_log(log, thickness_m=2e-3)


def test_there_are_enough_of_them():
    assert len(list(honest())) >= 20


@pytest.mark.parametrize(("schedule", "piece", "probe"), list(honest()))
def test_an_honest_log_is_judged_without_objection(schedule, piece, probe):
    log, found = judged(schedule, piece, probe)
    assert found.objections == ()
    assert log.time_s.size > 50


@pytest.mark.parametrize("piece", SLICES)
def test_a_humid_batch_logged_with_its_air_reaches_what_it_reached(piece):
    _, found = judged("steamy, then dry", piece, Probe(every_s=60.0, columns=ALL))
    assert judge_probe(found, "beef").grade == "met"


@pytest.mark.parametrize("schedule", ["dry", "steamy, then dry"])
def test_the_credit_is_below_that_of_the_whole_history_and_near_it(schedule):
    """Without noise and lag, so that only the readings' distance counts."""
    history = simulated(schedule)
    middle = history.temperature_K.shape[1] // 2
    t, a = history.temperature_K[:, middle, 0], history.water_activity[:, middle, 0]
    whole = judge_place(history.time_s, t, a, "beef")
    credits = []
    for every in (600.0, 300.0, 60.0):
        log = read_log(log_text(history, Probe(every_s=every, lag_s=1e-3, noise_K=0.0, columns=ALL)))
        credits.append([entry.lower for entry in judge_probe(judge_log(log), "beef").organisms])
    assert np.all(np.diff(credits, axis=0) >= 0.0)
    if schedule == "dry":  # where it is all that can be counted, more readings add nothing
        assert np.any(np.diff(credits, axis=0) > 0.0)
    # temperatures are typed to 0.1 K and water activities to 0.001: a hundredth of z and of the slope near raw meat
    of_all = np.array([entry.lower for entry in whole.organisms])
    assert np.all(credits[-1] < 1.03 * of_all)
    assert np.all(credits[-1] > 0.85 * of_all)
