"""Moist air against libraries, live and on a grid; tables and textbook states stand in `moist_air_tables`."""

from typing import Any

import numpy as np

from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.properties import air_transport, moist_air, water
from validation.case import Case
from validation.data import table
from validation.physics.moist_air_tables import ENHANCEMENT, TABLE_CASES, TEXTBOOK_CASES

# --- live libraries over the whole stated range ------------------------------------------------------------------
CELSIUS = np.array(
    [-10.0, -5.0, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 110.0, 130.0, 150.0]
)
HUMIDITY = np.array([0.02, 0.1, 0.3, 0.6, 0.9])
PRESSURE = np.array([60e3, 70e3, 80e3, 90e3, STANDARD_PRESSURE, 105e3])


def states(boiling_share: float = 0.95) -> np.ndarray:
    """Rows of T [K], relative humidity, P [Pa]: the whole range but for vapour above a share of the pressure."""
    grid = np.stack(
        [g.ravel() for g in np.meshgrid(CELSIUS + ZERO_CELSIUS, HUMIDITY, PRESSURE, indexing="ij")]
    )
    return grid[:, grid[1] * water.saturation_pressure(grid[0]) < boiling_share * grid[2]]


STATES = states()
BELOW = STATES[:, (STATES[0] < 95.1 + ZERO_CELSIUS) & (STATES[0] > ZERO_CELSIUS)]


def coolprop(output: str, rows: np.ndarray) -> np.ndarray:
    from CoolProp.HumidAirProp import HAPropsSI

    return np.array([HAPropsSI(output, "T", t, "R", r, "P", p) for t, r, p in rows.T])


def psychro(function: str, *columns: np.ndarray) -> np.ndarray:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    call = getattr(psychrolib, function)
    return np.array([call(*map(float, row)) for row in zip(*columns, strict=True)])


def vapour(rows: np.ndarray) -> np.ndarray:
    return moist_air.vapour_pressure_from_relative_humidity(rows[1], rows[0])


def ratio(rows: np.ndarray) -> np.ndarray:
    return moist_air.humidity_ratio(vapour(rows), rows[2])


def volume(rows: np.ndarray) -> np.ndarray:
    return (1.0 + ratio(rows)) / moist_air.density(rows[0], vapour(rows), rows[2])


def enthalpy(rows: np.ndarray) -> np.ndarray:
    return moist_air.enthalpy(rows[0], ratio(rows)) / 1e3


def wet_bulb(rows: np.ndarray) -> np.ndarray:
    return moist_air.wet_bulb(rows[0], vapour(rows), rows[2]) - ZERO_CELSIUS


WET = BELOW[:, (water.saturation_pressure(BELOW[0]) < 0.9 * BELOW[2]) & (wet_bulb(BELOW) > 1.0)]
ICED = STATES[:, wet_bulb(STATES) < -1.0]


def psychro_wet_bulb(rows: np.ndarray) -> np.ndarray:
    return psychro("GetTWetBulbFromRelHum", rows[0] - ZERO_CELSIUS, rows[1], rows[2])


SHARE = "-10 to 95 degC (or as said), 2-90 % RH, 60-105 kPa"
LIVE = "psychrolib 2.5 or later (formulas of ASHRAE Fundamentals ch. 1), called live"
REAL = "CoolProp 6.6 or later, HAPropsSI (real moist air), called live"


def live(name: str, unit: str, tolerance: Any, reason: str, compute: Any, expected: Any, **more: Any) -> Case:
    library = str(more.pop("library"))
    return Case(
        name=f"{name} against {library}",
        kind=4,
        source=LIVE if library == "psychrolib" else REAL,
        status="derived",
        inputs=str(more.pop("inputs", SHARE)),
        expected=expected,
        tolerance=tolerance,
        reason=reason,
        compute=compute,
        unit=unit,
        requires="psychrolib" if library == "psychrolib" else "CoolProp",
        **more,
    )


def amplified(rows: np.ndarray) -> np.ndarray:
    """Relative change of the humidity ratio for 0.7 % of vapour pressure: P/(P - p) times it."""
    return 0.007 * rows[2] / (rows[2] - vapour(rows))


