"""Batch files: what is read, that units do not matter, and that each mistake gets one clear line."""

import dataclasses
import re
import tomllib
from functools import partial

import made_text
import pytest
from complaints import message_about, message_of
from made_batch import warm_air_text
from made_text import IN_GIVEN_AIR

from dryingsim.batch.catalog.cuts import find_cut
from dryingsim.batch.reading.batch_file import demo_text, load_batch, parse_batch
from dryingsim.batch.schema import Humidity, Marinade, Targets, Until
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError

changed = partial(made_text.changed, text=IN_GIVEN_AIR)


# ---- what is read


def test_plain_file_and_its_defaults():
    batch = parse_batch(IN_GIVEN_AIR, "b.toml")
    assert batch.name == "b"
    assert batch.meat.name == "beef eye of round"
    assert batch.meat.composition == find_cut("", "beef eye of round").composition
    assert batch.meat.form == "sliced"
    assert batch.meat.temperature_K == pytest.approx(277.15)
    assert [(c.thickness_m, c.share) for c in batch.meat.classes] == [(0.005, 1.0)]
    assert batch.marinade == Marinade()
    assert batch.targets == Targets()
    assert (batch.support, batch.display) == ("mesh", "metric")
    assert batch.room.pressure_Pa == STANDARD_PRESSURE
    (stage,) = batch.stages
    assert (stage.name, stage.duration_s, stage.until, stage.air_end, stage.turn) == (
        "dry",
        18000.0,
        None,
        None,
        False,
    )
    assert stage.air.humidity == Humidity(kind="room")


def test_every_key_is_read():
    text = changed(
        ("[meat]", 'title = "a test"\n[meat]\nform = "minced"\ntemperature = "10 degC"'),
        (
            "[room]",
            '[marinade]\nsalt = "15 g/kg"\nsugar = "12 g/kg"\nwater = "-50 g/kg"\n'
            '[room]\naltitude = "1500 m"',
        ),
        ("[[stage]]", '[trays]\nsupport = "sheet"\n[[stage]]\nturn = true\nhumidity = { relative = "20 %" }'),
        ('duration = "5 h"', 'duration = "5 h"\nair_end = "60 degC"\nhumidity_end = { relative = "30 %" }'),
    )
    text += """
speed_end = "0.5 m/s"
until = { weight_loss = "55 %", core = "60 degC", water_activity = "0.85" }
[targets]
water_activity = 0.8
[display]
units = "us"
"""
    batch = parse_batch(text, "b.toml")
    assert (batch.name, batch.meat.form, batch.support, batch.display) == ("a test", "minced", "sheet", "us")
    assert batch.marinade == Marinade(salt_kg_kg=0.015, sugar_kg_kg=0.012, water_kg_kg=-0.05)
    assert batch.room.pressure_Pa == pytest.approx(84555.9, abs=0.06)  # standard atmosphere, as tabulated
    assert batch.targets.water_activity == 0.8
    (stage,) = batch.stages
    assert stage.turn
    assert stage.until is not None
    assert stage.until.weight_loss == pytest.approx(0.55)
    assert (stage.until.core_temperature_K, stage.until.water_activity) == (333.15, 0.85)
    assert stage.air_end is not None
    assert stage.air_end.temperature_K == pytest.approx(333.15)
    assert stage.air_end.humidity.kind == "relative"
    assert stage.air_end.humidity.value == pytest.approx(0.3)
    assert stage.air_end.speed_m_s == 0.5


def test_a_ramp_keeps_what_it_does_not_name():
    (stage,) = parse_batch(IN_GIVEN_AIR + 'air_end = "75 degC"', "b.toml").stages
    assert stage.air_end == dataclasses.replace(stage.air, temperature_K=348.15)


@pytest.mark.parametrize("kind", ["wet_bulb", "dew_point"])
def test_humidity_by_a_temperature(kind):
    text = changed(('speed = "1.0 m/s"', f'speed = "1.0 m/s"\nhumidity = {{ {kind} = "40 degC" }}'))
    assert parse_batch(text, "b.toml").stages[0].air.humidity == Humidity(kind=kind, value=313.15)


