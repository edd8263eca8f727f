"""What describes an appliance: its parameters by "group.key", and what may be typed for each."""

from dataclasses import dataclass
from typing import Any, get_args

from dryingsim.batch.appliance_schema import AirPath
from dryingsim.batch.checks import check_choice, check_range, show
from dryingsim.batch.compound_units import COMPOUND, expected_compound, read_compound
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.units import expected, to_ratio, to_si
from dryingsim.errors import InputError


@dataclass(frozen=True, slots=True)
class Parameter:
    """What may be typed for a parameter: a quantity within limits, a number, one of some words, true or false.

    Attributes
    ----------
    kind : str
        A dimension of `batch.dimensions`, "count", "word" or "switch".
    low : Any
        Least that is accepted, as typed.
    high : Any
        Most that is accepted.
    words : tuple of str
        Of which one is accepted.
    default : Any
        Of a parameter that may be left out.
    """

    kind: str
    low: Any = None
    high: Any = None
    words: tuple[str, ...] = ()
    default: Any = None


# The limits only catch slips of the pen: estimates, wide enough for any kitchen or laboratory.
PARAMETERS: dict[str, Parameter] = {
    "preheated": Parameter("switch", default=True),
    "trays.slots": Parameter("count", 1, 50),
    "trays.length": Parameter("length", "50 mm", "2 m"),
    "trays.width": Parameter("length", "50 mm", "2 m"),
    "air.path": Parameter("word", words=get_args(AirPath)),
    "air.circulation": Parameter("volume flow", "1 m3/h", "3000 m3/h"),
    "air.speed": Parameter("speed", "0 m/s", "10 m/s"),
    "air.vents": Parameter("volume flow", "0 m3/h", "1000 m3/h", default="0 m3/h"),
    "air.leak": Parameter("volume flow", "0 m3/h", "200 m3/h", default="0 m3/h"),
    "door.hinge": Parameter("word", words=("side", "bottom")),
    "door.height": Parameter("length", "50 mm", "3 m"),
    "door.width": Parameter("length", "50 mm", "3 m"),
    "door.gap": Parameter("length", "0 mm", "2 m", default="0 mm"),
    "door.discharge": Parameter("ratio", 0.2, 1.0, default=0.6),
    "door.draught": Parameter("speed", "0 m/s", "5 m/s", default="0 m/s"),
    "heater.power": Parameter("power", "10 W", "20 kW"),
    "heater.fan_power": Parameter("power", "0 W", "1 kW", default="0 W"),
    "heater.radiant_share": Parameter("fraction", "0 %", "100 %", default="0 %"),
    "heater.highest": Parameter("temperature", "30 degC", "350 degC"),
    "heater.control": Parameter("word", words=("ideal", "switching"), default="ideal"),
    "heater.band": Parameter("temperature difference", "0.5 K", "40 K", default="4 K"),
    "heater.sensor": Parameter("word", words=("supply", "return"), default="supply"),
    "heater.sensor_lag": Parameter("duration", "1 s", "10 min", default="30 s"),
    "heater.element_lag": Parameter("duration", "1 s", "10 min", default="30 s"),
    "walls.volume": Parameter("volume", "1 L", "10 m3"),
    "walls.area": Parameter("area", "0.05 m2", "30 m2"),
    "walls.film": Parameter("film", "1 W/m2K", "100 W/m2K"),
    "walls.capacity": Parameter("heat capacity", "0.1 kJ/K", "1000 kJ/K"),
    "walls.floor_capacity": Parameter("heat capacity", "0.05 kJ/K", "300 kJ/K"),
    "walls.loss": Parameter("heat loss", "0.05 W/K", "200 W/K"),
    "moisture.steam": Parameter("mass flow", "0 g/s", "10 g/s", default="0 g/s"),
    "moisture.purge": Parameter("volume flow", "0 m3/h", "1000 m3/h", default="0 m3/h"),
    "moisture.pan_area": Parameter("area", "0 m2", "2 m2", default="0 m2"),
    "moisture.pan_water": Parameter("mass", "0 g", "20 kg", default="0 g"),
}
GROUPS = tuple(dict.fromkeys(key.split(".")[0] for key in PARAMETERS))


def read_value(where: str, typed: Any, key: str) -> Any:
    """Return what was typed for a parameter in SI (a word, true or false as they are), checked.

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
        What was typed.
    key : str
        Of `PARAMETERS`.
    """
    parameter = PARAMETERS[key]
    if parameter.kind == "word":
        return check_choice(where, typed, parameter.words)
    if parameter.kind == "switch":
        if not isinstance(typed, bool):
            raise InputError(f"{where} = {show(typed)}: {expected_value(key)}")
        return typed
    if parameter.kind == "count" and (isinstance(typed, bool) or not isinstance(typed, int)):
        raise InputError(f"{where} = {show(typed)}: {expected_value(key)}")
    value = _number(where, typed, parameter.kind)
    low, high = (_number("limit", limit, parameter.kind) for limit in (parameter.low, parameter.high))
    return check_range(where, typed, value, low, high, f"{parameter.low} to {parameter.high}")


def _number(where: str, typed: Any, kind: str) -> Any:
    if kind == "count":
        return typed
    if kind == "ratio":
        return to_ratio(where, typed)
    return read_compound(where, typed, kind) if kind in COMPOUND else to_si(where, typed, kind)


def expected_value(key: str) -> str:
    """Return what a message says is expected of a parameter."""
    parameter = PARAMETERS[key]
    if parameter.kind in COMPOUND:
        return expected_compound(parameter.kind)
    if parameter.kind in DIMENSIONS:
        return expected(parameter.kind)
    return {
        "word": "one of " + ", ".join(f"'{word}'" for word in parameter.words) + " is expected",
        "switch": "true or false is expected, without quotes",
        "count": f"a whole number from {parameter.low} to {parameter.high} is expected",
        "ratio": f"a number from {parameter.low} to {parameter.high} is expected",
    }[parameter.kind]
