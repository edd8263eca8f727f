"""A batch file (TOML) read into a `Batch`. What a person can get wrong in it is caught here, on one line.

Each quantity is text with a unit. The checks of one value stand where it is read; those that need several
values, or the room's air, stand together at the end (`schedule_checks`).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any, cast, get_args

from dryingsim.batch.appliance_file import check_gap
from dryingsim.batch.catalog.appliances import appliance_of
from dryingsim.batch.catalog.cuts import find_cut, normalised
from dryingsim.batch.checks import check_choice, check_keys, check_range, show
from dryingsim.batch.learned import learned_of, with_learned
from dryingsim.batch.schedule_checks import check_schedule, stage_place
from dryingsim.batch.schema import (
    Air,
    Appliance,
    Batch,
    Composition,
    Form,
    Humidity,
    HumidityKind,
    Marinade,
    Meat,
    Room,
    Species,
    Stage,
    Support,
    Targets,
    ThicknessClass,
    UnitSystem,
    Until,
)
from dryingsim.batch.text_file import read_text
from dryingsim.batch.toml_reading import parse_toml
from dryingsim.batch.units import expected, to_ratio, to_si_within
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError


@dataclass(frozen=True, slots=True)
class _Limits:
    """What a quantity is, and the range outside of which it is surely a slip of the pen."""

    dimension: str
    low: str
    high: str


# The ranges of thickness, air temperature, speed and altitude are those the models are meant for; the others
# are estimates, wide enough for any kitchen or laboratory.
_THICKNESS = _Limits("length", "0.5 mm", "30 mm")
_SLICE = _Limits("length", "5 mm", "1 m")
_WEIGHT = _Limits("mass", "1 g", "500 kg")
_MEAT_TEMPERATURE = _Limits("temperature", "-1 degC", "90 degC")  # unfrozen
_PERCENT = _Limits("fraction", "0 %", "100 %")
_SALT = _Limits("mass fraction", "0 g/kg", "150 g/kg")
_SUGAR = _Limits("mass fraction", "0 g/kg", "500 g/kg")
_UPTAKE = _Limits("mass fraction", "-250 g/kg", "500 g/kg")
_PROTEIN = _Limits("fraction", "5 %", "60 %")  # of raw meat: food tables have 9 % (fat belly) to 24 %
_ASH = _Limits("fraction", "0 %", "10 %")
_WATER = _Limits("fraction", "30 %", "90 %")  # of raw meat
_ROOM_TEMPERATURE = _Limits("temperature", "-10 degC", "50 degC")
_ALTITUDE = _Limits("altitude", "-400 m", "5000 m")
_PRESSURE = _Limits("pressure", "50 kPa", "110 kPa")
_AIR = _Limits("temperature", "0 degC", "150 degC")
_SPEED = _Limits("speed", "0 m/s", "10 m/s")
_DURATION = _Limits("duration", "1 s", "240 h")
_ROTATION = _Limits("duration", "1 min", "240 h")
_GAP = _Limits("length", "0 mm", "2 m")
_HUMIDITY = {
    "relative": _PERCENT,
    "wet_bulb": _Limits("temperature", "-10 degC", "100 degC"),
    "dew_point": _Limits("temperature", "-60 degC", "100 degC"),
}

_TOP = ("title", "meat", "marinade", "room", "appliance", "trays", "stage", "targets", "display", "learned")
_ELSEWHERE = ("spread", "plan")  # tables that their own commands read
# what other files have and batches do not, and what such a file is
_OTHER_FILES = {
    "ingredient": "describes a marinade; 'dryingsim marinate {}' reads it",
    "corrections": "is what was learned; a batch file names it as 'file' in [learned]",
    "heater": "describes an appliance; a batch file names it as 'file' in [appliance]",
}
_MEAT = ("cut", "composition", "species", "form", "thickness", "length", "width", "weight", "temperature")
# the same two things in the words of the other side of the ocean
_FORMS = {"ground": "minced", "tenderized": "pounded", "needled": "pounded"}
_RAMP = ("air_end", "humidity_end", "speed_end")
_STAGE = ("name", "air", "humidity", "speed", "door_gap", "duration", "until", "turn", *_RAMP)
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
    """Read the text of a batch file; `name` is what messages call it, files it names lie relative to `folder`."""
    return parse_document(parse_toml(text, name), name, folder)


def parse_document(data: dict[str, Any], name: str, folder: Path | None = None) -> Batch:
    """Read a batch file already taken apart by a TOML reader; arguments as for `parse_batch`."""
    for key, told in _OTHER_FILES.items():
        if key in data:
            raise InputError(f"{name}: this {told.format(name)}")
    check_keys(name, data, _TOP + _ELSEWHERE)
    title = data.get("title", Path(name).stem)
    if not isinstance(title, str) or not title.strip() or not title.isprintable():
        raise InputError(f"{name}: title = {show(title)}: one line of text in quotes is expected")
    display = _Table.of(name, data, "display", ("units",))
    trays = _Table.of(name, data, "trays", ("support", "count", "rotate_every"))
    appliance = None
    if "appliance" in data:
        appliance = appliance_of(f"{name}: [appliance]", data["appliance"], folder or Path())
    count, rotation = _load(trays, appliance)
    batch = Batch(
        name=title.strip(),
        meat=_meat(_Table.of(name, data, "meat", _MEAT)),
        marinade=_marinade(_Table.of(name, data, "marinade", ("salt", "sugar", "water"))),
        room=_room(_Table.of(name, data, "room", ("temperature", "humidity", "altitude", "pressure"))),
        support=cast(Support, trays.choice("support", get_args(Support), "mesh")),
        appliance=appliance,
        trays=count,
        rotate_every_s=rotation,
        stages=_stages(name, data.get("stage", []), appliance),
        targets=_targets(_Table.of(name, data, "targets", ("water_activity",))),
        display=cast(UnitSystem, display.choice("units", get_args(UnitSystem), "metric")),
    )
    check_schedule(name, batch)
    if "learned" in data:
        batch = with_learned(
            batch, learned_of(f"{name}: [learned]", data["learned"], batch, folder or Path())
        )
    return batch


class _Table:
    """One table of the file, which knows its place in it, and reads its keys."""

    def __init__(self, place: str, data: Any, known: Iterable[str]) -> None:
        if not isinstance(data, dict):
            raise InputError(f"{place} = {show(data)}: a table of keys is expected ({', '.join(known)})")
        check_keys(place, data, known)
        self.place = place
        self.data = data

    @classmethod
    def of(cls, name: str, data: dict[str, Any], key: str, known: Iterable[str]) -> "_Table":
        """Return the table [key] of the file; an absent one is empty."""
        return cls(f"{name}: [{key}]", data.get(key, {}), known)

    def __contains__(self, key: str) -> bool:
        return key in self.data

    def where(self, key: str) -> str:
        """Return the place of a key, for messages."""
        return f"{self.place}, {key}"

    def quantity(self, key: str, limits: _Limits, default: str | None = None) -> float:
        """Return the SI value of a key; without a default the key is needed."""
        typed = self.data.get(key, default)
        if typed is None:
            raise InputError(f"{self.place} needs '{key}': {expected(limits.dimension)}")
        return to_si_within(self.where(key), typed, limits.dimension, limits.low, limits.high)

    def choice(self, key: str, allowed: Iterable[str], default: str) -> str:
        """Return one of a few words."""
        return check_choice(self.where(key), self.data.get(key, default), allowed)

    def water_activity(self, key: str) -> float:
        """Return a water activity."""
        value = to_ratio(self.where(key), self.data[key])
        return check_range(self.where(key), self.data[key], value, 0.1, 0.99, "0.1 to 0.99")

    def refuse(self, keys: Iterable[str], why: str) -> None:
        """Raise if one of the keys is there."""
        for key in keys:
            if key in self:
                raise InputError(f"{self.where(key)} = {show(self.data[key])}: {why}")

    def only_one(self, first: str, second: str) -> None:
        """Raise if two keys that say the same thing are both there."""
        if first in self and second in self:
            raise InputError(f"{self.place} has both '{first}' and '{second}': give one of them")


def _meat(table: _Table) -> Meat:
    table.only_one("cut", "composition")
    if "composition" in table:
        name, composition = "own composition", _composition(table)
        species = table.choice("species", get_args(Species), "unknown")
    elif "cut" in table:
        cut = find_cut(table.where("cut"), table.data["cut"], "[meat.composition]")
        name, composition = cut.name, cut.composition
        species = table.choice("species", get_args(Species), cut.species)
        if species != cut.species:
            table.refuse(["species"], f"{cut.name} is {cut.species}; leave it out, it belongs to the cut")
    else:
        raise InputError(
            f"{table.place} needs 'cut' (for example \"beef eye of round\") or [meat.composition]"
        )
    return Meat(
        name=name,
        composition=composition,
        species=cast(Species, species),
        form=cast(Form, _form(table)),
        classes=_classes(table),
        length_m=table.quantity("length", _SLICE),
        width_m=table.quantity("width", _SLICE),
        weight_kg=table.quantity("weight", _WEIGHT),
        temperature_K=table.quantity("temperature", _MEAT_TEMPERATURE, "4 degC"),
    )


def _form(table: _Table) -> str:
    typed = table.data.get("form", "sliced")
    known = _FORMS.get(typed, typed) if isinstance(typed, str) else typed
    return check_choice(table.where("form"), known, (*get_args(Form), *_FORMS))


def _composition(table: _Table) -> Composition:
    place = table.place.replace("[meat]", "[meat.composition]")
    parts = _Table(place, table.data["composition"], ("water", "protein", "fat", "carbohydrate", "ash"))
    fractions = {
        "water": parts.quantity("water", _WATER),
        "protein": parts.quantity("protein", _PROTEIN),
        "fat": parts.quantity("fat", _PERCENT),
        "carbohydrate": parts.quantity("carbohydrate", _PERCENT, "0 %"),
        "ash": parts.quantity("ash", _ASH),
    }
    total = sum(fractions.values())
    # Food tables analyse the parts one by one, so sums of 97 to 103 % occur; beyond that a part is wrong.
    if not 0.97 <= total <= 1.03:
        raise InputError(
            f"{place}: the parts sum to {100 * total:.4g} %; 97 to 103 % is expected, then scaled to 100 %"
        )
    return normalised(**fractions)


def _classes(table: _Table) -> tuple[ThicknessClass, ...]:
    """Read one thickness, or a list of { value, share }."""
    typed = table.data.get("thickness")
    if not isinstance(typed, list):
        return (ThicknessClass(thickness_m=table.quantity("thickness", _THICKNESS), share=1.0),)
    classes = []
    for number, entry in enumerate(typed, start=1):
        row = _Table(f"{table.where('thickness')} {number}", entry, ("value", "share"))
        classes.append((row.quantity("value", _THICKNESS), row.quantity("share", _PERCENT)))
        if not classes[-1][1] > 0:
            raise InputError(f"{row.where('share')} = {show(entry['share'])}: a share above 0 % is expected")
    total = sum(share for _, share in classes)
    if abs(total - 1.0) > 0.001 + 1e-9:  # 0.1 %: three times "33.3 %" is meant as the whole
        raise InputError(
            f"{table.where('thickness')}: the shares sum to {100 * total:.4g} %; 100 % is expected"
        )
    return tuple(ThicknessClass(thickness_m=thickness, share=share / total) for thickness, share in classes)


def _marinade(table: _Table) -> Marinade:
    return Marinade(
        salt_kg_kg=table.quantity("salt", _SALT, "0 g/kg"),
        sugar_kg_kg=table.quantity("sugar", _SUGAR, "0 g/kg"),
        water_kg_kg=table.quantity("water", _UPTAKE, "0 g/kg"),
    )


def _room(table: _Table) -> Room:
    table.only_one("altitude", "pressure")
    if "pressure" in table:
        pressure = table.quantity("pressure", _PRESSURE)
    elif "altitude" in table:
        from dryingsim.properties.moist_air import standard_pressure

        pressure = float(standard_pressure(table.quantity("altitude", _ALTITUDE)))
    else:
        pressure = STANDARD_PRESSURE
    return Room(
        temperature_K=table.quantity("temperature", _ROOM_TEMPERATURE),
        relative_humidity=table.quantity("humidity", _PERCENT),
        pressure_Pa=pressure,
    )


def _targets(table: _Table) -> Targets:
    return (
        Targets(water_activity=table.water_activity("water_activity"))
        if "water_activity" in table
        else Targets()
    )


def _load(table: _Table, appliance: Appliance | None) -> tuple[int | None, float | None]:
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


def _stages(name: str, typed: Any, appliance: Appliance | None) -> tuple[Stage, ...]:
    if isinstance(typed, dict):
        raise InputError(f"{name}: [stage]: a stage begins with double brackets, [[stage]]")
    if not isinstance(typed, list) or not typed:
        raise InputError(
            f"{name}: there is no stage; at least one [[stage]] with air, speed and duration is expected"
        )
    return tuple(_stage(name, number, entry, appliance) for number, entry in enumerate(typed, start=1))


def _stage(name: str, number: int, entry: Any, appliance: Appliance | None) -> Stage:
    title = entry.get("name", f"stage {number}") if isinstance(entry, dict) else f"stage {number}"
    if not isinstance(title, str) or not title.strip() or not title.isprintable():
        raise InputError(f"{name}: stage {number}, name = {show(title)}: a short text in quotes is expected")
    table = _Table(stage_place(name, number, title), entry, _STAGE)
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
    turn = table.data.get("turn", False)
    if not isinstance(turn, bool):
        raise InputError(f"{table.where('turn')} = {show(turn)}: true or false is expected, without quotes")
    duration = table.quantity("duration", _DURATION) if "duration" in table else None
    until = _until(table) if "until" in table else None
    if duration is None and until is None:
        raise InputError(f"{table.place} has no end: give 'duration', 'until' or both")
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


def _door_gap(table: _Table, appliance: Appliance) -> float | None:
    if "door_gap" not in table:
        return None
    if appliance.door is None:
        table.refuse(["door_gap"], f"the {appliance.name} has no door to leave ajar")
        return None
    gap = table.quantity("door_gap", _GAP)
    check_gap(table.where("door_gap"), table.data["door_gap"], gap, appliance.door)
    return gap


def _humidity(table: _Table, key: str) -> Humidity:
    typed = table.data.get(key, "room")
    if typed == "room":
        return Humidity(kind="room")
    if not isinstance(typed, dict):
        raise InputError(f"{table.where(key)} = {show(typed)}: one of {_HUMIDITY_EXAMPLES} is expected")
    inner = _Table(table.where(key), typed, (*_HUMIDITY, "measured"))
    kinds = [one for one in typed if one != "measured"]
    if len(kinds) != 1:
        raise InputError(f"{inner.place}: exactly one of {_HUMIDITY_EXAMPLES} is expected")
    kind, measured = kinds[0], typed.get("measured", False)
    if not isinstance(measured, bool):
        raise InputError(
            f"{inner.where('measured')} = {show(measured)}: true or false is expected, without quotes"
        )
    value = inner.quantity(kind, _HUMIDITY[kind])
    return Humidity(kind=cast(HumidityKind, kind), value=value, measured=measured)


def _air_end(table: _Table, start: Air) -> Air | None:
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


def _until(table: _Table) -> Until:
    inner = _Table(table.where("until"), table.data["until"], ("weight_loss", "core", "water_activity"))
    if not inner.data:
        raise InputError(f"{inner.place}: at least one of weight_loss, core, water_activity is expected")
    return Until(
        weight_loss=inner.quantity("weight_loss", _PERCENT) if "weight_loss" in inner else None,
        core_temperature_K=inner.quantity("core", _AIR) if "core" in inner else None,
        water_activity=inner.water_activity("water_activity") if "water_activity" in inner else None,
    )
