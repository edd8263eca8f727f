"""Reader of `organisms.toml`: heat resistance of bacteria as SI floats, with the source of each number."""

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal, get_args

from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Species
from dryingsim.evidence import Constant, Evidence

EstimateSet = Literal["central", "cautious"]
SETS: tuple[EstimateSet, ...] = ("central", "cautious")
SPECIES: tuple[Species, ...] = get_args(Species)


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistance:
    """Parameters of log10 D(T, a_w) of one organism in one set; the formula heads the TOML file."""

    log10_D_ref: float  # log10 of seconds, wet meat at T_ref, with the allowance for slow heating
    T_ref_K: float
    z_K: float
    floor_K: float  # no kill is credited below
    held_above_K: float  # D stays as it is at this temperature
    reference_aw: float
    plateau: float
    width: float
    aw_step: float
    z_dry_K: float
    pivot_K: float  # above it z_dry_K counts in dry matter


@dataclass(frozen=True, slots=True, kw_only=True)
class Desiccation:
    """Kill by drying itself, part of the central estimate only; the formula heads the TOML file."""

    largest: float  # log10, of a fall to bone dry
    fall_width: float  # of water activity
    cool_K: float  # in meat no warmer than this nothing counts
    warm_K: float  # from here upward a fall counts in full; between, in proportion


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The reduction a named guideline asks for."""

    log10: float
    guideline: str


@cache
def _data() -> dict[str, Any]:
    text = resources.files("dryingsim.batch.catalog").joinpath("organisms.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def organisms() -> dict[str, str]:
    """Return the key and the printed name of each organism."""
    return {key: entry["name"] for key, entry in _data()["organism"].items()}


def reference_water_activity() -> float:
    """Return the water activity of raw meat, in which D of 'high moisture' was measured [-]."""
    return _data()["reference"]["a_ref"]["value"]


def hottest_measured_K(organism: str) -> float:
    """Return the highest temperature at which D was measured in wet meat [K]."""
    return _data()["organism"][organism]["hottest_measured"]["value"]


@cache
def resistance(organism: str, estimate: str) -> Resistance:
    """Return the parameters of "salmonella", "e_coli" or "listeria" in the set "central" or "cautious".

    Parameters
    ----------
    organism : str
        "salmonella", "e_coli" or "listeria".
    estimate : str
        "central" or "cautious".
    """
    check_choice("organism", organism, organisms())
    check_choice("estimate", estimate, SETS)
    own = _values(_data()["organism"][organism][estimate])
    dryness = _values(_data()["set"][estimate])
    reference = _values(_data()["reference"])
    return Resistance(
        log10_D_ref=math.log10(own["D_ref"]) + dryness["slow_heating"],
        T_ref_K=reference["T_ref"],
        z_K=own["z_T"],
        floor_K=own["floor"],
        held_above_K=dryness["held_above"],
        reference_aw=reference["a_ref"],
        plateau=dryness["plateau"],
        width=dryness["width"],
        aw_step=dryness["aw_step"],
        z_dry_K=dryness["z_dry"],
        pivot_K=dryness["pivot"],
    )


@cache
def desiccation() -> Desiccation:
    """Return the term fitted on published challenge studies."""
    own = _values(_data()["desiccation"])
    return Desiccation(
        largest=own["largest"], fall_width=own["fall_width"], cool_K=own["cool"], warm_K=own["warm"]
    )


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


def points(name: Literal["wet_points", "dry_points"]) -> list[dict[str, Any]]:
    """Return the published points behind the parameters, one dictionary per point."""
    table = _data()[name]
    return [dict(zip(table["columns"], row, strict=True)) for row in table["rows"]]


def numbers() -> list[Constant]:
    """Return every number with its evidence; its name is its place in the file, such as "set.central.width"."""
    found: list[Constant] = []

    def walk(place: str, entry: Any) -> None:
        if not isinstance(entry, dict):
            return
        if "value" in entry:
            low, high = entry["range"]
            unit = "-" if entry["unit"] == "1" else entry["unit"]
            evidence = Evidence(unit, entry["kind"], entry["source"], (low, high))
            found.append(Constant(place, entry["value"], evidence))
            return
        for key, inner in entry.items():
            walk(f"{place}.{key}" if place else key, inner)

    walk("", _data())
    return found


def _values(table: dict[str, Any]) -> dict[str, float]:
    return {key: entry["value"] for key, entry in table.items()}
