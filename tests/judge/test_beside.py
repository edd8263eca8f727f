"""What others counted with acid and cure stands beside the verdict, where the marinade has them, and changes no figure."""

from dataclasses import replace

import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.catalog.ingredients import Ingredient
from dryingsim.batch.soaking import Portion, Soak
from dryingsim.judge.verdict import judge_as_computed
from dryingsim.show.lethality.finding_words import sentence
from validation.data import table


@pytest.fixture(scope="module")
def history():
    return ds.run(warm_air(), nodes=6)


def told(history, **shares):
    ingredient = Ingredient(name="sauce", water=0.8, salt=0.1, sugar=0.0, **shares)
    soak = Soak(
        portions=(Portion(ingredient=ingredient, weight_kg=0.1),), time_s=3600.0, temperature_K=277.15
    )
    marinade = replace(history.batch.marinade, soak=soak)
    return judge_as_computed(replace(history, batch=replace(history.batch, marinade=marinade)))


def test_acid_and_cure_are_told_where_they_are_and_change_nothing(history):
    plain = judge_as_computed(history)
    assert plain.beside == ()
    for shares, keys in (
        ({}, []),
        ({"acid": 0.05}, ["acid_counted"]),
        ({"nitrite": 0.01}, ["cure_counted"]),
        ({"acid": 0.05, "nitrite": 0.01}, ["acid_counted", "cure_counted"]),
    ):
        judged = told(history, **shares)
        assert [finding.key for finding in judged.beside] == keys
        assert judged.organisms == plain.organisms


def test_the_numbers_that_are_told_are_those_of_the_studies():
    rows = {int(row["row"]): row for row in table("lethality_challenge_studies").rows}
    ends = {
        number: (rows[number]["log_reduction_low"], rows[number]["log_reduction_high"])
        for number in (13, 14, 45, 48)
    }
    assert ends == {13: ("2.5", "4.0"), 14: ("4.0", ""), 45: ("2.8", "4.9"), 48: ("4.9", "6.7")}


def test_a_grade_of_few_nodes_comes_with_a_warning(history):
    judged = ds.judge_batch_lethality(history)
    (rough,) = (warning for warning in judged.warnings if warning.key == "few_nodes")
    assert rough.values == {"nodes": 6, "fewest": 16}
    assert "computed on 6 points across a slice" in sentence(rough)
    enough = ds.judge_batch_lethality(ds.run(history.batch, nodes=16, interval_s=300.0))
    assert "few_nodes" not in [warning.key for warning in enough.warnings]