def test_own_composition_is_scaled_to_one():
    text = IN_GIVEN_AIR.replace('cut = "beef eye of round"', "").replace(
        "[room]",
        '[meat.composition]\nwater = "73.43 %"\nprotein = "23.37 %"\nfat = "3.04 %"\nash = "1.1 %"\n[room]',
    )
    read = dataclasses.astuple(parse_batch(text, "b.toml").meat.composition)
    table = dataclasses.astuple(find_cut("", "beef eye of round").composition)
    assert read == pytest.approx(table, rel=1e-12)


def test_rounded_shares_are_scaled_to_one():
    rows = ", ".join(f'{{ value = "{mm} mm", share = "33.3 %" }}' for mm in (4, 5, 6))
    classes = parse_batch(changed(('thickness = "5 mm"', f"thickness = [{rows}]")), "b.toml").meat.classes
    assert sum(c.share for c in classes) == pytest.approx(1.0, abs=1e-15)
    assert [c.thickness_m for c in classes] == pytest.approx([0.004, 0.005, 0.006])


def test_units_do_not_matter():
    us = changed(
        ("5 mm", "0.19685039370078738 inch"),
        ("120 mm", "4.7244094488188972 in"),
        ("50 mm", "0.16404199475065617 ft"),
        ("0.7 kg", "1.5432358352941432 lb"),
        ("21 degC", "69.8 degF"),
        ("68 degC", "154.4 degF"),
        ("1.0 m/s", "196.85039370078741 ft/min"),
        ("5 h", "4 h 60 min"),
    )
    end = '\nuntil = { core = "%s", weight_loss = "55 %%" }\n[marinade]\nsalt = "%s"\n'
    room = 'altitude = "%s"\n[[stage]]'
    a = parse_batch(
        IN_GIVEN_AIR.replace("[[stage]]", room % "1600 m") + end % ("60 degC", "15 g/kg"), "b.toml"
    )
    b = parse_batch(
        us.replace("[[stage]]", room % "5249.3438320209973 ft") + end % ("140 degF", "1.5 %"), "b.toml"
    )
    numbers = {path: value for path, value in flat(a).items() if isinstance(value, float)}
    assert len(numbers) > 20
    assert {path: flat(b)[path] for path in numbers} == pytest.approx(numbers, rel=1e-9)
    assert {k: v for k, v in flat(b).items() if k not in numbers} == {
        k: v for k, v in flat(a).items() if k not in numbers
    }


def flat(value, path=""):
    """Return every value of nested dataclasses by its path."""
    if isinstance(value, list | tuple):
        return {k: v for i, item in enumerate(value) for k, v in flat(item, f"{path}[{i}]").items()}
    if isinstance(value, dict):
        return {k: v for key, item in value.items() for k, v in flat(item, f"{path}.{key}").items()}
    if dataclasses.is_dataclass(value):
        return flat(dataclasses.asdict(value), path)
    return {path: value}


def test_demo_is_the_food_lab():
    batch = parse_batch(warm_air_text(), "demo")
    assert batch.meat.name == "beef eye of round"
    assert [c.thickness_m for c in batch.meat.classes] == pytest.approx([0.004, 0.005, 0.006])
    dry, finish = batch.stages
    assert dry.air.temperature_K == pytest.approx(341.48, abs=0.005)
    assert (dry.duration_s, dry.until) == (36000.0, Until(water_activity=0.85))
    assert (finish.air.temperature_K, finish.duration_s) == (pytest.approx(408.15), 600.0)
    assert (batch.marinade.salt_kg_kg, batch.marinade.sugar_kg_kg) == pytest.approx((0.015, 0.012))


def alternatives():
    """Return the numbers of the demo's lines that show an alternative, the composition's five lines apart."""
    lines = warm_air_text().splitlines()
    start = lines.index("# [meat.composition]")
    return [n for n, line in enumerate(lines) if re.match("# [a-z_]+ = ", line) and not start < n < start + 6]


def test_the_demo_shows_alternatives():
    assert len(alternatives()) > 10


