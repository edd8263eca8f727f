"""Reader of `growth_limits.toml`: limits of growth and of texture, and keeping advice, each with its source."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

Place = Literal["room", "fridge", "freezer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Organism:
    """Who may grow, and from where on.

    Attributes
    ----------
    key, name : str
    group : str
        "pathogen" or "mould".
    water_activity : float
        Lowest published for growth [-].
    published : tuple of float
        All published values [-].
    coldest_K : float
        Lowest published temperature of growth [K].
    source, note : str
    """

    key: str
    name: str
    group: str
    water_activity: float
    published: tuple[float, ...]
    coldest_K: float
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class Texture:
    """Water activities, once evened out, between which dried lean meat bends: [-]; the ranges of each.

    Attributes
    ----------
    pliable : float
        Below it meat bends without being moist.
    pliable_range : tuple[float, float]
        Of that limit.
    brittle : float
        Below it meat breaks.
    brittle_range : tuple[float, float]
        Of that limit.
    pliable_source : str
        Of it.
    brittle_source : str
        Of it.
    """

    pliable: float
    pliable_range: tuple[float, float]
    brittle: float
    brittle_range: tuple[float, float]
    pliable_source: str
    brittle_source: str


@dataclass(frozen=True, slots=True)
class VisibleMould:
    """Days to visible mould over water activity, and the temperatures its rate follows.

    Attributes
    ----------
    water_activity : tuple[float, ...]
        At which days are known [-].
    soonest_days : tuple[float, ...]
        At each of these.
    latest_days : tuple[float, ...]
        At each of these.
    dry_end : float
        Water activity below which none was seen [-].
    at_K : float
        The temperature of these days [K].
    lowest_K : float
        Below it mould does not grow [K].
    best_K : float
        At which it grows fastest [K].
    highest_K : float
        Above it it does not grow [K].
    """

    water_activity: tuple[float, ...]
    soonest_days: tuple[float, ...]
    latest_days: tuple[float, ...]
    dry_end: float
    at_K: float
    lowest_K: float
    best_K: float
    highest_K: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What published advice says.

    Attributes
    ----------
    days : float
        For which it says that meat keeps.
    text : str
        In its words.
    source : str
        Of it.
    status : str
        Read or not, and what others say.
    """

    days: float
    text: str
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class FatNote:
    """What is known of the oxidation of fat.

    Attributes
    ----------
    lowest_water_activity : tuple[float, float]
        Between which fat oxidises least [-].
    much : float
        Share of the dried weight from which it is spoken of as fat meat.
    source : str
        Of it.
    """

    lowest_water_activity: tuple[float, float]
    much: float
    source: str


@cache
def _data() -> dict[str, Any]:
    path = resources.files("dryingsim.batch.catalog").joinpath("growth_limits.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


@cache
def organisms() -> tuple[Organism, ...]:
    """Return who may grow, in the order of the file."""
    return tuple(_organism(key, entry) for key, entry in _data()["organism"].items())


def _organism(key: str, entry: dict[str, Any]) -> Organism:
    known = _data()["sources"] | _data()["sources_of_cold"]
    values = [value for value, _ in entry["limits"]]
    lowest = min(values)
    named = [known[name] for value, name in entry["limits"] if value == lowest]
    coldest, cold_source = entry["coldest"]
    return Organism(
        key=key,
        name=entry["name"],
        group=entry["group"],
        water_activity=lowest,
        published=tuple(values),
        coldest_K=coldest,
        source=f"{named[0]}; temperature: {known[cold_source]}",
        note=entry["note"],
    )


def visible_mould() -> VisibleMould:
    """Return when mould can be seen."""
    entry = _data()["visible_mould"]
    activity, soonest, latest = zip(*entry["points"], strict=True)
    names = ("dry_end", "at_K", "lowest_K", "best_K", "highest_K")
    return VisibleMould(activity, soonest, latest, *(entry[name] for name in names))


def texture() -> Texture:
    """Return between which water activities dried meat bends."""
    entry = _data()["texture"]
    (pliable, *pliable_range), (brittle, *brittle_range) = entry["pliable"], entry["brittle"]
    return Texture(
        pliable,
        (pliable_range[0], pliable_range[1]),
        brittle,
        (brittle_range[0], brittle_range[1]),
        entry["pliable_source"],
        entry["brittle_source"],
    )


def advice(place: Place, package: str) -> Advice:
    """Return the shortest published figure for a place and a kind of package.

    Parameters
    ----------
    place : str
        "room", "fridge" or "freezer".
    package : str
        A key of `packages.packages`.
    """
    fitting = [
        one
        for one in _data()["advice"]
        if one["place"] == place and ("all" in one["packages"] or package in one["packages"])
    ]
    shortest = min(fitting, key=lambda one: one["days"])
    return Advice(float(shortest["days"]), shortest["text"], shortest["source"], shortest["status"])


def shelf_stable() -> tuple[float, float, str]:
    """Return the water activities below which products count as shelf-stable with and without air, and the source."""
    entry = _data()["shelf_stable"]
    return entry["with_air"], entry["airless"], entry["source"]


def lowest_growth() -> float:
    """Return the lowest water activity at which any pathogen grows [-]."""
    return min(one.water_activity for one in organisms() if one.group == "pathogen")


def fat_note() -> FatNote:
    """Return what is known of the oxidation of fat."""
    entry = _data()["fat"]
    return FatNote((entry["lowest"][0], entry["lowest"][1]), entry["much"], entry["source"])
