"""The curve between knots is scipy's, and never overshoots."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from dryingsim.kernels.monotone import monotone_cubic


@pytest.mark.parametrize("knots", [3, 5, 8])
def test_it_is_the_curve_of_scipy(knots):
    rng = np.random.default_rng(1)
    values, at = rng.normal(size=(50, 2, knots)), np.linspace(0.0, knots - 1.0, 60)
    values[::3, :, 2] = values[::3, :, 1]  # level pieces too
    theirs = PchipInterpolator(np.arange(knots), values, axis=-1)(at)
    assert monotone_cubic(values, at) == pytest.approx(theirs, abs=1e-13)  # rounding


def test_what_only_rises_never_falls():
    values = np.array([0.0, 1e-3, 1e-3, 5.0, 5.1])
    assert (np.diff(monotone_cubic(values, np.linspace(0.0, 4.0, 500))) >= 0.0).all()
