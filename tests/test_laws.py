"""Laws that must hold whatever is dried and however: found out on batches that hypothesis makes up."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_batch import warm_air

from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.schema import Air, Humidity, Marinade, Stage, ThicknessClass
from dryingsim.batch.units import from_si, to_si
from dryingsim.model.air import GivenAir
from dryingsim.model.build import build_slabs, recipe_of
from dryingsim.model.faces import AirAtSlabs, Film
from dryingsim.model.system import SlabSystem
from dryingsim.properties import moist_air
from dryingsim.properties.water_activity import water_activity
from dryingsim.simulate import run

HOUR = 3600.0
NODES = 8  # laws hold on any grid
LAW = settings(deadline=None, derandomize=True, database=None)

celsius = st.floats(30.0, 95.0)
thickness = st.floats(0.002, 0.012)
speed = st.floats(0.1, 3.0)
humidity = st.floats(0.02, 0.95)
salt = st.floats(0.0, 0.04)


ROOM = Humidity(kind="room")


def batch(*, t=68.0, humid=ROOM, v=1.0, d=0.005, salted=0.015, hours=3.0, support="mesh", kg=0.5):
    start = warm_air()
    air = Air(temperature_K=t + 273.15, humidity=humid, speed_m_s=v)
    return replace(
        start,
        meat=replace(start.meat, classes=(ThicknessClass(thickness_m=d, share=1.0),), weight_kg=kg),
        marinade=Marinade(salt_kg_kg=salted),
        stages=(Stage(name="air", air=air, duration_s=hours * HOUR),),
        support=support,
    )


def dried(made, tolerance=2e-3, **more):
    return run(made, nodes=NODES, interval_s=600.0, tolerance=tolerance, **more)


@settings(LAW, max_examples=16)
@given(t=celsius, h=humidity, v=speed, d=thickness, s=salt, support=st.sampled_from(["mesh", "sheet"]))
def test_moisture_is_never_negative_and_air_never_overtaken(t, h, v, d, s, support):
    made = batch(
        t=t, humid=Humidity(kind="relative", value=h), v=v, d=d, salted=s, support=support, hours=8.0
    )
    history = dried(made)
    assert history.moisture_db.min() >= 0.0
    assert np.all((history.water_activity > 0.0) & (history.water_activity < 1.0 + 1e-9))
    # heat comes from air and walls of one temperature: nothing gets hotter than they but by dew and by sorption
    assert history.temperature_K.max() <= t + 273.15 + 2.0
    assert history.water_closure <= 1e-9
    assert history.energy_closure <= 1e-6


@settings(LAW, max_examples=8)
@given(t=st.floats(40.0, 80.0), warmer=st.floats(3.0, 15.0), dew=st.floats(0.0, 25.0), d=thickness)
def test_hotter_air_of_the_same_dew_point_dries_faster(t, warmer, dew, d):
    humid = Humidity(kind="dew_point", value=dew + 273.15)
    cool, warm = (dried(batch(t=x, humid=humid, d=d)).mean_moisture_db[:, 0] for x in (t, t + warmer))
    assert np.all(warm[1:] < cool[1:])


@settings(LAW, max_examples=8)
@given(t=celsius, dew=st.floats(0.0, 20.0), drier=st.floats(2.0, 15.0), v=speed)
def test_drier_air_takes_more_from_wet_faces(t, dew, drier, v):
    # Only at first: evaporation also keeps the meat cooler, and cool meat lets water through more slowly, so that
    # hours later the slice in the moister air may be ahead by a hair.
    moist, dry = (
        dried(batch(t=t, v=v, hours=1 / 12, humid=Humidity(kind="dew_point", value=x + 273.15)))
        for x in (dew, dew - drier)
    )
    assert dry.mean_moisture_db[-1, 0] < moist.mean_moisture_db[-1, 0]
    assert dry.surface_temperature_K[-1, 1, 0] < moist.surface_temperature_K[-1, 1, 0]


@settings(LAW, max_examples=8)
@given(t=celsius, d=st.floats(0.002, 0.008), thicker=st.floats(1.1, 1.8), h=st.floats(0.02, 0.4))
def test_thicker_slices_are_slower(t, d, thicker, h):
    humid = Humidity(kind="relative", value=h)
    thin, thick = (dried(batch(t=t, d=x, humid=humid)).mean_moisture_db[:, 0] for x in (d, d * thicker))
    assert np.all(thick[1:] >= thin[1:] - 1e-6)
    assert thick[1] > thin[1]


@settings(LAW, max_examples=8)
@given(t=celsius, v=st.floats(0.3, 2.0), d=thickness)
def test_a_sealed_face_slows_drying(t, v, d):
    mesh, sheet = (dried(batch(t=t, v=v, d=d, support=s)).mean_moisture_db[:, 0] for s in ("mesh", "sheet"))
    assert np.all(sheet[1:] > mesh[1:])


@settings(LAW, max_examples=60)
@given(x=st.floats(0.8, 3.0), t=st.floats(278.0, 370.0), s=salt, more=st.floats(0.002, 0.03))
def test_more_salt_lowers_the_water_activity(x, t, s, more):
    # As long as it is dissolved: crystals below the activity of saturated brine hold no water, and at one moisture per
    # dry matter the protein beside them is then the wetter.
    plain, salted = (recipe_of(batch(salted=y))[0] for y in (s, s + more))
    assert water_activity(x, t, salted) < water_activity(x, t, plain)


@settings(LAW, max_examples=60)
@given(x=st.floats(0.02, 3.0), more=st.floats(1e-3, 0.5), t=st.floats(278.0, 370.0), s=salt)
def test_wetter_meat_is_more_active(x, more, t, s):
    recipe = recipe_of(batch(salted=s))[0]
    assert water_activity(x + more, t, recipe) > water_activity(x, t, recipe)


def states(slabs, films, walls, seconds):
    """Moisture and temperature (n,) of one slab in steady air, forced films and walls (lower, upper)."""
    from dryingsim.kernels.rosenbrock import Stepper

    air = AirAtSlabs(
        temperature_K=np.array([335.0]),
        vapour_fraction=np.array([0.02]),
        wall_K=np.array(walls)[:, None],
        view=np.ones((2, 1)),
        pressure_Pa=101325.0,
        film=Film(forced=np.array(films)[:, None], natural=np.array([0.0]), mass_factor=np.array([7e-4])),
    )
    system = SlabSystem(slabs, GivenAir(air, air), 1e-3)  # the same errors either way up
    stepper = Stepper(system, 0.0, system.initial(slabs.initial_moisture_db, 280.0))
    while stepper.t < seconds:
        stepper.step(seconds)
    x, h, _ = system.split(stepper.y)
    return x[:, 0], slabs.temperature(x, h)[:, 0]


@settings(LAW, max_examples=8)
@given(
    d=thickness,
    films=st.tuples(st.floats(3.0, 60.0), st.floats(3.0, 60.0)),
    walls=st.tuples(st.floats(300.0, 370.0), st.floats(300.0, 370.0)),
    sealed=st.booleans(),
)
def test_upside_down_is_the_same_slab(d, films, walls, sealed):
    slabs = build_slabs(batch(d=d), NODES)
    if sealed:
        slabs = replace(slabs, vapour_open=np.array([[0.0], [1.0]]))
    turned = replace(slabs, vapour_open=slabs.vapour_open[::-1])
    x, t = states(slabs, films, walls, 1800.0)
    x_turned, t_turned = states(turned, films[::-1], walls[::-1], 1800.0)
    assert x_turned[::-1] == pytest.approx(x, abs=1e-9)
    assert t_turned[::-1] == pytest.approx(t, abs=1e-6)


def enlarged(appliance, factor):
    """All that grows with size, `factor` times; speeds, temperatures and films stay."""
    trays, walls, heat = appliance.trays, appliance.walls, appliance.heater
    air, moist = appliance.ventilation, appliance.moisture
    root = float(np.sqrt(factor))
    return replace(
        appliance,
        trays=replace(
            trays,
            length_m=root * trays.length_m,
            width_m=root * trays.width_m,
            circulation_m3_s=factor * trays.circulation_m3_s,
        ),
        walls=replace(
            walls,
            volume_m3=factor * walls.volume_m3,
            area_m2=factor * walls.area_m2,
            capacity_J_K=factor * walls.capacity_J_K,
            floor_capacity_J_K=factor * walls.floor_capacity_J_K,
            loss_W_K=factor * walls.loss_W_K,
        ),
        heater=replace(heat, power_W=factor * heat.power_W, fan_W=factor * heat.fan_W),
        ventilation=replace(air, vents_m3_s=factor * air.vents_m3_s, leakage_m3_s=factor * air.leakage_m3_s),
        moisture=replace(moist, steam_kg_s=factor * moist.steam_kg_s, purge_m3_s=factor * moist.purge_m3_s),
    )


DEHYDRATORS = ("stacked dehydrator", "cabinet dehydrator")


@settings(LAW, max_examples=4)
@given(name=st.sampled_from(DEHYDRATORS), factor=st.floats(0.3, 5.0), t=st.floats(50.0, 70.0))
def test_everything_twice_as_large_dries_alike(name, factor, t):
    appliance = all_appliances()[name].appliance("here")
    one, more = (
        dried(replace(batch(t=t, kg=0.5 * f), appliance=enlarged(appliance, f), trays=3))
        for f in (1.0, factor)
    )
    # the steps are chosen by errors that scale alike; what is left is rounding carried along
    assert more.mean_moisture_db == pytest.approx(one.mean_moisture_db, abs=1e-5)
    assert more.air_temperature_K == pytest.approx(one.air_temperature_K, abs=0.01)


@settings(LAW, max_examples=10)
@given(
    name=st.sampled_from((*DEHYDRATORS, "oven with fan")),
    kg=st.floats(0.05, 0.8),
    vents=st.floats(0.0, 1.0),
    t=st.floats(40.0, 71.0),
)
def test_chamber_air_is_never_above_saturation(name, kg, vents, t):
    appliance = all_appliances()[name].appliance("here")
    appliance = replace(
        appliance,
        ventilation=replace(
            appliance.ventilation,
            vents_m3_s=vents * appliance.ventilation.vents_m3_s,
            leakage_m3_s=vents * appliance.ventilation.leakage_m3_s,
        ),
        heater=replace(appliance.heater, control="ideal"),
    )
    history = dried(replace(batch(t=t, kg=kg, hours=1.5), appliance=appliance))
    chamber = history.chamber
    pressure = moist_air.vapour_pressure(chamber.cell_humidity_ratio, history.batch.room.pressure_Pa)
    over = moist_air.relative_humidity(pressure, chamber.cell_temperature_K)
    assert over.max() <= 1.02  # fog settles within seconds, not at once
    assert history.moisture_db.min() >= 0.0


@settings(LAW, max_examples=6)
@given(t=celsius, h=st.floats(0.02, 0.5), d=st.floats(0.003, 0.008))
def test_finer_steps_change_nothing(t, h, d):
    made = batch(t=t, d=d, humid=Humidity(kind="relative", value=h))
    usual, fine = (dried(made, tolerance=tolerance).mean_moisture_db[:, 0] for tolerance in (1.5e-4, 1e-5))
    assert usual == pytest.approx(fine, abs=0.002)  # kg/kg: what the runs promise against a fine solution


@settings(LAW, max_examples=4)
@given(t=celsius, every=st.sampled_from([30.0, 120.0, 450.0]))
def test_recording_more_often_changes_nothing(t, every):
    made = batch(t=t)
    often, seldom = (run(made, nodes=NODES, interval_s=x) for x in (every, 600.0))
    assert np.array_equal(often.moisture_db[-1], seldom.moisture_db[-1])


PLAIN = [
    (dimension, words.split()[0])
    for dimension, kind in DIMENSIONS.items()
    for words in kind.units.values()
    if words.split()
]


@pytest.mark.parametrize(("dimension", "unit"), PLAIN)
@settings(LAW, max_examples=15)
@given(value=st.floats(0.01, 9999.0))
def test_a_quantity_typed_and_printed_comes_back(dimension, unit, value):
    typed = f"{value:.6f} {unit}"
    number = float(f"{value:.6f}")
    assert from_si(to_si("here", typed, dimension), unit, dimension) == pytest.approx(
        number, rel=1e-9, abs=1e-7
    )
