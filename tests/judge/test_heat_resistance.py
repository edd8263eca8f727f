"""The predictive model of heat resistance: its formula, its quantiles against brute force, and that it has no steps."""

import dataclasses

import numpy as np
import pytest

from dryingsim.errors import InputError
from dryingsim.judge.heat_draws import even_normals
from dryingsim.judge.heat_model import MATRICES, Ceiling, heat_resistance
from dryingsim.judge.heat_resistance import (
    HeatBefore,
    accumulated,
    drying_share,
    log10_d,
    lower_bound,
    mean_rate,
    reduction,
    survived,
)

MODEL = heat_resistance()
CELSIUS = 273.15
HOUR = 3600.0
SHAPE_NAMES = ("slope", "low", "rise", "linear", "ln_width", "hinge")


def steady(celsius, activity, hours, samples=2):
    """A history of one place at constant conditions."""
    return (
        np.linspace(0.0, hours * HOUR, samples),
        np.full(samples, celsius + CELSIUS),
        np.full(samples, activity),
    )


def plain():
    """The model without slow heating and without survivors of any heat."""
    none = Ceiling(mean=1e3, sd=1e-6)
    return dataclasses.replace(MODEL, slow=(0.0, 0.0), ceilings={"long": none, "rapid": none})


@pytest.mark.parametrize(("celsius", "activity"), [(62.0, 0.99), (70.0, 0.9), (80.0, 0.4)])
def test_the_median_follows_the_formula_of_the_file(celsius, activity):
    m, t, x = MODEL, celsius - 60.0, 0.99 - activity
    near = 1.0 - np.exp(-x / np.exp(m["ln_width"]))
    above = t - m["hinge"]
    ramp = (above + np.sqrt(above**2 + 4.0)) / 2.0
    minutes = m["salmonella"] - m["slope"] * t + near * (m["low"] + m["rise"] * ramp) + m["linear"] * x
    got = log10_d(celsius + CELSIUS, activity, "salmonella")
    assert got == pytest.approx(minutes + np.log10(60.0), rel=1e-12)
    whole = log10_d(celsius + CELSIUS, activity, "salmonella", "whole")
    assert 10 ** (whole - got) == pytest.approx(
        2.0, rel=0.1
    )  # rate about half in whole muscle: Tuntivanich 2008


def test_published_tables_lie_within_new_studies():
    """The federal meat table implies 1.72 min at 60 degC and 17.2 min at 54.44 degC (shared/lethality_dz_values.csv)."""
    spread = np.hypot(MODEL.level_sd, 0.12)
    for celsius, minutes in ((54.44, 17.2), (60.0, 1.72), (65.56, 0.172)):
        got = float(log10_d(celsius + CELSIUS, 0.99, "salmonella")) - np.log10(60.0)
        assert abs(np.log10(minutes) - got) < 1.0 * spread


@pytest.mark.parametrize(("celsius", "activity"), [(60.0, 0.99), (66.0, 0.93), (75.0, 0.6)])
@pytest.mark.parametrize("organism", MODEL.organisms)
def test_quantiles_agree_with_brute_force(celsius, activity, organism):
    model, hours = plain(), 1.0
    rng = np.random.default_rng(3)
    n = 200_000
    p = rng.multivariate_normal(model.mean, model.covariance, n)
    by = {name: p[:, i] for i, name in enumerate(model.names)}
    b = model.between
    t, x = celsius - 60.0, 0.99 - activity
    near = -np.expm1(-x / np.exp(by["ln_width"]))
    above = t - by["hinge"]
    ramp = 0.5 * (above + np.sqrt(above**2 + 4.0))
    slope = by["slope"] + b["slope"] * rng.standard_normal(n)
    low = by["low"] + b["dryness"] * rng.standard_normal(n)
    d = (
        by[organism]
        - np.maximum(slope, by["rise"] + 0.01) * t
        + near * (low + by["rise"] * ramp)
        + by["linear"] * x
    )
    d = d + np.sqrt(b["laboratory"] ** 2 + b["study"] ** 2 + b["matrix"] ** 2) * rng.standard_normal(n)
    logs = np.log10(60.0 * hours) - d
    got = lower_bound(*steady(celsius, activity, hours), organism, model=model)
    # 64 shapes stand for a six-dimensional normal; a tenth in the log of a reduction is a quarter of the spread of studies
    assert np.log10(got.median) == pytest.approx(np.quantile(logs, 0.5), abs=0.04)
    assert -0.13 < np.log10(got.lower) - np.quantile(logs, 0.05) < 0.03  # on the careful side
    assert got.probability(5.0) == pytest.approx(np.mean(logs >= np.log10(5.0)), abs=0.02)


