"""What is looked at of a state of many slices (means, faces and core, the places where bacteria sit), and of series of them."""

import numpy as np

from dryingsim.judge.exposed import as_if_open
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.kernels.grid import middle_weights, node_shares, weights_at
from dryingsim.model.slab import Slabs


class View:
    """What is looked at of a state (rows, m)."""

    def __init__(self, slabs: Slabs, places: int) -> None:
        self._n, self._places = slabs.nodes.size, places
        self._share = node_shares(slabs.nodes)[:, None]
        weights = middle_weights(slabs.nodes)
        middle = np.argsort(-np.abs(weights).round(9), kind="stable")  # the node next to it first
        middle = middle[: np.count_nonzero(weights)]
        self._weights = weights[middle][:, None]
        self._rows = np.array([0, self._n - 1, *middle])

    def mean(self, y: np.ndarray) -> np.ndarray:
        """Mean moisture (or whatever stands in its rows)."""
        return (self._share * y[: self._n]).sum(axis=0)

    def few(self, y: np.ndarray) -> np.ndarray:
        """Moisture and enthalpy of the faces and the nodes around the middle, shape (2, 2 + nodes there, m)."""
        return np.stack([y[self._rows], y[self._n + self._rows]])

    def heat(self, few: np.ndarray, slabs: Slabs) -> np.ndarray:
        """Temperature of the core and of the colder face [K], shape (2, m)."""
        t = slabs.temperature(few[0], few[1])
        core = slabs.core((self._weights * t[2:]).sum(axis=0), t[0])
        return np.stack([core, np.minimum(t[0], t[1])])

    def states(self, y: np.ndarray, slabs: Slabs) -> np.ndarray:
        """Mean moisture, core, colder face; shape (3, m)."""
        return np.concatenate([self.mean(y)[None], self.heat(self.few(y), slabs)])

    def places(self, y: np.ndarray, slabs: Slabs) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Temperature [K], water activity, and that for heat, where bacteria sit, shape (places, m)."""
        return self.sorbed(self.few(y), slabs)

    def below(self, y: np.ndarray, slabs: Slabs) -> np.ndarray:
        """Temperature [K] of the places in what heats them first, shape (places, m): of intact muscle below its faces."""
        n = self._n
        if self._places > 2:
            few = self.few(y)
            return slabs.temperature(few[0], few[1])[: self._places]
        t = slabs.temperature(y[:n], y[n : 2 * n])
        depth = heat_resistance().depth_m / slabs.thickness(slabs.initial_moisture_db)
        weights = weights_at(slabs.nodes, np.minimum(depth, 0.5))
        return np.stack(
            [(weights * rows).sum(axis=0) for rows in (t, t[::-1])]
        )  # nodes lie alike from both faces

    def at_places(self, few: np.ndarray, slabs: Slabs, *, wanted: bool) -> np.ndarray:
        """Return temperature [K], then water activity, at the lower face, in the middle, at the upper face, shape (6, m).

        Parameters
        ----------
        few : ndarray
            As `few` gives it.
        slabs : Slabs
        wanted : bool
            Nothing is returned if not, shape (0, m).
        """
        if not wanted:
            return np.empty((0, few.shape[-1]))
        t = slabs.temperature(few[0], few[1])
        a = np.exp(slabs.sorption.log_activity(few[0], t, slabs.recipe))
        rows = [(v[0], (self._weights * v[2:]).sum(axis=0), v[1]) for v in (t, a)]
        return np.stack([row for three in rows for row in three])

    def sorbed(self, few: np.ndarray, slabs: Slabs) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """As `places`, of what `few` gives."""
        x, h = few[:, : self._places]
        t = slabs.temperature(x, h)
        a = np.exp(slabs.sorption.log_activity(x, t, slabs.recipe))
        return t, a, np.concatenate([as_if_open(a[0], a[1], slabs.covered)[None], a[1:]])


def down_to(times: np.ndarray, values: np.ndarray, level: float) -> np.ndarray:
    """Return when each series first is down to a level [s], shape (m,); infinite where it never is.

    Parameters
    ----------
    times : ndarray, shape (t,)
        [s].
    values : ndarray, shape (t, m)
        Those that are not a number are not down to it.
    level : float

    Examples
    --------
    >>> down_to(np.array([0.0, 60.0]), np.array([[1.0, 1.0], [0.5, 0.9]]), 0.75)
    array([30., inf])
    """
    below = values <= level
    first = below.argmax(axis=0)
    column = np.arange(values.shape[1])
    i = np.maximum(first, 1)
    high, low = values[i - 1, column], values[i, column]
    fallen = np.where(high > low, high - low, 1.0)
    time = times[i - 1] + np.clip((high - level) / fallen, 0.0, 1.0) * (times[i] - times[i - 1])
    return np.where(below.any(axis=0), np.where(first == 0, times[0], time), np.inf)
