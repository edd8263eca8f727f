"""How quantities are printed in American kitchens."""

import pytest

from dryingsim.batch.units import to_si
from dryingsim.show.core.quantities import KitchenUnits, Unit, Units, celsius, difference, money

INCH, OUNCE = Unit("length", "inch"), Unit("mass", "oz")


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("3/16 inch", "3/16 in"),
        ("4 mm", "5/32 in"),
        ("1/4 inch", "1/4 in"),
        ("5 mm", "0.2 in"),  # nearer to no mark than 5 %
        ("1 1/2 inch", "1 1/2 in"),
        ("5 inch", "5 in"),
        ("50 mm", "1.97 in"),
    ],
)
def test_lengths_are_fractions_of_an_inch_where_a_ruler_has_them(typed, printed):
    si = to_si("it", typed, "length")
    assert INCH.text(si) == printed
    if "/" in printed:  # what is printed is read as the same length, to 1 %
        assert to_si("it", printed, "length") == pytest.approx(si, rel=0.01)


@pytest.mark.parametrize(
    ("ounces", "printed"), [(24, "1 lb 8 oz"), (15.96, "1 lb"), (1, "1 oz"), (35.3, "2 lb 3.3 oz")]
)
def test_weights_are_pounds_and_ounces(ounces, printed):
    assert OUNCE.text(to_si("it", f"{ounces} oz", "mass")) == printed


def test_differences_are_in_the_unit_of_the_temperatures_beside_them(demo):
    us, metric = Units(demo, "us"), Units(demo, "metric")
    assert us.temperature.difference(2.0) == "3.6 °F"
    assert metric.temperature.difference(0.5) == "0.5 K"
    assert difference(-12.0, us.temperature.text) == "-22 °F"
    assert difference(12.0, celsius) == "12 K"


def test_no_si_is_left_over_where_ounces_are_printed(demo):
    us, metric = Units(demo, "us"), Units(demo, "metric")
    assert us.energy_per_weight(3.6e6) == "1550 Btu per lb"  # 1 kWh/kg is 1548 Btu/lb: 3412.14 / 2.20462
    assert metric.energy_per_weight(3.6e6) == "1.0 kWh per kg"
    assert (us.per_weight(0.015), metric.per_weight(0.015)) == ("0.24 oz/lb", "15 g/kg")
    kitchen = KitchenUnits("us")
    assert kitchen.heat(2326.0 * 6.0) == "6 Btu/lb"  # 1 Btu/lb is 2326 J/kg exactly
    assert kitchen.film(5.678263) == "1.0 Btu/(h ft2 °F)"


@pytest.fixture(scope="module")
def demo():
    from dryingsim import demo_batch

    return demo_batch()


@pytest.mark.parametrize(("currency", "said"), [("$", "$1.20"), ("€", "€1.20"), ("EUR", "1.20 EUR")])
def test_a_sign_of_a_currency_stands_before_the_sum(currency, said):
    assert money(1.2, currency) == said
