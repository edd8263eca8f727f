"""Reader of `packages.toml`: what dried meat is kept in, as SI floats with their ranges and sources."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from dryingsim.batch.checks import check_choice

DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Span:
    """A number known to lie between two others; the middle is their geometric mean (or half, from zero up).

    Attributes
    ----------
    low : float
        End of the range.
    high : float
        End of the range.
    """

    low: float
    high: float

    @property
    def middle(self) -> float:
        """What to expect."""
        return float((self.low * self.high) ** 0.5) if self.low > 0.0 else 0.5 * self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """A kind of package.

    Attributes
    ----------
    name, title : str
    permeance_38C : Span
        Of the wall, permeability over thickness, at 38 degC [kg/(m2 s Pa)].
    activation_energy_J_mol : float
    leak : Span
        Past the closure, at any temperature [kg/(s Pa)].
    size_m : tuple of float or None
        Suggested width and height laid flat [m]; None where no size matters.
    air_m3 : float
    airless : bool
        Air is sucked out.
    oxygen_tight : bool
        It holds oxygen back for months.
    source : str
    """

    name: str
    title: str
    permeance_38C: Span
    activation_energy_J_mol: float
    leak: Span
    size_m: tuple[float, float] | None
    air_m3: float
    airless: bool
    oxygen_tight: bool
    source: str

    def conductances(self, area_m2: float, temperature_K: float) -> tuple[float, float, float]:
        """Return what wall and closure let through at least, in the middle and at most [kg/(s Pa)].

        Parameters
        ----------
        area_m2 : float
            Of the wall [m2].
        temperature_K : float
            [K].
        """
        from dryingsim.properties.packaging import permeability

        warm = float(permeability(1.0, self.activation_energy_J_mol, temperature_K))
        wall, leak = self.permeance_38C, self.leak
        pairs = ((wall.low, leak.low), (wall.middle, leak.middle), (wall.high, leak.high))
        low, middle, high = (area_m2 * through * warm + past for through, past in pairs)
        return low, middle, high


@cache
def _data() -> dict[str, Any]:
    text = resources.files("dryingsim.batch.catalog").joinpath("packages.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def films() -> dict[str, Span]:
    """Return the permeability at 38 degC of every film [kg/(m s Pa)]."""
    return {name: Span(*film["permeability"]) for name, film in _data()["film"].items()}


def packages() -> dict[str, Package]:
    """Return every known package by its name, in the order of the file."""
    return {name: _package(name, entry) for name, entry in _data()["package"].items()}


def find_package(where: str, name: str) -> Package:
    """Return the package called `name`, or so by other people; capitals, hyphens and extra blanks aside.

    Parameters
    ----------
    where : str
        Its place, for messages.
    name : str
        What was typed.
    """
    known, plain = packages(), " ".join(name.lower().replace("-", " ").split())
    called = {also: one for one, entry in _data()["package"].items() for also in entry["also"]}
    return known[check_choice(where, called.get(plain, plain), known)]


def source() -> str:
    """Return where the films' numbers come from."""
    return _data()["film_source"]


def _package(name: str, entry: dict[str, Any]) -> Package:
    film = _data()["film"][entry["film"]] if "film" in entry else None
    wall = Span(0.0, 0.0)
    if "thickness" in entry and film is not None:
        thin, thick = entry["thickness"]
        wall = Span(film["permeability"][0] / thick, film["permeability"][1] / thin)
    elif "transmission" in entry:
        wall = Span(*(_permeance(rate) for rate in entry["transmission"]))
    return Package(
        name=name,
        title=entry["title"],
        permeance_38C=wall,
        activation_energy_J_mol=film["activation_energy"] if film else 0.0,
        leak=Span(*entry["leak"]),
        size_m=tuple(entry["size"]) if "size" in entry else None,
        air_m3=entry["air"],
        airless=entry["airless"],
        oxygen_tight=entry["oxygen_tight"],
        source=entry["source"],
    )


def _permeance(rate_per_day: float) -> float:
    """Permeance behind a transmission rate printed for 38 degC and 90 % RH [kg/(m2 day)]."""
    from dryingsim.properties.packaging import TABLE_TEMPERATURE, transmission_rate

    return rate_per_day / DAY_S / float(transmission_rate(1.0, TABLE_TEMPERATURE, 0.9))
