"""Search for the schedule of least cost that meets all needs: quick model, surrogate, full model.

1. The quick model runs many schedules at once, spread evenly over what may change.
2. A surrogate through them proposes better ones; the quick model runs those too, a few times over, in the end with settings
   near by that promise to cost less and to miss little.
3. Around the best, settings that can be set are run by the full model, the most promising first. The difference
   between the models corrects the surrogate near by, until it promises nothing better.

The order of all steps is fixed, whatever the number of workers: a seed gives one plan.
"""

import itertools
import math
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace

import numpy as np

from dryingsim.errors import InputError
from dryingsim.plan.needs import Needs, cost, numbers_of
from dryingsim.plan.requirements import Aim
from dryingsim.plan.schedules import Schedules, Values
from dryingsim.plan.settings import Template
from dryingsim.plan.surrogate import COARSE, FINE, Surrogate, best_point, evenly, squared_distances, tiers
from dryingsim.plan.trial import NAMES, Trial

_FIRST, _PER_VARIABLE, _CORNERS = (
    8,
    14,
    4,
)  # schedules to begin with; all corners for so many variables at most
_ROUNDS = 2  # at most; one less than there are variables, for a single one is covered by the first
_BEYOND = (-2.0, -1.0, 1.0, 2.0)  # log10: what the rounds look for besides what is asked for
_PERHAPS = 24  # settings around the best that the last round runs besides
_NEAR = 0.12  # of the box: how far schedules lie around the best in the first round
_AT_ONCE, _TRIES = 2, 8  # full runs at a time; how often
_BETTER = 1e-3  # what is promised must be better by so much, in logarithms of the cost
_FOR_ENERGY = 14  # full runs to learn the energy from


