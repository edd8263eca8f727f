"""A batch as the text of a file: what `batch.reading.batch_file` reads, and reads back as the same batch."""

from dataclasses import fields, replace
from typing import Any

from dryingsim._version import __version__
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.catalog.appliances import known_appliance
from dryingsim.batch.catalog.cuts import all_cuts
from dryingsim.batch.components import STANDARD
from dryingsim.batch.distributions import PLACE
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Air, Batch, Humidity, Marinade, Meat, Room, Stage, UnitSystem, Until
from dryingsim.batch.soaking import taken_up
from dryingsim.batch.toml_writing import toml_key, toml_text
from dryingsim.batch.uncertainties import INPUTS, checked_uncertainties
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.batch.writing.appliance_file import appliance_tables
from dryingsim.batch.writing.marinade import ingredient_tables, soak_keys
from dryingsim.batch.writing.quantities import spelled
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError

Table = dict[str, Any]


def batch_toml(batch: Batch) -> str:
    """Return a batch as the text of a batch file.

    Parameters
    ----------
    batch : Batch
        Its display units are what the quantities are written in, wherever a few digits are exact.
        In an appliance the speed of its stages' air does not count, and comes back as the appliance's.

    Raises
    ------
    InputError
        If no file says the same: a value is beyond what a batch file may hold, or something counts that a file leaves out,
        such as what was learned from logs, which is a file of its own.

    Examples
    --------
    >>> from dryingsim import demo_batch, parse_batch
    >>> batch = demo_batch()
    >>> parse_batch(batch_toml(batch), "again") == batch
    True
    """
    if batch.learned is not None:
        raise InputError(
            f"{batch.name}: what was learned stands in a file of its own, and is in the numbers of this batch already: "
            "write the batch as it was before, and name that file in [learned]"
        )
    if batch.components != STANDARD:
        raise InputError(
            f"{batch.name}: components are Python objects, which no batch file can hold; the rest of it can"
        )
    meant = _with_what_it_took_up(_at_its_speed(batch))
    text = _text(_document(meant))
    back = parse_batch(text, batch.name)
    if back != meant:
        raise InputError(f"{batch.name}: no batch file says the same: {_difference(meant, back)}")
    return text


def _at_its_speed(batch: Batch) -> Batch:
    """Return the batch with the air of its stages as fast as its appliance makes it."""
    if batch.appliance is None:
        return batch
    speed = batch.appliance.trays.speed_m_s
    stages = [
        replace(stage, air=replace(stage.air, speed_m_s=speed)) if stage.dries else stage
        for stage in batch.stages
    ]
    return replace(batch, stages=tuple(stages))


def _with_what_it_took_up(batch: Batch) -> Batch:
    """Return the batch without its ingredients where they no longer make what its meat took up, as meat was changed."""
    soak, meat, told = batch.marinade.soak, batch.meat, batch.marinade
    if soak is None:
        return batch
    found = taken_up(soak, meat.composition.water, meat.weight_kg, meat.mean_thickness_m)
    if (found.salt, found.sugar, found.water) == (told.salt_kg_kg, told.sugar_kg_kg, told.water_kg_kg):
        return batch
    return replace(batch, marinade=replace(told, soak=None))


def _difference(batch: Batch, back: Batch) -> str:
    """Say in which noun a batch differs from what a file would make of it."""
    name = next(
        field.name for field in fields(batch) if getattr(batch, field.name) != getattr(back, field.name)
    )
    return f"{name} would come back as {getattr(back, name)}"


def _document(batch: Batch) -> Table:
    units = batch.display
    trays: Table = {"support": batch.support}
    if batch.trays is not None:
        trays["count"] = batch.trays
    if batch.rotate_every_s is not None:
        trays["rotate_every"] = spelled(batch.rotate_every_s, "duration", units)
    if batch.take_off != "as ready":
        trays["take_off"] = batch.take_off
    return {
        "title": batch.name,
        "meat": _meat(batch.meat, units),
        "marinade": _marinade(batch.marinade, units),
        **(
            {"marinade.ingredients": ingredient_tables(batch.marinade.soak, units)}
            if batch.marinade.soak
            else {}
        ),
        "room": _room(batch.room, units),
        **({"appliance": _appliance(batch.appliance, units)} if batch.appliance else {}),
        "trays": trays,
        "stage": [stage_table(stage, batch) for stage in batch.stages],
        "targets": {"water_activity": batch.targets.water_activity},
        "display": {"units": units},
        **({"spread": stated} if (stated := _spread(batch)) else {}),
    }


def _spread(batch: Batch) -> Table:
    table: Table = {
        key: _uncertainty(key, stated, batch.display)
        for key, stated in checked_uncertainties("Batch, uncertainties", batch.uncertainties).items()
    }
    return table | ({"correlations": batch.correlations} if batch.correlations else {})


def _uncertainty(key: str, stated: Uncertainty, units: UnitSystem) -> Table:
    dimension = INPUTS[key].dimension
    if not stated.parameters:
        return {stated.shape: spelled(stated.size, dimension, units)}
    parameters = dict(stated.parameters).items()
    typed = {name: spelled(one, dimension, units) if name in PLACE else one for name, one in parameters}
    return {"distribution": stated.shape, **typed}


