"""Moist air and water against libraries, tables and textbook states."""

from typing import Any

import numpy as np

from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.properties import moist_air, water
from validation.case import Case, Plot, Result
from validation.data import Table, example, table

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
ENHANCEMENT = (
    "the package leaves out the real gas's enhancement of the saturated vapour, 0.3-0.7 % of the vapour pressure at "
    "these pressures (Hyland & Wexler 1983)"
)
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
        moist_air.viscosity(GRID_T, GRID_V, GRID_P),
        where=GRID_LOW,
        relative=True,
    ),
    grid_case(
        "conductivity below 95 degC",
        "conductivity",
        "W/(m K)",
        0.035,
        TRANSPORT_SPREAD + ", 3.4 % in conductivity",
        moist_air.conductivity(GRID_T, GRID_V, GRID_P),
        where=GRID_LOW,
        relative=True,
    ),
]

SATURATED = table("moist_air_saturation")
SAT_T = SATURATED.column("temperature_C") + ZERO_CELSIUS
SAT_W = moist_air.humidity_ratio(water.saturation_pressure(SAT_T), STANDARD_PRESSURE)
WATER = table("water")
WATER_T = WATER.column("temperature_C") + ZERO_CELSIUS
ATMOSPHERE = table("standard_atmosphere")
DIFFUSIVITY = table("vapour_diffusivity")
DIFFUSIVITY = Table(
    DIFFUSIVITY.head, tuple(r for r in DIFFUSIVITY.rows if float(r["temperature_C"]) <= 100.0)
)
DIFFUSIVITY_T = DIFFUSIVITY.column("temperature_C") + ZERO_CELSIUS
PLATEAU = table("wet_bulb_plateau")
DRY = table("dry_air")
DRY_T = DRY.column("temperature_C") + ZERO_CELSIUS
DRY_RANGE = (DRY_T > 263.0) & (DRY_T < 423.5)


def tabled(
    name: str,
    source: Any,
    kind: int,
    inputs: str,
    expected: Any,
    tolerance: Any,
    reason: str,
    values: Any,
    unit: str = "-",
    **more: Any,
) -> Case:
    return Case(
        name=name,
        kind=kind,
        source=source.source,
        status=source.status,
        inputs=inputs,
        expected=expected,
        tolerance=tolerance,
        reason=reason,
        compute=values if callable(values) else lambda full: values,
        unit=unit,
        **more,
    )


def diffusivity_picture(full: bool) -> Result:
    celsius = DIFFUSIVITY.column("temperature_C")
    values = 1e6 * moist_air.vapour_diffusivity(DIFFUSIVITY_T, STANDARD_PRESSURE)
    names = ("marrero_mason", "sherwood_pigford", "fuller", "power_law")
    plot = Plot(
        title="Diffusivity of water vapour in air",
        x_label="degC",
        y_label="mm2/s",
        points=tuple((n.replace("_", " "), celsius, DIFFUSIVITY.column(n)) for n in names),
        lines=(("package", celsius, values),),
    )
    return Result(np.stack([values] * 3), (plot,))


