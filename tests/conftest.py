"""For all tests; that this file is here also lets them import the helpers that lie beside it."""

import gc
import sys
from functools import cache

import pytest
from made_batch import warm_air_text
from made_once import KeptRuns
from typer.main import get_command

from dryingsim import simulate
from dryingsim.engine.ensemble import TOLERANCE
from dryingsim.judge import relied_air

pytest.register_assert_rewrite("complaints", "made_text")  # so that their asserts say what they compared


def pytest_collection_finish():
    """Let the garbage collector pass over thousands of collected tests, and come less often: a tenth of all time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="session", autouse=True)
def command_line_built_once():
    """Build the command line once, not for each of thousands of calls: that takes 10 ms."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("typer.testing._get_command", cache(get_command), raising=False)
        yield


@pytest.fixture(scope="module")
def coarse_steps():
    """Let runs take coarse steps, as many slices do: for modules that look at what is said of a run, not at its numbers."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(simulate.run.__kwdefaults__, "tolerance", TOLERANCE)
        patch.setattr(relied_air._run_again, "__defaults__", (TOLERANCE,))
        yield


_RUNS = KeptRuns()


@pytest.fixture(scope="module")
def runs_kept():
    """Simulate each batch once, for modules that look at what is said of a run: not at how it comes about."""
    with pytest.MonkeyPatch.context() as patch:
        _RUNS.put_into(patch)
        yield


@pytest.fixture(scope="module", autouse=True)
def kept_where_runs_are_told_of(request):
    """Keep runs for commands, what is shown, fits, and the fuzz; other modules ask for `runs_kept` themselves."""
    if request.path.parent.name in ("cli", "show", "learn", "fuzz"):
        request.getfixturevalue("runs_kept")


@pytest.fixture(autouse=True)
def figures_closed():
    """Close what pyplot has opened where a test needed it."""
    yield
    if "matplotlib.pyplot" in sys.modules:
        sys.modules["matplotlib.pyplot"].close("all")


@pytest.fixture
def short(tmp_path):
    """A batch file whose run ends after half an hour."""
    path = tmp_path / "short.toml"
    path.write_text(warm_air_text().replace('duration = "10 h"', 'duration = "30 min"'), encoding="utf-8")
    return path
