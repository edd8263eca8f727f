"""What a serving of dried meat holds, and how salty that is beside dried meats of published tables."""

from pathlib import Path

import pytest

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM
from dryingsim.batch.schema import Composition, Marinade
from dryingsim.judge.serving import (
    DRIED_BEEF_SODIUM,
    DRIED_BEEF_SUGAR,
    STRIP_J_KG,
    STRIP_PROTEIN,
    STRIP_SODIUM,
    STRIP_SUGAR,
    serving_of,
)
from dryingsim.judge.yield_and_cost import SERVING_KG
from dryingsim.show.kitchen.serving_words import serving_sentences

LEAN = Composition(water=0.74, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.01)


def salted(per_100_g):
    """A serving of dried meat with so much sodium [g] in 100 g, the meat's own among it."""
    own = 6e-4 / 0.45
    return serving_of(LEAN, Marinade(salt_kg_kg=(per_100_g / 100.0 - own) * SALT_PER_SODIUM * 0.45), 0.45)


def test_all_that_was_laid_on_is_in_the_servings():
    marinade, share = Marinade(salt_kg_kg=0.02, sugar_kg_kg=0.03, water_kg_kg=0.05), 0.45
    serving, servings = serving_of(LEAN, marinade, share), share / SERVING_KG  # of a kilogram of raw meat
    assert servings * serving.salt_kg == pytest.approx(0.02)
    assert servings * serving.sugar_kg == pytest.approx(0.03)
    assert servings * serving.protein_kg == pytest.approx(0.22)
    assert servings * serving.fat_kg == pytest.approx(0.03)
    assert servings * serving.sodium_kg == pytest.approx(0.02 / 2.542 + 6e-4, rel=1e-3)
    # 4, 9 and 4 kcal/g of protein, fat and sugar, with 4.184 J in a calorie
    assert servings * serving.energy_J / 4184.0 == pytest.approx(4 * 220.0 + 9 * 30.0 + 4 * 30.0, rel=1e-3)


@pytest.mark.parametrize(
    ("sodium", "grade", "says"),
    [
        (0.5, "mild", "Too salty? No, rather mild: 0.5 g"),
        (1.5, "usual", "Too salty? No, as dried meat usually is: 1.5 g"),
        (2.5, "very salty", "Too salty? It may be"),
        (3.5, "too salty", "Too salty? Yes"),
    ],
)
def test_too_salty_is_answered_beside_published_products(sodium, grade, says):
    serving = salted(sodium)
    assert serving.saltiness == grade
    answer = serving_sentences(serving)[1]
    assert answer.startswith(says)
    assert "USDA SR28 19002" in answer


@pytest.mark.parametrize(("share", "grade"), [(0.01, "hardly sweet"), (0.05, "usual"), (0.12, "sweet")])
def test_how_sweet_it_is(share, grade):
    assert serving_of(LEAN, Marinade(sugar_kg_kg=0.45 * share), 0.45).sweetness == grade


def test_products_it_is_compared_with_are_those_of_the_shared_table():
    rows = (Path(__file__).parents[2] / "shared/jerky_measured.csv").read_text(encoding="utf-8").splitlines()
    strip, beef = (next(row for row in rows if row.startswith(f"USDA SR28 {ndb}")) for ndb in (19002, 13350))
    assert f"(Na {1e5 * STRIP_SODIUM:.0f} mg" in strip
    assert f"sugars {100 * STRIP_SUGAR:.1f}" in strip
    assert f"(Na {1e5 * DRIED_BEEF_SODIUM:.0f} mg" in beef
    assert f"sugars {100 * DRIED_BEEF_SUGAR:.1f}" in beef


def test_a_serving_says_that_it_is_no_declaration():
    first = serving_sentences(salted(1.5))[0]
    assert "420 mg of sodium" in first  # 28 g of 1.5 %
    assert "not a declaration" in first


def test_each_figure_lies_within_its_range_and_labels_within_that():
    """Lean beef of 22 % protein dried to 45 %: by another animal's 23 % and another kitchen's 42 % it is 15.3 g."""
    serving = serving_of(LEAN, Marinade(salt_kg_kg=0.02, sugar_kg_kg=0.03), 0.45)
    ranges = serving.nine_in_ten()
    for name, (low, high) in ranges.items():
        assert low < getattr(serving, name) < high, name
    assert ranges["protein_kg"][0] < 28e-3 * 0.22 / 0.45 < 28e-3 * 0.23 / 0.42 < ranges["protein_kg"][1]
    # makes of soy sauce: 880 to 1030 mg of sodium in a tablespoon of the food table and of labels, +-8 %
    low, high = ranges["sodium_kg"]
    assert low < 0.92 * serving.sodium_kg < 1.08 * serving.sodium_kg < high
    assert high / low < 2.0


def test_a_sum_is_better_known_than_its_worst_part_and_nothing_is_nothing():
    serving = serving_of(LEAN, Marinade(salt_kg_kg=0.02), 0.45)
    ranges = serving.nine_in_ten()
    assert ranges["sugar_kg"] == (0.0, 0.0)
    width = {name: high / low for name, (low, high) in ranges.items() if low}
    assert width["protein_kg"] < width["energy_J"] < width["fat_kg"]
    assert width["sodium_kg"] < width["salt_kg"]


def test_energy_of_beef_strip_is_that_of_its_parts():
    row = 4 * 33.2 + 9 * 25.6 + 4 * 11.0  # kcal in 100 g, general factors
    assert pytest.approx(row, rel=2e-3) == STRIP_J_KG / 4184.0 / 10.0
    assert pytest.approx(0.332) == STRIP_PROTEIN
