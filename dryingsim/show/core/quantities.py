"""How a quantity is printed: its unit, its symbol, its decimals. SI goes in; text or numbers come out."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Batch, Lies, StageKind, ThicknessClass
from dryingsim.batch.units import display_units, from_si
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.model.laying import slab_thickness
from dryingsim.typing import Array

_SYMBOLS = {"degC": "°C", "degF": "°F", "inch": "in"}
_PARTS = (16, 32)  # of an inch, as rulers have them
_FRACTION_OFF = (
    0.01  # a fraction is printed where it is no farther off than this share; the finer below half an inch
)
_BTU_J, _F_PER_K = 1055.056, 1.8
_IN_SECONDS = 90.0  # a shorter time is told in seconds
SHORT_S = 600.0  # a longer time needs no seconds
_LITTLE_G = 10.0  # a kitchen scale shows whole grams
BTU_H_FT2_F = 0.17611  # in 1 W/m2K
_DECIMALS = {"degC": 0, "degF": 0, "mm": 1, "inch": 2, "kg": 2, "g": 0, "lb": 2, "oz": 1, "kWh": 2, "W": 0}
Degrees = Callable[[float], str]  # prints a temperature [K] with its unit
Words = str | Callable[[Mapping[str, Any], Degrees], str]  # a template, or a function of its numbers
LIES: dict[Lies, tuple[str, str]] = {  # in a list of sizes, and in a sentence
    "flat": ("", ""),
    "sheet": (" on a sheet", " on a sheet"),
    "overlapping": (" overlapping", " that overlap"),
}
MEDIA: dict[StageKind, str] = {  # what slices are in during a stage that is not in drying air
    "marinade": "stirred in marinade at {at}",
    "water": "stirred in plain water at {at}",
    "steam": "in steam at {at}",
    "rest": "covered, so that nothing dries, at {at}",
}
AROUND: dict[StageKind, str] = {
    "air": "air",
    "marinade": "liquid",
    "water": "liquid",
    "steam": "steam",
    "rest": "still air",
}
_SIGNS = "$€£¥"  # stand before the sum
LARGE_BATCH_KG = 10.0  # from here on in kg or lb, below in g or oz


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit one kind of quantity is printed in: a `dimension` of `batch.dimensions`, a `name` that `batch.units` reads."""

    dimension: str
    name: str

    @property
    def symbol(self) -> str:
        """The unit as it is printed."""
        return _SYMBOLS.get(self.name, self.name)

    def value(self, si: Array) -> Array:
        """Return SI floats or arrays in this unit."""
        return from_si(si, self.name, self.dimension)

    def number(self, si: float) -> str:
        """Return the rounded number without its unit."""
        value = float(self.value(si))
        number = (_fraction(value) if self.name == "inch" else "") or f"{value:.{_DECIMALS[self.name]}f}"
        return (
            number.rstrip("0").rstrip(".") if self.dimension == "length" else number
        )  # "6 mm", not "6.0 mm"

    def text(self, si: float) -> str:
        """Return the rounded number with its unit; from a pound on, ounces as scales show them: "1 lb 12.8 oz"."""
        if self.name == "oz":
            pounds, ounces = divmod(round(float(self.value(si)), 1), 16.0)
            rest = f"{ounces:.1f}".removesuffix(".0") + " oz"
            return rest if not pounds else f"{pounds:.0f} lb {rest}" if ounces >= 0.05 else f"{pounds:.0f} lb"
        return f"{self.number(si)} {self.symbol}"

    def difference(self, kelvin: float) -> str:
        """Return a difference of temperatures, for a unit of temperature: "2 K", "3.6 °F"."""
        return difference(kelvin, self.text)


def btu_per_lb(J_per_kg: Array) -> Array:
    """Return an energy per weight [J/kg] in Btu per lb."""
    return J_per_kg / _BTU_J / from_si(1.0, "lb", "mass")


