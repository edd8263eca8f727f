"""ROS34PW2 for many members at once, each with steps of its own: none depends on who else is there.

With one step shared by all, the member that changes fastest at the moment sets the pace, and a member's numbers depend
on its company. Here the members march together, operation by operation, but each has its own time, its own step and its
own error check. All combinations are done element by element in a fixed order (no BLAS, whose rounding depends on where
in an array a number stands), so a member's numbers are the same to the last bit in any company.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Protocol

import numpy as np

from dryingsim.errors import SolverError
from dryingsim.evidence import Evidence
from dryingsim.kernels.rosenbrock import (
    ERROR,
    FEEDBACK,
    GAMMA,
    GROW,
    LEAST_CHANGE,
    SAFETY,
    SHRINK,
    SLOPE,
    SMALLEST_STEP_S,
    STAGES,
    TIMES,
)

_HEADWAY = (
    "members that get less far in so many tries are given up (with accepted steps of about 0.1 s at most)"
)
_TRIES_SEEN: Annotated[int, Evidence("-", "numerical", _HEADWAY)] = 2000
_LEAST_S: Annotated[float, Evidence("s", "numerical", _HEADWAY)] = 100.0


class MemberProblem(Protocol):
    """What is asked of a problem of `m` independent members; states are flat vectors of (rows, m)."""

    def rhs(self, t: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Right-hand side, each member at its own time, shape (m,)."""

    def linearize(self, t: np.ndarray, y: np.ndarray) -> None:
        """Prepare the matrix A at (t, y)."""

    def factor(self, shift: np.ndarray) -> None:
        """Prepare solves with (shift * M - A), each member with its own shift, shape (m,)."""

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """M u."""

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solution of (shift * M - A) x = r."""

    def error_norms(self, error: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Size of each member's error relative to what is allowed for states of the size of `y`, shape (m,)."""


Along = tuple[np.ndarray, np.ndarray, np.ndarray]


def within(along: Along, s: np.ndarray | float) -> np.ndarray:
    """Value at a share of the step, by `Sweep.along`.

    Parameters
    ----------
    along : tuple of ndarray
        In any unit [-].
    s : float or ndarray, shape (m,)
        0..1 [-].

    Returns
    -------
    ndarray
        In the unit of what was looked at.
    """
    start, slope, bend = along
    return start + s * (slope + s * bend)


@dataclass(slots=True)
class Sweep:
    """A step of every member.

    Attributes
    ----------
    taken : ndarray of bool, shape (m,)
        Which members' steps were accepted; what else is here is without meaning for the others.
    t0, t1 : ndarray, shape (m,)
    y0, y1 : ndarray, shape (rows, m)
        States at both ends.
    parts : ndarray, shape (4, rows, m)
        What the stages contributed.
    """

    taken: np.ndarray
    t0: np.ndarray
    t1: np.ndarray
    y0: np.ndarray
    y1: np.ndarray
    parts: np.ndarray

    def along(self, look: Callable[[np.ndarray], np.ndarray] = np.asarray) -> Along:
        """Look at the states of the step, of which few are wanted as a rule.

        Parameters
        ----------
        look : callable
            A linear function of a state; the state itself if left out.

        Returns
        -------
        tuple of ndarray
            Start a, slope p and bend q of the interpolation a + s p + s^2 q, 0 <= s <= 1, of second order.
        """
        start = look(self.y0)
        slope = look(self.parts[0]) * SLOPE[0]
        _add(slope, SLOPE[1:], [look(part) for part in self.parts[1:]], np.empty_like(slope))
        return start, slope, look(self.y1) - start - slope


