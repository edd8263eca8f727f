"""Every example batch file runs and closes its balances."""

import pathlib

import pytest

from dryingsim import load_batch, run

EXAMPLES = pathlib.Path(__file__).resolve().parents[1] / "examples"
BATCHES = sorted(path for path in EXAMPLES.glob("*.toml") if "[meat]" in path.read_text())


@pytest.mark.parametrize("path", BATCHES, ids=lambda path: path.stem)
def test_example_runs(path):
    history = run(load_batch(path), nodes=12)
    assert history.water_closure <= 1e-9
    assert history.weight_loss[-1] > 0.3


def test_there_are_examples():
    assert {"climate_chamber", "oven_door_ajar", "stacked_dehydrator"} <= {path.stem for path in BATCHES}
