"""What is uncertain: how it is read, and how it is drawn."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air, warm_air_text

from dryingsim.batch.uncertainties import INPUTS, default_uncertainties, read_uncertainties, uncertainties_of
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.errors import InputError
from dryingsim.explore.sampling import draw


@pytest.mark.parametrize(
    ("shape", "size", "says"),
    [
        (
            "banana",
            0.15,
            "Uncertainty, shape = 'banana': one of 'normal', 'lognormal', 'student', 'uniform' is expected",
        ),
        ("norml", 0.15, "did you mean 'normal'"),
        (None, 0.15, "Uncertainty, shape = None: one of"),
        ("normal", -0.1, "Uncertainty, size = -0.1: a number from 0 up is expected"),
        ("normal", float("nan"), "Uncertainty, size = nan: a number"),
        ("uniform", float("inf"), "Uncertainty, size = inf: a number"),
        ("normal", "5 %", "Uncertainty, size = '5 %': a number"),
        ("normal", True, "a number from 0 up"),
    ],
)
def test_an_uncertainty_without_meaning_is_refused(shape, size, says):
    with pytest.raises(InputError, match=says) as error:
        Uncertainty(shape, size)
    assert "\n" not in str(error.value)


def test_a_file_that_says_nothing_has_the_defaults():
    assert read_uncertainties({}, "b.toml") == {}
    assert uncertainties_of(warm_air()) == default_uncertainties()


def test_what_is_typed_counts():
    typed = {"thickness_between": "12 %", "setpoint": {"uniform": "9 degF"}, "film": {"normal": "20 %"}}
    found = read_uncertainties({"spread": typed}, "b.toml")
    assert found["thickness_between"] == Uncertainty("lognormal", 0.12)
    assert found["setpoint"].shape == "uniform"
    assert found["setpoint"].size == pytest.approx(5.0)
    assert found["film"] == Uncertainty("normal", 0.2)
    assert "moisture" not in found
    assert uncertainties_of(replace(warm_air(), uncertainties=found)) == default_uncertainties() | found


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("5 %", r"b.toml: \[spread\] = '5 %': a table of keys"),
        ({"thicknes_between": "5 %"}, "did you mean 'thickness_between'"),
        ({"setpoint": "5 %"}, "'%' measures a percentage; a temperature difference"),
        ({"setpoint": 5}, "setpoint = 5: a temperature difference with its unit"),
        ({"film": "90 %"}, "film = '90 %' is outside 0 to 50 %"),
        ({"film": "-1 %"}, "outside 0 to 50 %"),
        ({"film": {"normal": "5 %", "uniform": "5 %"}}, "one shape is expected"),
        ({"film": {"triangle": "5 %"}}, "one of 'normal', 'lognormal', 'student', 'uniform' is expected"),
        ({"setpoint": {"lognormal": "5 K"}}, "known: 'normal', 'uniform'"),
    ],
)
def test_mistakes_are_told_in_one_line(typed, says):
    with pytest.raises(InputError, match=says):
        read_uncertainties({"spread": typed}, "b.toml")


def test_every_default_has_a_source_and_lies_within_what_is_accepted():
    for key, one in INPUTS.items():
        assert one.source, key
        assert 0.0 < one.default.size <= one.most, key


def test_the_sample_has_the_distributions_it_was_given():
    uncertainties = default_uncertainties() | {
        "film_places": Uncertainty("uniform", 0.2),
        "thickness_within": Uncertainty("normal", 0.05),
    }
    drawn = draw(uncertainties, 4096, 3)
    assert drawn.batch.size == 4096
    assert np.all(np.bincount(drawn.batch) == 64)
    # a scrambled net of 4096 points: far better than the 1.6 % of random points
    np.testing.assert_allclose(np.log(drawn.slices["thickness_between"]).std(), 0.10, rtol=5e-3)
    np.testing.assert_allclose(drawn.slices["thickness_within"].mean(), 1.0, atol=1e-3)
    np.testing.assert_allclose(drawn.slices["film_places"].std(), 0.2 / np.sqrt(3.0), rtol=5e-3)
    np.testing.assert_allclose(drawn.slices["moisture"].std(), 0.008, rtol=5e-3)
    assert np.ptp(drawn.slices["film_places"]) < 0.4
    # 64 batches: the fit's own factor on a time holds nine in ten, time going with D^-0.9; a step of 64 is 1.6 %
    rate = np.log(draw(default_uncertainties(), 4096, 3, batches=4096).batches["diffusivity"])
    own = np.log(drawn.batches["diffusivity_batches"])
    np.testing.assert_allclose(own.std(), 0.10, rtol=0.1)
    both = rate + np.log(draw(default_uncertainties(), 4096, 4, batches=4096).batches["diffusivity_batches"])
    assert np.mean(np.abs(both) < np.log(2.05) / 0.9) == pytest.approx(0.90, abs=0.015)
    assert np.mean(np.abs(rate) > 3.0 * np.quantile(np.abs(rate), 0.68)) > 0.004  # a normal has 0.0027 there
    np.testing.assert_allclose(drawn.batches["setpoint"].mean(), 0.0, atol=0.2)


def test_no_uncertainty_draws_the_value_itself():
    drawn = draw({key: Uncertainty("normal", 0.0) for key in INPUTS}, 64, 1)
    for key, one in INPUTS.items():
        assert np.all(drawn.of_slices(key) == (1.0 if one.factor else 0.0))


def test_the_seed_decides():
    first, again, other = (draw(default_uncertainties(), 64, seed).slices["moisture"] for seed in (1, 1, 2))
    np.testing.assert_array_equal(first, again)
    assert np.any(first != other)


@pytest.mark.parametrize("seed", [-1, 1.5, True, "1", 2**31])
def test_a_seed_that_is_none_is_one_clear_line(seed):
    with pytest.raises(InputError, match=r"seed = .*: a whole number from 0 to 2147483647 is expected"):
        draw(default_uncertainties(), 64, seed)


def test_inputs_are_drawn_independently():
    drawn = draw(default_uncertainties(), 4096, 5)
    rows = np.array([drawn.slices[key] for key in drawn.slices])
    off = np.corrcoef(rows) - np.eye(rows.shape[0])
    assert np.abs(off).max() < 0.02  # three standard errors of random points are 0.047


def test_the_starting_file_shows_every_uncertainty_as_it_is_if_left_out():
    block = warm_air_text().split("[spread]\n")[1].split("\n\n")[0]
    document = tomllib.loads("[spread]\n" + "\n".join(line.removeprefix("# ") for line in block.splitlines()))
    assert sorted(document["spread"]) == sorted(INPUTS)
    found = read_uncertainties(document, "demo")
    for key, default in default_uncertainties().items():
        assert found[key].shape == default.shape, key
        assert found[key].size == pytest.approx(default.size), key
