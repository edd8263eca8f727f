"""What a person is asked for a batch of their own, in kitchen words, and the batch file that the answers make."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from dryingsim.batch.animals import Species, called_ground, clashing
from dryingsim.batch.catalog.ingredients import find_ingredient
from dryingsim.batch.checks import check_choice, nearest
from dryingsim.batch.schema import Form
from dryingsim.batch.toml_writing import toml_text
from dryingsim.batch.units import kind_of, to_si


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Attributes
    ----------
    key : str
        Of the answer.
    words : str
    metric, us : str
        What is meant if nothing is typed, by the units a person uses.
    """

    key: str
    words: str
    metric: str
    us: str


QUESTIONS = (
    Question("cut", "Which meat? ('dryingsim list cuts' shows all)", "beef top round", "beef top round"),
    Question("form", "Is it sliced, mechanically tenderized or ground?", "sliced", "sliced"),
    Question("thickness", "How thick are the raw slices?", "5 mm", "3/16 inch"),
    Question("length", "How long is a slice?", "120 mm", "5 inch"),
    Question("width", "How wide is it?", "50 mm", "2 inch"),
    Question("weight", "How much raw meat is it in all?", "0.7 kg", "1.5 lb"),
    Question(
        "salt", "How much salt does it take up? Per weight of raw meat, or in spoons", "15 g/kg", "1.5 %"
    ),
    Question("humidity", "How humid is the room?", "45 %", "45 %"),
    Question(
        "appliance",
        "What dries it? ('dryingsim list appliances' shows all)",
        "stacked dehydrator",
        "stacked dehydrator",
    ),
    Question(
        "heated",
        "What heats them first: boiling marinade, water (takes salt out), steam (ground meat), or none?",
        "marinade",
        "marinade",
    ),
    Question("air", "What temperature is it set to?", "68 degC", "155 degF"),
    Question("duration", "How long may it take at most?", "10 h", "10 h"),
)
_IN_SPOONS = re.compile(
    r"(?P<amount>.+?(?:tsp|teaspoons?|tbsp|tablespoons?|cups?)\.?) ?(?:of )?(?P<what>[a-z ]*salt)? ?"
    r"(?:(?:per|/|for each|each|an?) ?(?P<each>.+))?",
    re.IGNORECASE,
)
_TELLING = {
    "us": re.compile(
        r"\d ?-?(?:\"|''|in\b|inch|inches|lbs?\b|pounds?|oz\b|ounces?|(?:deg|°)? ?F\b)", re.IGNORECASE
    ),
    "metric": re.compile(r"\d ?(?:mm|cm|k?g\b|kilo|gram|(?:deg|°)? ?C\b)", re.IGNORECASE),
}
_ROOM = {"metric": "21 degC", "us": "70 degF"}
_CORE = {"metric": "71 degC", "us": "160 degF"}
_HOTTER_CORE = {"metric": "74 degC", "us": "165 degF"}  # home advice for birds, and for what it does not name
_HOTTER: tuple[Species, ...] = ("poultry", "fish", "other")
_HEATED_IN = ("marinade", "water", "steam", "none", "no")
_HEATED = """
[[stage]]
name = "heat the slices"
{medium} = "boiling"
until = {{ core = {core} }}  # in the middle of the thickest, by a thermometer; and as long as 'run' says
"""
_FILE = """# A batch for dryingsim, as answered. 'dryingsim new' without --ask writes one that shows all there is.
title = "My batch"

[meat]
cut = {cut}
form = {form}
thickness = {thickness}
length = {length}
width = {width}
weight = {weight}

[marinade]
salt = {salt}

[room]
temperature = {room}
humidity = {humidity}

[appliance]
use = {appliance}
{first}
[[stage]]
name = "drying"
air = {air}
duration = {duration}
until = {{ water_activity = 0.85 }}

[display]
units = {units}
"""


def batch_text(answers: Mapping[str, str], units: str) -> str:
    """Return the batch file that answers make; what is not answered stays as suggested.

    Parameters
    ----------
    answers : mapping
        What was typed, by the key of its question; not checked, but for what heats them first.
    units : str
        "metric" or "us".

    Examples
    --------
    >>> 'cut = "venison"' in batch_text({"cut": "venison"}, "us")
    True
    """
    typed = {one.key: answers.get(one.key, suggested(one, units)) for one in QUESTIONS}
    if "form" not in answers and called_ground(typed["cut"]):
        typed["form"] = "ground"
    medium = check_choice(
        "heated first", typed.pop("heated").strip().lower().removeprefix("boiling "), _HEATED_IN
    )
    told = typed | {"salt": _salt(typed["salt"], typed["weight"]), "room": _ROOM[units], "units": units}
    medium = "none" if medium == "no" else medium
    if medium != "none" and nearest(typed["form"].strip(), get_args(Form)) == "minced":
        medium = "steam"  # it would fall apart in liquid
    core = (_HOTTER_CORE if clashing(typed["cut"], "beef") in _HOTTER else _CORE)[units]
    heated = _HEATED.format(medium=medium, core=toml_text(core)) if medium != "none" else ""
    return _FILE.format(first=heated, **{key: toml_text(text.strip()) for key, text in told.items()})


def _salt(typed: str, weight: str) -> str:
    """Return salt per weight of raw meat where it was told by the spoon, for all of it or for each pound; else as typed."""
    found = _IN_SPOONS.fullmatch(" ".join(typed.split()))
    if not found:
        return typed
    each = found["each"] or weight
    each = each if each[:1].isdigit() else f"1 {each}"
    amount = found["amount"].rstrip(".")
    if kind_of(amount, ("volume",)) is None or kind_of(each, ("mass",)) is None:
        return typed
    spoon_kg = find_ingredient("", found["what"] or "salt").tablespoon_kg
    if spoon_kg is None:
        return typed
    spoons = to_si("salt", amount, "volume") / to_si("salt", "1 tbsp", "volume")
    return f"{1e3 * spoons * spoon_kg / to_si('weight', each, 'mass'):.3g} g/kg"


def units_typed(answers: Mapping[str, str]) -> str | None:
    """Return the units that answers are in, "metric" or "us"; None where they do not tell.

    Parameters
    ----------
    answers : mapping
        What was typed, by the key of its question.

    Examples
    --------
    >>> units_typed({"weight": "2 lb 4 oz", "duration": "8 h"}), units_typed({"air": "68 C"}), units_typed({})
    ('us', 'metric', None)
    """
    said = {system for text in answers.values() for system, unit in _TELLING.items() if unit.search(text)}
    return said.pop() if len(said) == 1 else None


def suggested(question: Question, units: str) -> str:
    """Return what is meant if nothing is typed.

    Parameters
    ----------
    question : Question
    units : str
        "metric" or "us".
    """
    return question.us if units == "us" else question.metric