TABLE_CASES = [
    tabled(
        "saturation pressure, 0-100 degC",
        WATER,
        3,
        "table of IAPWS-95",
        WATER.column("saturation_pressure_Pa"),
        0.001,
        "Hyland & Wexler against IAPWS-95: 0.09 % at 0 degC, 0.03 % from 10 degC upward",
        water.saturation_pressure(WATER_T),
        "Pa",
        relative=True,
    ),
    tabled(
        "saturation pressure by its own formula",
        WATER,
        3,
        "Hyland & Wexler's formula, evaluated elsewhere",
        WATER.column("saturation_pressure_hyland_wexler_Pa"),
        1.1e-4 * (WATER_T < 273.2) + 2e-5,
        "rounding of the table to 0.01 Pa (1e-5); at 0 degC it takes the branch over ice, 0.01 % lower",
        water.saturation_pressure(WATER_T),
        "Pa",
        relative=True,
    ),
    tabled(
        "latent heat, 0-150 degC",
        WATER,
        3,
        "table of IAPWS-95",
        WATER.column("latent_heat_J_kg"),
        2e-4,
        "stated accuracy of the cubic, 0.01 %, doubled for the table's ends",
        water.latent_heat(WATER_T),
        "J/kg",
        relative=True,
    ),
    tabled(
        "heat of evaporation in the balances, 0-100 degC",
        WATER,
        3,
        "vapour minus liquid enthalpy against the latent heat of IAPWS-95",
        WATER.column("latent_heat_J_kg")[WATER_T < 373.5],
        0.006,
        "vapour as one ideal gas: at 100 degC 2687 against 2675.6 kJ/kg (steam tables), liquid "
        "418.5 against 419.1: 0.53 %",
        water.heat_of_evaporation(WATER_T[WATER_T < 373.5]),
        "J/kg",
        relative=True,
    ),
    tabled(
        "liquid specific heat, 0-100 degC",
        WATER,
        3,
        "one constant against IAPWS-95",
        WATER.column("liquid_specific_heat")[WATER_T < 373.5],
        0.01,
        "the range of the real value over 0-100 degC, 4179-4219, is 1 %",
        np.full(WATER_T[WATER_T < 373.5].shape, water.LIQUID_SPECIFIC_HEAT),
        "J/(kg K)",
        relative=True,
    ),
    tabled(
        "saturated air: humidity ratio (ideal gas)",
        SATURATED,
        3,
        "-10 to 90 degC, 101.325 kPa",
        SATURATED.column("humidity_ratio_ideal"),
        5e-4,
        "last digits of the table and the ratio of molar masses 0.621945",
        SAT_W,
        "kg/kg",
        relative=True,
    ),
    tabled(
        "saturated air: humidity ratio (real gas)",
        SATURATED,
        3,
        "-10 to 90 degC, 101.325 kPa",
        SATURATED.column("humidity_ratio"),
        0.007 * (1.0 + SAT_W / 0.622),
        ENHANCEMENT + "; times P/(P - p)",
        SAT_W,
        "kg/kg",
        relative=True,
    ),
    tabled(
        "saturated air: enthalpy (ideal gas)",
        SATURATED,
        3,
        "-10 to 90 degC, 101.325 kPa",
        SATURATED.column("enthalpy_ideal_kJ_kg"),
        0.01 + 2e-4 * np.abs(SATURATED.column("enthalpy_ideal_kJ_kg")),
        "one formula in both, W (2501 + 1.86 t): last digit, constants and the ratio of molar masses rounded, 0.02 %",
        moist_air.enthalpy(SAT_T, SAT_W) / 1e3,
        "kJ/kg",
    ),
    tabled(
        "saturated air: enthalpy (real gas)",
        SATURATED,
        3,
        "-10 to 90 degC, 101.325 kPa",
        SATURATED.column("enthalpy_kJ_kg"),
        0.05 + (0.003 + 0.007 * (1.0 + SAT_W / 0.622)) * np.abs(SATURATED.column("enthalpy_kJ_kg")),
        ENHANCEMENT + "; times P/(P - p); 0.3 % for specific heats",
        moist_air.enthalpy(SAT_T, SAT_W) / 1e3,
        "kJ/kg",
    ),
    tabled(
        "standard atmosphere",
        ATMOSPHERE,
        3,
        "-500 to 5000 m",
        ATMOSPHERE.column("pressure_Pa"),
        0.06,
        "rounding of the table to 0.1 Pa",
        moist_air.standard_pressure(ATMOSPHERE.column("altitude_m")),
        "Pa",
    ),
    tabled(
        "boiling point at altitude",
        ATMOSPHERE,
        3,
        "-500 to 5000 m",
        ATMOSPHERE.column("boiling_point_C"),
        0.02,
        "Hyland & Wexler against IAPWS-95, 0.03 % of p_sat or 0.01 K; last digit of the table",
        moist_air.dew_point(ATMOSPHERE.column("pressure_Pa")) - ZERO_CELSIUS,
        "K",
    ),
    tabled(
        "thermodynamic wet bulb of drying air",
        PLATEAU,
        4,
        "40-80 degC, room air heated, humidity ratios 0.01 and 0.02, 10-80 % RH",
        PLATEAU.column("wet_bulb_C"),
        0.015,
        "one balance in both, constants rounded differently (0.01 K); last digit of the table",
        moist_air.wet_bulb(
            PLATEAU.column("air_C") + ZERO_CELSIUS,
            moist_air.vapour_pressure(PLATEAU.column("humidity_ratio"), STANDARD_PRESSURE),
            STANDARD_PRESSURE,
        )
        - ZERO_CELSIUS,
        "K",
    ),
    tabled(
        "dry air: viscosity and conductivity",
        DRY,
        4,
        "-10 to 150 degC",
        np.stack([DRY.column(c)[DRY_RANGE] for c in ("viscosity", "conductivity")]),
        0.003,
        "dilute gas: at 101 kPa the real one is 0.1-0.2 % higher",
        np.stack(
            [
                f(DRY_T[DRY_RANGE], 0.0, STANDARD_PRESSURE)
                for f in (moist_air.viscosity, moist_air.conductivity)
            ]
        ),
        relative=True,
    ),
    tabled(
        "vapour diffusivity against three other correlations, 0-100 degC",
        DIFFUSIVITY,
        3,
        "Sherwood & Pigford, Fuller, power law 1.81",
        np.stack([DIFFUSIVITY.column(c) for c in ("sherwood_pigford", "fuller", "power_law")]),
        0.085,
        "spread of the four correlations at 0 degC, 8.2 %",
        diffusivity_picture,
        "mm2/s",
        relative=True,
    ),
]


