"""An ideal thermostat that senses the air after the trays: its loop is stable, and rests where the old one rested."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.errors import SolverError
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.surroundings import ApplianceSurroundings
from dryingsim.simulate import run

BATCH = load_batch(Path(__file__).resolve().parents[2] / "examples" / "stacked_dehydrator.toml")


def loaded(kg=0.5, hours=2.0, power_W=600.0, sensor="return", **trays):
    appliance = BATCH.appliance
    heater = dataclasses.replace(appliance.heater, power_W=power_W, sensor=sensor)
    appliance = dataclasses.replace(
        appliance, heater=heater, trays=dataclasses.replace(appliance.trays, **trays)
    )
    stage = dataclasses.replace(BATCH.stages[0], duration_s=hours * 3600.0, until=None)
    meat = dataclasses.replace(BATCH.meat, weight_kg=kg)
    return dataclasses.replace(BATCH, meat=meat, appliance=appliance, stages=(stage,))


def at_once(heater, setting, sensed, held, supply, following):
    """Let the heater answer the return at once, as a supply sensor's does: the loop that swings."""
    return setting - sensed, (sensed - held) / heater.sensor_lag_s


def rates_of_modes(batch, seconds):
    """Eigenvalues of the loaded appliance's equations as they stand after some time [1/s]."""
    surroundings = ApplianceSurroundings(batch, 5, 1e-4)
    surroundings.begin(batch.stages[0], 0.0)
    stepper = Stepper(surroundings.system, 0.0, surroundings.initial())
    while stepper.t < seconds:
        stepper.step(seconds)
    y, t = stepper.y, stepper.t

    def eigenvalues():
        matrix = np.empty((y.size, y.size))
        for column in range(y.size):
            nudge = np.zeros(y.size)
            nudge[column] = 1e-6 * max(abs(y[column]), 1e-3)
            ahead, behind = surroundings.system.rhs(t, y + nudge), surroundings.system.rhs(t, y - nudge)
            matrix[:, column] = (ahead - behind) / (2.0 * nudge[column])
        return np.linalg.eigvals(matrix)

    return eigenvalues


@pytest.mark.parametrize(
    "setting",
    [
        {},
        {"kg": 0.1},
        {"power_W": 5000.0},
        {"flow": "parallel"},
        {"circulation_m3_s": 5.0 / 3600.0},  # 14 s round
        {"circulation_m3_s": 2000.0 / 3600.0},
    ],
    ids=str,
)
def test_no_mode_of_the_loop_grows_or_rings(setting):
    found = rates_of_modes(loaded(**setting), 900.0)()
    assert found.real.max() < 1e-6  # running totals rest at 0, known to the rounding of the differences
    swinging = found[np.abs(found.imag) > 1e-6]
    assert np.all(-swinging.real > 0.5 * np.abs(swinging))  # each swing is a sixth of the one before, or less


def test_a_heater_that_answers_the_return_at_once_swings(monkeypatch):
    """What the test above would say of it: at the same state, with the heater neither off nor full on."""
    eigenvalues = rates_of_modes(loaded(), 900.0)
    assert eigenvalues().real.max() < 1e-6
    monkeypatch.setattr("dryingsim.model.chamber.shortfall", at_once)
    assert eigenvalues().real.max() > 0.01


@pytest.mark.parametrize("kg", [0.5, 1.0])
@pytest.mark.parametrize("celsius", [55.0, 68.0])
def test_a_run_takes_few_steps_and_keeps_its_balances(kg, celsius):
    batch = loaded(kg, hours=8.0)
    warm = dataclasses.replace(batch.stages[0].air, temperature_K=celsius + 273.15)
    history = run(
        dataclasses.replace(batch, stages=(dataclasses.replace(batch.stages[0], air=warm),)), nodes=12
    )
    assert history.statistics.steps < 300  # two thousand and more in the first minutes, when it swung
    chamber = history.chamber
    assert max(history.water_closure, chamber.water_closure) < 1e-9
    assert max(history.energy_closure, chamber.energy_closure) < 1e-6
    leaving = chamber.cell_temperature_K[:, -1] - 273.15
    assert leaving.max() < celsius + 0.5  # no more above its setting than the width of the switch
    assert abs(leaving[-1] - celsius) < 0.3


def test_a_swinging_heater_is_given_up_instead_of_followed(monkeypatch):
    monkeypatch.setattr("dryingsim.model.chamber.shortfall", at_once)
    monkeypatch.setattr("dryingsim.simulate._STEPS_SEEN", 100)  # soon enough for a test
    with pytest.raises(
        SolverError, match=r"stage 1 .* is given up after .*: the last steps were 0\.0\d+ s long"
    ):
        run(loaded(power_W=800.0), nodes=6)


def test_it_rests_where_the_direct_heater_did(monkeypatch):
    """On a load that lets the direct heater be stable."""
    batch = loaded(0.1, hours=6.0)
    now = run(batch, nodes=12).chamber
    monkeypatch.setattr("dryingsim.model.chamber.shortfall", at_once)
    before = run(batch, nodes=12).chamber
    np.testing.assert_allclose(now.cell_temperature_K[-1], before.cell_temperature_K[-1], atol=0.01)
    energy = [one.totals["heater_J"][-1] for one in (now, before)]
    assert energy[0] == pytest.approx(energy[1], rel=1e-3)  # the warming up differs, by seconds
