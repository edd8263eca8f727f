"""Pictures of spreads show what was found."""

import io
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim import demo_batch
from dryingsim.batch.schema import Humidity
from dryingsim.explore.spread import spread
from dryingsim.show.core.quantities import at_least
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.spread.pictures import spread_figure
from dryingsim.show.spread.text import slices_npz, spread_document, spread_sentences, spread_table, summary


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
    assert "Shares are by number here" in text
    assert f"{100 * found.slowest_misses().value:.0f} %" in text


@pytest.fixture(scope="module")
def met_as_planned():
    """Slices heated in liquid at 170 °F, hot enough as they are meant, and in most kitchens."""
    demo = demo_batch()
    heating, drying = demo.stages
    cooler = replace(heating, air=replace(heating.air, temperature_K=349.82))
    return spread(replace(demo, stages=(cooler, drying)), slices=128, batches=64, nodes=12)


def with_reductions(found, lower):
    return replace(found, numbers=found.numbers | {"lower": np.broadcast_to(lower, found.kind.shape)})


def test_a_batch_that_is_met_as_planned_alone_is_not_told_as_met(met_as_planned):
    lower = np.full((64, met_as_planned.kind.size // 64), 9.0)
    lower[:16] = 0.0
    told = with_reductions(met_as_planned, lower.reshape(-1))
    assert told.judged.grade == "met"
    assert told.grade == summary(told)["reduction"]["grade"] == "not shown"
    assert summary(told)["reduction"]["grade_as_meant"] == "met"
    first = " ".join(plain_text(spread_document(told)).split())
    as_planned = "SAFETY NOT SHOWN for all slices: as planned met (5.1 of 5 log), but in 25 of 100 kitchens"
    assert as_planned in first
    assert "MET by" not in first
    assert "Better: boil or steam them for 5 min (ways: 'run --remedies')." in first
    assert "for all slices that is not shown" in " ".join(spread_sentences(told))


def test_a_batch_is_met_where_all_its_slices_are(met_as_planned):
    all_met = with_reductions(met_as_planned, 9.0)
    assert all_met.grade == "met"
    first = " ".join(plain_text(spread_document(all_met)).split())
    assert "MET by this estimate" in first
    assert "In 0 of 100 kitchens some slice stays below 5 log (lower bound)" in first
    assert "NOT SHOWN" not in first


def test_up_to_one_kitchen_in_twenty_may_miss_as_far_as_those_drawn_can_tell(met_as_planned):
    batches = met_as_planned.sample.batches["setpoint"].size
    grades = {}
    for missing in (0, 1, 3, 4):  # kitchens of 64
        lower = np.full((batches, met_as_planned.kind.size // batches), 9.0)
        lower[:missing] = 0.0
        told = with_reductions(met_as_planned, lower.reshape(-1))
        grades[missing] = told.grade
        assert told.reduction_misses().value == pytest.approx(missing / batches)
    assert grades == {0: "met", 1: "met", 3: "not shown", 4: "not shown"}


def test_too_few_kitchens_tell_nothing_of_one_in_twenty(met_as_planned):
    lower = np.full((64, met_as_planned.kind.size // 64), 9.0)
    lower[:3] = 0.0
    told = with_reductions(met_as_planned, lower.reshape(-1))
    first = " ".join(plain_text(spread_document(told)).split())
    assert "but of 64 kitchens drawn, 7 in 100 may have a slice below; more --slices tell." in first
    assert "MET by" not in first


def test_how_long_kitchens_heat_is_told_and_kept(met_as_planned):
    heated_s = met_as_planned.heating.heated_s
    assert heated_s.shape == (64,)
    assert summary(met_as_planned)["heating"]["heated_s"]["p50"] == np.median(heated_s)
    text = " ".join(spread_sentences(met_as_planned))
    assert f"half of them for {at_least(float(np.median(heated_s)))} or more" in text
    assert "It is no reason to heat for less." in text
    arrays = np.load(io.BytesIO(slices_npz(met_as_planned)))
    np.testing.assert_array_equal(arrays["heated_s"], heated_s)


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
