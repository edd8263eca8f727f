r"""The swing of a system about its mean, where something in it is switched on and off in even cycles.

A push b acts on a system M y' = f(y) while it is on. Over even cycles, y = z + w: the mean z is pushed for the share of
time :math:`\bar u` that it is on, and the swing follows the switching about it,

.. math:: M \dot z = f(z) + b\,\bar u + \overline{f(z + w) - f(z) - A w},\qquad M \dot w = A w + b\,(u - \bar u),

with A the Jacobian at z. Few combinations of states are enough to hold w: those of a Krylov space of
:math:`(sM - A)^{-1} M` that begins with b, from the system's own solves (`rosenbrock.System`); rational Krylov spaces
converge fast whatever the stiffness, see van den Eshof & Hochbruck (2006), SIAM J. Sci. Comput. 27, 1438-1457
(from memory). Every combination keeps the linear invariants of the system.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from scipy.linalg import expm

from dryingsim.evidence import Evidence
from dryingsim.kernels.rosenbrock import System

SIZE: Annotated[
    int,
    Evidence(
        "-", "numerical", "combinations of states that hold a swing: that of supply air to 0.001 K of thirty"
    ),
] = 8
SHIFTS: Annotated[
    float,
    Evidence("-", "numerical", "the shift s of the Krylov space, per cycle; 5 to 20 come to the same"),
] = 10.0
TIMES: Annotated[int, Evidence("-", "numerical", "times at which a swing is looked at in half a cycle")] = 128
PHASES: Annotated[
    int,
    Evidence("-", "numerical", "of a cycle, at which products are looked at; 16 change meat by 0.01 K"),
] = 4
_GROWTH: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "combinations whose rates grow by more than exp of this in a cycle are too many: of the fastest, the inverse of the "
        "rate is a difference near 0, whose sign rounding and left out slopes may turn",
    ),
] = 1.0
_NUDGE: Annotated[
    float, Evidence("-", "numerical", "of the weighed state, by which the Jacobian is felt")
] = 1e-4


@dataclass(frozen=True, slots=True)
class Cycle:
    """How long something is on and off in turn.

    Attributes
    ----------
    on_s, off_s : float
        [s].
    """

    on_s: float
    off_s: float

    @property
    def whole_s(self) -> float:
        """Duration [s]."""
        return self.on_s + self.off_s

    @property
    def duty(self) -> float:
        """Share of the time that it is on [-]."""
        return self.on_s / self.whole_s


class Swing:
    """Linear response of a system, about a state, to a push that is switched in even cycles.

    Parameters
    ----------
    system : System
        Its matrix is left at the given state.
    t : float
        Present time [s].
    z : ndarray, shape (size,)
        State about which.
    push : ndarray, shape (size,)
        Change of the state's rate while it is on; the mass matrix leaves it as it is.
    weight : ndarray, shape (size,)
        Inverse of typical changes of the state; 0 for what nothing depends on.
    cycle : Cycle

    Attributes
    ----------
    states : ndarray, shape (size, k)
        w = states @ q, with q the few numbers that all else is about.
    step_s : float
        Between the times of `course` [s].
    """

    def __init__(
        self, system: System, t: float, z: np.ndarray, push: np.ndarray, weight: np.ndarray, cycle: Cycle
    ) -> None:
        self.cycle, self.step_s = cycle, cycle.whole_s / (2 * TIMES)
        self.states, self._rates, size = _krylov_space(system, t, z, push, weight, SHIFTS / cycle.whole_s)
        self._n = n = len(self._rates)
        self._matrix = np.zeros((n + 1, n + 1))  # of q and, last, by how much the push exceeds its mean
        self._matrix[:n, :n] = self._rates
        self._matrix[0, n] = size
        one = expm(self._matrix * self.step_s)
        self._powers = np.empty((TIMES + 1, n + 1, n + 1))
        self._powers[0] = np.eye(n + 1)
        for j in range(TIMES):
            self._powers[j + 1] = one @ self._powers[j]
        on, off = (expm(self._matrix * lasts) for lasts in (cycle.on_s, cycle.off_s))
        gained = off[:n, :n] @ on[:n, n] * self._excess(True) + off[:n, n] * self._excess(False)
        # the same after a whole cycle
        self._at_on = np.linalg.solve(np.eye(n) - off[:n, :n] @ on[:n, :n], gained)
        self._at_off = self._after(self._at_on, True, cycle.on_s)

    def _excess(self, on: bool) -> float:
        return float(on) - self.cycle.duty

    def _after(self, q: np.ndarray, on: bool, lasts_s: float) -> np.ndarray:
        after: np.ndarray = expm(self._matrix * lasts_s) @ np.append(q, self._excess(on))
        return after[: self._n]

    def at(self, on: bool, since_s: float) -> np.ndarray:
        """Numbers of the even cycle, so long [s] after it was switched on or off."""
        return self._after(self._at_on if on else self._at_off, on, since_s)

    def course(self, q: np.ndarray, on: bool) -> np.ndarray:
        """Numbers from q on while nothing is switched, at TIMES + 1 times; shape (TIMES + 1, k)."""
        course: np.ndarray = self._powers[:, : self._n] @ np.append(q, self._excess(on))
        return course

    def products(self, system: System, t: float, z: np.ndarray) -> np.ndarray:
        """f(z + w) - f(z) - A w at even phases of the cycle: what is not linear in the swing.

        Parameters
        ----------
        system : System
        t : float
            Present time [s].
        z : ndarray, shape (size,)
            Mean.

        Returns
        -------
        ndarray, shape (PHASES, size)
        """
        present, products = system.rhs(t, z), np.empty((PHASES, z.size))
        for phase in range(PHASES):
            moment = (phase + 0.5) / PHASES * self.cycle.whole_s
            on = moment < self.cycle.on_s
            q = self.at(on, moment if on else moment - self.cycle.on_s)
            linear = system.weigh(self.states @ (self._rates @ q))
            products[phase] = system.rhs(t, z + self.states @ q) - present - linear
        return products


def _krylov_space(
    system: System, t: float, z: np.ndarray, push: np.ndarray, weight: np.ndarray, shift: float
) -> tuple[np.ndarray, np.ndarray, float]:
    """Orthonormal combinations of states (size, k), their matrix of rates, and the push's share of the first.

    The system's matrix may leave small terms out. What it misses is felt by a difference quotient and solved for once
    more, so that a swing is right to the square of what it misses.
    """
    system.linearize(t, z)
    system.factor(shift)
    present = system.rhs(t, z)
    size = float(np.linalg.norm(weight * push))
    space, weighed = np.zeros((2, SIZE + 1, z.size))
    projected = np.zeros((SIZE + 1, SIZE))
    space[0], weighed[0] = push / size, weight * push / size
    for j in range(SIZE):
        asked = system.weigh(space[j])
        x = system.solve(asked)
        nudge = _NUDGE / np.linalg.norm(weight * x)
        felt = (system.rhs(t, z + nudge * x) - present) / nudge
        x += system.solve(asked - shift * system.weigh(x) + felt)
        for _ in range(2):  # twice is enough for rounding
            shares = weighed[: j + 1] @ (weight * x)
            x -= shares @ space[: j + 1]
            projected[: j + 1, j] += shares
        projected[j + 1, j] = np.linalg.norm(weight * x)
        space[j + 1] = x / projected[j + 1, j]
        weighed[j + 1] = weight * space[j + 1]
    for n in range(SIZE, 0, -1):
        rates = shift * np.eye(n) - np.linalg.inv(projected[:n, :n])
        if np.linalg.eigvals(rates).real.max() * SHIFTS / shift < _GROWTH:
            break
    return space[:n].T, rates, size
