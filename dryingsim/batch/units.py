"""Quantities with units: typed text to SI floats, and SI floats back for printing. The only user of pint.

The registry is our own and holds only units that make sense here: it is ready in a few ms instead of half a
second, and it cannot read "5 mi" where "5 min" was meant. pint is imported at the first conversion.
"""

import math
import re
import unicodedata
import warnings
from collections.abc import Iterable
from functools import cache, lru_cache
from typing import Any

from dryingsim.batch.checks import hint, show
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.number_words import in_digits, plain_fractions
from dryingsim.errors import InputError, Remark
from dryingsim.typing import Array

# Inch, foot, pound and ounce: exact by the international yard and pound agreement (1959). Standard gravity
# (in psi) and the atmosphere: exact by the General Conferences on Weights and Measures of 1901 and 1954.
# Spoons and cups are the US customary ones, as the US food tables weigh them: the gallon is 231 cubic inches, the cup a
# sixteenth of it, the tablespoon a sixteenth of a cup. (Elsewhere a tablespoon is 15 or 20 mL, a cup 200 to 284 mL.) A dash is an
# eighth of a teaspoon, a pinch half of that: common practice, no source.
_DEFINITIONS = (
    "m = [length]",
    "cm = 0.01 * m",
    "mm = 0.001 * m",
    "inch = 0.0254 * m",
    "ft = 0.3048 * m",
    "km = 1000 * m",
    "mile = 1609.344 * m",
    "kg = [mass]",
    "g = 0.001 * kg",
    "mg = 0.001 * g",
    "lb = 0.45359237 * kg",
    "oz = 0.45359237 / 16 * kg",
    "s = [time]",
    "min = 60 * s",
    "h = 3600 * s",
    "day = 86400 * s",
    "week = 7 * day",
    "month = 30 * day",
    "year = 365 * day",
    "K = [temperature]",
    "degC = K; offset: 273.15",
    "degF = 5 / 9 * K; offset: 233.15 + 200 / 9",
    "Pa = kg / m / s ** 2",
    "hPa = 100 * Pa",
    "kPa = 1000 * Pa",
    "bar = 100000 * Pa",
    "atm = 101325 * Pa",
    "psi = 0.45359237 * 9.80665 / 0.0254 ** 2 * Pa",
    "J = kg * m ** 2 / s ** 2",
    "kJ = 1000 * J",
    "kWh = 3600000 * J",
    "W = J / s",
    "kW = 1000 * W",
    "L = 0.001 * m ** 3",
    "mL = 0.001 * L",
    "cup = 231 / 16 * inch ** 3",
    "pint = 2 * cup",
    "quart = 4 * cup",
    "floz = cup / 8",
    "tbsp = cup / 16",
    "tsp = tbsp / 3",
    "dash = tsp / 8",
    "pinch = tsp / 16",
    "percent = 0.01",
)


_EITHER_DEGREE = {"", "d", "de", "deg", "degs", "degree", "degrees", "dgc", "dgf", "degx"}
_CUSTOMARY = {"degF", "inch", "ft", "lb", "oz"}  # US units that messages answer in
# A number ("5", "0.2", "1e3", "1/4", "1 1/2") and the unit that follows it, with the full stop of an abbreviation ("in.").
_PART = re.compile(
    r"\s*([+-]?(?:(?:\d+\s+)?\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))\s*([^\d\s.,+-][^\d.,+-]*)(?:\.(?!\d))?"
)
_RANGE = re.compile(r"\s*[\d./]+\s*(?:-|–|to)\s*([\d./].*)")
_FRACTION = re.compile(r"\s*(?:\d+\s+)?\d+/\d+\s*")  # of an inch: nobody has fractions of a millimetre
_OVERNIGHT = "10 h"  # what a night comes to: common practice, no source
_COMMA = re.compile(r"(?<=\d),(?=\d)")
_THOUSANDS = re.compile(r"(?<!\d)[1-9]\d{0,2},\d{3}(?!\d)")
_INCH_MARKS = re.compile("[”“″]|''|’’")  # as telephones and word processors set them
_KEPT = 4096  # texts taken apart: limits are the same in every file, and most of what stands in one is in many like it


@cache
def _registry() -> Any:
    import pint  # slow to import, so only when a quantity is converted

    registry: Any = pint.UnitRegistry(None)
    for definition in _DEFINITIONS:
        registry.define(definition)
    return registry


@cache
def _spellings(dimension: str) -> dict[str, str]:
    return {word: unit for unit, words in DIMENSIONS[dimension].units.items() for word in words.split()}


def decimal_comma(text: Any, dimensions: Iterable[str]) -> str:
    """Return what is said of a decimal comma, to go before what is expected; nothing where it was none.

    Parameters
    ----------
    text : object
        What was typed.
    dimensions : iterable of str
        Keys of `dimensions.DIMENSIONS`, one of which it is of with a point.

    Examples
    --------
    >>> decimal_comma("1,5 lb", ["mass"])
    "the decimal sign is a point, '1.5 lb'; "
    """
    point, none = (_COMMA.sub(mark, text) if isinstance(text, str) else "" for mark in (".", ""))
    if point == text or not kind_of(point, dimensions):
        return ""
    either = f"{show(none)} or " if _THOUSANDS.search(text) else ""
    return f"the decimal sign is a point, {either}{show(point)}; "


