"""A history as columns over the recorded times: what `history.csv` and the pandas form hold."""

import numpy as np

from dryingsim.history.record import History


def tray_places(history: History) -> np.ndarray:
    """Place of each tray in the flow, 0 first, at the recorded times; ndarray of int, shape (t, trays)."""
    _, one_of_tray = np.unique(history.tray, return_index=True)
    return history.place[:, one_of_tray]


def history_columns(history: History) -> dict[str, np.ndarray]:
    """Return one value per recorded time, in SI, by the name of its column; the unit ends the name.

    All is of slices that stay in to the end, whenever they are taken off.

    First the whole batch: time_s, stage (counted from 1), weight_kg, weight_loss, moisture_db, moisture_wb,
    moisture_protein_ratio. Then each thickness class, in the order of the batch file (those that shares in [trays]
    lay on a sheet, and then those that overlap, come after): class_1_thickness_m and so on, or
    tray_1_class_1_thickness_m where there are several trays; `water_activity` is that once evened
    out at 25 degC, `lower` and `upper` are the faces.

    In an appliance then tray_1_place and so on, counted from 1 along the air's way; air_0 before the trays and
    air_1 after the first place and so on, each with _temperature_K and _humidity_ratio; shell_temperature_K and
    floor_temperature_K; heater_power_W, the mean since the row before; and what has added up since the
    start: heater_J, fan_J, lost_J through the walls, aired_J and aired_kg of water with exchanged air,
    steam_kg let in, condensed_kg on the walls and condensed_J with it.
    """
    moisture = history.batch_moisture_db
    columns = {
        "time_s": history.time_s,
        "stage": history.stage + 1,
        "weight_kg": history.weight_kg.sum(axis=1),
        "weight_loss": history.weight_loss,
        "moisture_db": moisture,
        "moisture_wb": moisture / (1.0 + moisture),
        "moisture_protein_ratio": history.moisture_protein_ratio,
    }
    for k in range(history.area_m2.size):
        of_slab = {
            "thickness_m": history.thickness_m[:, k],
            "weight_kg": history.weight_kg[:, k],
            "moisture_db": history.mean_moisture_db[:, k],
            "equalised_water_activity": history.equalised_water_activity[:, k],
            "lower_water_activity": history.surface_water_activity[:, 0, k],
            "upper_water_activity": history.surface_water_activity[:, 1, k],
            "core_temperature_K": history.core_temperature_K[:, k],
            "lower_temperature_K": history.surface_temperature_K[:, 0, k],
            "upper_temperature_K": history.surface_temperature_K[:, 1, k],
            "air_temperature_K": history.air_temperature_K[:, k],
            "air_wet_bulb_K": history.air_wet_bulb_K[:, k],
            "air_vapour_pressure_Pa": history.air_vapour_pressure_Pa[:, k],
        }
        columns |= {f"{_prefix(history, k)}_{name}": values for name, values in of_slab.items()}
    return columns | _chamber_columns(history)


def _chamber_columns(history: History) -> dict[str, np.ndarray]:
    chamber = history.chamber
    if chamber is None:
        return {}
    columns = {f"tray_{tray}_place": place + 1 for tray, place in enumerate(tray_places(history).T, start=1)}
    for cell, temperature in enumerate(chamber.cell_temperature_K.T):
        columns[f"air_{cell}_temperature_K"] = temperature
        columns[f"air_{cell}_humidity_ratio"] = chamber.cell_humidity_ratio[:, cell]
    passed = np.diff(history.time_s)
    power = np.diff(chamber.totals["heater_J"]) / passed
    return columns | {
        "shell_temperature_K": chamber.shell_K,
        "floor_temperature_K": chamber.floor_K,
        "heater_power_W": np.concatenate([[0.0], power]),
        **chamber.totals,
    }


def _prefix(history: History, slab: int) -> str:
    name = f"class_{history.kind[slab] + 1}"
    return f"tray_{history.tray[slab] + 1}_{name}" if history.tray.max() else name
