r"""Kill by heat along a history, for a laboratory or kitchen nothing has been measured of: a median and a lower bound.

.. math::

    \log_{10} D = c - b\,t + E\,(low + rise\,s(t)) + linear\,x + effects,\quad R = \int dt / D

D: time for a tenfold fall of the survivors [min]; t: temperature above 60 degC; x: how far the water activity is below raw meat's;
E = 1 - exp(-x/width); s: a smooth ramp that begins at the hinge. Dryness protects above the hinge and does nothing below. Numbers
and evidence: `batch/catalog/heat_resistance.toml`, written by `python -m validation.fits.heat --write`.

What is not known of a new study - its level, its slope, how far dryness protects there, and the parameters themselves - is drawn:
a few dozen even points for all that changes the shape of D(T, a_w), shared by all organisms, and many for the level, which only
scales. A resistant fraction of the cells survives any heat (`Ceiling`), and what is dried in hot air loses more than heat explains
(`Drying`). The lower bound is the 5 % quantile: in 19 of 20 new studies the reduction is larger.

Limits. D is held above 90 degC, the hottest published, and rises steeply below the coolest published, so that hardly
anything is credited there. Cells warmed slowly grow more resistant: an allowance stands on three published ratios, and models
that knew only the present temperature erred by 2 to 5 log in some slow heatings (Stasiewicz et al. 2008; Tenorio-Bernal et al. 2013).
"""

import tomllib
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from typing import Literal

import numpy as np

from dryingsim.batch.checks import check_choice
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.typing import Array

Matrix = Literal["surface", "ground", "whole"]
MATRICES: tuple[Matrix, ...] = ("surface", "ground", "whole")
COUNTABLE = 7.0  # log10: more was counted by hardly anybody

RAW_ACTIVITY = 0.99
_CENTRE_K = 60.0 + ZERO_CELSIUS
_RAMP_K2 = 4.0  # the ramp bends over about 2 K
_SHAPES, _PER_SHAPE = 64, 32  # even points; against 200,000 random ones the bound is 0 to 30 % low, most where hot and dry
_SHAPE_NAMES = ("slope", "low", "rise", "linear", "ln_width", "hinge")
_LEAST_SLOPE = 0.01  # 1/K: hotter is never milder, in no draw
_MINUTE = 60.0
_LN10 = float(np.log(10.0))


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
    """What heat alone never takes: log10 of the survivors' least share, as a normal over studies [log10]."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drying:
    """What dry hot air takes besides heat, as a normal over studies, never below zero [log10].

    It counts in full where the meat is as warm and was dried as far as in the studies, and fades in between `cool_K` and `warm_K`,
    over a fall of water activity of `fall`, and over the first `hours_s` of such a state.
    """

    mean: float
    sd: float
    cool_K: float
    warm_K: float
    fall: float
    hours_s: float


@dataclass(frozen=True, kw_only=True)
class HeatResistance:
    """The fitted model.

    Attributes
    ----------
    names : tuple of str
        The parameters: organisms' levels (log10 of minutes), slope [1/K], low, rise [1/K], linear, whole, fat, cure, ln_width, hinge [K].
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
        By treatment: "rapid" for seconds to minutes in liquid or steam, "long" for all else.
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

    @cached_property
    def shapes(self) -> "Shapes":
        """The even points of what changes the shape of D(T, a_w)."""
        where = [self.names.index(name) for name in _SHAPE_NAMES]
        cov = self.covariance[np.ix_(where, where)]
        between = np.zeros(len(where))
        between[0], between[1] = self.between["slope"], self.between["dryness"]
        points = _whitened(even_normals(_SHAPES, len(where)))
        own = points @ np.linalg.cholesky(cov + np.diag(between**2)).T
        return Shapes(self, self.mean[where] + own, own @ np.linalg.inv(cov + np.diag(between**2)))

    def samples(self, organism: str, matrix: Matrix) -> "Samples":
        """Return the draws of the level of one organism, in one matrix."""
        return _samples(self, organism, matrix)


@dataclass(frozen=True, eq=False)
class Shapes:
    """Draws of the parameters that change the shape: `values` (k, parameter), and `scaled`, their whitened shift."""

    model: HeatResistance
    values: Array
    scaled: Array

    def log10_rate(self, k: int, temperature_K: Array, near_fall: Array) -> Array:
        """Return log10 of the rate [1/min] of draw `k`, at level zero; `near_fall` is the fall of water activity."""
        slope, low, rise, linear, ln_width, hinge = self.values[k]
        m = self.model
        t = np.minimum(temperature_K, m.hottest_K) - _CENTRE_K
        near = -np.expm1(near_fall * -np.exp(-ln_width))
        above = t - hinge
        ramp = 0.5 * (above + np.sqrt(above * above + _RAMP_K2))
        cold = np.maximum(m.coolest_K - _CENTRE_K - t, 0.0)
        steep = max(slope, rise + _LEAST_SLOPE)
        return steep * t - near * (low + rise * ramp) - linear * near_fall - m.cold_slope * cold


