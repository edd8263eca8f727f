"""Versions of a batch simulated at once against the runs of `dryingsim.run`, and which schedule a log is taken to follow."""

from dataclasses import replace

import numpy as np
import pytest
from made_history import in_stack
from made_log import BATCH, DEMO, KEYS, TRUE

import dryingsim as ds
from dryingsim.engine.deviations import deviated
from dryingsim.learn.fitted_run import clocked_batch_of, simulate_runs, times_of
from dryingsim.learn.forecast import down_to_s
from dryingsim.properties.diffusivity import LEAN_MEAT

HOUR = 3600.0


def alone(batch, keys, values):
    changed, faster = deviated(batch, dict(zip(keys, values.tolist(), strict=True)))
    return ds.run(changed, diffusivity=replace(LEAN_MEAT, reference_m2_s=LEAN_MEAT.reference_m2_s * faster))


def test_given_air_as_run_alone():
    batch = replace(BATCH, stages=(replace(BATCH.stages[0], duration_s=4 * HOUR),))
    times = np.linspace(0.0, 4 * HOUR, 41)
    values = np.stack([np.zeros(4), TRUE])
    for fitted_run, row in zip(simulate_runs(batch, KEYS, values, times), values, strict=True):
        history = alone(batch, KEYS, row)
        ours = fitted_run.weight_kg(np.ones(1, dtype=bool))
        assert ours == pytest.approx(
            np.interp(times, history.time_s, history.weight_kg.sum(axis=1)), abs=3e-4
        )
        assert fitted_run.core_K[:, 0] == pytest.approx(
            np.interp(times, history.time_s, history.core_temperature_K[:, 0]), abs=0.2
        )
        assert fitted_run.air_K[:, 0] == pytest.approx(np.full(41, history.air_temperature_K[0, 0]), abs=1e-6)


def test_laws_and_air_of_ones_own_as_run_alone():
    def swinging(time_s):
        return 333.15 + 6.0 * np.sin(time_s / 3600.0), 0.12 + 0.0 * time_s

    laws = ds.Components(
        diffusivity=replace(LEAN_MEAT, reference_m2_s=3e-10),
        shrinkage=ds.LinearShrinkage(dry_m3_kg=1.5e-3, water_m3_kg=9e-4),
    )
    batch = replace(
        BATCH, components=laws, stages=ds.air_stages(swinging, duration_s=4 * HOUR, speed_m_s=1.0)
    )
    times = np.linspace(0.0, 4 * HOUR, 41)
    (fitted_run,) = simulate_runs(batch, KEYS, np.zeros((1, 4)), times)
    history = ds.run(batch)
    ours = fitted_run.weight_kg(np.ones(1, dtype=bool))
    assert ours == pytest.approx(np.interp(times, history.time_s, history.weight_kg.sum(axis=1)), abs=3e-4)
    # straight lines of the air, within 0.25 K of the function
    assert fitted_run.air_K[:, 0] == pytest.approx(swinging(times)[0], abs=0.25)


def test_an_appliance_as_run_alone():
    keys = ("diffusivity", "film", "setpoint", "air_exchange", "moisture")
    values = np.array([[0.3, -0.1, 2.0, -0.3, -0.004], [-0.2, 0.1, -2.0, 0.2, 0.004]])
    batch = in_stack(2.0)
    plan = clocked_batch_of(batch, 2 * HOUR)
    times = times_of(plan, np.array([0.0]), 2 * HOUR)
    short = replace(plan.batch, stages=(replace(plan.batch.stages[0], duration_s=2 * HOUR),))
    for fitted_run, row in zip(simulate_runs(plan.batch, keys, values, times), values, strict=True):
        history = alone(short, keys, row)
        assert (fitted_run.tray == history.tray).all()
        assert (fitted_run.kind == history.kind).all()
        whole = fitted_run.weight_kg(np.ones(fitted_run.dry_kg.size, dtype=bool))
        # a tenth of a gram of 720: steps that are three times as long
        assert whole == pytest.approx(
            np.interp(times, history.time_s, history.weight_kg.sum(axis=1)), abs=1e-4
        )
        # the salt is in the water that each has: to 1e-5 with steps as long
        even = np.stack(
            [np.interp(times, history.time_s, one) for one in history.equalised_water_activity.T], axis=1
        )
        assert fitted_run.activity == pytest.approx(even, abs=1e-4)
        late = times > 600.0
        air = np.stack([np.interp(times, history.time_s, one) for one in history.air_temperature_K.T], axis=1)
        assert fitted_run.air_K[late] == pytest.approx(air[late], abs=0.4)


def test_while_it_dries_the_drying_stage_goes_on():
    plan = clocked_batch_of(DEMO, 2 * HOUR)
    assert [stage.name for stage in plan.batch.stages] == ["drying"]
    assert not plan.followed
    assert plan.horizon_s > 3.0 * plan.meant.stage_end_s[0]


def test_a_log_into_the_last_stage_follows_the_plan():
    end = float(clocked_batch_of(DEMO, HOUR).meant.stage_end_s[-1])
    plan = clocked_batch_of(DEMO, end - 60.0)
    assert [stage.name for stage in plan.batch.stages] == ["drying", "oven finish"]
    assert plan.followed
    assert plan.horizon_s == pytest.approx(end)


def test_a_log_longer_than_the_plan_means_that_drying_went_on():
    plan = clocked_batch_of(DEMO, 9 * HOUR)
    assert [stage.name for stage in plan.batch.stages] == ["drying"]
    assert plan.horizon_s >= 9 * HOUR


def test_a_ramp_stays_where_it_ended():
    ramp = replace(
        BATCH.stages[0], air_end=replace(BATCH.stages[0].air, temperature_K=338.15), duration_s=2 * HOUR
    )
    plan = clocked_batch_of(replace(BATCH, stages=(ramp,)), 3 * HOUR)
    assert plan.batch.stages[1].air.temperature_K == 338.15
    assert plan.batch.stages[1].air_end is None
    fitted_run = simulate_runs(plan.batch, KEYS, np.zeros((1, 4)), np.array([0.0, HOUR, 3 * HOUR]))[0]
    start = BATCH.stages[0].air.temperature_K
    assert fitted_run.air_K[:, 0] == pytest.approx([start, 0.5 * (start + 338.15), 338.15], abs=0.01)


def test_down_to_is_infinite_where_it_never_comes():
    fitted_run = simulate_runs(BATCH, KEYS, np.zeros((1, 4)), np.linspace(0.0, HOUR, 5))[0]
    assert down_to_s(fitted_run, 0.1) == np.inf
    assert down_to_s(fitted_run, 0.999) == 0.0
