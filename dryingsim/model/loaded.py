"""Slabs and chamber as one system: the loaded appliance.

The slabs see the chamber only through four numbers each (air temperature, vapour fraction, the two walls) and the
chamber sees the slabs only through five (what passes them). The matrix of a step is therefore the slabs' block-
tridiagonal one with a thin border, and is solved by eliminating the slabs: one extra solve with four right-hand sides
and a small dense system for the chamber. The coupling is exact in the right-hand side and in the matrix, so a heavy
load in little air neither lags nor oscillates.

Appliances side by side (see `chamber`) are as many such systems: slab j of appliance a stands at j * copies + a, and
every appliance has its own border, its own small dense system and, with `kernels.own_steps`, its own steps.
"""

from typing import Annotated, Any

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.model.chamber import Chamber
from dryingsim.model.faces import RADIATED, AirAtSlabs, Film
from dryingsim.model.system import TEMPERATURE_SCALE_K, SlabSystem
from dryingsim.model.thermostat import IDEAL_WIDTH_K
from dryingsim.properties.moist_air import DRY_AIR_SPECIFIC_HEAT

_ALLOWED = (
    "error allowed in chamber air and walls, times the tolerance. Five times those of the meat or more: air forgets an "
    "error within a second, and the meat's own error is controlled beside it"
)
AIR_SCALE_K: Annotated[float, Evidence("K", "numerical", _ALLOWED)] = 5.0 * TEMPERATURE_SCALE_K
HUMIDITY_SCALE: Annotated[float, Evidence("-", "numerical", _ALLOWED)] = 0.5
_NUDGE: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "relative step of the chamber's difference quotients. At 1e-5 that of the water, 0.012 K, missed the steep curve of "
        "an ideal thermostat by 6 %: water seemed to call for heat, and an oven shut refused 45 % of its steps",
        (1e-8, 1e-6),
    ),
] = 1e-7


