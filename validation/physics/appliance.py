"""The appliance: trays as exchangers, balances of the chamber, flow through a door left ajar."""

from dataclasses import replace

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from dryingsim.batch.appliance_schema import Appliance, Door, Heater, TrayStack, Ventilation, Walls
from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.model.chamber import Chamber
from dryingsim.model.door import door_flow, slot_flow
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR, exchanged
from dryingsim.model.load import Load, Setting
from dryingsim.properties import moist_air, water
from validation.case import Case, Plot, Result
from validation.data import example, table

DOOR = table("door_ajar_flow")
P = STANDARD_PRESSURE
TIGHT = Ventilation(vents_m3_s=0.0, leakage_m3_s=0.0)


def box(trays: int, *, flow: str = "series", heater_W: float = 1e5, fan_W: float = 0.0) -> Appliance:
    """A chamber without losses whose air follows its heater within a second."""
    return Appliance(
        name="box",
        trays=TrayStack(
            slots=trays,
            length_m=0.5,
            width_m=0.5,
            flow=flow,  # type: ignore[arg-type]
            circulation_m3_s=0.05,
            speed_m_s=1.0,
        ),
        door=None,
        ventilation=TIGHT,
        heater=Heater(
            power_W=heater_W,
            radiant_share=0.0,
            control="ideal",
            band_K=1.0,
            sensor="supply",
            sensor_lag_s=1.0,
            element_lag_s=1.0,
            fan_W=fan_W,
        ),
        walls=Walls(
            volume_m3=0.02,
            area_m2=1e-6,
            film_W_m2K=1e-3,
            capacity_J_K=100.0,
            floor_capacity_J_K=100.0,
            loss_W_K=0.0,
        ),
    )


def chamber(
    made: Appliance, trays: int, *, set_C: float, room_C: float = 20.0, room_humidity_ratio: float = 0.01
) -> Chamber:
    load = Load(tray=np.arange(trays), trays=trays, area_m2=np.ones(trays), cover=1.0)
    fraction = float(moist_air.vapour_pressure(room_humidity_ratio, P) / P)
    out = Chamber(made, load, room_C + ZERO_CELSIUS, fraction, P)
    out.set(Setting(set_C + ZERO_CELSIUS, None, 0.0), load)
    return out


def settled(made: Chamber, start_C: float, boundary_flux, seconds: float = 3600.0) -> np.ndarray:
    """State after a long time, with what passes the slabs (5, m) as a function of the state."""
    run = solve_ivp(
        lambda _, c: made.rates(c) + made.deposit @ boundary_flux(c).reshape(-1),
        (0.0, seconds),
        made.initial(start_C + ZERO_CELSIUS),
        method="BDF",
        rtol=1e-6,
        atol=1e-8,
    )
    if not run.success:
        raise RuntimeError(run.message)
    return run.y[:, -1]


# --- trays in series ---------------------------------------------------------------------------------------------
NTU, TRAYS, FACE_C = 0.4, 6, 30.0


def series(full: bool) -> Result:
    """Air leaving each of six trays whose slices stay at 30 degC and give off nothing, as a share of the difference."""
    made = chamber(box(TRAYS), TRAYS, set_C=70.0)
    flow = made.circulation_kg_s

    def boundary_flux(c: np.ndarray) -> np.ndarray:
        t, w, _ = made.cell_states(c)
        carrying = flow * (moist_air.DRY_AIR_SPECIFIC_HEAT + w[made.inlet] * water.VAPOUR_SPECIFIC_HEAT)
        out = np.zeros((5, TRAYS))
        out[CONVECTED] = exchanged(NTU * carrying, carrying) * (t[made.inlet] - FACE_C - ZERO_CELSIUS)
        return out

    t, _, _ = made.cell_states(settled(made, 70.0, boundary_flux))
    share = (t - FACE_C - ZERO_CELSIUS) / (t[0] - FACE_C - ZERO_CELSIUS)
    k = np.arange(TRAYS + 1)
    plot = Plot(
        title=f"Trays in series, NTU {NTU}",
        x_label="trays passed",
        y_label="share of the temperature difference left",
        points=(("exp(-k NTU)", k, np.exp(-k * NTU)),),
        lines=(("package", k, share),),
    )
    return Result(share[1:], (plot,))


