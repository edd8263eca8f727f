"""Quantities in compound units, such as a flow of air: typed text to SI and back. They have no offset, so factors do."""

import re
from dataclasses import dataclass
from typing import Any

from dryingsim.batch.checks import hint, show
from dryingsim.errors import InputError


@dataclass(frozen=True, slots=True)
class Compound:
    """A kind of quantity: its words, and the factor to SI of each unit that it may be typed in.

    Attributes
    ----------
    phrase : str
        What it is, in words.
    example : str
        As it is typed.
    factors : dict[str, float]
        SI first.
    """

    phrase: str
    example: str
    factors: dict[str, float]


# The cubic foot and the pound are exact (0.3048 m cubed, 0.45359237 kg).
COMPOUND: dict[str, Compound] = {
    "volume flow": Compound(
        "a flow of air",
        '"60 m3/h" or "35 ft3/min"',
        {"m3/s": 1.0, "m3/h": 1 / 3600, "L/s": 1e-3, "L/min": 1e-3 / 60, "ft3/min": 0.3048**3 / 60},
    ),
    "mass flow": Compound(
        "a flow of steam",
        '"0.4 g/s" or "1.5 kg/h"',
        {"kg/s": 1.0, "g/s": 1e-3, "g/min": 1e-3 / 60, "kg/h": 1 / 3600, "lb/h": 0.45359237 / 3600},
    ),
    "heat loss": Compound("a heat loss per kelvin", '"3 W/K"', {"W/K": 1.0}),
    "heat capacity": Compound("a heat capacity", '"14 kJ/K"', {"J/K": 1.0, "kJ/K": 1e3}),
    "film": Compound("a film coefficient", '"10 W/m2K"', {"W/m2K": 1.0, "W/(m2 K)": 1.0}),
    "area": Compound(
        "an area", '"0.9 m2" or "300 cm2"', {"m2": 1.0, "cm2": 1e-4, "ft2": 0.3048**2, "inch2": 0.0254**2}
    ),
    "volume": Compound("a volume", '"60 L" or "2 ft3"', {"m3": 1.0, "L": 1e-3, "l": 1e-3, "ft3": 0.3048**3}),
}
_QUANTITY = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s.].*?)\s*")
_SUPERSCRIPTS = {0xB2: "2", 0xB3: "3"}  # squared and cubed


def read_compound(where: str, typed: Any, kind: str) -> float:
    """Return a typed quantity in SI.

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
        What was typed: text with a number and a unit.
    kind : str
        A key of `COMPOUND`.

    Examples
    --------
    >>> round(read_compound("air.vents", "36 m3/h", "volume flow"), 6)
    0.01
    """
    compound = COMPOUND[kind]
    match = _QUANTITY.fullmatch(typed) if isinstance(typed, str) else None
    if match is None:
        raise InputError(f"{where} = {show(typed)}: {expected_compound(kind)}")
    unit = match[2].translate(_SUPERSCRIPTS)
    if unit not in compound.factors:
        guess = hint(unit, compound.factors) or ";"
        raise InputError(
            f"{where} = {show(typed)}: {show(unit)} is not a unit of it{guess} {expected_compound(kind)}"
        )
    return float(match[1]) * compound.factors[unit]


def expected_compound(kind: str) -> str:
    """Return what a message says is expected of a key of `COMPOUND`, with an example."""
    return f"{COMPOUND[kind].phrase} with its unit is expected, for example {COMPOUND[kind].example}"


def unit_typed(typed: str) -> str:
    """Return the unit of a quantity that was read before.

    Examples
    --------
    >>> unit_typed("36 m3/h"), unit_typed("4 K")
    ('m3/h', 'K')
    """
    return _QUANTITY.fullmatch(typed)[2].translate(_SUPERSCRIPTS)  # type: ignore[index]  # it was read before
