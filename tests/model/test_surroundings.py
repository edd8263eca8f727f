"""Loaded appliances: capacity, rotation, thermostat, coupling at the extremes, balances."""

import dataclasses

import numpy as np
import pytest
from made_appliance import tray_stack, with_parts
from made_batch import warm_air

from dryingsim.batch.appliance_schema import Door, Moisture
from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.errors import InputError
from dryingsim.model.loaded import LoadedAppliance
from dryingsim.model.surroundings import ApplianceSurroundings, trays_needed
from dryingsim.properties import moist_air
from dryingsim.simulate import run

STACK = tray_stack(
    trays={"slots": 30},
    heater={"power_W": 600.0, "band_K": 6.0, "sensor_lag_s": 40.0, "element_lag_s": 60.0},
)


def batch(appliance=STACK, hours=2.0, kg=0.7, celsius=68.0, trays=None, **changes):
    made = warm_air()
    stage = dataclasses.replace(
        made.stages[0],
        air=dataclasses.replace(made.stages[0].air, temperature_K=celsius + 273.15),
        duration_s=hours * 3600.0,
        until=None,
    )
    meat = dataclasses.replace(made.meat, weight_kg=kg)
    return dataclasses.replace(made, appliance=appliance, meat=meat, stages=(stage,), trays=trays, **changes)


@pytest.mark.parametrize("circulation", [1.0, 60.0, 2000.0])
@pytest.mark.parametrize("fresh", [0.0, 1.0])
@pytest.mark.parametrize("kg", [0.05, 5.0])
def test_extremes_neither_oscillate_nor_break_a_balance(circulation, fresh, kg):
    # NTU from about 0.01 to above 10, all air fresh or none, a handful of slices or fourteen trays
    made = with_parts(
        STACK,
        trays={"circulation_m3_s": circulation / 3600},
        ventilation={"vents_m3_s": fresh * circulation / 3600, "leakage_m3_s": 0.0},
        heater={"power_W": 2000.0},
    )
    history = run(batch(made, hours=1.0, kg=kg), nodes=10)
    chamber = history.chamber
    assert chamber.water_closure <= 1e-8
    assert chamber.energy_closure <= 1e-5
    pressure = history.batch.room.pressure_Pa
    humidity = moist_air.relative_humidity(
        moist_air.vapour_pressure(chamber.cell_humidity_ratio, pressure), chamber.cell_temperature_K
    )
    assert humidity.max() < 1.0  # air never above saturation
    assert history.moisture_db.min() > 0.0
    # no ringing: after the first minutes the air leaving the last tray warms without turning back by more than 0.5 K
    leaving = chamber.cell_temperature_K[5:, -1]
    assert np.all(np.maximum.accumulate(leaving) - leaving < 0.5)


def test_scarce_air_leaves_nearly_saturated():
    made = with_parts(
        STACK, trays={"circulation_m3_s": 1 / 3600}, ventilation={"vents_m3_s": 1 / 3600, "leakage_m3_s": 0.0}
    )
    history = run(batch(made, hours=0.5, kg=5.0), nodes=10)
    w, t = history.chamber.cell_humidity_ratio[-1, -1], history.chamber.cell_temperature_K[-1, -1]
    humidity = moist_air.relative_humidity(moist_air.vapour_pressure(w, 101325.0), t)
    # the meat's own water activity (0.98) is the limit; the first of many trays decides, the last is passed in balance
    # (within the edges' share of a tenth of what is left to saturation: they take part from 1 K above the dew point)
    assert humidity == pytest.approx(float(history.surface_water_activity[-1, :, -1].mean()), abs=0.02)


def test_plenty_of_air_is_given_air(monkeypatch):
    # with the air held at the setting and NTU below 0.01 an appliance must give what given air gives, but for
    # radiation (in a stack slices face each other, in given air they face walls as warm as the air): switched off
    monkeypatch.setattr("dryingsim.model.build.EMISSIVITY", 0.0)
    made = with_parts(
        STACK,
        trays={"circulation_m3_s": 10000 / 3600, "flow": "parallel"},
        ventilation={"vents_m3_s": 10000 / 3600},
        heater={"power_W": 3e5},
    )
    loaded = run(batch(made))
    given = batch(appliance=None)
    stage = given.stages[0]
    given = dataclasses.replace(
        given, stages=(dataclasses.replace(stage, air=dataclasses.replace(stage.air, speed_m_s=0.8)),)
    )
    free = run(given)
    # the thermostat's smooth switch leaves up to 0.4 K, the cold load dips the air for some seconds: 1 % of moisture
    np.testing.assert_allclose(loaded.mean_moisture_db[-1, :3], free.mean_moisture_db[-1], rtol=0.01)


def test_first_tray_dries_first_and_rotation_evens_out():
    still = run(batch(hours=4.0, trays=4))
    turned = run(batch(hours=4.0, trays=4, rotate_every_s=1800.0))

    def spread(history):
        return np.ptp([history.mean_moisture_db[-1, history.tray == k].mean() for k in range(4)])

    means = [still.mean_moisture_db[-1, still.tray == k].mean() for k in range(4)]
    assert means[0] < means[1] < means[2]  # the last one also faces the warm ceiling
    assert spread(turned) < 0.4 * spread(still)
    places = turned.place[:, ::3]
    assert set(places[0]) == {0, 1, 2, 3}
    assert places[-1, 0] != places[0, 0]


