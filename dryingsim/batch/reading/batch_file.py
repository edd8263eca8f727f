"""A batch file (TOML) read into a `Batch`. What a person can get wrong in it is caught here, on one line.

Each quantity is text with a unit. The checks of one value stand where it is read; those that need several
values, or the room's air, stand together at the end (`schedule_checks`).
"""

from importlib import resources
from pathlib import Path
from typing import Any, cast, get_args

from dryingsim.batch.appliance_description import check_gap
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.catalog.cuts import ROUNDING
from dryingsim.batch.checks import check_choice, check_keys, show
from dryingsim.batch.learned import with_learned
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.reading.learned_file import learned_of
from dryingsim.batch.reading.marinade_table import KEYS as MARINADE_KEYS
from dryingsim.batch.reading.marinade_table import read_marinade
from dryingsim.batch.reading.raw_meat import PERCENT, read_raw_meat
from dryingsim.batch.reading.slices_laid import SHARES, laid_on, read_lies
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.reading.toml_table import Limits, Table, title_of
from dryingsim.batch.schedule_checks import check_schedule, stage_place
from dryingsim.batch.schema import (
    Air,
    Batch,
    Form,
    Humidity,
    HumidityKind,
    Meat,
    Room,
    Species,
    Stage,
    StageKind,
    Support,
    Targets,
    ThicknessClass,
    UnitSystem,
    Until,
)
from dryingsim.batch.uncertainties import read_uncertainties
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError

# The ranges of thickness, air temperature, speed and altitude are those the models are meant for; the others
# are estimates, wide enough for any kitchen or laboratory.
_THICKNESS = Limits("length", "0.5 mm", "30 mm")
_SLICE = Limits("length", "5 mm", "1 m")
_WEIGHT = Limits("mass", "1 g", "500 kg")
_MEAT_TEMPERATURE = Limits("temperature", "-1 degC", "90 degC")  # unfrozen
_ROOM_TEMPERATURE = Limits("temperature", "-10 degC", "50 degC")
_ALTITUDE = Limits("altitude", "-400 m", "5000 m")
_PRESSURE = Limits("pressure", "50 kPa", "110 kPa")
_AIR = Limits("temperature", "0 degC", "150 degC")
_SPEED = Limits("speed", "0 m/s", "10 m/s")
_DURATION = Limits("duration", "1 s", "240 h")
_ROTATION = Limits("duration", "1 min", "240 h")
_GAP = Limits("length", "0 mm", "2 m")
_MEDIA = {  # what slices are in other than drying air: by what it is typed as
    "liquid": Limits("temperature", "30 degC", "110 degC"),
    "steam": Limits("temperature", "50 degC", "110 degC"),
    "rest": Limits("temperature", "-1 degC", "90 degC"),
}
_HUMIDITY = {
    "relative": PERCENT,
    "wet_bulb": Limits("temperature", "-10 degC", "100 degC"),
    "dew_point": Limits("temperature", "-60 degC", "100 degC"),
}

_TOP = (
    "title",
    "meat",
    "marinade",
    "room",
    "appliance",
    "trays",
    "stage",
    "targets",
    "display",
    "learned",
    "spread",
)
_ELSEWHERE = ("plan",)  # a table that its own command reads
# what other files have and batches do not, and what such a file is
_OTHER_FILES = {
    "ingredient": "describes a marinade; 'dryingsim marinate {}' reads it",
    "corrections": "is what was learned; a batch file names it as 'file' in [learned]",
    "heater": "describes an appliance; a batch file names it as 'file' in [appliance]",
}
_MEAT = (
    "cut",
    "name",
    "composition",
    "species",
    "form",
    "thickness",
    "length",
    "width",
    "weight",
    "temperature",
)
# the same two things in the words of the other side of the ocean
_FORMS = {
    "ground": "minced",
    "tenderized": "pounded",
    "mechanically tenderized": "pounded",
    "needled": "pounded",
}
_RAMP = ("air_end", "humidity_end", "speed_end")
_STAGE = ("name", "air", *_MEDIA, "humidity", "speed", "door_gap", "duration", "until", "turn", *_RAMP)
_OF_AIR = ("air", "humidity", "speed", "door_gap", "turn", *_RAMP)
_NO_APPLIANCE = "this needs an [appliance]; without one the air at the slices is as the stages say"
_HUMIDITY_EXAMPLES = '"room", { relative = "85 %" }, { wet_bulb = "50 degC" } or { dew_point = "15 degC" }'


