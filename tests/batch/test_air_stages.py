"""Stages from air that is a function of time: how close they are to it, and that all commands take them."""

from dataclasses import replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.reading.batch_file import parse_batch

TEXT = """
[meat]
cut = "beef eye of round"
weight = "500 g"
thickness = "3 mm"
length = "10 cm"
width = "8 cm"
temperature = "10 degC"
[room]
temperature = "25 degC"
humidity = "50 %"
[[stage]]
air = "60 degC"
speed = "1 m/s"
duration = "6 h"
"""
HOURS = 6.0 * 3600.0


def sun(time_s):
    """Air of a solar dryer: a day's arch of temperature, falling humidity."""
    arch = np.sin(np.pi * time_s / (2.0 * HOURS))
    return 303.15 + 28.0 * arch, 0.45 - 0.3 * arch


def door_opened(time_s):
    return np.where((time_s > 7200.0) & (time_s < 9000.0), 305.0, 333.0), np.full_like(time_s, 0.1)


def restless(time_s):
    return 320.0 + 10.0 * np.sin(time_s / 10.0), np.full_like(time_s, 0.1)


@pytest.fixture(scope="module")
def batch():
    typed = parse_batch(TEXT, "sun")
    return replace(typed, stages=ds.air_stages(sun, duration_s=HOURS, speed_m_s=1.0))


@pytest.fixture(scope="module")
def history(batch):
    return ds.run(batch, nodes=10)


def test_the_run_has_the_air_of_the_function(history):
    temperature, humidity = sun(history.time_s)
    assert np.abs(history.air_temperature_K[:, 0] - temperature).max() < 0.25
    full = ds.properties.water.saturation_pressure(temperature)
    # 1 % of saturation where air is coldest is less where it is warmer
    assert np.abs(history.air_vapour_pressure_Pa[:, 0] - humidity * full).max() < 0.01 * full.min()


def test_finer_lines_change_next_to_nothing(batch, history):
    finer = ds.air_stages(
        sun, duration_s=HOURS, speed_m_s=1.0, within_K=0.02, within_humidity=0.001, name="finer"
    )
    assert len(finer) > 2 * len(batch.stages)
    assert finer[-1].name == f"finer {len(finer)}"
    again = ds.run(replace(batch, stages=finer), nodes=10)
    last = history.mean_moisture_db[-1, 0], again.mean_moisture_db[-1, 0]
    assert last[0] == pytest.approx(last[1], rel=5e-3)


def test_air_that_stays_may_be_a_number_each():
    (stage,) = ds.air_stages(lambda time_s: (330.0, 0.2), duration_s=HOURS, speed_m_s=1.0, name="even")
    assert (stage.air.temperature_K, stage.air.humidity.value) == (330.0, 0.2)
    assert stage.duration_s == HOURS


def test_a_jump_is_followed_within_seconds():
    stages = ds.air_stages(door_opened, duration_s=HOURS, speed_m_s=1.0)
    spans = [stage.duration_s for stage in stages]
    assert len(stages) == 5
    assert min(spans) < 10.0
    assert stages[0].air_end is None  # steady before it


def test_they_go_through_a_file_a_map_and_many_slices(batch, history):
    assert parse_batch(batch.to_toml(), "sun").stages == batch.stages
    done = ds.judge_batch(history).doneness.batch.expected_s
    mapped = ds.map_over(batch, {"thickness_m": np.array([2e-3, 3e-3])}, organism=None, nodes=10)
    times = mapped.numbers["done_s"]
    assert times[0] < times[1]
    assert times[1] == pytest.approx(done, rel=5e-3)  # notes of a map are interpolated
    spread = ds.spread(batch, slices=64, nodes=8)
    # the batch as it is meant is amid what may come of it
    assert 0.2 < np.mean(spread.done_s < done) < 0.8


def test_a_humidity_that_was_not_measured_is_not_relied_on(batch):
    stages = ds.air_stages(sun, duration_s=HOURS, speed_m_s=1.0, measured=True)
    assert all(stage.air.humidity.measured for stage in stages)
    assert not any(stage.air.humidity.measured for stage in batch.stages)


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        (dict(air=restless), "500 at most are expected"),
        (dict(air=lambda t: (t * 0.0 + 60.0, t * 0.0)), "are not those of drying air in K"),
        (dict(duration_s=1.0), "air_stages, duration_s = 1.0 is outside 60 to 31622400"),
        (dict(within_K=0.0), "air_stages, within_K = 0.0 is outside 0.01 to 10"),
    ],
)
def test_slips_are_said_in_one_line(slip, says):
    with pytest.raises(ds.InputError) as caught:
        ds.air_stages(**(dict(air=sun, duration_s=HOURS, speed_m_s=1.0) | slip))
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
