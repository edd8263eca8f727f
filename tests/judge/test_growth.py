"""Growth of bacteria: published values, the lag, the places that decide."""

import csv
from pathlib import Path

import numpy as np
import pytest

from dryingsim.batch.catalog.growth_models import growers, growth_model
from dryingsim.judge.growth import (
    cardinal,
    cardinal_ph,
    growth_rate,
    log10_growth,
    with_lag,
)
from dryingsim.judge.growth_places import NodeHeights, judge_growth

SHARED = Path(__file__).parents[2] / "shared"
HOUR = 3600.0


def per_hour(organism, celsius, activity, **more):
    return float(growth_rate(organism, celsius + 273.15, activity, **more)) * HOUR


# --- published values ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("organism", "celsius", "activity", "rate"),
    [
        # mu_opt of Medvedova et al. 2019 at its best temperature and water activity
        ("staphylococcus", 40.6, 0.994, 1.97),
        # the laws typed a second time, in 1/h
        ("salmonella", 30.0, 0.99, np.log(10) * 0.000718 * 29.07**2 * (1 - np.exp(0.464 * -16.96))),
        ("e_coli", 37.0, 0.99, (0.0362 * (37.0 - 4.10)) ** 2),
        ("listeria", 37.0, 0.997, 1.168),
        ("listeria", 37.0, 0.955, 0.5 * 1.168),  # half way from 0.913 to 0.997
        ("perfringens", 30.0, 0.99, 0.0025 * 19.85**2 * (1 - np.exp(0.238 * -23.0))),
    ],
)
def test_published_rates(organism, celsius, activity, rate):
    assert per_hour(organism, celsius, activity) == pytest.approx(
        rate, rel=1e-3
    )  # E. coli's mu_opt has 4 digits


@pytest.mark.parametrize(
    ("organism", "coldest", "hottest", "driest"),
    [
        ("staphylococcus", 7.7, 46.7, 0.808),
        ("salmonella", 0.93, 46.96, 0.901),
        ("e_coli", 5.0, 45.4, 0.944),
        ("listeria", -1.72, 45.5, 0.913),
        ("perfringens", 10.15, 53.0, 0.93),
    ],
)
def test_nothing_grows_beyond_its_limits(organism, coldest, hottest, driest):
    inside = 0.5 * (coldest + hottest)
    assert per_hour(organism, coldest + 0.2, 0.99) > 0.0
    assert per_hour(organism, hottest - 0.2, 0.99) > 0.0
    assert per_hour(organism, inside, driest + 0.002) > 0.0
    for celsius in (coldest, coldest - 3.0, hottest, hottest + 30.0):
        assert per_hour(organism, celsius, 0.99) == pytest.approx(0.0, abs=1e-12)
    for activity in (driest - 1e-3, 0.3):
        assert per_hour(organism, inside, activity) == 0.0


@pytest.mark.parametrize("organism", growers())
def test_drier_is_never_faster_and_wettest_counts_as_best(organism):
    activity = np.linspace(0.7, 1.0, 301)
    rate = growth_rate(organism, np.full_like(activity, 308.15), activity)
    assert (np.diff(rate) >= -1e-15).all()
    assert (rate >= 0.0).all()
    assert rate[-1] == rate.max() > 0.0


def test_water_activity_of_salmonella_is_that_of_the_meat_model():
    """EFSA 2014: ln mu has 7.00019 b - 62.114 b^2, b = sqrt(1 - a_w); in raw meat, 0.99, it is 1 here."""
    got = per_hour("salmonella", 30.0, 0.95) / per_hour("salmonella", 30.0, 0.99)
    b, raw = np.sqrt(0.05), np.sqrt(0.01)
    assert got == pytest.approx(np.exp(7.00019 * (b - raw) - 62.114 * (b**2 - raw**2)), rel=1e-9)


def test_acid_holds_listeria_back_and_ph_is_best_where_it_is_not_known():
    assert per_hour("listeria", 20.0, 0.98, ph=7.1) == pytest.approx(per_hour("listeria", 20.0, 0.98))
    top = (5.6 - 4.71) * (5.6 - 9.61)  # typed a second time
    assert per_hour("listeria", 20.0, 0.98, ph=5.6) == pytest.approx(
        per_hour("listeria", 20.0, 0.98) * top / (top - (5.6 - 7.1) ** 2)
    )
    assert per_hour("listeria", 20.0, 0.98, ph=4.71) == 0.0
    assert cardinal_ph(9.7, 4.71, 7.1, 9.61) == 0.0


def test_cardinal_factor_by_hand():
    # (20 - 46.7)(20 - 7.7)^2 / {32.9 [32.9 (20 - 40.6) - (40.6 - 46.7)(40.6 + 7.7 - 40)]}
    assert cardinal(20.0, 7.7, 40.6, 46.7) == pytest.approx(
        -26.7 * 12.3**2 / (32.9 * (32.9 * -20.6 + 6.1 * 8.3))
    )


def test_every_model_names_its_source_and_status():
    for key in growers():
        own = growth_model(key)
        assert own.status == "read"
        assert own.h0_status in ("read", "estimate")
        assert "from memory" not in own.source
        assert len(own.source) > 40


# --- adding up -------------------------------------------------------------------------------------------------


def test_growth_at_constant_rate_is_rate_times_time():
    time = np.array([0.0, 1.0, 5.0, 6.0]) * HOUR
    rate = np.full((4, 2), 1.97 / HOUR)
    np.testing.assert_allclose(log10_growth(time, rate), 1.97 * 6.0 / np.log(10.0))
    assert log10_growth(time[:1], rate[:1]).tolist() == [0.0, 0.0]


