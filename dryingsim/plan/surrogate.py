"""A smooth stand-in for a model, through the schedules that were simulated; and the best point on it.

Radial basis functions (cubic, with a linear trend) go through all points. They cost nothing to evaluate, so the best
point is found by brute force: points that fill the box evenly, then ever smaller boxes around the best.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

_SCATTER, _ROUNDS, _SHRINK = 1024, 7, 0.5


def slow_imports() -> None:
    """Import what is slow to import, and used here and where a sample is drawn."""
    import scipy.interpolate
    import scipy.stats.qmc  # noqa: F401


def squared_distances(points: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Return the squared distance of each point from each of the others, shape (p, o).

    Parameters
    ----------
    points, others : ndarray, shape (p, dimensions) and (o, dimensions)
    """
    lengths = (points**2).sum(axis=1)[:, None] + (others**2).sum(axis=1)
    return np.maximum(lengths - 2.0 * points @ others.T, 0.0)


def evenly(dimensions: int, count: int, seed: int) -> np.ndarray:
    """Return points that fill the unit box evenly, shape (count, dimensions).

    Parameters
    ----------
    dimensions, count : int
    seed : int
        The same seed gives the same points.

    Examples
    --------
    >>> evenly(2, 3, seed=1).shape
    (3, 2)
    """
    from scipy.stats import qmc  # slow to import

    power = int(np.ceil(np.log2(max(count, 2))))
    return np.asarray(qmc.Sobol(dimensions, scramble=True, seed=seed).random_base2(power)[:count])


class Surrogate:
    """Numbers at any point, from those at some.

    Parameters
    ----------
    points : ndarray, shape (p, dimensions)
        In the unit box.
    numbers : mapping of ndarray, shape (p,)
        Points with nan in one of them count for none, but as points that cannot be had.
    """

    def __init__(self, points: np.ndarray, numbers: Mapping[str, np.ndarray]) -> None:
        from scipy.interpolate import RBFInterpolator  # slow to import

        _, first = np.unique(np.round(points, 9), axis=0, return_index=True)
        keep = np.sort(first)
        points, values = points[keep], np.stack([one[keep] for one in numbers.values()], axis=1)
        good = np.isfinite(values).all(axis=1)
        self.names = tuple(numbers)
        self.count = int(good.sum())
        self._valid = None
        if not good.all() and self.count:
            self._valid = RBFInterpolator(points, good.astype(float), kernel="linear", degree=0)
        centre, size = values[good].mean(axis=0), values[good].std(axis=0) + 1e-12
        few = self.count < points.shape[1] + 2
        kernel, degree = ("linear", 0) if few else ("cubic", 1)
        fitted = RBFInterpolator(points[good], (values[good] - centre) / size, kernel=kernel, degree=degree)
        self._at: Callable[[np.ndarray], np.ndarray] = lambda x: centre + size * fitted(x)

    def at(self, points: np.ndarray) -> dict[str, np.ndarray]:
        """Return the numbers at points, and under "possible" whether they can be had (1) or not (0)."""
        numbers = dict(zip(self.names, self._at(points).T, strict=True))
        numbers["possible"] = np.ones(len(points)) if self._valid is None else self._valid(points)
        return numbers


FINE, COARSE = 1e-3, 0.1  # steps in which what is missed is compared: of two in one step the cost decides


def tiers(missed: np.ndarray | float, step: float = FINE) -> np.ndarray:
    """Return what is missed, rounded up to a step; 0 where nothing is.

    Parameters
    ----------
    missed : float or ndarray
        In all, each need on its own scale [-].
    step : float
        Of the same scale [-].

    Examples
    --------
    >>> tiers(np.array([0.0, 1e-6, 0.02, 0.11]), COARSE).tolist()
    [0.0, 0.0, 0.1, 0.2]
    """
    short = np.asarray(missed)
    return np.where(short <= 1e-4, 0.0, np.ceil(short / step - 1e-9) * step)


def best_point(
    merit: Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]],
    low: np.ndarray,
    high: np.ndarray,
    seed: int,
    also: Sequence[np.ndarray] = (),
    step: float = FINE,
) -> np.ndarray:
    """Return the point of a box where what is missed is least, and of those the one of least cost.

    Parameters
    ----------
    merit : callable
        Of points: what is missed (0 where nothing is) and the cost, each shape (p,).
    low, high : ndarray, shape (dimensions,)
    seed : int
    also : sequence of ndarray
        Points to begin with.
    step : float
        See `tiers`.
    """
    scatter = evenly(low.size, _SCATTER, seed)
    centre, width = 0.5 * (low + high), high - low
    best: np.ndarray | None = None
    for _ in range(_ROUNDS):
        tried = np.clip(centre + width * (scatter - 0.5), low, high)
        tried = np.concatenate([tried, *([best[None]] if best is not None else [one[None] for one in also])])
        missed, cost = merit(tried)
        best = tried[np.lexsort((cost, tiers(missed, step)))[0]]
        centre, width = best, width * _SHRINK
    assert best is not None
    return best
