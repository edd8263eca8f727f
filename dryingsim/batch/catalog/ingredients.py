"""What goes into a marinade: ingredients by their plain names, and a file to start from."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from dryingsim.batch.checks import check_named, show
from dryingsim.errors import InputError

SALT_PER_SODIUM = 58.443 / 22.990  # sodium chloride per sodium, molar masses (IUPAC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ingredient:
    """What an ingredient brings, as mass fractions; what is left of one is neither.

    Attributes
    ----------
    name : str
        As people call it.
    water : float
        [kg/kg].
    salt : float
        Sodium, counted as sodium chloride.
    sugar : float
        [kg/kg].
    acid : float
        [kg/kg].
    nitrite : float
        Sodium nitrite.
    tablespoon_kg : float or None
        Weight of a level US tablespoon.
    pieces : tuple[tuple[str, float], ...]
        Weight of a clove and the like [kg].
    kinds : tuple[str, ...]
        Where a spoon holds one weight of one kind and another of another.
    note : str
        What to know about these figures.
    source : str
        Of the figures.
    """

    name: str
    water: float
    salt: float
    sugar: float
    acid: float = 0.0
    nitrite: float = 0.0
    tablespoon_kg: float | None = None
    pieces: tuple[tuple[str, float], ...] = ()
    kinds: tuple[str, ...] = ()
    note: str = ""
    source: str = "as typed"


@cache
def _file() -> dict[str, Any]:
    text = (resources.files(__package__) / "ingredients.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def all_ingredients() -> dict[str, Ingredient]:
    """Return every known ingredient by its name, in the order of the file."""
    return {name: _known(name, row) for name, row in _file()["ingredients"].items()}


@cache
def _by_any_name() -> dict[str, Ingredient]:
    """Every known ingredient by its name and by what else it is called."""
    called = {also: name for name, row in _file()["ingredients"].items() for also in row.get("also", ())}
    return all_ingredients() | {also: all_ingredients()[name] for also, name in called.items()}


def _known(name: str, row: dict[str, Any]) -> Ingredient:
    return Ingredient(
        name=name,
        water=row["water"] / 100.0,
        salt=row["sodium_mg"] / 1e5 * SALT_PER_SODIUM,
        sugar=row["sugars"] / 100.0,
        acid=row.get("acid", 0.0) / 100.0,
        nitrite=row.get("nitrite", 0.0) / 100.0,
        tablespoon_kg=row["tablespoon_g"] / 1e3 if "tablespoon_g" in row else None,
        pieces=tuple((piece, grams / 1e3) for piece, grams in row.get("pieces_g", {}).items()),
        kinds=tuple(row.get("kinds", ())),
        note=row.get("note", ""),
        source=f"USDA SR28, NDB {row['ndb']:05d}" if "ndb" in row else row["source"],
    )


def source() -> str:
    """Return where the compositions come from, in one sentence."""
    return _file()["source"]


def from_elsewhere() -> dict[str, str]:
    """Return where those ingredients come from that are not in that food table, by their names."""
    rows = _file()["ingredients"].items()
    return {name: row["source"] for name, row in rows if "ndb" not in row}


def start_text() -> str:
    """Return the commented marinade file to start from, which is also the demonstration."""
    return _file()["start"]["text"].lstrip("\n")


def _plain(name: str) -> str:
    """Return a name as the catalog spells it: no capitals, hyphens or extra blanks."""
    return " ".join(name.lower().replace("-", " ").split())


def is_known(name: str) -> bool:
    """Return whether an ingredient is known by a name, if only to say why its figures are needed."""
    return _plain(name) in _by_any_name() or _plain(name) in _file()["ask"]


def find_ingredient(where: str, name: str) -> Ingredient:
    """Return the ingredient called `name`, capitals, hyphens and extra blanks aside; raise and say why if none will do.

    Parameters
    ----------
    where : str
        Its place, for messages.
    name : str
        What was typed.
    """
    plain = _plain(name)
    if plain in _file()["ask"]:
        raise InputError(f"{where} = {show(name)}: {_file()['ask'][plain]}")
    known = _by_any_name()
    if plain in known:
        return known[plain]
    advice = "'dryingsim marinate --ingredients' shows all; or give water, salt and sugar from its label"
    return check_named(where, name, known, "ingredient", advice)
