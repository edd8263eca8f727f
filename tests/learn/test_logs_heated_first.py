"""A log of a batch that is heated in liquid first: fitted from the trays on, and never met by what the liquid did.

With anything against a log nothing is met (`test_hostile_logs_of_batches`), so that here it is enough to find that.
"""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from dryingsim import demo_batch, run
from dryingsim.batch.schema import ThicknessClass, Until
from dryingsim.batch.uncertainties import default_uncertainties
from dryingsim.engine.ensemble import Request
from dryingsim.errors import InputError
from dryingsim.judge.grades import GRADES
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.learn import probed_draws
from dryingsim.learn.fitted_log import fit_log
from dryingsim.learn.logged_estimate import estimate
from dryingsim.properties.water import saturation_pressure
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.thermometer.estimate_text import estimate_document

EVERY_S, IDLE_S, ASKED_K = 60.0, 20.0, 358.15


@pytest.fixture(scope="module", autouse=True)
def coarse():
    """Let slices have few nodes and long steps, as `test_hostile_logs_of_batches` has them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(probed_draws, "NODES_OF_MANY", 12)
        patch.setattr(probed_draws, "Request", partial(Request, tolerance=5e-3))
        yield


@pytest.fixture(scope="module")
def truth():
    batch = demo_batch()
    # so hot that thicker slices than typed are hot enough too
    heated = replace(batch.stages[0], until=Until(core_temperature_K=ASKED_K))
    meat = replace(batch.meat, classes=(ThicknessClass(thickness_m=5e-3, share=1.0),), species="beef")
    drying = replace(batch.stages[1], until=None, duration_s=5400.0)
    return run(replace(batch, meat=meat, stages=(heated, drying)), nodes=16)


def log_of(truth, meat_K=None):
    """Return what the probes read: the meat that goes in after a while, and the air of the dryer all along."""
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 5400.0, EVERY_S)
    since = time - IDLE_S
    laid = truth.stage_end_s[0] + 1.0
    middle = truth.temperature_K[:, truth.temperature_K.shape[1] // 2, 0]
    meat = np.interp(since, truth.time_s, middle) if meat_K is None else meat_K(time)
    air = np.interp(np.maximum(since, laid), truth.time_s, truth.air_temperature_K[:, 0])
    vapour = np.interp(np.maximum(since, laid), truth.time_s, truth.air_vapour_pressure_Pa[:, 0])
    return ThermometerLog(
        name="log.csv",
        lines=tuple(range(2, time.size + 2)),
        time_s=time,
        temperature_K=meat + rng.normal(0.0, 0.3, time.size),
        water_activity=None,
        relative_humidity=np.clip(
            vapour / saturation_pressure(air) + rng.normal(0.0, 0.01, time.size), 0.01, 1.0
        ),
        air_temperature_K=air + rng.normal(0.0, 0.3, time.size),
    )


def fitted(truth, log):
    return fit_log(log, truth.batch, default_uncertainties(), meant=truth, draws=32, rounds=3)


@pytest.fixture(scope="module")
def found(truth):
    return estimate(fitted(truth, log_of(truth)))


def test_the_liquid_is_met_only_if_measured(found):
    assert found.of.objections == ()
    lethality = found.batch_lethality.lethality
    by_organism = {each.organism: each for each in lethality.organisms}
    assert by_organism["listeria"].grade == "met only if measured"
    (decides,) = (each for each in lethality.warnings if each.key == "heat_before_decides")
    assert decides.values["relied_log10"] < 1.0  # dry air at 68 degC by itself
    assert decides.values["asked_K"] == pytest.approx(ASKED_K, abs=0.5)  # the core that ends the stage


def test_hot_slices_that_cool_on_the_trays_count_as_in_the_batch_simulated(found, truth):
    """By heat alone, their first seconds among it: no more than `run` has for the batch as it is meant."""
    simulated = {each.organism: each.heat_lower for each in judge_batch_lethality(truth).organisms}
    for each in found.probed_lethality.lethality.organisms:
        assert (
            each.lower < simulated[each.organism] + 0.1
        )  # draws of what is not known lower a bound; 0.1: coarse steps
        assert each.quadrature_spread < 0.1


def test_no_batch_is_told_better_than_its_probed_slice(found):
    pairs = zip(
        found.batch_lethality.lethality.organisms, found.probed_lethality.lethality.organisms, strict=True
    )
    for whole, probed in pairs:
        assert whole.counted <= probed.counted
        assert GRADES.index(whole.grade) <= GRADES.index(probed.grade)
    assert np.all(found.batch_activity.max(axis=2) >= found.probed_activity)
    assert all(each.slab < found.of.meant.kind.size for each in found.batch_lethality.lethality.organisms)


@pytest.mark.parametrize("shown", [True, False])
def test_what_the_heat_before_needs_to_count_is_told_whatever_the_verdict(found, shown):
    judged = found.batch_lethality.lethality
    if shown:
        organisms = tuple(replace(each, grade="met only if measured") for each in judged.organisms)
        judged = replace(judged, organisms=organisms)
    else:
        organisms = tuple(each.not_shown() for each in judged.organisms)
        judged = replace(judged, organisms=organisms, warnings=())
    estimated = replace(found, batch_lethality=replace(found.batch_lethality, lethality=judged))
    said = " ".join(plain_text(estimate_document(estimated, None, Units(found.of.batch, "us"))).split())
    assert ("NOT SHOWN to suffice" in said) != shown
    asked = Units(found.of.batch, "us").temperature.text(found.of.heated.asked_K)
    assert (
        "Heat before drying counts only if it was measured: next time read the middle of the thickest slice as it comes out, "
        f"{asked} or more, and write it down ('dryingsim record' has the place)."
    ) in said
    assert ("By drying alone: 0." in said) == shown
    heated = found.of.heated
    early = heated.whole.time_s.size - heated.dried.time_s.size
    assert early > 1
    assert f"Left out are the first {early} readings, before the trays:" in said
    assert len(plain_text(estimate_document(estimated, None, Units(found.of.batch, "us"))).splitlines()) <= 15


def test_the_surface_is_estimated_from_the_trays_on(found, truth):
    """The truth is within the range of all draws; of one log no share of times can be asked for."""
    true = truth.water_activity[:, [0, -1], 0].min(axis=1)
    at = np.arange(600.0, 5000.0, 300.0)
    want = np.interp(at + truth.stage_end_s[0], truth.time_s, true)
    surface = found.surface()
    low, high = (np.interp(at, found.time_s, edge) for edge in (surface.min(axis=1), surface.max(axis=1)))
    assert np.all((want >= low) & (want <= high))


def test_a_probe_left_in_the_liquid_is_refused(truth):
    log = log_of(truth, lambda time: np.where(time < IDLE_S, 277.15, 371.0))
    with pytest.raises(InputError, match="was it in the liquid itself"):
        fitted(truth, log)


def test_a_log_of_liquid_that_cools_is_doubted(truth):
    """A pot taken off the stove: no slice cools so slowly in such air."""
    log = log_of(truth, lambda time: np.where(time < IDLE_S, 277.15, 294.0 + 77.0 * np.exp(-time / 2700.0)))
    assert fitted(truth, log).objections


def _fell_out(meat, air):
    return np.where(np.arange(meat.size) < 20, meat, air)


def _left_in_the_room(meat, air):
    return np.where(np.arange(meat.size) < 30, meat, 294.0)


@pytest.mark.parametrize("fault", [_fell_out, _left_in_the_room])
def test_a_probe_out_of_its_slice_is_doubted(truth, fault):
    good = log_of(truth)
    bad = replace(good, temperature_K=fault(good.temperature_K, good.air_temperature_K))
    assert fitted(truth, bad).objections


def test_a_log_of_the_air_is_refused(truth):
    good = log_of(truth)
    with pytest.raises(InputError, match="does not leave the heat"):
        fitted(truth, replace(good, temperature_K=good.air_temperature_K))