@pytest.mark.parametrize("number", alternatives())
def test_each_alternative_in_the_demo_is_valid(number):
    """Uncomment one line, in place of what it is an alternative to: the same key in the same table."""
    lines = warm_air_text().splitlines()
    key = lines[number].split()[1]
    first = max(n for n in range(number) if lines[n].startswith("["))
    last = next((n for n in range(number, len(lines)) if lines[n].startswith("[")), len(lines))
    old = next((n for n in range(first, last) if lines[n].startswith(f"{key} = ")), None)
    if old is not None:
        end = old if not lines[old].endswith("[") else lines.index("]", old)  # a list over several lines
        lines[old : end + 1] = ["#"] * (end + 1 - old)
    lines[number] = lines[number].removeprefix("# ")
    assert tomllib.loads("\n".join(lines)) != tomllib.loads(warm_air_text())
    parse_batch("\n".join(lines), "demo")


def demo_with_ingredients(first, last):
    """The demo with lines of its marinade uncommented, in place of the three numbers."""
    lines = [line for line in warm_air_text().splitlines() if not line.startswith(("salt = ", "sugar = "))]
    begin = next(n for n, line in enumerate(lines) if line.startswith(f"#  {first}"))
    end = next(n for n, line in enumerate(lines) if line.startswith(f"#  {last}"))
    lines[begin : end + 1] = [line.removeprefix("#  ") for line in lines[begin : end + 1]]
    return "\n".join(lines)


def test_a_list_of_ingredients_in_the_demo_is_valid():
    batch = parse_batch(demo_with_ingredients("time = ", "ingredients = "), "demo")
    assert len(batch.marinade.soak.portions) == 4
    assert 0.01 < batch.marinade.salt_kg_kg < 0.03


def test_a_table_of_ingredients_in_the_demo_is_valid():
    text = demo_with_ingredients("[marinade.ingredients]", '"house sauce"')
    batch = parse_batch(text.replace('#  time = "24 h"', 'time = "24 h"'), "demo")
    assert [one.ingredient.name for one in batch.marinade.soak.portions] == [
        "brown sugar",
        "soy sauce",
        "house sauce",
    ]
    assert batch.marinade.soak.cost.currency == "USD"


def test_composition_in_the_demo_is_valid():
    lines = warm_air_text().splitlines()
    start = lines.index("# [meat.composition]")
    block = [line.removeprefix("# ") for line in lines[start : start + 6]]
    others = [line for line in lines if not line.startswith("cut = ")]
    text = "\n".join(others).replace("[marinade]", "\n".join([*block, "[marinade]"]), 1)
    composition = parse_batch(text, "demo").meat.composition
    assert composition.water == pytest.approx(0.734 / 1.009, rel=1e-12)


# ---- files


def test_load_reads_the_file_and_accepts_a_byte_order_mark(tmp_path):
    path = tmp_path / "monday.toml"
    path.write_bytes(b"\xef\xbb\xbf" + IN_GIVEN_AIR.replace("\n", "\r\n").encode())
    assert load_batch(path) == parse_batch(IN_GIVEN_AIR, "monday.toml")


@pytest.mark.parametrize("kind", ["missing", "folder", "binary"])
def test_unreadable_file_is_one_line(tmp_path, kind):
    path = tmp_path / "b.toml"
    if kind == "folder":
        path.mkdir()
    elif kind == "binary":
        path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError) as caught:
        load_batch(path)
    message = str(caught.value)
    assert message.startswith(f"{path}: ")
    assert len(message.splitlines()) == 1


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ('[meat]\ncut == "x"\n', 2, 6),
        ('[meat]\ncut = "beef\n', 2, 12),
        ("[meat]\n[room]\n[meat]\n", 3, 6),
        ('[meat]\ncut = "beef', 2, 12),
        ("[meat]\nthickness = [\n", 3, 1),
    ],
)
def test_syntax_error_names_line_and_column(text, line, column):
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(text)
    assert message_about(text).startswith(f"b.toml: line {line}, column {column}: ")


def test_number_of_absurd_length_is_one_line():
    assert len(message_about("title = " + "9" * 5000)) < 200


# ---- one mistake each: (what to change, where it is, what the message says)

