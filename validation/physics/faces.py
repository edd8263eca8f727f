"""What passes a face, against the film it stands for; and what a batch hands on to its slabs."""

from dataclasses import replace

import numpy as np
from scipy.integrate import solve_bvp

from dryingsim.batch.reading.batch_file import demo_text, parse_batch
from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.model.build import build_slabs, recipe_of
from dryingsim.model.faces import CONVECTED, RADIATED, VAPOUR, AirAtSlabs, FaceExchange, Film
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import Recipe, water_activity
from validation.case import Case
from validation.setups import drying_demo, plain_slabs

WET = Recipe(protein=1e-4)
FACES_C = np.array([30.0, 50.0, 70.0, 85.0, 95.0])
AIR_K, AIR_FRACTION, FILM, MASS_FACTOR = 373.15, 0.01, 20.0, 7e-4
VAPOUR_HEAT = 1864.0  # J/(kg K), water vapour at some 50 degC, steam tables


def exchange() -> FaceExchange:
    """Freely wet upper faces at `FACES_C` in dry air of 100 degC, a film of 20 W/(m2 K)."""
    ones = np.ones_like(FACES_C)
    slabs = plain_slabs(thickness=5e-3 * ones, moisture=8.0, nodes=8, recipe=WET)
    air = AirAtSlabs(
        temperature_K=AIR_K * ones,
        vapour_fraction=AIR_FRACTION * ones,
        wall_K=np.stack([AIR_K * ones] * 2),
        view=np.zeros((2, ones.size)),
        pressure_Pa=STANDARD_PRESSURE,
        film=Film(forced=np.full((2, ones.size), FILM), natural=0.0 * ones, mass_factor=MASS_FACTOR * ones),
    )
    face = np.stack([FACES_C + ZERO_CELSIUS] * 2)
    return FaceExchange(slabs, air, np.full_like(face, 8.0), face)


def film_vapour(full: bool) -> np.ndarray:
    """Vapour through a stagnant film [g/(m2 s)]: dy/dz = -N (1 - y)/(beta h), by a boundary-value solver."""
    fluxes = []
    for t in FACES_C + ZERO_CELSIUS:
        surface = float(saturation_pressure(t)) / STANDARD_PRESSURE
        z = np.linspace(0.0, 1.0, 41)
        found = solve_bvp(
            lambda z, y, p: np.stack([-p[0] * (1.0 - y[0])]),
            lambda a, b, p, s=surface: np.array([a[0] - s, b[0] - AIR_FRACTION]),
            z,
            (surface + z * (AIR_FRACTION - surface))[None],
            p=[surface],
            tol=1e-9,
        )
        fluxes.append(1e3 * MASS_FACTOR * FILM * found.p[0])
    return np.array(fluxes)


def film_heat(full: bool) -> np.ndarray:
    """Convected heat [W/m2] through the same film against the vapour's flow: h T'' = N c_p T', by the same solver."""
    heats = []
    for t, vapour in zip(FACES_C + ZERO_CELSIUS, exchange().boundary_flux[VAPOUR, 1], strict=True):
        blowing = float(vapour) * VAPOUR_HEAT / FILM
        z = np.linspace(0.0, 1.0, 41)
        found = solve_bvp(
            lambda z, y, b=blowing: np.stack([y[1], b * y[1]]),
            lambda a, b, s=t: np.array([a[0] - s, b[0] - AIR_K]),
            z,
            np.stack([t + z * (AIR_K - t), np.full_like(z, AIR_K - t)]),
            tol=1e-9,
        )
        heats.append(FILM * float(found.sol(0.0)[1]))
    return np.array(heats)


def still_air(full: bool) -> np.ndarray:
    """Film under over film above cold slabs in still air, 20 and 40 K warmer than they are."""
    ones = np.ones(2)
    slabs = plain_slabs(thickness=5e-3 * ones, moisture=1.0, nodes=8, vapour_open=(0.0, 0.0))
    air = AirAtSlabs(
        temperature_K=340.0 * ones,
        vapour_fraction=0.01 * ones,
        wall_K=np.full((2, 2), 340.0),
        view=np.zeros((2, 2)),
        pressure_Pa=STANDARD_PRESSURE,
        film=Film(forced=np.full((2, 2), 1e-6), natural=3.0 * ones, mass_factor=MASS_FACTOR * ones),
    )
    face = np.array([[320.0, 300.0], [320.0, 300.0]])
    film = FaceExchange(slabs, air, np.ones_like(face), face).film
    return film[0] / film[1]


def salted(full: bool) -> np.ndarray:
    """Water activity that a batch's slabs have at X 0.6, 1.0, 1.5 with 30 g of salt per kg of raw meat."""
    start = parse_batch(demo_text(), "salted")
    batch = replace(start, marinade=replace(start.marinade, salt_kg_kg=0.03, sugar_kg_kg=0.0))
    slabs = build_slabs(batch, 8)
    x = np.array([[0.6], [1.0], [1.5]])
    t = np.full_like(x, 298.15)
    return np.exp(slabs.sorption.log_activity(x, t, np.zeros(1, dtype=np.intp)))[:, 0]


