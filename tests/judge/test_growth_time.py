"""How long meat stands warm and wet, and what that does to a verdict."""

import numpy as np
import pytest

from dryingsim.judge.growth_time import growth_hours
from dryingsim.judge.reductions import judge_lethality


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
            np.full((50, 2, 1), 303.15),
            np.full((50, 2, 1), 0.97),
        )
        assert bool(judge_lethality(time, t, a, "sliced", "beef").warnings) is warned


def test_growth_after_the_kill_warns_and_leaves_the_grade():
    time = np.concatenate([np.linspace(0.0, 3600.0, 61), np.linspace(3600.0, 12 * 3600.0, 61)])
    t = np.repeat([341.15, 308.15], 61)[:, None, None] * np.ones((1, 2, 1))
    found = judge_lethality(time, t, np.full_like(t, 0.98), "minced", "beef")
    assert found.grade == "reached"
    assert "bacteria grow" in str(found.warnings[0])