# --- textbook states ---------------------------------------------------------------------------------------------
def state(celsius: float, wet_bulb_celsius: float, pressure: float) -> tuple[float, float, float]:
    """Humidity ratio, relative humidity [%] and enthalpy [kJ/kg] from dry and wet bulb."""
    t = celsius + ZERO_CELSIUS
    p = moist_air.vapour_pressure_from_wet_bulb(t, wet_bulb_celsius + ZERO_CELSIUS, pressure)
    w = moist_air.humidity_ratio(p, pressure)
    return w, 100.0 * moist_air.relative_humidity(p, t), moist_air.enthalpy(t, w) / 1e3


def textbook(
    row: str,
    name: str,
    inputs: str,
    expected: list[float],
    tolerance: list[float],
    reason: str,
    compute: Any,
) -> Case:
    return Case(
        name=name,
        kind=2,
        source=example(row)["source"],
        status=example(row)["status"],
        inputs=inputs,
        expected=np.array(expected),
        tolerance=np.array(tolerance),
        reason=reason,
        compute=compute,
    )


def treybal_state() -> list[float]:
    t, p = 55.0 + ZERO_CELSIUS, moist_air.vapour_pressure(0.030, 1.0133e5)
    return [
        p,
        100.0 * moist_air.relative_humidity(p, t),
        moist_air.dew_point(p) - ZERO_CELSIUS,
        1.030 / moist_air.density(t, p, 1.0133e5),
        1.030 * moist_air.specific_heat(p, 1.0133e5),
        moist_air.enthalpy(t, 0.030) / 1e3,
    ]


def bulb(celsius: float, humidity_ratio: float) -> list[float]:
    p = moist_air.vapour_pressure(humidity_ratio, STANDARD_PRESSURE)
    return [moist_air.wet_bulb(celsius + ZERO_CELSIUS, p, STANDARD_PRESSURE) - ZERO_CELSIUS]


def chart() -> list[float]:
    w, rh, h = state(40.0, 20.0, STANDARD_PRESSURE)
    p = moist_air.vapour_pressure(w, STANDARD_PRESSURE)
    return [
        w,
        moist_air.dew_point(p) - ZERO_CELSIUS,
        rh,
        h,
        (1.0 + w) / moist_air.density(313.15, p, STANDARD_PRESSURE),
    ]


