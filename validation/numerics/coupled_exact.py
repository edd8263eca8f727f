"""Exact tests of the coupled problem: a manufactured solution, and a linear problem of Luikov's kind."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.linalg import expm

from dryingsim.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from dryingsim.kernels.grid import NODES
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR, FaceExchange
from dryingsim.model.slab import WATER_CONDUCTIVITY, WATER_VOLUME, Slabs
from dryingsim.model.system import SlabSystem
from dryingsim.properties import water
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT
from dryingsim.properties.water_activity import Recipe, water_activity
from validation.case import Case, Plot, Result
from validation.physics.diffusion import convergence
from validation.setups import constant_diffusivity, fixed_steps, plain_slabs, steady_air

RECIPE = Recipe(protein=0.82, salt=0.05, sugar=0.04)
SPAN = 1200.0  # s, over which the manufactured solution changes
END = 600.0  # s
EPS = 1e-3  # of the derivatives over the thickness


# --- a manufactured solution -------------------------------------------------------------------------------------
def moisture(s: np.ndarray, t: float) -> np.ndarray:
    """Chosen moisture [kg/kg] at places s of 0..1."""
    return 1.2 + 0.3 * np.cos(np.pi * s) * np.exp(-t / SPAN) - 0.4 * (t / SPAN) * s**2


def temperature(s: np.ndarray, t: float) -> np.ndarray:
    """Chosen temperature [K]."""
    return 310.0 + 8.0 * np.sin(1.3 * s + 0.4) * (1.0 + 0.6 * t / SPAN)


def slope(f, s: np.ndarray) -> np.ndarray:
    """First derivative over s by eighth-order central differences."""
    weights = (4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0)
    return sum(w * (f(s + k * EPS) - f(s - k * EPS)) for k, w in enumerate(weights, 1)) / EPS


class Manufactured:
    """The package's slab with sources under which the chosen fields are the solution.

    Parameters
    ----------
    nodes : int
    tolerance : float
        Of the steps.
    discrete : bool
        Sources of the equations between nodes (no error of the grid is left) instead of those of the continuum.
    """

    def __init__(self, nodes: int, tolerance: float, *, discrete: bool = False) -> None:
        self.slabs: Slabs = plain_slabs(
            thickness=np.array([5e-3]),
            moisture=2.4,
            nodes=nodes,
            diffusivity=LEAN_MEAT,
            solid_volume=0.72e-3,
            solid_conductivity=0.2,
            recipe=RECIPE,
        )
        air = steady_air(
            temperature=np.array([330.0]),
            film=np.array([20.0]),
            vapour_pressure=2000.0,
            mass_factor=7e-4,
            emissivity=(1.0, 0.5),
        )
        self.system = SlabSystem(self.slabs, air, tolerance)
        self._source = self._discrete if discrete else self._continuous
        self.factor, self.solve, self.weigh = self.system.factor, self.system.solve, self.system.weigh
        self.error_norm = self.system.error_norm

    def exact(self, t: float) -> np.ndarray:
        """State vector of the chosen fields (totals zero)."""
        s = self.slabs.nodes[:, None]
        return self.system.initial(moisture(s, t), temperature(s, t))

    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Right-hand side with sources."""
        return self.system.rhs(t, y) + self._source(t)

    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the matrix: sources do not depend on the state."""
        self.system.linearize(t, y)

    def _rate(self, t: float) -> np.ndarray:
        """Time derivative of the chosen state, by eighth-order differences."""
        return slope(lambda u: np.concatenate([self.exact(float(x)) for x in u]), np.array([t]))

    def _discrete(self, t: float) -> np.ndarray:
        out = self.weigh(self._rate(t)) - self.system.rhs(t, self.exact(t))
        self.system.split(out)[2][:] = 0.0
        return out

    def _fluxes(self, s: np.ndarray, t: float) -> tuple[np.ndarray, np.ndarray]:
        """Upward fluxes of water and heat of the continuum for the chosen fields, from the published formulas."""
        x, temp, mass = moisture(s, t), temperature(s, t), float(self.slabs.dry_mass_kg_m2[0])
        volume = float(self.slabs.solid_volume[0]) + WATER_VOLUME * x
        density0 = float(self.slabs.initial_dry_density[0])
        water_flux = -LEAN_MEAT.value(temp, x) * density0**2 / mass * slope(lambda u: moisture(u, t), s)
        solid = float(self.slabs.solid_volume[0]) * float(self.slabs.solid_conductivity[0])
        conducting = (solid + WATER_VOLUME * WATER_CONDUCTIVITY * x) / volume**2  # k rho_d
        heat = -conducting / mass * slope(lambda u: temperature(u, t), s)
        return water_flux, heat + water_flux * LIQUID_SPECIFIC_HEAT * (temp - ZERO_CELSIUS)

    def _continuous(self, t: float) -> np.ndarray:
        s, mass = self.slabs.nodes, float(self.slabs.dry_mass_kg_m2[0])
        out = self._rate(t)
        x, h, totals = self.system.split(out)
        totals[:] = 0.0
        x[:, 0] += slope(lambda u: self._fluxes(u, t)[0], s) / mass
        h[:, 0] += slope(lambda u: self._fluxes(u, t)[1], s) / mass
        ends = np.array([0.0, 1.0])
        faces = FaceExchange(
            self.slabs, self.system.air.at(t), moisture(ends, t)[:, None], temperature(ends, t)[:, None]
        ).boundary_flux[:, :, 0]
        upward = self._fluxes(ends, t)
        loss = faces[CARRIED] - faces[CONVECTED:].sum(axis=0)
        sign = np.array([1.0, -1.0])
        out = self.weigh(out)
        x, h, _ = self.system.split(out)
        x[[0, -1], 0] += (faces[VAPOUR] + sign * upward[0]) / mass
        h[[0, -1], 0] += (loss + sign * upward[1]) / mass
        return out


@cache
def manufactured_error(nodes: int) -> tuple[float, float]:
    """Root mean square errors of moisture [kg/kg] and temperature [K] at the end, with steps that add nothing."""
    problem = Manufactured(nodes, 1e-7)
    stepper = Stepper(problem, 0.0, problem.exact(0.0))
    while stepper.t < END:
        stepper.step(END)
    x, h, _ = problem.system.split(stepper.y)
    share = problem.system.mass[:, 0] / problem.system.mass.sum()
    s = problem.slabs.nodes
    error_x = x[:, 0] - moisture(s, END)
    error_t = problem.slabs.temperature(x, h)[:, 0] - temperature(s, END)
    return float(np.sqrt(share @ error_x**2)), float(np.sqrt(share @ error_t**2))


def order_in_space(which: int, label: str, full: bool) -> Result:
    sizes = np.array([16, 32, 64, 128] if full else [24, 48])
    errors = np.array([manufactured_error(int(n))[which] for n in sizes])
    return convergence(f"Manufactured solution, grid: {label}", "nodes - 1", sizes - 1, errors)


def order_in_time(full: bool) -> Result:
    counts = np.array([20, 40, 80, 160] if full else [20, 40, 80])
    errors = []
    for count in counts:
        problem = Manufactured(NODES, 1.0, discrete=True)
        y = fixed_steps(problem, problem.exact(0.0), END, int(count))
        kept = 2 * problem.system.n
        scale = np.repeat([1.0, 3e5], problem.system.n)
        difference = (y - problem.exact(END))[:kept] / scale
        errors.append(float(np.sqrt(np.mean(difference**2))))
    return convergence("Manufactured solution, steps", "steps", counts, np.array(errors))


# --- a linear problem of Luikov's kind ---------------------------------------------------------------------------
@dataclass(frozen=True)
class Base:
    """The equilibrium about which the model is linear: a moist slab in air of its own water activity."""

    moisture: float = 0.25
    kelvin: float = 320.0
    film: float = 15.0
    mass_factor: float = 7e-4
    diffusivity: float = 5e-10
    view: float = 1.0
    thickness: float = 1.5e-3

    @property
    def activity(self) -> float:
        """Water activity of slab and air."""
        return float(water_activity(self.moisture, self.kelvin, RECIPE))


BASE = Base()
PUSH_X, PUSH_T = 1e-3, 0.02  # kg/kg, K: far below what bends the model's curves
TIMES = np.array([30.0, 120.0, 600.0, 2400.0, 7200.0])


def own_linear(nodes: int) -> np.ndarray:
    """Means and face values of both fields over the push, from the package, shape (times, 4)."""
    ones = np.array([1.0])
    slabs = plain_slabs(
        thickness=BASE.thickness * ones,
        moisture=BASE.moisture,
        nodes=nodes,
        diffusivity=constant_diffusivity(BASE.diffusivity),
        solid_volume=0.72e-3,
        solid_conductivity=0.2,
        recipe=RECIPE,
        vapour_open=(0.0, 1.0),
    )
    pressure = 101325.0
    air = steady_air(
        temperature=BASE.kelvin * ones,
        film=BASE.film * ones,
        vapour_pressure=BASE.activity * float(water.saturation_pressure(BASE.kelvin)),
        pressure=pressure,
        mass_factor=BASE.mass_factor,
        emissivity=(BASE.view, BASE.view),
    )
    system = SlabSystem(slabs, air, 1e-8)
    x0 = slabs_moisture(slabs.nodes)[:, None]
    stepper = Stepper(system, 0.0, system.initial(x0, BASE.kelvin + PUSH_T), first_step=1e-3)
    share = system.mass[:, 0] / system.mass.sum()
    rows = []
    for t in TIMES:
        while stepper.t < t:
            stepper.step(float(t))
        x, h, _ = system.split(stepper.y)
        dx = (x[:, 0] - BASE.moisture) / PUSH_X
        dt = (slabs.temperature(x, h)[:, 0] - BASE.kelvin) / PUSH_T
        rows.append([share @ dx, dx[-1], share @ dt, dt[0]])
    return np.array(rows)


def slabs_moisture(s: np.ndarray) -> np.ndarray:
    """Moisture at the start: level at the open face, so that both fields start gently."""
    return BASE.moisture + PUSH_X * np.cos(0.5 * np.pi * s) ** 2


def spectral_linear(points: int = 32) -> np.ndarray:
    """The same by Chebyshev collocation of the linear equations, boundary values eliminated, exact in time."""
    k = np.arange(points + 1)
    z = np.cos(np.pi * k / points)[::-1]
    c = np.where((k == 0) | (k == points), 2.0, 1.0) * (-1.0) ** k
    gap = z[:, None] - z + np.eye(points + 1)
    d = np.outer(c, 1.0 / c) / gap
    d = 2.0 * (d - np.diag(d.sum(axis=1)))  # on 0..1
    s = 0.5 * (z + 1.0)
    coefficient = linear_coefficients()
    n = points + 1
    second = d @ d
    full = np.zeros((2 * n, 2 * n))
    full[:n, :n], full[n:, n:] = coefficient["x"] * second, coefficient["t"] * second
    edge = np.array([0, n - 1, n, 2 * n - 1])
    inner = np.setdiff1d(np.arange(2 * n), edge)
    rows = boundary_rows(d, n, coefficient)
    follow = -np.linalg.solve(rows[:, edge], rows[:, inner])  # boundary values from the inner ones
    matrix = full[np.ix_(inner, inner)] + full[np.ix_(inner, edge)] @ follow
    start = np.concatenate([(slabs_moisture(s) - BASE.moisture), np.full(n, PUSH_T)])[inner]
    weights = chebyshev_weights(points)
    out = []
    for t in TIMES:
        u = np.zeros(2 * n)
        u[inner] = expm(matrix * t) @ start
        u[edge] = follow @ u[inner]
        out.append(
            [
                weights @ u[:n] / PUSH_X,
                u[n - 1] / PUSH_X,
                weights @ u[n:] / PUSH_T,
                u[n] / PUSH_T,
            ]
        )
    return np.array(out)


def linear_coefficients() -> dict[str, float]:
    """Coefficients of the linear equations, from property functions by differences; nothing of the model's own slopes."""
    x, t, pressure = BASE.moisture, BASE.kelvin, 101325.0
    solid_volume, solid_conductivity, solid_heat = 0.72e-3, 0.2, 2000.0
    volume = solid_volume + WATER_VOLUME * x
    mass = BASE.thickness / volume
    capacity = solid_heat + LIQUID_SPECIFIC_HEAT * x
    conducting = (solid_volume * solid_conductivity + WATER_VOLUME * WATER_CONDUCTIVITY * x) / volume**2

    def fraction(x: float, t: float) -> float:
        return float(water_activity(x, t, RECIPE) * water.saturation_pressure(t)) / pressure

    y = fraction(x, t)
    film = BASE.mass_factor * BASE.film / (1.0 - y)
    return {
        "x": BASE.diffusivity / volume**2 / mass**2,
        "t": conducting / capacity / mass**2,
        "water": BASE.diffusivity / volume**2 / mass,
        "heat": conducting / mass,
        "by_x": film * (fraction(x + 1e-5, t) - fraction(x - 1e-5, t)) / 2e-5,
        "by_t": film * (fraction(x, t + 1e-3) - fraction(x, t - 1e-3)) / 2e-3,
        "latent": float(water.vapour_enthalpy(t) - water.liquid_enthalpy(t)),
        "surface": BASE.film + 4.0 * BASE.view * STEFAN_BOLTZMANN * t**3,
    }


