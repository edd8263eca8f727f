"""For all tests; that this file is here also lets them import the helpers that lie beside it."""

import sys

import pytest
from made_batch import warm_air_text

pytest.register_assert_rewrite("complaints", "made_text")  # so that their asserts say what they compared


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
