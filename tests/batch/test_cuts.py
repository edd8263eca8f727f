"""The table of cuts against the reference table it was taken from, and the look-up by name."""

from dataclasses import astuple

import pytest

from dryingsim.batch.catalog import cuts
from dryingsim.batch.catalog.cuts import all_cuts, find_cut, source
from dryingsim.errors import InputError


@pytest.mark.parametrize("name", all_cuts())
def test_printed_parts_sum_to_about_a_hundred(name):
    cut = all_cuts()[name]
    total = cut.water + cut.protein + cut.fat + cut.carbohydrate + cut.ash
    assert 99.0 <= total <= 101.3  # the source analyses each part on its own
    assert all(part >= 0.0 for part in astuple(cut.composition))


@pytest.mark.parametrize("name", all_cuts())
def test_composition_sums_to_one_and_keeps_ratios(name):
    cut = all_cuts()[name]
    fractions = cut.composition
    assert sum(astuple(fractions)) == pytest.approx(1.0, abs=1e-12)
    assert fractions.water / fractions.protein == pytest.approx(cut.water / cut.protein, rel=1e-12)


def test_each_food_of_the_source_appears_once():
    numbers = [cut.ndb for cut in all_cuts().values()]
    assert len(set(numbers)) == len(numbers)
    assert "public domain" in source()


@pytest.mark.parametrize(
    ("name", "ndb", "water", "protein", "fat", "ash"),
    [  # typed a second time from the printed table
        ("beef eye of round", 23360, 73.43, 23.37, 3.04, 1.10),
        ("beef flank", 23656, 72.08, 21.57, 5.47, 1.02),
        ("venison", 17164, 73.57, 22.96, 2.42, 1.16),
        ("turkey breast", 5219, 74.89, 23.66, 1.48, 1.04),
        ("minced beef 90/10", 23562, 69.45, 20.00, 10.00, 0.98),
    ],
)
def test_values_as_printed(name, ndb, water, protein, fat, ash):
    cut = find_cut("here", name)
    assert (cut.ndb, cut.water, cut.protein, cut.fat, cut.ash) == (ndb, water, protein, fat, ash)


def test_capitals_and_blanks_do_not_matter():
    assert find_cut("here", "  Beef Eye  of round ").name == "beef eye of round"


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("eye of rond", "beef eye of round"),
        ("beaf flank", "beef flank"),
        ("chicken brest", "chicken breast"),
        ("Vension", "venison"),
    ],
)
def test_unknown_cut_offers_the_nearest(typed, near):
    with pytest.raises(InputError) as caught:
        find_cut("b.toml: [meat], cut", typed)
    message = str(caught.value)
    assert message.startswith(f"b.toml: [meat], cut = '{typed}' is not a known cut; did you mean '{near}'?")
    assert len(message.splitlines()) == 1


@pytest.mark.parametrize("typed", ["zebra", 7, None])
def test_cut_like_no_other_points_to_the_list(typed):
    with pytest.raises(InputError, match="is not a known cut; 'dryingsim list cuts' shows all"):
        find_cut("b.toml: [meat], cut", typed)


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("top round", "beef top round"),
        ("Eye of  round", "beef eye of round"),
        ("ground venison", "minced venison"),
    ],
)
def test_a_butchers_word_for_one_cut_is_that_cut(typed, name):
    assert find_cut("x", typed).name == name


def test_every_butchers_word_names_a_cut_that_there_is():
    assert set(cuts._ALSO.values()) <= set(all_cuts())
    assert not set(cuts._ALSO) & set(all_cuts())