def load_batch(path: str | Path) -> Batch:
    """Read a batch file; raise `InputError` with one line for anything that is wrong with it."""
    return parse_document(load_document(path), str(path), Path(path).parent)


def load_document(path: str | Path) -> dict[str, Any]:
    """Return a batch file as a TOML reader takes it apart, its values not looked at."""
    return parse_toml(read_text(path, f"dryingsim new {path}"), str(path))


def demo_text() -> str:
    """Return the commented starting file, which is also the demonstration batch."""
    return (resources.files("dryingsim.batch.catalog") / "demo.toml").read_text(encoding="utf-8")


def parse_batch(text: str, name: str, folder: Path | None = None) -> Batch:
    """Read the text of a batch file.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.
    folder : Path, optional
        Files that it names lie relative to it; else to the working directory.
    """
    return parse_document(parse_toml(text, name), name, folder)


def parse_document(data: dict[str, Any], name: str, folder: Path | None = None) -> Batch:
    """Read a batch file already taken apart by a TOML reader.

    Parameters
    ----------
    data : dict
        Its tables, see `load_document`.
    name : str
        What messages call it.
    folder : Path, optional
        Files that it names lie relative to it; else to the working directory.
    """
    for key, told in _OTHER_FILES.items():
        if key in data:
            raise InputError(f"{name}: this {told.format(name)}")
    check_keys(name, data, _TOP + _ELSEWHERE)
    title = title_of(name, data)
    display = Table.of(name, data, "display", ("units",))
    trays = Table.of(name, data, "trays", ("support", *SHARES, "count", "rotate_every"))
    appliance = None
    if "appliance" in data:
        appliance = appliance_of(f"{name}: [appliance]", data["appliance"], folder or Path())
    count, rotation = _load(trays, appliance)
    support = cast(Support, trays.choice("support", get_args(Support), "mesh"))
    meat = laid_on(trays, _meat(Table.of(name, data, "meat", _MEAT)), support)
    room = _room(Table.of(name, data, "room", ("temperature", "humidity", "altitude", "pressure")))
    batch = Batch(
        name=title,
        meat=meat,
        marinade=read_marinade(name, Table.of(name, data, "marinade", MARINADE_KEYS), meat),
        room=room,
        support=support,
        appliance=appliance,
        trays=count,
        rotate_every_s=rotation,
        stages=_stages(name, data.get("stage", []), appliance, room),
        targets=_targets(Table.of(name, data, "targets", ("water_activity",))),
        display=cast(UnitSystem, display.choice("units", get_args(UnitSystem), "metric")),
        uncertainties=read_uncertainties(data, name),
    )
    check_schedule(name, batch)
    if "learned" in data:
        batch = with_learned(
            batch, learned_of(f"{name}: [learned]", data["learned"], batch, folder or Path())
        )
    return batch


def _meat(table: Table) -> Meat:
    cut, composition = read_raw_meat(table)
    species = table.choice("species", get_args(Species), cut.species if cut else "unknown")
    if cut:
        table.refuse(
            ["name"], f"the meat is called by its cut, {cut.name}; a name goes with [meat.composition]"
        )
    if cut and species != cut.species:
        table.refuse(["species"], f"{cut.name} is {cut.species}; leave it out, it belongs to the cut")
    return Meat(
        name=cut.name if cut else _own_name(table),
        composition=composition,
        species=cast(Species, species),
        form=form_of(table.where("form"), table.data.get("form", "sliced")),
        classes=_classes(table),
        length_m=table.quantity("length", _SLICE),
        width_m=table.quantity("width", _SLICE),
        weight_kg=table.quantity("weight", _WEIGHT),
        temperature_K=table.quantity("temperature", _MEAT_TEMPERATURE, "4 degC"),
    )