def boundary_rows(d: np.ndarray, n: int, c: dict[str, float]) -> np.ndarray:
    """Four conditions on (x, t) at the nodes: lower face sealed to vapour, upper open; both exchange heat."""
    rows = np.zeros((4, 2 * n))
    rows[0, :n] = d[0]  # no water through the lower face
    rows[1, n:] = -c["heat"] * d[0]  # upward conduction = heat received
    rows[1, n] += c["surface"]
    rows[2, :n] = -c["water"] * d[-1]  # water that comes up = vapour given off
    rows[2, n - 1] -= c["by_x"]
    rows[2, 2 * n - 1] -= c["by_t"]
    rows[3, n:] = -c["heat"] * d[-1]  # upward conduction = heat given off
    rows[3, 2 * n - 1] -= c["surface"] + c["latent"] * c["by_t"]
    rows[3, n - 1] -= c["latent"] * c["by_x"]
    return rows


def chebyshev_weights(points: int) -> np.ndarray:
    """Clenshaw-Curtis weights on 0..1."""
    k = np.arange(points + 1)
    theta = np.pi * k / points
    moments = np.where(k % 2 == 0, 1.0 / (1.0 - (k * (k % 2 == 0)) ** 2.0 + (k == 1)), 0.0)
    matrix = np.cos(np.outer(k, theta))
    return np.linalg.solve(matrix, moments)


