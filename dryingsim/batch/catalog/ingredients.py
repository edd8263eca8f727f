"""What goes into a marinade: ingredients by their plain names, and a file to start from."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from dryingsim.batch.checks import check_named

SALT_PER_SODIUM = 58.443 / 22.990  # sodium chloride per sodium, molar masses (IUPAC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ingredient:
    """What an ingredient brings, as mass fractions; what is left of one is neither."""

    name: str
    water: float
    salt: float  # sodium, counted as sodium chloride
    sugar: float
    acid: float = 0.0
    nitrite: float = 0.0  # sodium nitrite
    tablespoon_kg: float | None = None  # weight of a level US tablespoon
    note: str = ""  # what to know about these figures
    source: str = "as typed"


@cache
def _file() -> dict[str, Any]:
    text = (resources.files(__package__) / "ingredients.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def all_ingredients() -> dict[str, Ingredient]:
    """Return every known ingredient by its name, in the order of the file."""
    return {name: _known(name, row) for name, row in _file()["ingredients"].items()}


def _known(name: str, row: dict[str, Any]) -> Ingredient:
    return Ingredient(
        name=name,
        water=row["water"] / 100.0,
        salt=row["sodium_mg"] / 1e5 * SALT_PER_SODIUM,
        sugar=row["sugars"] / 100.0,
        acid=row.get("acid", 0.0) / 100.0,
        nitrite=row.get("nitrite", 0.0) / 100.0,
        tablespoon_kg=row["tablespoon_g"] / 1e3,
        note=row.get("note", ""),
        source=f"USDA SR28, NDB {row['ndb']:05d}" if "ndb" in row else "see the catalog",
    )


def source() -> str:
    """Return where the compositions come from, in one sentence."""
    return _file()["source"]


def start_text() -> str:
    """Return the commented marinade file to start from, which is also the demonstration."""
    return _file()["start"]["text"].lstrip("\n")


def find_ingredient(where: str, name: str) -> Ingredient:
    """Return the ingredient called `name`, capitals and extra blanks aside.

    Parameters
    ----------
    where : str
        Its place, for messages.
    name : str
        What was typed.
    """
    advice = "'dryingsim marinate --ingredients' shows all; or give water, salt and sugar from its label"
    return check_named(where, name, all_ingredients(), "ingredient", advice)
