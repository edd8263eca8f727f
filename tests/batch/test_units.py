"""Quantities as people type them: what is read, what is refused, and what the refusal says."""

import re

import numpy as np
import pytest
from complaints import message_of

from dryingsim.batch.checks import check_choice
from dryingsim.batch.money import read_amount, read_meat_price, read_sized_price
from dryingsim.batch.units import (
    DIMENSIONS,
    display_units,
    expected,
    from_si,
    kind_of,
    to_ratio,
    to_si,
    to_si_within,
)
from dryingsim.errors import InputError, Remark

WHERE = "b.toml: stage 2 (dry), key"
EXACT = 1e-12  # conversions by exact factors: rounding of a few float operations only


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("5 mm", "length", 0.005),
        ("5mm", "length", 0.005),
        (" 12 cm ", "length", 0.12),
        ("0.2 inch", "length", 0.00508),
        ("1/4 inch", "length", 0.00635),
        ("1 1/2 in", "length", 0.0381),
        ("1 ft", "length", 0.3048),
        ("1600 m", "altitude", 1600.0),
        ("68 degC", "temperature", 341.15),
        ("68 °C", "temperature", 341.15),
        ("68 celsius", "temperature", 341.15),
        ("-5 C", "temperature", 268.15),
        ("212 degF", "temperature", 373.15),
        ("32 F", "temperature", 273.15),
        ("-40 deg F", "temperature", 233.15),
        ("341.15 K", "temperature", 341.15),
        ("9 degF", "temperature difference", 5.0),
        ("5 degC", "temperature difference", 5.0),
        ("1 lb", "mass", 0.45359237),
        ("16 oz", "mass", 0.45359237),
        ("1 lb 8 oz", "mass", 0.680388555),
        ("700 g", "mass", 0.7),
        ("2 h 15 min", "duration", 8100.0),
        ("2h15min", "duration", 8100.0),
        ("1 1/2 hours", "duration", 5400.0),
        ("90 s", "duration", 90.0),
        ("1 day 2 h", "duration", 93600.0),
        ("1.5 m/s", "speed", 1.5),
        ("100 ft / min", "speed", 0.508),
        ("35 %", "fraction", 0.35),
        ("35%", "fraction", 0.35),
        ("3.6 km/h", "speed", 1.0),
        ("10 mph", "speed", 4.4704),
        ("60 m/min", "speed", 1.0),
        ("35 percent", "fraction", 0.35),
        ("15 g/kg", "mass fraction", 0.015),
        ("1.5 %", "mass fraction", 0.015),
        ("1 oz/lb", "mass fraction", 0.0625),
        ("-2e1 g/kg", "mass fraction", -0.02),
        ("950 hPa", "pressure", 95000.0),
        ("1 atm", "pressure", 101325.0),
        ("0.95 bar", "pressure", 95000.0),
        ("1.2 kW", "power", 1200.0),
        ("1 kWh", "energy", 3.6e6),
        ("100 mL", "volume", 1e-4),
        ("1/2 cup", "volume", 118.29411825e-6),
        ("1 tbsp", "volume", 14.78676478125e-6),
        ("3 teaspoons", "volume", 14.78676478125e-6),
        ("2 fl oz", "volume", 59.147059125e-6),
        ("1 cup 2 tbsp", "volume", 266.1617660625e-6),
        ("1 quart", "volume", 0.946352946e-3),
    ],
)
def test_quantity_is_read(text, dimension, si):
    assert to_si(WHERE, text, dimension) == pytest.approx(si, rel=EXACT)


@pytest.mark.parametrize(
    "typed", ["68", 68, 68.0, True, "", "warm", "68 + 2 degC", "nan degC", "20 degC 5 degC", []]
)
def test_number_without_unit_names_place_dimension_and_example(typed):
    message = message_of(to_si, WHERE, typed, "temperature")
    assert message.startswith(f"{WHERE} = ")
    assert message.endswith('a temperature with its unit is expected, for example "68 degC" or "155 degF"')


def test_message_in_full():
    message = message_of(to_si, "b.toml: stage 2 (finish), air", "68", "temperature")
    assert message == (
        "b.toml: stage 2 (finish), air = '68': a temperature with its unit is expected, "
        'for example "68 degC" or "155 degF"'
    )


@pytest.mark.parametrize(
    ("text", "dimension", "unit"),
    [
        ("5 milimeter", "length", "millimeter"),
        ("155 degf", "temperature", "degF"),
        ("155 f", "temperature", "F"),
        ("2 hourss", "duration", "hours"),
        ("95 kpa", "pressure", "kPa"),
        ("1 LB", "mass", "lb"),
        ("5 mi", "duration", "min"),
        ("2 h 15 mn", "duration", "min"),
        ("15 g/kq", "mass fraction", "g/kg"),
    ],
)
def test_unknown_unit_offers_the_nearest(text, dimension, unit):
    message = message_of(to_si, WHERE, text, dimension)
    assert f"is not a known unit; did you mean '{unit}'? {expected(dimension)}" in message