def _fraction(inches: float) -> str:
    """Return a length as a ruler shows it, "3/16" or "1 1/2"; nothing where no mark is near enough."""
    for parts in _PARTS:
        marks = round(inches * parts)
        if abs(marks / parts - inches) <= _FRACTION_OFF * abs(inches) and (parts == 16 or inches < 0.5):
            whole, rest = divmod(marks, parts)
            words = [str(whole)] if whole or not rest else []
            return " ".join([*words, str(Fraction(rest, parts))] if rest else words)
    return ""


def difference(kelvin: float, degrees: Degrees) -> str:
    """Return a difference of temperatures in the unit of those that are printed beside it: "2 K", "3.6 °F".

    Examples
    --------
    >>> difference(2.0, celsius), difference(2.0, Unit("temperature", "degF").text)
    ('2 K', '3.6 °F')
    """
    us = system_of(degrees) == "us"
    value = _F_PER_K * kelvin if us else kelvin
    number = f"{value:.0f}" if abs(value) >= 10.0 else f"{value:.1f}".removesuffix(".0")
    return f"{number} {'°F' if us else 'K'}"


def to_a_degree(kelvin: float, degrees: Degrees, rounded: Callable[[float], int]) -> float:
    """Return a temperature [K] rounded to a whole degree of the unit it is printed in.

    Examples
    --------
    >>> from math import ceil
    >>> celsius(to_a_degree(335.31, celsius, ceil))
    '63 degC'
    """
    per_K = _F_PER_K if system_of(degrees) == "us" else 1.0
    return ZERO_CELSIUS + rounded(round((kelvin - ZERO_CELSIUS) * per_K, 6)) / per_K


def system_of(degrees: Degrees) -> str:
    """Return the system of units that temperatures are printed in, "metric" or "us"."""
    return "us" if degrees(ZERO_CELSIUS).endswith("F") else "metric"


class Units:
    """The units a batch or its history is printed in: those asked for, or else those of the batch file."""

    def __init__(self, printed: History | Batch, system: str | None = None) -> None:
        batch = printed if isinstance(printed, Batch) else printed.batch
        chosen = check_choice("units", system or batch.display, ("metric", "us"))
        self.system, names = chosen, display_units(chosen)
        self.bulk = Unit("mass", names["mass"])  # what rates and prices refer to, whatever the batch weighs
        if batch.meat.weight_kg < LARGE_BATCH_KG:
            names["mass"] = {"kg": "g", "lb": "oz"}[names["mass"]]
        self.temperature = Unit("temperature", names["temperature"])
        self.length = Unit("length", names["length"])
        self.weight = Unit("mass", names["mass"])
        self.time = Unit("duration", names["duration"])
        self.energy = Unit("energy", names["energy"])
        self.power = Unit("power", names["power"])
        self.ratio = "kg/kg" if self.bulk.name == "kg" else "lb/lb"

    def energy_per_weight(self, J_per_kg: float) -> str:
        """Return an energy per weight of water: "4.9 kWh per kg", "7580 Btu per lb"."""
        if self.bulk.name == "lb":
            return f"{round(btu_per_lb(J_per_kg), -1):.0f} Btu per lb"
        return f"{self.energy.value(J_per_kg) / self.bulk.value(1.0):.1f} {self.energy.symbol} per {self.bulk.symbol}"

    def per_weight(self, share: float) -> str:
        """Return what is taken up per weight of meat [kg/kg]: "15 g/kg", "0.24 oz/lb"."""
        return f"{16.0 * share:.2f} oz/lb" if self.bulk.name == "lb" else f"{1e3 * share:.0f} g/kg"


