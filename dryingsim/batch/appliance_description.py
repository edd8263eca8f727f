"""An appliance described in TOML: for each parameter a value, its range and its source; read, changed, written.

The catalog holds such descriptions by name, a person's own file holds one. Where only a value is typed, as in a batch
file, it replaces the entry of the same name.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from dryingsim.batch.appliance_parameters import GROUPS, PARAMETERS, expected_value, read_value
from dryingsim.batch.appliance_schema import (
    Appliance,
    Door,
    Heater,
    Moisture,
    TrayStack,
    Ventilation,
    Walls,
)
from dryingsim.batch.checks import check_keys, show
from dryingsim.batch.compound_units import COMPOUND, unit_typed
from dryingsim.batch.toml_writing import toml_text
from dryingsim.batch.units import from_si
from dryingsim.errors import InputError

_MAY_BE_ABSENT = ("heater.highest",)
_TEXTS = ("name", "about")
_MEASURED_DIGITS = 3  # no test in a kitchen is known better


@dataclass(frozen=True, slots=True)
class ParameterEntry:
    """One parameter: what was typed, the same in SI, the range if one is known, and where it comes from.

    Attributes
    ----------
    value : Any
        As typed.
    si : Any
        The same in SI.
    source : str
        Where it comes from.
    span : tuple[Any, Any] or None
        Range as typed; None: none is known.
    span_si : tuple[float, float] or None
        The same in SI.
    """

    value: Any
    si: Any
    source: str
    span: tuple[Any, Any] | None = None
    span_si: tuple[float, float] | None = None

    @property
    def text(self) -> str:
        """The value as it is printed."""
        return show(self.value).strip("'")

    @property
    def span_text(self) -> str:
        """The range as it is printed, or nothing."""
        return f"{self.span[0]} to {self.span[1]}" if self.span else ""


@dataclass(frozen=True, slots=True)
class Description:
    """An appliance as described: every parameter with its source.

    Attributes
    ----------
    name : str
        Of the appliance.
    about : str
        What it is, in a sentence.
    entries : dict[str, ParameterEntry]
        In the order of the parameters, by "group.key".
    """

    name: str
    about: str
    entries: dict[str, ParameterEntry]

    def si(self, key: str) -> Any:
        """Return the value of a parameter in SI; that of one left out is its default."""
        if key in self.entries:
            return self.entries[key].si
        default = PARAMETERS[key].default
        return None if default is None else read_value(key, default, key)

    def limits(self, key: str) -> tuple[float, float]:
        """Return lowest and highest value of a number in SI; both the value itself where no range is known."""
        entry = self.entries.get(key)
        return entry.span_si if entry and entry.span_si else (self.si(key), self.si(key))

    def changed(self, place: str, table: Mapping[str, Any]) -> "Description":
        """Return the description with the entries of a table in place of its own.

        Parameters
        ----------
        place : str
            The table, for messages.
        table : mapping
            What was typed, grouped as in an appliance file.
        """
        new = _read_entries(place, table, "own value")
        if any(key.startswith("door.") for key in new) and "door.hinge" not in {*self.entries, *new}:
            raise InputError(f"{place}, door: the {self.name} has no door to leave ajar")
        return self._with(new)

    def measured(self, test: str, values: Mapping[str, tuple[float, float, float]]) -> "Description":
        """Return the description with measured values in place of its own.

        Parameters
        ----------
        test : str
            What measured them, in words.
        values : mapping
            Value, lowest and highest of each parameter [SI].
        """
        new = {}
        for key, numbers in values.items():
            value, low, high = (self._typed(key, number) for number in numbers)
            source = f"measured by {test}, range {low} to {high}"
            new[key] = _read_entry(
                f"{test}: {key}", {"value": value, "range": [low, high], "source": source}, key
            )
        return self._with(new)

    def _with(self, new: dict[str, ParameterEntry]) -> "Description":
        merged = {**self.entries, **new}
        return replace(self, entries={key: merged[key] for key in PARAMETERS if key in merged})

    def _typed(self, key: str, si: float) -> str:
        """Return a value in SI as text, in the unit in which the parameter was typed so far."""
        parameter = PARAMETERS[key]
        before = self.entries[key].value if key in self.entries else parameter.default
        unit = unit_typed(before)
        if parameter.kind in COMPOUND:
            number = si / COMPOUND[parameter.kind].factors[unit]
        else:
            number = float(from_si(si, unit, parameter.kind))
        return f"{_rounded(number)} {unit}"

    def appliance(self, place: str) -> Appliance:
        """Return the appliance in SI; raise if its parameters do not go together."""
        v = self.si
        appliance = Appliance(
            name=self.name,
            trays=TrayStack(
                slots=v("trays.slots"),
                length_m=v("trays.length"),
                width_m=v("trays.width"),
                flow=v("air.path"),
                circulation_m3_s=v("air.circulation"),
                speed_m_s=v("air.speed"),
            ),
            door=self._door(),
            ventilation=Ventilation(vents_m3_s=v("air.vents"), leakage_m3_s=v("air.leak")),
            heater=self._heater(),
            walls=Walls(
                volume_m3=v("walls.volume"),
                area_m2=v("walls.area"),
                film_W_m2K=v("walls.film"),
                capacity_J_K=v("walls.capacity"),
                floor_capacity_J_K=v("walls.floor_capacity"),
                loss_W_K=v("walls.loss"),
            ),
            moisture=Moisture(
                steam_kg_s=v("moisture.steam"),
                purge_m3_s=v("moisture.purge"),
                pan_area_m2=v("moisture.pan_area"),
                pan_water_kg=v("moisture.pan_water"),
            ),
            preheated=v("preheated"),
        )
        _check_together(place, appliance)
        return appliance

    def _door(self) -> Door | None:
        v = self.si
        if "door.hinge" not in self.entries:
            return None
        return Door(
            hinge=v("door.hinge"),
            height_m=v("door.height"),
            width_m=v("door.width"),
            gap_m=v("door.gap"),
            discharge=v("door.discharge"),
            draught_m_s=v("door.draught"),
        )

    def _heater(self) -> Heater:
        v = self.si
        return Heater(
            power_W=v("heater.power"),
            radiant_share=v("heater.radiant_share"),
            control=v("heater.control"),
            band_K=v("heater.band"),
            sensor=v("heater.sensor"),
            sensor_lag_s=v("heater.sensor_lag"),
            element_lag_s=v("heater.element_lag"),
            fan_W=v("heater.fan_power"),
            highest_K=v("heater.highest"),
        )

    def toml(self) -> str:
        """Return the description as the text of a file that `reading.appliance_file` reads."""
        lines = [f"name = {toml_text(self.name)}", f"about = {toml_text(self.about)}"]
        group = ""
        for key, entry in self.entries.items():
            *above, short = key.split(".")
            if above and above[0] != group:
                group = above[0]
                lines += ["", f"[{group}]"]
            span = f", range = [{toml_text(entry.span[0])}, {toml_text(entry.span[1])}]" if entry.span else ""
            lines.append(
                f"{short} = {{ value = {toml_text(entry.value)}{span}, source = {toml_text(entry.source)} }}"
            )
        return "\n".join([*lines, ""])


def parse_description(place: str, table: Mapping[str, Any], name: str | None = None) -> Description:
    """Read the tables of one appliance.

    Parameters
    ----------
    place : str
        What messages call them: the file's name, or the appliance's.
    table : mapping
        The tables, as a TOML reader takes them apart.
    name : str, optional
        What it is called unless it says so itself; else after `place`.
    """
    title, about = table.get("name", name or Path(place).stem), table.get("about", "")
    for key, text in (("name", title), ("about", about)):
        if not isinstance(text, str) or not text.isprintable() or (key == "name" and not text.strip()):
            raise InputError(f"{place}, {key} = {show(text)}: one line of text in quotes is expected")
    rest = {key: value for key, value in table.items() if key not in _TEXTS}
    entries = _read_entries(place, rest, f"not given in {Path(place).name}", extra=_TEXTS)
    description = Description(title.strip(), about, entries)
    doorless = not any(key.startswith("door.") for key in entries)
    for key, parameter in PARAMETERS.items():
        absent = key in _MAY_BE_ABSENT or parameter.default is not None or (doorless and "door." in key)
        if key not in entries and not absent:
            raise InputError(f"{place} needs '{key}': {expected_value(key)}")
    description.appliance(place)
    return description


def check_gap(place: str, typed: Any, gap_m: float, door: Door) -> None:
    """Raise if the free edge of a door cannot stand off so far.

    Parameters
    ----------
    place : str
        Of the gap, for messages.
    typed : object
        What was typed there.
    gap_m : float
        The same [m].
    door : Door
    """
    reach, name = (door.width_m, "wide") if door.hinge == "side" else (door.height_m, "high")
    if gap_m > reach:
        raise InputError(
            f"{place} = {show(typed)}: a door hinged at the {door.hinge} that is {_mm(reach)} {name} cannot "
            f"stand ajar by more than that"
        )


def _check_together(place: str, appliance: Appliance) -> None:
    """Check what needs several parameters."""
    trays, air, moisture = appliance.trays, appliance.ventilation, appliance.moisture
    if appliance.door:
        check_gap(f"{place}, door.gap", _mm(appliance.door.gap_m), appliance.door.gap_m, appliance.door)
    if air.vents_m3_s > trays.circulation_m3_s:
        raise InputError(
            f"{place}: air.vents ({_m3_h(air.vents_m3_s)}) is more than the air moved past the trays, "
            f"air.circulation ({_m3_h(trays.circulation_m3_s)})"
        )
    if (moisture.pan_area_m2 > 0.0) != (moisture.pan_water_kg > 0.0):
        raise InputError(f"{place}: a pan of water needs both moisture.pan_area and moisture.pan_water")
    floor = trays.length_m * trays.width_m
    if moisture.pan_area_m2 > floor:
        raise InputError(
            f"{place}: moisture.pan_area ({moisture.pan_area_m2:.3g} m2) is more than the floor "
            f"under the trays ({floor:.3g} m2)"
        )
    if moisture.steam_kg_s > 0.0:
        _check_steam(place, moisture.steam_kg_s, appliance.heater.power_W)


def _check_steam(place: str, steam_kg_s: float, power_W: float) -> None:
    """Steam needs as much power as its heat: its boiler is taken to be no stronger than the heater."""
    from dryingsim.properties import water

    most = power_W / (water.vapour_enthalpy(373.15) - water.liquid_enthalpy(288.15))  # from water of 15 degC
    if steam_kg_s > most:
        raise InputError(
            f"{place}: moisture.steam ({1e3 * steam_kg_s:.3g} g/s) is more than the power of the heater "
            f"({power_W:.4g} W) can raise, {1e3 * most:.3g} g/s"
        )


def _read_entries(
    place: str, table: Mapping[str, Any], source: str, extra: tuple[str, ...] = ()
) -> dict[str, ParameterEntry]:
    """Read entries grouped in tables; `source` is that of entries which name none."""
    check_keys(place, table, (*extra, *GROUPS))
    return {key: _read_entry(where, typed, key, source) for key, where, typed in _leaves(place, table)}


def _leaves(place: str, table: Mapping[str, Any]) -> Iterator[tuple[str, str, Any]]:
    """Yield key, place and what was typed of every entry."""
    for group, inner in table.items():
        if group in PARAMETERS:
            yield group, f"{place}, {group}", inner
            continue
        known = [key.split(".")[1] for key in PARAMETERS if key.startswith(f"{group}.")]
        if not isinstance(inner, dict):
            raise InputError(
                f"{place}, {group} = {show(inner)}: one of its keys is expected, such as {group}.{known[0]}"
            )
        check_keys(f"{place}, {group}", inner, known)
        for short, typed in inner.items():
            yield f"{group}.{short}", f"{place}, {group}.{short}", typed


def _read_entry(where: str, typed: Any, key: str, source: str = "not given") -> ParameterEntry:
    """Read a value alone, or a table of value, range and source."""
    if not isinstance(typed, dict):
        return ParameterEntry(typed, read_value(where, typed, key), source)
    check_keys(where, typed, ("value", "range", "source"))
    if "value" not in typed:
        raise InputError(f"{where} needs 'value': {expected_value(key)}")
    si = read_value(where, typed["value"], key)
    told = typed.get("source", source)
    if not isinstance(told, str) or not told.isprintable():
        raise InputError(f"{where}, source = {show(told)}: one line of text in quotes is expected")
    if "range" not in typed:
        return ParameterEntry(typed["value"], si, told)
    span = typed["range"]
    if not isinstance(span, list) or len(span) != 2 or PARAMETERS[key].kind in ("word", "switch"):
        raise InputError(f"{where}, range = {show(span)}: the lowest and the highest value are expected")
    low, high = (read_value(f"{where}, range", end, key) for end in span)
    if not low <= si <= high:
        raise InputError(f"{where} = {show(typed['value'])} is outside its own range, {span[0]} to {span[1]}")
    return ParameterEntry(typed["value"], si, told, (span[0], span[1]), (low, high))


def _rounded(number: float) -> str:
    """Return a number with three digits, never in powers of ten: "13.5", "1240"."""
    text = f"{float(f'{number:.{_MEASURED_DIGITS}g}'):f}"
    return text.rstrip("0").rstrip(".")


def _mm(length_m: float) -> str:
    return f"{1e3 * length_m:.4g} mm"


def _m3_h(flow_m3_s: float) -> str:
    return f"{3600.0 * flow_m3_s:.4g} m3/h"
