"""Logs that would pass if they were believed, each with its batch file: none of them is met, and what is wrong is told.

The truth of most is a batch that does reach its target, so that nothing but the log's fault keeps it from being met.
"""

from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np
import pytest
from made_readings import simulated

from dryingsim.batch.uncertainties import default_uncertainties
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.engine.ensemble import Request
from dryingsim.errors import InputError
from dryingsim.judge.findings import Finding
from dryingsim.judge.thermometer_log import read_log
from dryingsim.learn import logged_estimate, probed_draws
from dryingsim.learn.fitted_log import fit_log
from dryingsim.learn.logged_estimate import estimate
from dryingsim.properties.water import saturation_pressure
from dryingsim.show.thermometer.estimate_text import values

EVERY_S, LONG_S = 300.0, 6000.0
TIME = np.arange(0.0, LONG_S + 1.0, EVERY_S)
HOUR = int(3600.0 / EVERY_S)


@pytest.fixture(scope="module", autouse=True)
def coarse():
    """Let slices be few, with few nodes and long steps: 0.3 K (rms) from finer ones, where readings are 0.5 K off."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(probed_draws, "NODES_OF_MANY", 8)
        patch.setattr(probed_draws, "Request", partial(Request, tolerance=5e-3))
        patch.setattr(logged_estimate, "EVEN", 16)
        yield


@dataclass(frozen=True)
class Columns:
    """What a logger would show, in degC and percent."""

    meat: np.ndarray
    air: np.ndarray
    rh: np.ndarray


@cache
def batch_of(schedule, thickness="5 mm"):
    history = simulated(schedule, thickness)
    return replace(history.batch, meat=replace(history.batch.meat, species="beef")), history


@cache
def truth(schedule, thickness="5 mm", seed=1):
    """Return noisy readings of a slice and its air; the air warms up over some minutes, as a cabinet does."""
    history, rng = batch_of(schedule, thickness)[1], np.random.default_rng(seed)
    meat = np.interp(TIME, history.time_s, history.temperature_K[:, 5, 0]) - ZERO_CELSIUS
    air_K = np.interp(TIME, history.time_s, history.air_temperature_K[:, 0])
    vapour = np.interp(TIME, history.time_s, history.air_vapour_pressure_Pa[:, 0])
    rh = 100.0 * vapour / saturation_pressure(air_K)
    noise = [rng.normal(0.0, 0.3, TIME.size) for _ in range(2)]
    return Columns(
        meat + noise[0],
        air_K - ZERO_CELSIUS + noise[1],
        np.clip(rh + rng.normal(0.0, 1.0, TIME.size), 1.0, 99.0),
    )


def text(columns, unit="degC", air_unit="degC", kept=None, time=TIME):
    rows = range(time.size) if kept is None else kept
    lines = [
        f"{time[i] / 60.0:g}, {columns.meat[i]:.1f}, {columns.air[i]:.1f}, {columns.rh[i]:.0f}" for i in rows
    ]
    return "\n".join([f"time [min], meat [{unit}], air [{air_unit}], rh [%]", *lines])


def warming(air, minutes):
    """Return air that comes up from a room's temperature over some minutes."""
    return air + (20.0 - air) * np.exp(-TIME / (60.0 * minutes))


def log_of_the_air():
    for schedule, quick_and_slow in (("steamy, then dry", (1.0, 8.0)), ("humid, then dry", (8.0, 1.0))):
        true = truth(schedule)
        for off, minutes in zip((0.0, -1.0, -3.0, 1.0), 2 * quick_and_slow, strict=True):
            there = warming(true.air, minutes)
            other = there + off + np.random.default_rng(2).normal(0.0, 0.4, TIME.size)
            yield (
                f"{schedule}, {off:+g} K, up in {minutes:g} min",
                schedule,
                text(replace(true, meat=other, air=there)),
            )
    true = truth("dry")
    for off in (0.0, -4.0):
        yield f"dry air {off:+g} K", "dry", text(replace(true, meat=true.air + off - 64.0 * (TIME == 0.0)))
        wet = replace(true, rh=np.full(TIME.size, 95.0), meat=true.air + off - 64.0 * (TIME == 0.0))
        yield f"dry air {off:+g} K, its hygrometer stuck", "dry", text(wet)


def units():
    for schedule in ("steamy, then dry", "dry"):
        true = truth(schedule)
        fahrenheit = replace(true, meat=1.8 * true.meat + 32.0, air=1.8 * true.air + 32.0)
        yield f"{schedule}: degF read as degC", schedule, text(fahrenheit)
        yield f"{schedule}: degC read as degF", schedule, text(true, "degF", "degF")
        yield f"{schedule}: meat degC read as degF", schedule, text(true, "degF")
        yield f"{schedule}: air degC read as degF", schedule, text(true, air_unit="degF")
        yield f"{schedule}: air degF read as degC", schedule, text(replace(true, air=fahrenheit.air))
        yield f"{schedule}: meat degF read as degC", schedule, text(replace(true, meat=fahrenheit.meat))
        yield f"{schedule}: minutes read as seconds", schedule, text(true, time=TIME / 60.0)
        yield f"{schedule}: meat and air swapped", schedule, text(replace(true, meat=true.air, air=true.meat))