def test_unknown_unit_like_no_other_offers_only_the_example():
    message = message_of(to_si, WHERE, "5 furlongs", "speed")
    assert f"'furlongs' is not a known unit; {expected('speed')}" in message


@pytest.mark.parametrize(
    ("text", "dimension", "got"),
    [
        ("6 kg", "length", "'kg' measures a weight"),
        ("5 mm", "duration", "'mm' measures a length"),
        ("68 degC", "length", "'degC' measures a temperature"),
        ("3 ft/min", "length", "'ft/min' measures a speed"),
        ("2 tbsp", "mass", "'tbsp' measures a volume"),
        ("2 oz", "volume", "'oz' measures a weight"),
        (
            "10 g/kg",
            "fraction",
            "'g/kg' measures an amount per weight of meat",
        ),  # a humidity ratio is no percentage
    ],
)
def test_wrong_dimension_says_what_was_got(text, dimension, got):
    assert f"{got}; {expected(dimension)}" in message_of(to_si, WHERE, text, dimension)


@pytest.mark.parametrize("text", ["1e999 mm", "1/0 inch"])
def test_number_must_be_finite(text):
    assert "not finite" in message_of(to_si, WHERE, text, "length")


def test_only_the_first_part_may_have_a_sign():
    assert "only the first part may have a sign" in message_of(to_si, WHERE, "2 h -15 min", "duration")


def test_long_and_broken_text_stays_on_one_short_line():
    assert len(message_of(to_si, WHERE, "5 mm\n" * 500, "length")) < 250


def test_ratio_is_a_plain_number_or_the_same_as_text():
    assert to_ratio(WHERE, 0.85) == to_ratio(WHERE, "0.85") == 0.85
    assert to_ratio(WHERE, 1) == 1.0


@pytest.mark.parametrize("typed", ["0.85 %", "dry", True, float("nan"), "inf", None, [0.85]])
def test_ratio_refuses_all_else(typed):
    message = message_of(to_ratio, WHERE, typed)
    assert message.startswith(f"{WHERE} = ")
    assert message.endswith("a number without a unit is expected, for example 0.85")


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_examples_in_messages_can_be_typed(dimension):
    examples = re.findall(r'"([^"]+)"', DIMENSIONS[dimension].example)
    assert examples
    assert all(to_si(WHERE, example, dimension) > 0 for example in examples)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_printed_quantity_reads_back(system, dimension):
    unit = display_units(system)[dimension]
    values = np.array([1.0, 20.0, 300.0])
    shown = from_si(values, unit, dimension)
    assert shown.shape == values.shape
    back = [to_si(WHERE, f"{value:.15g} {unit}", dimension) for value in shown]
    np.testing.assert_allclose(back, values, rtol=1e-11)  # 15 digits printed; degF loses one near zero


def test_printing_does_not_change_its_argument():
    values = np.array([273.15, 300.0])
    np.testing.assert_allclose(from_si(values, "degC"), [0.0, 26.85], atol=1e-10)
    np.testing.assert_array_equal(values, [273.15, 300.0])


def test_temperature_difference_has_no_offset():
    assert from_si(10.0, "degF", "temperature difference") == pytest.approx(18.0, rel=EXACT)
    assert from_si(273.15, "degF") == pytest.approx(32.0, rel=1e-11)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("2 tbsp", "volume"),
        ("1 lb 2 oz", "mass"),
        ("1 cup 2 tbsp", "volume"),
        ("5 mm", None),
        ("5", None),
        ("", None),
        (5, None),
        (None, None),
    ],
)
def test_kind_of_a_quantity_is_told_by_its_unit(text, kind):
    assert kind_of(text, ("mass", "volume")) == kind


def test_two_systems_differ_where_it_matters():
    metric, us = display_units("metric"), display_units("us")
    assert (metric["length"], us["length"]) == ("mm", "inch")
    assert (metric["temperature"], us["temperature"]) == ("degC", "degF")
    assert metric.keys() == us.keys() == DIMENSIONS.keys()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("155 degC", "is outside 0 degC to 150 degC; did you mean 155 degF?"),
        ("400 degF", "is outside 32 degF to 302 degF"),
        ("-5 degF", "is outside 32 degF to 302 degF"),
        ("20 K", "is outside 0 degC to 150 degC; did you mean 20 degC?"),
    ],
)
def test_limits_are_told_in_the_unit_typed(typed, says):
    with pytest.raises(InputError) as caught:
        to_si_within("air", typed, "temperature", "0 degC", "150 degC")
    assert str(caught.value).endswith(says)


