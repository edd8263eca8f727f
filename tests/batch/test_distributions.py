"""Distributions of scipy and rank correlations: read, written, drawn, and refused in one line."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

import dryingsim as ds
from dryingsim.batch.uncertainties import default_uncertainties, read_correlations, read_uncertainties
from dryingsim.errors import InputError
from dryingsim.explore.sampling import draw

TRIANGLE = {"distribution": "triang", "c": 0.25, "loc": "-20 %", "scale": "40 %"}
SKEWED = {"distribution": "skewnorm", "a": 4, "loc": "-1 K", "scale": "3.6 degF"}


def test_a_distribution_is_read_in_the_units_of_its_input():
    found = read_uncertainties({"spread": {"film": TRIANGLE, "setpoint": SKEWED}}, "b.toml")
    assert found["film"] == ds.Uncertainty("triang", parameters={"c": 0.25, "loc": -0.2, "scale": 0.4})
    assert dict(found["setpoint"].parameters) == pytest.approx({"a": 4.0, "loc": -1.0, "scale": 2.0})
    assert found["setpoint"].size == pytest.approx(stats.skewnorm(4.0, -1.0, 2.0).std())
    assert found["film"].deviation == found["film"].size
    hash(found["film"])


@pytest.mark.parametrize("points", ["sobol", "latin"])
def test_what_is_drawn_has_the_distribution(points):
    stated = read_uncertainties({"spread": {"film_places": TRIANGLE, "setpoint": SKEWED}}, "b.toml")
    drawn = draw(default_uncertainties() | stated, 4096, 3, batches=1024, points=points)
    film = stats.kstest(drawn.slices["film_places"] - 1.0, stats.triang(0.25, -0.2, 0.4).cdf).statistic
    set_at = stats.kstest(drawn.batches["setpoint"], stats.skewnorm(4.0, -1.0, 2.0).cdf).statistic
    # random points: 1.36 over the root of their number in 19 of 20 samples, 0.021 and 0.042; even ones are nearer
    assert film < 0.005
    assert set_at < 0.01


def test_no_size_draws_the_value_itself():
    sure = replace(ds.Uncertainty("gamma", parameters={"a": 25.0, "loc": -1.0, "scale": 0.04}), size=0.0)
    np.testing.assert_array_equal(sure.drawn(np.array([0.1, 0.9]), factor=True), [1.0, 1.0])


def test_ranks_correlate_as_stated_and_the_others_stay_as_they_were():
    stated = [
        ["film", "setpoint", 0.6],
        ["setpoint", "air_exchange", -0.3],
        ["thickness_between", "moisture", -0.5],
    ]
    correlations = read_correlations({"spread": {"correlations": stated}}, "b.toml")
    plain = draw(default_uncertainties(), 4096, 3, batches=4096)
    drawn = draw(default_uncertainties(), 4096, 3, batches=4096, correlations=correlations)
    for first, second, value in correlations:
        found = stats.spearmanr(drawn.of_slices(first), drawn.of_slices(second)).statistic
        assert found == pytest.approx(value, abs=0.01)  # random points: a standard error of 0.016
    for key in ("diffusivity", "room_humidity", "film_places"):
        np.testing.assert_array_equal(drawn.of_slices(key), plain.of_slices(key))
    np.testing.assert_allclose(np.sort(drawn.batches["setpoint"]).mean(), 0.0, atol=0.02)
    assert drawn.batches["setpoint"].std() == pytest.approx(3.0, rel=0.01)


def test_a_batch_with_both_comes_back_from_its_file_and_is_drawn_so():
    batch = replace(
        ds.demo_batch(),
        uncertainties=read_uncertainties({"spread": {"film": TRIANGLE, "setpoint": SKEWED}}, "b.toml"),
        correlations=(("film", "setpoint", 0.5),),
    )
    assert ds.parse_batch(batch.to_toml(), "again") == batch
    hash(batch)
    drawn = ds.spread(batch, slices=64, batches=32, points="latin")
    assert (drawn.correlations, drawn.points) == (batch.correlations, "latin")
    assert stats.spearmanr(drawn.sample.batches["film"], drawn.sample.batches["setpoint"]).statistic > 0.2
    assert (
        ds.judge_batch(ds.run(batch)).doneness.batch.earliest_s > 0.0
    )  # `run` takes their standard deviations


def _read(typed):
    read_uncertainties({"spread": typed}, "b.toml")
    read_correlations({"spread": typed}, "b.toml")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"film": TRIANGLE | {"distribution": "triangel"}}, "no such continuous distribution; did you mean 'triang'"),
        ({"film": TRIANGLE | {"distribution": "poisson"}}, "no such continuous distribution"),
        ({"film": TRIANGLE | {"distribution": 3}}, "no such continuous distribution"),
        ({"film": TRIANGLE | {"c": 7}}, "there is none"),
        ({"film": TRIANGLE | {"c": "half"}}, r"\[spread\], film, c = 'half'"),
        ({"film": TRIANGLE | {"loc": -0.2}}, "film, loc = -0.2: a percentage"),
        ({"film": TRIANGLE | {"spread": 2}}, "has no key 'spread'"),
        ({"film": {"distribution": "triang", "scale": "40 %"}}, "needs c, as scipy.stats.triang does"),
        ({"film": {"distribution": "cauchy", "scale": "5 %"}}, "its standard deviation is not finite"),
        ({"film": {"distribution": "norm"}}, "'scale' is expected too"),
        ({"film": {"distribution": "norm", "loc": "80 %", "scale": "5 %"}}, "within 50 % of 0"),
        ({"correlations": 3}, "correlations = 3: a list is expected"),
        ({"correlations": [["film", "setpoint"]]}, "two inputs and a number"),
        ({"correlations": [["film", "setpont", 0.5]]}, "did you mean 'setpoint'"),
        ({"correlations": [["film", "setpoint", 1]]}, "a number between -1 and 1"),
        ({"correlations": [["film", "moisture", 0.5]]}, "both of the whole batch or both of a slice"),
        ({"correlations": [["film", "film", 0.5]]}, "two different inputs"),
        ({"correlations": [["film", "setpoint", 0.5], ["setpoint", "film", 0.2]]}, "twice"),
        (
            {"correlations": [["film", "setpoint", 0.9], ["film", "air_exchange", 0.9], ["setpoint", "air_exchange", -0.9]]},
            "cannot all hold at once",
        ),
    ],
)  # fmt: skip
def test_mistakes_are_told_in_one_line(typed, says):
    with pytest.raises(InputError, match=says) as caught:
        _read(typed)
    assert len(str(caught.value).splitlines()) == 1
    assert str(caught.value).startswith("b.toml: [spread]")


def test_mistakes_in_python_too():
    with pytest.raises(InputError, match="points = 'random'"):
        ds.spread(ds.demo_batch(), slices=64, points="random")
    with pytest.raises(InputError, match="correlations, film and moisture"):
        ds.spread(ds.demo_batch(), slices=64, correlations=[("film", "moisture", 0.5)])
    with pytest.raises(InputError, match="scale = 'wide'"):
        ds.Uncertainty("norm", parameters={"scale": "wide"})


@settings(deadline=None, max_examples=60)
@given(
    c=st.floats(0.0, 1.0),
    middle=st.floats(-0.1, 0.1),
    width=st.floats(1e-3, 0.3),
    skew=st.floats(-5.0, 5.0),
    kelvin=st.floats(0.05, 6.0),
    rank=st.floats(-0.95, 0.95),
)
def test_any_parameters_come_back_from_the_file(c, middle, width, skew, kelvin, rank):
    stated = {
        "film": ds.Uncertainty("triang", parameters={"c": c, "loc": middle - 0.5 * width, "scale": width}),
        "setpoint": ds.Uncertainty("skewnorm", parameters={"a": skew, "loc": -kelvin, "scale": kelvin}),
    }
    batch = replace(ds.demo_batch(), uncertainties=stated, correlations=(("film", "setpoint", rank),))
    assert ds.parse_batch(batch.to_toml(), "again") == batch


def test_an_uncertainty_that_would_be_cut_off_is_refused():
    """Ten meant as per cent: half of the factors would lie beyond what is drawn."""
    batch = replace(ds.demo_batch(), uncertainties={"film": ds.Uncertainty("normal", 10.0)})
    with pytest.raises(
        InputError, match=r"film: factors are cut off at 0\.2 and 5, and that would cut .* 0\.1 for 10 %"
    ):
        ds.spread(batch, slices=64)


def test_an_uncertainty_of_nothing_known_is_named_where_the_batch_is_written():
    batch = replace(ds.demo_batch(), uncertainties={"thickness": ds.Uncertainty("normal", 0.1)})
    with pytest.raises(InputError, match="Batch, uncertainties has no key 'thickness'"):
        batch.to_toml()
