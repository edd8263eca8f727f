"""An appliance as the tables of a file: what `batch.appliance_description` reads."""

from operator import attrgetter
from typing import Any

from dryingsim._version import __version__
from dryingsim.batch.appliance_description import parse_description
from dryingsim.batch.appliance_parameters import PARAMETERS
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.schema import UnitSystem
from dryingsim.batch.toml_writing import toml_key, toml_text
from dryingsim.batch.writing.quantities import spelled
from dryingsim.errors import InputError

# where an appliance holds its parameters
_ATTRIBUTES = {
    "preheated": "preheated",
    "trays.slots": "trays.slots",
    "trays.length": "trays.length_m",
    "trays.width": "trays.width_m",
    "air.path": "trays.flow",
    "air.circulation": "trays.circulation_m3_s",
    "air.speed": "trays.speed_m_s",
    "air.vents": "ventilation.vents_m3_s",
    "air.leak": "ventilation.leakage_m3_s",
    "door.hinge": "door.hinge",
    "door.height": "door.height_m",
    "door.width": "door.width_m",
    "door.gap": "door.gap_m",
    "door.discharge": "door.discharge",
    "door.draught": "door.draught_m_s",
    "heater.power": "heater.power_W",
    "heater.fan_power": "heater.fan_W",
    "heater.radiant_share": "heater.radiant_share",
    "heater.highest": "heater.highest_K",
    "heater.control": "heater.control",
    "heater.band": "heater.band_K",
    "heater.sensor": "heater.sensor",
    "heater.sensor_lag": "heater.sensor_lag_s",
    "heater.element_lag": "heater.element_lag_s",
    "walls.volume": "walls.volume_m3",
    "walls.area": "walls.area_m2",
    "walls.film": "walls.film_W_m2K",
    "walls.capacity": "walls.capacity_J_K",
    "walls.floor_capacity": "walls.floor_capacity_J_K",
    "walls.loss": "walls.loss_W_K",
    "moisture.steam": "moisture.steam_kg_s",
    "moisture.purge": "moisture.purge_m3_s",
    "moisture.pan_area": "moisture.pan_area_m2",
    "moisture.pan_water": "moisture.pan_water_kg",
}


def appliance_tables(appliance: Appliance, units: UnitSystem = "metric") -> dict[str, Any]:
    """Return the tables of a file that describes an appliance, as a TOML reader takes them apart.

    Parameters
    ----------
    appliance : Appliance
    units : str
        "metric" or "us": what the person types in.
    """
    tables: dict[str, Any] = {"name": appliance.name}
    for key, attribute in _ATTRIBUTES.items():
        if appliance.door is None and key.startswith("door."):
            continue
        value = attrgetter(attribute)(appliance)
        if value is None:
            continue
        kind = PARAMETERS[key].kind
        typed = value if kind in ("word", "switch", "count", "ratio") else spelled(value, kind, units)
        *group, short = key.split(".")
        (tables.setdefault(group[0], {}) if group else tables)[short] = typed
    return tables


def appliance_toml(appliance: Appliance) -> str:
    """Return an appliance as the text of a file that a batch names as `file` in [appliance].

    Parameters
    ----------
    appliance : Appliance
        Where its numbers come from, and their ranges, it does not know, so the file does not say.

    Raises
    ------
    InputError
        If such a file could not be read, or not as the same appliance: a number is beyond what a file may hold.

    Examples
    --------
    >>> from dryingsim.batch.catalog.appliances import find_appliance
    >>> oven = find_appliance("here", "oven with fan").appliance("here")
    >>> appliance_toml(oven).splitlines()[1]
    'name = "oven with fan"'
    """
    tables = appliance_tables(appliance)
    if parse_description(appliance.name, tables).appliance(appliance.name) != appliance:
        raise InputError(f"{appliance.name}: no file says the same: its name has blanks at its ends")
    plain = {key: value for key, value in tables.items() if not isinstance(value, dict)}
    lines = [f"# Written by dryingsim {__version__}."]
    lines += [f"{toml_key(key)} = {toml_text(value)}" for key, value in plain.items()]
    for group, table in tables.items():
        if group not in plain:
            lines += ["", f"[{group}]", *(f"{key} = {toml_text(value)}" for key, value in table.items())]
    return "\n".join([*lines, ""])
