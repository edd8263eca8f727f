"""For all tests; that this file is here also lets them import `made_history`, which lies beside it."""

import sys

import pytest


@pytest.fixture(autouse=True)
def figures_closed():
    """Close what pyplot has opened where a test needed it."""
    yield
    if "matplotlib.pyplot" in sys.modules:
        sys.modules["matplotlib.pyplot"].close("all")