MISTAKES = [
    # keys
    (
        ("[meat]", "[meat]\nthicknes = 1"),
        "[meat] has no key 'thicknes'",
        "did you mean 'thickness'? known: cut",
    ),
    (("[meat]", "[maet]"), "has no key 'maet'", "did you mean 'meat'? known: title"),
    (("[meat]", "titel = 'x'\n[meat]"), "has no key 'titel'", "did you mean 'title'?"),
    (
        ('duration = "5 h"', 'durration = "5 h"'),
        "stage 1 (dry) has no key 'durration'",
        "did you mean 'duration'?",
    ),
    (
        ('speed = "1.0 m/s"', 'speed = "1 m/s"\nhumidity = {relativ = "5 %"}'),
        "stage 1 (dry), humidity has no key",
        "'relative'",
    ),
    (
        ('duration = "5 h"', 'until = { weightloss = "5 %" }'),
        "stage 1 (dry), until has no key",
        "'weight_loss'",
    ),
    (
        ("[room]", '[trays]\nsuport = "mesh"\n[room]'),
        "[trays] has no key 'suport'",
        "did you mean 'support'?",
    ),
    (
        ('weight = "0.7 kg"', ""),
        "[meat] needs 'weight'",
        'a weight with its unit is expected, for example "0.7 kg"',
    ),
    (('thickness = "5 mm"', ""), "[meat] needs 'thickness'", 'for example "5 mm"'),
    (('air = "68 degC"', ""), "stage 1 (dry) needs 'air'", 'for example "68 degC"'),
    (('humidity = "45 %"', ""), "[room] needs 'humidity'", '"35 %"'),
    (('cut = "beef eye of round"', ""), "[meat] needs 'cut'", "[meat.composition]"),
    # kinds of values
    (("[meat]", "title = 5\n[meat]"), "title = 5", "text in quotes"),
    (("[meat]", "meat = 5\n[other]"), "has no key 'other'", "known: title"),
    (
        ("[room]", "[display]\nunits = 'imperial'\n[room]"),
        "[display], units = 'imperial'",
        "known: 'metric', 'us'",
    ),
    (("[room]", "[trays]\nsupport = 'meshh'\n[room]"), "[trays], support = 'meshh'", "did you mean 'mesh'?"),
    (("[meat]", "[meat]\nform = 'slice'"), "[meat], form = 'slice'", "did you mean 'sliced'?"),
    (("[meat]", "[meat]\nform = 3"), "[meat], form = 3", "one of 'sliced', 'pounded', 'minced'"),
    (
        ("beef eye of round", "beef eye of rond"),
        "[meat], cut = 'beef eye of rond'",
        "did you mean 'beef eye of round'?",
    ),
    (('name = "dry"', "name = 5"), "stage 1, name = 5", "text in quotes"),
    (('name = "dry"', 'name = "a\\nb"'), "stage 1, name = 'a\\nb'", "text in quotes"),
    (('name = "dry"', "turn = 'yes'"), "stage 1, turn = 'yes'", "true or false is expected"),
    # units
    (('"5 mm"', "5"), "[meat], thickness = 5", "a length with its unit is expected"),
    (('"5 mm"', '"5"'), "[meat], thickness = '5'", "a length with its unit is expected"),
    (('"5 mm"', '"5 kg"'), "[meat], thickness = '5 kg'", "'kg' measures a weight"),
    (('"5 mm"', '"5 mmm"'), "[meat], thickness = '5 mmm'", "did you mean 'mm'?"),
    (('"68 degC"', '"68"'), "stage 1 (dry), air = '68'", "a temperature with its unit is expected"),
    (('"68 degC"', "68.0"), "stage 1 (dry), air = 68.0", "a temperature with its unit is expected"),
    (('"5 h"', "05:00:00"), "stage 1 (dry), duration = 05:00:00", "a duration with its unit is expected"),
    (('"45 %"', "0.45"), "[room], humidity = 0.45", "a percentage with its unit is expected"),
    (('"0.7 kg"', "nan"), "[meat], weight = nan", "a weight with its unit is expected"),
    (
        ('"5 h"', '"5 h"\nuntil = { water_activity = "85 %" }'),
        "until, water_activity = '85 %'",
        "a number without a unit",
    ),
    # ranges
    (('"5 mm"', '"-5 mm"'), "[meat], thickness = '-5 mm'", "is outside 0.5 mm to 30 mm"),
    (('"5 mm"', '"5 cm"'), "[meat], thickness = '5 cm'", "is outside 0.5 mm to 30 mm"),
    (('"0.7 kg"', '"0 kg"'), "[meat], weight = '0 kg'", "is outside 1 g to 500 kg"),
    (('"68 degC"', '"160 degC"'), "stage 1 (dry), air = '160 degC'", "is outside 0 degC to 150 degC"),
    (('"68 degC"', '"-1 degC"'), "stage 1 (dry), air = '-1 degC'", "is outside 0 degC to 150 degC"),
    (('"1.0 m/s"', '"11 m/s"'), "stage 1 (dry), speed = '11 m/s'", "is outside 0 m/s to 10 m/s"),
    (('"5 h"', '"0 h"'), "stage 1 (dry), duration = '0 h'", "is outside 1 s to 240 h"),
    (('"45 %"', '"101 %"'), "[room], humidity = '101 %'", "is outside 0 % to 100 %"),
    (("[room]", '[room]\naltitude = "6000 m"'), "[room], altitude = '6000 m'", "is outside -400 m to 5000 m"),
    (("[room]", '[room]\naltitude = "-500 m"'), "[room], altitude = '-500 m'", "is outside -400 m to 5000 m"),
    (
        ("[room]", '[room]\npressure = "10 kPa"'),
        "[room], pressure = '10 kPa'",
        "is outside 50 kPa to 110 kPa",
    ),
    (
        ("[room]", '[marinade]\nsalt = "50 %"\n[room]'),
        "[marinade], salt = '50 %'",
        "is outside 0 g/kg to 150 g/kg",
    ),
    (
        ("[room]", "[targets]\nwater_activity = 85\n[room]"),
        "[targets], water_activity = 85",
        "is outside 0.1 to 0.99",
    ),
    # what does not go together
    (
        ("[room]", '[room]\naltitude = "0 m"\npressure = "95 kPa"'),
        "[room] has both 'altitude' and 'pressure'",
        "give one",
    ),
    (
        ("[room]", '[meat.composition]\nwater="70 %"\n[room]'),
        "[meat] has both 'cut' and 'composition'",
        "give one",
    ),
    (('duration = "5 h"', ""), "stage 1 (dry) has no end", "'duration', 'until' or both"),
    (('duration = "5 h"', "until = {}"), "stage 1 (dry), until", "at least one of weight_loss, core"),
    (
        ('duration = "5 h"', 'until = { core = "60 degC" }\nair_end = "70 degC"'),
        "stage 1 (dry) is a ramp",
        "needs 'duration'",
    ),
    (('"5 h"', '"5 h"\nhumidity_end = { relative = "5 %" }'), "stage 1 (dry), humidity_end", "same kind"),
    (("[[stage]]", "[stage]"), "[stage]", "[[stage]]"),
    # humidity
    (
        ('"1.0 m/s"', '"1 m/s"\nhumidity = "30 %"'),
        "stage 1 (dry), humidity = '30 %'",
        '{ relative = "85 %" }',
    ),
    (('"1.0 m/s"', '"1 m/s"\nhumidity = {}'), "stage 1 (dry), humidity", "exactly one of"),
    (
        ('"1.0 m/s"', '"1 m/s"\nhumidity = { relative = "5 %", wet_bulb = "30 degC" }'),
        "stage 1 (dry), humidity",
        "exactly one of",
    ),
    (
        ('"1.0 m/s"', '"1 m/s"\nhumidity = { relative = "120 %" }'),
        "stage 1 (dry), humidity, relative = '120 %'",
        "is outside 0 % to 100 %",
    ),
    (
        ('"1.0 m/s"', '"1 m/s"\nhumidity = { wet_bulb = "70 degC" }'),
        "stage 1 (dry)",
        "the wet bulb (70 degC) is above the air temperature (68 degC)",
    ),
    (
        ('"1.0 m/s"', '"1 m/s"\nhumidity = { dew_point = "70 degC" }'),
        "stage 1 (dry)",
        "the dew point (70 degC) is above the air temperature (68 degC)",
    ),
    (
        ('"1.0 m/s"', '"1 m/s"\nhumidity = { wet_bulb = "5 degC" }'),
        "stage 1 (dry)",
        "the wet bulb (5 degC) is too low; bone-dry air at 68 degC has",
    ),
    (
        ('air = "68 degC"', 'air = "130 degC"\nhumidity = { dew_point = "100 degC" }'),
        "stage 1 (dry)",
        "the dew point (100 degC) is not below the boiling point",
    ),
    (
        ('air = "68 degC"', 'air = "120 degC"\nhumidity = { relative = "85 %" }'),
        "stage 1 (dry)",
        "air at 120 degC cannot have a relative humidity of 85 %",
    ),
    (
        ('air = "68 degC"', 'air = "5 degC"'),
        "stage 1 (dry)",
        "cannot be cooled to 5 degC without condensing; its dew point is 8.626 degC",
    ),
    (
        ('"5 h"', '"5 h"\nair_end = "45 degC"\nhumidity = { wet_bulb = "50 degC" }'),
        "stage 1 (dry), at its end",
        "the wet bulb (50 degC) is above the air temperature (45 degC)",
    ),
    # stages that never end
    (
        ('duration = "5 h"', 'until = { core = "71 degC" }'),
        "stage 1 (dry) never ends",
        "the core cannot reach 71 degC in air at 68 degC",
    ),
    (
        ('duration = "5 h"', 'until = { weight_loss = "80 %" }'),
        "stage 1 (dry) never ends",
        "a weight loss of 80 % is beyond the water there is (72.7 %)",
    ),
    (
        ('duration = "5 h"', 'until = { water_activity = 0.6 }\nhumidity = { relative = "65 %" }'),
        "stage 1 (dry) never ends",
        "the water activity cannot fall to 0.6, only towards 0.65",
    ),
    (
        ('duration = "5 h"', 'until = { core = "71 degC", weight_loss = "80 %" }'),
        "stage 1 (dry) never ends",
        "in air at 68 degC; a weight loss of 80 %",
    ),
]


