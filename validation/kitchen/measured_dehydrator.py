"""A household dehydrator as it was logged: four trays of rice in a box, two sensors, weights every half hour or so.

The chamber's own equations (`model.chamber`) are run with the rice's measured loss as the source of vapour and the sink
of its heat of evaporation; no slice is simulated. What goes in: the room's air, the loss by the weights, the size of the
box; the fresh air as one number for the whole run, the mean by the log's water balance; and two numbers nobody wrote
down, the temperature after the heater and the air moved past the trays, both solved for from the temperature at the door
in one interval at full load and in the last one. What is checked: the door's air over time, dry bulb and wet bulb, the
fresh air interval by interval, and the difference across the trays when the load is fullest.
"""

from dataclasses import replace
from functools import cache

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import fsolve

from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.model.chamber import Chamber
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR
from dryingsim.model.load import Load, Setting
from dryingsim.properties import moist_air, water
from validation.case import Case, Plot, Result
from validation.data import table

LOG, BALANCE = table("dehydrator_run_log"), table("dehydrator_run_balance")
P, HOUR = STANDARD_PRESSURE, 3600.0
TRAYS, VOLUME_M3 = 4, 0.010
TRAY_M, WALL_M2 = 0.2, 0.28  # of a cube of 10 L: the author names its volume alone
FOOD_K = 40.0 + ZERO_CELSIUS  # of rice that dries, near the wet bulb; 10 K change the heat by 2 W of 140
ROOM_C = float(LOG.column("room_C").mean())
ROOM_FRACTION = float(
    (
        LOG.column("room_RH_pct") / 100.0 * water.saturation_pressure(LOG.column("room_C") + ZERO_CELSIUS)
    ).mean()
    / P
)
ROOM_RATIO = float(moist_air.humidity_ratio(ROOM_FRACTION, 1.0))
FROM, TO = BALANCE.column("from_min"), BALANCE.column("to_min")
LOSS_KG_S = BALANCE.column("rate_g_h") / 1e3 / HOUR
DOOR_C = BALANCE.column("door_side_C")
FULL_LOAD, LAST = 1, 5  # intervals the two unknown numbers come from
AFTER_PAUSE_MIN = 10.0
STATUS = "read: table; wet bulb and fresh air derived"


def humidity_ratio(celsius: np.ndarray, humidity_percent: np.ndarray) -> np.ndarray:
    """Of readings in degC and % [kg/kg]."""
    return moist_air.humidity_ratio(
        humidity_percent / 100.0 * water.saturation_pressure(celsius + ZERO_CELSIUS), P
    )


def fresh_by_readings() -> np.ndarray:
    """Room air drawn in, interval by interval, by the readings alone [m3/h]: dry air in and out is the same."""
    gained = humidity_ratio(DOOR_C, BALANCE.column("door_side_RH_pct")) - ROOM_RATIO
    density = moist_air.density(ROOM_C + ZERO_CELSIUS, ROOM_FRACTION * P, P)
    return LOSS_KG_S / gained * (1.0 + ROOM_RATIO) / density * HOUR


def box(vents_m3_h: float, circulation_m3_h: float) -> Appliance:
    """The box: the catalog's cabinet, its walls scaled by their area, with four trays and a given flow of air."""
    cabinet = find_appliance("cabinet", "cabinet dehydrator").appliance("cabinet")
    share = WALL_M2 / cabinet.walls.area_m2
    walls = replace(
        cabinet.walls,
        volume_m3=VOLUME_M3,
        area_m2=WALL_M2,
        capacity_J_K=share * cabinet.walls.capacity_J_K,
        floor_capacity_J_K=share * cabinet.walls.floor_capacity_J_K,
        loss_W_K=share * cabinet.walls.loss_W_K,
    )
    return replace(
        cabinet,
        trays=replace(
            cabinet.trays,
            slots=TRAYS,
            length_m=TRAY_M,
            width_m=TRAY_M,
            circulation_m3_s=circulation_m3_h / HOUR,
        ),
        ventilation=replace(cabinet.ventilation, vents_m3_s=vents_m3_h / HOUR, leakage_m3_s=0.0),
        walls=walls,
    )


def loaded(appliance: Appliance, supply_C: float) -> Chamber:
    """Its chamber, set to a temperature after the heater."""
    trays = appliance.trays.slots
    load = Load(tray=np.arange(trays), trays=trays, area_m2=np.ones(trays), cover=1.0)
    chamber = Chamber(appliance, load, ROOM_C + ZERO_CELSIUS, ROOM_FRACTION, P)
    chamber.set(Setting(supply_C + ZERO_CELSIUS, None, 0.0), load)
    return chamber


