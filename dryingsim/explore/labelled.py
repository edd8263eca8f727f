"""Maps, spreads and comparisons for those who work with pandas or xarray (both optional): tidy tables, named axes.

What they carry along in `attrs` says where they come from: versions, the batch as the text of its file, the seed.
"""

from typing import TYPE_CHECKING, Any

import numpy as np

from dryingsim.batch.uncertainties import INPUTS
from dryingsim.explore.compare import Comparison
from dryingsim.explore.maps import Map
from dryingsim.explore.spread_result import Spread
from dryingsim.history.provenance import attributes, inputs_of
from dryingsim.judge.grades import GRADES

if TYPE_CHECKING:
    import pandas
    import xarray

# unit and meaning of the numbers of a map, by their names there
_OF_MAP: dict[str, tuple[str, str]] = {
    "done_s": ("s", "when the wettest slice is down to the target"),
    "brittle_s": ("s", "when the first slice is brittle"),
    "end_s": ("s", "when the schedule ends"),
    "moisture_db": ("kg/kg", "moisture of the wettest slice when drying ends, dry basis"),
    "peak_K": ("K", "highest temperature of the coldest place, of the slice where that is lowest"),
    "lower": ("1", "log10 reduction at the least-reduced place, lower bound; 7 is 7 or more"),
    "best": ("1", "log10 reduction at the least-reduced place, best estimate; 7 is 7 or more"),
    "water_closure": ("1", "relative miss of the water balance"),
    "energy_closure": ("1", "relative miss of the energy balance"),
}


def map_dataset(mapped: Map) -> "xarray.Dataset":
    """Return a map with its axes named, each number with its unit.

    Parameters
    ----------
    mapped : Map

    Returns
    -------
    xarray.Dataset
        Dimensions as the axes of the map are called, in the units they were typed in.

    Raises
    ------
    ImportError
        Without xarray: `pip install 'dryingsim[frames]'`.
    """
    import xarray

    axes = tuple(mapped.axes)
    described = {
        name: (axes, values, dict(zip(("units", "long_name"), _OF_MAP[name], strict=True)))
        for name, values in mapped.reported.items()
        if name in _OF_MAP
    }
    coordinates = {
        key: (key, values, {"units": mapped.units[key]} if mapped.units.get(key) else {})
        for key, values in mapped.axes.items()
    }
    return xarray.Dataset(described, coords=coordinates, attrs=_of_map(mapped))


def map_frame(mapped: Map) -> "pandas.DataFrame":
    """Return a map as a tidy table: one row per point, its parameters in the units they were typed in, numbers in SI.

    Parameters
    ----------
    mapped : Map

    Raises
    ------
    ImportError
        Without pandas: `pip install 'dryingsim[frames]'`.
    """
    grids = np.meshgrid(*mapped.axes.values(), indexing="ij")
    columns = {key: grid.reshape(-1) for key, grid in zip(mapped.axes, grids, strict=True)}
    columns |= {name: values.reshape(-1) for name, values in mapped.reported.items() if name in _OF_MAP}
    units = {key: unit for key, unit in mapped.units.items() if unit}
    return _frame(columns, _of_map(mapped) | {"units": units})


def _of_map(mapped: Map) -> dict[str, Any]:
    return attributes(mapped.batch, mapped.title, organism=mapped.organism, target_log10=mapped.target_log10)


def spread_frame(spread: Spread) -> "pandas.DataFrame":
    """Return a spread as a tidy table: one row per slice, what was drawn for it and what came of it, in SI.

    Parameters
    ----------
    spread : Spread

    Returns
    -------
    pandas.DataFrame
        `batch` and `tray` count from 1; `input_...` is the factor on an input or what is added to it; `done_s` and
        `brittle_s` are infinite where that lies beyond the run.

    Raises
    ------
    ImportError
        Without pandas: `pip install 'dryingsim[frames]'`.
    """
    columns = {
        "batch": spread.sample.batch + 1,
        "tray": spread.tray + 1,
        "thickness_m": spread.thickness_m,
        **{f"input_{key}": spread.sample.of_slices(key) for key in INPUTS},
        "done_s": spread.done_s,
        "brittle_s": spread.brittle_s,
        **{name: values for name, values in spread.numbers.items() if values.ndim == 1},
    }
    about = attributes(
        spread.batch,
        spread.title,
        seed=spread.seed,
        organism=spread.organism,
        target_log10=spread.target_log10,
        uncertainties="; ".join(
            f"{key}: {one.shape} {one.size:g}" for key, one in spread.uncertainties.items()
        ),
    )
    return _frame(columns, about)


def comparison_frame(comparison: Comparison) -> "pandas.DataFrame":
    """Return a comparison as a tidy table: one row per run, the label first, then its measures in SI; grades in words.

    Parameters
    ----------
    comparison : Comparison

    Raises
    ------
    ImportError
        Without pandas: `pip install 'dryingsim[frames]'`.
    """
    columns: dict[str, Any] = {"label": list(comparison.labels)}
    for name, values in comparison.measures.items():
        columns[name] = [GRADES[int(value)] for value in values] if name.endswith("grade") else values
    batches = [judged.history.batch for judged in comparison.runs]
    about = attributes(batches[0], f"{len(batches)} batches side by side", currency=comparison.currency)
    about["inputs"] = [inputs_of(batch) for batch in batches]
    return _frame(columns, about)


def _frame(columns: dict[str, Any], about: dict[str, Any]) -> "pandas.DataFrame":
    import pandas

    frame = pandas.DataFrame(columns)
    frame.attrs.update(about)
    return frame
