"""Kinds of quantities: what each is called, its SI unit, and the units it may be typed and printed in."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its words, its SI unit, and the units it may be typed in.

    Attributes
    ----------
    phrase : str
        What it is, in words.
    example : str
        As it is typed.
    si : str
        Unit in SI.
    metric : str
        Unit for printing.
    us : str
        Unit for printing in US units.
    parts : bool
        May be typed in parts, as in "2 h 15 min".
    """

    phrase: str
    example: str
    si: str
    metric: str
    us: str
    units: dict[str, str]  # unit as pint reads it: the spellings accepted for it
    parts: bool = False


_LENGTHS = {
    "mm": "mm millimetre millimetres millimeter millimeters",
    "cm": "cm centimetre centimetres centimeter centimeters",
    "m": "m metre metres meter meters",
    "inch": 'inch inches in "',
    "ft": "ft foot feet",
}

DIMENSIONS: dict[str, Dimension] = {
    "length": Dimension("a length", '"5 mm" or "0.2 inch"', "m", "mm", "inch", _LENGTHS),
    "altitude": Dimension("a height above the sea", '"300 m" or "1000 ft"', "m", "m", "ft", _LENGTHS),
    "temperature": Dimension(
        "a temperature",
        '"68 degC" or "155 degF"',
        "K",
        "degC",
        "degF",
        {"degC": "degC C celsius Celsius", "degF": "degF F fahrenheit Fahrenheit", "K": "K kelvin"},
    ),
    "temperature difference": Dimension(
        "a temperature difference",
        '"5 K" or "9 degF"',
        "K",
        "K",
        "degF",
        {
            "K": "K kelvin",
            "delta_degC": "degC C celsius Celsius",
            "delta_degF": "degF F fahrenheit Fahrenheit",
        },
    ),
    "mass": Dimension(
        "a weight",
        '"0.7 kg" or "1.6 lb"',
        "kg",
        "kg",
        "lb",
        {
            "kg": "kg kilogram kilograms",
            "g": "g gram grams",
            "mg": "mg milligram milligrams",
            "lb": "lb lbs pound pounds",
            "oz": "oz ounce ounces",
        },
        parts=True,
    ),
    "duration": Dimension(
        "a duration",
        '"5 h" or "2 h 15 min"',
        "s",
        "h",
        "h",
        {
            "s": "s sec second seconds",
            "min": "min minute minutes",
            "h": "h hr hrs hour hours",
            "day": "d day days",
            "week": "wk week weeks",
            "month": "month months",
            "year": "year years yr yrs",
        },
        parts=True,
    ),
    "speed": Dimension(
        "a speed",
        '"1.5 m/s" or "300 ft/min"',
        "m/s",
        "m/s",
        "ft/min",
        {
            "m/s": "m/s",
            "cm/s": "cm/s",
            "m/min": "m/min",
            "km/h": "km/h kph km/hour",
            "ft/min": "ft/min fpm",
            "ft/s": "ft/s",
            "mile/h": "mph mi/h mile/h",
        },
    ),
    "fraction": Dimension("a percentage", '"35 %"', "", "%", "%", {"percent": "% percent"}),
    "mass fraction": Dimension(
        "an amount per weight of meat",
        '"15 g/kg" or "1.5 %"',
        "",
        "g/kg",
        "%",
        {"g/kg": "g/kg", "kg/kg": "kg/kg", "oz/lb": "oz/lb", "percent": "% percent"},
    ),
    "pressure": Dimension(
        "a pressure",
        '"95 kPa" or "0.95 bar"',
        "Pa",
        "kPa",
        "psi",
        {"Pa": "Pa pascal", "hPa": "hPa mbar", "kPa": "kPa", "bar": "bar", "atm": "atm", "psi": "psi"},
    ),
    "power": Dimension("a power", '"500 W" or "1.2 kW"', "W", "W", "W", {"W": "W watt watts", "kW": "kW"}),
    "volume": Dimension(
        "a volume",
        '"100 mL" or "2 tbsp"',
        "m**3",
        "mL",
        "cup",
        {
            "mL": "mL ml millilitre millilitres milliliter milliliters",
            "L": "L l litre litres liter liters",
            "tsp": "tsp teaspoon teaspoons",
            "tbsp": "tbsp Tbsp tablespoon tablespoons tbs",
            "cup": "cup cups",
            "floz": "floz fluidounce fluidounces",  # blanks are taken out: "fl oz"
            "pint": "pint pints pt",
            "quart": "quart quarts qt",
            "dash": "dash dashes",
            "pinch": "pinch pinches",
        },
        parts=True,
    ),
    "energy": Dimension("an energy", '"2.5 kWh"', "J", "kWh", "kWh", {"J": "J", "kJ": "kJ", "kWh": "kWh"}),
}