class OwnSteps:
    """Members on their way, each from its start to its end.

    Attributes
    ----------
    t : ndarray, shape (m,)
        Time of each member [s].
    y : ndarray, shape (rows, m)
        State of each member.
    active : ndarray of bool, shape (m,)
        Who has not arrived.
    end : ndarray, shape (m,)
        Where each is going [s].
    """

    def __init__(
        self,
        system: MemberProblem,
        start: float | np.ndarray,
        end: float | np.ndarray,
        y: np.ndarray,
        first_step: float,
    ) -> None:
        m = y.shape[1]
        self.system, self.y = system, y
        self.t, self.end = np.full(m, start, dtype=float), np.full(m, end, dtype=float)
        self.active = self.t < self.end
        self._h, self._grow = np.full(m, first_step), np.full(m, GROW)
        self._tries, self._seen = 0, self.t.copy()

    def keep(self, which: np.ndarray, system: MemberProblem) -> None:
        """Go on with some of the members, whose problem is `system`."""
        self.system = system
        self.t, self.end, self.active, self._h, self._grow, self._seen = (
            a[which] for a in (self.t, self.end, self.active, self._h, self._grow, self._seen)
        )
        self.y = np.ascontiguousarray(self.y[:, which])

    def arrive(self, who: np.ndarray, t: np.ndarray, y: np.ndarray) -> None:
        """Let some members arrive where they are told, within their last step."""
        self.t = np.where(who, t, self.t)
        self.y = np.where(who, y, self.y)
        self.end = np.where(who, t, self.end)
        self.active = self.t < self.end

    def sweep(self) -> Sweep:
        """Try one step with every member."""
        t0, y0 = self.t, self.y
        left = np.where(self.active, self.end - t0, 1.0)
        last = self._h >= left * (1.0 - 1e-12)
        h = np.where(
            last, left, np.minimum(self._h, 0.5 * left)
        )  # two even steps rather than a long one and a sliver
        y1, parts, error = self._attempt(t0, y0, h)
        taken = self.active & (error <= 1.0)  # not for an error that is not a number
        t1 = np.where(last, self.end, t0 + h)
        self._adapt(h, error, taken, last)
        self.t, self.y = np.where(taken, t1, t0), y1 if taken.all() else np.where(taken, y1, y0)
        self.active = self.t < self.end
        self._check_headway()
        return Sweep(taken, t0, t1, y0, y1, parts)

    def _check_headway(self) -> None:
        """Give up where a member gets no further."""
        self._tries += 1
        if self._tries % _TRIES_SEEN:
            return
        stuck = self.active & (self.t - self._seen < _LEAST_S)
        if stuck.any():
            raise SolverError(
                f"the solver stopped at t = {self.t[stuck][0]:.1f} s: steps so short that it gets no further"
            )
        self._seen = self.t.copy()

    def _attempt(
        self, t: np.ndarray, y: np.ndarray, h: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Result, contributions of the stages and error norm of a step from (t, y)."""
        system, shape, flat = self.system, y.shape, y.reshape(-1)
        u = np.empty((4, *shape))
        work = np.empty(shape)
        f = system.rhs(t, flat)
        system.linearize(t, flat)
        system.factor(1.0 / (GAMMA * h))
        u[0] = system.solve(f).reshape(shape)
        per_h = 1.0 / h
        for i in range(1, 4):
            trial = y + np.multiply(u[0], STAGES[i, 0], out=work)
            _add(trial, STAGES[i, 1:], u[1:i], work)
            f = system.rhs(t + TIMES[i] * h, trial.reshape(-1))
            change = u[0] * FEEDBACK[i, 0]
            _add(change, FEEDBACK[i, 1:], u[1:i], work)
            change *= per_h
            f += system.weigh(change.reshape(-1))
            u[i] = system.solve(f).reshape(shape)
        y1 = trial + u[3]  # stiffly accurate: the last stage is at the result but for its own part
        error = np.multiply(u[0], ERROR[0])
        _add(error, ERROR[1:], u[1:], work)
        np.maximum(np.abs(y, out=work), np.abs(y1), out=work)
        return y1, u, system.error_norms(error.reshape(-1), work.reshape(-1))

    def _adapt(self, h: np.ndarray, error: np.ndarray, taken: np.ndarray, last: np.ndarray) -> None:
        """Choose the next steps."""
        factor = np.where(np.isfinite(error), SAFETY / np.cbrt(np.maximum(error, 1e-6)), SHRINK)
        longer = h * np.clip(factor, LEAST_CHANGE, self._grow)
        longer = np.where(
            last, np.maximum(self._h, longer), longer
        )  # a step cut short by the end says little
        shorter = h * np.clip(factor, SHRINK, SAFETY)
        self._h = np.where(taken, longer, np.where(self.active, shorter, self._h))
        self._grow = np.where(taken, GROW, 1.0)
        stuck = self.active & (self._h < SMALLEST_STEP_S)
        if stuck.any():
            raise SolverError(
                f"the solver stopped at t = {self.t[stuck][0]:.1f} s: a step fell below {SMALLEST_STEP_S:g} s"
            )


def _add(
    out: np.ndarray, coefficients: np.ndarray, u: Sequence[np.ndarray] | np.ndarray, work: np.ndarray
) -> None:
    """Add the combination of the vectors to `out`; `work` is overwritten."""
    for c, one in zip(coefficients.tolist(), u, strict=False):
        if c:
            out += np.multiply(one, c, out=work)