def saturating(full: bool) -> np.ndarray:
    """Air that leaves a deep stack of freely wet trays: temperature less adiabatic saturation [K], relative humidity."""
    trays, ntu = 12, 2.0
    made = chamber(
        replace(box(trays), ventilation=Ventilation(vents_m3_s=0.05, leakage_m3_s=0.0)), trays, set_C=68.0
    )
    flow = made.circulation_kg_s

    def wet(t: float, y: float, dryness: float) -> float:
        """Heat taken from the air less heat carried off, per NTU, for a face at t."""
        saturated = float(water.saturation_pressure(t)) / P
        carried = flow * 0.622 * (np.log1p(-dryness) - np.log1p(-saturated)) * float(water.vapour_enthalpy(t))
        return (
            flow * 1006.0 * (y - t)
            - carried
            + flow * 0.622 * (np.log1p(-dryness) - np.log1p(-saturated)) * float(water.liquid_enthalpy(t))
        )

    def boundary_flux(c: np.ndarray) -> np.ndarray:
        t, w, _ = made.cell_states(c)
        out = np.zeros((5, trays))
        for k in range(trays):
            air, fraction = float(t[k]), float(w[k] / (0.62198 + w[k]))
            face = brentq(lambda s, a=air, f=fraction: wet(s, a, f), 274.0, air + 1.0)
            share = float(exchanged(ntu, 1.0))
            vapour = (
                flow
                * share
                * 0.622
                * (np.log1p(-fraction) - np.log1p(-float(water.saturation_pressure(face)) / P))
            )
            out[VAPOUR, k] = vapour
            out[CARRIED, k] = vapour * float(water.vapour_enthalpy(face))
            out[CONVECTED, k] = vapour * float(water.vapour_enthalpy(face) - water.liquid_enthalpy(face))
        return out

    state = settled(made, 68.0, boundary_flux, 120.0)
    t, w, _ = made.cell_states(state)
    adiabatic = float(moist_air.wet_bulb(t[0], moist_air.vapour_pressure(w[0], P), P))
    humidity = float(moist_air.relative_humidity(moist_air.vapour_pressure(w[-1], P), t[-1]))
    return np.array([t[-1] - adiabatic, humidity - 1.0])


# --- steady balances ---------------------------------------------------------------------------------------------
BALANCES = ((20.0, 0.3), (40.0, 0.3), (80.0, 0.6))  # fresh air m3/h, evaporation kg/h


def evaporating(made: Chamber, kg_s: float) -> np.ndarray:
    """What passes trays that give off vapour, the water counted as liquid of 0 degC."""
    trays = made.load.trays
    vapour = kg_s / trays
    heat = vapour * float(water.vapour_enthalpy(310.0))
    out = np.zeros((5, trays))
    out[VAPOUR], out[CARRIED], out[CONVECTED] = vapour, heat, heat
    return out