@pytest.mark.parametrize(
    ("change", "place", "says"), MISTAKES, ids=[f"{i}-{m[1]}" for i, m in enumerate(MISTAKES)]
)
def test_mistake_is_one_line_that_names_the_place(change, place, says):
    message = message_about(changed(change))
    assert place in message
    assert says in message


THICKNESSES = [
    ("[]", "thickness: the shares sum to 0 %"),
    (
        '[{ value = "4 mm", share = "60 %" }, { value = "5 mm", share = "39 %" }]',
        "thickness: the shares sum to 99 %",
    ),
    (
        '[{ value = "4 mm", share = "100 %" }, { value = "5 mm", share = "0 %" }]',
        "thickness 2, share = '0 %'",
    ),
    ('[{ value = "40 mm", share = "100 %" }]', "thickness 1, value = '40 mm' is outside"),
    ('[{ valeu = "4 mm", share = "100 %" }]', "thickness 1 has no key 'valeu'; did you mean 'value'?"),
    ('[{ value = "4 mm" }]', "thickness 1 needs 'share'"),
    ('["4 mm", "5 mm"]', "thickness 1 = 4 mm: a table of keys is expected (value, share, lies)"),
]


@pytest.mark.parametrize(("typed", "says"), THICKNESSES)
def test_wrong_thickness_classes(typed, says):
    message = message_about(changed(('"5 mm"', typed)))
    assert message.startswith("b.toml: [meat], thickness")
    assert says in message.replace("'4 mm':", "4 mm:")


