"""Small problems with exact answers, put to the package's own equations, fluxes and stepper."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from dryingsim import demo_batch
from dryingsim.batch.schema import Batch
from dryingsim.kernels.blocks import BlockTridiagonal
from dryingsim.kernels.grid import MassMatrix, clustered_nodes
from dryingsim.kernels.rosenbrock import Stepper, System
from dryingsim.model.air import GivenAir
from dryingsim.model.edges import EdgeExchange
from dryingsim.model.faces import VAPOUR, AirAtSlabs, Film
from dryingsim.model.slab import WATER_VOLUME, Interior, Slabs
from dryingsim.properties.diffusivity import Convention, Diffusivity
from dryingsim.properties.water_activity import Recipe, SorptionTable

TEMPERATURE = 313.15  # K, of the diffusion problems: the diffusivity does not depend on it


def drying_demo() -> Batch:
    """Return the demonstration without the stage that heats its slices: what dries, and nothing else."""
    demo = demo_batch()
    return replace(demo, stages=demo.stages[demo.first_drying :])


def constant_diffusivity(value: float, convention: Convention = "dry_mass") -> Diffusivity:
    """Diffusivity [m2/s] that depends on nothing."""
    return Diffusivity(
        reference_m2_s=value,
        temperature_K=TEMPERATURE,
        moisture_db=1.0,
        activation_energy_J_mol=0.0,
        half_moisture_db=0.0,
        convention=convention,
    )


def plain_slabs(
    *,
    thickness: np.ndarray,
    moisture: float = 0.0,
    nodes: int,
    diffusivity: Diffusivity | None = None,
    solid_volume: float = 1e-3,
    solid_specific_heat: float = 2000.0,
    solid_conductivity: float = 0.5,
    recipe: Recipe | None = None,
    vapour_open: tuple[float, float] = (1.0, 1.0),
    heat_open: tuple[float, float] = (1.0, 1.0),
    edge_length: float = np.inf,
) -> Slabs:
    """Slabs of given thickness [m], shape (m,), all else alike; by default dry and open on both faces."""
    ones = np.ones_like(thickness)
    volume = solid_volume + WATER_VOLUME * moisture
    return Slabs(
        nodes=clustered_nodes(nodes),
        dry_mass_kg_m2=thickness / volume,
        initial_moisture_db=moisture * ones,
        solid_specific_heat=solid_specific_heat * ones,
        solid_volume=solid_volume * ones,
        solid_conductivity=solid_conductivity * ones,
        diffusivity=diffusivity or constant_diffusivity(1e-10),
        diffusivity_factor=ones,
        half_moisture_factor=ones,
        sorption=SorptionTable([recipe or Recipe(protein=0.88)]),
        recipe=np.zeros(ones.size, dtype=np.intp),
        emissivity=1.0,  # what a face sees is set by the air's `view`
        vapour_open=np.array(vapour_open)[:, None] * ones,
        heat_open=np.array(heat_open)[:, None] * ones,
        edge_length_m=edge_length * ones,
    )


def steady_air(
    *,
    temperature: np.ndarray,
    film: np.ndarray,
    vapour_pressure: np.ndarray | float = 0.0,
    pressure: float = 101325.0,
    mass_factor: np.ndarray | float = 1e-12,
    wall: np.ndarray | None = None,
    emissivity: tuple[float, float] = (0.0, 0.0),
) -> GivenAir:
    """Constant air with a given film coefficient [W/(m2 K)], walls (2, m) at its own temperature if not given."""
    ones = np.ones_like(temperature)
    air = AirAtSlabs(
        temperature_K=temperature,
        vapour_fraction=vapour_pressure / pressure * ones,
        wall_K=np.stack([temperature, temperature]) if wall is None else wall,
        view=np.array(emissivity)[:, None] * ones,
        pressure_Pa=pressure,
        film=Film(
            forced=np.stack([film * ones, film * ones]),
            natural=0.0 * ones,
            mass_factor=mass_factor * ones,
        ),
    )
    return GivenAir(air, air)


class MoistureOnly:
    """Moisture alone, for the stepper: slabs of one temperature, faces that lose conductance * (X - X_equilibrium).

    Parameters
    ----------
    slabs : Slabs
    conductance : ndarray, shape (2, m)
        Of the lower and the upper face [kg/(m2 s)] per kg/kg; zero seals a face, a huge one fixes its moisture.
    equilibrium : float
        Moisture the faces tend to [kg/kg].
    tolerance : float
        Error allowed in a step [kg/kg].
    edge_air : AirAtSlabs, optional
        With it, the long edges exchange too, by `model.edges`.
    edge_film : ndarray, shape (m,), optional
        Film coefficient there [W/(m2 K)].
    """

    def __init__(
        self,
        slabs: Slabs,
        conductance: np.ndarray,
        equilibrium: float,
        tolerance: float,
        edge_air: AirAtSlabs | None = None,
        edge_film: np.ndarray | None = None,
    ) -> None:
        self.slabs, self.n, self.m = slabs, slabs.nodes.size, slabs.dry_mass_kg_m2.size
        self._hats = MassMatrix(slabs.nodes)
        self.share = self._hats.shares
        self._mass = self.share[:, None] * slabs.dry_mass_kg_m2
        self._conductance, self._equilibrium, self._tolerance = conductance, equilibrium, tolerance
        self._edge = (edge_air, edge_film)
        self._interior = Interior(slabs)
        self._matrix = BlockTridiagonal(self.n, self.m, self._hats.bands)
        self._t = np.full((self.n, self.m), TEMPERATURE)

    def initial(self, moisture: np.ndarray | float) -> np.ndarray:
        """State vector of a moisture that broadcasts to (n, m), except that fixed faces have their moisture already."""
        x = np.array(np.broadcast_to(moisture, (self.n, self.m)), dtype=float)
        fixed = self._conductance / self._mass[[0, -1]] > 1e3  # settled within a millisecond
        x[[0, -1]] = np.where(fixed, self._equilibrium, x[[0, -1]])
        return x.reshape(-1)

    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Right-hand side of M dX/dt."""
        x = y.reshape(self.n, self.m)
        water, _ = self._interior.fluxes(x, self._t)
        out = np.zeros_like(x)
        out[:-1] -= water
        out[1:] += water
        out[[0, -1]] -= self._conductance * (x[[0, -1]] - self._equilibrium)
        out /= self.slabs.dry_mass_kg_m2
        if self._edge[0] is not None:
            out -= self._hats.times(self._edges(t, x).boundary_flux[VAPOUR])
        return out.reshape(-1)

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """M u."""
        return self._hats.times(u.reshape(self.n, self.m)).reshape(-1)

    def _edges(self, t: float, x: np.ndarray) -> EdgeExchange:
        air, film = self._edge
        assert air is not None
        assert film is not None
        return EdgeExchange(self.slabs, air, film, film, t, x, self._t)

    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the blocks of the matrix; the second unknown of each block is idle."""
        x = y.reshape(self.n, self.m)
        below, above = self._interior.slopes(x, self._t)[0, :, 0]
        diagonal = np.zeros((2, 2, self.n, self.m))
        lower, upper = np.zeros((2, 2, 2, self.n - 1, self.m))
        lower[0, 0], upper[0, 0] = below / self.slabs.dry_mass_kg_m2, -above / self.slabs.dry_mass_kg_m2
        diagonal[0, 0, :-1] = -below
        diagonal[0, 0, 1:] += above
        diagonal[0, 0, [0, -1]] -= self._conductance
        diagonal[0, 0] /= self.slabs.dry_mass_kg_m2
        self._blocks = (lower, diagonal, upper)

    def factor(self, shift: float) -> None:
        """Factor (shift * M - A)."""
        self._matrix.factor(shift, *self._blocks)

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve (shift * M - A) u = r."""
        both = np.zeros((2, self.n, self.m))
        both[0] = r.reshape(self.n, self.m)
        return self._matrix.solve(both)[0].reshape(-1)

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Largest over the slabs of the root mean square error over what is allowed."""
        scaled = error.reshape(self.n, self.m) / self._tolerance
        return float(np.sqrt(np.max(self.share @ (scaled * scaled))))


def states_at(system: System, y0: np.ndarray, times: np.ndarray, first_step: float) -> np.ndarray:
    """States at given increasing times [s], each hit by a step (no interpolation), shape (k, size)."""
    stepper = Stepper(system, 0.0, y0, first_step=first_step)
    states = []
    for t in times:
        while stepper.t < t:
            stepper.step(float(t))
        states.append(stepper.y)
    return np.stack(states)


def fixed_steps(system: System, y0: np.ndarray, end: float, count: int) -> np.ndarray:
    """State at `end` [s] after `count` equal steps: for the order in time, so the error estimate is not asked."""
    system.error_norm = _always_small  # type: ignore[method-assign]
    stepper = Stepper(system, 0.0, y0, first_step=end)
    for k in range(count):
        stepper.step(end * (k + 1) / count)
    return stepper.y


def _always_small(error: np.ndarray, y: np.ndarray) -> float:
    return 1e-6


def order(size: np.ndarray, error: np.ndarray) -> float:
    """Observed order: slope of log(error) over log(size), size falling or rising."""
    return float(abs(np.polyfit(np.log(size), np.log(np.abs(error)), 1)[0]))


def bisect(function: Callable[[float], float], low: float, high: float) -> float:
    """Root of a function that changes sign between `low` and `high`, to rounding."""
    sign = function(low) > 0.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if (function(middle) > 0.0) == sign else (low, middle)
    return 0.5 * (low + high)
