"""Door flow, exchanger, balances of the chamber."""

import csv
import dataclasses
import pathlib

import numpy as np
import pytest
from made_appliance import tray_stack
from scipy.integrate import solve_ivp

from dryingsim.batch.appliance_schema import Door, Moisture
from dryingsim.model.chamber import STEAM_TEMPERATURE_K, Chamber
from dryingsim.model.door import door_flow, slot_flow
from dryingsim.model.faces import exchanged
from dryingsim.model.load import Load, Setting
from dryingsim.properties import moist_air, water

SHARED = pathlib.Path(__file__).resolve().parents[2] / "shared"
PRESSURE = 101325.0


HEATED = tray_stack(trays={"slots": 6}, heater={"radiant_share": 0.1, "element_lag_s": 20.0})


def appliance(**changes):
    return dataclasses.replace(HEATED, **changes)


def chamber(made=None, trays=3, setting=None):
    load = Load(tray=np.arange(trays), trays=trays, area_m2=np.full(trays, 0.07), cover=0.75)
    out = Chamber(made or appliance(), load, 294.15, 0.011, PRESSURE)
    out.set(setting or Setting(341.15, None, 0.0), load)
    return out


def steady(box, boundary_flux, seconds=30000.0):
    """State after a long time with constant fluxes from the slabs."""
    source = box.deposit @ boundary_flux.reshape(-1)
    run = solve_ivp(
        lambda _, c: box.rates(c) + source,
        (0.0, seconds),
        box.initial(341.15),
        method="BDF",
        rtol=1e-9,
        atol=1e-9,
    )
    assert run.success
    return run.y[:, -1]


