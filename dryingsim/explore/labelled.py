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

_SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)  # of slices below a line of a band
_BANDS = {"water_activity": "1", "moisture_db": "kg/kg", "core_K": "K"}  # of what `Spread.bands` knows
_ENDS = {"_m": "m", "_s": "s", "_K": "K", "_db": "kg/kg"}
_STATES = ("under-dried", "ready and pliable", "over-dried")  # as `Spread.states` has them


def map_dataset(mapped: Map) -> "xarray.Dataset":
    """Return a map with its axes named, each number with its unit.

    Parameters
    ----------
    mapped : Map

    Returns
    -------
    xarray.Dataset
        Dimensions as the axes of the map are called, in the units they were typed in; `done_s` and `brittle_s` are nan
        where that lies beyond the run (infinite in `Map.numbers`).

    Raises
    ------
    ImportError
        Without xarray: `pip install 'dryingsim[frames]'`.
    """
    import xarray

    axes = tuple(mapped.axes)
    described = {
        name: (axes, values, dict(zip(("units", "long_name"), _OF_MAP[name], strict=True)))
        for name, values in _numbers(mapped).items()
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

    Returns
    -------
    pandas.DataFrame
        `done_s` and `brittle_s` are nan where that lies beyond the run.

    Raises
    ------
    ImportError
        Without pandas: `pip install 'dryingsim[frames]'`.
    """
    grids = np.meshgrid(*mapped.axes.values(), indexing="ij")
    columns = {key: grid.reshape(-1) for key, grid in zip(mapped.axes, grids, strict=True)}
    columns |= {name: values.reshape(-1) for name, values in _numbers(mapped).items()}
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
        `brittle_s` are nan where that lies beyond the run (infinite in `Spread` itself).

    Raises
    ------
    ImportError
        Without pandas: `pip install 'dryingsim[frames]'`.
    """
    return _frame(_of_slices(spread), _of_spread(spread))


def spread_dataset(spread: Spread) -> "xarray.Dataset":
    """Return a spread with its axes named: what `to_pandas` has of every slice, and how the slices dry over time.

    Parameters
    ----------
    spread : Spread

    Returns
    -------
    xarray.Dataset
        Dimensions slice (from 1), time [s], share (of the slices that lie below) and state (of the slices).

    Raises
    ------
    ImportError
        Without xarray: `pip install 'dryingsim[frames]'`.
    """
    import xarray

    columns = _of_slices(spread)
    data = {name: ("slice", values, {"units": _unit(name)}) for name, values in columns.items()}
    bands = {
        f"{name}_over_time": (("share", "time"), spread.bands(name, _SHARES), {"units": unit})
        for name, unit in _BANDS.items()
    }
    states = {
        "states_over_time": (
            ("state", "time"),
            spread.states(),
            {"units": "1", "long_name": "shares of the slices"},
        )
    }
    coordinates = {
        "slice": np.arange(spread.thickness_m.size) + 1,
        "time": ("time", spread.times_s, {"units": "s"}),
        "share": list(_SHARES),
        "state": list(_STATES),
    }
    return xarray.Dataset(data | bands | states, coords=coordinates, attrs=_of_spread(spread))


def _of_slices(spread: Spread) -> dict[str, np.ndarray]:
    """What was drawn for every slice, and what came of it."""
    return {
        "batch": spread.sample.batch + 1,
        "tray": spread.tray + 1,
        "thickness_m": spread.thickness_m,
        **{f"input_{key}": spread.sample.of_slices(key) for key in INPUTS},
        "done_s": _reached(spread.done_s),
        "brittle_s": _reached(spread.brittle_s),
        **{name: values for name, values in spread.reported.items() if values.ndim == 1},
    }


def _unit(name: str) -> str:
    """Return the unit of a number of a slice: as its name ends; of what is drawn, that of what is added."""
    key = name.removeprefix("input_")
    if key != name:
        return "K" if INPUTS[key].dimension == "temperature difference" else "1"
    return next((unit for end, unit in _ENDS.items() if name.endswith(end)), "1")


def _reached(times_s: np.ndarray) -> np.ndarray:
    """Times, not a number where they were not reached: what is infinite would go into means and quantiles."""
    return np.where(np.isfinite(times_s), times_s, np.nan)


def _numbers(mapped: Map) -> dict[str, np.ndarray]:
    """The numbers of a map that tables have."""
    return {
        name: _reached(values) if name in ("done_s", "brittle_s") else values
        for name, values in mapped.reported.items()
        if name in _OF_MAP
    }


def _of_spread(spread: Spread) -> dict[str, Any]:
    return attributes(
        spread.batch,
        spread.title,
        seed=spread.seed,
        organism=spread.organism,
        target_log10=spread.target_log10,
        uncertainties="; ".join(
            f"{key}: {one.shape} {one.size:g}" for key, one in spread.uncertainties.items()
        ),
    )


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
    frame = _frame({"label": list(comparison.labels)} | _of_runs(comparison), _of_comparison(comparison))
    frame.attrs["inputs"] = [inputs_of(judged.history.batch) for judged in comparison.runs]
    return frame


def comparison_dataset(comparison: Comparison) -> "xarray.Dataset":
    """Return a comparison with its axis named: the measures of every run in SI; grades in words.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    xarray.Dataset
        Dimension run (from 1); the coordinates label and inputs (the batch as the text of its file, where one says it) belong
        to it.

    Raises
    ------
    ImportError
        Without xarray: `pip install 'dryingsim[frames]'`.
    """
    import xarray

    inputs = [inputs_of(judged.history.batch) or "" for judged in comparison.runs]
    coordinates = {
        "run": np.arange(len(inputs)) + 1,
        "label": ("run", list(comparison.labels)),
        "inputs": ("run", inputs),
    }
    data = {name: ("run", values) for name, values in _of_runs(comparison).items()}
    return xarray.Dataset(data, coords=coordinates, attrs=_of_comparison(comparison))


def _of_runs(comparison: Comparison) -> dict[str, Any]:
    """Measures of every run, grades in words."""
    return {
        name: [GRADES[int(value)] for value in values] if name.endswith("grade") else values
        for name, values in comparison.measures.items()
    }


def _of_comparison(comparison: Comparison) -> dict[str, Any]:
    batches = [judged.history.batch for judged in comparison.runs]
    about = attributes(batches[0], f"{len(batches)} batches side by side", currency=comparison.currency)
    about.pop("inputs", None)  # of the first alone
    return about


def _frame(columns: dict[str, Any], about: dict[str, Any]) -> "pandas.DataFrame":
    import pandas

    frame = pandas.DataFrame(columns)
    frame.attrs.update(about)
    return frame