def _meat(meat: Meat, units: UnitSystem) -> Table:
    cut = all_cuts().get(meat.name)
    if cut is not None and (cut.composition, cut.species) == (meat.composition, meat.species):
        made_of: Table = {"cut": cut.name}
    else:
        parts = ("water", "protein", "fat", "carbohydrate", "ash")
        composition = {part: spelled(getattr(meat.composition, part), "fraction", units) for part in parts}
        made_of = {"name": meat.name, "composition": composition, "species": meat.species}
    classes = [
        {"value": spelled(one.thickness_m, "length", units), "share": spelled(one.share, "fraction", units)}
        | ({} if one.lies == "flat" else {"lies": one.lies})
        for one in meat.classes
    ]
    return {
        **made_of,
        "form": meat.form,
        "thickness": classes if len(classes) > 1 or "lies" in classes[0] else classes[0]["value"],
        "length": spelled(meat.length_m, "length", units),
        "width": spelled(meat.width_m, "length", units),
        "weight": spelled(meat.weight_kg, "mass", units),
        "temperature": spelled(meat.temperature_K, "temperature", units),
    }


def _marinade(marinade: Marinade, units: UnitSystem) -> Table:
    guessed: Table = {} if marinade.known else {"known": False}
    if marinade.soak is not None:
        return soak_keys(marinade.soak, units) | guessed
    return {
        "salt": spelled(marinade.salt_kg_kg, "mass fraction", units),
        "sugar": spelled(marinade.sugar_kg_kg, "mass fraction", units),
        "water": spelled(marinade.water_kg_kg, "mass fraction", units),
    } | guessed


def _room(room: Room, units: UnitSystem) -> Table:
    table = {
        "temperature": spelled(room.temperature_K, "temperature", units),
        "humidity": spelled(room.relative_humidity, "fraction", units),
    }
    if room.pressure_Pa != STANDARD_PRESSURE:
        table["pressure"] = spelled(room.pressure_Pa, "pressure", units)
    return table


def _appliance(appliance: Appliance, units: UnitSystem) -> Table:
    known = known_appliance(appliance.name)
    if known is not None and known.appliance(appliance.name) == appliance:
        return {"use": appliance.name}
    return appliance_tables(appliance, units)


def stage_table(stage: Stage, batch: Batch) -> Table:
    """Return a stage as its table in a batch file.

    Parameters
    ----------
    stage : Stage
    batch : Batch
        Whose room, units and appliance it is for.
    """
    units = batch.display
    if not stage.dries:
        return _medium(stage, batch.room, units) | _end(stage, units)
    table: Table = {
        "name": stage.name,
        "air": spelled(stage.air.temperature_K, "temperature", units),
        "humidity": _humidity(stage.air.humidity, units),
    }
    if batch.appliance is None:
        table["speed"] = spelled(stage.air.speed_m_s, "speed", units)
    if stage.air_end is not None:
        table |= _ramp(stage.air, stage.air_end, units)
    if stage.door_gap_m is not None:
        table["door_gap"] = spelled(stage.door_gap_m, "length", units)
    return table | _end(stage, units) | ({"turn": True} if stage.turn else {})


def _medium(stage: Stage, room: Room, units: UnitSystem) -> Table:
    """Return a stage in other than drying air."""
    temperature: float = stage.air.temperature_K
    typed = spelled(temperature, "temperature", units)
    if stage.kind == "rest" and temperature == room.temperature_K:
        typed = "room"
    elif stage.kind != "rest":
        from dryingsim.properties.moist_air import dew_point

        typed = "boiling" if temperature == float(dew_point(room.pressure_Pa)) else typed
    return {"name": stage.name, stage.kind: typed}


def _end(stage: Stage, units: UnitSystem) -> Table:
    table: Table = {}
    if stage.duration_s is not None:
        table["duration"] = spelled(stage.duration_s, "duration", units)
    if stage.until is not None:
        table["until"] = _until(stage.until, units)
    return table


def _ramp(start: Air, end: Air, units: UnitSystem) -> Table:
    table = {"air_end": spelled(end.temperature_K, "temperature", units)}
    if end.humidity != start.humidity:
        table["humidity_end"] = _humidity(end.humidity, units)
    if end.speed_m_s != start.speed_m_s:
        table["speed_end"] = spelled(end.speed_m_s, "speed", units)
    return table


def _humidity(humidity: Humidity, units: UnitSystem) -> Any:
    if humidity.kind == "room":
        return "room"
    dimension = "fraction" if humidity.kind == "relative" else "temperature"
    return {humidity.kind: spelled(humidity.value, dimension, units)} | (
        {"measured": True} if humidity.measured else {}
    )


def _until(until: Until, units: UnitSystem) -> Table:
    table: Table = {}
    if until.weight_loss is not None:
        table["weight_loss"] = spelled(until.weight_loss, "fraction", units)
    if until.core_temperature_K is not None:
        table["core"] = spelled(until.core_temperature_K, "temperature", units)
    if until.water_activity is not None:
        table["water_activity"] = until.water_activity
    return table


def _text(document: Table) -> str:
    lines = [f"# Written by dryingsim {__version__}."]
    for key, value in document.items():
        if not isinstance(value, dict | list):
            lines.append(f"{key} = {toml_text(value)}")
        for table in value if isinstance(value, list) else [value] if isinstance(value, dict) else []:
            lines += ["", f"[[{key}]]" if isinstance(value, list) else f"[{key}]"]
            lines += [f"{toml_key(name)} = {toml_text(inner)}" for name, inner in table.items()]
    return "\n".join([*lines, ""])
