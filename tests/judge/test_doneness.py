"""Doneness and heating: on histories made by hand, where every answer is known, and on a real run."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.catalog.drying_evidence import activity_error
from dryingsim.batch.uncertainties import default_uncertainties
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.history import History
from dryingsim.judge import done_window
from dryingsim.judge.done_window import first_time_down_to
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.remedies import remedied
from dryingsim.kernels.rosenbrock import Statistics
from dryingsim.model.build import build_slabs, recipe_of, slice_area
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, UNCERTAINTY, equilibrium_moisture

NODES = 5
# The history's water activity comes from the tabulated curve, within 1e-6 of the exact one the moistures are
# made with. The hand-made activities fall 0.1 per hour, so that is 0.04 s.
SECONDS = 0.05


def hand_made(time_s, activity, temperature=300.0, air=320.0):
    """A history of the demo's three classes with even moisture inside each slab: activity (t, 3)."""
    batch = warm_air()
    slabs = build_slabs(batch, NODES)
    activity = np.asarray(activity, dtype=float)
    moisture = equilibrium_moisture(activity, REFERENCE_TEMPERATURE, recipe_of(batch)[0])
    t, m = activity.shape
    full = np.ones((t, NODES, m))
    return History(
        batch=batch,
        slabs=slabs,
        kind=np.arange(m),
        tray=np.zeros(m, dtype=int),
        place=np.zeros((t, m), dtype=int),
        area_m2=slice_area(batch, slabs),
        time_s=np.asarray(time_s, dtype=float),
        stage=np.zeros(t, dtype=int),
        stage_end_s=np.array([time_s[-1]]),
        moisture_db=moisture[:, None, :] * full,
        temperature_K=temperature * full,
        vapour_kg_m2=np.zeros((t, m)),
        heat_J_m2=np.zeros((t, m)),
        air_temperature_K=air * np.ones((t, m)),
        air_vapour_pressure_Pa=1000.0 * np.ones((t, m)),
        water_closure=0.0,
        energy_closure=0.0,
        statistics=Statistics(),
        chamber=None,
    )


def together(history):
    """The same where all slices are taken off at once."""
    return replace(history, batch=replace(history.batch, take_off="together"))


HOURS = 3600.0 * np.array([0.0, 1.0, 2.0, 3.0])
# the middle class lags the first by an hour, the last by two; target 0.85
FALLING = [[0.95, 0.96, 0.98], [0.85, 0.95, 0.97], [0.75, 0.85, 0.95], [0.65, 0.75, 0.85]]


def test_each_class_and_the_batch_with_its_wettest():
    done = judge_batch(hand_made(HOURS, FALLING)).doneness
    hours = [window.expected_s / 3600.0 for window in done.classes]
    assert hours == pytest.approx([1.0, 2.0, 3.0], abs=SECONDS / 3600.0)
    assert done.batch == done.classes[2]


def test_a_class_on_several_trays_is_done_with_its_wettest_tray():
    history = hand_made(HOURS, FALLING)
    classes = tuple(replace(one, share=0.5) for one in history.batch.meat.classes[:2])
    meat = replace(history.batch.meat, classes=classes)
    batch = replace(history.batch, meat=meat)
    history = replace(history, batch=batch, kind=np.array([0, 1, 0]), tray=np.array([0, 0, 1]))
    done = judge_batch(history).doneness
    assert done.classes[0] == done.batch
    assert done.classes[0].expected_s == pytest.approx(3.0 * 3600.0, abs=SECONDS)
    assert done.classes[1].expected_s == pytest.approx(2.0 * 3600.0, abs=SECONDS)


