"""Pictures of spreads show what was found."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim import demo_batch
from dryingsim.batch.schema import Humidity
from dryingsim.explore.spread import spread
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.spread.pictures import spread_figure
from dryingsim.show.spread.text import spread_document, spread_sentences, spread_table, summary


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=5 * 3600.0),))


@pytest.fixture(scope="module")
def found(batch):
    return spread(batch, slices=64, nodes=8)


def test_bands_are_drawn_as_they_are(found):
    dry, shares, warm, causes = spread_figure(found).axes
    line = next(one for one in dry.lines if one.get_xydata().shape[0] == found.times_s.size)
    np.testing.assert_array_equal(line.get_ydata(), found.bands("water_activity", (0.5,))[0])
    assert shares.get_ylim() == (0.0, 1.0)
    assert "°C" in warm.get_ylabel()
    widths = [bar.get_width() for bar in causes.patches]
    assert widths[-1] == pytest.approx(next(iter(found.influences().values())))


def test_us_units_are_drawn(found):
    assert "°F" in spread_figure(found, "us").axes[2].get_ylabel()
    assert spread_table(found, "us").columns[4].heading[2] == "°F"


def test_sentences_tell_the_numbers(found):
    text = " ".join(spread_sentences(found))
    assert f"{found.in_batch} slices" in text
    assert f"{100 * found.slowest_misses().value:.0f} %" in text


@pytest.fixture(scope="module")
def met_as_planned():
    """Slices heated in liquid at 170 °F, hot enough as they are meant; in many kitchens some slice is not."""
    demo = demo_batch()
    heating, drying = demo.stages
    cooler = replace(heating, air=replace(heating.air, temperature_K=349.82))
    return spread(replace(demo, stages=(cooler, drying)), slices=64, nodes=12)


def with_reductions(found, lower):
    return replace(found, numbers=found.numbers | {"lower": np.broadcast_to(lower, found.kind.shape)})


def test_a_batch_that_is_met_as_planned_alone_is_not_told_as_met(met_as_planned):
    assert met_as_planned.judged.grade == "met"
    assert met_as_planned.reduction_misses().value > 0.05
    assert met_as_planned.grade == summary(met_as_planned)["reduction"]["grade"] == "not shown"
    assert summary(met_as_planned)["reduction"]["grade_as_meant"] == "met"
    first = " ".join(plain_text(spread_document(met_as_planned)).split())
    missed = f"{100 * met_as_planned.reduction_misses().value:.0f} of 100 kitchens"
    assert "SAFETY NOT SHOWN for all slices: as planned met (5.1 of 5 log), but in " + missed in first
    assert "MET by" not in first
    assert "for all slices that is not shown" in " ".join(spread_sentences(met_as_planned))


def test_a_batch_is_met_where_all_its_slices_are(met_as_planned):
    all_met = with_reductions(met_as_planned, 9.0)
    assert all_met.grade == "met"
    first = " ".join(plain_text(spread_document(all_met)).split())
    assert "MET by this estimate" in first
    assert "In 0 of 100 kitchens some slice stays below 5 log (lower bound)" in first
    assert "NOT SHOWN" not in first


def test_up_to_one_kitchen_in_twenty_may_miss(met_as_planned):
    batches = met_as_planned.sample.batches["setpoint"].size
    chances = {}
    for missing in (0, 1):  # one slice of one kitchen, of so many
        lower = np.full((batches, met_as_planned.kind.size // batches), 9.0)
        lower[:missing, 0] = 0.0
        told = with_reductions(met_as_planned, lower.reshape(-1))
        chances[told.grade] = told.reduction_misses().value
    assert chances["met"] <= 0.05 < chances["not shown"]


def test_humid_air_is_a_word_only_where_it_counts(met_as_planned):
    heating, drying = met_as_planned.batch.stages
    humid = replace(drying.air, humidity=Humidity(kind="relative", value=0.5))
    in_it = replace(met_as_planned.batch, stages=(heating, replace(drying, air=humid)))
    organisms = tuple(replace(one, grade="not shown") for one in met_as_planned.judged.organisms)
    judged = replace(met_as_planned.judged, organisms=organisms)
    told = [
        "in air as humid as it is computed" in " ".join(spread_sentences(found))
        for found in (
            met_as_planned,  # in none
            replace(met_as_planned, batch=in_it),  # met without it
            replace(met_as_planned, batch=in_it, judged=judged),
        )
    ]
    assert told == [False, False, True]
