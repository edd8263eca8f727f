"""The equations of all slabs of a batch as one system M dy/dt = f(t, y) for the stepper.

State, as a flat vector of (2 n + 5, m): moisture of the n nodes, their enthalpies, and five running totals per slab
and area of one face: vapour given off [kg/m2], the enthalpy it carried, and the heat received by convection, by
radiation from below and from above [J/m2] (`VAPOUR`, `CARRIED`, `CONVECTED`, `FROM_BELOW`, `FROM_ABOVE`). The totals
are integrated by the same method from the same fluxes, which is what makes the balances worth reporting.
"""

from typing import Annotated, Protocol

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.kernels.blocks import BlockElimination, BlockTridiagonal
from dryingsim.kernels.grid import MassMatrix
from dryingsim.model.boiling import Boiling, may_boil
from dryingsim.model.edges import EdgeNodes, Edges
from dryingsim.model.faces import (
    CARRIED,
    CONVECTED,
    RADIATED,
    VAPOUR,
    AirAtSlabs,
    FaceExchange,
    vapour_over,
)
from dryingsim.model.medium import dripped
from dryingsim.model.simple_faces import simple_faces
from dryingsim.model.slab import Interior, Slabs
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT
from dryingsim.typing import Array

X, T = 0, 1  # order of the unknowns in blocks and derivatives
FROM_BELOW, FROM_ABOVE = RADIATED, RADIATED + 1  # rows of the totals after the first three of `faces`
# moisture, temperature and exchanges of a state
_Seen = tuple[np.ndarray, np.ndarray, FaceExchange, Boiling | None, EdgeNodes | None]
_OUTWARD = np.array([[-1.0], [1.0]])  # out of the lower face is downward


class AirSide(Protocol):
    """What surrounds the slabs. Given air and an appliance both answer this one question."""

    def at(self, t: float) -> AirAtSlabs:
        """Return the air that each slab feels at time t [s]."""


