"""A history as xarray and pandas hold it: the same numbers, their axes and units named."""

import numpy as np
import pytest
from made_history import in_stack

from dryingsim import run


@pytest.fixture(scope="module")
def history():
    return run(in_stack(1.0))


def test_xarray_has_the_same_arrays_with_their_axes(history):
    pytest.importorskip("xarray")
    data = history.to_xarray()
    assert data["temperature_K"].dims == ("time", "node", "slab")
    np.testing.assert_array_equal(data["temperature_K"], history.temperature_K)
    assert all(one.attrs["units"] for one in data.data_vars.values())
    hour = data["moisture_db"].sel(time=3600.0, method="nearest").isel(slab=0)
    assert float(hour.sel(node=0.0)) == history.moisture_db[np.abs(history.time_s - 3600.0).argmin(), 0, 0]


def test_pandas_has_the_columns_of_the_file(history):
    pytest.importorskip("pandas")
    table = history.to_pandas()
    assert table.index.name == "time_s"
    np.testing.assert_array_equal(table["weight_kg"], history.weight_kg.sum(axis=1))
    assert "tray_1_class_1_core_temperature_K" in table or "class_1_core_temperature_K" in table