def steady_balance(full: bool) -> np.ndarray:
    """Humidity ratio [g/kg], relative humidity [%], wet bulb [degC], heater [10 W] of the supply air."""
    rows = []
    for fresh, water_kg_h in BALANCES:
        room = 22.0
        ratio = float(
            moist_air.humidity_ratio(0.5 * float(water.saturation_pressure(room + ZERO_CELSIUS)), P)
        )
        made = chamber(
            replace(
                box(3, flow="parallel", heater_W=2.0 * water_kg_h * 3.0e3),
                ventilation=Ventilation(vents_m3_s=0.0, leakage_m3_s=fresh / 3600.0),
            ),
            3,
            set_C=68.0,
            room_C=room,
            room_humidity_ratio=ratio,
        )
        boundary_flux = evaporating(made, water_kg_h / 3600.0)
        state = settled(made, 68.0, lambda c, p=boundary_flux: p)
        t, w, _ = made.cell_states(state)
        pressure = float(moist_air.vapour_pressure(w[0], P))
        heater = made.rates(state)[made.rows.heater_J]
        rows.append(
            [
                1e3 * w[0],
                100.0 * float(moist_air.relative_humidity(pressure, t[0])),
                float(moist_air.wet_bulb(t[0], pressure, P)) - ZERO_CELSIUS,
                0.1 * heater,
            ]
        )
    return np.array(rows)


def recirculating(full: bool) -> np.ndarray:
    """Treybal 12.2: humidity over the trays [g/kg], air off the trays and after mixing [degC], heater [kW]."""
    trays, fresh, over = 11, 0.1875, 1.818  # kg dry air/s
    made = box(trays, flow="parallel", heater_W=7e4)
    made = replace(made, walls=replace(made.walls, volume_m3=1.0))
    out = chamber(made, trays, set_C=95.0, room_C=25.0)
    density = float(out._room_density) / (1.0 + float(out._room_w))
    made = replace(
        made,
        trays=replace(made.trays, circulation_m3_s=over * made.trays.circulation_m3_s / out.circulation_kg_s),
        ventilation=Ventilation(vents_m3_s=0.0, leakage_m3_s=fresh / density),
    )
    out = chamber(made, trays, set_C=95.0, room_C=25.0)
    boundary_flux = evaporating(out, 7.5e-3)
    state = settled(out, 95.0, lambda c: boundary_flux)
    t, w, e = out.cell_states(state)
    back_e, back_w = float(e[1:].mean()), float(w[1:].mean())
    room_w = float(out._room_w)
    mixed_e = (over * back_e + fresh * float(out._room_e)) / (over + fresh)
    mixed_w = (over * back_w + fresh * room_w) / (over + fresh)
    mixed = brentq(lambda x: float(moist_air.enthalpy(x, mixed_w)) - mixed_e, 280.0, 400.0)
    heater = float(out.rates(state)[out.rows.heater_J])
    return np.array([1e3 * w[0], t[1] - ZERO_CELSIUS, mixed - ZERO_CELSIUS, 1e-3 * heater])


def reheated(full: bool) -> np.ndarray:
    """Coulson & Richardson 13.4: wet bulb of each of four trays [K], humidity ratio of the air off the last [g/kg]."""
    ratio, temperatures = 0.005, []
    for _ in range(4):
        wet = float(moist_air.wet_bulb(325.0, float(moist_air.vapour_pressure(ratio, P)), P))
        temperatures.append(wet)

        def short(t: float, wet: float = wet) -> float:
            pressure = float(moist_air.vapour_pressure_from_wet_bulb(t, wet, P))
            return float(moist_air.relative_humidity(pressure, t)) - 0.6

        leaving = brentq(short, wet + 0.1, 325.0)
        ratio = float(
            moist_air.humidity_ratio(float(moist_air.vapour_pressure_from_wet_bulb(leaving, wet, P)), P)
        )
    return np.array([*temperatures, 1e3 * ratio])


# --- the door ----------------------------------------------------------------------------------------------------
def ajar(full: bool) -> Result:
    """All rows of the table, side-hinged then drop-down, g/s."""
    flows = []
    for hinge in ("side", "bottom"):
        for row in DOOR.rows:
            door = Door(hinge=hinge, height_m=0.35, width_m=0.5, discharge=float(row["discharge"]))  # type: ignore[arg-type]
            inside, room = 353.05 / (float(row["oven_C"]) + ZERO_CELSIUS), 353.05 / 295.15
            flows.append(1e3 * float(door_flow(door, float(row["gap_m"]), inside, room)))
    values = np.array(flows)
    n = len(DOOR.rows)
    points = (("drop-down door", DOOR.column("bottom_g_s"), values[n:]),)
    plot = Plot(
        title="Air exchange through a door ajar, g/s",
        x_label="integrated apart",
        y_label="package",
        points=(("side-hinged door", DOOR.column("side_g_s"), values[:n]), *points),
        lines=(("equal", np.array([0.0, 20.0]), np.array([0.0, 20.0])),),
    )
    return Result(values, (plot,))


