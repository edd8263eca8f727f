"""Maps, spreads and comparisons as pandas and xarray hold them: the same numbers, and where they come from."""

import io
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.explore.compare import compare
from dryingsim.explore.maps import map_over
from dryingsim.history.provenance import inputs_of, versions
from dryingsim.judge.grades import GRADES
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.show.compare.files import comparison_document
from dryingsim.show.map.text import map_document
from dryingsim.show.run.data import summary
from dryingsim.show.spread.text import slices_npz, spread_document

pandas = pytest.importorskip("pandas")
xarray = pytest.importorskip("xarray")


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=2.0 * 3600.0),))


@pytest.fixture(scope="module")
def mapped(batch):
    axes = {"thickness_m": np.array([2e-3, 3e-3, 5e-3]), "air_K": np.array([328.15, 400.0])}
    return map_over(batch, axes)


@pytest.fixture(scope="module")
def spread(batch):
    return ds.spread(batch, slices=64, seed=5)


@pytest.fixture(scope="module")
def comparison(batch):
    return compare([batch, replace(batch, name="half as much", meat=replace(batch.meat, weight_kg=0.35))])


def or_nan(times_s):
    return np.where(np.isinf(times_s), np.nan, times_s)


def came_from(attributes, batch):
    assert ds.parse_batch(attributes["inputs"], "again") == batch
    assert f"dryingsim {ds.__version__}" in attributes["computed_by"]


def test_a_map_has_its_axes_named(mapped, batch):
    data = mapped.to_xarray()
    assert data["done_s"].dims == ("thickness_m", "air_K")
    np.testing.assert_array_equal(data["done_s"], or_nan(mapped.numbers["done_s"]))
    assert float(data["peak_K"].sel(thickness_m=3e-3, air_K=400.0)) == mapped.numbers["peak_K"][1, 1]
    assert all(one.attrs["units"] and one.attrs["long_name"] for one in data.data_vars.values())
    assert set(data.data_vars) == set(mapped.numbers) - {"steps"}  # of the solver
    came_from(data.attrs, batch)


def test_a_map_is_a_row_per_point(mapped, batch):
    table = mapped.to_pandas()
    assert len(table) == 6
    np.testing.assert_array_equal(table["done_s"], or_nan(mapped.numbers["done_s"]).ravel())
    assert table["done_s"].isna().any()
    row = table[(table["thickness_m"] == 5e-3) & (table["air_K"] == 328.15)].iloc[0]
    assert row["moisture_db"] == mapped.numbers["moisture_db"][2, 0]
    came_from(table.attrs, batch)


def test_no_log_reduction_is_told_that_nobody_could_count(mapped):
    hot = replace(mapped, numbers=mapped.numbers | {"best": np.full((3, 2), 37.0)})
    assert hot.to_pandas()["best"].max() == COUNTABLE
    assert float(hot.to_xarray()["best"].max()) == COUNTABLE


def test_no_log_reduction_of_a_slice_is_told_that_nobody_could_count(spread):
    many = np.full_like(spread.numbers["best"], 7.45)
    hot = replace(spread, numbers=spread.numbers | {"best": many, "lower": many})
    for told in (hot.to_pandas(), hot.to_xarray(), np.load(io.BytesIO(slices_npz(hot)))):
        assert float(told["best"].max()) == float(told["lower"].max()) == COUNTABLE


def test_units_of_the_axes_go_along(mapped):
    typed = replace(mapped, units={"thickness_m": "mm", "air_K": ""})
    assert typed.to_xarray()["thickness_m"].attrs["units"] == "mm"
    assert typed.to_pandas().attrs["units"] == {"thickness_m": "mm"}


def test_a_data_set_can_be_kept(mapped, tmp_path):
    """What goes along is text and numbers, which a file of any format holds."""
    assert all(isinstance(value, str | float | int) for value in mapped.to_xarray().attrs.values())


