"""Reader of `organisms.toml`: the bacteria judged, and the reductions guidelines require."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, get_args

from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Species

SPECIES: tuple[Species, ...] = get_args(Species)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The reduction a named guideline asks for.

    Attributes
    ----------
    log10 : float
        The reduction.
    """

    log10: float
    guideline: str


@cache
def _data() -> dict[str, Any]:
    text = resources.files("dryingsim.batch.catalog").joinpath("organisms.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def organisms() -> dict[str, str]:
    """Return the key and the printed name of each organism."""
    return {key: entry["name"] for key, entry in _data()["organism"].items()}


def target(organism: str, species: str) -> Target:
    """Return the reduction asked for, with the guideline that asks for it.

    Parameters
    ----------
    organism : str
        A key of `organisms`.
    species : str
        One of `SPECIES`.
    """
    check_choice("organism", organism, organisms())
    check_choice("species", species, SPECIES)
    entry = next(e for e in _data()["target"] if e["organism"] == organism and species in e["species"])
    return Target(log10=entry["log10"], guideline=entry["guideline"])
