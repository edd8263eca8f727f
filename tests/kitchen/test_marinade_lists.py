"""Marinades as people write them: lines of a recipe, spoons and cups, figures of a label; and their sodium."""

import csv
from itertools import groupby
from pathlib import Path

import pytest

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM
from dryingsim.batch.reading.batch_file import demo_text, parse_batch
from dryingsim.batch.reading.marinade_file import parse_marinade
from dryingsim.batch.reading.recipe_line import entry_of_line
from dryingsim.batch.toml_writing import toml_text
from dryingsim.errors import InputError
from dryingsim.kitchen.marinade import marinate

TABLE = Path(__file__).parents[2] / "shared/marinade_lists.csv"
HEAD = """
[meat]
cut = "beef top round"
weight = "1.5 lb"
thickness = "0.2 inch"
[marinade]
time = "24 h"
temperature = "38 degF"
"""


def rows():
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


LISTS = {name: list(group) for name, group in groupby(rows(), lambda row: row["marinade"])}


def recipe(ingredients):
    return parse_marinade(f"{HEAD}ingredients = {ingredients}\n", "m.toml")


def test_there_are_twenty_marinades():
    assert len(LISTS) == 20


@pytest.mark.parametrize("name", LISTS)
def test_sodium_of_a_marinade_is_that_of_its_labels(name):
    """10 %: labels are rounded to 5 or 10 mg a serving, and a spoon is weighed to half a gram of 5 to 18."""
    lines = LISTS[name]
    portions = recipe(toml_text([row["line"] for row in lines])).portions
    mg = sum(1e6 * one.weight_kg * one.ingredient.salt / SALT_PER_SODIUM for one in portions)
    labels = sum(float(row["sodium_mg_per_measure"]) * float(row["measures"]) for row in lines)
    assert labels > 500.0  # else nothing is checked
    assert mg == pytest.approx(labels, rel=0.1)


@pytest.mark.parametrize(
    ("line", "name", "amount"),
    [
        ("1/2 cup soy sauce", "soy sauce", "1/2 cup"),
        ("1½ Tbsp. of honey", "honey", "1 1/2 Tbsp"),
        ("1-1/2 cups water", "water", "1 1/2 cups"),
        ("1/4 cup + 2 tbsp ketchup", "ketchup", "1/4 cup 2 tbsp"),
        ("6 fl. oz. pineapple juice", "pineapple juice", "6 floz"),
        ("2 TABLESPOONS Soy Sauce (low sodium)", "low sodium Soy Sauce", "2 tablespoons"),
        ("3 cloves of garlic", "garlic", "3 cloves"),
        ("a quarter cup brown sugar", "brown sugar", "1/4 cup"),
        ("half a cup of soy sauce", "soy sauce", "1/2 cup"),
        ("One and a half cups water", "water", "1 1/2 cups"),
        ("1 and 1/2 cups water", "water", "1 1/2 cups"),
        ("three quarters of a cup honey", "honey", "3/4 cup"),
        ("1/4 cup plus one tbsp honey", "honey", "1/4 cup 1 tbsp"),
        ("three cloves garlic", "garlic", "3 cloves"),
        ("soy sauce", None, None),
    ],
)
def test_a_line_is_an_amount_and_a_name(line, name, amount):
    if name is None:
        with pytest.raises(InputError, match="an amount with its unit, then what it is"):
            entry_of_line("here", line)
    else:
        assert entry_of_line("here", line) == {"name": name, "amount": amount}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("salt to taste", "decides how salty"),
        (
            "a splash of rice vinegar",
            r"\(rice vinegar\), amount = '1 splash': a weight or a volume with its unit",
        ),
        ("2-3 tbsp soy sauce", "one amount is expected"),
        ("1,5 cups soy sauce", "the decimal sign is a point, '1.5 cups soy sauce'"),
        ("2 to 3 tbsp soy sauce", "one amount is expected"),
        ("2 tsp kosher salt", "name the kind"),
        ("1/4 cup soy sauce, no salt added", "is not a known ingredient"),  # never silently the salty kind
        ("2 heaping tbsp salt", "is not a known ingredient|a weight or a volume"),
        ("2 T brown sugar", "'T' is easily mistaken: write tbsp, tsp or cup"),
        ("1/2 c. soy sauce", "'c' is easily mistaken"),
        ("2 lemons", "is not a known ingredient|an amount with its unit"),
        ("2 tbsp seasoned rice vinegar", "from its label"),
        ("1/4 cup light soy sauce", "reduced sodium soy sauce"),
    ],
)
def test_a_line_that_could_mean_several_things_is_refused_with_the_reason(line, says):
    with pytest.raises(InputError, match=says) as caught:
        recipe(toml_text([line]))
    assert str(caught.value).startswith("m.toml: ingredient 1")
    assert len(str(caught.value).splitlines()) == 1


def test_ingredients_in_one_text_are_asked_for_as_a_list():
    with pytest.raises(InputError, match=r"a list in \[ \] is expected"):
        recipe('"1/2 cup soy sauce, 2 tbsp brown sugar"')


def test_names_with_amounts_lines_and_tables_say_the_same():
    heads = recipe('{ "soy sauce" = "1/2 cup", garlic = "3 cloves" }')
    lines = recipe('["1/2 cup soy sauce", "3 garlic cloves"]')
    mixed = recipe('["1/2 cup soy sauce", { name = "garlic", amount = "3 cloves" }]')
    assert heads.portions == mixed.portions
    assert lines.portions == mixed.portions
    assert mixed.portions[1].weight_kg == pytest.approx(0.009)


def test_the_label_of_a_bottle_counts_and_the_rest_is_as_known():
    (own,) = recipe('{ "soy sauce" = { amount = "15 mL", sodium = "575 mg per 15 mL" } }').portions
    (known,) = recipe('{ "soy sauce" = "15 mL" }').portions
    assert 1e6 * own.weight_kg * own.ingredient.salt / SALT_PER_SODIUM == pytest.approx(
        575.0, rel=1e-4
    )  # weights by the spoon are taken to a milligram
    assert (own.ingredient.water, own.ingredient.sugar) == (known.ingredient.water, known.ingredient.sugar)
    assert own.ingredient.source == "as typed"


def test_a_price_is_taken_by_weight_or_by_volume():
    soy = '"soy sauce" = { amount = "3 floz", price = "4.50 USD per 15 floz" }'
    typed = f'{{ {soy}, honey = {{ amount = "8 oz", price = "6 USD/lb" }}, salt = "1 tsp" }}'
    soak = recipe(typed)
    assert [one.cost and round(one.cost.value, 6) for one in soak.portions] == [0.9, 3.0, None]
    assert soak.cost.value == pytest.approx(3.9)
    assert soak.unpriced == ("salt",)
    with pytest.raises(InputError, match="one currency is expected"):
        recipe(typed.replace("6 USD/lb", "6 EUR/lb"))
    with pytest.raises(InputError, match="the size is missing"):
        recipe(typed.replace("6 USD/lb", "6 USD"))


def test_a_marinade_too_little_to_heat_in_still_tells_how_salty_it_makes_the_meat():
    told = 'ingredients = ["1/2 cup soy sauce", "2 tbsp brown sugar"]\ntime = "24 h"'
    batch = demo_text().replace('salt = "15 g/kg"', told).replace('sugar = "12 g/kg"', "#")
    with pytest.raises(InputError, match="too little to heat even a slice in"):
        parse_batch(batch, "b.toml")
    found = marinate(parse_marinade(batch, "b.toml"))
    assert 1e3 * found.marinade.salt_kg_kg == pytest.approx(21.5, abs=0.5)