@pytest.mark.parametrize(("fat", "total"), [("20 %", "116.5"), ("0 %", "96.5")])
def test_composition_far_from_a_hundred_percent(fat, total):
    text = IN_GIVEN_AIR.replace('cut = "beef eye of round"', "").replace(
        "[room]",
        f'[meat.composition]\nwater = "73 %"\nprotein = "22.5 %"\nfat = "{fat}"\nash = "1 %"\n[room]',
    )
    assert message_about(text).startswith(
        f"b.toml: [meat.composition]: the parts sum to {total} %; 97 to 103 %"
    )


@pytest.mark.parametrize(
    "text", [IN_GIVEN_AIR.split("[[stage]]")[0], "stage = 5\n" + IN_GIVEN_AIR.split("[[stage]]")[0]]
)
def test_no_stage(text):
    assert "there is no stage" in message_about(text)


def test_a_stage_that_is_no_table():
    assert "stage 1 = 5: a table" in message_about("stage = [5]\n" + IN_GIVEN_AIR.split("[[stage]]")[0])


def test_second_stage_is_named_by_number():
    text = IN_GIVEN_AIR + '\n[[stage]]\nname = "finish"\nair = "68"\nspeed = "1 m/s"\nduration = "1 h"\n'
    assert message_about(text).startswith("b.toml: stage 2 (finish), air = '68': ")