class KitchenUnits:
    """The units to print in, for the system "metric" or "us"."""

    def __init__(self, system: str) -> None:
        names = display_units(system)
        self.temperature = Unit("temperature", names["temperature"])
        self.length = Unit("length", names["length"])
        self.bulk = Unit("mass", names["mass"])
        self.mass = Unit("mass", {"kg": "g", "lb": "oz"}[names["mass"]])
        self.share = f"{self.mass.symbol}/{self.bulk.symbol}"

    def in_meat(self, share: float) -> str:
        """Return the number of what is taken up per weight of meat [kg/kg], in `share`: "15.5" g/kg, "0.25" oz/lb."""
        value = float(self.mass.value(share) / self.bulk.value(1.0))
        return f"{value:.1f}".removesuffix(".0") if self.mass.name == "g" else f"{value:.2f}"

    def degrees(self, kelvin: float) -> str:
        """Return a temperature to a tenth of a degree."""
        return f"{self.temperature.value(kelvin):.1f} {self.temperature.symbol}"

    def heat(self, J_kg: float) -> str:
        """Return a heat per weight: "15 kJ/kg", "6 Btu/lb"."""
        return f"{btu_per_lb(J_kg):.0f} Btu/lb" if self.bulk.name == "lb" else f"{J_kg / 1e3:.0f} kJ/kg"

    def film(self, W_m2K: float) -> str:
        """Return a heat-transfer coefficient: "8 W/m2K", "1.4 Btu/(h ft2 °F)"."""
        us = self.bulk.name == "lb"
        return f"{BTU_H_FT2_F * W_m2K:.1f} Btu/(h ft2 °F)" if us else f"{W_m2K:g} W/m2K"

    def pinch(self, kg: float) -> str:
        """Return the weight of an ingredient: of little, such as curing salt, two digits, and in g too.

        Examples
        --------
        >>> KitchenUnits("us").pinch(0.0014), KitchenUnits("metric").pinch(0.0007), KitchenUnits("us").pinch(0.128)
        ('0.049 oz (1.4 g)', '0.7 g', '4.5 oz')
        """
        size, grams = float(self.mass.value(kg)), f"{1e3 * kg:.2g} g"
        if self.mass.name == "g":
            return grams if size < _LITTLE_G else self.weight(kg)
        return f"{size:.2g} oz ({grams})" if size < 1.0 else self.weight(kg)

    def weight(self, kg: float) -> str:
        """Return a weight: small ones in g or in pounds and ounces, large ones in kg or lb."""
        large = 1.0 if self.mass.name == "g" else LARGE_BATCH_KG
        return (self.mass if kg < large else self.bulk).text(kg)


def celsius(kelvin: float) -> str:
    """Return a temperature [K] where nobody chose a unit: "71.1 degC".

    Examples
    --------
    >>> celsius(328.15), celsius(344.26)
    ('55 degC', '71.1 degC')
    """
    return f"{kelvin - ZERO_CELSIUS:.1f}".removesuffix(".0") + " degC"


def logs(reduction: float) -> str:
    """Return a log10 reduction; hardly anybody counts more than seven.

    Examples
    --------
    >>> logs(3.14), logs(650.0)
    ('3.1', '7 or more')
    """
    return f"{reduction:.1f}" if reduction < COUNTABLE else f"{COUNTABLE:.0f} or more"


def clock(seconds: float) -> str:
    """Return a time as hours and minutes: "4:35".

    Examples
    --------
    >>> clock(16496.0)
    '4:35'
    """
    hours, minutes = divmod(round(seconds / 60.0), 60)
    return f"{hours}:{minutes:02d}"


