"""Batch files with an appliance: what is read, what belongs only there, and what cannot be."""

from functools import partial

import made_text
import pytest
from complaints import message_about
from made_batch import warm_air_text
from made_text import IN_OVEN

from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.batch.reading.batch_file import load_batch, parse_batch
from dryingsim.batch.schema import Humidity

changed = partial(made_text.changed, text=IN_OVEN)


# ---- what is read


def test_an_appliance_by_name():
    batch = parse_batch(IN_OVEN, "b.toml")
    assert batch.appliance == find_appliance("", "oven with fan").appliance("x")
    assert (batch.trays, batch.rotate_every_s) == (None, None)
    (stage,) = batch.stages
    assert stage.door_gap_m is None
    assert stage.air.speed_m_s == batch.appliance.trays.speed_m_s


def test_parameters_trays_and_the_gap_of_a_stage():
    text = changed(
        (
            'use = "oven with fan"',
            'use = "oven with fan"\ndoor.gap = "2 inch"\nheater.power = "1.8 kW"\nair = { circulation = "100 m3/h" }',
        ),
        ('support = "mesh"', 'count = 2\nrotate_every = "1 h 30 min"'),
        ('duration = "5 h"', 'duration = "5 h"\ndoor_gap = "0 mm"'),
    )
    batch = parse_batch(text, "b.toml")
    assert batch.appliance.door.gap_m == pytest.approx(0.0508)
    assert batch.appliance.heater.power_W == pytest.approx(1800.0)
    assert batch.appliance.trays.circulation_m3_s == pytest.approx(100 / 3600)
    assert batch.appliance.walls == find_appliance("", "oven with fan").appliance("x").walls
    assert (batch.trays, batch.rotate_every_s) == (2, 5400.0)
    assert batch.stages[0].door_gap_m == 0.0


def test_a_file_lies_beside_the_batch_file(tmp_path, monkeypatch):
    folder = tmp_path / "here"
    folder.mkdir()
    own = find_appliance("", "stacked dehydrator").measured("pan test", {"air.speed": (0.5, 0.4, 0.6)})
    (folder / "mine.toml").write_text(own.toml(), encoding="utf-8")
    (folder / "b.toml").write_text(
        changed(('use = "oven with fan"', 'file = "mine.toml"\nair.leak = "1 m3/h"'))
    )
    monkeypatch.chdir(tmp_path)
    appliance = load_batch("here/b.toml").appliance
    assert appliance.trays.speed_m_s == pytest.approx(0.5)
    assert appliance.ventilation.leakage_m3_s == pytest.approx(1 / 3600)
    assert appliance.name == "stacked dehydrator"


def test_a_humidity_held_by_steam():
    text = changed(
        ("oven with fan", "humidity chamber"),
        ('duration = "5 h"', 'duration = "5 h"\nhumidity = { wet_bulb = "50 degC" }'),
    )
    assert parse_batch(text, "b.toml").stages[0].air.humidity == Humidity(kind="wet_bulb", value=323.15)
    parse_batch(
        changed(
            ("fan", 'fan"\nmoisture.steam = "0.5 g/s'),
            ('"5 h"', '"5 h"\nhumidity = { relative = "40 %" }'),
        ),
        "b.toml",
    )


def test_the_highest_setting_in_either_unit():
    for highest in ("160 degF", "71.1 degC"):
        text = changed(("oven with fan", "stacked dehydrator"), ("68 degC", highest))
        parse_batch(text, "b.toml")


def test_the_demo_with_an_appliance():
    """The lines that the demo shows as an alternative: name an appliance, leave the speeds out."""
    lines = [
        line.removeprefix("# ").removeprefix("#   ").strip()
        if line.startswith(("# appliance.", "#   count", "#   rotate"))
        else line
        for line in warm_air_text().splitlines()
        if not line.startswith("speed = ")
    ]
    batch = parse_batch("\n".join(lines), "demo")
    assert batch.appliance.name == "oven with fan"
    assert batch.appliance.door.gap_m == pytest.approx(0.05)
    assert (batch.trays, batch.rotate_every_s) == (2, 3600.0)


