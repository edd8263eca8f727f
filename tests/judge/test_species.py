"""What the species of the meat asks for, and what a name that speaks of another one does."""

from dataclasses import replace

import pytest

from dryingsim import InputError, demo_batch, parse_batch, run
from dryingsim.batch.animals import check_species, clashing
from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.cuts import all_cuts
from dryingsim.judge.federal_table import column_of
from dryingsim.judge.parasites import MAY_CARRY_TRICHINELLA
from dryingsim.judge.verdict import HOME_ADVICE_K, judge_as_computed
from dryingsim.plan.trial import target_of
from dryingsim.show.lethality.brief import BRIEF
from dryingsim.show.lethality.finding_words import sentence


def meat_called(name, species):
    batch = demo_batch()
    return replace(batch, meat=replace(batch.meat, name=name, species=species))


def test_other_meat_is_judged_as_an_unknown_one():
    targets = {s: [catalog.target(o, s).log10 for o in catalog.organisms()] for s in catalog.SPECIES}
    assert (
        targets["other"]
        == targets["unknown"]
        == [max(column) for column in zip(*targets.values(), strict=True)]
    )
    assert column_of("other", fat=0.02, shelf_stable=True) == column_of("unknown")
    assert HOME_ADVICE_K["other"] == max(HOME_ADVICE_K.values())
    assert "other" in MAY_CARRY_TRICHINELLA


@pytest.mark.parametrize(
    ("name", "stated", "named", "judged"),
    [
        ("duck breast", "other", "poultry", "unknown"),
        ("Turkeys", "beef", "poultry", "unknown"),
        ("wild goose", "game", "poultry", "unknown"),
        ("smoked salmon", "beef", "fish", "unknown"),
        ("pork and turkey", "pork", "poultry", "unknown"),
        ("turkey bacon", "poultry", None, "poultry"),
        ("wild boar", "pork", "game", "game"),
        ("bacon", "beef", "pork", "pork"),
        ("beef", "game", "beef", "game"),
        ("venison", "poultry", "game", "unknown"),
        ("hamburger", "beef", None, "beef"),
        ("goat", "other", None, "other"),
        ("duck breast", "unknown", None, "unknown"),
    ],
)
def test_the_stricter_of_name_and_species_counts(name, stated, named, judged):
    meat = meat_called(name, stated).meat
    assert (meat.named_as, meat.judged_as) == (named, judged)
    for organism in catalog.organisms():
        asked = catalog.target(organism, meat.judged_as).log10
        assert asked >= max(catalog.target(organism, s).log10 for s in (stated, named or stated))


def test_no_cut_of_the_catalog_clashes():
    assert not [cut for cut in all_cuts().values() if clashing(cut.name, cut.species)]


def test_a_clash_is_told_first_and_asks_the_most():
    batch = meat_called("duck breast", "beef")
    judged = judge_as_computed(run(batch))
    assert judged.warnings[0].key == "species_clash"
    assert [warning.key for warning in judged.warnings if warning.key.startswith("species")] == [
        "species_clash"
    ]
    assert sentence(judged.warnings[0]).startswith("the meat is called 'duck breast', which is poultry")
    salmonella = next(entry for entry in judged.organisms if entry.organism == "salmonella")
    assert salmonella.target == target_of(batch, "salmonella") == 7.0
    assert judged.table.target == 7.0


def test_other_meat_says_what_it_is_judged_by():
    judged = judge_as_computed(run(meat_called("ostrich steak made up", "other")))
    assert judged.warnings[0].key == "species_clash"
    judged = judge_as_computed(run(meat_called("camel", "other")))
    assert judged.warnings[0].key == "species_other"
    assert "species_other" in BRIEF
    assert "strictest" in sentence(judged.warnings[0])


@pytest.mark.parametrize(
    ("typed", "advice"),
    [
        ("duck", r"did you mean 'poultry' \(all birds\)\?"),
        ("Deer", r"did you mean 'game' \(all wild animals with fur\)\?"),
        ("trout", r"did you mean 'fish' \(all fish\)\?"),
        ("lamb", r"did you mean 'other'"),
        ("Beef", "did you mean 'beef'"),
        ("stone", "'poultry'"),
    ],
)
def test_an_animal_is_answered_with_its_species(typed, advice):
    with pytest.raises(InputError, match=rf"species = '{typed}': .*{advice}"):
        check_species("species", typed)


def test_a_batch_file_answers_so():
    text = '[meat]\nspecies = "duck"\ncomposition = { water = "73 %", protein = "23 %", fat = "3 %", ash = "1 %" }\n'
    with pytest.raises(InputError, match=r"species = 'duck': did you mean 'poultry'"):
        parse_batch(text, "b.toml")
