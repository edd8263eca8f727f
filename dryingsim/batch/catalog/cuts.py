"""Cuts of meat by their plain names, with the composition printed in a public food table."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from dryingsim.batch.checks import check_named
from dryingsim.batch.schema import Composition, Species

# what butchers call them; only where that names one cut of one animal
_ALSO = {
    "eye of round": "beef eye of round",
    "eye round": "beef eye of round",
    "beef eye round": "beef eye of round",
    "top round": "beef top round",
    "bottom round": "beef bottom round",
    "sirloin tip": "beef sirloin tip",
    "flank": "beef flank",
    "flank steak": "beef flank",
    "brisket": "beef brisket flat",
    "deer": "venison",
    "leg of lamb": "lamb leg",
}
ROUNDING = 1e-12  # of a sum of numbers: no more is left to scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut: percentages by weight exactly as the source prints them, which need not sum to 100.

    Attributes
    ----------
    name : str
        Of the cut.
    species : Species
        Of animal.
    ndb : int
        Number of the food in the source.
    description : str
        Of the food in the source.
    water : float
        [%].
    protein : float
        [%].
    fat : float
        [%].
    carbohydrate : float
        [%].
    ash : float
        [%].
    """

    name: str
    species: Species
    ndb: int
    description: str
    water: float
    protein: float
    fat: float
    carbohydrate: float
    ash: float

    @property
    def composition(self) -> Composition:
        """Mass fractions that sum to one."""
        return normalised(self.water, self.protein, self.fat, self.carbohydrate, self.ash)


def normalised(water: float, protein: float, fat: float, carbohydrate: float, ash: float) -> Composition:
    """Scale five parts, in any common unit, to fractions that sum to one; those that do, but for rounding, stay.

    Parameters
    ----------
    water, protein, fat, carbohydrate, ash : float
        Parts by weight [percent or fraction].
    """
    total = water + protein + fat + carbohydrate + ash
    if abs(total - 1.0) < ROUNDING:
        total = 1.0
    return Composition(
        water=water / total,
        protein=protein / total,
        fat=fat / total,
        carbohydrate=carbohydrate / total,
        ash=ash / total,
    )


@cache
def _file() -> dict[str, Any]:
    text = (resources.files(__package__) / "cuts.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def all_cuts() -> dict[str, Cut]:
    """Return every known cut by its name, in the order of the file."""
    return {name: Cut(name=name, **row) for name, row in _file()["cuts"].items()}


def source() -> str:
    """Return where the compositions come from, in one sentence."""
    return _file()["source"]


def find_cut(where: str, name: Any, own: str = "") -> Cut:
    """Return the cut called `name`, capitals and extra blanks aside.

    Parameters
    ----------
    where : str
        Its place, for messages.
    name : object
        What was typed.
    own : str
        What takes the composition of another meat, if anything does there.
    """
    if isinstance(name, str):
        said = " ".join(name.lower().split())
        minced = said.replace("ground ", "minced ", 1)
        name = _ALSO.get(said) or (minced if minced in all_cuts() else name)
    advice = f"'dryingsim list cuts' shows all{own and f'; {own} takes your own figures'}"
    return check_named(where, name, all_cuts(), "cut", advice)