class Search(Schedules):
    """What the schedules tried so far promise of others, and the search that follows these promises."""

    def __init__(
        self,
        template: Template,
        organism: str,
        uneven: float,
        seed: int,
        pool: Executor | None,
        tick: Callable[[int], None],
    ) -> None:
        super().__init__(template, organism, uneven, seed, pool, tick)
        # of the share in the window and of how far slices are apart: what many slices give less what the quick model does
        self.shift, self.shift_apart = 0.0, 0.0
        self._fit: Surrogate | None = None
        self._energy: Surrogate | None = None

    def screen(self, points: Sequence[np.ndarray]) -> None:
        """Run schedules by the quick model; what all of them promise is worked out anew."""
        super().screen(points)
        self._fit = None

    def simulate(self, wanted: Sequence[Values]) -> list[Trial]:
        """Run schedules by the full model; what they tell of the energy is worked out anew."""
        trials = super().simulate(wanted)
        self._energy = None
        return trials

    # --- promises ----------------------------------------------------------------------------------------------------
    def promised(self, points: np.ndarray, needs: Needs, aim: Aim) -> dict[str, np.ndarray]:
        """Return what points promise, by name: the surrogate, corrected by full runs near by.

        Parameters
        ----------
        points : ndarray, shape (p, variables)
            In the unit box.
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        """
        if self._fit is None:
            table = np.array(self.rows)
            numbers = {name: table[:, i] for i, name in enumerate(NAMES)}
            self._fit = Surrogate(np.array(self.points), numbers)
        promise = self._fit.at(points)
        promise["in_window"] = np.clip(promise["in_window"] + self.shift, 0.0, 1.0)
        promise["apart"] = promise["apart"] + self.shift_apart
        known = [(values, trial) for values, trial in self.trials.items() if not trial.problem]
        if known:
            at = np.array([self.unit(values) for values, _ in known])
            theirs = self._fit.at(at)
            near = 1.0 / (squared_distances(points, at) + 1e-5)
            near /= near.sum(axis=1, keepdims=True)
            rows = [numbers_of(trial, needs) for _, trial in known]
            for name in rows[0]:
                promise[name] = promise[name] + near @ (np.array([row[name] for row in rows]) - theirs[name])
        if aim == "energy":
            promise["log_energy"] = self._energies(known).at(points)["log_energy"]
        return promise

    def _energies(self, known: Sequence[tuple[Values, Trial]]) -> Surrogate:
        if self._energy is None:
            points = np.array([self.unit(values) for values, _ in known])
            energy = np.array([math.log(max(trial.energy_J, 1.0)) for _, trial in known])
            self._energy = Surrogate(points, {"log_energy": energy})
        return self._energy

    def apart(self, values: Values) -> float:
        """Return how far the slices are apart, by the surrogate."""
        assert self._fit is not None
        return max(float(self._fit.at(self.unit(values)[None])["apart"][0]) + self.shift_apart, 0.0)

    def in_window(self, values: Values) -> float:
        """Return the share of slices in the window, by the surrogate."""
        assert self._fit is not None
        share = float(self._fit.at(self.unit(values)[None])["in_window"][0]) + self.shift
        return min(max(share, 0.0), 1.0)

    def measured(self, values: Values, needs: Needs) -> dict[str, np.ndarray]:
        """Return the numbers of a full run by name, with what only the quick model knows.

        Parameters
        ----------
        values : tuple of float
            Of the variables, each in its unit: a schedule that was run in full.
        needs : Needs
        """
        trial = self.trials[values]
        numbers = {name: np.array(value) for name, value in numbers_of(trial, needs).items()}
        numbers["log_energy"] = np.array(math.log(max(trial.energy_J, 1.0)))
        numbers["apart"] = np.array(self.apart(values))
        numbers["in_window"] = np.array(self.in_window(values))
        return numbers

    def missed(self, values: Values, needs: Needs) -> float:
        """Return what a full run misses in all, see `Needs.missed`; infinite where there is none.

        Parameters
        ----------
        values : tuple of float
            Of the variables, each in its unit: a schedule that was run in full.
        needs : Needs
        """
        if self.trials[values].problem:
            return math.inf
        return float(needs.missed(self.measured(values, needs)))

    def merit(self, values: Values, needs: Needs, aim: Aim, step: float) -> tuple[float, float]:
        """Return what a full run misses, in steps, and what it costs.

        Parameters
        ----------
        values : tuple of float
            Of the variables, each in its unit: a schedule that was run in full.
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        step : float
            In which what is missed is compared, see `surrogate.tiers`.
        """
        return float(tiers(self.missed(values, needs), step)), self.cost(values, needs, aim)

    def cost(self, values: Values, needs: Needs, aim: Aim) -> float:
        """Return what a full run costs, see `needs.cost`.

        Parameters
        ----------
        values : tuple of float
            Of the variables, each in its unit: a schedule that was run in full.
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        """
        return float(cost(aim, self.measured(values, needs)))

    # --- searching ---------------------------------------------------------------------------------------------------
    def begin(self, needs: Needs, aim: Aim) -> None:
        """Run schedules spread evenly, then some where the surrogate promises most.

        Parameters
        ----------
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        """
        n = len(self.variables)
        start = list(evenly(n, _FIRST + _PER_VARIABLE * n, self.seed))
        if n <= _CORNERS:
            start += [np.array(corner) for corner in itertools.product((0.0, 1.0), repeat=n)]
        else:
            start += [np.zeros(n), np.ones(n)]
        self.screen([self.unit(self.template.own()), np.full(n, 0.5), *start])
        if not any(np.isfinite(row).all() for row in map(np.array, self.rows)):
            raise InputError(
                f"no schedule within the bounds of [plan.between] can be simulated{self.why_not()}"
            )
        if aim == "energy":
            self.simulate([self.snapped(point) for point in start[:_FOR_ENERGY]])
        rounds = min(n - 1, _ROUNDS)
        for step in range(rounds):
            best = self.best(needs, aim)
            more = [best] + [
                self.best(_with_beyond(needs, beyond), "time" if aim == "energy" else aim)
                for beyond in _BEYOND
            ]
            around = evenly(n, 8, self.seed + step + 1)[:6] - 0.5
            more += [np.clip(best + _NEAR * 0.5**step * 2.0 * shift, 0.0, 1.0) for shift in around]
            self.screen(more + (self._perhaps_better(best, needs, aim) if step == rounds - 1 else []))

    def why_not(self) -> str:
        """Return why the file's own schedule cannot be simulated, to be added to a message; nothing where it can."""
        (own,) = self.simulate([self.template.own()])
        return f": {own.problem}" if own.problem else ""

    def _perhaps_better(self, best: np.ndarray, needs: Needs, aim: Aim) -> list[np.ndarray]:
        """Return settings around a point that promise to cost less, those that miss least: near corners promises err."""
        ends = np.zeros(best.size), np.ones(best.size)
        points = np.array([self.unit(values) for values in self.around(best, *ends)])
        promised = self.promised(np.concatenate([points, best[None]]), needs, aim)
        missed, costs = needs.missed(promised), cost(aim, promised)
        order = np.argsort(missed[:-1], kind="stable")
        return list(points[order[costs[order] < costs[-1]]][:_PERHAPS])

    def best(
        self,
        needs: Needs,
        aim: Aim,
        low: np.ndarray | None = None,
        high: np.ndarray | None = None,
        step: float = FINE,
    ) -> np.ndarray:
        """Return the point of the unit box that promises most.

        Parameters
        ----------
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        low, high : ndarray, shape (variables,), optional
            Ends of the box, in the unit box; all of it if left out.
        step : float
            In which what is missed is compared, see `surrogate.tiers`.
        """
        low, high = self._box(low, high)

        def merit(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
            promised = self.promised(points, needs, aim)
            return needs.missed(promised), cost(aim, promised)

        return best_point(merit, low, high, self.seed, step=step)

    def refined(
        self,
        needs: Needs,
        aim: Aim,
        *,
        tries: int = _TRIES,
        low: np.ndarray | None = None,
        high: np.ndarray | None = None,
    ) -> Values | None:
        """Return the best settings by full runs; None where none could be run. They may miss something.

        Where nothing meets all needs, of those that miss about as little the one of least cost.

        Parameters
        ----------
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        tries : int
            Times to run the schedules that promise most.
        low, high : ndarray, shape (variables,), optional
            Ends of the box, in the unit box; all of it if left out.
        """
        box = self._box(low, high)
        best = self._gone_through(needs, aim, tries, box, FINE)
        if best is not None and self.missed(best, needs) > COARSE:
            return self._gone_through(needs, aim, tries // 2, box, COARSE)
        return best

    def knows_better(self, values: Values, needs: Needs, aim: Aim) -> bool:
        """Whether settings run in full since, for another reason, are better than some.

        Parameters
        ----------
        values : tuple of float
            Of the variables, each in its unit: a schedule that was run in full.
        needs : Needs
        aim : str
            "time", "energy" or "evenness".
        """
        best = self._best_so_far(needs, aim, self._box(), FINE)
        return best is not None and _is_better(
            self.merit(best, needs, aim, FINE), self.merit(values, needs, aim, FINE)
        )

    def _box(
        self, low: np.ndarray | None = None, high: np.ndarray | None = None
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return the ends of a box; those of the unit box where they are left out."""
        n = len(self.variables)
        return np.zeros(n) if low is None else low, np.ones(n) if high is None else high

    def _gone_through(
        self, needs: Needs, aim: Aim, tries: int, box: tuple[np.ndarray, np.ndarray], step: float
    ) -> Values | None:
        best = self._best_so_far(needs, aim, box, step)
        for _ in range(tries):
            centres = [self.best(needs, aim, *box, step)] + ([self.unit(best)] if best else [])
            options = list(dict.fromkeys(v for centre in centres for v in self.around(centre, *box)))
            options = [values for values in options if values not in self.trials]
            if not options:
                break
            promised = self.promised(np.array([self.unit(values) for values in options]), needs, aim)
            missed, costs = tiers(needs.missed(promised), step), cost(aim, promised)
            beaten = self.merit(best, needs, aim, step) if best else (math.inf, math.inf)
            order = np.lexsort((costs, missed)).tolist()
            better = [i for i in order if _is_better((float(missed[i]), float(costs[i])), beaten)]
            if not better:
                break
            self.simulate([options[i] for i in better[:_AT_ONCE]])
            best = self._best_so_far(needs, aim, box, step)
        return best

    def _best_so_far(
        self, needs: Needs, aim: Aim, box: tuple[np.ndarray, np.ndarray], step: float
    ) -> Values | None:
        if self._fit is None:  # what only the quick model knows is asked of it
            self.promised(np.full((1, len(self.variables)), 0.5), needs, "time")
        able = [
            values
            for values, trial in self.trials.items()
            if not trial.problem
            and np.all(self.unit(values) >= box[0] - 1e-6)
            and np.all(self.unit(values) <= box[1] + 1e-6)
        ]
        return min(able, key=lambda values: self.merit(values, needs, aim, step)) if able else None


def _with_beyond(needs: Needs, more: float) -> Needs:
    return replace(needs, beyond=max(needs.beyond + more, -needs.target_log10))


def _is_better(promise: tuple[float, float], best: tuple[float, float]) -> bool:
    """Whether a promise is worth a run: less is missed, or nothing is missed either and it costs less."""
    missed, costs = promise
    return missed < best[0] or (missed == best[0] and costs < best[1] - _BETTER)