def test_even_numbers_are_normal_and_apart():
    z = even_normals(4096, 4)
    assert z.mean(axis=0) == pytest.approx(np.zeros(4), abs=0.01)
    assert np.cov(z.T) == pytest.approx(np.eye(4), abs=0.03)


def test_the_rate_between_samples_is_a_straight_line_of_its_logarithm():
    u = np.array([[-3.0, 1.0], [-1.0, 1.0]])
    fine = np.mean(10.0 ** np.linspace(u[0], u[1], 200_001), axis=0)
    assert mean_rate(u)[0] == pytest.approx(fine, rel=1e-4)


def test_finer_samples_of_a_warming_change_nothing():
    time = np.linspace(0.0, 2.0 * HOUR, 25)
    t = np.linspace(45.0, 72.0, 25) + CELSIUS
    coarse = lower_bound(time, t, np.full(25, 0.99), "salmonella").lower
    fine_time = np.linspace(0.0, 2.0 * HOUR, 2401)
    fine = lower_bound(fine_time, np.interp(fine_time, time, t), np.full(2401, 0.99), "salmonella").lower
    assert coarse == pytest.approx(fine, rel=0.01)


@pytest.mark.parametrize("activity", [0.3, 0.8, 0.95, 0.99])
def test_no_step_and_no_fall_at_any_temperature(activity):
    celsius = np.arange(20.0, 110.0, 0.5)
    found = [lower_bound(*steady(c, activity, 3.0), "e_coli", model=plain()) for c in celsius]
    for logs in (np.log10([f.lower for f in found]), np.log10([f.median for f in found])):
        rise = np.diff(logs)
        assert rise.min() >= 0.0
        # the steepest of all is the end of credit below 50 degC: 0.3 per kelvin besides a slope of at most 0.27
        assert rise.max() < 0.5 * 0.6


@pytest.mark.parametrize("celsius", [40.0, 52.0, 56.0, 60.0, 70.0, 85.0])
def test_no_step_and_no_fall_over_water_activity(celsius):
    activities = np.linspace(0.05, 1.0, 96)
    found = [lower_bound(*steady(celsius, a, 3.0), "listeria", model=plain()) for a in activities]
    for logs in (np.log10([f.lower for f in found]), np.log10([f.median for f in found])):
        rise = np.diff(logs)
        assert rise.min() >= (
            0.0 if celsius >= 54.0 else -0.02
        )  # below the hinge dryness does next to nothing
        assert rise.max() < 0.25


def test_longer_is_never_less():
    time = np.linspace(0.0, 6.0 * HOUR, 61)
    rng = np.random.default_rng(5)
    t = 330.0 + 8.0 * rng.standard_normal((61, 5)).cumsum(axis=0) / 8.0
    a = np.clip(0.99 - np.linspace(0.0, 0.8, 61)[:, None] * rng.random(5), 0.0, 0.99)
    bounds, shares = [], []
    for end in range(2, 62, 5):
        share = drying_share(time[:end], t[:end], a[:end])
        sums = accumulated(time[:end], t[:end], a[:end])
        one = reduction(sums, "salmonella", drying=share)
        bounds.append((one.lower, one.median))
        shares.append(share)
    assert np.diff(np.array(bounds), axis=0).min() >= 0.0
    assert np.diff(np.array(shares), axis=0).min() >= 0.0


def test_the_least_reduced_place_decides():
    time = np.array([0.0, HOUR])
    t = np.full((2, 3), 340.0)
    t[:, 1] = 330.0
    a = np.full((2, 3), 0.99)
    alone = lower_bound(time, t[:, 1], a[:, 1], "salmonella")
    assert lower_bound(time, t, a, "salmonella").lower == pytest.approx(alone.lower, rel=1e-12)


