"""For tests of what is told of slips."""

import pytest


@pytest.fixture(scope="module", autouse=True)
def each_batch_simulated_once(runs_kept):
    """Look at what is said of a run: see `runs_kept`."""