def test_one_reachable_condition_is_enough():
    until = 'until = { core = "71 degC", weight_loss = "50 %" }'
    assert parse_batch(changed(('duration = "5 h"', until)), "b.toml").stages[0].duration_s is None


def test_messages_print_temperatures_in_the_units_of_the_display():
    text = (
        changed(('"1.0 m/s"', '"1 m/s"\nhumidity = { wet_bulb = "70 degC" }')) + '[display]\nunits = "us"\n'
    )
    assert "the wet bulb (158 degF) is above the air temperature (154.4 degF)" in message_about(text)


def test_saturated_air_is_allowed():
    text = changed(('"1.0 m/s"', '"1 m/s"\nhumidity = { wet_bulb = "68 degC" }'))
    assert parse_batch(text, "b.toml").stages[0].air.humidity.kind == "wet_bulb"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('form = "sliced"', 'form = "grounded"', "did you mean 'ground'?"),
        ('cut = "beef eye of round"', 'cut = "beef eye rnd"', "did you mean 'beef eye of round'?"),
        ('air = "155 degF"', 'temp = "155 degF"', "did you mean 'air'?"),
        ("[targets]", '[[ingredient]]\nname = "salt"\n[targets]', "'dryingsim marinate b.toml' reads it"),
    ],
)
def test_other_words_lead_to_the_right_ones(old, new, says):
    text = warm_air_text()
    assert old in text
    with pytest.raises(InputError) as caught:
        parse_batch(text.replace(old, new, 1), "b.toml")
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("composition", "says"),
    [
        (
            'water = "75 %", protein = "0 %", fat = "24 %", ash = "1 %"',
            "protein = '0 %' is outside 5 % to 60 %",
        ),
        (
            'water = "60 %", protein = "20 %", fat = "3 %", ash = "17 %"',
            "ash = '17 %' is outside 0 % to 10 %",
        ),
    ],
)
def test_a_composition_that_is_no_meat_is_a_mistake_of_the_file(composition, says):
    text = warm_air_text().replace(
        'cut = "beef eye of round"', f'species = "beef"\ncomposition = {{ {composition} }}'
    )
    assert "composition = {" in text
    with pytest.raises(InputError, match=says):
        parse_batch(text, "b.toml")


def test_the_mistakes_of_several_tables_are_told_at_once_and_each_once():
    text = demo_text().replace('weight = "0.7 kg"', 'weight = "0.7 kgs"').replace('"45 %"', '"145 %"')
    said = message_of(parse_batch, text.replace('units = "metric"', 'units = "metrik"'), "mine.toml")
    assert said.count("mine.toml") == 1
    assert said.count("; and ") == 2
    for part in ("[meat], weight = '0.7 kgs'", "[room], humidity = '145 %'", "[display], units = 'metrik'"):
        assert said.count(part) == 1


@pytest.mark.parametrize(
    "meat", ['cut = "minced beef 90/10"', 'cut = "minced venison"', 'name = "Ground beef, own"']
)
def test_meat_that_is_called_ground_is_never_judged_as_whole_muscle(meat):
    """Bacteria are at every depth of it; on a slice they count at the faces alone, which was told as met."""
    own = '[meat.composition]\nwater = "70 %"\nprotein = "20 %"\nfat = "9 %"\nash = "1 %"\n'
    text = (
        demo_text()
        .replace('cut = "beef eye of round"', meat, 1)
        .replace('marinade = "boiling"', 'steam = "boiling"', 1)
    )
    text = text.replace("\n[marinade]", f"\n{own}[marinade]", 1) if meat.startswith("name") else text
    with pytest.raises(InputError, match='ground, with bacteria at every depth: "ground" is expected'):
        parse_batch(text, "b.toml")
    unsaid = "\n".join(line for line in text.splitlines() if not line.startswith("form = "))
    assert parse_batch(unsaid, "b.toml").meat.form == "minced"
