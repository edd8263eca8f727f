"""Even draws of what is not known of a new study: the same ones for every history, so that figures move without noise."""

from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from statistics import NormalDist
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.judge.heat_model import CENTRE_K, HeatResistance, Matrix, dryness_shapes
from dryingsim.typing import Array

# Even points; against 200,000 random ones the bound is 0 to 30 % low, most where hot and dry.
SHAPES, _PER_SHAPE = 64, 32
_SHAPE_NAMES = ("slope", "low", "rise", "linear", "ln_width", "hinge")
_LEAST_SLOPE: Annotated[float, Evidence("1/K", "numerical", "hotter is never milder, in no draw")] = 0.01


@dataclass(frozen=True, eq=False)
class Shapes:
    """Draws of the parameters that change the shape: `values` (k, parameter), and `scaled`, their whitened shift.

    Attributes
    ----------
    model : HeatResistance
        The fit they are drawn from.
    """

    model: HeatResistance
    values: Array
    scaled: Array

    @cached_property
    def columns(self) -> tuple[Array, ...]:
        """The parameters in single precision, each of shape (k, 1), the slope as `log10_rate` takes it."""
        values = self.values.copy()
        values[:, 0] = np.maximum(values[:, 0], values[:, 2] + _LEAST_SLOPE)
        return tuple(column[:, None] for column in values.T.astype(np.float32))

    def log10_rate(self, draws: slice, temperature_K: Array, water_activity: Array) -> Array:
        """Return log10 of the rate [1/min] of some draws, on an axis of their own behind the others, at level zero."""
        slope, low, rise, linear, ln_width, hinge = self.values[draws].T
        m = self.model
        t = np.minimum(temperature_K, m.hottest_K)[..., None] - CENTRE_K
        near, ramp, fall = dryness_shapes(t, water_activity[..., None], np.exp(ln_width), hinge)
        cold = np.maximum(m.coolest_K - CENTRE_K - t, 0.0)
        steep = np.maximum(slope, rise + _LEAST_SLOPE)
        return steep * t - near * (low + rise * ramp) - linear * fall - m.cold_slope * cold


@dataclass(frozen=True, eq=False)
class Samples:
    """Draws of a new study, (shape, draw).

    Levels of cells heated fast and slowly [log10 min], ceilings and drying term [log10].

    Attributes
    ----------
    slow : Array
        Of the levels of cells heated slowly.
    """

    fast: Array
    slow: Array
    ceilings: dict[str, Array]
    drying: Array

    def ceiling_before(self, lasting: Array) -> Array:
        """Return the most that heat before drying takes, (..., shape, draw) [log10].

        Parameters
        ----------
        lasting : ndarray, shape (...)
            How far it counts as any other, 0 to 1 (`Lasting.share`).
        """
        rapid = self.ceilings["rapid"]
        return np.asarray(rapid + lasting[..., None, None] * (self.ceilings["long"] - rapid))


def even_normals(count: int, dimensions: int) -> Array:
    """Return evenly spread normal numbers, (count, dimensions): a lattice of the roots of x^(d+1) = x + 1.

    Parameters
    ----------
    count, dimensions : int
        How many points, in how many dimensions.
    """
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dimensions + 1.0))
    steps = root ** -np.arange(1.0, dimensions + 1.0)
    even = (0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0
    inverse = NormalDist().inv_cdf  # of the standard library: scipy's takes long to import
    return np.array([[inverse(share) for share in row] for row in even.tolist()])


def _whitened(points: Array) -> Array:
    """Return the points with mean zero and unit covariance."""
    centred = points - points.mean(axis=0)
    factor = np.linalg.cholesky(np.cov(centred.T, bias=True).reshape(points.shape[1], points.shape[1]))
    return np.asarray(np.linalg.solve(factor, centred.T).T)


@lru_cache(maxsize=16)
def shapes_of(model: HeatResistance) -> Shapes:
    """Return the even points of what changes the shape of D(T, a_w), shared by all organisms."""
    where = [model.names.index(name) for name in _SHAPE_NAMES]
    between = np.zeros(len(where))
    between[0], between[1] = model.between["slope"], model.between["dryness"]
    cov = model.covariance[np.ix_(where, where)] + np.diag(between**2)
    own = _whitened(even_normals(SHAPES, len(where))) @ np.linalg.cholesky(cov).T
    return Shapes(model, model.mean[where] + own, own @ np.linalg.inv(cov))


@cache
def _standard(count: int) -> Array:
    return even_normals(count, 4)


@lru_cache(maxsize=64)
def samples_of(model: HeatResistance, organism: str, matrix: Matrix) -> Samples:
    """Return the draws of the level of one organism, in one matrix, and of what goes with it.

    Parameters
    ----------
    model : HeatResistance
    organism : str
    matrix : str
        "surface", "whole" or "ground".
    """
    named = [model.names.index(organism)] + ([model.names.index("whole")] if matrix == "whole" else [])
    where = [model.names.index(name) for name in _SHAPE_NAMES]
    to_shape = model.covariance[np.ix_(named, where)].sum(axis=0)
    own = float(model.covariance[np.ix_(named, named)].sum())
    shapes = shapes_of(model)
    spread = np.cov(shapes.values.T, bias=True).reshape(len(where), -1)
    left = max(own - float(to_shape @ np.linalg.solve(spread, to_shape)), 0.0) + model.level_sd**2
    z = _standard(SHAPES * _PER_SHAPE).reshape(_PER_SHAPE, SHAPES, 4).swapaxes(0, 1)
    level = model.level(organism, matrix) + (shapes.scaled @ to_shape)[:, None] + np.sqrt(left) * z[..., 0]
    ceilings = {name: one.mean + one.sd * z[..., 1] for name, one in model.ceilings.items()}
    drying = np.maximum(model.drying.mean + model.drying.sd * z[..., 2], 0.0)
    slow = np.maximum(model.slow[0] + model.slow[1] * z[..., 3], 0.0)
    return Samples(level, level + slow, ceilings, drying)