# ---- one mistake each

MISTAKES = [
    # the table
    (('use = "oven with fan"', ""), "[appliance] needs either 'use'"),
    (('use = "oven with fan"', 'use = "oven with fan"\nfile = "m.toml"'), "[appliance] needs either 'use'"),
    (('[appliance]\nuse = "oven with fan"', ""), "stage 1 (dry) needs 'speed'"),
    (
        ("oven with fan", "oven with van"),
        "[appliance], use = 'oven with van' is not a known appliance; did you mean",
    ),
    (('use = "oven with fan"', 'file = "m.toml"'), "[appliance], file = 'm.toml': there is no such file"),
    (('use = "oven with fan"', "file = 5"), "[appliance], file = 5: the name of a file is expected"),
    (('"oven with fan"', '"oven with fan"\nuze = 1'), "[appliance] has no key 'uze'"),
    (
        ('"oven with fan"', '"oven with fan"\ndor.gap = "5 cm"'),
        "[appliance] has no key 'dor'; did you mean 'door'?",
    ),
    (('"oven with fan"', '"oven with fan"\ndoor.gab = "5 cm"'), "door has no key 'gab'; did you mean 'gap'?"),
    (('"oven with fan"', '"oven with fan"\ndoor.gap = "5 kg"'), "door.gap = '5 kg': 'kg' measures a weight"),
    (
        ('"oven with fan"', '"oven with fan"\nheater.power = "0 W"'),
        "heater.power = '0 W' is outside 10 W to 20 kW",
    ),
    (
        ('"oven with fan"', '"oven with fan"\ndoor.gap = "36 cm"'),
        "door hinged at the bottom that is 350 mm high",
    ),
    (('"oven with fan"', '"stacked dehydrator"\ndoor.gap = "5 cm"'), "has no door to leave ajar"),
    # trays
    (('support = "mesh"', "count = 4"), "[trays], count = 4: a whole number from 1 to 3"),
    (('support = "mesh"', "count = 0"), "[trays], count = 0: a whole number from 1 to 3"),
    (('support = "mesh"', "count = true"), "[trays], count = true: a whole number from 1 to 3"),
    (('support = "mesh"', "count = '2'"), "[trays], count = '2': a whole number from 1 to 3"),
    (('support = "mesh"', 'rotate_every = "0 h"'), "[trays], rotate_every = '0 h' is outside 1 min to 240 h"),
    (
        ('support = "mesh"', 'count = 1\nrotate_every = "1 h"'),
        "rotate_every = '1 h': a single tray has no other place",
    ),
    # stages
    (
        ('"5 h"', '"5 h"\nspeed = "1 m/s"'),
        "stage 1 (dry), speed = '1 m/s': the speed is that of the oven with fan",
    ),
    (('"5 h"', '"5 h"\nair_end = "70 degC"'), "air_end = '70 degC': an appliance has one setting per stage"),
    (
        ('"5 h"', '"5 h"\nspeed_end = "1 m/s"'),
        "stage 1 (dry), speed_end = '1 m/s': an appliance has one setting",
    ),
    (
        ('"5 h"', '"5 h"\ndoor_gap = "36 cm"'),
        "stage 1 (dry), door_gap = '36 cm': a door hinged at the bottom",
    ),
    (
        ('"5 h"', '"5 h"\nhumidity = { relative = "30 %" }'),
        "stage 1 (dry), humidity: the oven with fan has no steam",
    ),
    (('"68 degC"', '"20 degC"'), "air = 20 degC is below the room's 21 degC; the oven with fan cannot cool"),
]


@pytest.mark.parametrize(
    ("change", "says"), MISTAKES, ids=[f"{i}-{m[1][:30]}" for i, m in enumerate(MISTAKES)]
)
def test_mistake_is_one_line(change, says):
    assert says in message_about(changed(change))


