"""Yield, pieces and price."""

import pytest
from made_batch import warm_air, warm_air_text

import dryingsim as ds
from dryingsim.batch.money import Amount, MeatPrice, read_amount, read_meat_price
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.errors import InputError
from dryingsim.judge.energy import read_price
from dryingsim.judge.yield_and_cost import finished_share, judge_yield


@pytest.fixture(scope="module")
def run():
    history = ds.run(warm_air())
    return history, ds.judge_batch(history)


@pytest.fixture(scope="module")
def oven():
    text = (
        warm_air_text()
        .replace("speed = ", "# speed = ")
        .replace("[meat]", '[appliance]\nuse = "oven with fan"\n[meat]', 1)
    )
    text = text.replace("\n[meat]", "\n[meat]", 1).replace('duration = "10 h"', 'duration = "1 h"')
    history = ds.run(parse_batch(text, "oven"))
    return history, ds.judge_batch(history)


@pytest.mark.parametrize(
    ("text", "per_kg", "currency"),
    [
        ("9 EUR/kg", 9.0, "EUR"),
        ("12.50 USD/lb", 12.5 / 0.45359237, "USD"),
        ("1.2 € per 100g", None, None),
        ("0.9 € per g", 900.0, "€"),
        (" 3 CHF / kilogram ", 3.0, "CHF"),
    ],
)
def test_prices_of_meat(text, per_kg, currency):
    if per_kg is None:
        with pytest.raises(InputError, match="an amount, a currency and a weight"):
            read_meat_price("--meat-price", text)
        return
    price = read_meat_price("--meat-price", text)
    assert price.per_kg == pytest.approx(per_kg)
    assert price.currency == currency


@pytest.mark.parametrize("text", ["", "9", "9 EUR", "EUR/kg", "9 EUR/h", "-3 EUR/kg", "9 EUR/kWh"])
def test_what_is_no_price_of_meat_is_refused_on_one_line(text):
    with pytest.raises(InputError) as caught:
        read_meat_price("--meat-price", text)
    assert len(str(caught.value).splitlines()) == 1


def test_sums_of_money():
    assert read_amount("x", "3.20 EUR") == Amount(3.2, "EUR")
    with pytest.raises(InputError, match="an amount and a currency"):
        read_amount("x", "3.20")


def test_yield_is_the_weight_when_done(run):
    history, answers = run
    found = judge_yield(history, answers)
    assert found.done
    assert found.finished_kg == pytest.approx(answers.doneness.stop.weight_kg, rel=1e-9)
    assert found.share == pytest.approx(found.finished_kg / 0.7)
    assert found.cost is None
    assert found.servings == pytest.approx(found.finished_kg / 0.028)


def test_yield_follows_from_the_balance_of_dry_solid(run):
    history, _ = run
    end = history.weight_kg[-1].sum() / history.batch.meat.weight_kg
    assert finished_share(history.batch, history.batch_moisture_db[-1]) == pytest.approx(end, rel=1e-9)


def test_pieces_weigh_what_slices_of_their_size_weigh(run):
    """0.7 kg in slices of 12 x 5 cm and 4 to 6 mm, at about 1.07 kg/l: 27 g each raw, if a little less than 30 g."""
    history, answers = run
    found = judge_yield(history, answers)
    assert 20 <= found.pieces <= 27
    assert found.piece_kg * found.pieces == pytest.approx(found.finished_kg)


def test_cost_adds_up(run):
    history, answers = run
    found = judge_yield(history, answers, MeatPrice(20.0, "EUR"), Amount(2.0, "EUR"))
    assert found.cost.meat == pytest.approx(14.0)
    assert found.cost.energy is None
    assert found.cost.total == pytest.approx(16.0)
    assert found.cost.per_kg == pytest.approx(16.0 / found.finished_kg)


def test_energy_counts_in_an_appliance(oven):
    history, answers = oven
    assert not judge_yield(history, answers).done
    price = read_price("--price", "0.30 EUR/kWh")
    cost = judge_yield(history, answers, energy=price).cost
    assert cost.energy == pytest.approx(cost.total)
    assert cost.energy > 0.0


def test_one_currency_is_expected(run):
    with pytest.raises(InputError, match="prices are in EUR and USD"):
        judge_yield(*run, MeatPrice(20.0, "EUR"), Amount(2.0, "USD"))