def test_with_nothing_but_the_water_activity_uncertain_the_window_is_where_its_line_crosses(monkeypatch):
    none = {key: Uncertainty(one.shape, 0.0) for key, one in default_uncertainties().items()}
    monkeypatch.setattr(done_window, "uncertainties_of", lambda batch: none)
    done = judge_batch(hand_made(HOURS, FALLING)).doneness
    error = activity_error("known").half_width
    # class 1 falls 0.1 per hour; errors shrink above 0.85 in proportion to the distance from 1
    above = (0.85 + error / 0.15) / (1.0 + error / 0.15) - 0.85
    thin = done.classes[0]
    # even draws miss a share by up to 3 in 1024: z to 0.03, so 0.0007 of the water activity, 27 s
    assert thin.earliest_s == pytest.approx((1.0 - 10.0 * above) * 3600.0, abs=27.0)
    assert thin.latest_s == pytest.approx((1.0 + 10.0 * error) * 3600.0, abs=27.0)
    assert done.first_look_s == 900.0 * (thin.earliest_s // 900.0)
    assert done.batch.earliest_s == pytest.approx((3.0 - 10.0 * above) * 3600.0, abs=27.0)
    assert done.uncertainty == error
    assert error == pytest.approx(UNCERTAINTY, abs=0.001)


def test_weight_and_ratio_are_those_of_the_moment():
    history = together(hand_made(HOURS, [*FALLING[:3], [0.65, 0.75, 0.84]]))
    done = judge_batch(history).doneness
    share = 0.10 / 0.11  # of the last hour, when the thick class has come from 0.95 to 0.85
    total, ratio = history.weight_kg.sum(axis=1), history.moisture_protein_ratio
    # the time is known to 0.05 s of an hour
    assert done.weight_kg == pytest.approx((1 - share) * total[2] + share * total[3], rel=2e-5)
    assert done.weight_share == pytest.approx(done.weight_kg / total[0], rel=1e-12)
    assert done.moisture_protein_ratio == pytest.approx((1 - share) * ratio[2] + share * ratio[3], rel=2e-5)


def test_never_done_is_none_everywhere():
    done = judge_batch(hand_made(HOURS, [[0.98] * 3, [0.97] * 3, [0.96] * 3, [0.95] * 3])).doneness
    assert done.batch.earliest_s is done.batch.expected_s is done.batch.latest_s is None
    assert done.first_look_s is None
    assert done.weight_kg is done.weight_share is done.moisture_protein_ratio is None


def test_first_crossing_counts_and_a_start_below_is_time_zero():
    time = np.array([0.0, 10.0, 20.0, 30.0])
    assert first_time_down_to(time, np.array([1.0, 0.0, 1.0, 0.0]), 0.5) == 5.0
    assert first_time_down_to(time, np.array([0.4, 0.9, 0.1, 0.1]), 0.5) == 0.0
    assert first_time_down_to(time, np.array([1.0, 0.9, 0.8, 0.7]), 0.5) is None


def test_the_coldest_spot_and_its_own_air_decide_how_hot_it_got():
    history = hand_made(HOURS, FALLING)
    temperature = history.temperature_K.copy()
    temperature[:, :, 0] = 360.0  # thin slices are hot early
    temperature[:, :, 1] = np.array([290.0, 330.0, 340.0, 335.0])[:, None]
    temperature[:, 2, 1] -= 3.0  # colder in the middle
    temperature[:, :, 2] = 350.0
    air = np.array([[500.0, 345.0, 500.0]]) + np.arange(4.0)[:, None]
    heating = judge_batch(replace(history, temperature_K=temperature, air_temperature_K=air)).heating
    assert (heating.peak_K, heating.peak_s) == (337.0, 7200.0)
    assert heating.air_at_peak_K == 347.0
    assert (heating.first_hour_K, heating.air_first_hour_K) == (327.0, 346.0)


def test_meat_that_is_hotter_than_its_air_was_warmed_by_what_it_came_out_of():
    """In the second record the air has given way to what dries: the core warms on for a moment."""
    history = hand_made(HOURS, FALLING)
    temperature = np.full_like(history.temperature_K, 300.0)
    temperature[:2] = np.array([340.0, 345.0])[:, None, None]
    air = np.array([373.0, 341.0, 341.0, 341.0])[:, None] * np.ones((1, 3))
    heating = judge_batch(replace(history, temperature_K=temperature, air_temperature_K=air)).heating
    assert (heating.peak_K, heating.peak_s) == (345.0, 3600.0)
    assert heating.air_at_peak_K == 373.0
    assert judge_batch(ds.run(ds.demo_batch(), nodes=12, interval_s=600.0)).heating.peak_in == "marinade"


def test_air_no_warmer_than_the_surface_did_not_warm_the_core():
    """Air as hot as the core comes after liquid: what is still cooler inside warms on from the surface."""
    history = hand_made(HOURS, FALLING)
    temperature = np.full_like(history.temperature_K, 366.0)
    temperature[:, 2, :] = np.array([340.0, 344.0, 330.0, 330.0])[:, None]
    air = np.array([373.0, 344.0, 344.0, 344.0])[:, None] * np.ones((1, 3))
    heating = judge_batch(replace(history, temperature_K=temperature, air_temperature_K=air)).heating
    assert (heating.peak_K, heating.peak_s) == (344.0, 3600.0)
    assert heating.air_at_peak_K == 373.0


def test_a_short_run_has_no_first_hour():
    heating = judge_batch(hand_made(HOURS / 4.0, FALLING)).heating
    assert heating.first_hour_K is heating.air_first_hour_K is None


def test_a_run_that_ends_at_its_target_is_done_at_its_end():
    batch = warm_air()
    history = ds.run(replace(batch, stages=batch.stages[:1], take_off="together"))
    done = judge_batch(history).doneness
    # between the last two records the line replaces a curve: seconds, not minutes
    assert done.batch.expected_s == pytest.approx(history.time_s[-1], abs=2.0)
    assert done.batch.latest_s > 1.2 * history.time_s[-1]  # if left in
    assert done.weight_kg == pytest.approx(history.weight_kg[-1].sum(), rel=1e-3)
    heating = judge_batch(history).heating
    assert heating.first_hour_K < heating.air_first_hour_K


def test_of_slices_that_are_ready_soon_the_surely_dry_weight_is_told_all_the_same():
    batch = warm_air()
    stage = replace(batch.stages[0], until=ds.Until(water_activity=0.85), duration_s=3 * 3600.0)
    salted = replace(batch, marinade=replace(batch.marinade, salt_kg_kg=0.035), stages=(stage,))
    meat = replace(batch.meat, classes=(ds.ThicknessClass(thickness_m=0.005, share=1.0),))
    boiled = remedied(replace(salted, meat=meat), "boiled first")
    soon = ds.run(boiled, nodes=8)
    on = ds.run(
        replace(boiled, stages=(*boiled.stages[:-1], replace(boiled.stages[-1], until=None))), nodes=8
    )
    assert soon.time_s[-1] < 1500.0
    stop, later = judge_batch(soon).doneness.stop, judge_batch(on).doneness.stop
    assert stop.weight_kg == pytest.approx(later.weight_kg, rel=1e-6)
    # half as long again and more than the run lasted: as it dried last, which is near
    assert 2.5 * soon.time_s[-1] < stop.likely_s
    assert stop.likely_s == pytest.approx(later.likely_s, rel=0.1)


def test_in_an_appliance_the_air_after_an_hour_is_a_mean_within_the_stage():
    history = ds.run(in_stack(1.5))
    swing = 10.0 * np.sin(2.0 * np.pi * history.time_s / 300.0)  # six whole periods within the half hour
    steady = judge_batch(history).heating
    swung = judge_batch(
        replace(history, air_temperature_K=history.air_temperature_K + swing[:, None])
    ).heating
    # a record a minute: the mean of the sine over whole periods and one record more
    assert swung.air_first_hour_K == pytest.approx(steady.air_first_hour_K, abs=0.5)
    late = np.where(history.time_s > 3600.0, 400.0, history.air_temperature_K.T).T
    changed = replace(history, air_temperature_K=late, stage=(history.time_s > 3600.0).astype(int))
    assert judge_batch(changed).heating.air_first_hour_K == pytest.approx(steady.air_first_hour_K, abs=2.0)


def test_given_air_after_an_hour_is_that_of_the_moment():
    batch = warm_air()
    history = ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=4000.0),)))
    assert judge_batch(history).heating.air_first_hour_K == pytest.approx(341.483, abs=0.001)  # 155 degF