LIBRARY_CASES = [
    live(
        "humidity ratio",
        "kg/kg",
        5e-4,
        "one formula in both; psychrolib rounds the ratio of molar masses to 0.621945, saturation pressure to its fit",
        lambda full: ratio(STATES),
        lambda full: psychro("GetHumRatioFromRelHum", STATES[0] - ZERO_CELSIUS, STATES[1], STATES[2]),
        library="psychrolib",
        inputs="-10 to 150 degC, 2-90 % RH, 60-105 kPa, 95 % vapour at most",
        relative=True,
    ),
    live(
        "enthalpy",
        "kJ/kg",
        0.01 + 1e-4 * enthalpy(STATES).clip(0.0),
        "one formula in both, 1.006 t + W (2501 + 1.86 t); 0.01 % for the constant 2501.02",
        lambda full: enthalpy(STATES),
        lambda full: psychro("GetMoistAirEnthalpy", STATES[0] - ZERO_CELSIUS, ratio(STATES)) / 1e3,
        library="psychrolib",
        inputs="-10 to 150 degC, 2-90 % RH, 60-105 kPa, same humidity ratio",
    ),
    live(
        "wet bulb above 0 degC",
        "K",
        0.01,
        "one balance in both with constants rounded differently (2.326 against 2.325); psychrolib iterates to 0.001 K",
        lambda full: wet_bulb(WET),
        lambda full: psychro_wet_bulb(WET),
        library="psychrolib",
        inputs="5 to 95 degC, wet bulb above 1 degC",
    ),
    live(
        "humidity ratio from the wet bulb",
        "kg/kg",
        2e-5,
        "one balance in both with constants rounded differently: 4e-4 of latent heat over 2500 K, times 60 K",
        lambda full: moist_air.humidity_ratio(
            moist_air.vapour_pressure_from_wet_bulb(WET[0], wet_bulb(WET) + ZERO_CELSIUS, WET[2]), WET[2]
        ),
        lambda full: psychro("GetHumRatioFromTWetBulb", WET[0] - ZERO_CELSIUS, wet_bulb(WET), WET[2]),
        library="psychrolib",
        inputs="5 to 95 degC, wet bulb above 1 degC",
    ),
    live(
        "wet bulb below 0 degC",
        "K",
        0.01,
        "as above 0 degC",
        lambda full: wet_bulb(ICED),
        lambda full: psychro_wet_bulb(ICED),
        library="psychrolib",
        inputs="-10 to 10 degC, wet bulb below -1 degC",
        known_failure="the package's bulb carries supercooled water so that the function stays one-to-one, "
        "psychrolib's "
        "carries ice, which reads up to 0.8 K higher; no drying air comes near",
    ),
    live(
        "dew point",
        "K",
        0.02,
        "one formula in both; psychrolib iterates to 0.001 K, its ice and liquid branches meet at 0.01 degC",
        lambda full: moist_air.dew_point(vapour(STATES)) - ZERO_CELSIUS,
        lambda full: psychro("GetTDewPointFromVapPres", STATES[0] - ZERO_CELSIUS, vapour(STATES)),
        library="psychrolib",
        inputs="-10 to 150 degC, 2-90 % RH, 60-105 kPa",
    ),
    live(
        "humidity ratio",
        "kg/kg",
        amplified(BELOW),
        ENHANCEMENT + "; times P/(P - p)",
        lambda full: ratio(BELOW),
        lambda full: coolprop("W", BELOW),
        library="CoolProp",
        inputs="5 to 95 degC, 2-90 % RH, 60-105 kPa",
        relative=True,
    ),
    live(
        "enthalpy",
        "kJ/kg",
        0.1
        + amplified(BELOW) * (enthalpy(BELOW) - 1.006 * (BELOW[0] - ZERO_CELSIUS))
        + 0.003 * enthalpy(BELOW),
        ENHANCEMENT + "; and 0.3 % for the specific heat of dry air, held at 1.006 (real: 1.006-1.011)",
        lambda full: enthalpy(BELOW),
        lambda full: coolprop("H", BELOW) / 1e3,
        library="CoolProp",
        inputs="5 to 95 degC, 2-90 % RH, 60-105 kPa",
    ),
    live(
        "specific volume",
        "m3/kg",
        0.001 + amplified(BELOW) * vapour(BELOW) / BELOW[2],
        ENHANCEMENT + ", times the vapour's share; 0.1 % for the real gas's compressibility",
        lambda full: volume(BELOW),
        lambda full: coolprop("V", BELOW),
        library="CoolProp",
        inputs="5 to 95 degC, 2-90 % RH, 60-105 kPa",
        relative=True,
    ),
    live(
        "wet bulb above 0 degC",
        "K",
        0.15,
        ENHANCEMENT + ": 0.7 % of p_sat is 0.12 K or less of temperature, air's specific heat another 0.03 K",
        lambda full: wet_bulb(WET),
        lambda full: coolprop("B", WET) - ZERO_CELSIUS,
        library="CoolProp",
        inputs="5 to 95 degC, wet bulb above 1 degC",
    ),
    live(
        "humidity ratio above 95 degC",
        "kg/kg",
        0.005 + amplified(STATES[:, STATES[0] > 368.5]),
        ENHANCEMENT + "; times P/(P - p), and 0.5 % for the vapour's compressibility up to 150 degC",
        lambda full: ratio(STATES[:, STATES[0] > 368.5]),
        lambda full: coolprop("W", STATES[:, STATES[0] > 368.5]),
        library="CoolProp",
        inputs="110 to 150 degC, 2-90 % RH below 95 % vapour, 60-105 kPa",
        relative=True,
    ),
    live(
        "humidity ratio below 0 degC",
        "kg/kg",
        0.007,
        ENHANCEMENT,
        lambda full: ratio(STATES[:, STATES[0] < 273.0]),
        lambda full: coolprop("W", STATES[:, STATES[0] < 273.0]),
        library="CoolProp",
        inputs="-10 and -5 degC over ice, 2-90 % RH, 60-105 kPa",
        relative=True,
    ),
]

