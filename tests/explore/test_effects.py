"""First-order and total effects: the estimator on a function whose effects are known, and on slices."""

from dataclasses import replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.errors import InputError
from dryingsim.explore.effect_shares import shares
from dryingsim.explore.effects import effects
from dryingsim.explore.sampling import sobol

SURE = {key: ds.Uncertainty("normal", 0.0) for key in INPUTS}


def ishigami(u, a=7.0, b=0.1):
    x = np.pi * (2.0 * u - 1.0)
    return np.sin(x[0]) + a * np.sin(x[1]) ** 2 + b * x[2] ** 4 * np.sin(x[0])


def exact(a=7.0, b=0.1):
    """First-order and total effects (Ishigami and Homma 1990; Saltelli et al. 2008, the variances in closed form)."""
    first = 0.5 * (1.0 + b * np.pi**4 / 5.0) ** 2, a**2 / 8.0, 0.0
    joint = b**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    variance = sum(first) + joint
    return np.array([[*first], [first[0] + joint, first[1], joint]]) / variance


def estimate(points, seed):
    a, b = np.split(points, 2)
    mixed = [np.where(np.arange(3)[:, None] == i, b, a) for i in range(3)]
    found = shares(ishigami(a), ishigami(b), np.array([ishigami(one) for one in mixed]), seed)
    values = np.array([[one.first for one in found], [one.total for one in found]])
    errors = np.array([[one.first_error for one in found], [one.total_error for one in found]])
    return values, errors


def test_the_effects_of_a_known_function_come_out_within_their_errors():
    values, errors = estimate(sobol(6, 4096, 1), 1)
    assert np.all(np.abs(values - exact()) < 3.0 * errors)
    assert errors.max() < 0.05


def test_the_errors_are_those_of_random_points():
    drawn = [estimate(np.random.default_rng(seed).random((6, 512)), seed) for seed in range(100)]
    values, errors = (np.array([pair[i] for pair in drawn]) for i in range(2))
    scatter = values.std(axis=0, ddof=1)
    # a standard deviation of 100 is known to 7 %, times three; of a third input that does nothing alone no more is asked
    np.testing.assert_allclose(errors.mean(axis=0), scatter, rtol=0.25)
    np.testing.assert_allclose(values.mean(axis=0), exact(), atol=0.03)  # three errors of the mean of 100


@pytest.fixture(scope="module")
def batch():
    demo = ds.demo_batch()
    first = replace(demo.stages[demo.first_drying], duration_s=8 * 3600.0, until=None)
    classes = (replace(demo.meat.classes[0], share=1.0),)
    return replace(demo, stages=(first,), meat=replace(demo.meat, classes=classes))


def test_what_alone_is_uncertain_makes_all_the_difference(batch):
    found = effects(batch, SURE | {"thickness_between": ds.Uncertainty("lognormal", 0.1)}, slices=200)
    (name,) = found.of_time
    assert (name, found.rows, found.slices) == ("thickness_between", 64, 192)
    assert found.of_time[name].first == pytest.approx(1.0, abs=3.0 * found.of_time[name].first_error)
    assert found.of_time[name].total == pytest.approx(1.0, abs=3.0 * found.of_time[name].total_error)


def test_correlated_inputs_have_one_effect_and_the_shares_add_up(batch):
    stated = SURE | {
        "thickness_between": ds.Uncertainty("lognormal", 0.1),
        "film": ds.Uncertainty("normal", 0.05),
        "setpoint": ds.Uncertainty("normal", 2.0),
        "diffusivity_slices": ds.Uncertainty("lognormal", 0.1),
    }
    found = effects(batch, stated, correlations=[("film", "setpoint", 0.4)], slices=640)
    assert set(found.of_time) == {"thickness_between", "film + setpoint", "diffusivity_slices"}
    assert next(iter(found.of_time)) == "thickness_between"
    each = found.of_time.values()
    # hardly anything acts through another thing here: alone they explain nearly all, and each as much as in total
    off = 3.0 * np.hypot.reduce([one.first_error for one in each])
    assert sum(one.first for one in each) == pytest.approx(1.0, abs=off)
    for one in each:
        assert one.first == pytest.approx(one.total, abs=3.0 * np.hypot(one.first_error, one.total_error))


def test_too_few_slices_are_refused(batch):
    with pytest.raises(InputError, match="slices = 100: 480 or more are expected for effects of 13 inputs"):
        effects(batch, slices=100)
