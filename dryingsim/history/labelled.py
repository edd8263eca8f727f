"""A history with its axes named, for those who work with xarray or pandas (both optional)."""

from typing import TYPE_CHECKING, Any

from dryingsim.history.columns import history_columns
from dryingsim.history.provenance import attributes
from dryingsim.history.record import History

if TYPE_CHECKING:
    import pandas
    import xarray

# axes, unit and meaning of each array of a history, by its name there
_ARRAYS: dict[str, tuple[tuple[str, ...], str, str]] = {
    "moisture_db": (("time", "node", "slab"), "kg/kg", "moisture, dry basis"),
    "temperature_K": (("time", "node", "slab"), "K", "temperature"),
    "water_activity": (("time", "node", "slab"), "1", "water activity"),
    "weight_kg": (("time", "slab"), "kg", "weight of all slices of a class on a tray"),
    "equalised_water_activity": (("time", "slab"), "1", "water activity once evened out, at 25 degC"),
    "vapour_kg_m2": (("time", "slab"), "kg/m2", "vapour given off since the start, per area of one face"),
    "heat_J_m2": (("time", "slab"), "J/m2", "heat received since the start, per area of one face"),
    "air_temperature_K": (("time", "slab"), "K", "temperature of the air at the slices"),
    "air_vapour_pressure_Pa": (("time", "slab"), "Pa", "vapour pressure of the air at the slices"),
}


def dataset(history: History) -> "xarray.Dataset":
    """Return the arrays of a history with their axes named, each with its unit.

    Parameters
    ----------
    history : History

    Returns
    -------
    xarray.Dataset
        Dimensions time [s], node (share of the dry mass from the lower face, 0 to 1) and slab; the coordinates
        `thickness_m` (raw), `lies` and `tray` (from 1) belong to the slabs, `stage` (from 1) to the times.

    Raises
    ------
    ImportError
        Without xarray: `pip install 'dryingsim[frames]'`.
    """
    import xarray

    def variable(name: str, axes: tuple[str, ...], unit: str, meaning: str) -> tuple[Any, ...]:
        return axes, getattr(history, name), {"units": unit, "long_name": meaning}

    classes = [history.batch.meat.classes[kind] for kind in history.kind]
    return xarray.Dataset(
        {name: variable(name, *rest) for name, rest in _ARRAYS.items()},
        coords={
            "time": ("time", history.time_s, {"units": "s"}),
            "node": ("node", history.slabs.nodes, {"units": "1", "long_name": "share of the dry mass below"}),
            "stage": ("time", history.stage + 1),
            "tray": ("slab", history.tray + 1),
            "lies": ("slab", [one.lies for one in classes]),
            "thickness_m": (
                "slab",
                [one.thickness_m for one in classes],
                {"units": "m", "long_name": "raw thickness"},
            ),
        },
        attrs=attributes(history.batch, history.batch.name),
    )


def frame(history: History) -> "pandas.DataFrame":
    """Return what `history.csv` holds, one row per recorded time, the time [s] as index.

    Raises
    ------
    ImportError
        Without pandas: `pip install 'dryingsim[frames]'`.
    """
    import pandas

    table = pandas.DataFrame(history_columns(history)).set_index("time_s")
    table.attrs.update(attributes(history.batch, history.batch.name))
    return table
