"""What to do with dried meat, in plain words: where to put it, what goes wrong first, whether gel helps."""

import pytest

from dryingsim.batch.catalog.packages import find_package
from dryingsim.kitchen.packed_meat import Packing, Product
from dryingsim.kitchen.storage import keep
from dryingsim.properties.water_activity import Recipe, equilibrium_moisture
from dryingsim.show.core.quantities import Unit
from dryingsim.show.kitchen.storage_words import in_short, measured

pytestmark = pytest.mark.usefixtures("coarse_steps")

ROOM_K, GRAMS = 294.15, Unit("mass", "g")
RECIPE = Recipe(protein=0.80, salt=0.05, sugar=0.04)


def kept(activity, *, humidity=0.5, package="zip bag", gel_kg=0.0):
    product = Product(
        dry_mass_kg=0.2,
        moisture_db=float(equilibrium_moisture(activity, ROOM_K, RECIPE)),
        recipe=RECIPE,
        fat_share=0.08,
        wettest=activity,
        driest=activity,
    )
    packing = Packing(
        package=find_package("package", package),
        area_m2=0.06,
        gel_kg=gel_kg,
        gel_water=0.03,
        room_K=ROOM_K,
        room_humidity=humidity,
    )
    return keep(product, packing)


def lines_of(storage, grade="met"):
    return [f"{head}: {text}" for head, text in in_short(storage, grade, GRAMS).items()]


def said(activity, grade="met", **packing):
    return lines_of(kept(activity, **packing), grade)


@pytest.mark.parametrize("grade", ["far below", "below target", "not shown", "met only if measured"])
def test_what_was_not_shown_to_be_reduced_comes_before_any_time(grade):
    lines = said(0.70, grade)
    assert "not shown that drying reduced bacteria enough" in lines[0]
    assert not any(word in lines[0] for word in ("days", "weeks", "months"))
    assert lines[1:] == said(0.70)  # the times themselves stand


def test_without_a_batch_nothing_is_known_of_what_was_reduced():
    assert "nothing here tells whether bacteria were reduced enough" in lines_of(kept(0.70), None)[0]


def test_a_reduction_that_was_reached_goes_without():
    assert said(0.70)[0].startswith("Room: up to 7 days")


def test_brittleness_is_quality_and_leaves_the_time_alone():
    line = said(0.62)[0]
    assert line.startswith("Room: up to 7 days. It may be brittle from the beginning")
    assert "not spoilage" in line


def test_growth_forbids_the_room_and_gel_is_no_way_out():
    lines = said(0.82)
    assert lines[0].startswith("Room: do not keep it there: Staphylococcus")
    assert "no substitute for drying" in lines[-1]
    assert "refrigerate or freeze" in lines[-1]
    wet = said(0.93)
    assert wet[1].startswith("Refrigerator: do not keep it there: Listeria")
    assert "further, or freeze them" in wet[-1]


def test_a_weight_to_dry_on_to_is_told_where_a_scale_would_show_it():
    storage = kept(0.795)
    assert storage.dried_on_kg < storage.product.weight_kg
    words = in_short(storage, "met", GRAMS)["Room"]
    assert f"Dried on to {GRAMS.text(storage.dried_on_kg)} it keeps" in words
    assert "Dried on a little it keeps" in in_short(storage, "met", Unit("mass", "kg"))["Room"]


def test_gel_that_is_not_needed_is_left_out_and_said_when_it_would_make_brittle():
    line = said(0.70)[-1]
    assert line.startswith("Silica gel: leave it out. The meat keeps 7 days")
    assert "would make it brittle" in line


def test_gel_against_mould_is_told_in_spoons():
    storage = kept(0.785, package="jar")
    line = lines_of(storage)[-1]
    assert storage.gel_advised.gel_kg > 0.0
    assert f"put in {measured(storage.gel_advised.gel_kg, GRAMS)}" in line
    assert "spoon" in line
    more = kept(0.785, package="jar", gel_kg=storage.gel_advised.gel_kg + 1e-3)
    assert lines_of(more)[-1].endswith("That is in already.")


def test_brittle_meat_gets_no_gel():
    assert said(0.55)[-1] == "Silica gel: leave it out. The meat is brittle as it is."


@pytest.mark.parametrize(
    ("grams", "words"),
    [
        (1.0, "less than a teaspoon"),
        (3.5, "about 1 teaspoon"),
        (7.1, "about 2 teaspoons"),
        (16.0, "about 1.5 tablespoons"),
        (170.0, "about 1 cup"),
    ],
)
def test_kitchen_measures_of_gel(grams, words):  # a teaspoon of beads weighs 3.5 g at 0.72 kg/L
    assert words in measured(1e-3 * grams, GRAMS)


@pytest.mark.parametrize(
    ("activity", "package", "says"),
    [
        (0.70, "zip bag", "no use here, this bag lets oxygen in"),
        (0.70, "jar", "keeps mould and rancid fat away while the seal holds, and stops no bacteria"),
        (0.70, "foil pouch", "The times here do not count on it"),
        (0.84, "jar", "leave it out"),  # not surely below 0.85
        (0.95, "vacuum pouch", "bacteria that make toxins"),
    ],
)
def test_an_oxygen_absorber_is_for_tight_packages_and_dry_meat(activity, package, says):
    (line,) = [one for one in said(activity, package=package) if one.startswith("Oxygen")]
    assert says in line


@pytest.mark.parametrize(
    ("called", "name"),
    [
        ("Vacuum bag", "vacuum pouch"),
        ("glass jar", "jar"),
        ("zip-top bag", "zip bag"),
        ("metallized pouch", "metallised pouch"),
    ],
)
def test_a_package_by_what_else_it_is_called(called, name):
    assert find_package("package", called).name == name


@pytest.mark.parametrize(
    "package", ["zip bag", "freezer bag", "vacuum pouch", "metallised pouch", "foil pouch", "jar"]
)
@pytest.mark.parametrize("activity", [0.76, 0.82])
def test_no_time_told_is_longer_than_mould_and_growth_beside_it(package, activity):
    """What stands in short is at most the cautious figure of mould and of every harmful organism in the table."""
    storage = kept(activity, package=package)
    for keeping in storage.keepings[:2]:
        soonest = [row.when.cautious for row in keeping.growth if row.harmful] + [keeping.mould.cautious]
        assert keeping.days <= min((days for days in soonest if days is not None), default=1e9)
