"""Decline without heat: as published, nothing outside what was studied, and never any part of a verdict."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim.judge.decline import decline_rate, decline_without_heat
from dryingsim.judge.reductions import judge_lethality
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality.text import without_heat_lines
from validation.data import table
from validation.fits.heat import cold

UNITS = Units(warm_air(), "metric")
CELSIUS, DAY = 273.15, 86400.0


def over(days, celsius, activity):
    return float(
        decline_without_heat(np.array([0.0, days * DAY]), np.full(2, celsius + CELSIUS), np.full(2, activity))
    )


def test_the_rates_are_those_of_the_published_equation():
    rows = [row for row in table("heat_free_decline").rows if row["step"] == "model"]
    assert len(rows) > 5
    for row in rows:  # printed to four digits, the temperatures to a degree
        rate = DAY * float(decline_rate(float(row["temp_C"]) + CELSIUS))
        assert rate == pytest.approx(float(row["reduction_or_rate"]), rel=2e-3)


@pytest.mark.parametrize(
    ("celsius", "activity"), [(47.5, 0.8), (60.0, 0.5), (-1.0, 0.8), (25.0, 0.95), (25.0, 0.944)]
)
def test_nothing_is_credited_outside_what_was_studied(celsius, activity):
    assert over(30.0, celsius, activity) == 0.0


def test_it_grows_with_time_and_temperature():
    days = [over(d, 25.0, 0.9) for d in (0.0, 1.0, 2.0, 4.0)]
    warmer = [over(1.0, c, 0.9) for c in range(48)]
    assert (np.diff(days) > 0.0).all()
    assert (np.diff(warmer) > 0.0).all()


def test_an_interval_that_leaves_what_was_studied_counts_not_at_all():
    time, t = np.array([0.0, DAY, 2.0 * DAY]), np.array([25.0, 25.0, 60.0]) + CELSIUS
    assert float(decline_without_heat(time, t, np.full(3, 0.9))) == pytest.approx(over(1.0, 25.0, 0.9))


def test_it_stands_beside_and_makes_no_verdict():
    time = np.linspace(0.0, 30.0 * DAY, 31)
    t, a = np.full((31, 2, 1), 25.0 + CELSIUS), np.full((31, 2, 1), 0.8)
    judged = judge_lethality(time, t, a, "sliced", "beef", drying=True)
    assert judged.without_heat == pytest.approx(over(30.0, 25.0, 0.8))
    assert judged.without_heat > 7.0  # far more than is asked of E. coli
    assert judged.grade == "far below"
    assert max(entry.best for entry in judged.organisms) < 0.01
    told = " ".join(without_heat_lines(judged, UNITS))
    assert "counted in none of it: E. coli O157:H7 may have declined by about 7 or more log" in told
    assert "no better than a constant" in told
    assert without_heat_lines(replace(judged, without_heat=0.0), UNITS) == []


def test_on_studies_it_was_not_made_from_it_does_not_beat_a_constant():
    """What is printed of it; should better counts turn this round, the sentence has to go."""
    for organism in (None, "e_coli"):
        found = cold.compared(organism)
        assert found.studies >= 5
        assert found.constant < found.law