@dataclass(frozen=True, eq=False)
class Samples:
    """Draws of a new study, (shape, draw): level of cells heated fast and slowly [log10 min], ceilings and drying term [log10]."""

    fast: Array
    slow: Array
    ceilings: dict[str, Array]
    drying: Array


def even_normals(count: int, dimensions: int) -> Array:
    """Return evenly spread normal numbers, (count, dimensions): a lattice of the roots of x^(d+1) = x + 1."""
    from scipy.special import ndtri

    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dimensions + 1.0))
    steps = root ** -np.arange(1.0, dimensions + 1.0)
    return np.asarray(ndtri((0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0))


def _whitened(points: Array) -> Array:
    """Return the points with mean zero and unit covariance."""
    centred = points - points.mean(axis=0)
    factor = np.linalg.cholesky(np.cov(centred.T, bias=True).reshape(points.shape[1], points.shape[1]))
    return np.asarray(np.linalg.solve(factor, centred.T).T)


@cache
def _standard(count: int) -> Array:
    return even_normals(count, 4)


def _samples(model: HeatResistance, organism: str, matrix: Matrix) -> Samples:
    named = [model.names.index(organism)] + ([model.names.index("whole")] if matrix == "whole" else [])
    where = [model.names.index(name) for name in _SHAPE_NAMES]
    to_shape = model.covariance[np.ix_(named, where)].sum(axis=0)
    own = float(model.covariance[np.ix_(named, named)].sum())
    shapes = model.shapes
    spread = np.cov(shapes.values.T, bias=True).reshape(len(where), -1)
    left = max(own - float(to_shape @ np.linalg.solve(spread, to_shape)), 0.0) + model.level_sd**2
    z = _standard(_SHAPES * _PER_SHAPE).reshape(_PER_SHAPE, _SHAPES, 4).swapaxes(0, 1)
    level = model.level(organism, matrix) + (shapes.scaled @ to_shape)[:, None] + np.sqrt(left) * z[..., 0]
    ceilings = {name: one.mean + one.sd * z[..., 1] for name, one in model.ceilings.items()}
    drying = np.maximum(model.drying.mean + model.drying.sd * z[..., 2], 0.0)
    return Samples(level, level + np.maximum(model.slow[0] + model.slow[1] * z[..., 3], 0.0), ceilings, drying)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """What a new study would count at the least-reduced place [log10], as even draws in rising order."""

    draws: Array

    def quantile(self, share: float) -> float:
        """Return the reduction that a share of new studies stays below."""
        place = share * self.draws.size - 0.5
        return float(np.interp(place, np.arange(self.draws.size), self.draws))

    @property
    def median(self) -> float:
        """The best estimate."""
        return self.quantile(0.5)

    @property
    def lower(self) -> float:
        """The lower 95 % predictive bound for a new study."""
        return self.quantile(0.05)

    def probability(self, target: float) -> float:
        """Return the probability that a new study reaches a target [log10]."""
        return float(1.0 - np.searchsorted(self.draws, target) / self.draws.size)


def log10_d(
    temperature_K: Array,
    water_activity: Array,
    organism: str,
    matrix: Matrix = "surface",
    model: HeatResistance | None = None,
) -> Array:
    """Return log10 of the median decimal reduction time, D in seconds.

    Parameters
    ----------
    temperature_K : float or ndarray
        Temperature [K].
    water_activity : float or ndarray
        Water activity [-].
    organism : str
        "salmonella", "e_coli" or "listeria".
    matrix : str
        "surface" and "ground": as measured in ground meat; "whole": inside intact muscle, where it is about double.
    model : HeatResistance, optional
        Other than the package's own.
    """
    m = model or heat_resistance()
    t = np.minimum(temperature_K, m.hottest_K) - _CENTRE_K
    near, ramp, fall = dryness_shapes(t, water_activity, float(np.exp(m["ln_width"])), m["hinge"])
    cold = np.maximum(m.coolest_K - _CENTRE_K - t, 0.0)
    dry = near * (m["low"] + m["rise"] * ramp) + m["linear"] * fall
    minutes = m.level(organism, matrix) - m["slope"] * t + dry + m.cold_slope * cold
    return minutes + np.log10(_MINUTE)


def accumulated(
    time_s: Array, temperature_K: Array, water_activity: Array, model: HeatResistance | None = None
) -> Array:
    """Return the log10 reductions by heat at level zero, of every draw of the shape; for all organisms at once.

    Between samples log10 of the rate is a straight line.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.
    model : HeatResistance, optional
        Other than the package's own.

    Returns
    -------
    ndarray, shape (draw, ...)
        Reductions [-] of an organism whose D at 60 degC in raw meat is one minute.
    """
    shapes = (model or heat_resistance()).shapes
    t = np.asarray(temperature_K, dtype=float)
    fall = np.maximum(RAW_ACTIVITY - np.asarray(water_activity, dtype=float), 0.0)
    minutes = np.diff(np.asarray(time_s, dtype=float)).reshape((-1,) + (1,) * (t.ndim - 1)) / _MINUTE
    return np.stack(
        [np.sum(minutes * mean_rate(shapes.log10_rate(k, t, fall)), axis=0) for k in range(_SHAPES)]
    )


def mean_rate(log10_rate: Array) -> Array:
    """Return the mean rate between samples along axis 0, log10 of the rate being a straight line there."""
    rate = np.exp(_LN10 * log10_rate)
    rise = _LN10 * np.diff(log10_rate, axis=0)
    flat = np.abs(rise) < 1e-4
    slanted = np.diff(rate, axis=0) / np.where(flat, 1.0, rise)
    return np.where(flat, 0.5 * (rate[:-1] + rate[1:]), slanted)


def drying_share(
    time_s: Array, temperature_K: Array, water_activity: Array, model: HeatResistance | None = None
) -> Array:
    """Return how far a history is one of those in which drying itself was seen to kill, 0 to 1.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.
    model : HeatResistance, optional
        Other than the package's own.
    """
    d = (model or heat_resistance()).drying
    a = np.asarray(water_activity, dtype=float)
    warm = np.clip((np.asarray(temperature_K) - d.cool_K) / (d.warm_K - d.cool_K), 0.0, 1.0)
    dried = warm * np.clip((np.minimum(a[0], RAW_ACTIVITY) - a) / d.fall, 0.0, 1.0)
    span = np.diff(np.asarray(time_s, dtype=float)).reshape((-1,) + (1,) * (a.ndim - 1))
    return np.asarray(np.minimum(np.sum(span * 0.5 * (dried[:-1] + dried[1:]), axis=0) / d.hours_s, 1.0))


def reduction(
    sums: Array,
    organism: str,
    matrix: Matrix = "surface",
    *,
    rapid: Array | None = None,
    drying: Array | float = 0.0,
    model: HeatResistance | None = None,
) -> Reduction:
    """Return what a new study would count at the least-reduced of some places.

    Parameters
    ----------
    sums : ndarray, shape (draw, ...)
        By heat, as `accumulated` returns it.
    organism, matrix : str
        As in `log10_d`.
    rapid : ndarray, shape (draw, ...), optional
        The same of what came before in hot liquid or steam, in seconds to minutes; its resistant fraction goes on.
    drying : float or ndarray, shape (...)
        Share of the drying term, as `drying_share` returns it [-]; zero leaves it out.
    model : HeatResistance, optional
        Other than the package's own.
    """
    m = model or heat_resistance()
    samples = m.samples(organism, matrix)
    fast, slow = 10.0**-samples.fast, 10.0**-samples.slow
    later = sums.reshape(sums.shape[0], -1)
    before = None if rapid is None else rapid.reshape(rapid.shape[0], -1)
    share = np.broadcast_to(drying, sums.shape[1:]).reshape(-1)
    least = np.full(slow.shape, np.inf)
    for place in _candidates(later, before, share):
        here = later[:, place, None] * slow + share[place] * samples.drying
        if before is not None:
            here = here + survived(before[:, place, None] * fast, samples.ceilings["rapid"])
        least = np.minimum(least, here)
    return Reduction(draws=np.sort(survived(least, samples.ceilings["long"]), axis=None))


def survived(by_heat: Array, ceiling: Array) -> Array:
    """Return the log10 reduction where a fraction of the cells survives any heat."""
    counted = -np.logaddexp(-_LN10 * by_heat, -_LN10 * ceiling) / _LN10
    return np.asarray(np.maximum(counted, 0.0))


def _candidates(later: Array, before: Array | None, share: Array) -> Array:
    """Return the places that may be the least reduced: by heat alone, those with the least of it in some draw."""
    if before is None and not share.any():
        return np.unique(later.argmin(axis=1))
    return np.arange(later.shape[1])


def lower_bound(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    organism: str,
    matrix: Matrix = "surface",
    model: HeatResistance | None = None,
) -> Reduction:
    """Return the reduction by heat alone along a history, at the least-reduced place; `lower` is its bound.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] at the places where bacteria may sit.
    organism, matrix : str
        As in `reduction`.
    model : HeatResistance, optional
        Other than the package's own.
    """
    return reduction(
        accumulated(time_s, temperature_K, water_activity, model), organism, matrix, model=model
    )


def from_table(data: dict) -> HeatResistance:  # type: ignore[type-arg]
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
        drying=Drying(
            **{name: float(data["drying"][name]) for name in ("mean", "sd", "cool_K", "warm_K", "fall", "hours_s")}
        ),
        depth_m=float(data["rapid"]["depth_m"]),
    )


@cache
def heat_resistance() -> HeatResistance:
    """Return the package's own model."""
    text = resources.files("dryingsim.batch.catalog").joinpath("heat_resistance.toml")
    return from_table(tomllib.loads(text.read_text(encoding="utf-8")))
