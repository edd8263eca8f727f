"""A log of slices that are heated in liquid before they dry: when they came onto the trays, and what no log of it shows."""

from dataclasses import replace

import numpy as np
import pytest

from dryingsim import demo_batch, run
from dryingsim.batch.schema import ThicknessClass
from dryingsim.errors import InputError
from dryingsim.judge.heated_log import from_the_trays_on
from dryingsim.judge.thermometer_log import ThermometerLog

COLD_K, HOT_K, LONG_S = 277.15, 353.15, 720.0


def batch_of(liquid_s=None):
    """Return the demonstration with slices of one thickness: in boiling liquid for a minute, or in hot liquid for so long."""
    batch = demo_batch()
    liquid, drying = batch.stages
    if liquid_s is not None:
        liquid = replace(
            liquid, until=None, duration_s=liquid_s, air=replace(liquid.air, temperature_K=HOT_K)
        )
    drying = replace(drying, until=None, duration_s=3600.0)
    meat = replace(batch.meat, classes=(ThicknessClass(thickness_m=5e-3, share=1.0),))
    return replace(batch, meat=meat, stages=(liquid, drying))


@pytest.fixture(scope="module")
def short():
    return run(batch_of(), nodes=10)


@pytest.fixture(scope="module")
def long():
    return run(batch_of(LONG_S), nodes=10)


def log_of(time_s, meat_K):
    return ThermometerLog(
        name="l.csv",
        lines=tuple(range(2, time_s.size + 2)),
        time_s=time_s,
        temperature_K=np.asarray(meat_K),
        water_activity=None,
        relative_humidity=None,
        air_temperature_K=np.full(time_s.size, 341.0),
    )


def true_log(history, every_s, idle_s):
    """Return what a probe in the middle reads, so long after the log began."""
    time = np.arange(0.0, 2700.0, every_s)
    middle = history.temperature_K[:, history.temperature_K.shape[1] // 2, 0]
    return log_of(time, np.interp(time - idle_s, history.time_s, middle))


@pytest.mark.parametrize("idle_s", [20.0, 130.0])
@pytest.mark.parametrize("every_s", [10.0, 60.0, 300.0])
@pytest.mark.parametrize("kind", ["short", "long"])
def test_the_time_of_laying_on_is_found_to_half_an_interval(request, kind, every_s, idle_s):
    history = request.getfixturevalue(kind)
    log = true_log(history, every_s, idle_s)
    heated = from_the_trays_on(log, history)
    true_s = idle_s + history.stage_end_s[0]
    late_s = 15.0  # the middle of a slice has fallen by 3 K only so long after its surfaces
    assert abs(heated.laid_s - true_s) <= 0.5 * every_s + late_s
    assert heated.ends_s == (history.stage_end_s[0],)
    assert heated.objections == ()
    assert heated.whole is log
    assert heated.dried.time_s.size == heated.dried.temperature_K.size == len(heated.dried.lines)
    assert heated.dried.time_s[0] == pytest.approx(
        log.time_s[log.time_s.size - heated.dried.time_s.size] - heated.laid_s
    )


def test_a_log_that_begins_on_the_trays_is_taken_from_its_first_reading(short):
    log = true_log(short, 60.0, -float(short.stage_end_s[0]) - 5.0)
    heated = from_the_trays_on(log, short)
    assert heated.begins_hot
    assert heated.dried.time_s.tolist() == log.time_s.tolist()


def test_a_log_that_begins_when_slices_have_cooled_on_the_trays_is_told_where_it_should_begin(short):
    time = np.arange(0.0, 3600.0, 60.0)
    cooled = log_of(time, np.linspace(314.0, 340.0, time.size))
    with pytest.raises(
        InputError, match=r"meat at 41 degC, .* log from before that, or from when the slices are laid"
    ):
        from_the_trays_on(cooled, short)


def test_a_log_of_the_liquid_itself_is_refused(short):
    time = np.arange(0.0, 7200.0, 60.0)
    pot = np.where(time < 30.0, COLD_K, 371.0)
    with pytest.raises(InputError, match="was it in the liquid itself"):
        from_the_trays_on(log_of(time, pot), short)


def test_a_log_that_never_gets_warm_is_refused(short):
    time = np.arange(0.0, 7200.0, 60.0)
    with pytest.raises(InputError, match="never gets warm"):
        from_the_trays_on(log_of(time, np.full(time.size, COLD_K)), short)


def test_slices_that_were_heated_less_than_meant_are_objected_to(long):
    log = true_log(long, 60.0, 20.0)
    less = replace(log, temperature_K=COLD_K + 0.8 * (log.temperature_K - COLD_K))
    (objection,) = from_the_trays_on(less, long).objections
    assert objection.key == "heated_less"
    assert objection.values["hottest_K"] == pytest.approx(less.temperature_K[:20].max())
    assert objection.values["asked_K"] == pytest.approx(HOT_K, abs=1.0)


def test_a_batch_that_is_laid_on_the_trays_first_is_left_as_it_is(short):
    batch = replace(short.batch, stages=short.batch.stages[1:])
    log = log_of(np.array([0.0, 60.0]), [COLD_K, COLD_K + 5.0])
    heated = from_the_trays_on(log, replace(short, batch=batch))
    assert heated.dried is heated.whole is log
    assert not heated.begins_hot
    assert heated.cooled(log) is log
