"""The stages of a batch file, read: drying air, ramps and humidities, marinade, water, steam and rest, and what ends them."""

from typing import Any, cast

from dryingsim.batch.appliance_description import check_gap
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.checks import show
from dryingsim.batch.reading.raw_meat import PERCENT
from dryingsim.batch.reading.toml_table import Limits, Table
from dryingsim.batch.schedule_checks import stage_place
from dryingsim.batch.schema import Air, Humidity, HumidityKind, Room, Stage, StageKind, Until
from dryingsim.errors import InputError

_AIR = Limits("temperature", "0 degC", "150 degC")
_SPEED = Limits("speed", "0 m/s", "10 m/s")
_DURATION = Limits("duration", "1 s", "240 h")
_GAP = Limits("length", "0 mm", "2 m")
_MEDIA = {  # what slices are in other than drying air: by what it is typed as
    "marinade": Limits("temperature", "30 degC", "110 degC", '"boiling" or "85 degC"'),
    "water": Limits("temperature", "30 degC", "110 degC", '"boiling" or "85 degC"'),
    "steam": Limits("temperature", "50 degC", "110 degC", '"boiling" or "95 degC"'),
    "rest": Limits("temperature", "-1 degC", "90 degC", '"room" or "4 degC"'),
}
_HUMIDITY = {
    "relative": PERCENT,
    "wet_bulb": Limits("temperature", "-10 degC", "100 degC"),
    "dew_point": Limits("temperature", "-60 degC", "100 degC"),
}

_RAMP = ("air_end", "humidity_end", "speed_end")
_STAGE = ("name", "air", *_MEDIA, "humidity", "speed", "door_gap", "duration", "until", "turn", *_RAMP)
_OF_AIR = ("air", "humidity", "speed", "door_gap", "turn", *_RAMP)
NO_APPLIANCE = "this needs an [appliance]; without one the air at the slices is as the stages say"
_HUMIDITY_EXAMPLES = '"room", { relative = "85 %" }, { wet_bulb = "50 degC" } or { dew_point = "15 degC" }'


def stages_of(name: str, typed: Any, appliance: Appliance | None, room: Room) -> tuple[Stage, ...]:
    """Return the stages of a batch file.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    typed : object
        What stands under [[stage]].
    appliance : Appliance or None
    room : Room
    """
    if isinstance(typed, dict):
        raise InputError(f"{name}: [stage]: a stage begins with double brackets, [[stage]]")
    if not isinstance(typed, list) or not typed:
        raise InputError(
            f"{name}: there is no stage; at least one [[stage]] with air, speed and duration is expected"
        )
    return tuple(_stage(name, number, entry, appliance, room) for number, entry in enumerate(typed, start=1))


def _stage(name: str, number: int, entry: Any, appliance: Appliance | None, room: Room) -> Stage:
    title = entry.get("name", f"stage {number}") if isinstance(entry, dict) else f"stage {number}"
    if not isinstance(title, str) or not title.strip() or not title.isprintable():
        raise InputError(f"{name}: stage {number}, name = {show(title)}: a short text in quotes is expected")
    if isinstance(entry, dict) and "liquid" in entry:
        raise InputError(
            f'{stage_place(name, number, title)}, liquid = {show(entry["liquid"])}: say which: marinade = "boiling", or water = '
            '"boiling", which takes the salt out of the meat, so that it has to be dried further'
        )
    table = Table(stage_place(name, number, title), entry, _STAGE)
    duration = table.quantity("duration", _DURATION) if "duration" in table else None
    until = _until(table) if "until" in table else None
    if duration is None and until is None:
        raise InputError(f"{table.place} has no end: give 'duration', 'until' or both")
    for kind in _MEDIA:
        if kind in table:
            air = _medium(table, kind, room)
            return Stage(name=title, air=air, kind=cast(StageKind, kind), duration_s=duration, until=until)
    if appliance is None:
        table.refuse(["door_gap"], NO_APPLIANCE)
        speed = table.quantity("speed", _SPEED)
    else:
        table.refuse(
            ["speed"], f"the speed is that of the {appliance.name}; change it as air.speed in [appliance]"
        )
        table.refuse(_RAMP, "an appliance has one setting per stage; use several stages in place of a ramp")
        speed = appliance.trays.speed_m_s
    air = Air(
        temperature_K=table.quantity("air", _AIR), humidity=_humidity(table, "humidity"), speed_m_s=speed
    )
    turn = table.yes_or_no("turn", default=False)
    air_end = _air_end(table, air)
    if air_end is not None and duration is None:
        raise InputError(f"{table.place} is a ramp (a key that ends in _end), so it needs 'duration'")
    return Stage(
        name=title,
        air=air,
        air_end=air_end,
        duration_s=duration,
        until=until,
        turn=turn,
        door_gap_m=None if appliance is None else _door_gap(table, appliance),
    )


