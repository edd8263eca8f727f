"""A water activity that was typed or estimated reaches nothing by itself: the air logged beside the meat has to support it."""

from dataclasses import replace

import numpy as np
import pytest
from made_readings import Probe, log_text, simulated

from dryingsim.errors import InputError
from dryingsim.judge.probe import judge_log, judge_probe
from dryingsim.judge.thermometer_log import read_log
from dryingsim.show.lethality.finding_words import sentence

HOT = "\n".join(f"{2 * i}, {min(5.0 + 4.0 * i, 71.0):.1f}" for i in range(80))


def grade(text, species="beef", **given):
    found = judge_probe(judge_log(read_log(text), **given), species)
    return found.grade, " ".join(map(sentence, found.warnings))


@pytest.mark.parametrize("typed", [0.99, 0.98, 0.94])
def test_typed_at_the_command(typed):
    """The probe may hang in air that warms as slowly as meat: nothing in the readings tells."""
    was, told = grade(f"time [min], meat [degC]\n{HOT}\n", water_activity=typed)
    assert was == "not shown"
    assert "typed or estimated" in told


def test_estimated_by_weighing():
    """The mean of a drying slice is far wetter than its surface, where the bacteria are."""
    rows = "\n".join(f"{row}, {max(0.98 - 0.001 * i, 0.9):.3f}" for i, row in enumerate(HOT.splitlines()))
    was, told = grade(f"time [min], meat [degC], water activity\n{rows}\n")
    assert was == "not shown"
    assert "dries first" in told


@pytest.mark.parametrize(("humidity", "expected"), [(95, "met"), (75, "not shown"), (20, "not shown")])
def test_humid_air_beside_the_meat_supports_it(humidity, expected):
    rows = "\n".join(f"{row}, {humidity}" for row in HOT.splitlines())
    assert grade(f"time [min], meat [degC], rh [%]\n{rows}\n", water_activity=0.99)[0] == expected


@pytest.mark.parametrize("schedule", ["dry", "humid, then dry", "steamy, then dry"])
def test_what_the_air_supports_is_never_wetter_than_the_simulated_surface(schedule):
    """Where the vapour at the surface is no less than the air's; a degree of noise in neither is left out here."""
    history = simulated(schedule)
    probe = Probe(
        every_s=120.0, lag_s=1e-3, noise_K=0.0, columns=("water_activity", "relative_humidity", "air")
    )
    found = judge_log(read_log(log_text(history, probe)), thickness_m=2e-3)
    surface = history.surface_water_activity[:, :, 0].min(axis=1)
    there = np.interp(found.time_s, history.time_s, surface)
    dry = found.shown_water_activity < 0.9  # above, moist air is taken at the guideline's word
    # 0.03: the air is logged with its thermometer's noise of half a kelvin, and rounded to a per cent of humidity
    assert np.all(found.shown_water_activity[dry] <= np.maximum(there[dry], 0.1) + 0.03)


def test_percent_in_a_log_made_in_python_is_refused():
    log = read_log(f"time [min], meat [degC]\n{HOT}\n")
    for name in ("water_activity", "relative_humidity"):
        with pytest.raises(InputError, match=f"{name} goes beyond 0 to 1; fractions, not percent"):
            replace(log, **{name: np.full(log.time_s.size, 95.0)})