CHART = "read from a chart"
TEXTBOOK_CASES = [
    textbook(
        "ASHRAE-F1-Ex1",
        "air of 40/20 degC (ASHRAE)",
        "dry and wet bulb 40/20 degC, 101.325 kPa: W, dew point, RH, h, v",
        [0.0065, 7.0, 14.0, 56.7, 0.896],
        [1e-4, 0.5, 0.5, 0.15, 5e-4],
        f"{CHART}: half a unit of the last digit, one unit of W and three of h",
        lambda full: chart(),
    ),
    textbook(
        "CE14-3",
        "air of 25/15 degC (Cengel & Boles 14-3)",
        "W, RH, h",
        [0.00653, 33.2, 41.8],
        [2e-5, 0.1, 0.1],
        "last digits; the book's steam table shifts W by 1e-5",
        lambda full: state(25.0, 15.0, STANDARD_PRESSURE),
    ),
    textbook(
        "GK9.3-4",
        "air of 60/29.5 degC (Geankoplis 9.3-4)",
        "W",
        [0.0135],
        [1e-4],
        f"{CHART}: one unit of the last digit",
        lambda full: state(60.0, 29.5, STANDARD_PRESSURE)[:1],
    ),
    textbook(
        "GK9.3-3",
        "adiabatic saturation of 87.8 degC, W 0.030 (Geankoplis 9.3-3)",
        "wet bulb",
        [40.5],
        [0.5],
        f"{CHART} in half kelvins",
        lambda full: bulb(87.8, 0.030),
    ),
    textbook(
        "TRE-7.13",
        "adiabatic saturation of 65 degC, W 0.0170 (Treybal 7.13)",
        "wet bulb",
        [32.0],
        [0.5],
        f"{CHART}, whole kelvins",
        lambda full: bulb(65.0, 0.0170),
    ),
    textbook(
        "GK9.6-3",
        "wet bulb of 65.6 degC, W 0.010 (Geankoplis 9.6-3)",
        "wet bulb",
        [28.9],
        [0.1],
        f"{CHART}: one unit of the last digit",
        lambda full: bulb(65.6, 0.010),
    ),
    textbook(
        "CR16.5",
        "wet bulb of 400 K, W 0.01 (Coulson & Richardson 16.5)",
        "wet bulb",
        [312.0 - ZERO_CELSIUS],
        [1.0],
        f"{CHART}, whole kelvins",
        lambda full: bulb(400.0 - ZERO_CELSIUS, 0.01),
    ),
    textbook(
        "TR7.6",
        "air of 55 degC, W 0.030 (Treybal 7.6)",
        "p_v, RH, dew point, humid volume, humid heat, enthalpy",
        [4662.0, 29.6, 31.5, 0.974, 1061.5, 133.2],
        [5.0, 0.1, 0.25, 1e-3, 5.0, 0.5],
        "last digits; molar masses 18.02 and 28.97 (1e-3 of p_v); dew point from a chart; specific heats 1005 and 1884",
        lambda full: treybal_state(),
    ),
    textbook(
        "GK9.3-1",
        "humidity of 2760 Pa of vapour (Geankoplis 9.3-1)",
        "W at 101.3 kPa, and saturated at 3500 Pa",
        [0.01742, 0.02226],
        [1e-5, 1e-5],
        "last digit",
        lambda full: moist_air.humidity_ratio(np.array([2760.0, 3500.0]), 101.3e3),
    ),
    textbook(
        "CEN-14.10",
        "vapour diffusivity at 300 K (Cengel 14-10)",
        "1 atm",
        [2.54e-5],
        [0.005e-5],
        "last digit",
        lambda full: [moist_air.vapour_diffusivity(300.0, STANDARD_PRESSURE)],
    ),
]

CASES = [*LIBRARY_CASES, *GRID_CASES, *TABLE_CASES, *TEXTBOOK_CASES]
