"""The text of a batch file with its quantities in the units of a US kitchen, comments among them."""

import re

from dryingsim.batch.units import from_si, to_si

# unit typed: its dimension, the unit to write, and the digits that a kitchen reads
_US = {
    "mm": ("length", "inch", 2),
    "m": ("altitude", "ft", 2),
    "kg": ("mass", "lb", 3),
    "g": ("mass", "oz", 2),
    "degC": ("temperature", "degF", 2),
    "K": ("temperature difference", "degF", 2),
    "g/kg": ("mass fraction", "oz/lb", 2),
    "m/s": ("speed", "ft/min", 2),
    "kPa": ("pressure", "psi", 3),
}
_UNITS = "|".join(map(re.escape, sorted(_US, key=len, reverse=True)))
_QUOTED = re.compile(rf'"(-?[\d.]+) ({_UNITS})"((?: \}})?)( +(?=#))?')
_BETWEEN = re.compile(rf"\b([\d.]+) to ([\d.]+) ({_UNITS})(?![\w/])")
_ALONE = re.compile(r"# (\d+) (degC) if left out")


def written_in(text: str, units: str) -> str:
    """Return a file to start from, which is written in metric units, with those of a system; what is printed of it follows.

    Parameters
    ----------
    text : str
    units : str
    """
    if units == "metric":
        return text
    return in_us_units(text).replace('units = "metric" ', f'units = "{units}"     ')


def in_us_units(text: str) -> str:
    """Return the text of a batch file with quantities in inches, pounds and degrees Fahrenheit, rounded.

    Parameters
    ----------
    text : str

    Examples
    --------
    >>> in_us_units('weight = "0.7 kg"  # of meat at "4 degC", in air of 0 to 150 degC')
    'weight = "1.54 lb" # of meat at "39 degF", in air of 32 to 302 degF'
    """
    text = _ALONE.sub(lambda found: f"# {' '.join(_converted(found[1], found[2]))} if left out", text)
    return _BETWEEN.sub(_range, _QUOTED.sub(_quantity, text))


def _quantity(found: re.Match[str]) -> str:
    number, unit = _converted(found[1], found[2])
    written = f'"{number} {unit}"{found[3]}'
    blanks = " " * max(len(found[0]) - len(written), 1) if found[4] else ""  # comments stay in line
    return written + blanks


def _range(found: re.Match[str]) -> str:
    low, unit = _converted(found[1], found[3])
    return f"{low} to {_converted(found[2], found[3])[0]} {unit}"


def _converted(number: str, unit: str) -> tuple[str, str]:
    dimension, us, digits = _US[unit]
    value = from_si(to_si("", f"{number} {unit}", dimension), us, dimension)
    if dimension == "temperature":
        return f"{value:.0f}", us
    return f"{float(f'{value:.{digits}g}'):g}", us