def luikov(full: bool) -> Result:
    values, exact = own_linear(96 if full else 48), spectral_linear()
    names = (
        "mean moisture",
        "moisture of the open face",
        "mean temperature",
        "temperature of the sealed face",
    )
    plot = Plot(
        title="Small disturbance of a moist slab, coupled at its faces",
        x_label="s",
        y_label="share of the disturbance",
        points=tuple((f"{n}, spectral", TIMES, exact[:, i]) for i, n in enumerate(names)),
        lines=tuple((n, TIMES, values[:, i]) for i, n in enumerate(names)),
    )
    return Result(values, (plot,))


CASES = [
    *(
        Case(
            name=f"manufactured solution: order in space, {label}",
            kind=1,
            source="sources under which chosen fields solve the coupled equations with all face terms",
            status="derived",
            inputs="5 mm, lean meat's diffusivity, evaporation, radiation and convection on both faces, 10 min; "
            "24, 48 (full: 16 to 128) nodes",
            expected=1.9,
            tolerance=0.0,
            bound="at least",
            reason="second order in theory; 0.1 for the coarsest grids",
            compute=lambda full, i=i, label=label: order_in_space(i, label, full),
            slow=True,
        )
        for i, label in enumerate(("moisture", "temperature"))
    ),
    Case(
        name="manufactured solution: order in time",
        kind=1,
        source="third order for any matrix: Rang & Angermann (2005); sources of the discrete equations",
        status="derived",
        inputs=f"{NODES} nodes, 20, 40, 80 (full: 160) equal steps over 10 min",
        expected=2.0,
        tolerance=0.0,
        bound="at least",
        reason="third order in theory, but faces that follow a source within a fraction of a step reduce any "
        "linearly implicit method towards the order of its stages; second is what the interpolation needs",
        compute=order_in_time,
        slow=True,
    ),
    Case(
        name="linear coupled problem of Luikov's kind",
        kind=1,
        source="Chebyshev collocation of the linear equations, exact in time, written for this case",
        status="derived",
        inputs="1.5 mm, X 0.25, 320 K, lower face sealed to vapour; disturbance of moisture and temperature coupled by the "
        "open face; means and faces at 30 s to 2 h, as a share of the disturbance",
        expected=lambda full: spectral_linear(),
        tolerance=0.004,
        reason="half cells of 48 nodes follow the air at once (their share of the slab is 0.004); curvature of the "
        "model's laws over so small a disturbance adds 1e-4",
        compute=luikov,
        slow=True,
    ),
]
