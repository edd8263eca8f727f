"""Quantities as a person types them, to the last digit: what is read back is the very same number.

The units are those of the person, metric or US, with the fewest digits that are exact; a number typed in units of the other
system keeps those. What no few digits tell is told by many in the person's units, else in SI with all digits.
"""

from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction

from dryingsim.batch.compound_units import COMPOUND, read_compound
from dryingsim.batch.schema import UnitSystem
from dryingsim.batch.units import from_si, to_si

_TIMES = ("h", "min", "s")
# the units people type, metric and US, and the one in which every number can be written
_TYPED: dict[str, tuple[tuple[str, ...], tuple[str, ...], str]] = {
    "length": (("mm", "cm", "m"), ("inch",), "m"),
    "altitude": (("m",), ("ft",), "m"),
    "temperature": (("degC",), ("degF",), "K"),
    "temperature difference": (("K",), ("degF",), "K"),
    "mass": (("kg", "g"), ("lb", "oz"), "kg"),
    "duration": (_TIMES, _TIMES, "s"),
    "speed": (("m/s",), ("ft/min",), "m/s"),
    "mass fraction": (("g/kg",), ("%",), "kg/kg"),
    "pressure": (("kPa",), ("psi",), "Pa"),
    "power": (("W",), ("W",), "W"),
    "volume flow": (("m3/h",), ("ft3/min",), "m3/s"),
    "mass flow": (("g/s", "kg/h"), ("lb/h",), "kg/s"),
    "heat capacity": (("kJ/K",), ("kJ/K",), "J/K"),
    "heat loss": (("W/K",), ("W/K",), "W/K"),
    "film": (("W/m2K",), ("W/m2K",), "W/m2K"),
    "area": (("m2", "cm2"), ("ft2", "inch2"), "m2"),
    "volume": (("L",), ("ft3",), "m3"),
}
_FEW = (3, 4, 5, 6)  # digits
_MANY = (9, 12, 15, 16, 17)  # a number has 17 at most
_RULER = 32  # an inch is read to so many parts
_LONGEST_ON_RULER = 100.0  # inch


def spelled(value: float, dimension: str, units: UnitSystem = "metric") -> str:
    """Return a quantity as text with a unit that reads back as the very same number.

    Parameters
    ----------
    value : float
        [SI]
    dimension : str
        A key of `dimensions.DIMENSIONS` or of `compound_units.COMPOUND`.
    units : str
        "metric" or "us": what the person types in.

    Examples
    --------
    >>> spelled(341.15, "temperature"), spelled(0.005, "length"), spelled(1.0 / 3.0, "fraction")
    ('68 degC', '5 mm', '33.33333333333333 %')
    >>> spelled(to_si("", "0.1875 inch", "length"), "length", "us"), spelled(0.22679618500, "mass", "us")
    ('3/16 inch', '8 oz')
    """
    if dimension == "fraction":  # read by its digits, so that moving the point is exact
        return f"{_plain(Decimal(repr(float(value))).scaleb(2))} %"
    read = _reader(dimension)
    exact = (text for text in _candidates(value, dimension, units) if read(text) == value)
    return next(exact, f"{_plain(Decimal(repr(float(value))))} {_TYPED[dimension][2]}")


def _candidates(value: float, dimension: str, units: UnitSystem) -> Iterator[str]:
    """Yield what a person would rather type first; each may be rounded."""
    metric, customary, _ = _TYPED[dimension]
    own, other = (customary, metric) if units == "us" else (metric, customary)
    for choice, precisions in ((own, _FEW), (other, _FEW), (own, _MANY)):
        sizes = [(unit, _in(value, unit, dimension)) for unit in choice]
        sizes.sort(key=lambda sized: abs(sized[1]) < 1.0)  # 8 oz, not 0.5 lb
        tried: set[str] = set()
        for digits in precisions:
            for unit, size in sizes:
                if unit == "inch" and digits == _FEW[1]:
                    yield f"{_on_ruler(size)} inch"
                text = f"{_plain(Decimal(f'{size:.{digits}g}'))} {unit}"
                if text not in tried:
                    tried.add(text)
                    yield text


def _on_ruler(size: float) -> str:
    """Return inches as a ruler shows them: "3/16", "1 3/16"."""
    if not abs(size) < _LONGEST_ON_RULER:
        return f"{size:g}"
    whole, rest = divmod(round(abs(size) * _RULER), _RULER)
    parts = [str(whole)] * (whole > 0) + [str(Fraction(rest, _RULER))] * (rest > 0 or not whole)
    return "-" * (size < 0.0) + " ".join(parts)


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
