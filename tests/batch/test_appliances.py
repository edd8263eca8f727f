"""Appliances: what the catalog states and its sources, the file format there and back, and what is refused."""

import dataclasses
import tomllib
from pathlib import Path

import pytest
from complaints import message_of

from dryingsim.batch.appliance_description import parse_description
from dryingsim.batch.catalog.appliances import all_appliances, find_appliance
from dryingsim.batch.reading.appliance_file import load_description

KINDS = list(all_appliances().values())
NAMES = [one.name for one in KINDS]
ENTRIES = [
    pytest.param(key, entry, id=f"{one.name}-{key}") for one in KINDS for key, entry in one.entries.items()
]
BASE = find_appliance("", "oven with fan")


def read(text, name="mine.toml"):
    return parse_description(name, tomllib.loads(text))


# ---- the catalog


@pytest.mark.parametrize(("key", "entry"), ENTRIES)
def test_every_parameter_has_a_source_and_an_estimate_has_a_range(key, entry):
    assert len(entry.source) > 5
    if entry.source.startswith("estimate") and isinstance(entry.si, int | float):
        assert entry.span_si, key


@pytest.mark.parametrize(
    ("key", "entry"), [p for p in ENTRIES if p.values[1].span and p.values[0] != "door.gap"]
)
def test_the_value_is_the_middle_of_its_range(key, entry):
    """Nothing was chosen to suit an outcome; a door's gap is a setting, not an uncertain figure."""
    low, high = entry.span_si
    assert entry.si == pytest.approx(0.5 * (low + high), rel=1e-9)


def test_ovens_lie_within_the_published_bounds():
    """Leak 0.1-0.8 g/s, loss 2-4 W/K, thermal mass 8-20 kJ/K, cavity 35-70 L, element 2-3 kW; room air of 1.2 kg/m3."""
    for name in ("oven without fan", "oven with fan"):
        oven = find_appliance("", name)
        low, high = oven.limits("air.leak")
        assert (1200.0 * low, 1200.0 * high) == pytest.approx((0.1, 0.8), rel=0.02)
        assert oven.limits("walls.loss") == (2.0, 4.0)
        mass = [oven.limits("walls.capacity")[i] + oven.limits("walls.floor_capacity")[i] for i in (0, 1)]
        assert mass == pytest.approx([8e3, 20e3])
        assert oven.limits("walls.volume") == pytest.approx((0.035, 0.07))
        assert oven.limits("heater.power") == (2000.0, 3000.0)


def test_dehydrators_together_span_the_published_bounds():
    """4-10 trays, 34-170 m3/h, 300-1000 W, thermostats to 160 degF."""
    small, large = find_appliance("", "stacked dehydrator"), find_appliance("", "cabinet dehydrator")
    for key, low, high, factor in (
        ("trays.slots", 4, 10, 1),
        ("air.circulation", 34, 170, 3600),
        ("heater.power", 300, 1000, 1),
    ):
        assert factor * small.limits(key)[0] == pytest.approx(low)
        assert factor * large.limits(key)[1] == pytest.approx(high)
    assert small.si("heater.highest") == large.si("heater.highest") == pytest.approx(344.261, abs=1e-3)


def test_kinds_differ_as_their_names_say():
    made = {one.name: one.appliance("x") for one in KINDS}
    assert {name: one.trays.flow for name, one in made.items()} == {
        "stacked dehydrator": "series",
        "cabinet dehydrator": "parallel",
        "oven without fan": "still",
        "oven with fan": "parallel",
        "humidity chamber": "parallel",
    }
    assert [name for name, one in made.items() if one.door] == ["oven without fan", "oven with fan"]
    assert all(one.door is None or one.door.gap_m == 0.0 for one in made.values())
    assert [name for name, one in made.items() if one.moisture.steam_kg_s] == ["humidity chamber"]
    assert made["oven without fan"].heater.fan_W == 0.0


def test_names_are_found_whatever_the_capitals_and_blanks():
    assert find_appliance("", " Oven  WITH fan ") is BASE
    message = message_of(find_appliance, "b.toml: [appliance], use", "stacked dehidrator")
    assert "did you mean 'stacked dehydrator'?" in message
    assert "'dryingsim list appliances' shows all" in message
    assert message_of(find_appliance, "x", 5).startswith("x = 5 is not a known appliance")


# ---- the file


@pytest.mark.parametrize("one", KINDS, ids=NAMES)
def test_a_written_description_reads_back_the_same(one, tmp_path):
    path = tmp_path / "any.toml"
    path.write_text(one.toml(), encoding="utf-8")
    assert load_description("x", path) == one


def test_odd_texts_survive_the_file():
    odd = dataclasses.replace(BASE, name='the "old" \\ one', about="à côté, 60 °C")
    assert parse_description("x", tomllib.loads(odd.toml())) == odd