def test_a_spread_is_a_row_per_slice(spread, batch):
    table = spread.to_pandas()
    assert len(table) == spread.thickness_m.size
    np.testing.assert_array_equal(table["done_s"], or_nan(spread.done_s))
    assert np.isinf(spread.brittle_s).any()  # in two hours hardly a slice is brittle
    assert (
        table[["done_s", "brittle_s"]].describe().loc["max"].max() <= spread.times_s[-1]
    )  # no warning either
    np.testing.assert_array_equal(table["input_diffusivity"], spread.sample.of_slices("diffusivity"))
    assert table["batch"].min() == 1
    assert table["batch"].max() == spread.sample.batches["setpoint"].size
    by_batch = table.groupby("batch")["input_setpoint"].nunique()
    assert (by_batch == 1).all()  # what is the same for a batch
    assert table.attrs["seed"] == 5
    known = INPUTS["diffusivity"].default
    assert f"diffusivity: student {known.size:g}" in table.attrs["uncertainties"]
    came_from(table.attrs, batch)
    assert len(slices_npz(spread)) > 0


def test_a_spread_has_its_axes_named(spread, batch, tmp_path):
    data = spread.to_xarray()
    np.testing.assert_array_equal(data["done_s"], or_nan(spread.done_s))
    assert data["input_film"].dims == ("slice",)
    names = ("thickness_m", "done_s", "brittle_s", "peak_K", "input_setpoint", "input_film", "lower")
    assert [data[name].attrs["units"] for name in names] == ["m", "s", "s", "K", "K", "1", "1"]
    middle = data["water_activity_over_time"].sel(share=0.5)
    np.testing.assert_array_equal(middle, spread.bands("water_activity", (0.5,))[0])
    np.testing.assert_allclose(data["states_over_time"].sum("state"), 1.0)
    assert float(data["time"][-1]) == spread.times_s[-1]
    assert set(data.data_vars) - set(spread.to_pandas().columns) == {
        "water_activity_over_time",
        "moisture_db_over_time",
        "core_K_over_time",
        "states_over_time",
    }
    came_from(data.attrs, batch)
    assert data.attrs["seed"] == 5
    assert all(isinstance(value, str | float | int) for value in data.attrs.values())


def test_a_comparison_has_its_axis_named(comparison):
    data = comparison.to_xarray()
    assert list(data["label"].values) == list(comparison.labels)
    np.testing.assert_array_equal(data["run_energy_J"], comparison.measures["run_energy_J"])
    assert set(data["grade"].values) <= set(GRADES)
    for text, judged in zip(data["inputs"].values, comparison.runs, strict=True):
        assert ds.parse_batch(str(text), "again") == judged.history.batch
    assert all(isinstance(value, str | float | int) for value in data.attrs.values())


def test_a_comparison_is_a_row_per_run(comparison):
    table = comparison.to_pandas()
    assert list(table["label"]) == list(comparison.labels)
    np.testing.assert_array_equal(table["run_energy_J"], comparison.measures["run_energy_J"])
    assert set(table["grade"]) <= set(GRADES)
    for text, judged in zip(table.attrs["inputs"], comparison.runs, strict=True):
        assert ds.parse_batch(text, "again") == judged.history.batch


def test_every_file_says_where_it_comes_from(mapped, spread, comparison, batch):
    written = [map_document(mapped).data(), spread_document(spread).data()]
    history = comparison.runs[0].history
    written.append(summary(ds.Answer(history)))
    for values in written:
        assert values["versions"] == versions()
        assert ds.parse_batch(values["inputs"], "again") == batch
    assert written[1]["seed"] == 5
    compared = comparison_document(comparison).data()
    assert compared["versions"] == versions()
    assert [ds.parse_batch(run["inputs"], "x") for run in compared["runs"]] == [
        judged.history.batch for judged in comparison.runs
    ]


def test_inputs_that_no_file_says_are_left_out(batch):
    learned = Learned(logs=(), corrections={"film": Correction(value=0.1, uncertainty=0.1)})
    assert inputs_of(replace(batch, learned=learned)) is None