def test_lag_is_the_solution_of_its_equations():
    """dN/dt = mu q/(1+q) N, dq/dt = mu q, with the rate rising and falling; h0 = ln(1 + 1/q0)."""
    from scipy.integrate import solve_ivp

    def mu(t):
        return 1.2 * np.sin(np.pi * t / 8.0) ** 2

    q0 = 1.0 / np.expm1(2.0)
    path = solve_ivp(
        lambda t, y: [mu(t) * y[1] / (1.0 + y[1]), mu(t) * y[1]],
        (0.0, 8.0),
        [0.0, q0],
        rtol=1e-10,
        atol=1e-12,
    )
    time = np.linspace(0.0, 8.0, 4001)
    upper = log10_growth(time, mu(time))
    assert with_lag(upper, 2.0) == pytest.approx(path.y[0, -1] / np.log(10.0), rel=1e-5)
    assert with_lag(10.0, 2.0) == pytest.approx(10.0 - 2.0 / np.log(10.0), abs=1e-6)  # 0.87 off, in the end
    assert with_lag(0.0, 2.0) == 0.0


# --- places ----------------------------------------------------------------------------------------------------


def slices(surface_aw, inside_aw, celsius=30.0, hours=6.0, thickness=6e-3, nodes=7, lower_open=True):
    time = np.linspace(0.0, hours * HOUR, 13)
    t = np.full((13, nodes, 1), celsius + 273.15)
    a = np.full_like(t, inside_aw)
    a[:, [0, -1]] = surface_aw
    heights = NodeHeights(
        height_m=np.linspace(0.0, thickness, nodes)[:, None], lower_open=np.array([lower_open])
    )
    return time, t, a, heights


def found(time, t, a, heights, exposed):
    return {one.organism: one for one in judge_growth(time, t, a, np.array(exposed), heights)}


def test_the_place_decides():
    time, t, a, heights = slices(0.80, 0.99)
    intact = found(time, t, a, heights, [0, 6])["staphylococcus"]
    minced = found(time, t, a, heights, range(7))["staphylococcus"]
    grown = 6.0 * per_hour("staphylococcus", 30.0, 0.99) / np.log(10.0)
    assert intact.upper == intact.surface == 0.0
    assert [intact.middle, intact.below] == pytest.approx([grown, grown])
    assert not intact.too_much
    assert minced.upper == pytest.approx(grown)
    assert minced.upper > 2.0 > minced.surface
    assert minced.too_much
    assert 0.0 < minced.lagged < minced.upper - 0.8


def test_only_s_aureus_has_a_limit_of_growth():
    time, t, a, heights = slices(0.99, 0.99)
    limits = {key: one.limit for key, one in found(time, t, a, heights, range(7)).items()}
    assert limits.pop("staphylococcus") == 2.0
    assert set(limits.values()) == {None}


@pytest.mark.parametrize(
    ("thickness", "lower_open", "grows"), [(8e-3, True, False), (12e-3, True, True), (8e-3, False, True)]
)
def test_perfringens_grows_deep_in_the_meat_only(thickness, lower_open, grows):
    time, t, a, heights = slices(0.99, 0.99, celsius=40.0, thickness=thickness, lower_open=lower_open)
    one = found(time, t, a, heights, range(7))["perfringens"]
    assert (one.upper > 3.0) is grows
    assert (one.upper == 0.0) is not grows
    assert "perfringens" not in {one.organism for one in judge_growth(time, t, a, np.arange(7))}


# --- against an independent simulation -------------------------------------------------------------------------


def rows_over_depth():
    lines = (SHARED / "growth_over_depth.csv").read_text().splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


MARINATED = """
[meat]
cut = "beef eye of round"
form = "sliced"
thickness = "{thickness_mm} mm"
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"
[marinade]
salt = "15 g/kg"
sugar = "12 g/kg"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
name = "drying"
air = "{air_C} degC"
humidity = {humidity}
speed = "1.0 m/s"
duration = "{hours} h"
"""


@pytest.fixture(scope="module")
def histories():
    from dryingsim import run
    from dryingsim.batch.reading.batch_file import load_batch, parse_batch

    known = {}

    def history(row):
        name, humid = row["history"], row["relative_humidity"]
        if name not in known:
            words = '"room"' if humid.startswith("room") else f'{{ relative = "{100 * float(humid):.0f} %" }}'
            batch = (
                load_batch(SHARED.parent / "examples" / "stacked_dehydrator.toml")
                if name == "stacked dehydrator"
                else parse_batch(MARINATED.format(humidity=words, **row), name)
            )
            known[name] = run(batch)
        return known[name]

    return history


@pytest.mark.parametrize(
    "row",
    rows_over_depth(),
    ids=lambda row: f"{row['history']}, {row['organism']}",
)
def test_growth_over_depth_near_that_of_an_independent_simulation(row, histories):
    """A quarter, and 0.25 log: its salt and its law of water activity are not stated, and the latter alone moves it by more."""
    history = histories(row)
    a = np.minimum(history.water_activity, 1.0)
    heights = NodeHeights(
        height_m=history.slabs.nodes[:, None] * history.thickness_m[0],
        lower_open=history.slabs.vapour_open[0] > 0.0,
    )
    ends = np.array([0, a.shape[1] - 1])
    one = {g.organism: g for g in judge_growth(history.time_s, history.temperature_K, a, ends, heights)}
    got = one[row["organism"]]
    for name, value in (("surface", got.surface), ("below_1_mm", got.below), ("middle", got.middle)):
        assert value == pytest.approx(float(row[name]), abs=0.25 + 0.25 * float(row[name])), name
    assert got.surface <= got.below <= got.middle