class SlabSystem:
    """Right-hand side, matrix and error norm of `slabs` in the air of `air`.

    Attributes
    ----------
    hats : MassMatrix
        Of the nodes' balances.
    air : AirSide
        May be exchanged between stages (then `Stepper.restart`).

    `matrix` is the way the linear systems are solved: the band for one slab to some hundreds, the elimination for more.
    """

    def __init__(
        self,
        slabs: Slabs,
        air: AirSide | None,
        tolerance: float,
        matrix: type[BlockTridiagonal | BlockElimination] = BlockTridiagonal,
    ) -> None:
        self.slabs = slabs
        if air is not None:  # a chamber hands its air over with every call instead
            self.air: AirSide = air
        self.n, self.m = slabs.nodes.size, slabs.dry_mass_kg_m2.size
        self.hats = MassMatrix(slabs.nodes)
        self.mass = self.hats.shares[:, None] * slabs.dry_mass_kg_m2
        self._per_mass = 1.0 / slabs.dry_mass_kg_m2
        self._interior = Interior(slabs)
        self._matrix = matrix(self.n, self.m, self.hats.bands)
        self._edges = Edges(slabs, self.mass) if np.any(np.isfinite(slabs.edge_length_m)) else None
        self._tolerance = tolerance
        self._last: tuple[np.ndarray, AirAtSlabs, _Seen] | None = None

    # --- views -------------------------------------------------------------------------------------------------
    def split(self, y: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Moisture (n, m), enthalpy (n, m) and totals (5, m) as views of a state vector."""
        rows = y.reshape(2 * self.n + 5, self.m)
        return rows[: self.n], rows[self.n : 2 * self.n], rows[2 * self.n :]

    def initial(self, moisture: Array, temperature: Array) -> np.ndarray:
        """State vector of slabs of even moisture and temperature, arrays that broadcast to (n, m)."""
        y = np.zeros((2 * self.n + 5) * self.m)
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

    def content(self, y: np.ndarray) -> np.ndarray:
        """Water and energy in each slab, per area of one face, shape (2, m) [kg/m2], [J/m2]."""
        x, h, _ = self.split(y)
        return np.stack([(self.mass * x).sum(axis=0), (self.mass * h).sum(axis=0)])

    def drip(self, y: np.ndarray, time_s: float | np.ndarray) -> np.ndarray:
        """Take off the juice that hot meat lets go, in place; return it, per area of one face [kg/m2], shape (m,).

        It passes as the vapour does: the running totals have it in them.

        Parameters
        ----------
        y : ndarray
            State.
        time_s : float or ndarray, shape (m,)
            How long the slices were in what heated them [s].
        """
        x, h, totals = self.split(y)
        lost = np.stack(dripped(self.slabs, x, h, time_s))
        x -= lost[0]
        h -= lost[1]
        passed = (self.mass * lost).sum(axis=1)
        totals[: CARRIED + 1] += passed
        return np.asarray(passed[0])

    # --- right-hand side ---------------------------------------------------------------------------------------
    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Right-hand side of M dy/dt (`weigh`) in the air of `air`."""
        return self.rates(t, y, self.air.at(t))

    def rates(self, t: float, y: np.ndarray, air: AirAtSlabs) -> np.ndarray:
        """Right-hand side likewise in the given air; its last five rows are what passes each slab."""
        n, m = self.n, self.m
        x, temperature, faces, boiling, edges = self._look(y, air)
        upward = np.empty((2, n + 1, m))  # water and heat through every face of a control volume
        upward[:, 1:-1] = self._interior.fluxes(x, temperature)
        upward[0, ::n] = faces.boundary_flux[VAPOUR] * _OUTWARD
        upward[1, ::n] = _net_loss(faces.boundary_flux) * _OUTWARD
        out = np.empty((2 * n + 5, m))
        rates, totals = out[: 2 * n].reshape(2, n, m), out[2 * n :]
        np.multiply(upward[:, :-1] - upward[:, 1:], self._per_mass, out=rates)
        np.sum(faces.boundary_flux[:RADIATED], axis=1, out=totals[:FROM_BELOW])
        totals[FROM_BELOW:] = faces.boundary_flux[RADIATED]
        if edges is None and boiling is None:
            return out.reshape(-1)
        # what nodes gain from elsewhere than their neighbours
        if self._edges is not None and edges is not None:
            inside = self._edges.gain(totals, air, faces, t, x, edges)
        else:
            inside = np.zeros_like(rates)
        if boiling is not None:
            lost = boiling.boundary_flux[: CARRIED + 1]  # the vapour, and the enthalpy with it
            inside -= lost
            totals[: CARRIED + 1] += (self.mass * lost).sum(axis=1)
        rates += self.hats.times(inside)
        return out.reshape(-1)

    def derivative(self, t: float, y: np.ndarray) -> np.ndarray:
        """Return dy/dt itself, for solvers that know no mass matrix."""
        out = self.rhs(t, y)
        nodes = out.reshape(2 * self.n + 5, self.m)[: 2 * self.n].reshape(2, self.n, self.m)
        nodes[:] = self.hats.solve(nodes)
        return out

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """Of a state, what the balances are of: the nodes by their hats, the totals as they are."""
        out = u.copy()
        nodes = out.reshape(2 * self.n + 5, self.m)[: 2 * self.n].reshape(2, self.n, self.m)
        nodes[:] = self.hats.times(nodes)
        return out

    def _look(self, y: np.ndarray, air: AirAtSlabs) -> _Seen:
        """Moisture, temperature and exchanges of a state."""
        x, h, _ = self.split(y)
        temperature = self.slabs.temperature(x, h)
        if self.slabs.surface is not None:
            simpler = simple_faces(self.slabs, air, x[:: self.n - 1], temperature[:: self.n - 1])
            self._last = (y, air, (x, temperature, simpler, None, None))
            return self._last[2]
        over = edges = at_faces = None
        if may_boil(temperature, air.pressure_Pa):
            over = vapour_over(self.slabs, air.pressure_Pa, x, temperature)
        if self._edges is not None and np.any(
            air.film.mass_factor
        ):  # else heat at edges is left out (model.edges)
            edges = self._edges.nodes(air.pressure_Pa, x, temperature, over)
            at_faces = edges.over[:: len(edges.x) - 1]
        faces = FaceExchange(self.slabs, air, x[:: self.n - 1], temperature[:: self.n - 1], at_faces)
        boiling = None if over is None else Boiling(self.slabs, x, temperature, over)
        self._last = (y, air, (x, temperature, faces, boiling, edges))
        return self._last[2]

    # --- matrix ------------------------------------------------------------------------------------------------
    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the matrix in the air of `air`."""
        self.linearize_in(t, y, self.air.at(t))

    def linearize_in(self, t: float, y: np.ndarray, air: AirAtSlabs) -> FaceExchange:
        """Prepare the blocks of the matrix, by (X, H) of each node, and the rows of the totals (`boundary_flux`).

        The long edges are left out: with their slopes the steps are fewer by a tenth, and each takes a fifth longer.
        """
        n, m = self.n, self.m
        # The stepper has just asked for the rates of the same state.
        seen = self._last is not None and self._last[0] is y and self._last[1] is air
        x, temperature, faces, boiling, _ = self._last[2] if seen and self._last else self._look(y, air)
        # Chain rule: the fluxes know (X, T), the state is (X, H) with T = T0 + H/C(X).
        by_h = 1.0 / self.slabs.heat_capacity(x)
        by_x = -LIQUID_SPECIFIC_HEAT * (temperature - ZERO_CELSIUS) * by_h
        flux = self._interior.slopes(x, temperature)
        for side, nodes in enumerate((slice(None, -1), slice(1, None))):
            flux[:, side, X] += flux[:, side, T] * by_x[nodes]
            flux[:, side, T] *= by_h[nodes]
        slopes = faces.slopes()
        at = slice(None, None, self.n - 1 if boiling is None else 1)  # nodes with an outside
        boundary_flux = np.zeros((5, 2, *x[at].shape))  # rows of the totals: what passes there, by [X, H]
        ends = slice(None, None, boundary_flux.shape[2] - 1)
        boundary_flux[:RADIATED, :, ends] = slopes[:RADIATED]
        boundary_flux[FROM_BELOW, :, 0] = slopes[RADIATED, :, 0]
        boundary_flux[FROM_ABOVE, :, -1] = slopes[RADIATED, :, 1]
        if boiling is not None:
            boundary_flux[: CARRIED + 1] += boiling.slopes()[: CARRIED + 1] * self.mass
        boundary_flux[:, X] += boundary_flux[:, T] * by_x[at]
        boundary_flux[:, T] *= by_h[at]
        diagonal = np.zeros((2, 2, n, m))
        diagonal[0, :, at], diagonal[1, :, at] = -boundary_flux[VAPOUR], -_net_loss(boundary_flux)
        diagonal[:, :, :-1] -= flux[:, 0]
        diagonal[:, :, 1:] += flux[:, 1]
        diagonal *= self._per_mass
        lower, upper = flux[:, 0] * self._per_mass, flux[:, 1] * -self._per_mass
        self._blocks, self.boundary_flux, self._exchanging = (lower, diagonal, upper), boundary_flux, at
        return faces

    def factor(self, shift: float) -> None:
        """Factor (shift * M - A)."""
        self._shift = shift
        self._matrix.factor(shift, *self._blocks)

    def solve_nodes(self, r: np.ndarray) -> np.ndarray:
        """Solve (shift * M - A) u = r for the nodes alone; shape (..., 2, n, m)."""
        return self._matrix.solve(r)

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve (shift * M - A) u = r; the totals follow from the nodes by substitution."""
        rows = r.reshape(2 * self.n + 5, self.m)
        nodes = self.solve_nodes(rows[: 2 * self.n].reshape(2, self.n, self.m))
        return self.with_totals(nodes, rows[2 * self.n :] + self.passed(nodes))

    def passed(self, nodes: np.ndarray) -> np.ndarray:
        """Linearised change of what passes each slab, shape (..., 5, m), for changes (..., 2, n, m) of the nodes."""
        return np.einsum("fuim,...uim->...fm", self.boundary_flux, nodes[..., self._exchanging, :])

    def with_totals(self, nodes: np.ndarray, totals: np.ndarray) -> np.ndarray:
        """Solution vector from that of the nodes and the right-hand sides of the totals."""
        out = np.empty((2 * self.n + 5, self.m))
        out[: 2 * self.n] = nodes.reshape(2 * self.n, self.m)
        np.multiply(totals, 1.0 / self._shift, out=out[2 * self.n :])
        return out.reshape(-1)

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Largest over the slabs of the mass-weighted root mean square of scaled errors of X and T."""
        return float(self.error_norms(error, y).max())

    def error_norms(self, error: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Mass-weighted root mean square of the scaled errors of X and T, by slab."""
        n, m = self.n, self.m
        scale = self.typical(y)
        scale *= self._tolerance
        scaled = error[: 2 * n * m].reshape(2, n, m) / scale
        return np.sqrt(np.einsum("i,fim,fim->m", self.hats.shares, scaled, scaled))

    def typical(self, y: np.ndarray) -> np.ndarray:
        """Changes of X and H that errors are measured by, shape (2, n, m)."""
        x, _, _ = self.split(y)
        scale = np.empty((2, self.n, self.m))
        np.add(x, X_FLOOR, out=scale[0])
        np.multiply(self.slabs.heat_capacity(x), TEMPERATURE_SCALE_K, out=scale[1])
        return scale


def _net_loss(boundary_flux: np.ndarray) -> np.ndarray:
    """Energy out of the slab: carried by vapour, less all the heat received."""
    return boundary_flux[CARRIED] - boundary_flux[CONVECTED:].sum(axis=0)


X_FLOOR: Annotated[
    float, Evidence("kg/kg", "numerical", "the error allowed in X is tolerance * (X_FLOOR + X)")
] = 0.3
TEMPERATURE_SCALE_K: Annotated[
    float, Evidence("K", "numerical", "the error allowed in T is tolerance times this")
] = 40.0
