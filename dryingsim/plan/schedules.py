"""Schedules as a search runs them: settings, points of a unit box, runs by the quick model and in full."""

import itertools
import math
from collections.abc import Callable, Sequence
from concurrent.futures import Executor

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.engine.executors import each
from dryingsim.errors import InputError
from dryingsim.plan.settings import Template
from dryingsim.plan.trial import NAMES, Many, Trial, builds, screened, tried

_CHUNK = 48  # schedules run side by side, at most
_FEW = 16  # so many take hardly longer than half of them: they stay together

Values = tuple[float, ...]


class Schedules:
    """Schedules as points of a unit box, and the runs of those that were tried: by the quick model, and in full.

    Parameters
    ----------
    template : Template
    organism : str
        Whose log reduction the quick model follows.
    uneven : float
        See `trial.Many`.
    seed : int
    pool : Executor or None
    tick : callable
        Called with the number of schedules run since the last call.
    """

    def __init__(
        self,
        template: Template,
        organism: str,
        uneven: float,
        seed: int,
        pool: Executor | None,
        tick: Callable[[int], None],
    ) -> None:
        self.template, self.organism, self.uneven, self.seed = template, organism, uneven, seed
        self.pool, self.tick = pool, tick
        self.variables = template.variables
        self.points: list[np.ndarray] = []
        self.rows: list[list[float]] = []
        self.trials: dict[Values, Trial] = {}
        self.simulated = 0
        self._low = np.array([variable.low for variable in self.variables])
        self._size = np.array([variable.high for variable in self.variables]) - self._low

    def unit(self, values: Sequence[float]) -> np.ndarray:
        """Return values in the unit box."""
        return (np.asarray(values, dtype=float) - self._low) / self._size

    def values(self, point: np.ndarray) -> Values:
        """Return the values at a point of the unit box."""
        return tuple((self._low + self._size * point).tolist())

    def screen(self, points: Sequence[np.ndarray]) -> None:
        """Run schedules by the quick model."""
        batches: list[Batch] = []
        places: list[int] = []
        rows = [[math.nan] * len(NAMES) for _ in points]
        for place, point in enumerate(points):
            try:
                batches.append(self.template.batch(self.values(point), whole=True))
                places.append(place)
            except InputError:
                continue
        parts = [part for group in builds(batches) for part in _halves(group)]
        todo = [Many(tuple(batches[i] for i in part), self.organism, self.uneven) for part in parts]
        for index, numbers in each(screened, todo, self.pool):
            self.tick(len(parts[index]))
            for k, i in enumerate(parts[index]):
                rows[places[i]] = [float(numbers[name][k]) for name in NAMES]
        self.simulated += len(points)
        self.points += list(points)
        self.rows += rows

    def simulate(self, wanted: Sequence[Values]) -> list[Trial]:
        """Run schedules by the full model; those run before are remembered."""
        new = [values for values in dict.fromkeys(wanted) if values not in self.trials]
        batches: list[Batch] = []
        fits: list[Values] = []
        for values in new:
            try:
                batches.append(self.template.batch(values))
                fits.append(values)
            except InputError as problem:
                self.trials[values] = Trial(log_reductions={}, targets={}, problem=str(problem))
        for index, trial in each(tried, batches, self.pool):
            self.tick(1)
            self.trials[fits[index]] = trial
        self.simulated += len(batches)
        # in the order asked for, whichever came first
        for values in new:
            self.trials[values] = self.trials.pop(values)
        return [self.trials[values] for values in wanted]

    def snapped(self, point: np.ndarray) -> Values:
        """Return the nearest values that can be set."""
        pairs = zip(self.variables, self.values(point), strict=True)
        return tuple(round(variable.snapped(value), 9) for variable, value in pairs)

    def around(self, point: np.ndarray, low: np.ndarray, high: np.ndarray) -> list[Values]:
        """Return values around a point that can be set, within a box.

        Parameters
        ----------
        point : ndarray, shape (variables,)
            In the unit box.
        low, high : ndarray, shape (variables,)
            Ends of the box, in the unit box.
        """
        steps = (-1, 0, 1) if len(self.variables) > 3 else (-2, -1, 0, 1, 2)
        lists = []
        for i, (variable, value) in enumerate(zip(self.variables, self.values(point), strict=True)):
            ends = self._low[i] + self._size[i] * low[i], self._low[i] + self._size[i] * high[i]
            near = {variable.step * (round(value / variable.step) + step) for step in steps}
            near |= {end for end in ends if abs(end - value) <= 2.0 * variable.step}
            lists.append(sorted(round(v, 9) for v in near if ends[0] - 1e-9 <= v <= ends[1] + 1e-9))
        return list(itertools.product(*lists))


def _halves(group: list[int]) -> list[list[int]]:
    """Divide schedules for two workers or four; the same way whatever their number, so that nothing depends on it."""
    count = 2 * -(-len(group) // (2 * _CHUNK)) if len(group) > _FEW else 1
    return [group[i::count] for i in range(count)]