def small_differences(full: bool) -> np.ndarray:
    """Package over Cd (A/3) sqrt(g H dT/T) for 0.5 to 5 K across a slot."""
    ratios = []
    for difference in (0.5, 1.0, 2.0, 5.0):
        room, inside = 295.15, 295.15 + difference
        flow = float(slot_flow(0.05, 0.35, 0.61, 353.05 / inside, 353.05 / room))
        mean = 0.5 * (room + inside)
        standard = 353.05 / mean * 0.61 * 0.05 * 0.35 / 3.0 * np.sqrt(9.81 * 0.35 * difference / mean)
        ratios.append(flow / standard)
    return np.array(ratios)


def fire_vent(full: bool) -> np.ndarray:
    """Air drawn into a room on fire over A sqrt(H), kg/(s m^2.5), for gas of 500 to 1000 degC, Cd 0.7."""
    width, height = 0.9, 2.0
    flows = [
        float(slot_flow(width, height, 0.7, 353.05 / (c + ZERO_CELSIUS), 353.05 / 293.15))
        for c in (500.0, 750.0, 1000.0)
    ]
    return np.array(flows) / (width * height * np.sqrt(height))


CASES = [
    Case(
        name="series of trays: exp(-k NTU)",
        kind=1,
        source="exchanger with one side at constant temperature (effectiveness-NTU)",
        status="derived",
        inputs=f"{TRAYS} trays, NTU {NTU} each, slices at {FACE_C:g} degC; share of the difference left after each",
        expected=np.exp(-NTU * np.arange(1, TRAYS + 1)),
        tolerance=1e-4,
        reason="the steady state is reached to 1e-6; the heat capacity is that of the air entering each tray",
        compute=series,
    ),
    Case(
        name="deep stack of wet trays: adiabatic saturation",
        kind=1,
        source="thermodynamic limit of adiabatic humidification",
        status="derived",
        inputs="12 wet trays of NTU 2, Lewis factor 1, fresh air of 20 degC, W 0.01, heated to 68 degC; "
        "temperature over the adiabatic saturation [K], relative humidity less 1",
        expected=0.0,
        tolerance=np.array([0.3, 0.002]),
        reason="the upper trays give their liquid's heat at their own temperatures, not all at the last one's",
        compute=saturating,
    ),
    Case(
        name="steady balance of a dehydrator",
        kind=4,
        source="balances with CoolProp's and psychrolib's properties (thermal digest, 5.3)",
        status="derived",
        inputs="68 degC, room 22 degC and 50 %; 20, 40, 80 m3/h fresh and 0.3, 0.3, 0.6 kg/h of water; "
        "W [g/kg], relative humidity [%], wet bulb [degC], heater [10 W]",
        expected=np.array([[20.8, 11.5, 34.4, 52.8], [14.5, 8.1, 31.6, 83.8], [14.5, np.nan, np.nan, 167.7]])[
            :2
        ],
        tolerance=np.array([0.18, 0.1, 0.15, 0.7]),
        reason="last digits printed; the digest takes fresh air of 1.2 kg/m3 (it is 1.18), 1.4 % of the rise of W, and "
        "real gas (1 % of the latent heat)",
        compute=lambda full: steady_balance(full)[:2],
    ),
    Case(
        name="steady balance of a dehydrator, all doubled",
        kind=1,
        source="the same balances: twice the air and twice the water",
        status="derived",
        inputs="80 m3/h and 0.6 kg/h against 40 m3/h and 0.3 kg/h: W, relative humidity, wet bulb alike, heater twice",
        expected=np.array([1.0, 1.0, 1.0, 2.0]),
        tolerance=1e-4,
        reason="the ideal thermostat settles 0.01 K apart for twice the power",
        compute=lambda full: steady_balance(full)[2] / steady_balance(full)[1],
    ),
    Case(
        name="recirculating tray dryer (Treybal 12.2)",
        kind=2,
        source=example("TR12.2")["source"],
        status=example("TR12.2")["status"] + "; fresh air of 25 degC derived from the printed enthalpies",
        inputs="11 trays, 1.818 kg/s over them at 95 degC, 0.1875 kg/s fresh of W 0.01, 7.5e-3 kg/s of water; "
        "W over the trays [g/kg], air off the trays and after mixing [degC], heater [kW]",
        expected=np.array([50.0, 86.0, 82.6, 34.3]),
        tolerance=np.array([0.2, 1.0, 3.2, 1.0]),
        reason="the book's chart gives 233 kJ/kg over the trays where the ideal gas has 229.5 (recalculated with the "
        "example), which lifts its mixing temperature by 3.2 K; 1 K off the trays and 0.5 kJ/kg at the heater",
        compute=recirculating,
    ),
    Case(
        name="reheated trays (Coulson & Richardson 13.4)",
        kind=2,
        source="Coulson & Richardson, vol. 1, Ex. 13.4",
        status="read in an open re-run of the book's examples",
        inputs="air of 325 K, W 0.005, four trays, to 60 % relative humidity on each, reheated to 325 K; tray "
        "temperatures [K], W off the last [g/kg]",
        expected=np.array([296.0, 301.0, 305.0, 307.0, 32.0]),
        tolerance=np.array([0.7, 0.7, 0.7, 0.7, 1.0]),
        reason="read from a chart to 0.5 K, the next tray starting from what was read; W to 1 g/kg",
        compute=reheated,
    ),
    Case(
        name="door ajar: 40 gaps, two hinges",
        kind=4,
        source=DOOR.source,
        status=DOOR.status,
        inputs="oven 50 to 90 degC, room 22 degC, gaps 20 to 150 mm, Cd 0.4 and 0.6, g/s",
        expected=np.concatenate([DOOR.column("side_g_s"), DOOR.column("bottom_g_s")]),
        tolerance=1e-3 + 5e-4 * np.concatenate([DOOR.column("side_g_s"), DOOR.column("bottom_g_s")]),
        unit="g/s",
        reason="three decimals, cut off; 0.05 % for gravity and gas constant behind the table",
        compute=ajar,
    ),
    Case(
        name="slot between airs nearly alike: the building standard",
        kind=3,
        source="BS 5925 and CIBSE: Q = Cd (A/3) sqrt(g H dT/T)",
        status="from memory, checked numerically",
        inputs="0.5, 1, 2, 5 K across a slot; package over standard",
        expected=1.0,
        tolerance=np.array([0.5, 1.0, 2.0, 5.0]) / 297.0 + 1e-3,
        reason="exact for vanishing differences, first order in dT/T; 1e-3 for rounding off the root near zero",
        compute=small_differences,
    ),
    Case(
        name="slot between room air and fire gas: 0.5 A sqrt(H)",
        kind=3,
        source="ventilation rule of compartment fires (Kawagoe; Karlsson & Quintiere, Enclosure Fire Dynamics)",
        status="from memory",
        inputs="opening 0.9 x 2 m, gas of 500, 750, 1000 degC, Cd 0.7; kg/s over A sqrt(H)",
        expected=0.5,
        tolerance=0.1,
        unit="kg/(s m2.5)",
        reason="coefficients of 0.40 to 0.61 are in use (Rockett 1976, from memory); 0.5 is the common one",
        compute=fire_vent,
    ),
]