# --- tables ------------------------------------------------------------------------------------------------------
GRID = table("moist_air_grid")
GRID_T = GRID.column("temperature_C") + ZERO_CELSIUS
GRID_P = 1e3 * GRID.column("pressure_kPa")
GRID_V = GRID.column(
    "vapour_pressure_Pa"
)  # the grid's own vapour pressure: the same state, whatever RH means
GRID_SHARE = GRID_V / GRID_P
GRID_LOW = GRID_T < 95.5 + ZERO_CELSIUS


def grid_case(
    name: str, column: str, unit: str, tolerance: Any, reason: str, values: np.ndarray, **more: Any
) -> Case:
    chosen = more.pop("where", np.ones_like(GRID_LOW))
    return Case(
        name=f"{name}, grid",
        kind=4,
        source=GRID.source,
        status=GRID.status,
        inputs=str(
            more.pop("inputs", "20 to 135 degC, 1-90 % RH, 70-101 kPa, the grid's own vapour pressure")
        ),
        expected=GRID.column(column)[chosen],
        tolerance=np.broadcast_to(tolerance, GRID_T.shape)[chosen],
        reason=reason,
        compute=lambda full: values[chosen],
        unit=unit,
        **more,
    )


TRANSPORT_SPREAD = (
    "mixing rules for the transport properties of moist air differ by 3 % (Tsilingiris 2008 against CoolProp, "
    "shared/moist_air_transport.csv)"
)
GRID_W = GRID.column("humidity_ratio")
GRID_CASES = [
    grid_case(
        "humidity ratio from the vapour pressure",
        "humidity_ratio",
        "kg/kg",
        0.001 / (1.0 - GRID_SHARE),
        "mole fractions of a real gas against partial pressures: 0.1 %, times P/(P - p)",
        moist_air.humidity_ratio(GRID_V, GRID_P),
        relative=True,
    ),
    grid_case(
        "density",
        "density_kg_m3",
        "kg/m3",
        0.002 + 0.016 * GRID_SHARE,
        "ideal gas: air 0.1-0.2 %, vapour 1.6 % (steam tables, saturated at 100 degC: 1.673 against 1.700 m3/kg)",
        moist_air.density(GRID_T, GRID_V, GRID_P),
        relative=True,
    ),
    grid_case(
        "enthalpy",
        "enthalpy_J_kg",
        "J/kg",
        500.0 + 0.01 * np.abs(GRID.column("enthalpy_J_kg")),
        "constant specific heats: dry air 0.3 % at 95 degC and 0.5 % at 135 degC, vapour 10 % of its sensible 10 %",
        moist_air.enthalpy(GRID_T, GRID_W),
    ),
    grid_case(
        "wet bulb below 95 degC",
        "wet_bulb_C",
        "K",
        0.15,
        ENHANCEMENT + ": 0.7 % of p_sat is 0.12 K or less",
        moist_air.wet_bulb(GRID_T, GRID_V, GRID_P) - ZERO_CELSIUS,
        where=GRID_LOW & (GRID.column("wet_bulb_C") > 1.0),
        inputs="20 to 95 degC, wet bulb above 1 degC",
    ),
    grid_case(
        "wet bulb above 95 degC",
        "wet_bulb_C",
        "K",
        0.3,
        ENHANCEMENT + ": 0.12 K; specific heats of air and vapour 0.5 % of up to 100 K over a slope of 3",
        moist_air.wet_bulb(GRID_T, GRID_V, GRID_P) - ZERO_CELSIUS,
        where=~GRID_LOW,
        inputs="110 to 135 degC",
    ),
    grid_case(
        "dew point",
        "dew_point_C",
        "K",
        0.15,
        ENHANCEMENT + ": 0.7 % of p_sat is 0.12 K or less",
        moist_air.dew_point(GRID_V) - ZERO_CELSIUS,
        where=GRID.column("dew_point_C") > 0.0,
        inputs="dew points above 0 degC",
    ),
    grid_case(
        "specific heat below 95 degC",
        "specific_heat",
        "J/(kg K)",
        0.01 + 0.1 * GRID_SHARE,
        "constant specific heats: air 0.5 %, real vapour up to 10 % above the dilute gas near saturation",
        moist_air.specific_heat(GRID_V, GRID_P),
        where=GRID_LOW,
        relative=True,
    ),
    grid_case(
        "viscosity below 95 degC",
        "viscosity",
        "Pa s",
        0.03,
        TRANSPORT_SPREAD,
        air_transport.viscosity(GRID_T, GRID_V, GRID_P),
        where=GRID_LOW,
        relative=True,
    ),
    grid_case(
        "conductivity below 95 degC",
        "conductivity",
        "W/(m K)",
        0.035,
        TRANSPORT_SPREAD + ", 3.4 % in conductivity",
        air_transport.conductivity(GRID_T, GRID_V, GRID_P),
        where=GRID_LOW,
        relative=True,
    ),
]

CASES = [*LIBRARY_CASES, *GRID_CASES, *TABLE_CASES, *TEXTBOOK_CASES]