DEHYDRATOR = changed(("oven with fan", "stacked dehydrator"))
CHAMBER = changed(("oven with fan", "humidity chamber"))


def test_no_setting_above_the_highest_mark():
    message = message_about(changed(('"68 degC"', '"200 degF"'), text=DEHYDRATOR) + '[display]\nunits = "us"')
    assert "air = 200 degF is above the highest setting of the stacked dehydrator, 160 degF" in message


def test_no_gap_without_a_door():
    message = message_about(changed(('"5 h"', '"5 h"\ndoor_gap = "5 cm"'), text=DEHYDRATOR))
    assert "door_gap = '5 cm': the stacked dehydrator has no door to leave ajar" in message


def test_no_air_drier_than_the_room():
    """The room's 21 degC and 45 % have a dew point of 8.6 degC (1.12 kPa)."""
    dry = '"5 h"\nhumidity = { dew_point = "%s degC" }'
    message = message_about(changed(('"5 h"', dry % 8), text=CHAMBER))
    assert "this is drier than the room's air" in message
    assert "8.6" in message
    parse_batch(changed(('"5 h"', dry % 9), text=CHAMBER), "b.toml")


@pytest.mark.parametrize(
    ("line", "table"),
    [('door_gap = "5 cm"', "stage"), ("count = 2", "trays"), ('rotate_every = "1 h"', "trays")],
)
def test_what_needs_an_appliance_is_refused_without_one(line, table):
    text = changed(('[appliance]\nuse = "oven with fan"', ""), ('"5 h"', '"5 h"\nspeed = "1 m/s"'))
    old = 'support = "mesh"' if table == "trays" else 'name = "dry"'
    assert "this needs an [appliance]" in message_about(changed((old, f"{old}\n{line}"), text=text))


# ---- stages that never end

STEADY = '\nheater = { control = "ideal", sensor = "supply", radiant_share = "0 %" }'


@pytest.mark.parametrize(
    ("until", "says"),
    [
        ('{ core = "71 degC" }', "the core cannot reach 71 degC"),
        ('{ weight_loss = "80 %" }', "a weight loss of 80 % is beyond the water there is"),
    ],
)
def test_out_of_reach_where_the_air_is_sure_to_be_as_set(until, says):
    text = changed(
        ('"oven with fan"', '"oven with fan"' + STEADY),
        ('duration = "5 h"', f"until = {until}"),
        ("68 degC", "66 degC"),
    )
    message = message_about(text)
    assert "stage 1 (dry) never ends" in message
    assert says in message


def test_dryness_out_of_reach_in_moist_room_air():
    """Room air of 30 degC, 95 % (0.95 x 4.247 kPa) has 41.0 % at 45.5 degC (9.84 kPa), the most at 45 degC."""
    text = changed(
        ('"oven with fan"', '"oven with fan"' + STEADY),
        ('duration = "5 h"', "until = { water_activity = LEVEL }"),
        ("21 degC", "30 degC"),
        ("45 %", "95 %"),
        ("68 degC", "45 degC"),
    )
    assert "never ends" in message_about(text.replace("LEVEL", "0.40"))
    parse_batch(text.replace("LEVEL", "0.42"), "b.toml")


@pytest.mark.parametrize(
    "setting",
    [
        '\nheater = { control = "ideal", sensor = "supply", radiant_share = "30 %" }',  # the floor glows at the meat
        '\nheater = { control = "ideal", sensor = "return", radiant_share = "0 %" }',  # air before the trays is hotter
        '\nheater = { control = "switching", sensor = "supply", radiant_share = "0 %" }',  # overshoots
        "\nheater = { control = 'ideal', sensor = 'supply', radiant_share = '0 %', fan_power = '500 W' }",
    ],
)
def test_what_the_air_may_exceed_is_left_to_the_run(setting):
    text = changed(
        ('"oven with fan"', '"oven with fan"' + setting), ('duration = "5 h"', 'until = { core = "69 degC" }')
    )
    assert parse_batch(text, "b.toml").stages[0].duration_s is None