def salted_by_hand(full: bool) -> np.ndarray:
    """The same from the raw meat's analysis and the salt, without the batch."""
    meat = parse_batch(demo_text(), "salted").meat.composition
    solids = 1.0 - meat.water + 0.03
    recipe = Recipe(protein=meat.protein / solids, salt=0.03 / solids)
    return np.array([float(water_activity(x, 298.15, recipe)) for x in (0.6, 1.0, 1.5)])


def radiated(full: bool) -> float:
    """Heat that a batch's cold upper face receives from walls of 340 K [W/m2]."""
    batch = drying_demo()
    slabs = build_slabs(batch, 8)
    ones = np.ones_like(slabs.dry_mass_kg_m2)
    air = AirAtSlabs(
        temperature_K=340.0 * ones,
        vapour_fraction=0.01 * ones,
        wall_K=np.full((2, ones.size), 340.0),
        view=np.ones((2, ones.size)),
        pressure_Pa=STANDARD_PRESSURE,
        film=Film(forced=np.full((2, ones.size), 10.0), natural=0.0 * ones, mass_factor=MASS_FACTOR * ones),
    )
    face = np.full((2, ones.size), 300.0)
    return float(FaceExchange(slabs, air, np.full_like(face, 2.0), face).boundary_flux[RADIATED, 1, 0])


def dry_share(full: bool) -> np.ndarray:
    """Dry matter and its salt per kg of raw eye of round with 15 g salt and 12 g sugar [kg/kg]."""
    recipe, solids, _ = recipe_of(parse_batch(demo_text(), "share"))
    return np.array([solids, recipe.salt * solids])


TOTAL = 73.43 + 23.37 + 3.04 + 1.10
CASES = [
    Case(
        name="vapour through a stagnant film",
        kind=1,
        source="Stefan's diffusion through a resting gas, solved numerically (scipy, solve_bvp)",
        status="derived",
        inputs="wet faces of 30 to 95 degC in air of 100 degC, 1 % vapour; g/(m2 s)",
        expected=film_vapour,
        tolerance=2e-3,
        relative=True,
        unit="g/(m2 s)",
        reason="the wet model holds 1e-4 of solids, and its saturation pressure is the table's to 1e-3",
        compute=lambda full: 1e3 * exchange().boundary_flux[VAPOUR, 1],
    ),
    Case(
        name="heat through a film against the vapour",
        kind=1,
        source="conduction through a resting film against a flow of vapour (Ackermann), solved numerically",
        status="derived",
        inputs="wet faces of 30 to 95 degC in air of 100 degC, film 20 W/(m2 K), c_p of vapour 1864 J/(kg K)",
        expected=film_heat,
        tolerance=0.025,
        relative=True,
        unit="W/m2",
        reason="the heat capacity of vapour is 1.86 to 1.89 kJ/(kg K) over 30 to 100 degC, 1.6 %; in the strongest flow "
        "1.6 times that counts",
        compute=lambda full: exchange().boundary_flux[CONVECTED, 1],
    ),
    Case(
        name="still air: cold slabs are warmed from below",
        kind=2,
        source="Incropera 9.3, Cengel 9.2: 0.54 Ra^(1/4) where the air is unstable, 0.27 Ra^(1/4) where it is stable",
        status="read in an open re-run of the book's examples",
        inputs="slabs 20 and 40 K colder than the air, no evaporation; film below over film above",
        expected=2.0,
        tolerance=0.02,
        reason="the change between the two is smoothed over 1 K",
        compute=still_air,
    ),
    Case(
        name="salt of a batch reaches its water activity",
        kind=1,
        source="the package's curve with the recipe worked out by hand",
        status="derived",
        inputs="eye of round, 30 g salt per kg, X 0.6, 1.0, 1.5, 25 degC",
        expected=salted_by_hand,
        tolerance=1e-4,
        reason="the table of the run interpolates the curve",
        compute=salted,
    ),
    Case(
        name="dry matter and salt of a batch",
        kind=1,
        source="mass balance from the analysis (USDA SR28, 23360, scaled to 100 %)",
        status="derived",
        inputs="eye of round with 15 g salt and 12 g sugar per kg of raw meat; kg/kg",
        expected=np.array([1.0 - 73.43 / TOTAL + 0.027, 0.015]),
        tolerance=1e-9,
        unit="kg/kg",
        reason="arithmetic",
        compute=dry_share,
    ),
    Case(
        name="radiation onto the meat of a batch",
        kind=3,
        source="Stefan-Boltzmann with an emissivity of moist matter of 0.92-0.95 (Geankoplis 9.8-1, Treybal 12.4, "
        "Cengel 14.13)",
        status="read in open re-runs of the books' examples",
        inputs="walls 340 K, meat 300 K, upper face; W/m2",
        expected=0.935 * 5.670374419e-8 * (340.0**4 - 300.0**4),
        tolerance=0.016 * 5.670374419e-8 * (340.0**4 - 300.0**4),
        unit="W/m2",
        reason="the books' range of 0.92 to 0.95",
        compute=radiated,
    ),
]