def test_too_many_slices_say_how_many_trays_they_need():
    small = with_parts(STACK, trays={"slots": 3})
    needed = trays_needed(1.15, small.trays.length_m * small.trays.width_m)
    assert needed > 3
    with pytest.raises(InputError, match=r"need \d+ trays.* has 3; dry less"):
        run(batch(small, kg=5.0))


def test_switching_thermostat_swings_around_the_setting():
    made = with_parts(STACK, heater={"control": "switching"})
    history = run(batch(made, hours=0.5), interval_s=5.0)
    late = history.time_s > 600.0
    supply = history.chamber.cell_temperature_K[late, 0] - 273.15
    assert supply.max() > 68.0 + 3.0  # at least the band
    assert supply.min() < 68.0 - 3.0
    assert np.mean(supply) == pytest.approx(68.0, abs=3.0)
    ideal = run(batch(hours=0.5))
    ratio = history.weight_loss[-1] / ideal.weight_loss[-1]
    assert ratio == pytest.approx(1.0, abs=0.06)  # the mean temperature decides
    assert history.chamber.energy_closure <= 1e-5


def test_cold_load_pulls_the_air_down():
    weak = with_parts(STACK, heater={"power_W": 250.0})
    history = run(batch(weak, hours=1.0, kg=2.0))
    supply = history.chamber.cell_temperature_K[:, 0] - 273.15
    assert supply[0] == pytest.approx(68.0, abs=0.1)
    assert supply.min() < 50.0


def test_an_open_door_and_a_sheet_change_the_batch_as_they_should():
    oven = dataclasses.replace(
        with_parts(
            STACK, trays={"flow": "parallel"}, ventilation={"vents_m3_s": 0.0}, heater={"power_W": 2300.0}
        ),
        door=Door(hinge="bottom", height_m=0.35, width_m=0.5, gap_m=0.05),
    )
    shut = dataclasses.replace(oven, door=dataclasses.replace(oven.door, gap_m=0.0))
    open_, closed = run(batch(oven)), run(batch(shut))
    assert open_.weight_loss[-1] > closed.weight_loss[-1]  # a shut oven goes humid
    assert open_.chamber.totals["heater_J"][-1] > 1.3 * closed.chamber.totals["heater_J"][-1]
    sealed = run(batch(oven, support="sheet"))
    assert sealed.weight_loss[-1] < 0.8 * open_.weight_loss[-1]


def test_held_humidity_keeps_the_wet_bulb():
    made = dataclasses.replace(STACK, moisture=Moisture(steam_kg_s=1e-3, purge_m3_s=60 / 3600))
    base = batch(made, hours=0.7)
    stage = base.stages[0]
    humid = dataclasses.replace(
        stage.air, humidity=dataclasses.replace(stage.air.humidity, kind="wet_bulb", value=327.15)
    )
    history = run(dataclasses.replace(base, stages=(dataclasses.replace(stage, air=humid),)))
    assert history.air_wet_bulb_K[-1, 0] == pytest.approx(327.15, abs=0.5)
    # wet meat follows the wet bulb: convection alone would hold it 1 K below, radiation lifts it
    assert -1.5 < history.core_temperature_K[-1].mean() - 327.15 < 5.0


def test_matrix_of_the_loaded_appliance_is_its_jacobian():
    # the long edges are left out of the matrix on purpose: slices so wide that they have none to speak of
    wide = batch(trays=2)
    wide = dataclasses.replace(wide, meat=dataclasses.replace(wide.meat, width_m=10.0))
    surroundings = ApplianceSurroundings(wide, 6, 1e-4)
    surroundings.begin(surroundings._batch.stages[0], 0.0)
    system: LoadedAppliance = surroundings.system
    # the change of the natural film with the state is left out of the matrix on purpose: no natural film here
    system.film = dataclasses.replace(system.film, natural=0.0 * system.film.natural)
    y = surroundings.initial()
    for _ in range(3):  # a smooth state about a minute in
        system.linearize(0.0, y)
        system.factor(1.0 / 20.0)
        y = y + system.solve(system.rhs(0.0, y))
    shift = 1.0 / 30.0
    system.linearize(0.0, y)
    system.factor(shift)
    solved = np.array([system.solve(e) for e in np.eye(y.size)]).T
    mass = np.array([system.weigh(e) for e in np.eye(y.size)]).T
    matrix = shift * mass - np.linalg.inv(solved)
    exact = np.empty_like(matrix)
    for j in range(y.size):
        nudge = np.zeros(y.size)
        nudge[j] = 1e-5 * max(abs(y[j]), 1e-3)
        exact[:, j] = (system.rhs(0.0, y + nudge) - system.rhs(0.0, y - nudge)) / (2.0 * nudge[j])
    # each row against its own largest entry, columns in units of a typical change of their state
    change = np.maximum(np.abs(y), 1e-3)
    scaled = np.abs(exact * change)
    miss = np.abs((matrix - exact) * change)
    rows = scaled.max(axis=1) > 0.0
    # left out: Ackermann's factor and the conductivity with the state; forward differences in the chamber: 5 %
    assert np.all(miss[rows].max(axis=1) <= 0.05 * scaled[rows].max(axis=1))


def test_a_shut_oven_refuses_few_steps():
    # where water seems to call for heat, by 6 % of the slope of a thermostat at 5 % of its power, half of all tries fail
    history = run(batch(find_appliance("", "oven with fan").appliance(""), hours=3.5), nodes=12)
    # as few as in any appliance: where the air begins, and at the salt step of the sorption curve
    assert history.statistics.rejected <= 0.25 * history.statistics.steps
