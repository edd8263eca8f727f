"""The bound over a sweep of schedules: never less by more time, heat or humidity, and without a step at any of them."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.judge.verdict import judge_as_computed

CELSIUS = 273.15


@cache
def ran(celsius, kind, value, hours=2.0):
    batch = warm_air()
    air = replace(
        batch.stages[0].air,
        temperature_K=celsius + CELSIUS,
        humidity=ds.Humidity(kind=kind, value=value, measured=True),
    )
    stage = replace(batch.stages[0], air=air, duration_s=3600.0 * hours, until=None)
    slices = (ds.ThicknessClass(thickness_m=0.005, share=1.0),)
    meat = replace(batch.meat, classes=slices)
    batch = replace(batch, meat=meat, stages=(stage,), take_off="together")
    # a record for each of a few hundred parts of the time: what adds up between them is smooth
    return ds.run(batch, nodes=8, tolerance=1e-3, interval_s=60.0 if hours <= 8.0 else 600.0)


def bounds(history):
    """Return the bounds by heat alone and in all, of every organism."""
    organisms = judge_as_computed(history).organisms
    return [entry.heat_lower for entry in organisms], [entry.lower for entry in organisms]


def rising(histories, most):
    heat, whole = np.moveaxis(np.array([bounds(history) for history in histories]), 1, 0)
    assert np.diff(heat, axis=0).min() > -0.02  # of the solver's own error
    # where air gets too humid to dry in time before it is wet enough to be hot, the drying term leaves first: some hundredths
    # to a quarter of a log while the bound is about one, a fortieth above, in these two hours
    falls = np.diff(whole, axis=0)
    assert falls.min() > -0.3
    assert whole[1:][falls < -0.03].max(initial=0.0) < 1.5
    assert falls.max() < most
    assert np.ptp(whole) > 0.5  # it does move


@pytest.mark.parametrize("celsius", [66.0, 76.0])
def test_a_higher_wet_bulb_is_never_less_and_has_no_step(celsius):
    rising([ran(celsius, "wet_bulb", w + CELSIUS) for w in np.arange(44.0, 65.0, 1.0)], 1.5)


@pytest.mark.parametrize(("celsius", "hours"), [(56.0, 4.0), (60.0, 6.0)])
def test_over_hours_of_mild_air_more_humidity_is_credited_six_tenths_of_a_log_less_at_most(celsius, hours):
    """The most found in a sweep of dry bulbs of 56 to 88 degC, wet bulbs of 30 to 74 and half an hour to 8 h: 0.58 log,
    where the bound is below 2.1 log; 0.32 from 64 degC on, 0.06 at 88.

    More humid air dries later, so the drying term, which is what was counted in dried meat and is not claimed for wet meat,
    comes later too; heat in wet meat takes over some kelvin above. Heat alone never falls. The more humid schedule is the one
    credited less, which errs on the side of caution.
    """
    histories = [ran(celsius, "wet_bulb", w + CELSIUS, hours) for w in np.arange(40.0, celsius - 1.0, 2.0)]
    heat, whole = np.moveaxis(np.array([bounds(history) for history in histories]), 1, 0)
    assert np.diff(heat, axis=0).min() > -0.02
    below = np.maximum.accumulate(whole, axis=0) - whole
    assert 0.1 < below.max() < 0.6
    assert whole[below > 0.1].max() < 2.5
    assert (whole[-1] == whole.max(axis=0)).all()


def test_a_higher_relative_humidity_is_never_less_and_has_no_step():
    rising([ran(68.0, "relative", share) for share in np.arange(0.05, 1.0, 0.05)], 2.0)


def test_a_hotter_dry_bulb_is_never_less_and_has_no_step():
    for kind, value in (("relative", 0.3), ("relative", 0.7), ("dew_point", 40.0 + CELSIUS)):
        rising([ran(c, kind, value) for c in np.arange(50.0, 91.0, 2.5)], 3.0)


def test_longer_is_never_less():
    history = ran(68.0, "relative", 0.7)
    found = np.array([bounds(history.up_to(minutes * 60.0))[1] for minutes in range(10, 121, 10)])
    assert np.diff(found, axis=0).min() >= 0.0


def test_forty_hours_at_any_mild_temperature_earn_no_step():
    """A credit for drying that began at one temperature would show here."""
    found = [
        judge_as_computed(ran(celsius, "relative", 0.2, 40.0)).organisms[0].best
        for celsius in (24.9, 25.2, 40.0, *np.arange(44.0, 50.1, 0.5))
    ]
    assert found[0] == pytest.approx(found[1], abs=1e-6)
    # the drying term, 3.2 log at the median, comes in over five kelvin of the meat, half of one at a time here, beside heat
    assert np.diff(found).max() < 0.5 * 3.2 / 5.0 + 0.25
    assert found[2] < 0.1 < 2.0 < found[-1]