def _medium(table: Table, kind: str, room: Room) -> Air:
    """Return what the slices are in, as air of which the temperature counts."""
    table.refuse((key for key in _MEDIA if key != kind), f"the slices of this stage are in {kind} already")
    table.refuse(_OF_AIR, f"this goes with drying air; the slices of this stage are in {kind}")
    if kind == "rest" and table.data[kind] == "room":
        temperature = room.temperature_K
    elif kind != "rest" and table.data[kind] == "boiling":
        from dryingsim.properties.moist_air import dew_point

        temperature = float(
            dew_point(room.pressure_Pa)
        )  # pure water's: salt and sugar raise it by a kelvin or so
    else:
        temperature = table.quantity(kind, _MEDIA[kind])
    return Air(temperature_K=temperature, humidity=Humidity(kind="room"), speed_m_s=0.0)


def _door_gap(table: Table, appliance: Appliance) -> float | None:
    if "door_gap" not in table:
        return None
    if appliance.door is None:
        table.refuse(["door_gap"], f"the {appliance.name} has no door to leave ajar")
        return None
    gap = table.quantity("door_gap", _GAP)
    check_gap(table.where("door_gap"), table.data["door_gap"], gap, appliance.door)
    return gap


def _humidity(table: Table, key: str) -> Humidity:
    typed = table.data.get(key, "room")
    if typed == "room":
        return Humidity(kind="room")
    if not isinstance(typed, dict):
        raise InputError(f"{table.where(key)} = {show(typed)}: one of {_HUMIDITY_EXAMPLES} is expected")
    inner = Table(table.where(key), typed, (*_HUMIDITY, "measured"))
    kinds = [one for one in typed if one != "measured"]
    if len(kinds) != 1:
        raise InputError(f"{inner.place}: exactly one of {_HUMIDITY_EXAMPLES} is expected")
    kind, measured = kinds[0], inner.yes_or_no("measured", default=False)
    value = inner.quantity(kind, _HUMIDITY[kind])
    return Humidity(kind=cast(HumidityKind, kind), value=value, measured=measured)


def _air_end(table: Table, start: Air) -> Air | None:
    """Return the air at the end of a ramp; what the ramp does not name stays as it was."""
    if not any(key in table for key in _RAMP):
        return None
    humidity = _humidity(table, "humidity_end") if "humidity_end" in table else start.humidity
    if humidity.kind != start.humidity.kind:
        raise InputError(
            f"{table.where('humidity_end')} is of the kind '{humidity.kind}', but humidity is of the kind "
            f"'{start.humidity.kind}': a ramp needs the same kind at both ends"
        )
    return Air(
        temperature_K=table.quantity("air_end", _AIR) if "air_end" in table else start.temperature_K,
        humidity=humidity,
        speed_m_s=table.quantity("speed_end", _SPEED) if "speed_end" in table else start.speed_m_s,
    )


def _until(table: Table) -> Until:
    inner = Table(table.where("until"), table.data["until"], ("weight_loss", "core", "water_activity"))
    if not inner.data:
        raise InputError(f"{inner.place}: at least one of weight_loss, core, water_activity is expected")
    return Until(
        weight_loss=inner.quantity("weight_loss", PERCENT) if "weight_loss" in inner else None,
        core_temperature_K=inner.quantity("core", _AIR) if "core" in inner else None,
        water_activity=inner.water_activity("water_activity") if "water_activity" in inner else None,
    )