def expected(dimension: str, example: str = "") -> str:
    """Return what a message says is expected, with an example.

    Parameters
    ----------
    dimension : str
        A key of `dimensions.DIMENSIONS`.
    example : str
        In quotes, as it is typed; that of its kind if left out.
    """
    kind = DIMENSIONS[dimension]
    return f"{kind.phrase} with its unit is expected, for example {example or kind.example}"


def to_si(where: str, text: Any, dimension: str, example: str = "") -> float:
    """Return a typed quantity in SI.

    Parameters
    ----------
    where : str
        The place in the file, for messages: "b.toml: stage 2 (dry), air".
    text : object
        What was typed. Anything but text with a number and a unit is an error: no number is taken as SI.
    dimension : str
        A key of `dimensions.DIMENSIONS`.
    example : str
        As for `expected`.

    Examples
    --------
    >>> round(to_si("air", "155 degF", "temperature"), 3)
    341.483
    >>> to_si("duration", "2 h 15 min", "duration")
    8100.0
    """
    if dimension == "duration" and isinstance(text, str) and text.strip().lower() == "overnight":
        warnings.warn(f"{where} = {show(text)} is taken as {_OVERNIGHT}", Remark, stacklevel=2)
        text = _OVERNIGHT
    parts = _split(text) if isinstance(text, str) else ()
    several = len(parts) > 1
    ends = _RANGE.fullmatch(plain_fractions(text)) if isinstance(text, str) else None
    if ends is not None and _split(ends[1]):
        raise InputError(
            f"{where} = {show(text)}: one value is expected, not a range; the upper end is {show(ends[1])}"
        )
    if not parts or (several and not DIMENSIONS[dimension].parts):
        comma = decimal_comma(text, DIMENSIONS)
        fraction = plain_fractions(text).strip() if isinstance(text, str) else ""
        if dimension == "length" and _FRACTION.fullmatch(fraction):
            example = f'"{fraction} inch"'
        raise InputError(f"{where} = {show(text)}: {comma}{expected(dimension, example)}")
    if several and any(number.startswith(("+", "-")) for number, _ in parts[1:]):
        raise InputError(f"{where} = {show(text)}: only the first part may have a sign")
    value = sum(_convert(where, text, number, unit, dimension, example) for number, unit in parts)
    if not math.isfinite(value):
        raise InputError(f"{where} = {show(text)}: the number is not finite; {expected(dimension, example)}")
    return value


def to_si_within(where: str, typed: Any, dimension: str, low: str, high: str, example: str = "") -> float:
    """Return a typed quantity in SI if it lies between two others.

    The message tells the limits in US units where one was typed, and asks about a slip of degC and degF.

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
        What was typed.
    dimension : str
        A key of `dimensions.DIMENSIONS`.
    low, high : str
        Limits, with their units.
    example : str
        As for `expected`.

    Examples
    --------
    >>> to_si_within("air", "155 degC", "temperature", "0 degC", "150 degC")
    Traceback (most recent call last):
    dryingsim.errors.InputError: air = '155 degC' is outside 0 degC to 150 degC; did you mean 155 degF?
    """
    value, lowest, highest = (to_si(where, text, dimension, example) for text in (typed, low, high))
    if lowest <= value <= highest:
        return value
    limits, guess = f"{low} to {high}", ""
    parts, known = _split(typed), _spellings(dimension)
    if len(parts) == 1:
        number, spelt = parts[0]
        if known[spelt] in _CUSTOMARY:
            unit = "inch" if known[spelt] == "ft" and dimension == "length" else spelt
            limits = " to ".join(f"{from_si(si, unit, dimension):.4g} {unit}" for si in (lowest, highest))
        if dimension == "temperature":
            swapped = "degF" if known[spelt] == "degC" else "degC"
            if lowest <= to_si(where, f"{number} {swapped}", dimension) <= highest:
                guess = f"; did you mean {number} {swapped}?"
    raise InputError(f"{where} = {show(typed)} is outside {limits}{guess}")


def check_unit(where: str, unit: str, dimension: str) -> None:
    """Raise unless a unit by itself, as in the heading of a column, is one of a dimension.

    Parameters
    ----------
    where : str
        Its place, for messages.
    unit : str
        What was typed.
    dimension : str
        A key of `dimensions.DIMENSIONS`.

    Examples
    --------
    >>> check_unit("line 1, weight", "degC", "mass")
    Traceback (most recent call last):
    dryingsim.errors.InputError: line 1, weight: 'degC' measures a temperature; a weight is expected, in kg, g, mg, lb, oz
    """
    plain = re.sub(r"\s", "", unit).replace("°", "deg")
    if plain not in _spellings(dimension):
        kind = DIMENSIONS[dimension]
        units = ", ".join(words.split()[0] for words in kind.units.values())
        raise InputError(f"{where}: {_wrong_unit(plain, dimension)} {kind.phrase} is expected, in {units}")


