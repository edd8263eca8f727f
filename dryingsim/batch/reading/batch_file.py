"""A batch file (TOML) read into a `Batch`. What a person can get wrong in it is caught here, on one line.

Each quantity is text with a unit. The checks of one value stand where it is read; those that need several
values, or the room's air, stand together at the end (`schedule_checks`).
"""

from importlib import resources
from pathlib import Path
from typing import Any, cast, get_args

from dryingsim.batch.animals import called_ground, check_species
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.catalog.cuts import ROUNDING
from dryingsim.batch.checks import check_choice, check_keys, show
from dryingsim.batch.learned import with_learned
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.reading.learned_file import learned_of
from dryingsim.batch.reading.marinade_table import KEYS as MARINADE_KEYS
from dryingsim.batch.reading.marinade_table import read_marinade
from dryingsim.batch.reading.raw_meat import PERCENT, read_raw_meat
from dryingsim.batch.reading.slices_laid import SHARES, laid_on
from dryingsim.batch.reading.stages import NO_APPLIANCE, stages_of
from dryingsim.batch.reading.text_file import read_text
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.reading.toml_table import Limits, Table, title_of
from dryingsim.batch.schedule_checks import check_schedule
from dryingsim.batch.schema import (
    Batch,
    Form,
    Lies,
    Meat,
    Room,
    Species,
    Support,
    TakeOff,
    Targets,
    ThicknessClass,
    UnitSystem,
)
from dryingsim.batch.uncertainties import read_correlations, read_uncertainties
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
_ROTATION = Limits("duration", "1 min", "240 h")
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


def parse_document(
    data: dict[str, Any], name: str, folder: Path | None = None, *, runs: bool = True
) -> Batch:
    """Read a batch file already taken apart by a TOML reader; a complaint names the mistakes of all its tables at once.

    Parameters
    ----------
    data : dict
        Its tables, see `load_document`.
    name : str
        What messages call it.
    folder : Path, optional
        Files that it names lie relative to it; else to the working directory.
    runs : bool
        Whether it has to have a schedule that can be run; what asks for its marinade alone has no need of one.
    """
    try:
        return _parsed(data, name, folder, runs)
    except InputError as first:
        told = [str(first)]
        for read in (_title, _display, _trays, _meat_of, _room_of, _targets_of, read_uncertainties):
            try:
                read(data, name)
            except InputError as problem:
                told.append(str(problem))
        others = (text.removeprefix(f"{name}: ") for text in dict.fromkeys(told[1:]) if text != told[0])
        raise InputError("; and ".join([told[0], *others])) from None


def _title(data: dict[str, Any], name: str) -> str:
    return title_of(name, data)


def _display(data: dict[str, Any], name: str) -> UnitSystem:
    table = Table.of(name, data, "display", ("units",))
    return cast(UnitSystem, table.choice("units", get_args(UnitSystem), "metric"))


def _trays(data: dict[str, Any], name: str) -> Table:
    return Table.of(name, data, "trays", ("support", *SHARES, "count", "rotate_every", "take_off"))


def _meat_of(data: dict[str, Any], name: str) -> Meat:
    return _meat(Table.of(name, data, "meat", _MEAT))


def _room_of(data: dict[str, Any], name: str) -> Room:
    return _room(Table.of(name, data, "room", ("temperature", "humidity", "altitude", "pressure")))


def _targets_of(data: dict[str, Any], name: str) -> Targets:
    return _targets(Table.of(name, data, "targets", ("water_activity",)))


def _parsed(data: dict[str, Any], name: str, folder: Path | None, runs: bool) -> Batch:
    for key, told in _OTHER_FILES.items():
        if key in data:
            raise InputError(f"{name}: this {told.format(name)}")
    check_keys(name, data, _TOP + _ELSEWHERE)
    title, display, trays = _title(data, name), _display(data, name), _trays(data, name)
    appliance = None
    if "appliance" in data:
        appliance = appliance_of(f"{name}: [appliance]", data["appliance"], folder or Path())
    count, rotation = _load(trays, appliance)
    support = cast(Support, trays.choice("support", get_args(Support), "mesh"))
    meat = laid_on(trays, _meat_of(data, name), support)
    room = _room_of(data, name)
    batch = Batch(
        name=title,
        meat=meat,
        marinade=read_marinade(name, Table.of(name, data, "marinade", MARINADE_KEYS), meat),
        room=room,
        support=support,
        appliance=appliance,
        trays=count,
        rotate_every_s=rotation,
        take_off=cast(TakeOff, trays.choice("take_off", get_args(TakeOff), "as ready")),
        stages=stages_of(name, data.get("stage", []), appliance, room),
        targets=_targets_of(data, name),
        display=display,
        uncertainties=read_uncertainties(data, name),
        correlations=read_correlations(data, name),
    )
    if runs:
        check_schedule(name, batch)
    if "learned" in data:
        batch = with_learned(
            batch, learned_of(f"{name}: [learned]", data["learned"], batch, folder or Path())
        )
    return batch


def _meat(table: Table) -> Meat:
    cut, composition = read_raw_meat(table)
    species = check_species(
        table.where("species"), table.data.get("species", cut.species if cut else "unknown")
    )
    if cut:
        table.refuse(
            ["name"], f"the meat is called by its cut, {cut.name}; a name goes with [meat.composition]"
        )
    if cut and species != cut.species:
        table.refuse(["species"], f"{cut.name} is {cut.species}; leave it out, it belongs to the cut")
    name = cut.name if cut else _own_name(table)
    return Meat(
        name=name,
        composition=composition,
        species=cast(Species, species),
        form=_form(table, name),
        classes=_classes(table),
        length_m=table.quantity("length", _SLICE),
        width_m=table.quantity("width", _SLICE),
        weight_kg=table.quantity("weight", _WEIGHT),
        temperature_K=table.quantity("temperature", _MEAT_TEMPERATURE, "4 degC"),
    )


def _form(table: Table, name: str) -> Form:
    """Return the form; meat that is called ground is nothing else: bacteria are at every depth of it."""
    ground = called_ground(name)
    form = form_of(table.where("form"), table.data.get("form", "minced" if ground else "sliced"))
    if ground and form != "minced":
        raise InputError(
            f"{table.where('form')} = {show(table.data['form'])}, but {name} is ground, with bacteria at every depth: "
            '"ground" is expected'
        )
    return form


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
        classes.append(
            (row.quantity("value", _THICKNESS), share, cast(Lies, row.choice("lies", get_args(Lies), "flat")))
        )
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
        table.refuse(("count", "rotate_every"), NO_APPLIANCE)
        return None, None
    count, slots = table.data.get("count"), appliance.trays.slots
    if count is not None and (type(count) is not int or not 1 <= count <= slots):
        table.refuse(
            ["count"], f"a whole number from 1 to {slots}, the trays of the {appliance.name}, is expected"
        )
    if count == 1:
        table.refuse(["rotate_every"], "a single tray has no other place to go")
    return count, table.quantity("rotate_every", _ROTATION) if "rotate_every" in table else None
