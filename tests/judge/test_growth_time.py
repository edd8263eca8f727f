"""How long meat stands warm and wet, and what that does to a verdict."""

import numpy as np
import pytest

from dryingsim.judge.growth_time import growth_hours
from dryingsim.judge.reductions import judge_lethality
from dryingsim.show.lethality.finding_words import sentence


@pytest.mark.parametrize(
    ("celsius", "activity", "hours"),
    [
        (9.9, 0.99, 0.0),
        (10.1, 0.99, 7.0),
        (54.3, 0.99, 7.0),
        (54.6, 0.99, 0.0),
        (30.0, 0.95, 0.0),
        (30.0, 0.951, 7.0),
    ],
)
def test_hours_warm_and_wet_by_hand(celsius, activity, hours):
    time, t, a = np.linspace(0.0, 7 * 3600.0, 8), np.full((8, 2, 1), 277.15), np.full((8, 2, 1), 0.9)
    t[:, 1], a[:, 1] = celsius + 273.15, activity
    assert growth_hours(time, t, a) == pytest.approx(hours)


def test_growth_warns_first_and_only_beyond_six_hours():
    for hours, warned in ((5.9, False), (6.1, True)):
        time, t, a = (
            np.linspace(0.0, 3600.0 * hours, 50),
            np.full((50, 2, 1), 288.15),
            np.full((50, 2, 1), 0.97),
        )
        assert bool(judge_lethality(time, t, a, "sliced", "beef").warnings) is warned


@pytest.mark.parametrize(
    ("activity", "hours", "warned"), [(0.90, 8.0, False), (0.90, 16.0, True), (0.80, 99.0, False)]
)
def test_s_aureus_is_warned_of_below_the_water_activity_of_the_hours(activity, hours, warned):
    time, t = np.linspace(0.0, 3600.0 * hours, 50), np.full((50, 2, 1), 308.15)
    found = judge_lethality(time, t, np.full_like(t, activity), "sliced", "beef")
    assert growth_hours(time, t, np.full_like(t, activity)) == 0.0
    text = " ".join(map(sentence, found.warnings))
    assert ("S. aureus may grow" in text) is warned
    assert ("more than the 2 log that federal guidance allows" in text) is warned
    assert "more than 6 h" not in text


def test_intact_muscle_is_warned_of_its_surface_only():
    time, t = np.linspace(0.0, 5.0 * 3600.0, 50), np.full((50, 5, 1), 308.15)
    a = np.full_like(t, 0.99)
    a[:, [0, -1]] = 0.8
    assert not judge_lethality(time, t, a, "sliced", "beef").warnings
    assert "S. aureus may grow" in sentence(judge_lethality(time, t, a, "pounded", "beef").warnings[0])


@pytest.mark.parametrize(("hours", "celsius", "activity", "grade"), [
    (3.0, 37.0, 0.98, "not shown"),  # 2 log and more of S. aureus, no 6 h
    (1.0, 37.0, 0.98, "met"),
    (16.0, 35.0, 0.90, "not shown"),  # drier than where the hours count
    (16.0, 35.0, 0.80, "met"),
])  # fmt: skip
def test_growth_before_the_reduction_withholds_the_grade(hours, celsius, activity, grade):
    warm, hot = np.linspace(0.0, hours * 3600.0, 61), np.linspace(hours * 3600.0, (hours + 1) * 3600.0, 61)
    t = np.repeat([celsius + 273.15, 341.15], 61)[:, None, None] * np.ones((1, 2, 1))
    a = np.repeat([activity, 0.98], 61)[:, None, None] * np.ones((1, 2, 1))
    found = judge_lethality(np.concatenate([warm, hot]), t, a, "minced", "beef")
    assert found.grade == grade
    assert all(one.held_back for one in found.organisms) is (grade == "not shown")


def test_net_change_is_growth_less_the_reduction_that_counts():
    time = np.concatenate([np.linspace(0.0, 7200.0, 61), np.linspace(7200.0, 7800.0, 61)])
    t = np.repeat([303.15, 333.15], 61)[:, None, None] * np.ones((1, 2, 1))
    found = judge_lethality(time, t, np.full_like(t, 0.98), "minced", "beef")
    killed = {one.organism: one.counted for one in found.organisms}
    for one in found.growth:
        if one.organism == "staphylococcus":
            assert one.net is None
        else:
            assert one.net == pytest.approx(one.upper - killed[one.organism])
    assert {one.organism for one in found.growth} == {"staphylococcus", "salmonella", "e_coli", "listeria"}


def test_growth_after_the_reduction_warns_and_leaves_the_grade():
    time = np.concatenate([np.linspace(0.0, 3600.0, 61), np.linspace(3600.0, 12 * 3600.0, 61)])
    t = np.repeat([341.15, 308.15], 61)[:, None, None] * np.ones((1, 2, 1))
    found = judge_lethality(time, t, np.full_like(t, 0.98), "minced", "beef")
    assert found.grade == "met"
    assert found.warnings[0].key == "bacteria_grow"