def test_a_decimal_comma_is_told_as_one():
    with pytest.raises(
        InputError, match=r"the decimal sign is a point, '1.8 lb'; a weight with its unit is expected"
    ):
        to_si("weight", "1,8 lb", "mass")
    with pytest.raises(InputError) as caught:
        to_si("weight", "heavy, very", "mass")
    assert "decimal" not in str(caught.value)
    with pytest.raises(InputError, match=r"a point, '1500 g' or '1\.500 g'; "):  # thousands, in other hands
        to_si("weight", "1,500 g", "mass")


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("2”", '2"'),
        ("2 ″", '2"'),
        ("1/2''", '1/2"'),
        ("¼ in", "0.25 inch"),
        ("1 ¾ in", "1.75 inch"),
        ("1⅜”", "1.375 inch"),
        ("½”", "0.5 inch"),
        ("⅛ inch", "0.125 inch"),
        ("1-1/2 in", "1.5 inch"),
        ("1⁄2 in", "0.5 inch"),
        ("³⁄₁₆ inch", "0.1875 inch"),
        ("1³⁄₁₆ in", "1.1875 inch"),
        ("a quarter inch", "0.25 inch"),
        ("half an inch", "0.5 inch"),
        ("one and a half inches", "1.5 inch"),
    ],
)
def test_inch_marks_and_fractions_are_read_as_telephones_and_word_processors_set_them(typed, plain):
    assert to_si("width", typed, "length") == to_si("width", plain, "length")


def test_fractions_of_pounds_are_read_and_a_range_of_them_is_none():
    assert to_si("weight", "1 ¼ lb", "mass") == to_si("weight", "1.25 lb", "mass")
    with pytest.raises(InputError, match="not a range"):
        to_si("thickness", "⅛ to ¼ in", "length")


@pytest.mark.parametrize(
    ("read", "missing"), [(read_sized_price, "size"), (read_meat_price, "weight it is for")]
)
def test_of_a_price_it_is_told_what_is_missing(read, missing):
    with pytest.raises(InputError, match=f"the {missing} is missing, for example"):
        read("price", "$4.99")


@pytest.mark.parametrize(
    ("typed", "known"),
    [("american", "us"), ("USA", "us"), ("customary", "us"), ("si", "metric"), ("international", "metric")],
)
def test_systems_of_units_go_by_other_names(typed, known):
    with pytest.raises(InputError, match=f"did you mean '{known}'"):
        check_choice("--units", typed, ("metric", "us"))


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("68 deg\u0421", "cyrillic capital letter es"),  # looks like degC
        ("155 deg\u0424", "cyrillic capital letter ef"),
        ("68 \uff23", "fullwidth latin capital letter c"),
        ("5 \u043cm", "cyrillic small letter em"),
        ("68 deg", "may be Celsius or Fahrenheit"),
        ("155 degrees", "may be Celsius or Fahrenheit"),
    ],
)
def test_a_letter_of_another_alphabet_is_named_and_no_degree_is_guessed(typed, says):
    dimension = "length" if "m" in typed and "deg" not in typed else "temperature"
    with pytest.raises(InputError, match=says) as told:
        to_si("air", typed, dimension)
    assert "did you mean" not in str(told.value)


def test_kitchen_words_for_times_and_lengths_are_read():
    with pytest.warns(Remark, match="x = 'Overnight' is taken as 10 h"):
        assert to_si("x", "Overnight", "duration") == 36000.0
    assert to_si("x", "2 weeks", "duration") == 14 * 86400.0
    assert to_si("x", "1 year", "duration") == to_si("x", "1 yr", "duration") == 365 * 86400.0
    assert to_si("x", "3/16 in.", "length") == to_si("x", "3/16 inch", "length")
    assert to_si("x", "1 lb. 4 oz.", "mass") == to_si("x", "20 oz", "mass")


@pytest.mark.parametrize(
    ("typed", "dimension", "upper"),
    [("8-10 hours", "duration", "10 hours"), ("1/8 to 1/4 inch", "length", "1/4 inch")],
)
def test_a_range_is_no_value_and_its_upper_end_is_named(typed, dimension, upper):
    with pytest.raises(InputError, match=f"not a range; the upper end is '{upper}'"):
        to_si("x", typed, dimension)


def test_the_sign_of_a_currency_may_stand_before_the_number():
    assert read_amount("x", "$3.20") == read_amount("x", "3.20 $")
    assert read_meat_price("x", "$8/lb") == read_meat_price("x", "8 $/lb")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("3/16", 'for example "3/16 inch"'),
        (" 1 1/2 ", 'for example "1 1/2 inch"'),
        ("1/4 foot", "is outside 0.01969 inch to 1.181 inch"),
    ],
)
def test_a_thin_slice_is_spoken_of_in_inches(typed, says):
    with pytest.raises(InputError, match=says):
        to_si_within("thickness", typed, "length", "0.5 mm", "30 mm")


def test_an_example_may_be_of_what_is_asked():
    with pytest.raises(InputError, match=r'for example "40 degF"$'):
        to_si_within("soak", "40", "temperature", "-2 degC", "25 degC", '"40 degF"')
