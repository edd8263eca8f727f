"""Appliances by the plain names of their kinds or from a person's own file, and whether a stage suits them."""

import math
import tomllib
from collections.abc import Callable
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from dryingsim.batch.appliance_file import Description, load_description, parse_description
from dryingsim.batch.checks import check_named, show
from dryingsim.batch.schema import Appliance, Batch, Room, Stage
from dryingsim.errors import InputError

_ROUNDING_K = 0.01  # "71.1 degC" is the mark of 160 degF
_IDEAL_K = 0.5  # an ideal thermostat may settle this far above its setting (its band, rounded up)


@cache
def all_appliances() -> dict[str, Description]:
    """Return every known appliance by its name, in the order of the file."""
    text = (resources.files(__package__) / "appliances.toml").read_text(encoding="utf-8")
    return {name: parse_description(name, table, name) for name, table in tomllib.loads(text).items()}


def find_appliance(where: str, name: Any, own: str = "") -> Description:
    """Return the appliance called `name`, capitals and extra blanks aside.

    Parameters
    ----------
    where : str
        Its place, for messages.
    name : object
        What was typed.
    own : str
        What takes a description of one's own, if anything does there.
    """
    advice = f"'dryingsim list appliances' shows all{own and f'; {own} takes a description of your own'}"
    return check_named(where, name, all_appliances(), "appliance", advice)


def appliance_of(place: str, table: Any, folder: Path) -> Appliance:
    """Return the appliance that a batch chooses by `use` or `file`, with the parameters it changes.

    Parameters
    ----------
    place : str
        The place in the batch file, for messages.
    table : object
        What was typed there.
    folder : Path
        That of the batch file: a relative `file` starts there.
    """
    if not isinstance(table, dict) or ("use" in table) == ("file" in table):
        raise InputError(
            f"{place} needs either 'use' with the name of an appliance ('dryingsim list appliances' shows all) "
            "or 'file' with a description of your own"
        )
    if "use" in table:
        chosen = find_appliance(f"{place}, use", table["use"], "'file'")
    else:
        if not isinstance(table["file"], str):
            raise InputError(
                f"{place}, file = {show(table['file'])}: the name of a file is expected, in quotes"
            )
        chosen = load_description(f"{place}, file", folder / table["file"])
    changes = {key: value for key, value in table.items() if key not in ("use", "file")}
    return chosen.changed(place, changes).appliance(place)


def check_setting(
    place: str,
    stage: Stage,
    vapour_Pa: float,
    batch: Batch,
    appliance: Appliance,
    told: Callable[[float], str],
) -> None:
    """Check that an appliance can be set to a stage; whether it gets there is for the run to find out.

    Parameters
    ----------
    place : str
        The stage, for messages.
    stage : Stage
    vapour_Pa : float
        Vapour pressure of the air it asks for [Pa].
    batch : Batch
    appliance : Appliance
    told : callable
        Prints kelvin in the unit of the batch's display.
    """
    name, setting, room_K = appliance.name, stage.air.temperature_K, batch.room.temperature_K
    highest = appliance.heater.highest_K
    if highest is not None and setting > highest + _ROUNDING_K:
        raise InputError(
            f"{place}: air = {told(setting)} is above the highest setting of the {name}, {told(highest)}"
        )
    if setting < room_K:
        raise InputError(
            f"{place}: air = {told(setting)} is below the room's {told(room_K)}; the {name} cannot cool"
        )
    if stage.air.humidity.kind == "room":
        return
    if not appliance.moisture.steam_kg_s > 0.0:
        raise InputError(
            f"{place}, humidity: the {name} has no steam (moisture.steam) to hold a humidity; leave it out"
        )
    if vapour_Pa < _outside(batch.room):
        from dryingsim.properties.moist_air import dew_point

        raise InputError(
            f"{place}, humidity: this is drier than the room's air, and the {name} cannot dry air; "
            f"a dew point of {told(float(dew_point(_outside(batch.room))))} is the driest"
        )


def extremes(appliance: Appliance, room: Room, setting_K: float) -> tuple[float, float]:
    """Return the driest and the hottest that the air in an appliance can be: vapour pressure [Pa], temperature [K].

    There is no such limit (0 Pa, infinite) where a thermostat overshoots or sits behind the trays, where the floor
    glows at the slices, or where the fan alone may warm the chamber beyond the setting.
    """
    heater = appliance.heater
    steady = heater.control == "ideal" and heater.sensor == "supply" and heater.radiant_share == 0.0
    by_fan = room.temperature_K + heater.fan_W / appliance.walls.loss_W_K
    return (_outside(room), setting_K + _IDEAL_K) if steady and by_fan < setting_K else (0.0, math.inf)


def _outside(room: Room) -> float:
    """Vapour pressure of the room's air [Pa]."""
    from dryingsim.properties.moist_air import vapour_pressure_from_relative_humidity

    return float(vapour_pressure_from_relative_humidity(room.relative_humidity, room.temperature_K))