def _own_name(table: Table) -> str:
    """Return what meat of an own composition is called."""
    name = table.data.get("name", "own composition")
    if not isinstance(name, str) or not name.strip() or not name.isprintable():
        raise InputError(f"{table.where('name')} = {show(name)}: one line of text in quotes is expected")
    return name


def form_of(where: str, typed: object) -> Form:
    """Return the form of meat by any of its words, such as "ground" for "minced".

    Parameters
    ----------
    where : str
        Where it was typed, for a complaint.
    typed : object

    Examples
    --------
    >>> form_of("--form", "needled")
    'pounded'
    """
    known = _FORMS.get(typed, typed) if isinstance(typed, str) else typed
    return cast(Form, check_choice(where, known, (*get_args(Form), *_FORMS)))


def _classes(table: Table) -> tuple[ThicknessClass, ...]:
    """Read one thickness, or a list of { value, share, lies }."""
    typed = table.data.get("thickness")
    if not isinstance(typed, list):
        return (ThicknessClass(thickness_m=table.quantity("thickness", _THICKNESS), share=1.0),)
    classes = []
    for number, entry in enumerate(typed, start=1):
        row = Table(f"{table.where('thickness')} {number}", entry, ("value", "share", "lies"))
        share = row.quantity("share", PERCENT)
        classes.append((row.quantity("value", _THICKNESS), share, read_lies(row)))
        if not share > 0:
            raise InputError(f"{row.where('share')} = {show(entry['share'])}: a share above 0 % is expected")
    total = sum(share for _, share, _ in classes)
    if abs(total - 1.0) > 0.001 + 1e-9:  # 0.1 %: three times "33.3 %" is meant as the whole
        raise InputError(
            f"{table.where('thickness')}: the shares sum to {100 * total:.4g} %; 100 % is expected"
        )
    if abs(total - 1.0) < ROUNDING:
        total = 1.0
    return tuple(
        ThicknessClass(thickness_m=thickness, share=share / total, lies=lies)
        for thickness, share, lies in classes
    )


def _room(table: Table) -> Room:
    table.only_one("altitude", "pressure")
    if "pressure" in table:
        pressure = table.quantity("pressure", _PRESSURE)
    elif "altitude" in table:
        from dryingsim.properties.atmosphere import standard_pressure

        pressure = float(standard_pressure(table.quantity("altitude", _ALTITUDE)))
    else:
        pressure = STANDARD_PRESSURE
    return Room(
        temperature_K=table.quantity("temperature", _ROOM_TEMPERATURE),
        relative_humidity=table.quantity("humidity", PERCENT),
        pressure_Pa=pressure,
    )


def _targets(table: Table) -> Targets:
    return (
        Targets(water_activity=table.water_activity("water_activity"))
        if "water_activity" in table
        else Targets()
    )


def _load(table: Table, appliance: Appliance | None) -> tuple[int | None, float | None]:
    """Return the number of trays to use and the time between rotations [s], where they are given."""
    if appliance is None:
        table.refuse(("count", "rotate_every"), _NO_APPLIANCE)
        return None, None
    count, slots = table.data.get("count"), appliance.trays.slots
    if count is not None and (type(count) is not int or not 1 <= count <= slots):
        table.refuse(
            ["count"], f"a whole number from 1 to {slots}, the trays of the {appliance.name}, is expected"
        )
    if count == 1:
        table.refuse(["rotate_every"], "a single tray has no other place to go")
    return count, table.quantity("rotate_every", _ROTATION) if "rotate_every" in table else None


def _stages(name: str, typed: Any, appliance: Appliance | None, room: Room) -> tuple[Stage, ...]:
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
        table.refuse(["door_gap"], _NO_APPLIANCE)
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