def table(name):
    lines = [line for line in (SHARED / name).read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize(
    "row", table("door_ajar_flow.csv"), ids=lambda r: f"{r['oven_C']}-{r['gap_m']}-{r['discharge']}"
)
def test_door_flow_equals_the_integrated_table(row):
    # the table gives g/s with three decimals, cut off rather than rounded, and uses the density 353.05/T of dry air
    inside, room = 353.05 / (float(row["oven_C"]) + 273.15), 353.05 / 295.15
    for hinge, column in (("side", "side_g_s"), ("bottom", "bottom_g_s")):
        door = Door(hinge=hinge, height_m=0.35, width_m=0.5, discharge=float(row["discharge"]))
        flow = float(door_flow(door, float(row["gap_m"]), inside, room))
        # 1e-3 g/s of the cut digits; 0.05 % for the constants behind the table (gravity, gas constant), not stated
        assert 1e3 * flow == pytest.approx(float(row[column]), abs=1e-3, rel=5e-4)


def test_slot_flow_tends_to_the_standard_formula_for_small_differences():
    # BS 5925 / CIBSE: Q = Cd (A/3) sqrt(g H dT/T); its density form, exact as the difference vanishes
    mean, width, height, cd = 1.1, 0.05, 0.35, 0.61
    for relative in (0.02, 0.005):
        flow = slot_flow(width, height, cd, mean * (1 - relative / 2), mean * (1 + relative / 2))
        standard = mean * cd * width * height / 3.0 * np.sqrt(9.80665 * height * relative)
        assert flow == pytest.approx(standard, rel=relative)  # first-order in the difference


def test_slot_flow_is_nil_without_a_difference_and_counts_humidity():
    assert slot_flow(0.05, 0.35, 0.6, 1.1, 1.1) == 0.0
    box = chamber(
        appliance(door=Door(hinge="side", height_m=0.35, width_m=0.5)), setting=Setting(341.15, None, 0.05)
    )
    dry = box.exchange_kg_s(np.array(341.15), np.array(0.007))
    moist = box.exchange_kg_s(np.array(341.15), np.array(0.1))
    assert moist > 1.1 * dry  # vapour is lighter than air: more buoyancy at the same temperature


def test_no_door_no_flow():
    assert door_flow(None, 0.05, 1.0, 1.2) == 0.0
    assert door_flow(Door(hinge="side", height_m=0.3, width_m=0.4), 0.0, 1.0, 1.2) == 0.0


@pytest.mark.parametrize("ntu", [0.01, 0.3, 3.0, 50.0])
def test_exchanged_film_is_the_exact_exchanger(ntu):
    # outlet difference over inlet difference = exp(-NTU): the exchanged film takes 1 - exp(-NTU) of the capacity
    film = 12.0
    carrying = film / ntu
    assert exchanged(film, carrying) == pytest.approx(carrying * (1.0 - np.exp(-ntu)), rel=1e-13)


def test_series_of_trays_follows_the_analytic_exchanger():
    # slices at one temperature, no vapour, no radiation: T after tray k is Ts + (T0 - Ts) exp(-k NTU)
    box, ts, ntu, trays = chamber(trays=5), 300.0, 0.4, 5
    c = box.initial(341.15)
    rows = box.rows
    t, w, e = box.cell_states(c)
    capacity = 1006.0 + w[0] * water.VAPOUR_SPECIFIC_HEAT  # of the air, per kg dry air
    expected = ts + (t[0] - ts) * np.exp(-ntu * np.arange(trays + 1))
    heat = exchanged(ntu * box.circulation_kg_s * capacity, box.circulation_kg_s * capacity) * (
        expected[:-1] - ts
    )
    boundary_flux = np.zeros((5, trays))
    boundary_flux[2] = heat / box.load.area_m2
    c[rows.energy] = (e[0] - capacity * (t[0] - expected)) * box.dry_air_kg
    rates = box.rates(c) + box.deposit @ boundary_flux.reshape(-1)
    np.testing.assert_allclose(box.cell_states(c)[0], expected, rtol=1e-12)
    np.testing.assert_allclose(
        rates[rows.energy][1:], 0.0, atol=1e-9 * heat.max()
    )  # every tray's cell is steady there


def test_supply_is_held_at_the_setting():
    c = steady(chamber(), np.zeros((5, 3)))
    t, w, _ = chamber().cell_states(c)
    assert t[0] == pytest.approx(341.15, abs=0.4)  # smooth switch: 3 widths of 0.1 K at part load
    assert w[0] == pytest.approx(chamber()._room_w, rel=1e-6)


def test_steady_state_balances_heater_against_losses():
    box = chamber()
    boundary_flux = np.zeros((5, 3))
    boundary_flux[0] = 2e-4  # kg/(m2 s) of vapour at 35 degC ...
    boundary_flux[1] = boundary_flux[0] * water.vapour_enthalpy(308.15)
    boundary_flux[2] = 0.9 * boundary_flux[1]  # ... most of whose heat comes by convection
    c = steady(box, boundary_flux)
    rates = box.rates(c)
    total = box.totals(rates)
    vapour = float((boundary_flux[0] * box.load.area_m2).sum())
    energy_in = float(((boundary_flux[1] - boundary_flux[2]) * box.load.area_m2).sum())
    assert total["aired_kg"] == pytest.approx(vapour, rel=1e-6)
    supplied = total["heater_J"] + total["fan_J"] + energy_in
    assert total["lost_J"] + total["aired_J"] == pytest.approx(supplied, rel=1e-6)


def test_heater_power_limits_the_temperature():
    weak = appliance(heater=dataclasses.replace(appliance().heater, power_W=100.0))
    c = steady(chamber(weak), np.zeros((5, 3)))
    t = chamber(weak).cell_states(c)[0][0]
    assert 300.0 < t < 335.0
    total = chamber(weak).totals(chamber(weak).rates(c))
    assert total["heater_J"] == pytest.approx(100.0, rel=1e-6)
    assert total["lost_J"] + total["aired_J"] == pytest.approx(120.0, rel=1e-5)


def test_parallel_trays_see_the_supply():
    made = appliance(trays=dataclasses.replace(appliance().trays, flow="parallel"))
    box = chamber(made)
    c = box.initial(341.15)
    c[1 : box.cells] *= 0.8  # cool what leaves the trays: what enters must not change
    np.testing.assert_allclose(box.inputs(c)[0], 341.15)
    series = chamber()
    assert np.ptp(series.inputs(c)[0]) > 1.0


def test_pan_raises_the_humidity_and_empties():
    made = appliance(moisture=Moisture(pan_area_m2=0.03, pan_water_kg=0.5))
    box = chamber(made)
    rates = box.rates(box.initial(341.15))
    rows = box.rows
    evaporated = -rates[rows.pan_kg]
    assert evaporated > 0.0
    dry = chamber(appliance())
    gain = rates[rows.supply_kg] - dry.rates(dry.initial(341.15))[rows.supply_kg]
    assert gain == pytest.approx(evaporated, rel=1e-9)
    empty = box.initial(341.15)
    empty[rows.pan_kg : rows.pan_J + 1] = 0.0
    assert abs(box.rates(empty)[rows.pan_kg]) < 1e-3 * evaporated


def test_steam_holds_a_humidity():
    made = appliance(moisture=Moisture(steam_kg_s=1e-3, purge_m3_s=30 / 3600))
    held = 0.15
    box = chamber(made, setting=Setting(341.15, held, 0.0))
    c = steady(box, np.zeros((5, 3)))
    w = box.cell_states(c)[1][0]
    assert w / (0.62194 + w) == pytest.approx(held, rel=0.03)
    total = box.totals(box.rates(c))
    assert total["steam_kg"] > 0.0
    supplied = (
        total["heater_J"] + total["fan_J"] + total["steam_kg"] * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
    )
    assert total["lost_J"] + total["aired_J"] + total["condensed_J"] == pytest.approx(supplied, rel=1e-5)


def test_dew_falls_on_a_cold_shell_only():
    box = chamber()
    c = box.initial(341.15)
    rows = box.rows
    c[rows.water] = 0.05 * box.dry_air_kg  # dew point 40 degC
    c[rows.energy] = moist_air.enthalpy(341.15, 0.05) * box.dry_air_kg
    total = box.totals(box.rates(c))
    assert total["condensed_kg"] == 0.0
    c[rows.shell_J] = box.appliance.walls.capacity_J_K * 20.0
    total = box.totals(box.rates(c))
    assert total["condensed_kg"] > 0.0


def test_fog_settles_until_the_air_is_saturated():
    box = chamber()
    c = box.initial(341.15)
    rows = box.rows
    c[rows.supply_kg] = 0.35 * box.dry_air_kg[0]  # beyond the 0.25 kg/kg of saturation at 68 degC
    c[0] = moist_air.enthalpy(341.15, 0.35) * box.dry_air_kg[0]
    total = box.totals(box.rates(c))
    assert total["condensed_kg"] > 0.0
    c[rows.supply_kg] = 0.2 * box.dry_air_kg[0]
    c[0] = moist_air.enthalpy(341.15, 0.2) * box.dry_air_kg[0]
    c[rows.shell_J] = 2000.0 * 68.0
    assert box.totals(box.rates(c))["condensed_kg"] == 0.0


def test_a_wild_trial_state_is_left_to_the_error_of_the_step():
    box = chamber()
    for row in (box.rows.energy, box.rows.shell_J, box.rows.floor_J):
        wild = box.initial(330.0)
        wild[row] = -1e9
        assert not np.all(box.rates(wild) == 0.0)  # no complaint about what nobody typed


def test_every_rate_keeps_the_content():
    # the content (energy, water, less what came in and plus what went out) must not change by itself
    made = appliance(
        door=Door(hinge="bottom", height_m=0.35, width_m=0.5),
        moisture=Moisture(steam_kg_s=1e-3, purge_m3_s=0.01, pan_area_m2=0.03, pan_water_kg=0.5),
    )
    box = chamber(made, setting=Setting(350.0, 0.2, 0.04))
    rng = np.random.default_rng(3)
    c = box.initial(330.0)
    c[: 2 * box.cells] *= rng.uniform(0.8, 1.2, 2 * box.cells)
    energy, moisture = box.content(box.rates(c))
    turnover = np.abs(box.rates(c)[: box.cells]).max()
    assert abs(energy) < 1e-12 * turnover
    assert abs(moisture) < 1e-15
