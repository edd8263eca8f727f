"""From pliable to brittle, and half an hour more."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.catalog import growth_limits
from dryingsim.judge.texture import (
    glass_transition,
    glassy_moisture,
    half_hour_more,
    state_of,
    texture_window,
)


@pytest.fixture(scope="module")
def history():
    """The demonstration, dried on until the thin slices break."""
    batch = warm_air()
    stage = replace(batch.stages[0], until=None, duration_s=8.0 * 3600.0)
    return ds.run(replace(batch, stages=(stage,)))


def test_windows_are_where_the_water_activity_passes_the_limits(history):
    limits, windows = growth_limits.texture(), texture_window(history)
    for number, window in enumerate(windows.classes):
        activity = history.equalised_water_activity[:, number]
        for when, limit in (
            (window.pliable.earliest_s, limits.pliable_range[1]),
            (window.pliable.expected_s, limits.pliable),
            (window.pliable.latest_s, limits.pliable_range[0]),
            (window.brittle.earliest_s, limits.brittle_range[1]),
            (window.brittle.expected_s, limits.brittle),
        ):
            if when is None:
                assert activity[-1] > limit
            else:
                assert np.interp(when, history.time_s, activity) == pytest.approx(limit, abs=1e-9)


def test_thin_slices_come_first_and_the_batch_waits_for_the_last(history):
    windows = texture_window(history)
    starts = [one.pliable.expected_s for one in windows.classes]
    assert starts == sorted(starts)
    assert windows.batch.pliable.expected_s == pytest.approx(starts[-1])
    assert windows.batch.brittle.expected_s == windows.classes[0].brittle.expected_s
    assert windows.trays == (windows.batch,)


def test_window_is_open_as_long_as_the_first_do_not_break_before_the_last_bend(history):
    windows = texture_window(history)
    batch = windows.batch
    assert batch.open == (batch.brittle.expected_s > batch.pliable.expected_s)
    assert all(one.open for one in windows.classes)


def test_states_in_order():
    limits = growth_limits.texture()
    assert [state_of(a) for a in (0.99, limits.pliable, 0.7, limits.brittle, 0.2)] == [
        "moist",
        "pliable",
        "pliable",
        "brittle",
        "brittle",
    ]


def test_half_an_hour_within_the_run_is_read_off(history):
    more = half_hour_more(history, 3600.0)
    assert more.simulated
    total = history.weight_kg.sum(axis=1)
    for weight, time in zip(more.weight_kg, (3600.0, 5400.0), strict=True):
        assert weight == pytest.approx(np.interp(time, history.time_s, total), rel=1e-9)


@pytest.mark.parametrize("hours", [3.0, 5.0, 6.0])
def test_half_an_hour_beyond_the_run_is_at_most_a_little_too_much(history, hours):
    """Cut the run short, carry it on, and compare with the run that went on."""
    batch = replace(history.batch, take_off="together")
    history = replace(history, batch=batch)
    stage = replace(batch.stages[0], duration_s=hours * 3600.0)
    short = half_hour_more(ds.run(replace(batch, stages=(stage,))), 1e9)
    assert not short.simulated
    assert short.at_s == pytest.approx(hours * 3600.0)
    went_on = half_hour_more(history, hours * 3600.0)
    assert went_on.simulated
    lost, really = (one.weight_kg[0] - one.weight_kg[1] for one in (short, went_on))
    # the present rate is the most; drying slows down by some tenths within the half hour
    assert really * (1.0 - 1e-3) <= lost <= 1.25 * really


def test_half_an_hour_more_after_nothing_changes_nothing_by_itself(history):
    more = half_hour_more(history, 0.0)
    assert more.simulated
    assert more.weight_kg[1] < more.weight_kg[0]
    assert more.driest[1] <= more.driest[0]


def test_glass_line_goes_from_dry_muscle_to_water():
    assert glass_transition(0.0) == pytest.approx(368.15)
    assert glass_transition(1e6) == pytest.approx(138.15, abs=0.01)
    for kelvin in (273.15, 298.15):
        assert glass_transition(glassy_moisture(kelvin)) == pytest.approx(kelvin)