def gaps():
    for schedule in ("steamy, then dry", "humid, then dry"):
        true = truth(schedule)
        for first, last in ((1, HOUR), (2, HOUR + 2), (3, 9), (1, 5)):
            kept = [i for i in range(TIME.size) if not first <= i < last]
            yield (
                f"{schedule}: no readings from {5 * first} to {5 * last} min",
                schedule,
                text(true, kept=kept),
            )


def shifted():
    """Two loggers whose clocks are an hour apart: before, one shows the fridge or the room, after, what stays."""
    for schedule in ("steamy, then dry", "humid, then dry"):
        true = truth(schedule)
        before = {"meat": 4.0, "air": 21.0, "rh": 45.0}
        held = {name: getattr(true, name) for name in before}
        late = {name: np.concatenate([np.full(HOUR, before[name]), v[:-HOUR]]) for name, v in held.items()}
        soon = {name: np.concatenate([v[HOUR:], np.full(HOUR, v[-1])]) for name, v in held.items()}
        for names in (("meat",), ("rh",), ("air", "rh")):
            apart = " and ".join(names)
            yield (
                f"{schedule}: {apart} an hour late",
                schedule,
                text(replace(true, **{n: late[n] for n in names})),
            )
            yield (
                f"{schedule}: {apart} an hour early",
                schedule,
                text(replace(true, **{n: soon[n] for n in names})),
            )
        yield f"{schedule}: all of it begins an hour late", schedule, text(Columns(**soon))
        cold = replace(Columns(**soon), meat=np.where(TIME == 0.0, 4.0, soon["meat"]))
        yield f"{schedule}: begins an hour late, the first reading invented", schedule, text(cold)


def misplaced():
    for schedule in ("steamy, then dry", "humid, then dry"):
        true = truth(schedule)
        for minutes in (15, 25):
            out = np.where(60.0 * minutes < TIME, true.air, true.meat)
            yield f"{schedule}: fell out after {minutes} min", schedule, text(replace(true, meat=out))
        for share in (0.5, 0.7, 0.9):
            mixed = (1.0 - share) * true.meat + share * true.air
            mixed[0] = true.meat[0]
            yield f"{schedule}: {share:.0%} in the air", schedule, text(replace(true, meat=mixed))
        tray = np.where(TIME > 0.0, true.air - 2.0, 4.0)
        yield f"{schedule}: on the tray", schedule, text(replace(true, meat=tray))
    true = truth("dry")
    for wet in (85.0, 95.0):
        yield (
            f"a dry wick or a stuck hygrometer at {wet:g} %",
            "dry",
            text(replace(true, rh=np.full(TIME.size, wet))),
        )
        hot = np.where(TIME > 300.0, 64.0, true.meat)
        yield (
            f"64 degC throughout, {wet:g} %",
            "dry",
            text(replace(true, meat=hot, rh=np.full(TIME.size, wet))),
        )


KINDS = (log_of_the_air, units, gaps, shifted, misplaced)
CASES = [
    pytest.param(schedule, written, id=f"{kind.__name__}: {name}")
    for kind in KINDS
    for name, schedule, written in kind()
]


def fitted(schedule, written):
    batch, meant = batch_of(schedule)
    log = read_log(written, "log.csv")
    return fit_log(log, batch, default_uncertainties(), meant=meant, draws=32, rounds=3)


def grades(of):
    found = estimate(of)
    return found.probed_lethality.lethality.grade, found.batch_lethality.lethality.grade


def test_there_are_sixty_and_more():
    assert len(CASES) >= 60


@pytest.mark.parametrize("schedule", ["steamy, then dry", "humid, then dry"])
def test_the_honest_log_is_met(schedule):
    of = fitted(schedule, text(truth(schedule)))
    assert of.objections == ()
    assert grades(of) == ("met", "met")


def test_what_speaks_against_a_log_keeps_it_from_being_met():
    of = fitted("steamy, then dry", text(truth("steamy, then dry")))
    doubtful = replace(of, objections=(Finding("never_behind_its_air", {"behind_K": 1.0, "least_K": 8.0}),))
    found = estimate(doubtful)
    assert found.probed_lethality.lethality.grade == found.batch_lethality.lethality.grade == "not shown"
    told = values(found)
    for each in (*told["probed_slice"]["organisms"], *told["whole_batch"]["organisms"]):
        assert each["best"] is each["by_the_log_alone"] is None
        assert "best estimate" not in each["reason"].replace("no best estimate", "")


@pytest.mark.parametrize(("schedule", "written"), CASES)
def test_a_hostile_log_is_refused_or_not_met(schedule, written):
    try:
        of = fitted(schedule, written)
    except InputError as refusal:
        told = str(refusal)
    else:
        told = ""
    if told:
        assert told.startswith("log.csv")
        assert "\n" not in told
        return
    assert of.objections or "met" not in grades(of)
    assert of.judged_log.compliance is None or not of.judged_log.compliance.fulfilled