def test_a_plain_value_will_do_and_what_is_left_out_has_its_default():
    text = "\n".join(
        [
            "trays = { slots = 4, length = '12 inch', width = '0.3 m' }",
            "air = { path = 'series', circulation = '40 ft3/min', speed = '100 ft/min' }",
            "heater = { power = '0.5 kW' }",
            "walls = { volume = '1 ft3', area = '0.6 m²', film = '10 W/(m2 K)', capacity = '3000 J/K',",
            "  floor_capacity = '0.6 kJ/K', loss = '2 W/K' }",
        ]
    ).replace(",\n", ", ")
    one = read(text)
    made = one.appliance("x")
    assert made.name == "mine"
    assert made.trays.length_m == pytest.approx(0.3048)
    assert made.trays.circulation_m3_s == pytest.approx(40 * 0.3048**3 / 60)
    assert made.walls.volume_m3 == pytest.approx(0.3048**3)
    assert (made.door, made.ventilation.vents_m3_s, made.moisture.steam_kg_s) == (None, 0.0, 0.0)
    assert (made.heater.control, made.heater.highest_K, made.preheated) == ("ideal", None, True)
    assert one.limits("walls.loss") == (2.0, 2.0)
    assert "not given" in one.entries["walls.loss"].source


@pytest.mark.parametrize(
    ("typed", "si"),
    [
        ("60 m3/h", 60 / 3600),
        ("60m³/h", 60 / 3600),
        ("1e3 L/min", 1 / 60),
        ("2 L/s", 2e-3),
        (".01 m3/s", 0.01),
    ],
)
def test_flows_of_air_in_any_unit(typed, si):
    assert BASE.changed("b", {"air": {"circulation": typed}}).si("air.circulation") == pytest.approx(si)


def test_measured_values_keep_the_unit_and_name_their_source():
    after = BASE.measured("pan test", {"air.leak": (1e-3, 0.51234e-3, 2e-3), "air.speed": (0.0, 0.0, 0.2)})
    leak = after.entries["air.leak"]
    assert (leak.value, leak.span) == ("3.6 m3/h", ("1.84 m3/h", "7.2 m3/h"))
    assert leak.source == "measured by pan test, range 1.84 m3/h to 7.2 m3/h"
    assert after.entries["air.speed"].text == "0 m/s"
    untouched = {k: v for k, v in after.entries.items() if k not in ("air.leak", "air.speed")}
    assert untouched == {k: v for k, v in BASE.entries.items() if k in untouched}


# ---- one mistake each

MISTAKES = [
    ({"heter": {}}, "has no key 'heter'; did you mean 'heater'?"),
    ({"heater": {"powr": "1 kW"}}, "heater has no key 'powr'; did you mean 'power'?"),
    ({"heater": "1 kW"}, "heater = '1 kW': one of its keys is expected, such as heater.power"),
    ({"heater": {"power": "0 W"}}, "heater.power = '0 W' is outside 10 W to 20 kW"),
    ({"heater": {"power": 500}}, "heater.power = 500: a power with its unit is expected"),
    (
        {"heater": {"control": "swiching"}},
        "heater.control = 'swiching': did you mean 'switching'? known: 'ideal'",
    ),
    (
        {"heater": {"radiant_share": 0.3}},
        "heater.radiant_share = 0.3: a percentage with its unit is expected",
    ),
    ({"air": {"circulation": "60"}}, "air.circulation = '60': a flow of air with its unit is expected"),
    ({"air": {"circulation": "60 m3"}}, "air.circulation = '60 m3': 'm3' is not a unit of it; did you mean"),
    ({"air": {"circulation": "nan m3/h"}}, "air.circulation = 'nan m3/h': a flow of air"),
    ({"air": {"circulation": "0 m3/h"}}, "air.circulation = '0 m3/h' is outside 1 m3/h to 3000 m3/h"),
    ({"air": {"circulation": "1e999 m3/h"}}, "is outside 1 m3/h to 3000 m3/h"),
    ({"air": {"vents": "140 m3/h"}}, "air.vents (140 m3/h) is more than the air moved past the trays"),
    ({"door": {"gap": "400 mm"}}, "door.gap = '400 mm': a door hinged at the bottom that is 350 mm high"),
    ({"door": {"hinge": "side", "gap": "501 mm"}}, "door hinged at the side that is 500 mm wide"),
    ({"moisture": {"pan_area": "300 cm2"}}, "a pan of water needs both"),
    (
        {"moisture": {"pan_area": "0.2 m2", "pan_water": "1 kg"}},
        "moisture.pan_area (0.2 m2) is more than the floor",
    ),
    (
        {"moisture": {"steam": "1 g/s"}},
        "moisture.steam (1 g/s) is more than the power of the heater (2500 W)",
    ),
    ({"trays": {"slots": 2.5}}, "trays.slots = 2.5: a whole number from 1 to 50 is expected"),
    ({"trays": {"slots": True}}, "trays.slots = true: a whole number from 1 to 50 is expected"),
    ({"trays": {"slots": 0}}, "trays.slots = 0 is outside 1 to 50"),
    ({"preheated": "yes"}, "preheated = 'yes': true or false is expected"),
    (
        {"walls": {"loss": {"value": "3 W/K", "rang": []}}},
        "walls.loss has no key 'rang'; did you mean 'range'?",
    ),
    ({"walls": {"loss": {"range": ["1 W/K", "2 W/K"]}}}, "walls.loss needs 'value'"),
    (
        {"walls": {"loss": {"value": "3 W/K", "range": ["1 W/K", "2 W/K"]}}},
        "walls.loss = '3 W/K' is outside its own",
    ),
    (
        {"walls": {"loss": {"value": "3 W/K", "range": "2 W/K"}}},
        "range = '2 W/K': the lowest and the highest",
    ),
    ({"walls": {"loss": {"value": "3 W/K", "source": 5}}}, "walls.loss, source = 5: one line of text"),
]


