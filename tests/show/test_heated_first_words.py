"""What a first screen says of a batch whose slices are heated before they dry, and what a map says it does not judge."""

from dataclasses import replace
from math import ceil

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim import demo_batch, run
from dryingsim.batch.laying import laid
from dryingsim.batch.schema import Until
from dryingsim.explore.maps import map_over
from dryingsim.judge.federal_table import column_of, required_time
from dryingsim.judge.verdict import judge_as_computed
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality.brief import safety_lines
from dryingsim.show.lethality.federal_text import table_line
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.map.text import map_document, map_sentences

pytestmark = pytest.mark.usefixtures("coarse_steps")


def judged(core_K=344.27, overlapping=0.0):
    batch = demo_batch()
    classes = laid(batch.meat.classes[:1], {"overlapping": overlapping} if overlapping else {})
    classes = tuple(replace(each, share=each.share / sum(one.share for one in classes)) for each in classes)
    heated = replace(batch.stages[0], until=Until(core_temperature_K=core_K))
    meat = replace(batch.meat, classes=classes)
    batch = replace(batch, meat=meat, stages=(heated, *batch.stages[1:]))
    return judge_as_computed(run(batch, nodes=8))


def said(lethality):
    return " ".join(safety_lines(lethality, Units(demo_batch(), "metric")))


def test_slices_in_liquid_come_with_a_caution_on_the_liquid():
    (warning,) = [each for each in judged().warnings if each.key == "liquid_taken_to_stay"]
    text = sentence(warning)
    for words in (
        "few slices at a time",
        "at least 10 times their weight",
        "an estimate",
        "stir",
        "measure the liquid",
    ):
        assert words in text
    assert "Keep the liquid hot" in said(judged())
    assert "liquid_taken_to_stay" not in [
        each.key for each in judge_as_computed(run(warm_air(), nodes=8)).warnings
    ]


def test_what_a_batch_does_already_is_not_advised_again():
    text = said(judged(overlapping=0.2))
    assert "part the slices while they heat, until all are at 71 °C" in text
    assert "boiling marinade" not in text
    text = said(judged(core_K=323.15))
    assert "heat the slices for longer, until all are at 71 °C" in text
    assert "boiling marinade" not in text
    assert "boiling marinade" in said(judge_as_computed(run(warm_air(), nodes=8)))


@pytest.mark.parametrize("tell", [lambda m: str(map_document(m)), lambda m: " ".join(map_sentences(m))])
def test_a_map_says_what_it_does_not_judge(tell):
    text = tell(map_over(warm_air(), {"thickness_m": np.array([3e-3, 4e-3])}, nodes=8))
    assert "A map does not judge what was measured, nor growth: run " in " ".join(text.split())
    assert "not as shown" not in text


def test_a_table_missed_in_liquid_says_how_long_there_would_meet_it():
    lethality = judged()
    assert not lethality.table.fulfilled
    text = table_line(lethality.table, Units(demo_batch(), "metric").temperature)
    asked_s = float(required_time(339.15, column_of("beef", shelf_stable=lethality.table.target == 5.0)))
    assert f"met by {ceil(asked_s / 60.0)} min in the liquid with the coldest place" in text
    assert "at 66 °C or more" in text
    assert "dry" not in text
