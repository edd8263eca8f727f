"""Energy and cost: on totals made by hand, where every answer is known, and on a real run."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.errors import InputError
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.energy import energy_taken, judge_energy, read_price
from dryingsim.judge.taking_off import leaving_times, taken_off

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def history():
    return ds.run(in_stack(1.5))


def with_totals(history, **totals):
    """The history with running totals made by hand, those not named at zero."""
    zero = dict.fromkeys(history.chamber.totals, np.zeros_like(history.time_s))
    return replace(history, chamber=replace(history.chamber, totals=zero | totals))


def energy_of(history, price=None):
    return judge_energy(history, judge_batch(history), price)


def test_totals_are_added_up(history):
    t = history.time_s
    run = energy_of(
        with_totals(history, heater_J=300.0 * t, fan_J=20.0 * t, lost_J=50.0 * t, aired_J=80.0 * t)
    ).run
    assert run.duration_s == 5400.0
    assert run.heater_J == pytest.approx(300.0 * 5400.0)
    assert run.fan_J == pytest.approx(20.0 * 5400.0)
    assert run.total_J == pytest.approx(320.0 * 5400.0)
    assert (run.walls_J, run.exchanged_J) == pytest.approx((50.0 * 5400.0, 80.0 * 5400.0))
    assert run.mean_heater_W == pytest.approx(300.0)
    lost = history.weight_kg[0].sum() - history.weight_kg[-1].sum()
    assert run.water_kg == pytest.approx(lost)
    assert run.per_water_J_kg == pytest.approx(320.0 * 5400.0 / lost)


def test_steam_is_counted_as_what_makes_it(history):
    made = with_totals(history, steam_kg=1e-5 * history.time_s)
    run = energy_of(made).run
    # steam tables: 2675.6 kJ/kg saturated at 100 degC, 88.1 kJ/kg liquid at the room's 21 degC; the linear
    # enthalpies of the balances are within 1 % of that
    assert run.steam_J == pytest.approx(0.054 * (2675.6e3 - 88.1e3), rel=0.01)
    assert run.total_J == run.steam_J
    np.testing.assert_allclose(energy_taken(made)[-1], run.total_J)


def test_until_done_ends_when_it_is_done(history):
    t, activity = history.time_s, history.equalised_water_activity.max(axis=1)
    half = t.size // 2
    targets = ds.Targets(water_activity=float(activity[half]))
    made = with_totals(replace(history, batch=replace(history.batch, targets=targets)), heater_J=100.0 * t**2)
    energy = energy_of(made)
    assert energy.until_done.duration_s == pytest.approx(t[half])
    assert energy.until_done.heater_J == pytest.approx(100.0 * t[half] ** 2)
    assert energy.until_done.water_kg == pytest.approx((history.weight_kg[0] - history.weight_kg[half]).sum())
    assert energy.run.heater_J == pytest.approx(100.0 * t[-1] ** 2)
    assert energy_of(history).until_done is None  # an hour and a half is not enough for the usual target


def test_peak_is_the_strongest_minute_however_the_records_lie(history):
    t = history.time_s
    burst = np.clip(t - 1200.0, 0.0, 60.0) * 450.0 + 10.0 * t
    assert energy_of(with_totals(history, heater_J=burst)).peak_heater_W == pytest.approx(460.0)
    moved = t.copy()
    moved[1] = 1e-3  # two records a millisecond apart, with a joule between them
    jump = np.where(np.arange(t.size) > 0, 1.0, 0.0)
    made = replace(with_totals(history, heater_J=jump), time_s=moved)
    assert energy_of(made).peak_heater_W == pytest.approx(1.0 / 60.0)


def test_costs_are_energy_times_price(history):
    energy = energy_of(history, read_price("price", "0.30 EUR/kWh"))
    assert energy.currency == "EUR"
    assert energy.run.cost == pytest.approx(0.30 * energy.run.total_J / 3.6e6)
    free = energy_of(history)
    assert free.run.cost is free.currency is None


@pytest.mark.parametrize(
    ("text", "per_kWh", "currency"),
    [
        ("0.30 EUR/kWh", 0.30, "EUR"),
        ("0.17 USD/kWh", 0.17, "USD"),
        (" .17  USD / kWh ", 0.17, "USD"),
        ("28 ct per kWh", 28.0, "ct"),
        ("0.3 €/kWh", 0.3, "€"),
        ("0 EUR/kWh", 0.0, "EUR"),
    ],
)
def test_prices_are_read_with_the_currency_as_typed(text, per_kWh, currency):
    price = read_price("price", text)
    assert price.per_J * 3.6e6 == pytest.approx(per_kWh)
    assert price.currency == currency


@pytest.mark.parametrize(
    "text",
    ["", "0.30", "0.30 EUR", "EUR/kWh", "0,30 EUR/kWh", "-0.3 EUR/kWh", "0.3/kWh", "0.3 EUR/MJ", "1e9 /kWh"],
)
def test_other_prices_are_refused_with_an_example(text):
    with pytest.raises(InputError, match=r"^--price = .*for example \"0.30 EUR/kWh\"$"):
        read_price("--price", text)


def test_energy_counts_until_the_last_slices_are_off():
    batch = ds.load_batch(EXAMPLES / "stacked_dehydrator.toml")
    history = ds.run(batch, nodes=8, tolerance=1e-3, interval_s=300.0)
    energy, last = energy_of(history), leaving_times(history).max()
    assert energy.all_off
    assert energy.until_off.duration_s == last < energy.run.duration_s
    assert energy.until_off.total_J == pytest.approx(np.interp(last, history.time_s, energy_taken(history)))
    # between records 5 min apart the weight goes straight past the corner where the last slices leave
    lost = history.weight_kg[0].sum() - taken_off(history).weight_kg
    assert energy.until_off.water_kg == pytest.approx(lost, rel=1e-3)
    left_in = energy_of(replace(history, batch=replace(batch, take_off="together")))
    assert not left_in.all_off
    assert left_in.counted == left_in.until_done


def test_given_air_has_no_energy():
    batch = warm_air()
    history = ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=600.0),)))
    assert energy_of(history) is None
    assert not energy_taken(history).any()


def test_a_run_takes_at_least_the_heat_of_evaporation_and_no_more_than_the_heater_has(history):
    energy = energy_of(history)
    # 2257 kJ/kg at 100 degC, more at any lower temperature
    assert energy.run.per_water_J_kg > 2257e3
    assert energy.run.mean_heater_W < energy.peak_heater_W <= 500.0 * (1.0 + 1e-9)
    assert energy.run.fan_J == pytest.approx(20.0 * 5400.0)
    # what was taken left again, but for what warms the meat: 0.7 kg by some 60 K at some 3.5 kJ/(kg K), and walls
    # that hold 2.5 kJ/K, within some 5 K of where they began
    left = energy.run.walls_J + energy.run.exchanged_J
    assert energy.run.total_J == pytest.approx(left, abs=0.7 * 60.0 * 3.5e3 + 2.5e3 * 5.0)
