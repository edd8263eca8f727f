"""A batch over four settings and time: followed at the points of a grid, told between them, and how well that is told.

Between the points the time until ready, the wet bulb and the profiles are interpolated: along each setting by the polynomial
through its nodes, over time by straight lines over the root of the progress. A verdict is not interpolated: that of the worst
of the grid's points around the settings counts, of each at the last look before that time.

How well that does `slider_errors` measures.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dryingsim.batch.catalog.organisms import organisms, target
from dryingsim.batch.schema import Batch
from dryingsim.engine.executors import Workers
from dryingsim.explore.followed import Followed, follow
from dryingsim.explore.settings import Axis, axes_of
from dryingsim.kernels.grid import NODES_OF_MANY, clustered_nodes
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure

# shares of the time until ready at which slices are looked at; close together while they warm, or cool down from hot liquid
_WARMING = (0, 3e-4, 1e-3, 2e-3, 4e-3, 7e-3, 0.012, 0.02, 0.03, 0.045)
_DRYING = (0.07, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1)
_DRY = (1.15, 1.3, 1.6, 2, 3, 5, 10, 24)
PROGRESS = np.array([*_WARMING, *_DRYING, *_DRY], dtype=float)
# and those of them at which they are judged: as often as a verdict may change, for it is the dearest part
JUDGED = np.flatnonzero(
    np.isin(PROGRESS, [0, 0.02, 0.07, 0.15, 0.25, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.15, 1.3, 1.6, 2, 5])
)
_STEPS = 255  # numbers are kept in so many steps from the smallest to the largest of a look


@dataclass(frozen=True)
class Levels:
    """Numbers in even steps between the smallest and the largest of each look, as a page keeps them.

    Attributes
    ----------
    level : ndarray of uint8, shape (t, nodes, p)
    low, step : ndarray, shape (t,)
        A number is `low + step * level`.
    """

    level: np.ndarray
    low: np.ndarray
    step: np.ndarray

    @classmethod
    def of(cls, values: np.ndarray) -> "Levels":
        """Return numbers, shape (t, nodes, p), in steps."""
        low = values.min(axis=(1, 2))
        step = np.maximum((values.max(axis=(1, 2)) - low) / _STEPS, 1e-9)
        level = np.round((values - low[:, None, None]) / step[:, None, None])
        return cls(level.astype(np.uint8), low, step)

    @property
    def values(self) -> np.ndarray:
        """The numbers, to the nearest step."""
        return self.low[:, None, None] + self.step[:, None, None] * self.level


@dataclass(frozen=True)
class Between:
    """What is told of `q` settings, each at one time.

    Attributes
    ----------
    ready_s : ndarray, shape (q,)
        From the start of drying [s].
    wet_bulb_K : ndarray, shape (q,)
        Of the air [K].
    moisture_db, temperature_K : ndarray, shape (q, nodes)
        [kg/kg], [K].
    grade, organism, lower, best, grown : ndarray, shape (q,)
        See `followed.Followed`; of the worst of the points around.
    """

    ready_s: np.ndarray
    wet_bulb_K: np.ndarray
    moisture_db: np.ndarray
    temperature_K: np.ndarray
    grade: np.ndarray
    organism: np.ndarray
    lower: np.ndarray
    best: np.ndarray
    grown: np.ndarray


@dataclass(frozen=True)
class SliderGrid:
    """A batch at every point of a grid over its settings, and over time.

    Attributes
    ----------
    batch : Batch
    axes : tuple of Axis
    progress : ndarray, shape (t,)
        Shares of the time until ready, from 0 on [-].
    judged : ndarray of int, shape (j,)
        Looks at which it is judged.
    moisture_db, temperature_K : Levels
        The last setting changes fastest.
    followed : Followed
        Its points, with their profiles to the last digit.
    """

    batch: Batch
    axes: tuple[Axis, ...]
    progress: np.ndarray
    judged: np.ndarray
    moisture_db: Levels
    temperature_K: Levels
    followed: Followed

    @property
    def depth(self) -> np.ndarray:
        """Where the nodes are, as shares of the dry mass from the lower surface, shape (nodes,) [-]."""
        return clustered_nodes(NODES_OF_MANY)

    @cached_property
    def goals(self) -> np.ndarray:
        """Log10 reduction required of each organism, in the order of the catalog."""
        return np.array([target(key, self.batch.meat.judged_as).log10 for key in organisms()])

    @cached_property
    def wet_bulb_K(self) -> np.ndarray:
        """Wet bulb at the nodes of temperature and humidity, shape (temperatures, humidities) [K]."""
        _, air, humidity, _ = self.axes
        return wet_bulb(self.batch, air.nodes[:, None], humidity.nodes)

    @cached_property
    def _profiles(self) -> np.ndarray:
        return np.stack([self.moisture_db.values, self.temperature_K.values])

    def at(self, settings: np.ndarray, time_s: np.ndarray) -> Between:
        """Return what is told of settings at a time, as the page tells it.

        Parameters
        ----------
        settings : ndarray, shape (q, 4)
            Within the nodes of the axes, in SI.
        time_s : ndarray, shape (q,)
            Since drying began [s].
        """
        each = [axis.weights(column) for axis, column in zip(self.axes, settings.T, strict=True)]
        weights = np.einsum("qi,qj,qk,ql->qijkl", *each).reshape(len(settings), -1)
        ready = np.exp(weights @ np.log(self.followed.ready_s))
        first, share = _place(self.progress, time_s / ready)
        profiles = []
        for q in range(len(settings)):
            both = self._profiles[:, first[q] : first[q] + 2] @ weights[q]  # (2, looks, nodes)
            profiles.append(both[:, 0] + share[q] * (both[:, 1] - both[:, 0]))
        moisture, temperature = np.moveaxis(np.array(profiles), 1, 0)
        wet_bulb = np.einsum("qj,qk,jk->q", each[1], each[2], self.wet_bulb_K)
        verdicts = np.array([self._verdict(row, t) for row, t in zip(settings, time_s, strict=True)]).T
        grade, organism, lower, best, grown = verdicts
        whole = grade.astype(int), organism.astype(int)
        return Between(ready, wet_bulb, moisture, temperature, *whole, lower, best, grown > 0.0)

    def _verdict(self, settings: np.ndarray, time_s: float) -> tuple[float, ...]:
        """Return grade, organism, lower bound, best estimate and whether bacteria may have grown, of the worst point around."""
        around = [axis.around(value[None])[0] for axis, value in zip(self.axes, settings, strict=True)]
        points = np.flatnonzero(np.einsum("i,j,k,l->ijkl", *(near.astype(int) for near in around)))
        told = self.followed
        first, _ = _place(self.progress[self.judged], time_s / told.ready_s[points])
        grade = np.minimum(told.grade[first, points], told.grade[first + 1, points])
        lower, organism = told.lower[first, points], told.organism[first, points]
        worst = int((grade + 1e-3 * (lower - self.goals[organism])).argmin())
        best = told.best[first, points].min()
        return grade[worst], organism[worst], lower[worst], best, told.grown[first + 1, points].any()


def slider_grid(batch: Batch, executor: Workers = None, axes: tuple[Axis, ...] | None = None) -> SliderGrid:
    """Follow a batch at every point of a grid over its settings.

    Parameters
    ----------
    batch : Batch
        What comes before its first stage in drying air stays; see `settings.as_set` for what does not.
    executor
        See `engine.executors.each`. The result does not depend on it.
    axes : tuple of Axis, optional
        As `settings.axes_of` gives them if left out.
    """
    axes = axes or axes_of(batch)
    grid = np.meshgrid(*(axis.nodes for axis in axes), indexing="ij")
    followed = follow(batch, np.stack(grid, axis=-1).reshape(-1, len(axes)), PROGRESS, JUDGED, executor)
    return SliderGrid(
        batch,
        axes,
        PROGRESS,
        JUDGED,
        Levels.of(followed.moisture_db),
        Levels.of(followed.temperature_K),
        followed,
    )


def _place(progress: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the look before a progress, and the share of the way to the next, over its root."""
    root, here = np.sqrt(progress), np.sqrt(np.minimum(at, progress[-1]))
    first = np.clip(np.searchsorted(root, here, side="right") - 1, 0, root.size - 2)
    return first, (here - root[first]) / (root[first + 1] - root[first])


def wet_bulb(batch: Batch, air_K: np.ndarray, humidity: np.ndarray) -> np.ndarray:
    """Return the wet bulb of air [K].

    Parameters
    ----------
    batch : Batch
        For the pressure of its room.
    air_K, humidity : ndarray
        Temperature [K] and relative humidity [-].
    """
    return moist_air.wet_bulb(air_K, humidity * saturation_pressure(air_K), batch.room.pressure_Pa)
