"""Whether the air of every stage can exist in the room or the appliance of a batch, and whether every stage can end."""

import math
from collections.abc import Callable

from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.checks import brief
from dryingsim.batch.heating import all_at_once, marinade_left, too_little_for_a_slice
from dryingsim.batch.schema import Air, Batch, Meat, Room, Stage, Until
from dryingsim.batch.units import display_units, from_si
from dryingsim.errors import InputError

_ROUNDING_K = 0.01  # "71.1 degC" is the mark of 160 degF
_IDEAL_K = 0.5  # an ideal thermostat may settle this far above its setting (its band, rounded up)


def stage_place(name: str, number: int, title: str) -> str:
    """Return what messages call a stage.

    Parameters
    ----------
    name : str
        Of the file or the batch.
    number : int
        From 1 on.
    title : str
        Of the stage.
    """
    return f"{name}: stage {number}" + (f" ({brief(title)})" if title != f"stage {number}" else "")


def check_schedule(name: str, batch: Batch) -> None:
    """Check what needs several values: that the air of each stage can exist, and that each stage can end.

    Parameters
    ----------
    name : str
        Of the file or the batch, for messages.
    batch : Batch
    """
    if not any(stage.dries for stage in batch.stages):
        raise InputError(f"{name}: no stage dries the slices; a [[stage]] with 'air' is expected")
    for number, stage in enumerate(batch.stages, start=1):
        place = stage_place(name, number, stage.name)
        if stage.duration_s is None and stage.until is None:
            raise InputError(f"{place} never ends: it needs a duration or a condition")
        if not stage.dries:
            _check_medium(place, stage, batch)
            continue
        vapour, hottest = _checked_vapour_pressure(place, stage.air, batch), stage.air.temperature_K
        if batch.appliance is not None:
            _check_setting(place, stage, vapour, batch, batch.appliance)
            vapour, hottest = _extremes(batch.appliance, batch.room, hottest)
        if stage.air_end is not None:
            _checked_vapour_pressure(f"{place}, at its end", stage.air_end, batch)
        if stage.until is not None and stage.duration_s is None:
            obstacles = _obstacles(stage.until, hottest, vapour, batch)
            if None not in obstacles:  # the first condition reached ends a stage: one within reach is enough
                reasons = "; ".join(filter(None, obstacles))
                raise InputError(f"{place} never ends: {reasons}; change that or add 'duration'")


def why_not_in_liquid(meat: Meat) -> str:
    """Return why meat cannot be heated in liquid, and in what it can; empty where it can.

    Parameters
    ----------
    meat : Meat
    """
    if meat.form != "minced":
        return ""
    return (
        'ground meat would fall apart in liquid; heat it in steam (steam = "boiling") or in a hot oven first'
    )


def _check_medium(place: str, stage: Stage, batch: Batch) -> None:
    """Check a stage in other than drying air: that it stands where it can be followed, and ends."""
    if stage.kind != "rest" and any(earlier.dries for earlier in batch.stages[: batch.stages.index(stage)]):
        raise InputError(
            f"{place}: {stage.kind} after drying would wet the slices again, which is not computed; put it before"
        )
    obstacle = why_not_in_liquid(batch.meat) if stage.in_liquid else ""
    if obstacle:
        raise InputError(f"{place}: {obstacle}")
    if stage.kind == "marinade" and too_little_for_a_slice(batch):
        small, large = ("oz", "lb") if batch.display == "us" else ("g", "kg")
        left = f"{from_si(marinade_left(batch) or 0.0, small, 'mass'):.3g} {small}"
        for_all = f"{from_si(all_at_once(batch), large, 'mass'):.3g} {large}"
        raise InputError(
            f"{place}, marinade: {left} of it is left once the meat has taken up its share, too little to heat even a slice in; "
            f'say water = "boiling" ({for_all} for all at once; it takes the salt out) or steam = "boiling"'
        )
    if stage.duration_s is not None or stage.until is None:
        return
    medium, core = stage.air.temperature_K, stage.until.core_temperature_K
    in_degrees = _temperature_text(batch)
    if core is None:
        raise InputError(
            f"{place} never ends: nothing dries in it; give 'duration' or until = {{ core = ... }}"
        )
    if core >= medium:
        raise InputError(
            f"{place} never ends: the core cannot reach {in_degrees(core)} in what is at {in_degrees(medium)}; "
            "change that or add 'duration'"
        )


def _checked_vapour_pressure(place: str, air: Air, batch: Batch) -> float:
    """Return the vapour pressure [Pa] of a stage's air; raise if no such air exists in this room."""
    if air.humidity.kind == "room":
        return _vapour_pressure_of_room(place, air, batch)
    if air.humidity.kind == "relative":
        return _vapour_pressure_of_relative(place, air, batch)
    return _vapour_pressure_of_temperature(place, air, batch)


