"""Whether the air of every stage can exist in the room or the appliance of a batch, and whether every stage can end."""

from collections.abc import Callable

from dryingsim.batch.catalog.appliances import check_setting, extremes
from dryingsim.batch.checks import brief
from dryingsim.batch.schema import Air, Batch, Until
from dryingsim.batch.units import display_units, from_si
from dryingsim.errors import InputError


def stage_place(name: str, number: int, title: str) -> str:
    """Return what messages call a stage."""
    return f"{name}: stage {number}" + (f" ({brief(title)})" if title != f"stage {number}" else "")


def check_schedule(name: str, batch: Batch) -> None:
    """Check what needs several values: that the air of each stage can exist, and that each stage can end."""
    for number, stage in enumerate(batch.stages, start=1):
        place = stage_place(name, number, stage.name)
        if stage.duration_s is None and stage.until is None:
            raise InputError(f"{place} never ends: it needs a duration or a condition")
        vapour, hottest = _checked_vapour_pressure(place, stage.air, batch), stage.air.temperature_K
        if batch.appliance is not None:
            check_setting(place, stage, vapour, batch, batch.appliance, _temperature_text(batch))
            vapour, hottest = extremes(batch.appliance, batch.room, hottest)
        if stage.air_end is not None:
            _checked_vapour_pressure(f"{place}, at its end", stage.air_end, batch)
        if stage.until is not None and stage.duration_s is None:
            obstacles = _obstacles(stage.until, hottest, vapour, batch)
            if None not in obstacles:  # the first condition reached ends a stage: one within reach is enough
                reasons = "; ".join(filter(None, obstacles))
                raise InputError(f"{place} never ends: {reasons}; change that or add 'duration'")


def _checked_vapour_pressure(place: str, air: Air, batch: Batch) -> float:
    """Return the vapour pressure [Pa] of a stage's air; raise if no such air exists in this room."""
    if air.humidity.kind == "room":
        return _vapour_pressure_of_room(place, air, batch)
    if air.humidity.kind == "relative":
        return _vapour_pressure_of_relative(place, air, batch)
    return _vapour_pressure_of_temperature(place, air, batch)


def _vapour_pressure_of_room(place: str, air: Air, batch: Batch) -> float:
    from dryingsim.properties import moist_air, water

    humidity, temperature = batch.room.relative_humidity, batch.room.temperature_K
    vapour = float(moist_air.vapour_pressure_from_relative_humidity(humidity, temperature))
    if vapour > water.saturation_pressure(air.temperature_K):
        told = _temperature_text(batch)
        raise InputError(
            f"{place}: the room's air cannot be cooled to {told(air.temperature_K)} without condensing; "
            f"its dew point is {told(float(moist_air.dew_point(vapour)))}"
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
    told = _temperature_text(batch)
    words = f"the {air.humidity.kind.replace('_', ' ')} ({told(value)})"
    if value > dry:
        raise InputError(f"{place}: {words} is above the air temperature ({told(dry)})")
    if water.saturation_pressure(value) >= pressure:
        raise InputError(f"{place}: {words} is not below the boiling point of water at this pressure")
    if air.humidity.kind == "dew_point":
        return float(water.saturation_pressure(value))
    vapour = float(moist_air.vapour_pressure_from_wet_bulb(dry, value, pressure))
    if vapour < 0.0:
        lowest = told(float(moist_air.wet_bulb(dry, 0.0, pressure)))
        raise InputError(f"{place}: {words} is too low; bone-dry air at {told(dry)} has {lowest}")
    return vapour


def _obstacles(until: Until, air_K: float, vapour_pressure: float, batch: Batch) -> list[str | None]:
    """Return for each condition why it can never be met, or None where it can; in the hottest and driest air."""
    from dryingsim.properties import water

    told = _temperature_text(batch)
    found: list[str | None] = []
    core, loss, activity = until.core_temperature_K, until.weight_loss, until.water_activity
    if core is not None:
        reason = f"the core cannot reach {told(core)} in air at {told(air_K)}"
        found.append(reason if core >= air_K else None)
    if loss is not None:
        extra = batch.marinade
        laid_on = 1.0 + extra.salt_kg_kg + extra.sugar_kg_kg + extra.water_kg_kg
        most = (batch.meat.composition.water + extra.water_kg_kg) / laid_on
        reason = f"a weight loss of {100 * loss:.4g} % is beyond the water there is ({100 * most:.3g} %)"
        found.append(reason if loss >= most else None)
    if activity is not None:
        driest = vapour_pressure / float(water.saturation_pressure_liquid(air_K)) if vapour_pressure else 0.0
        reason = f"in this air the water activity cannot fall to {activity:g}, only towards {driest:.3g}"
        found.append(reason if activity <= driest else None)
    return found


def _temperature_text(batch: Batch) -> Callable[[float], str]:
    """Return a function that prints kelvin in the unit of the batch's display."""
    unit = display_units(batch.display)["temperature"]
    return lambda kelvin: f"{from_si(kelvin, unit, 'temperature'):.4g} {unit}"
