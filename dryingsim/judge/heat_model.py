"""What published D values say of the heat resistance of bacteria in meat, as `batch/catalog/heat_resistance.toml` holds it."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Annotated, Any, Literal

import numpy as np

from dryingsim.batch.checks import check_choice
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Constant, Evidence, Kind
from dryingsim.typing import Array

Matrix = Literal["surface", "ground", "whole"]
MATRICES: tuple[Matrix, ...] = ("surface", "ground", "whole")
RAW_ACTIVITY: Annotated[float, Evidence("-", "published", "water activity of raw meat, measured 0.99")] = 0.99
CENTRE_K: Annotated[float, Evidence("K", "numerical", "where the model's level is stated, 60 degC")] = (
    60.0 + ZERO_CELSIUS
)
_RAMP_K2: Annotated[float, Evidence("K2", "numerical", "the ramp bends over about 2 K")] = 4.0


def dryness_shapes(t: Array, water_activity: Array, width: Array, hinge: Array) -> tuple[Array, Array, Array]:
    """Return E, s and x: how dryness acts near raw meat, the ramp over temperature, the fall of water activity.

    Parameters
    ----------
    t : float or ndarray
        Temperature above 60 degC [K].
    water_activity : float or ndarray
        Water activity [-].
    width : float
        Of the fall over which E rises [-].
    hinge : float
        Temperature above 60 degC where the ramp begins [K].
    """
    fall = np.maximum(RAW_ACTIVITY - np.asarray(water_activity, dtype=float), 0.0)
    above = t - hinge
    return -np.expm1(-fall / width), 0.5 * (above + np.sqrt(above * above + _RAMP_K2)), fall


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """What heat alone never takes: log10 of the survivors' least share, as a normal over studies [log10].

    Attributes
    ----------
    mean : float
        Over studies [log10].
    sd : float
        Standard deviation over studies [log10].
    """

    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lasting:
    """From when on heat in liquid or steam before drying is no longer quick heat, some of which bacteria survive.

    Counts after quick heating end at half a minute of a hot surface. What is heated on for as long as slices are told to be
    boiled is heated as anything else; in between, it is by the logarithm of the time.

    Attributes
    ----------
    hot_K, z_K : float
        What counts as hot, where bacteria sit; and how much cooler it is where ten times as long counts as much [K].
    quick_s, long_s : float
        A place that was hot for so long was heated quickly; one that was hot for so long was not [s].
    """

    hot_K: float
    z_K: float
    quick_s: float
    long_s: float

    def counts(self, above_K: Array) -> Array:
        """Return how much a moment counts as hot, 0 to 1.

        Parameters
        ----------
        above_K : ndarray
            How far it is above `hot_K` [K].
        """
        return np.asarray(np.exp(np.minimum(above_K, 0.0) * float(np.log(10.0) / self.z_K)))

    def share(self, hot_s: Array) -> Array:
        """Return how far heat counts as any other, 0 to 1.

        Parameters
        ----------
        hot_s : ndarray
            For how long a place was hot [s].

        Examples
        --------
        >>> Lasting(hot_K=344.26, z_K=10.0, quick_s=60.0, long_s=300.0).share(np.array([30.0, 60.0, 134.2, 600.0])).round(2)
        array([0. , 0. , 0.5, 1. ])
        """
        beyond = np.log(np.maximum(hot_s, self.quick_s) / self.quick_s)
        return np.asarray(np.minimum(beyond / np.log(self.long_s / self.quick_s), 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Drying:
    """What dry hot air takes besides heat, as a normal over studies, never below zero [log10].

    It counts in full where the meat is as warm and was dried as far as in the studies, and fades in between `cool_K`
    and `warm_K`,
    over a fall of water activity of `fall`, and over the first `hours_s` of such a state; never more than the best moment
    of the history does, so that days just above `cool_K` do not add up to what they are not.

    Attributes
    ----------
    mean : float
        Over studies [log10].
    sd : float
        Standard deviation over studies [log10].
    """

    mean: float
    sd: float
    cool_K: float
    warm_K: float
    fall: float
    hours_s: float

    def counts(self, temperature_K: Array, fall: Array) -> Array:
        """Return how far a moment is one of those in which drying itself was seen to reduce bacteria, 0 to 1.

        Parameters
        ----------
        temperature_K, fall : ndarray
            Temperature [K], and how far the water activity is below its start, or below raw meat's.
        """
        warm = np.clip((temperature_K - self.cool_K) / (self.warm_K - self.cool_K), 0.0, 1.0)
        return np.asarray(warm * np.clip(fall / self.fall, 0.0, 1.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class HeatResistance:
    """The fitted model.

    Attributes
    ----------
    names : tuple of str
        The parameters: organisms' levels (log10 of minutes), slope [1/K], low, rise [1/K], linear, whole, fat, cure,
        ln_width, hinge [K].
    mean, covariance : ndarray
        Of these, jointly normal.
    between : dict
        Standard deviations of log10 D from laboratory to laboratory, study to study, matrix to matrix, of the slope [1/K], and of
        what dryness does.
    slow : tuple of float
        By how much log10 D rises in cells warmed slowly, as in any dryer: mean and standard deviation over studies.
    coolest_K, cold_slope : float
        Below this temperature [K] log10 D rises by so much more per kelvin: nothing was measured there.
    hottest_K : float
        D is held above [K].
    ceilings : dict
        By treatment: "rapid" for seconds in liquid or steam, "long" for all else.
    lasting : Lasting
        From when on heat in liquid or steam is all else.
    drying : Drying
    depth_m : float
        How deep in the surface bacteria sit where heating takes seconds [m].
    """

    names: tuple[str, ...]
    mean: Array
    covariance: Array
    between: dict[str, float]
    slow: tuple[float, float]
    coolest_K: float
    cold_slope: float
    hottest_K: float
    ceilings: dict[str, Ceiling]
    lasting: Lasting
    drying: Drying
    depth_m: float

    def __getitem__(self, name: str) -> float:
        return float(self.mean[self.names.index(name)])

    def level(self, organism: str, matrix: Matrix) -> float:
        """Return log10 of the median D at 60 degC in raw meat, in minutes."""
        check_choice("organism", organism, self.organisms)
        check_choice("matrix", matrix, MATRICES)
        return self[organism] + (self["whole"] if matrix == "whole" else 0.0)

    @property
    def organisms(self) -> tuple[str, ...]:
        """The organisms known."""
        return self.names[: self.names.index("slope")]

    @property
    def level_sd(self) -> float:
        """Standard deviation of the level of a new study, its parameters known [log10]."""
        return float(np.sqrt(sum(self.between[name] ** 2 for name in ("laboratory", "study", "matrix"))))


def from_table(data: dict[str, Any]) -> HeatResistance:
    """Return the model of a read data file."""
    r, limits = data["resistance"], data["limits"]
    return HeatResistance(
        names=tuple(r["parameters"]),
        mean=np.array(r["mean"], dtype=float),
        covariance=np.array(r["covariance"], dtype=float),
        slow=(float(data["slow"]["mean"]), float(data["slow"]["sd"])),
        between={k: float(v) for k, v in data["between"].items() if not isinstance(v, str)},
        coolest_K=float(limits["coolest_K"]),
        cold_slope=float(limits["cold_slope"]),
        hottest_K=float(limits["hottest_K"]),
        ceilings={
            name: Ceiling(mean=float(one["mean"]), sd=float(one["sd"]))
            for name, one in data["ceiling"].items()
        },
        lasting=Lasting(
            **{name: float(data["lasting"][name]) for name in ("hot_K", "z_K", "quick_s", "long_s")}
        ),
        drying=Drying(
            **{
                name: float(data["drying"][name])
                for name in ("mean", "sd", "cool_K", "warm_K", "fall", "hours_s")
            }
        ),
        depth_m=float(data["rapid"]["depth_m"]),
    )


@cache
def _data() -> dict[str, Any]:
    text = resources.files("dryingsim.batch.catalog").joinpath("heat_resistance.toml")
    return tomllib.loads(text.read_text(encoding="utf-8"))


@cache
def heat_resistance() -> HeatResistance:
    """Return the package's own model."""
    return from_table(_data())


