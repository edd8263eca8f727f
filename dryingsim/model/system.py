"""The equations of all slabs of a batch as one system for the stepper.

State, as a flat vector of (2 n + 3, m): moisture of the n nodes, their enthalpies, and three running totals per
slab and area of one face: vapour given off [kg/m2], heat received [J/m2], enthalpy given off with the vapour [J/m2].
The totals are integrated by the same method from the same fluxes, which is what makes the balances worth reporting.
"""

from typing import Protocol

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.kernels.blocks import BlockTridiagonal
from dryingsim.kernels.grid import control_volumes
from dryingsim.model.edges import EdgeExchange
from dryingsim.model.faces import AirAtSlabs, FaceExchange
from dryingsim.model.slab import Interior, Slabs
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT

X, T = 0, 1  # order of the unknowns in blocks and derivatives


class AirSide(Protocol):
    """What surrounds the slabs. Given air and an appliance both answer this one question."""

    def at(self, t: float) -> AirAtSlabs:
        """Return the air that each slab feels at time t [s]."""


class SlabSystem:
    """Right-hand side, matrix and error norm of `slabs` in the air of `air`.

    Attributes
    ----------
    air : AirSide
        May be exchanged between stages (then `Stepper.restart`).
    """

    def __init__(self, slabs: Slabs, air: AirSide, tolerance: float) -> None:
        self.slabs, self.air = slabs, air
        self.n, self.m = slabs.nodes.size, slabs.dry_mass_kg_m2.size
        self.mass = control_volumes(slabs.nodes)[:, None] * slabs.dry_mass_kg_m2
        self._per_mass = 1.0 / self.mass
        self._interior = Interior(slabs)
        self._matrix = BlockTridiagonal(self.n, self.m)
        self._edges = bool(np.any(np.isfinite(slabs.edge_length_m)))
        self._share = control_volumes(slabs.nodes)[:, None]
        self._x_scale = (tolerance * X_FLOOR, tolerance)
        self._t_scale = tolerance * TEMPERATURE_SCALE_K

    # --- views -------------------------------------------------------------------------------------------------
    def split(self, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Moisture (n, m), enthalpy (n, m) and totals (3, m) as views of a state vector."""
        rows = y.reshape(2 * self.n + 3, self.m)
        return rows[: self.n], rows[self.n : 2 * self.n], rows[2 * self.n :]

    def initial(self, moisture: np.ndarray, temperature: np.ndarray) -> np.ndarray:
        """State vector of slabs of even moisture and temperature, arrays that broadcast to (n, m)."""
        y = np.zeros((2 * self.n + 3) * self.m)
        x, h, _ = self.split(y)
        x[:] = moisture
        h[:] = self.slabs.enthalpy(x, temperature)
        return y

    def turned(self, y: np.ndarray) -> np.ndarray:
        """Return the state with every slice turned over."""
        out = y.copy()
        x, h, _ = self.split(out)
        x[:], h[:] = x[::-1].copy(), h[::-1].copy()
        return out

    # --- right-hand side ---------------------------------------------------------------------------------------
    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Time derivative of the state vector."""
        x, h, _ = self.split(y)
        temperature = self.slabs.temperature(x, h)
        water, heat = self._interior.fluxes(x, temperature)
        faces = self._faces(t, x, temperature)
        out = np.empty((2 * self.n + 3, self.m))
        self._divergence(water, faces.vapour, out[: self.n])
        self._divergence(heat, faces.carried - faces.heat, out[self.n : 2 * self.n])
        totals = out[2 * self.n :]
        totals[0] = faces.vapour[0] + faces.vapour[1]
        totals[1] = faces.heat[0] + faces.heat[1]
        totals[2] = faces.carried[0] + faces.carried[1]
        if self._edges:
            edges = EdgeExchange(self.slabs, self.air.at(t), faces.film.mean(axis=0), t, x, temperature)
            out[: self.n] -= edges.vapour
            out[self.n : 2 * self.n] -= edges.carried - edges.heat
            totals += np.stack(
                [(self.mass * a).sum(axis=0) for a in (edges.vapour, edges.heat, edges.carried)]
            )
        return out.reshape(-1)

    def _faces(self, t: float, x: np.ndarray, temperature: np.ndarray) -> FaceExchange:
        return FaceExchange(self.slabs, self.air.at(t), x[:: self.n - 1], temperature[:: self.n - 1])

    def _divergence(self, upward: np.ndarray, outward: np.ndarray, out: np.ndarray) -> None:
        """out = -(flux out - flux in)/mass of every node; `outward` (2, m) through the outer faces."""
        np.subtract(upward[:-1], upward[1:], out=out[1:-1])
        out[0] = -upward[0] - outward[0]
        out[-1] = upward[-1] - outward[1]
        out *= self._per_mass

    # --- matrix ------------------------------------------------------------------------------------------------
    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the blocks of the matrix, by (X, H) of each node, and the rows of the totals."""
        n = self.n
        x, h, _ = self.split(y)
        temperature = self.slabs.temperature(x, h)
        per_capacity = 1.0 / self.slabs.heat_capacity(x)
        t_by_x = -LIQUID_SPECIFIC_HEAT * (temperature - ZERO_CELSIUS) * per_capacity
        flux = self._interior.slopes(x, temperature)
        lower, diagonal, upper = np.zeros((3, 2, 2, n, self.m))
        upper[:, :, :-1], lower[:, :, 1:] = -flux[:, 1], flux[:, 0]
        diagonal[:, :, :-1] = -flux[:, 0]
        diagonal[:, :, 1:] += flux[:, 1]
        faces = self._faces(t, x, temperature)
        passing = np.zeros((3, 2, n, self.m))  # [vapour, heat, carried] by [X, T]: what each node exchanges
        passing[:, :, :: n - 1] = faces.slopes()
        if self._edges:
            edges = EdgeExchange(self.slabs, self.air.at(t), faces.film.mean(axis=0), t, x, temperature)
            passing += edges.slopes() * self.mass
        diagonal[X] -= passing[0]
        diagonal[T] -= passing[2] - passing[1]
        for block, shift in ((lower, 1), (diagonal, 0), (upper, -1)):
            block *= self._per_mass
            # chain rule: unknowns X, T at the coupled node become X, H
            block[:, X] += block[:, T] * np.roll(t_by_x, shift, axis=0)
            block[:, T] *= np.roll(per_capacity, shift, axis=0)
        passing[:, X] += passing[:, T] * t_by_x
        passing[:, T] *= per_capacity
        self._blocks, self._passing = (lower, diagonal, upper), passing

    def factor(self, shift: float) -> None:
        """Factor (shift * I - A)."""
        self._shift = shift
        self._matrix.factor(shift, *self._blocks)

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve (shift * I - A) u = r; the totals follow from the nodes by substitution."""
        rows = r.reshape(2 * self.n + 3, self.m)
        nodes = self._matrix.solve(rows[: 2 * self.n].reshape(2, self.n, self.m))
        out = np.empty_like(rows)
        out[: 2 * self.n] = nodes.reshape(2 * self.n, self.m)
        totals = np.einsum("fuim,uim->fm", self._passing, nodes)
        out[2 * self.n :] = (rows[2 * self.n :] + totals) / self._shift
        return out.reshape(-1)

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Largest over the slabs of the mass-weighted root mean square of scaled errors of X and T."""
        dx, dh, _ = self.split(error)
        x, _, _ = self.split(y)
        ex = dx / (self._x_scale[0] + self._x_scale[1] * x)
        et = dh / (self._t_scale * self.slabs.heat_capacity(x))
        mean = np.einsum("im,im->m", self._share * ex, ex) + np.einsum("im,im->m", self._share * et, et)
        return float(np.sqrt(mean.max()))


X_FLOOR = 0.3  # kg/kg: the error allowed in X is tolerance * (X_FLOOR + X)
TEMPERATURE_SCALE_K = 20.0  # the error allowed in T is tolerance times this
