"""A history as xarray and pandas hold it: the same numbers, their axes and units named."""

from dataclasses import replace

import numpy as np
import pytest
from made_history import in_stack

from dryingsim import parse_batch, run
from dryingsim.show.run.files import history_csv


@pytest.fixture(scope="module")
def history():
    batch = in_stack(1.0)
    drying = batch.stages[0]
    short = replace(drying, duration_s=1800.0, until=None)
    return run(replace(batch, stages=(short, replace(short, name="second"))))


def test_xarray_has_the_same_arrays_with_their_axes(history):
    pytest.importorskip("xarray")
    data = history.to_xarray()
    assert data["temperature_K"].dims == ("time", "node", "slab")
    np.testing.assert_array_equal(data["temperature_K"], history.temperature_K)
    assert all(one.attrs["units"] for one in data.data_vars.values())
    assert parse_batch(data.attrs["inputs"], "again").meat == history.batch.meat
    hour = data["moisture_db"].sel(time=3600.0, method="nearest").isel(slab=0)
    assert float(hour.sel(node=0.0)) == history.moisture_db[np.abs(history.time_s - 3600.0).argmin(), 0, 0]


def test_pandas_has_the_columns_of_the_file(history):
    pytest.importorskip("pandas")
    table = history.to_pandas()
    assert table.index.name == "time_s"
    np.testing.assert_array_equal(table["weight_kg"], history.weight_kg.sum(axis=1))
    assert "tray_1_class_1_core_temperature_K" in table or "class_1_core_temperature_K" in table


def test_record_has_the_index_of_a_stage(history):
    assert history.stage[0] == 0
    assert history.batch.stages[history.stage[-1]].name == "second"


@pytest.mark.parametrize("form", ["csv", "pandas", "xarray"])
def test_stages_are_exported_counted_from_one(history, form):
    if form == "csv":
        lines = history_csv(history).splitlines()
        at = lines[0].split(",").index("stage")
        stages = np.array([int(line.split(",")[at]) for line in lines[1:]])
    else:
        pytest.importorskip(form)
        stages = np.asarray((history.to_pandas() if form == "pandas" else history.to_xarray())["stage"])
    assert stages[0] == 1
    assert stages[-1] == len(history.batch.stages) == 2
    np.testing.assert_array_equal(stages, history.stage + 1)
