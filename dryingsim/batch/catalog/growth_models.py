"""Reader of `growth_models.toml`: how fast bacteria grow over temperature, water activity and pH, with the sources."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

from dryingsim.batch.checks import check_choice

Law = Literal["cardinal", "square", "linear", "root"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One factor of a growth rate; the laws head the TOML file. Temperatures are in degC there, water activities in [-].

    Attributes
    ----------
    law : Law
        Which of them.
    min : float
        Least value at which there is growth; of a line, where it begins.
    opt : float
        Value of fastest growth.
    max : float
        Most at which there is growth.
    b : float
        Of the law "square".
    c : float
        Of the law "square".
    p : float
        Of the law "root".
    q : float
        Of the law "root".
    """

    law: Law
    min: float
    opt: float = 0.0
    max: float = 0.0
    b: float = 0.0
    c: float = 0.0
    p: float = 0.0
    q: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CardinalPH:
    """The pH below which, at which best and above which an organism does not grow.

    Attributes
    ----------
    min : float
        Below it there is no growth.
    opt : float
        Of fastest growth.
    max : float
        Above it there is no growth.
    """

    min: float
    opt: float
    max: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthModel:
    """How fast one organism grows.

    Attributes
    ----------
    key, name : str
    mu_opt : float
        Specific growth rate where it is highest [1/h]; with a "square" law the factor that makes its rate one.
    h0 : float
        Work of the lag, natural logarithm [-].
    temperature, water_activity : Factor
    ph : CardinalPH or None
    in_raw_meat : bool
        Measured in raw meat: the factor of water activity is relative to that of raw meat.
    airless_m : float or None
        Grows only deeper in the meat than this [m].
    limit_log10 : float or None
        Largest growth a guideline allows [log10], and which.
    limit_source, source, status : str
    h0_status : str
    """

    key: str
    name: str
    mu_opt: float
    h0: float
    temperature: Factor
    water_activity: Factor
    ph: CardinalPH | None
    in_raw_meat: bool
    airless_m: float | None
    limit_log10: float | None
    limit_source: str
    source: str
    status: str
    h0_status: str


@cache
def _data() -> dict[str, Any]:
    path = resources.files("dryingsim.batch.catalog").joinpath("growth_models.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def growers() -> dict[str, str]:
    """Return the key and the printed name of each organism."""
    return {key: entry["name"] for key, entry in _data()["organism"].items()}


def raw_water_activity() -> float:
    """Return the water activity of the raw meat in which growth was measured [-]."""
    return float(_data()["raw"]["water_activity"])


@cache
def growth_model(organism: str) -> GrowthModel:
    """Return the model of an organism of `growers`."""
    check_choice("organism", organism, growers())
    entry = _data()["organism"][organism]
    return GrowthModel(
        key=organism,
        name=entry["name"],
        mu_opt=entry["mu_opt"],
        h0=entry["h0"],
        temperature=Factor(**entry["temperature"]),
        water_activity=Factor(**entry["water_activity"]),
        ph=CardinalPH(**entry["ph"]) if "ph" in entry else None,
        in_raw_meat=entry.get("raw", False),
        airless_m=entry.get("airless_m"),
        limit_log10=entry.get("limit_log10"),
        limit_source=entry.get("limit_source", ""),
        source="; ".join(filter(None, (entry["source"], entry.get("mu_opt_status")))),
        status=entry["status"],
        h0_status=entry["h0_status"],
    )