def kind_of(text: Any, dimensions: Iterable[str]) -> str | None:
    """Return which of some dimensions the (first) unit of a typed quantity belongs to, or None.

    Parameters
    ----------
    text : object
        What was typed.
    dimensions : iterable of str
        Keys of `dimensions.DIMENSIONS`.

    Examples
    --------
    >>> kind_of("2 tbsp", ("mass", "volume"))
    'volume'
    """
    parts = _split(text) if isinstance(text, str) else ()
    return next((name for name in dimensions if parts and parts[0][1] in _spellings(name)), None)


def to_ratio(where: str, typed: Any) -> float:
    """Return a pure ratio, typed as a number or as text without a unit (water activity: 0.85 or "0.85").

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
        What was typed.
    """
    try:
        if isinstance(typed, bool) or not isinstance(typed, int | float | str):
            raise ValueError
        value = float(typed)
    except (ValueError, OverflowError):  # of more digits than a number can have
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{where} = {show(typed)}: a number without a unit is expected, for example 0.85")
    return value


def from_si(value: Array, unit: str, dimension: str | None = None) -> Array:
    """Return SI floats or arrays in the unit they are printed in.

    Parameters
    ----------
    value : float or ndarray
        In the unit of its dimension [SI].
    unit : str
        As `display_units` gives it, or any spelling that `to_si` reads.
    dimension : str, optional
        Needed for temperature differences only: "degC" alone means a temperature.

    Examples
    --------
    >>> round(from_si(341.4833, "degF"), 3)
    155.0
    >>> round(from_si(5.0, "degF", "temperature difference"), 3)
    9.0
    """
    name = dimension or next(name for name in DIMENSIONS if unit in _spellings(name))
    return _registry().Quantity(value, DIMENSIONS[name].si).m_as(_spellings(name)[unit])


def display_units(system: str) -> dict[str, str]:
    """Return the unit to print each dimension in, for the system "metric" or "us"."""
    return {name: kind.us if system == "us" else kind.metric for name, kind in DIMENSIONS.items()}


@lru_cache(maxsize=_KEPT)
def _split(text: str) -> tuple[tuple[str, str], ...]:
    """Return (number, unit) of each part of the text; nothing if any of it is something else."""
    parts, at, text = [], 0, _INCH_MARKS.sub('"', in_digits(text)).strip()
    while at < len(text):
        match = _PART.match(text, at)
        if match is None:
            return ()
        parts.append((match[1], re.sub(r"\s", "", match[2]).replace("°", "deg")))
        at = match.end()
    return tuple(parts)


def _convert(where: str, text: str, number: str, unit: str, dimension: str, example: str) -> float:
    known = _spellings(dimension)
    if unit not in known:
        raise InputError(
            f"{where} = {show(text)}: {_wrong_unit(unit, dimension)} {expected(dimension, example)}"
        )
    if known[unit] == "percent" and number.lstrip("+-").replace(".", "", 1).isdecimal():
        return float(f"{number}e-2")  # by its digits: so every fraction can be written as a percentage
    return _in_si(_number(number), known[unit], DIMENSIONS[dimension].si)


@lru_cache(maxsize=_KEPT)
def _in_si(number: float, unit: str, si: str) -> float:
    # Quantity(number, unit), never number * unit: only so is an offset unit read as a temperature.
    return float(_registry().Quantity(number, unit).m_as(si))


def _wrong_unit(unit: str, dimension: str) -> str:
    """Say what is wrong with a unit: it measures something else, or nobody knows it."""
    for name, kind in DIMENSIONS.items():
        if unit in _spellings(name):
            return f"{show(unit)} measures {kind.phrase};"
    foreign = next((letter for letter in unit if letter.isalpha() and not letter.isascii()), None)
    if foreign is not None:  # looks like another letter: which unit was meant is not ours to guess
        name = unicodedata.name(foreign, "of another alphabet").lower()
        return f"the {show(foreign)} in {show(unit)} is a letter of another alphabet ({name}); type it with Latin letters;"
    if unit.lower().strip(".°") in _EITHER_DEGREE and "degC" in _spellings(dimension):
        return f"{show(unit)} may be Celsius or Fahrenheit: which, is not ours to guess;"
    return f"{show(unit)} is not a known unit{hint(unit, _spellings(dimension)) or ';'}"


def _number(text: str) -> float:
    """Read "5", "0.2", "1/4" or "1 1/2"."""
    if "/" not in text:
        return float(text)
    *whole, ratio = text.lstrip("+-").split()
    above, below = ratio.split("/")
    size = float(whole[0] if whole else 0) + (float(above) / float(below) if float(below) else math.inf)
    return -size if text.startswith("-") else size