_UNITS = {
    "slope": "1/K",
    "rise": "1/K",
    "hinge": "K",
    "fall": "-",
    "hours_s": "s",
    "quick_s": "s",
    "long_s": "s",
    "depth_m": "m",
    "ln_width": "-",
    "cold_slope": "1/K",
}
_TABLES = ("between", "slow", "limits", "ceiling", "lasting", "drying", "rapid")


def numbers() -> list[Constant]:
    """Return every number with its evidence; its name is its place in the file, such as "between.laboratory"."""
    fit = _data()["resistance"]
    half = 1.96 * np.sqrt(np.diag(np.array(fit["covariance"])))
    found = [
        Constant(
            f"resistance.{name}",
            mean,
            Evidence(_UNITS.get(name, "log10"), "fitted", fit["source"], (mean - spread, mean + spread)),
        )
        for name, mean, spread in zip(fit["parameters"], fit["mean"], half.tolist(), strict=True)
    ]

    def add(place: str, entry: dict[str, Any]) -> None:
        for name, value in entry.items():
            if isinstance(value, dict):
                add(f"{place}.{name}", value)
            elif not isinstance(value, str):
                unit = "K" if name.endswith("_K") else _UNITS.get(name, "log10")
                kind: Kind = "fitted" if place in ("between", "slow", "drying", "rapid") else "estimate"
                found.append(Constant(f"{place}.{name}", float(value), Evidence(unit, kind, entry["source"])))

    for place in _TABLES:
        add(place, _data()[place])
    return found
