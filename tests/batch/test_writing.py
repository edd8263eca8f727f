"""Batches, appliances and what was learned, written as files that read back the same."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.animals import called_ground
from dryingsim.batch.appliance_description import parse_description
from dryingsim.batch.appliance_parameters import PARAMETERS, read_value
from dryingsim.batch.appliance_schema import (
    Appliance,
    Door,
    Heater,
    Moisture,
    TrayStack,
    Ventilation,
    Walls,
)
from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.batch.catalog.cuts import all_cuts, normalised
from dryingsim.batch.learned import KEYS
from dryingsim.batch.reading.learned_file import read_learned
from dryingsim.batch.reading.toml import parse_toml
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.units import to_si
from dryingsim.batch.writing.appliance_file import appliance_tables
from dryingsim.batch.writing.learned_file import as_told, learned_toml
from dryingsim.batch.writing.quantities import spelled
from dryingsim.errors import InputError

ROUND = settings(deadline=None, derandomize=True, database=None)
numbers = st.floats
names = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)
DEMO = warm_air()


@st.composite
def meats(draw):
    if draw(st.booleans()):
        cut = draw(st.sampled_from(list(all_cuts().values())))
        kind = {"name": cut.name, "composition": cut.composition, "species": cut.species}
    else:
        water, protein, fat, ash = (
            draw(numbers(*ends)) for ends in ((60.0, 75.0), (15.0, 25.0), (1.0, 12.0), (0.5, 2.0))
        )
        kind = {
            "name": draw(names),
            "composition": normalised(water, protein, fat, draw(numbers(0.0, 3.0)), ash),
            "species": draw(st.sampled_from(["beef", "game", "fish", "unknown"])),
        }
    shares = draw(st.lists(numbers(0.05, 1.0), min_size=1, max_size=4))
    return ds.Meat(
        **kind,
        form="minced"
        if called_ground(kind["name"])
        else draw(st.sampled_from(["sliced", "pounded", "minced"])),
        classes=tuple(
            ds.ThicknessClass(thickness_m=draw(numbers(0.0005, 0.030)), share=share / sum(shares))
            for share in shares
        )
        if len(shares) > 1
        else (ds.ThicknessClass(thickness_m=draw(numbers(0.0005, 0.030)), share=1.0),),
        length_m=draw(numbers(0.005, 1.0)),
        width_m=draw(numbers(0.005, 1.0)),
        weight_kg=draw(numbers(0.001, 500.0)),
        temperature_K=draw(numbers(272.16, 363.14)),
    )


def humidities(air_K, room_K):
    """Of air hotter than 60 degC and cooler than 95 degC, in a room below its dew point: such air there can be."""
    return st.one_of(
        st.just(ds.Humidity(kind="room")),
        st.builds(ds.Humidity, kind=st.just("relative"), value=numbers(0.0, 0.5), measured=st.booleans()),
        st.builds(
            ds.Humidity, kind=st.just("dew_point"), value=numbers(250.0, room_K), measured=st.booleans()
        ),
        st.builds(
            ds.Humidity,
            kind=st.just("wet_bulb"),
            value=numbers(air_K - 10.0, air_K - 1.0),
            measured=st.booleans(),
        ),
    )


untils = st.builds(
    ds.Until,
    weight_loss=numbers(0.0, 1.0),
    core_temperature_K=st.none() | numbers(274.0, 420.0),
    water_activity=st.none() | numbers(0.1, 0.99),
)


@st.composite
def stages(draw, appliance, room_K):
    highest = appliance.heater.highest_K if appliance else None
    air_K = draw(numbers(335.0, min(highest or 365.0, 365.0)))
    speed = draw(numbers(0.0, 10.0)) if appliance is None else appliance.trays.speed_m_s
    steamed = appliance is None
    humidity = draw(humidities(air_K, room_K)) if steamed else ds.Humidity(kind="room")
    air = ds.Air(temperature_K=air_K, humidity=humidity, speed_m_s=speed)
    ramp = steamed and draw(st.booleans())
    end = replace(air, temperature_K=draw(numbers(air_K, 368.0)), speed_m_s=draw(numbers(0.0, 10.0)))
    gap = appliance is not None and appliance.door is not None and draw(st.booleans())
    return ds.Stage(
        name=draw(names),
        air=air,
        air_end=end if ramp else None,
        duration_s=draw(numbers(1.0, 864000.0)),
        until=draw(st.none() | untils),
        turn=draw(st.booleans()),
        door_gap_m=draw(numbers(0.0, 0.3)) if gap else None,
    )


@st.composite
def appliances(draw):
    """Any that a file may describe: every parameter within its limits, and those that go together in step."""

    def value(key, most=math.inf):
        low, high = (read_value(key, end, key) for end in (PARAMETERS[key].low, PARAMETERS[key].high))
        return draw(numbers(low, min(high, most)))

    door = Door(
        hinge=draw(st.sampled_from(["side", "bottom"])),
        height_m=value("door.height"),
        width_m=value("door.width"),
        gap_m=value("door.gap", 0.05),
        discharge=value("door.discharge"),
        draught_m_s=value("door.draught"),
    )
    moved = value("air.circulation")
    length, width = value("trays.length"), value("trays.width")
    pan = draw(st.booleans())
    return Appliance(
        name=draw(names),
        trays=TrayStack(
            slots=draw(st.integers(1, 50)),
            length_m=length,
            width_m=width,
            flow=draw(st.sampled_from(["series", "parallel", "still"])),
            circulation_m3_s=moved,
            speed_m_s=value("air.speed"),
        ),
        door=door if draw(st.booleans()) else None,
        ventilation=Ventilation(vents_m3_s=value("air.vents", moved), leakage_m3_s=value("air.leak")),
        heater=Heater(
            power_W=value("heater.power"),
            radiant_share=value("heater.radiant_share"),
            control=draw(st.sampled_from(["ideal", "switching"])),
            band_K=value("heater.band"),
            sensor=draw(st.sampled_from(["supply", "return"])),
            sensor_lag_s=value("heater.sensor_lag"),
            element_lag_s=value("heater.element_lag"),
            fan_W=value("heater.fan_power"),
            highest_K=draw(st.none() | st.just(value("heater.highest"))),
        ),
        walls=Walls(
            volume_m3=value("walls.volume"),
            area_m2=value("walls.area"),
            film_W_m2K=value("walls.film"),
            capacity_J_K=value("walls.capacity"),
            floor_capacity_J_K=value("walls.floor_capacity"),
            loss_W_K=value("walls.loss"),
        ),
        moisture=Moisture(
            purge_m3_s=value("moisture.purge"),
            pan_area_m2=length * width / 2.0 if pan and length * width < 4.0 else 0.0,
            pan_water_kg=1.0 if pan and length * width < 4.0 else 0.0,
        ),
        preheated=draw(st.booleans()),
    )


@st.composite
def batches(draw):
    known = [one.appliance(name) for name, one in all_appliances().items()]
    appliance = draw(st.none() | st.sampled_from(known))
    room_K = draw(numbers(283.0, 310.0))
    trays = draw(st.none() | st.integers(2, appliance.trays.slots)) if appliance else None
    return ds.Batch(
        name=draw(names),
        meat=draw(meats()),
        room=ds.Room(
            temperature_K=room_K,
            relative_humidity=draw(numbers(0.0, 1.0)),
            pressure_Pa=draw(st.just(101325.0) | numbers(90e3, 110e3)),
        ),
        stages=tuple(draw(st.lists(stages(appliance, room_K), min_size=1, max_size=3))),
        marinade=ds.Marinade(
            salt_kg_kg=draw(numbers(0.0, 0.15)),
            sugar_kg_kg=draw(numbers(0.0, 0.5)),
            water_kg_kg=draw(numbers(-0.25, 0.5)),
            known=draw(st.booleans()),
        ),
        support=draw(st.sampled_from(["mesh", "sheet"])),
        appliance=appliance,
        trays=trays,
        rotate_every_s=draw(st.none() | numbers(60.0, 864000.0)) if trays else None,
        targets=ds.Targets(water_activity=draw(numbers(0.1, 0.99))),
        display=draw(st.sampled_from(["metric", "us"])),
    )


@settings(ROUND, max_examples=60)
@given(batch=batches())
def test_a_batch_comes_back_from_its_file(batch):
    assert ds.parse_batch(batch.to_toml(), "again") == batch


@settings(ROUND, max_examples=50)
@given(appliance=appliances())
def test_an_appliance_comes_back_from_its_file(appliance):
    description = parse_description("again", parse_toml(appliance.to_toml(), "again"))
    assert description.appliance("again") == appliance


@settings(ROUND, max_examples=150)
@given(
    value=numbers(1e-9, 1.0) | numbers(0.0, 1.0),
    other=numbers(-0.25, 1e5),
    units=st.sampled_from(["metric", "us"]),
)
def test_every_number_is_spelled_to_the_last_digit(value, other, units):
    assert to_si("here", spelled(value, "fraction", units), "fraction") == value
    for dimension in ("length", "mass", "duration", "temperature", "mass fraction", "pressure", "speed"):
        assert to_si("here", spelled(other, dimension, units), dimension) == other


TYPED_IN = {
    "us": [
        ("inch", "length", 0.02),
        ("lb", "mass", 1.0),
        ("degF", "temperature", 1.0),
        ("ft/min", "speed", 1.0),
    ],
    "metric": [
        ("mm", "length", 0.5),
        ("kg", "mass", 1.0),
        ("degC", "temperature", 1.0),
        ("m/s", "speed", 0.1),
    ],
}


@settings(ROUND, max_examples=200)
@given(thousandths=st.integers(1, 99_999), units=st.sampled_from(["metric", "us"]))
def test_what_was_typed_in_a_persons_units_stays_in_them(thousandths, units):
    """A number of few digits comes out in units of the same system, never with more digits than were typed."""
    for unit, dimension, least in TYPED_IN[units]:
        size = least + thousandths / 1000.0
        typed = f"{size:.3f}".rstrip("0").rstrip(".") + f" {unit}"
        text = spelled(to_si("here", typed, dimension), dimension, units)
        number, written = text.rsplit(" ", 1)
        assert written in {unit, {"lb": "oz", "kg": "g"}.get(unit)}, (typed, text)
        assert "/" in number or _digits(number) <= _digits(typed), (typed, text)


def _digits(text):
    return sum(letter.isdigit() for letter in text.lstrip("0."))


@pytest.mark.parametrize(
    ("typed", "dimension", "units"),
    [
        ("68 degC", "temperature", "metric"),
        ("155 degF", "temperature", "metric"),
        ("4.5 mm", "length", "metric"),
        ("15 g/kg", "mass fraction", "metric"),
        ("33.3 %", "fraction", "metric"),
        ("2.25 h", "duration", "metric"),
        ("10 min", "duration", "metric"),
        ("1.5 lb", "mass", "metric"),
        ("155 degF", "temperature", "us"),
        ("3/16 inch", "length", "us"),
        ("1 5/32 inch", "length", "us"),
        ("0.2 inch", "length", "us"),
        ("5 mm", "length", "us"),
        ("4.5 oz", "mass", "us"),
        ("1.5 lb", "mass", "us"),
        ("200 ft/min", "speed", "us"),
        ("1.5 %", "mass fraction", "us"),
        ("9 degF", "temperature difference", "us"),
    ],
)
def test_numbers_that_were_typed_come_out_as_typed(typed, dimension, units):
    assert spelled(to_si("here", typed, dimension), dimension, units) == typed


IN_INCHES = """
[meat]
cut = "beef top round"
thickness = "0.1875 in"
length = "5 in"
width = "2 in"
weight = "1.5 lb"
temperature = "38 degF"
[room]
temperature = "70 degF"
humidity = "45 %"
[[stage]]
air = "160 degF"
speed = "200 ft/min"
duration = "8 h"
[display]
units = "us"
"""


def _written(text):
    return {line.strip() for line in ds.parse_batch(text, "b.toml").to_toml().splitlines()}


def test_a_batch_in_us_units_comes_out_in_them():
    assert {
        'thickness = "3/16 inch"',
        'length = "5 inch"',
        'weight = "1.5 lb"',
        'temperature = "38 degF"',
        'temperature = "70 degF"',
        'air = "160 degF"',
        'speed = "200 ft/min"',
        'duration = "8 h"',
        'units = "us"',
    } <= _written(IN_INCHES)


def test_a_batch_in_metric_units_comes_out_in_them():
    metric = IN_INCHES
    for old, new in (
        ("0.1875 in", "0.45 cm"),
        ("1.5 lb", "0.128 kg"),
        ("38 degF", "277.15 K"),
        ("160 degF", "341.15 K"),
        ("200 ft/min", "1.2 m/s"),
        ("8 h", "1800 s"),
        ('"us"', '"metric"'),
    ):
        metric = metric.replace(old, new)
    assert {
        'thickness = "4.5 mm"',
        'weight = "128 g"',
        'temperature = "4 degC"',
        'air = "68 degC"',
        'speed = "1.2 m/s"',
        'duration = "30 min"',
        'units = "metric"',
    } <= _written(metric)


def test_an_appliance_within_a_batch_is_in_its_units():
    oven = all_appliances()["oven with fan"].appliance("oven with fan")
    wide = replace(oven, trays=replace(oven.trays, width_m=to_si("", "18 inch", "length")))
    batch = replace(ds.parse_batch(IN_INCHES, "b.toml"), appliance=wide)
    assert 'width = "18 inch"' in batch.to_toml()


def test_the_demonstration_is_written_as_a_person_would():
    text = DEMO.to_toml()
    assert text.startswith(f"# Written by dryingsim {ds.__version__}.\n")
    for line in ('cut = "beef eye of round"', 'salt = "15 g/kg"', 'air = "155 degF"', 'duration = "10 min"'):
        assert line in text


def test_a_known_appliance_is_named_and_another_described_in_place():
    oven = all_appliances()["oven with fan"].appliance("oven with fan")
    still = replace(DEMO.stages[0], air=replace(DEMO.stages[0].air, speed_m_s=oven.trays.speed_m_s))
    batch = replace(DEMO, appliance=oven, stages=(still,))
    assert 'use = "oven with fan"' in batch.to_toml()
    bigger = replace(batch, appliance=replace(oven, walls=replace(oven.walls, volume_m3=0.123)))
    text = bigger.to_toml()
    assert "use =" not in text
    assert 'volume = "123 L"' in text
    assert ds.parse_batch(text, "again") == bigger


def test_the_speed_of_stages_does_not_count_in_an_appliance():
    oven = all_appliances()["oven with fan"].appliance("oven with fan")
    stage = DEMO.stages[0]
    assert stage.air.speed_m_s != oven.trays.speed_m_s
    back = ds.parse_batch(replace(DEMO, appliance=oven, stages=(stage,)).to_toml(), "again")
    assert back.stages[0] == replace(stage, air=replace(stage.air, speed_m_s=oven.trays.speed_m_s))


def test_meat_of_ones_own_keeps_its_name():
    meat = replace(DEMO.meat, name="bison, own analysis", species="game")
    back = ds.parse_batch(replace(DEMO, meat=meat).to_toml(), "again").meat
    assert back == meat
    with pytest.raises(InputError, match="a name goes with"):
        ds.parse_batch(DEMO.to_toml().replace("[meat]", '[meat]\nname = "mine"'), "b.toml")


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        (replace(DEMO, meat=replace(DEMO.meat, length_m=2.0)), "length = '2000 mm' is outside"),
        (replace(DEMO, name=" blanks "), "name would come back as blanks"),
        (replace(DEMO, stages=()), "there is no stage"),
        (
            replace(
                DEMO, meat=replace(DEMO.meat, classes=(ds.ThicknessClass(thickness_m=0.005, share=0.9995),))
            ),
            "meat would come back",
        ),
        (
            replace(
                DEMO, learned=Learned(logs=(), corrections={"film": Correction(value=0.1, uncertainty=0.1)})
            ),
            r"name that file in \[learned\]",
        ),
    ],
)
def test_what_no_file_says_is_refused_and_named(changed, says):
    with pytest.raises(InputError, match=says) as caught:
        changed.to_toml()
    assert len(str(caught.value).splitlines()) == 1


def test_what_is_stated_to_be_uncertain_is_written():
    stated = {"film": ds.Uncertainty("uniform", 0.07), "setpoint": ds.Uncertainty("normal", 2.5 / 1.8)}
    batch = replace(DEMO, uncertainties=stated)
    assert ds.parse_batch(batch.to_toml(), "again") == batch
    with pytest.raises(InputError, match=r"\[spread\], film = '80 %' is outside 0 to 50 %"):
        replace(DEMO, uncertainties={"film": ds.Uncertainty("normal", 0.8)}).to_toml()


def test_every_parameter_of_an_appliance_is_written():
    """One with a door, a highest mark and a pan names all parameters there are."""
    known = all_appliances()["oven with fan"].appliance("oven with fan")
    tables = appliance_tables(replace(known, heater=replace(known.heater, highest_K=520.0)))
    written = {
        f"{group}.{key}" if isinstance(inner, dict) else group
        for group, inner in tables.items()
        for key in (inner if isinstance(inner, dict) else [group])
    }
    assert written - {"name"} == set(PARAMETERS)


@settings(ROUND, max_examples=100)
@given(
    values=st.dictionaries(st.sampled_from(list(KEYS)), st.tuples(numbers(-0.1, 0.1), numbers(0.01, 0.1))),
    logs=st.lists(names, max_size=3),
    appliance=names,
)
def test_what_was_learned_comes_back_from_its_file(values, logs, appliance):
    learned = Learned(
        logs=tuple(logs),
        corrections={key: Correction(value=v, uncertainty=u) for key, (v, u) in values.items()},
    )
    assert read_learned(learned_toml(learned, appliance, "some logs"), "learned.toml") == (learned, appliance)
    told = as_told(learned)  # what `learn` writes: it is meant to be read
    text = learned_toml(told, appliance, "some logs")
    assert read_learned(text, "learned.toml") == (told, appliance)
    assert as_told(told) == told
    for key, one in told.corrections.items():
        (line,) = (line for line in text.splitlines() if line.startswith(f"{key} ="))
        assert len(line.partition("#")[0]) < 60
        assert one.value == pytest.approx(values[key][0], abs=6e-3)  # half a hundredth of a kelvin and less


# --- a marinade told by its ingredients ------------------------------------------------------------------------------

SOAKED = """
[meat]
cut = "beef top round"
thickness = [{ value = "4 mm", share = "50 %" }, { value = "6 mm", share = "50 %" }]
length = "5 inch"
width = "2 inch"
weight = "1.5 lb"
[marinade]
time = "18 h"
temperature = "38 degF"
gained = "3 %"
[marinade.ingredients]
"soy sauce" = { amount = "1/2 cup", sodium = "920 mg per 15 mL", price = "4.50 USD per 15 floz" }
"brown sugar" = "2 tbsp"
garlic = "3 cloves"
"house sauce" = { amount = "1 oz", water = "65 %", salt = "11 %" }
[room]
temperature = "70 degF"
humidity = "45 %"
[[stage]]
air = "160 degF"
speed = "1 m/s"
duration = "8 h"
"""


def test_ingredients_come_back_as_they_are():
    batch = ds.parse_batch(SOAKED, "b.toml")
    text = batch.to_toml()
    assert "[[marinade.ingredients]]" in text
    assert ds.parse_batch(text, "b.toml") == replace(batch)
    assert ds.parse_batch(text, "b.toml").marinade == batch.marinade


def test_a_batch_takes_up_what_its_marinade_file_says(tmp_path):
    from dryingsim.batch.reading.marinade_file import parse_marinade
    from dryingsim.kitchen.marinade import marinate

    batch = ds.parse_batch(SOAKED, "b.toml")
    rows = SOAKED[SOAKED.index("[marinade]") : SOAKED.index("[room]")]
    alone = parse_marinade(
        f'[meat]\ncut = "beef top round"\nthickness = "5 mm"\nweight = "1.5 lb"\n{rows}', "m.toml"
    )
    one = marinate(alone).marinade
    assert batch.marinade.salt_kg_kg == pytest.approx(one.salt_kg_kg, rel=1e-12)
    assert batch.marinade.water_kg_kg == pytest.approx(one.water_kg_kg, rel=1e-12)
    assert 0.01 < batch.marinade.salt_kg_kg < 0.04  # half a cup of soy sauce on 680 g


def test_where_meat_was_changed_the_numbers_are_written_in_place_of_the_ingredients():
    batch = ds.parse_batch(SOAKED, "b.toml")
    less = replace(batch, meat=replace(batch.meat, weight_kg=0.3))
    back = ds.parse_batch(less.to_toml(), "b.toml")
    assert back.marinade == replace(batch.marinade, soak=None)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('time = "18 h"', 'time = "18 h"\nsalt = "5 g/kg"', "salt = '5 g/kg': .* tells that already"),
        ('time = "18 h"\n', "", "needs 'time'"),
        ('"brown sugar"', '"brwon sugar"', "did you mean 'brown sugar'"),
        ('"2 tbsp"', '"to taste"', "decides how salty"),
        ('"2 tbsp"', '"2 tbsp"\nsalt = "600 g"', "all the water of .* dissolves"),
    ],
)
def test_each_slip_in_a_batch_s_marinade_is_one_line(old, new, says):
    with pytest.raises(ds.InputError, match=says) as caught:
        ds.parse_batch(SOAKED.replace(old, new, 1), "b.toml")
    assert str(caught.value).startswith("b.toml")
    assert "\n" not in str(caught.value)


def test_time_without_ingredients_is_refused():
    text = SOAKED[: SOAKED.index("[marinade.ingredients]")] + SOAKED[SOAKED.index("[room]") :]
    with pytest.raises(ds.InputError, match=r"goes with \[marinade.ingredients\]"):
        ds.parse_batch(text, "b.toml")
