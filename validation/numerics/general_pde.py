"""The slab by a general-purpose PDE package, FiPy: finite volumes of equal size, implicit steps, Richardson in time.

An optional extra: without it these cases are not run, and the report says so.
"""

import sys
import warnings
from functools import cache
from typing import Any

import numpy as np

from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.slab import WATER_VOLUME
from dryingsim.model.system import SlabSystem
from dryingsim.properties.diffusivity import Convention, Diffusivity
from validation.case import Case, Plot, Result
from validation.setups import MoistureOnly, plain_slabs, states_at, steady_air

X0, XE, THICKNESS, SOLID_VOLUME = 2.4, 0.15, 5e-3, 0.72e-3
TRANSFER = 2e-4  # kg/(m2 s) per kg/kg, of the open upper face
TIMES = np.array([600.0, 1800.0, 3600.0, 7200.0, 14400.0])
SOURCE = "FiPy (general-purpose finite-volume PDE package)"


@cache
def fipy() -> Any:
    """The package, imported out of sight of the command line it reads and of the warnings it gives."""
    arguments, sys.argv = sys.argv, sys.argv[:1]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import fipy as package
    finally:
        sys.argv = arguments
    return package


def law(convention: Convention) -> Diffusivity:
    """Diffusivity that falls with moisture and does not know the temperature."""
    return Diffusivity(
        reference_m2_s=4e-10,
        temperature_K=313.15,
        moisture_db=1.0,
        activation_energy_J_mol=0.0,
        half_moisture_db=0.34,
        convention=convention,
    )


def conductivity_of_water(convention: Convention, x: Any) -> Any:
    """D rho_d^2 [kg2/(m4 s)], written apart from the model."""
    value = 4e-10 * (1.0 + 0.34) * x / (x + 0.34)
    return value / (SOLID_VOLUME + WATER_VOLUME * (X0 if convention == "dry_mass" else x)) ** 2


def by_fipy(convention: Convention, cells: int, steps: int) -> np.ndarray:
    """Mean moisture at `TIMES` of a slab sealed below, open above, over the dry mass."""
    f = fipy()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        mass = THICKNESS / (SOLID_VOLUME + WATER_VOLUME * X0)
        mesh = f.Grid1D(nx=cells, dx=mass / cells)
        x = f.CellVariable(mesh=mesh, value=X0, hasOld=True)
        last = np.zeros(cells)
        last[-1] = 1.0 / (mass / cells)
        # the open face in series with half a cell of meat
        equation = f.TransientTerm() == f.DiffusionTerm(coeff=conductivity_of_water(convention, x.faceValue))
        means, now = [], 0.0
        for end in TIMES:
            step = (end - now) / steps
            for _ in range(steps):
                x.updateOld()
                for _sweep in range(2):
                    edge = conductivity_of_water(convention, float(x.value[-1])) * 2.0 * cells / mass
                    through = f.CellVariable(mesh=mesh, value=last / (1.0 / TRANSFER + 1.0 / edge))
                    full = equation - f.ImplicitSourceTerm(coeff=-through) - through * XE
                    full.sweep(var=x, dt=step)
            now = end
            means.append(float(np.mean(x.value)))
    return np.array(means)


@cache
def moisture_reference(convention: Convention, full: bool) -> np.ndarray:
    """FiPy's answer with the first-order error of its steps taken out."""
    cells, steps = (100, 8) if full else (60, 4)
    coarse, fine = (by_fipy(convention, cells, n) for n in (steps, 2 * steps))
    return 2.0 * fine - coarse


def moisture(convention: Convention, full: bool) -> Result:
    slabs = plain_slabs(
        thickness=np.array([THICKNESS]),
        moisture=X0,
        nodes=48,
        diffusivity=law(convention),
        solid_volume=SOLID_VOLUME,
    )
    system = MoistureOnly(slabs, TRANSFER * np.array([[0.0], [1.0]]), XE, 1e-5)
    means = states_at(system, system.initial(X0), TIMES, 1e-2) @ system.share
    plot = Plot(
        title=f"Moisture of a slab, convention {convention}",
        x_label="hours",
        y_label="mean moisture, kg/kg",
        points=(("FiPy", TIMES / 3600.0, moisture_reference(convention, full)),),
        lines=(("package", TIMES / 3600.0, means),),
    )
    return Result(means, (plot,))


