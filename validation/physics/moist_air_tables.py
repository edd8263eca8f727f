"""Moist air and water against tables and textbook states; `moist_air` adds them to its own cases."""

from typing import Any

import numpy as np

from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.properties import air_transport, atmosphere, moist_air, water
from validation.case import Case, Plot, Result
from validation.data import Table, table
from validation.textbook import textbook

ENHANCEMENT = (
    "the package leaves out the real gas's enhancement of the saturated vapour, 0.3-0.7 % of the vapour pressure at "
    "these pressures (Hyland & Wexler 1983)"
)

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
    values = 1e6 * air_transport.vapour_diffusivity(DIFFUSIVITY_T, STANDARD_PRESSURE)
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
        atmosphere.standard_pressure(ATMOSPHERE.column("altitude_m")),
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
                for f in (air_transport.viscosity, air_transport.conductivity)
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
        lambda full: [air_transport.vapour_diffusivity(300.0, STANDARD_PRESSURE)],
    ),
]