def rates(chamber: Chamber, c: np.ndarray, loss_kg_s: float) -> np.ndarray:
    """Rates of the chamber's states while food of a steady temperature gives off vapour, evenly from all trays."""
    trays = chamber.load.trays
    vapour = loss_kg_s / trays * np.ones(trays)
    passing = np.zeros((5, trays))
    passing[VAPOUR], passing[CARRIED] = vapour, vapour * water.vapour_enthalpy(FOOD_K)
    passing[CONVECTED] = vapour * (water.vapour_enthalpy(FOOD_K) - water.liquid_enthalpy(FOOD_K))
    return chamber.rates(c) + chamber.deposit @ passing.reshape(-1)


def door_side(chamber: Chamber, c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Temperature [degC] and vapour pressure [Pa] of the air that has passed the trays."""
    t, w, _ = chamber.cell_states(c)
    passed = slice(-1, None) if chamber.appliance.trays.flow == "series" else slice(1, None)
    return t[passed].mean(axis=0) - ZERO_CELSIUS, moist_air.vapour_pressure(w[passed].mean(axis=0), P)


def settled(chamber: Chamber, loss_kg_s: float) -> np.ndarray:
    """State after hours of a steady loss."""
    start = chamber.initial(chamber.setting.temperature_K)
    run = solve_ivp(
        lambda _, c: rates(chamber, c, loss_kg_s),
        (0.0, 3.0 * HOUR),
        start,
        method="BDF",
        rtol=1e-7,
        atol=1e-8,
    )
    return run.y[:, -1]


@cache
def solved_for() -> tuple[float, float]:
    """Temperature after the heater [degC] and air past the trays [m3/h] that give the door's air in two intervals."""
    chosen = [FULL_LOAD, LAST]

    def miss(trial: np.ndarray) -> np.ndarray:
        chamber = loaded(box(float(fresh_by_readings().mean()), float(trial[1])), float(trial[0]))
        found = [door_side(chamber, settled(chamber, LOSS_KG_S[i]))[0] for i in chosen]
        return np.array(found) - DOOR_C[chosen]

    supply, circulation = fsolve(miss, [55.0, 40.0], xtol=1e-4)
    return float(supply), float(circulation)


def the_box() -> Chamber:
    """The box with its fresh air as one number."""
    supply, circulation = solved_for()
    return loaded(box(float(fresh_by_readings().mean()), circulation), supply)


# --- over time ---------------------------------------------------------------------------------------------------
def steady_minutes() -> np.ndarray:
    """Rows of the log after the warming-up in whose ten minutes, and the ten before, the door stayed shut."""
    start = LOG.column("start_min")
    shut = np.ones(start.size, dtype=bool)
    for pause in FROM[1:]:
        shut &= (start + 10.0 < pause) | (start > pause + AFTER_PAUSE_MIN)
    return shut & (start >= TO[0])


@cache
def over_time() -> tuple[np.ndarray, np.ndarray]:
    """Temperature and wet bulb of the air at the door in the middle of each row of the log [degC]."""
    chamber = the_box()
    middle, times = 0.5 * (FROM + TO) * 60.0, (LOG.column("start_min") + 5.0) * 60.0
    run = solve_ivp(
        lambda t, c: rates(chamber, c, float(np.interp(t, middle, LOSS_KG_S))),
        (0.0, times[-1]),
        chamber.initial(LOG.column("room_C")[0] + ZERO_CELSIUS),
        method="BDF",
        t_eval=times,
        rtol=1e-6,
        atol=1e-7,
        max_step=300.0,
    )
    t, vapour = door_side(chamber, run.y)
    return t, moist_air.wet_bulb(t + ZERO_CELSIUS, vapour, P) - ZERO_CELSIUS


def wet_bulb_at_the_door(full: bool) -> Result:
    """Wet bulb over time, with a picture."""
    minutes, rows = LOG.column("start_min") + 5.0, steady_minutes()
    t, wet = over_time()
    plot = Plot(
        title="Household dehydrator: air at the door",
        x_label="minutes",
        y_label="degC",
        points=(
            ("air, measured", minutes, LOG.column("door_side_C")),
            ("wet bulb, measured", minutes, LOG.column("door_side_wet_bulb_C")),
        ),
        lines=(("air", minutes, t), ("wet bulb", minutes, wet)),
    )
    return Result(wet[rows], (plot,))


# --- interval by interval ----------------------------------------------------------------------------------------
def fresh_air(full: bool) -> np.ndarray:
    """Fresh air that gives the vapour measured at the door, interval by interval, by the chamber [m3/h]."""
    target = humidity_ratio(DOOR_C, BALANCE.column("door_side_RH_pct")) - ROOM_RATIO
    chamber, tried = the_box(), fresh_by_readings().mean()
    vapour = np.array([door_side(chamber, settled(chamber, loss))[1] for loss in LOSS_KG_S])
    return (
        tried * (moist_air.humidity_ratio(vapour, P) - ROOM_RATIO) / target
    )  # the gain goes as one over the fresh air


def across_the_trays(full: bool) -> float:
    """From the heater side to the door side at the greatest loss [K]."""
    chamber = the_box()
    return solved_for()[0] - float(door_side(chamber, settled(chamber, LOSS_KG_S[0]))[0])


def generic(name: str) -> float:
    """Wet bulb of the air that has passed the trays of a unit of the catalog, each loaded as at full load [degC]."""
    appliance = find_appliance("unit", name).appliance("unit")
    chamber = loaded(appliance, solved_for()[0])
    t, vapour = door_side(chamber, settled(chamber, LOSS_KG_S[FULL_LOAD] * appliance.trays.slots / TRAYS))
    return float(moist_air.wet_bulb(t + ZERO_CELSIUS, vapour, P)) - ZERO_CELSIUS


def measured(name: str, inputs: str, **more: object) -> Case:
    values = {"kind": 5, "source": LOG.source, "status": STATUS, **more}
    return Case(name=name, inputs=inputs, **values)  # type: ignore[arg-type]


GIVEN = "loss by the weights, mean room air, mean fresh air; supply temperature and circulation from two of six intervals"
STEADY = "after warming up, ten minutes without a weighing in them or in the ten before"

CASES = [
    measured(
        "rice in a box: wet bulb at the door over time",
        f"{GIVEN}; {STEADY}",
        compute=wet_bulb_at_the_door,
        expected=LOG.column("door_side_wet_bulb_C")[steady_minutes()],
        tolerance=1.0,
        unit="degC",
        reason="sensors of 2 % and 0.3 K (from memory) leave 0.7 and 0.3 K of wet bulb",
        known_failure="fresh air given as one number, 5.8 m3/h, falls from 6.5 to 4.6 by the log (next but one): at the end the "
        "chamber is 1.1 K too dry",
    ),
    measured(
        "rice in a box: air at the door over time",
        f"{GIVEN}; {STEADY}",
        compute=lambda full: over_time()[0][steady_minutes()],
        expected=LOG.column("door_side_C")[steady_minutes()],
        tolerance=2.0,
        unit="degC",
        reason="a weighing, its power off and its door open, costs 2-3 K for some 10 min (the log); the set point and swing of "
        "the thermostat are not stated",
    ),
    measured(
        "rice in a box: fresh air interval by interval",
        "loss by the weights, room air; fresh air that gives the vapour at the door, by the chamber",
        compute=fresh_air,
        expected=fresh_by_readings(),
        status="derived: dry-air balance of the readings",
        tolerance=0.01,
        relative=True,
        unit="m3/h",
        reason="water in and out: rounding, and air drawn in taken at the density of the room",
    ),
    measured(
        "rice in a box: heater side to door side at full load",
        f"{GIVEN}; quasi-steady at 177 g/h",
        compute=across_the_trays,
        expected=12.0,
        tolerance=2.0,
        unit="K",
        reason="the door's air at the start against the end of the run, each to 1 K by its noise",
        known_failure="in these first 20 min rice and box warm up too, which the quasi-steady chamber is not told: 60 W would "
        "make the rest",
    ),
    *(
        measured(
            f"{name}: wet bulb after the trays, loaded like the box",
            "the catalog's numbers; 38 g/h from each tray, the box's room and supply temperature",
            compute=lambda full, name=name: generic(name),
            expected=float(
                LOG.column("door_side_wet_bulb_C")[
                    steady_minutes() & (LOG.column("start_min") < TO[FULL_LOAD])
                ].mean()
            ),
            tolerance=3.0,
            unit="degC",
            reason="appliances differ: half or twice the fresh air is 3 K of wet bulb",
            fitted=True,
        )
        for name in ("stacked dehydrator", "cabinet dehydrator")
    ),
]