@pytest.mark.parametrize(("table", "says"), MISTAKES, ids=[m[1][:40] for m in MISTAKES])
def test_mistake_is_one_line(table, says):
    message = message_of(lambda: BASE.changed("b.toml: [appliance]", table).appliance("b.toml: [appliance]"))
    assert message.startswith("b.toml: [appliance]")
    assert says in message


def test_steam_up_to_what_the_heater_can_raise():
    """2500 W over 2.613 MJ/kg from water of 15 degC to steam of 100 degC (steam tables: 2675.6 - 63.0 kJ/kg)."""
    most = 2500.0 / 2.6126e6 * 1e3
    for steam, fits in ((0.995 * most, True), (1.005 * most, False)):
        changed = BASE.changed("b", {"moisture": {"steam": f"{steam:.5f} g/s"}})
        if fits:
            changed.appliance("b")
        else:
            assert "can raise" in message_of(changed.appliance, "b")


def test_an_appliance_without_a_door_cannot_stand_ajar():
    stacked = find_appliance("", "stacked dehydrator")
    assert "door: the stacked dehydrator has no door to leave ajar" in message_of(
        stacked.changed, "b", {"door": {"gap": "50 mm"}}
    )
    door = {"hinge": "side", "height": "30 cm", "width": "30 cm", "gap": "5 cm"}
    assert stacked.changed("b", {"door": door}).appliance("b").door.gap_m == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("[walls]", "[wals]"), "mine.toml has no key 'wals'; did you mean 'walls'?"),
        (("loss = ", "los = "), "mine.toml, walls has no key 'los'; did you mean 'loss'?"),
        (("power = {", "fan_power = {"), "mine.toml: line"),
        (("name = ", "name = 5 # "), "mine.toml, name = 5: one line of text in quotes"),
    ],
)
def test_mistake_in_a_file_names_the_file(change, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = BASE.toml()
    assert change[0] in text
    (tmp_path / "mine.toml").write_text(text.replace(*change, 1), encoding="utf-8")
    assert says in message_of(load_description, "x", Path("mine.toml"))


@pytest.mark.parametrize("key", ["walls.loss", "heater.power", "trays.slots", "air.path", "door.height"])
def test_a_missing_parameter_is_named(key):
    short = dataclasses.replace(BASE, entries={k: v for k, v in BASE.entries.items() if k != key})
    message = message_of(read, short.toml())
    assert message.startswith(f"mine.toml needs '{key}': ")


def test_unreadable_file_is_one_line(tmp_path):
    assert "there is no such file" in message_of(load_description, "file", tmp_path / "none.toml")
    assert "this is a folder" in message_of(load_description, "file", tmp_path)
    (tmp_path / "b.toml").write_bytes(b"\x89\x00")
    assert "not a text file" in message_of(load_description, "file", tmp_path / "b.toml")


@pytest.mark.parametrize("name", ["stacked dehydrator", "cabinet dehydrator"])
def test_a_dehydrator_moves_its_air_as_fast_as_its_circulation_through_its_section(name):
    unit = find_appliance("", name)
    length, width, trays = (unit.si(key) for key in ("trays.length", "trays.width", "trays.slots"))
    raw_slices = 0.8 * 0.005 * trays  # of the height: packing by their thickness
    height = unit.si("walls.volume") / (length * width) - raw_slices
    section = length * width if unit.si("air.path") == "series" else height * width
    low, high = (unit.limits("air.circulation")[i] / section for i in (0, 1))
    assert unit.limits("air.speed") == pytest.approx((low, 2.0 * high), rel=0.1)  # rounded to 0.05 m/s


@pytest.mark.parametrize(("name", "trays"), [("stacked dehydrator", 5), ("cabinet dehydrator", 8)])
def test_the_least_fresh_air_of_a_dehydrator_is_that_of_the_measured_box_by_its_trays(name, trays):
    unit = find_appliance("", name)
    assert 3600.0 * unit.limits("air.vents")[0] == pytest.approx(4.6 / 4 * trays - 1.75, rel=0.1)


@pytest.mark.parametrize(("name", "trays"), [("stacked dehydrator", 5), ("cabinet dehydrator", 8)])
def test_the_most_fresh_air_of_a_dehydrator_is_what_its_heater_can_warm(name, trays):
    unit = find_appliance("", name)
    evaporation = trays * 0.038 / 3600.0 * 2.4e6  # 38 g/h from each tray
    left = unit.si("heater.power") - 47.0 * unit.si("walls.loss") - evaporation
    assert unit.limits("air.vents")[1] == pytest.approx(left / (47.0 * 1.2 * 1006.0), rel=0.1)