class LoadedAppliance:
    """Right-hand side, matrix and error norm of slabs in a chamber. State: that of the slabs, then the chamber's."""

    def __init__(self, system: SlabSystem, chamber: Chamber, tolerance: float) -> None:
        self.system, self.chamber = system, chamber
        self.film: Film  # set with every stage
        # An error near the thermostat's width throws its linearisation about: steps are refused, up to thousands of them.
        self._tolerance = min(tolerance, 0.3 * IDEAL_WIDTH_K / AIR_SCALE_K)
        self._scale = self._chamber_scale()
        self._last: tuple[np.ndarray, np.ndarray, AirAtSlabs] | None = None
        self._slab_size = (2 * system.n + 5) * system.m
        self.copies = chamber.copies[0] if chamber.copies else 1
        self._each = system.m // self.copies  # slabs in each appliance

    def parts(self, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Views of the slabs' and the chamber's state."""
        return y[..., : self._slab_size], y[..., self._slab_size :]

    def air(self, c: np.ndarray) -> AirAtSlabs:
        """Return what the slabs feel in a chamber state."""
        chamber = self.chamber
        t, y, below, above = chamber.inputs(c.reshape(chamber.rows.size, *chamber.copies)).reshape(4, -1)
        pressure: Any = chamber.pressure
        pressure = np.tile(pressure, self._each) if np.ndim(pressure) else pressure
        view = chamber.view.reshape(2, -1)
        return AirAtSlabs(t, y, np.stack([below, above]), view, pressure, self.film)

    def _deposited(self, boundary_flux: np.ndarray) -> np.ndarray:
        """What passes the slabs (5, m), as it enters the chamber's balances."""
        if not self.chamber.copies:
            return self.chamber.deposit @ boundary_flux.reshape(-1)
        by_copy = boundary_flux.reshape(5 * self._each, self.copies)
        return np.einsum("sfa,fa->sa", self.chamber.deposit, by_copy).reshape(-1)

    def at(self, t: float | np.ndarray) -> Any:
        """Time of each slab."""
        return t if np.ndim(t) == 0 else np.tile(t, self._each)

    def rhs(self, t: Any, y: np.ndarray) -> np.ndarray:
        """Right-hand side of M dy/dt (`weigh`); with copies each has its own time."""
        slabs, c = self.parts(y)
        air = self.air(c)
        self._last = (y, slabs, air)
        out = np.empty_like(y)
        ds, dc = self.parts(out)
        ds[:] = self.system.rates(self.at(t), slabs, air)
        boundary_flux = self.system.split(ds)[2]
        own = self.chamber.rates(c.reshape(self.chamber.rows.size, *self.chamber.copies))
        dc[:] = own.reshape(-1) + self._deposited(boundary_flux)
        return out

    def linearize(self, t: Any, y: np.ndarray) -> None:
        """Prepare the matrix: the slabs' own, the border, and the chamber's by difference quotients."""
        slabs, c = self.parts(y)
        if self._last is None or self._last[0] is not y:
            self._last = (y, slabs, self.air(c))
        faces = self.system.linearize_in(self.at(t), self._last[1], self._last[2])
        self._by_face = faces.input_slopes()  # (4 fluxes, 4 inputs, 2 faces, m)
        self._by_input = np.concatenate([self._by_face[:RADIATED].sum(axis=2), _per_face(self._by_face)])
        vapour, carried, convected, radiated = self._by_face
        per_mass = 1.0 / self.system.slabs.dry_mass_kg_m2
        self._border = np.stack([-vapour * per_mass, (convected + radiated - carried) * per_mass], axis=1)
        size, copies = self.chamber.rows.size, self.chamber.copies
        c = c.reshape(size, 1, *copies)
        nudges = np.concatenate([np.zeros((size, 1)), np.diag(np.ones(size))], axis=1)
        nudge = _NUDGE * self._scale  # (size[, copies])
        trial = c + (nudges[..., None] * nudge[:, None] if copies else nudges * nudge[:, None])
        rates, inputs = self.chamber.rates(trial), self.chamber.inputs(trial)
        self._own = (rates[:, 1:] - rates[:, :1]) / nudge
        self._inputs = (inputs[:, :, 1:] - inputs[:, :, :1]) / nudge  # (4, slabs of one, size[, copies])

    def _chamber_scale(self) -> np.ndarray:
        """Typical change of each chamber state."""
        rows, walls = self.chamber.rows, self.chamber.appliance.walls
        scale = np.ones((rows.size, *self.chamber.copies))
        air = self.chamber.air_like(scale)
        scale[rows.energy] = AIR_SCALE_K * DRY_AIR_SPECIFIC_HEAT * air
        scale[rows.water] = HUMIDITY_SCALE * air
        scale[rows.shell_J] = AIR_SCALE_K * walls.capacity_J_K
        scale[rows.floor_J] = AIR_SCALE_K * walls.floor_capacity_J_K
        scale[rows.thermostat_K] = AIR_SCALE_K
        scale[rows.element_J] = AIR_SCALE_K * walls.floor_capacity_J_K
        return scale

    def weights(self, y: np.ndarray) -> np.ndarray:
        """Inverse of typical changes of a state's parts; 0 of running totals, on which nothing depends."""
        out = np.zeros_like(y)
        slabs, chamber = self.parts(out)
        nodes = slabs.reshape(-1, self.system.m)[: 2 * self.system.n]
        nodes[:] = 1.0 / self.system.typical(self.parts(y)[0]).reshape(nodes.shape)
        states = slice(0, self.chamber.rows.totals.start)
        chamber[states] = 1.0 / self._scale[states]
        return out

    def heating(self, y: np.ndarray) -> np.ndarray:
        """What the heating element at full power adds to the rates of a state."""
        out, rows = np.zeros_like(y), self.chamber.rows
        self.parts(out)[1][[rows.element_J, rows.heater_J]] = self.chamber.appliance.heater.power_W
        return out

    def factor(self, shift: Any) -> None:
        """Factor (shift * M - A): slabs, then the chamber with the slabs eliminated; with copies each its own."""
        system, n, m = self.system, self.system.n, self.system.m
        system.factor(self.at(shift))
        border = np.zeros((4, 2, n, m))  # change of the nodes' rates by each input
        border[:, :, :: n - 1] = self._border
        self._response = system.solve_nodes(border)  # (4, 2, n, m)
        self._through = np.swapaxes(system.passed(self._response), 0, 1) + self._by_input  # (5, 4, m)
        size, copies, each = self.chamber.rows.size, self.chamber.copies, self._each
        through = self._through.reshape(5, 4, each, *copies)
        if copies:
            coupled = np.einsum("fgma,gmca->fmca", through, self._inputs).reshape(5 * each, size, *copies)
            schur = np.einsum("sfa,fca->asc", self.chamber.deposit, coupled)
            own = shift[:, None, None] * np.eye(size) - np.moveaxis(self._own, -1, 0)
        else:
            coupled = np.einsum("fgm,gmc->fmc", through, self._inputs)
            schur = self.chamber.deposit @ coupled.reshape(5 * each, size)
            own = shift * np.eye(size) - self._own
        self._chamber_matrix = np.linalg.inv(own - schur)

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """Of a state, what the balances are of (`SlabSystem.weigh`)."""
        slabs, chamber = self.parts(u)
        return np.concatenate([self.system.weigh(slabs), chamber])

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve (shift * M - A) u = r."""
        system, n = self.system, self.system.n
        rs, rc = self.parts(r)
        rows = rs.reshape(2 * n + 5, system.m)
        free = system.solve_nodes(rows[: 2 * n].reshape(2, n, system.m))
        passed = system.passed(free)
        rc = rc + self._deposited(passed)
        if self.chamber.copies:
            dc = np.einsum(
                "asc,ca->sa", self._chamber_matrix, rc.reshape(self.chamber.rows.size, self.copies)
            )
            inputs = np.einsum("gmca,ca->gma", self._inputs, dc).reshape(4, system.m)
        else:
            dc = self._chamber_matrix @ rc
            inputs = self._inputs @ dc
        nodes = free + np.einsum("guim,gm->uim", self._response, inputs)
        passed = passed + np.einsum("fgm,gm->fm", self._through, inputs)
        return np.concatenate([system.with_totals(nodes, rows[2 * n :] + passed), dc.reshape(-1)])

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Largest of the slabs' norm and the scaled errors of the chamber's air and walls."""
        return float(self.error_norms(error, y).max())

    def error_norms(self, error: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Likewise of each of the copies."""
        slab_error, chamber_error = self.parts(error)
        slabs, _ = self.parts(y)
        rows = self.chamber.rows
        scaled = chamber_error.reshape(rows.size, -1)[rows.air_and_walls]
        scaled = scaled / (self._tolerance * self._scale.reshape(rows.size, -1)[rows.air_and_walls])
        of_slabs = self.system.error_norms(slab_error, slabs).reshape(self._each, self.copies).max(axis=0)
        return np.maximum(of_slabs, np.sqrt((scaled * scaled).mean(axis=0)))


class BesideAppliance:
    """Slabs of an appliance in something else, while what is in its chamber stands still.

    Parameters
    ----------
    loaded : LoadedAppliance
    air : AirAtSlabs
        What the slabs are in.
    """

    def __init__(self, loaded: LoadedAppliance, air: AirAtSlabs) -> None:
        self._loaded, self._air = loaded, air

    def rhs(self, t: Any, y: np.ndarray) -> np.ndarray:
        """Right-hand side of M dy/dt (`weigh`)."""
        out = np.zeros_like(y)
        slabs = self._loaded.parts(y)[0]
        self._loaded.parts(out)[0][:] = self._loaded.system.rates(self._loaded.at(t), slabs, self._air)
        return out

    def linearize(self, t: Any, y: np.ndarray) -> None:
        """Prepare the matrix of the slabs."""
        self._loaded.system.linearize_in(self._loaded.at(t), self._loaded.parts(y)[0], self._air)

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """Of a state, what the balances are of."""
        return self._loaded.weigh(u)

    def factor(self, shift: Any) -> None:
        """Factor (shift * M - A)."""
        self._shift = shift
        self._loaded.system.factor(self._loaded.at(shift))

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve (shift * M - A) u = r."""
        slabs, chamber = self._loaded.parts(r)
        still = chamber.reshape(-1, np.size(self._shift)) / self._shift
        return np.concatenate([self._loaded.system.solve(slabs), still.reshape(-1)])

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Largest of the slabs' norms."""
        return float(self.error_norms(error, y).max())

    def error_norms(self, error: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Likewise of each of the copies."""
        norms = self._loaded.system.error_norms(self._loaded.parts(error)[0], self._loaded.parts(y)[0])
        return norms.reshape(-1, self._loaded.copies).max(axis=0)


def _per_face(by_face: np.ndarray) -> np.ndarray:
    """Radiation through the lower and the upper face by the inputs, shape (2, 4, m)."""
    return np.moveaxis(by_face[RADIATED], 1, 0)