# --- heat --------------------------------------------------------------------------------------------------------
HEAT_TIMES = np.array([10.0, 30.0, 60.0, 120.0, 300.0])
FILM, START_K, AIR_K, CONDUCTIVITY, HEAT = 25.0, 280.0, 340.0, 0.5, 2000.0


@cache
def heat_reference(full: bool) -> np.ndarray:
    """Mean temperature [K] of a dry slab in still warm air, convection and radiation above, sealed below."""
    f = fipy()
    answers = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        cells = 60
        density = 1.0 / 1e-3
        for steps in (5, 10):
            mesh = f.Grid1D(nx=cells, dx=THICKNESS / cells)
            t = f.CellVariable(mesh=mesh, value=START_K, hasOld=True)
            last = np.zeros(cells)
            last[-1] = cells / THICKNESS / (density * HEAT)
            equation = f.TransientTerm() == f.DiffusionTerm(coeff=CONDUCTIVITY / (density * HEAT))
            means, now = [], 0.0
            for end in HEAT_TIMES:
                step = (end - now) / steps
                for _ in range(steps):
                    t.updateOld()
                    for _sweep in range(2):
                        face = float(t.value[-1]) + 0.5 * float(t.value[-1] - t.value[-2])
                        radiative = 5.670374419e-8 * (AIR_K**2 + face**2) * (AIR_K + face)
                        through = last / (1.0 / (FILM + radiative) + THICKNESS / cells / 2.0 / CONDUCTIVITY)
                        carrier = f.CellVariable(mesh=mesh, value=through)
                        full_equation = equation - f.ImplicitSourceTerm(coeff=-carrier) - carrier * AIR_K
                        full_equation.sweep(var=t, dt=step)
                now = end
                means.append(float(np.mean(t.value)))
            answers.append(np.array(means))
    return 2.0 * answers[1] - answers[0]


def heat(full: bool) -> np.ndarray:
    slabs = plain_slabs(
        thickness=np.array([THICKNESS]),
        moisture=0.0,
        nodes=48,
        solid_volume=1e-3,
        solid_specific_heat=HEAT,
        solid_conductivity=CONDUCTIVITY,
        vapour_open=(0.0, 0.0),
        heat_open=(0.0, 1.0),
    )
    air = steady_air(temperature=np.array([AIR_K]), film=np.array([FILM]), emissivity=(0.0, 1.0))
    system = SlabSystem(slabs, air, 1e-6)
    stepper = Stepper(system, 0.0, system.initial(1e-12, START_K), first_step=1e-3)
    share, means = system.mass[:, 0] / system.mass.sum(), []
    for end in HEAT_TIMES:
        while stepper.t < end:
            stepper.step(float(end))
        x, h, _ = system.split(stepper.y)
        means.append(float(share @ slabs.temperature(x, h)[:, 0]))
    return np.array(means)


CASES = [
    *(
        Case(
            name=f"moisture with D(X), open above, convention {convention}",
            kind=4,
            source=SOURCE,
            status="derived",
            inputs="5 mm, X 2.4 to 0.15, D 4e-10 at X 1 falling with X (half at 0.34), transfer 2e-4 kg/(m2 s), "
            "10 min to 4 h; mean moisture",
            expected=lambda full, c=convention: moisture_reference(c, full),
            tolerance=0.002,
            unit="kg/kg",
            reason="with ever finer cells and steps FiPy still moves by 0.001; 48 nodes by as much",
            compute=lambda full, c=convention: moisture(c, full),
            requires="fipy",
            slow=True,
        )
        for convention in ("dry_mass", "local")
    ),
    Case(
        name="heat with convection and radiation above, sealed below",
        kind=4,
        source=SOURCE,
        status="derived",
        inputs="5 mm, k 0.5, rho 1000, c 2000, h 25, walls and air 340 K, start 280 K, 10 s to 5 min; mean temperature",
        expected=heat_reference,
        tolerance=0.1,
        unit="K",
        reason="the half cells of 48 nodes hold 0.004 of the slab and some 10 K of the warming in the first seconds; "
        "FiPy's few steps leave as much",
        compute=heat,
        requires="fipy",
        slow=True,
    ),
]
