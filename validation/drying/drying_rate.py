"""The constant-rate period: the temperature of a freely wet face and the rate of trays, from the whole slab model."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import root

from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.faces import VAPOUR
from dryingsim.model.slab import WATER_CONDUCTIVITY, WATER_VOLUME
from dryingsim.model.system import SlabSystem
from dryingsim.properties import films, forced_convection, moist_air
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT, saturation_pressure
from dryingsim.properties.water_activity import Recipe
from validation.case import Case, Plot, Result
from validation.data import table
from validation.setups import constant_diffusivity, plain_slabs, steady_air
from validation.textbook import textbook

WET = Recipe(protein=1e-4)  # holds next to nothing: water activity above 0.9999
MOISTURE = 8.0  # kg/kg, far from drying out
TABLE = table("wet_surface_temperature")


@dataclass(frozen=True)
class Plateau:
    """Steady state of wet slabs: face temperature [K] and evaporation [kg/(m2 s)], shape (m,)."""

    surface_K: np.ndarray
    rate: np.ndarray


def plateau(
    *,
    air: np.ndarray,
    vapour_pressure: np.ndarray,
    film: np.ndarray,
    pressure: float = STANDARD_PRESSURE,
    emissivity: tuple[float, float] = (0.0, 0.0),
    wall: np.ndarray | None = None,
    thickness: float = 5e-3,
    conductivity: float = 0.6,
    lower_heat: float = 0.0,
    guess: np.ndarray | None = None,
    seconds: float | None = 3600.0,
) -> Plateau:
    """Wet slabs, upper face open, run until nothing changes; `lower_heat` opens the lower face to heat alone.

    Without `seconds` the moisture is held and the steady temperatures are solved for: a thick tray would shrink
    on the way.
    """
    ones = np.ones_like(air)
    share_water = WATER_VOLUME * MOISTURE / (1e-3 + WATER_VOLUME * MOISTURE)
    slabs = plain_slabs(
        thickness=thickness * ones,
        moisture=MOISTURE,
        nodes=24,
        diffusivity=constant_diffusivity(1e-5),  # water comes up as fast as it goes
        solid_conductivity=(conductivity - share_water * WATER_CONDUCTIVITY) / (1.0 - share_water),
        recipe=WET,
        vapour_open=(0.0, 1.0),
        heat_open=(lower_heat, 1.0),
    )
    wet = moist_air.wet_bulb(air, vapour_pressure, pressure) if guess is None else guess
    mean = (0.5 * (air + wet), 0.5 * (vapour_pressure + saturation_pressure(wet)), pressure)
    surroundings = steady_air(
        temperature=air,
        film=film,
        vapour_pressure=vapour_pressure,
        pressure=pressure,
        mass_factor=films.mass_film_factor(*mean),
        wall=wall,
        emissivity=emissivity,
    )
    system = SlabSystem(slabs, surroundings, 1e-4)
    if seconds is None:
        y = steady(system, wet)
    else:
        stepper = Stepper(system, 0.0, system.initial(MOISTURE, wet))
        while stepper.t < seconds:
            stepper.step(seconds)
        y = stepper.y
    x, h, _ = system.split(y)
    return Plateau(slabs.temperature(x, h)[-1], system.split(system.rhs(0.0, y))[2][VAPOUR])


def steady(system: SlabSystem, guess: np.ndarray) -> np.ndarray:
    """State of even moisture whose temperatures no longer change: dH = c_w (T - T0) dX at every node."""

    def warming(t: np.ndarray) -> np.ndarray:
        rates = system.derivative(0.0, system.initial(MOISTURE, t[:, None]))
        x, h, _ = system.split(rates)
        return (h - LIQUID_SPECIFIC_HEAT * (t[:, None] - ZERO_CELSIUS) * x)[:, 0] * system.mass[:, 0]

    found = root(warming, np.full(system.n, float(guess[0])), tol=1e-10)
    if not found.success:
        raise RuntimeError(f"no steady state: {found.message}")
    return system.initial(MOISTURE, found.x[:, None])


# --- the table of wet faces --------------------------------------------------------------------------------------
def rows_at(pressure: float) -> np.ndarray:
    return np.flatnonzero(TABLE.column("pressure_Pa") == pressure)


def wet_faces(film: float, emissivity: float) -> Plateau:
    """All rows of the table, pressure by pressure."""
    surface, rate = (np.full(len(TABLE.rows), np.nan) for _ in range(2))
    for pressure in np.unique(TABLE.column("pressure_Pa")):
        rows = rows_at(float(pressure))
        air = TABLE.column("air_C")[rows] + ZERO_CELSIUS
        vapour = moist_air.vapour_pressure(TABLE.column("humidity_ratio")[rows], float(pressure))
        found = plateau(
            air=air,
            vapour_pressure=vapour,
            film=film * np.ones_like(air),
            pressure=float(pressure),
            emissivity=(0.0, emissivity),
            seconds=4.0 * 3600.0 * 5.0 / film,
        )
        surface[rows], rate[rows] = found.surface_K - ZERO_CELSIUS, found.rate
    return Plateau(surface, rate)


MASS_FILM = (
    "correlations for the diffusivity of vapour spread by 6 %, the mass film by 4 %; that "
    "moves the depression by 4 % over "
    "1 + (slope of evaporation over the other slopes, 2 to 4): 1.3 %, 0.8 K of 60 K, and half of it at usual states"
)


def face_case(film: float) -> Case:
    def compute(full: bool) -> Result:
        found = wet_faces(film, 0.95)
        rows = rows_at(STANDARD_PRESSURE)
        rows = rows[TABLE.column("humidity_ratio")[rows] == TABLE.column("humidity_ratio")[rows[0]]]
        air = TABLE.column("air_C")[rows]
        plot = Plot(
            title=f"Wet face with radiation, h = {film:g} W/(m2 K), heated room air",
            x_label="air, degC",
            y_label="face, degC",
            points=(
                ("reference", air, TABLE.column(f"h{film:g}_C")[rows]),
                ("thermodynamic wet bulb", air, TABLE.column("wet_bulb_C")[rows]),
            ),
            lines=(("package", air, found.surface_K[rows]),),
        )
        return Result(found.surface_K, (plot,))

    return Case(
        name=f"wet face with radiation, h {film:g}",
        kind=4,
        source=TABLE.source,
        status=TABLE.status,
        inputs=f"50-95 degC, several humidities, 101.3 and 84.6 kPa, h {film:g} W/m2K, emissivity 0.95",
        expected=TABLE.column(f"h{film:g}_C"),
        tolerance=0.8,
        unit="K",
        reason=MASS_FILM,
        compute=compute,
    )


def rate_case(film: float) -> Case:
    return Case(
        name=f"evaporation from a wet face with radiation, h {film:g}",
        kind=4,
        source=TABLE.source,
        status=TABLE.status,
        inputs=f"as the temperature, h {film:g} W/m2K",
        expected=TABLE.column(f"h{film:g}_kg_m2h"),
        tolerance=0.03,
        relative=True,
        unit="kg/(m2 h)",
        reason="the rate follows the heat: 0.8 K of 40-60 K of depression is 1.3-2 %; table to 3 digits, "
        "latent heat 0.5 %",
        compute=lambda full: 3600.0 * wet_faces(film, 0.95).rate,
    )


# --- trays -------------------------------------------------------------------------------------------------------
def geankoplis_flow() -> tuple[float, float, float]:
    """Air, vapour pressure and film of 9.6-3 (65.6 degC, W 0.010, 6.1 m/s)."""
    air, vapour = 65.6 + ZERO_CELSIUS, float(moist_air.vapour_pressure(0.010, STANDARD_PRESSURE))
    return (
        air,
        vapour,
        float(forced_convection.tray_parallel(6.1 * moist_air.density(air, vapour, STANDARD_PRESSURE))),
    )


def treybal_flow() -> tuple[float, float, float]:
    """Air, vapour pressure and film of 12.4 (65 degC, Y 0.01, 3 m/s in a duct of 0.7 x 0.1 m)."""
    air, vapour = 65.0 + ZERO_CELSIUS, float(moist_air.vapour_pressure(0.01, STANDARD_PRESSURE))
    flow = 3.0 * moist_air.density(air, vapour, STANDARD_PRESSURE)
    return air, vapour, float(forced_convection.tray_channel(flow, 4.0 * 0.07 / 1.6))


def tray(flow: tuple[float, float, float], **more: Any) -> Plateau:
    air, vapour, film = (np.array([v]) for v in flow)
    return plateau(air=air, vapour_pressure=vapour, film=film, **more)


def geankoplis_convective(full: bool) -> list[float]:
    """Film, face temperature [degC], rate [kg/(m2 h)]."""
    found = tray(geankoplis_flow())
    return [geankoplis_flow()[2], float(found.surface_K[0]) - ZERO_CELSIUS, 3600.0 * float(found.rate[0])]


def geankoplis_all(full: bool) -> list[float]:
    """With a radiator at 93.3 degC above and heat through the pan; metal 0.61 mm resists 1e-3 of the film."""
    flow = geankoplis_flow()
    wall = np.array([[flow[0]], [93.3 + ZERO_CELSIUS]])
    found = tray(
        flow,
        emissivity=(0.0, 0.92),
        wall=wall,
        thickness=25.4e-3,
        conductivity=0.865,
        lower_heat=1.0 / (1.0 + flow[2] * 0.61e-3 / 43.3),
        guess=np.array([32.5 + ZERO_CELSIUS]),
        seconds=None,
    )
    return [float(found.surface_K[0]) - ZERO_CELSIUS, 3600.0 * float(found.rate[0])]


def treybal_convective(full: bool) -> list[float]:
    """Film, face temperature [degC], rate of the pan of 0.49 m2 [kg/s]."""
    found = tray(treybal_flow())
    return [treybal_flow()[2], float(found.surface_K[0]) - ZERO_CELSIUS, 0.49 * float(found.rate[0])]


def treybal_all(full: bool) -> list[float]:
    """With a radiator at 120 degC above, heat through bottom and sides (0.56 m2 of metal to 0.49 m2 of face)."""
    flow = treybal_flow()
    metal = 0.56 / 0.49
    found = tray(
        flow,
        emissivity=(0.0, 0.94),
        wall=np.array([[flow[0]], [120.0 + ZERO_CELSIUS]]),
        thickness=25e-3,
        conductivity=3.5 * 0.5 * (1.0 + metal),
        lower_heat=metal / (1.0 + flow[2] * 0.8e-3 / 45.0),
        guess=np.array([39.0 + ZERO_CELSIUS]),
        seconds=None,
    )
    return [float(found.surface_K[0]) - ZERO_CELSIUS, 0.49 * float(found.rate[0])]


def wet_cloth(full: bool) -> list[float]:
    """Wet face [degC] without radiation in air of 30 degC."""
    drink = tray((303.15, 1700.0, 10.0))
    return [float(drink.surface_K[0]) - ZERO_CELSIUS]


def dry_air_for(full: bool) -> float:
    """Temperature of dry air [degC] in which a wet face without radiation stands at 18.3 degC."""
    air = np.linspace(320.0, 335.0, 16)
    found = plateau(
        air=air, vapour_pressure=np.zeros_like(air), film=10.0 * np.ones_like(air), seconds=2.0 * 3600.0
    )
    return float(np.interp(18.3 + ZERO_CELSIUS, found.surface_K, air)) - ZERO_CELSIUS


LEWIS = (
    "the book takes the adiabatic saturation temperature and no high-flux correction: a Lewis "
    "number of 0.86 cools the face "
    "by 1 K (+3 % of rate), Ackermann takes 2-3 % off"
)
CASES = [
    Case(
        name="wet face without radiation",
        kind=4,
        source=TABLE.source,
        status=TABLE.status,
        inputs="50-95 degC, several humidities, 101.3 and 84.6 kPa, convection alone",
        expected=TABLE.column("convective_C"),
        tolerance=0.5,
        unit="K",
        reason="correlations for the diffusivity of vapour spread by 6 %, the mass film by 4 %: 0.5 K of 40-60 K",
        compute=lambda full: wet_faces(20.0, 0.0).surface_K,
    ),
    Case(
        name="wet face without radiation against the thermodynamic wet bulb",
        kind=4,
        source=TABLE.source,
        status=TABLE.status,
        inputs="as above: the Lewis number of moist air is below one, so the face must stand lower",
        expected=TABLE.column("wet_bulb_C"),
        tolerance=0.0,
        bound="at most",
        unit="K",
        reason="Le^(2/3) of 0.9 in the mass film: 0.4 to 2 K below",
        compute=lambda full: wet_faces(20.0, 0.0).surface_K,
    ),
    *(face_case(h) for h in (5.0, 10.0, 20.0, 35.0)),
    *(rate_case(h) for h in (5.0, 10.0, 20.0, 35.0)),
    textbook(
        "GK9.6-3",
        "pan in parallel air (Geankoplis 9.6-3)",
        "65.6 degC, W 0.010, 6.1 m/s, upper face open: film, face, rate per m2 and hour",
        [62.45, 28.9, 3.39],
        [0.3, 1.5, 0.14],
        "film: density of air 0.3 %; face and rate: " + LEWIS,
        geankoplis_convective,
    ),
    textbook(
        "GK9.8-1",
        "pan with radiation and conduction (Geankoplis 9.8-1)",
        "radiator 93.3 degC, pan of 25.4 mm solid: face, rate per m2 and hour",
        [32.5, 4.83],
        [1.5, 0.19],
        LEWIS + "; the book's own iterations span 32.2-32.8 degC and 4.83-4.86",
        geankoplis_all,
    ),
    textbook(
        "TR12.4b",
        "pan in a channel, convection alone (Treybal 12.4b)",
        "65 degC, Y 0.01, 3 m/s: film, face, kg/s of the pan",
        [21.9, 28.5, 1.610e-4],
        [0.2, 1.5, 0.064e-4],
        "film: density of air 0.3 %; " + LEWIS,
        treybal_convective,
    ),
    textbook(
        "TR12.4a",
        "pan with radiation and conduction (Treybal 12.4a)",
        "radiator 120 degC, pan of 25 mm: face, kg/s of the pan",
        [39.0, 3.851e-4],
        [1.5, 0.154e-4],
        LEWIS + "; the book reads 39 degC from a chart",
        treybal_all,
    ),
    textbook(
        "CE-HMT14.12",
        "wet cloth in air of 30 degC, RH 40 % (Cengel 14-12)",
        "convection alone, vapour pressure 1700 Pa",
        [19.4],
        [0.6],
        "the book stops after one pass with the vapour pressure of 20 degC; carried on, its own formula ends at 19.85; "
        "diffusivities of 6 % spread: 0.15 K",
        wet_cloth,
    ),
    textbook(
        "HOL-11.3",
        "dry air that holds a wet bulb at 18.3 degC (Holman 11.3)",
        "convection alone, W 0",
        55.8,
        3.7,
        "the book takes the vapour's density at 18 degC with the air's at 37 degC, 6 % of the 37 K "
        "of depression (its first "
        "pass, with both at 18 degC, gives 53.7); diffusivities of 6 % spread, the mass film 4 %",
        dry_air_for,
        unit="K",
    ),
]