def _vapour_pressure_of_room(place: str, air: Air, batch: Batch) -> float:
    from dryingsim.properties import moist_air, water

    vapour = _outside(batch.room)
    if vapour > water.saturation_pressure(air.temperature_K):
        in_degrees = _temperature_text(batch)
        raise InputError(
            f"{place}: the room's air cannot be cooled to {in_degrees(air.temperature_K)} without condensing; "
            f"its dew point is {in_degrees(float(moist_air.dew_point(vapour)))}"
        )
    return vapour


def _vapour_pressure_of_relative(place: str, air: Air, batch: Batch) -> float:
    from dryingsim.properties import moist_air

    relative, pressure = air.humidity.value, batch.room.pressure_Pa
    vapour = float(moist_air.vapour_pressure_from_relative_humidity(relative, air.temperature_K))
    if vapour >= pressure:
        raise InputError(
            f"{place}: air at {_temperature_text(batch)(air.temperature_K)} cannot have a relative humidity "
            f"of {100 * relative:.4g} %; pure steam has {100 * relative * pressure / vapour:.3g} % there"
        )
    return vapour


def _vapour_pressure_of_temperature(place: str, air: Air, batch: Batch) -> float:
    """Vapour pressure [Pa] from a wet bulb or a dew point."""
    from dryingsim.properties import moist_air, water

    dry, value, pressure = air.temperature_K, air.humidity.value, batch.room.pressure_Pa
    in_degrees = _temperature_text(batch)
    words = f"the {air.humidity.kind.replace('_', ' ')} ({in_degrees(value)})"
    if value > dry:
        raise InputError(f"{place}: {words} is above the air temperature ({in_degrees(dry)})")
    if water.saturation_pressure(value) >= pressure:
        raise InputError(f"{place}: {words} is not below the boiling point of water at this pressure")
    if air.humidity.kind == "dew_point":
        return float(water.saturation_pressure(value))
    vapour = float(moist_air.vapour_pressure_from_wet_bulb(dry, value, pressure))
    if vapour < 0.0:
        lowest = in_degrees(float(moist_air.wet_bulb(dry, 0.0, pressure)))
        raise InputError(f"{place}: {words} is too low; bone-dry air at {in_degrees(dry)} has {lowest}")
    return vapour


def _obstacles(until: Until, air_K: float, vapour_pressure: float, batch: Batch) -> list[str | None]:
    """Return for each condition why it can never be met, or None where it can; in the hottest and driest air."""
    from dryingsim.properties import water

    in_degrees = _temperature_text(batch)
    obstacles: list[str | None] = []
    core, loss, activity = until.core_temperature_K, until.weight_loss, until.water_activity
    if core is not None:
        reason = f"the core cannot reach {in_degrees(core)} in air at {in_degrees(air_K)}"
        obstacles.append(reason if core >= air_K else None)
    if loss is not None:
        raw = batch.meat
        most = raw.weight_kg * (raw.composition.water + batch.marinade.water_kg_kg) / batch.laid_on_kg
        reason = f"a weight loss of {100 * loss:.4g} % is beyond the water there is ({100 * most:.3g} %)"
        obstacles.append(reason if loss >= most else None)
    if activity is not None:
        driest = vapour_pressure / float(water.saturation_pressure_liquid(air_K)) if vapour_pressure else 0.0
        reason = f"in this air the water activity cannot fall to {activity:g}, only towards {driest:.3g}"
        obstacles.append(reason if activity <= driest else None)
    return obstacles


def _temperature_text(batch: Batch) -> Callable[[float], str]:
    """Return a function that prints kelvin in the unit of the batch's display."""
    unit = display_units(batch.display)["temperature"]
    return lambda kelvin: f"{from_si(kelvin, unit, 'temperature'):.4g} {unit}"


def _check_setting(place: str, stage: Stage, vapour_Pa: float, batch: Batch, appliance: Appliance) -> None:
    """Check that an appliance can be set to a stage; whether it gets there is for the run to find out."""
    in_degrees = _temperature_text(batch)
    name, setting, room_K = appliance.name, stage.air.temperature_K, batch.room.temperature_K
    highest = appliance.heater.highest_K
    if highest is not None and setting > highest + _ROUNDING_K:
        raise InputError(
            f"{place}: air = {in_degrees(setting)} is above the highest setting of the {name}, {in_degrees(highest)}"
        )
    if setting < room_K:
        raise InputError(
            f"{place}: air = {in_degrees(setting)} is below the room's {in_degrees(room_K)}; the {name} cannot cool"
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
            f"a dew point of {in_degrees(float(dew_point(_outside(batch.room))))} is the driest"
        )


def _extremes(appliance: Appliance, room: Room, setting_K: float) -> tuple[float, float]:
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