def test_some_survive_any_heat_and_a_rapid_one_leaves_more():
    hot = accumulated(*steady(80.0, 0.99, 10.0))
    none = np.zeros_like(hot)
    long = reduction(hot, "salmonella")
    before = HeatBefore(hot, np.zeros(hot.shape[1:]))
    rapid = reduction(none, "salmonella", before=before)
    assert long.median == pytest.approx(MODEL.ceilings["long"].mean, abs=0.02)
    assert long.lower == pytest.approx(
        MODEL.ceilings["long"].mean - 1.645 * MODEL.ceilings["long"].sd, abs=0.05
    )
    assert rapid.median < MODEL.ceilings["rapid"].mean + 0.05
    dried = reduction(none, "salmonella", before=before, drying=1.0)
    assert rapid.lower < dried.lower < long.median


def test_what_is_heated_on_for_minutes_is_no_longer_heated_quickly():
    hot = accumulated(*steady(80.0, 0.99, 10.0))
    none = np.zeros_like(hot)
    lasting = MODEL.lasting

    def lower(hot_s):
        return reduction(none, "salmonella", before=HeatBefore(hot, np.full(hot.shape[1:], hot_s))).lower

    found = [lower(s) for s in (0.0, lasting.quick_s, 90.0, 150.0, lasting.long_s, 3600.0)]
    assert found[0] == found[1]
    assert np.all(np.diff(found[1:5]) > 0.2)
    assert found[4] == found[5]
    # the same fraction resists before and altogether: it is counted twice, which errs to the safe side
    long = reduction(hot, "salmonella").lower
    assert long - np.log10(2.0) - 0.01 < found[5] < long


def test_how_long_it_was_hot_counts_ten_times_as_long_where_it_is_ten_kelvin_cooler():
    hot_K = MODEL.lasting.hot_K

    def hot_s(seconds, kelvin):
        time = np.array([0.0, seconds])
        return HeatBefore.of(time, np.full((2, 1), kelvin), np.full((2, 1), 0.99)).hot_s[0]

    assert hot_s(100.0, hot_K + 20.0) == hot_s(100.0, hot_K) == 100.0  # never faster than by the clock
    assert hot_s(1000.0, hot_K - MODEL.lasting.z_K) == pytest.approx(100.0)
    assert hot_s(3600.0, 300.0) < 0.2


def test_no_kelvin_decides_whether_an_hour_of_heat_was_quick():
    found = []
    for celsius in np.arange(66.0, 75.0, 0.5):
        before = HeatBefore.of(
            np.array([0.0, 3600.0]), np.full((2, 1), celsius + CELSIUS), np.full((2, 1), 0.99)
        )
        found.append(reduction(np.zeros_like(before.sums), "salmonella", before=before).lower)
    assert np.all(np.abs(np.diff(found)) < 0.05)


def test_two_survivors_add():
    assert survived(np.array(3.0), np.array(3.0)) == pytest.approx(3.0 - np.log10(2.0))
    assert survived(np.array(500.0), np.array(6.0)) == pytest.approx(6.0)
    assert survived(np.array(0.0), np.array(6.0)) == pytest.approx(0.0, abs=1e-6)


def test_drying_counts_only_where_it_is_warm_dry_and_lasts():
    def share(celsius, activity, hours):
        time, t, a = steady(celsius, activity, hours, 5)
        a[0] = 0.99
        return float(drying_share(time, t, a))

    assert share(40.0, 0.3, 10.0) == 0.0
    assert share(60.0, 0.99, 10.0) == 0.0
    assert share(60.0, 0.3, 10.0) == 1.0
    assert 0.0 < share(60.0, 0.3, 0.25) < share(60.0, 0.3, 0.4) < 1.0
    assert 0.0 < share(47.0, 0.3, 0.5) < share(49.0, 0.3, 0.5) < 1.0


def test_whole_muscle_and_slow_heating_are_harder():
    sums = accumulated(*steady(62.0, 0.99, 0.5))
    bounds = {matrix: reduction(sums, "salmonella", matrix).lower for matrix in MATRICES}
    assert bounds["surface"] == bounds["ground"] > bounds["whole"]
    quick = reduction(sums, "salmonella", model=dataclasses.replace(MODEL, slow=(0.0, 0.0)))
    assert quick.lower > bounds["surface"]


def test_unknown_names_are_refused():
    with pytest.raises(InputError, match="organism"):
        log10_d(333.15, 0.99, "salmonela")
    with pytest.raises(InputError, match="matrix"):
        log10_d(333.15, 0.99, "salmonella", "skin")
