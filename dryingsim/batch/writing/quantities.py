"""Quantities as a person types them, to the last digit: what is read back is the very same number.

The unit is the first of some handy ones in which a few digits are exact, else SI with all digits.
"""

from collections.abc import Callable
from decimal import Decimal

from dryingsim.batch.compound_units import COMPOUND, read_compound
from dryingsim.batch.units import from_si, to_si

# handy units in the order in which they are tried; the last is that in which every number can be written
_HANDY = {
    "length": ("mm", "m"),
    "altitude": ("m",),
    "temperature": ("degC", "degF", "K"),
    "temperature difference": ("K",),
    "mass": ("kg", "g", "lb", "kg"),
    "duration": ("h", "min", "s"),
    "speed": ("m/s",),
    "mass fraction": ("g/kg", "%", "kg/kg"),
    "pressure": ("kPa", "Pa"),
    "power": ("W",),
    "volume flow": ("m3/h", "m3/s"),
    "mass flow": ("g/s", "kg/h", "kg/s"),
    "heat capacity": ("kJ/K", "J/K"),
    "heat loss": ("W/K",),
    "film": ("W/m2K",),
    "area": ("m2",),
    "volume": ("L", "m3"),
}
_FEW = 6  # digits


def spelled(value: float, dimension: str) -> str:
    """Return a quantity as text with a unit that reads back as the very same number.

    Parameters
    ----------
    value : float
        [SI]
    dimension : str
        A key of `dimensions.DIMENSIONS` or of `compound_units.COMPOUND`.

    Examples
    --------
    >>> spelled(341.15, "temperature"), spelled(0.005, "length"), spelled(1.0 / 3.0, "fraction")
    ('68 degC', '5 mm', '33.33333333333333 %')
    """
    if dimension == "fraction":  # read by its digits, so that moving the point is exact
        return f"{_plain(Decimal(repr(float(value))).scaleb(2))} %"
    *handy, last = _HANDY[dimension]
    read = _reader(dimension)
    for unit in handy:
        text = f"{_plain(Decimal(f'{_in(value, unit, dimension):.{_FEW}g}'))} {unit}"
        if read(text) == value:
            return text
    return f"{_plain(Decimal(repr(float(value))))} {last}"


def _reader(dimension: str) -> Callable[[str], float]:
    if dimension in COMPOUND:
        return lambda text: read_compound("", text, dimension)
    return lambda text: to_si("", text, dimension)


def _in(value: float, unit: str, dimension: str) -> float:
    if dimension in COMPOUND:
        return value / COMPOUND[dimension].factors[unit]
    return float(from_si(value, unit, dimension))


def _plain(number: Decimal) -> str:
    """Return a number without powers of ten and without noughts at its end."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