def spoken(seconds: float) -> str:
    """Return a time in words, to the minute: "4 h 35 min".

    Examples
    --------
    >>> spoken(16496.0), spoken(7200.0), spoken(300.0)
    ('4 h 35 min', '2 h', '5 min')
    """
    hours, minutes = divmod(round(seconds / 60.0), 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def lasting(seconds: float) -> str:
    """Return a time in words, of less than a minute or two in seconds.

    Examples
    --------
    >>> lasting(12.3), lasting(300.0)
    ('12 s', '5 min')
    """
    return f"{seconds:.0f} s" if seconds < _IN_SECONDS else spoken(seconds)


def at_least(seconds: float) -> str:
    """Return a time that is not too short, to the second, of more than ten minutes to the minute.

    Examples
    --------
    >>> at_least(49.8), at_least(61.0), at_least(300.0), at_least(4000.0)
    ('50 s', '1 min 1 s', '5 min', '1 h 7 min')
    """
    if seconds > SHORT_S:
        return spoken(60.0 * math.ceil(seconds / 60.0 - 1e-6))
    minutes, rest = divmod(math.ceil(seconds - 1e-6), 60)
    return " ".join(filter(None, (f"{minutes} min" if minutes else "", f"{rest} s" if rest else "")))


def about(seconds: float) -> str:
    """Return a time as a first screen has it, to five minutes: "4 h 35".

    Examples
    --------
    >>> about(16496.0), about(7200.0), about(300.0), about(60.0)
    ('4 h 35', '2 h', '5 min', '1 min')
    """
    hours, minutes = divmod(5 * round(seconds / 300.0), 60)
    if not hours:
        return f"{minutes or round(seconds / 60.0)} min"
    return f"{hours} h {minutes:02d}" if minutes else f"{hours} h"


def slowest(history: History) -> int:
    """Return the index of the slab that dries last: of those with the longest way out, that on the wettest tray."""
    way_out = slab_thickness(history.batch)[history.kind] / history.slabs.vapour_open.sum(axis=0)
    last = np.where(way_out == way_out.max(), history.mean_moisture_db[-1], -np.inf)
    return int(last.argmax())


def class_name(units: Units, one: ThicknessClass) -> str:
    """Return what a class is called in a list: "5 mm", "5 mm overlapping"."""
    return units.length.text(one.thickness_m) + LIES[one.lies][0]


def slices_name(units: Units, thickness_m: float, lies: Lies) -> str:
    """Return what slices are called in a sentence: "5 mm slices", "5 mm slices that overlap"."""
    return f"{units.length.text(thickness_m)} slices{LIES[lies][1]}"


def slices(history: History, units: Units, slab: int) -> str:
    """Return what the slices of a slab are called, with their tray if there are several."""
    one = history.batch.meat.classes[history.kind[slab]]
    name = slices_name(units, one.thickness_m, one.lies)
    return f"{name} on tray {history.tray[slab] + 1}" if history.tray.max() else name


def count_of(number: int, noun: str) -> str:
    """Return how many there are of something: "1 tray", "3 trays"."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def money(value: float, currency: str) -> str:
    """Return a sum as it is written: "$1.20", "1.20 EUR"."""
    return f"{currency}{value:.2f}" if currency in _SIGNS else f"{value:.2f} {currency}"


def capital(text: str) -> str:
    """Return a text with its first letter large."""
    return text[:1].upper() + text[1:]


def ended(text: str) -> str:
    """Return a sentence with its full stop, where it does not end in a mark of its own."""
    return text if text.endswith(("?", "!", ".")) else f"{text}."


_PLACES = {
    "door_gap": "door gap",
    "duration": "length",
    "relative": "relative humidity",
    "wet_bulb": "wet bulb",
    "dew_point": "dew point",
    "water_activity": "water activity at the end",
    "core": "core at the end",
    "weight_loss": "weight loss at the end",
    "rotate_every": "trays change places every",
}


def place_words(key: str, batch: Batch) -> str:
    """Return what a place of a batch file is called.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> place_words("stage.2.air", demo_batch()), place_words("appliance.door.gap", demo_batch())
    ("air of 'drying'", 'door gap')
    """
    parts = key.split(".")
    last = _PLACES.get(parts[-1], parts[-1].replace("_", " "))
    number = int(parts[1]) if parts[0] == "stage" and len(parts) > 2 and parts[1].isdigit() else 0
    if 0 < number <= len(batch.stages):
        return f"{last} of '{batch.stages[number - 1].name}'"
    return " ".join([*parts[1:-1], last]) if parts[0] in ("appliance", "room", "marinade") else last


def percent(share: float) -> str:
    """Return a share in whole percent; one that is not nil is never told as nil.

    Examples
    --------
    >>> percent(0.25), percent(0.002)
    ('25 %', 'less than 1 %')
    """
    value = 100.0 * share
    return f"{value:.0f} %" if value >= 1.0 or value <= 0.0 else "less than 1 %"
