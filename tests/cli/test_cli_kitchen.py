"""`firm`, `marinate` and `load`: answers on the screen and as JSON, units, and every slip on one line."""

import json

import pytest
import typer
from complaints import assert_one_line
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.cli.firm import firm
from dryingsim.cli.load import load
from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.marinate import marinate

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
for command in (firm, marinate, load):
    app.command()(command)

ENV = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
PIECE = ("firm", "--thickness", "40 mm", "--air", "fan")
SLICES = ("load", "--weight", "0.7 kg", "--thickness", "5 mm", "--length", "120 mm", "--width", "50 mm")


def invoke(*words):
    return CliRunner().invoke(app, list(words), env=ENV)


def answer(*words):
    """Return all that is told, details and all."""
    result = invoke(*words, "--details")
    assert result.exit_code == 0, result.output
    return result.stdout


def words_of(text):
    return " ".join(text.split())


def numbers(data):
    """Yield every number in nested plain data, to compare two of them."""
    if isinstance(data, dict):
        data = list(data.values())
    if isinstance(data, list):
        for one in data:
            yield from numbers(one)
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield data


# --- firm ------------------------------------------------------------------------------------------------------------


def test_firm_says_when_and_why_and_what_the_rule_of_thumb_gives():
    text = answer(*PIECE)
    said = words_of(text)
    for part in (
        "For a knife, stiff outside: after about",
        "For a machine, tempered through: between 1 h",
        "best after about 3 h",
        "Feel it first after",
        "-2.0 °C or colder",
        "half an hour (common practice, no source)",
        "from memory",
        "estimate",
        "Freezing destroys no bacteria reliably",
    ):
        assert part in said
    assert max(map(len, text.splitlines())) <= 80


def test_firm_in_us_units_has_no_celsius():
    text = answer(*PIECE, "--units", "us")
    assert "28.4 °F or colder" in words_of(text)
    assert "°C" not in text


def test_firm_json_is_in_si_and_whatever_unit_was_typed():
    data = json.loads(answer(*PIECE, "--json"))
    assert data["piece"]["thickness_m"] == pytest.approx(0.04)
    assert data["piece"]["width_m"] is None
    assert data["energy_closure"] < 1e-9
    ends = data["expected"]
    assert 0 < ends["stiff_s"] < ends["firm_s"]
    assert 0 < data["soonest"]["firm_s"] < ends["firm_s"] < ends["best_s"] < ends["hard_s"] < 86400
    us = (
        "firm",
        "--thickness",
        "1.5748031496 inch",
        "--air",
        "fan",
        "--freezer",
        "-0.4 degF",
        "--start",
        "39.2 F",
    )
    other = json.loads(answer(*us, "--json"))
    # the course turns on a kink in the freezing curve: rounding of the input is magnified to the steps' tolerance
    assert list(numbers(other["expected"])) == pytest.approx(list(numbers(ends)), rel=1e-3)


def test_firm_writes_the_course_whole(tmp_path):
    path = tmp_path / "course.csv"
    assert f"Wrote {path}" in answer(*PIECE, "--out", str(path))
    lines = path.read_text().splitlines()
    assert lines[0].startswith("time_s,face_K,skin_K,outer_K,middle_K,mean_K")
    assert len(lines) > 100
    assert [one.name for one in tmp_path.iterdir()] == ["course.csv"]
    assert_one_line(invoke(*PIECE, "--out", str(path)), "exists already")
    answer(*PIECE, "--out", str(path), "--force")


def test_firm_salted_brick_and_too_warm_a_freezer():
    assert "hold as much ice as fresh meat" in words_of(answer(*PIECE, "--salt", "20 g/kg"))
    brick = words_of(answer(*PIECE, "--width", "60 mm", "--length", "10 cm"))
    assert "times as fast as a slab" in brick
    warm = words_of(answer("firm", "--thickness", "200 mm", "--freezer", "-4 degC"))
    assert "does not get firm" in warm
    thin = words_of(answer("firm", "--thickness", "5 mm", "--freezer", "-30 degC", "--air", "fan"))
    assert "too hard by then" in thin


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        (["--thickness", "40"], "a length with its unit is expected"),
        (["--thickness", "4 kg"], "'kg' measures a weight"),
        (["--thickness", "4 m"], "is outside 5 mm to 300 mm"),
        (["--width", "20 mm"], "is the smallest side"),
        (["--freezer", "-1 degC"], "is outside -39 degC to -4 degC"),
        (["--start", "-5 degC"], "is outside 0 degC to 40 degC"),
        (["--air", "breeze"], "--air = 'breeze': one of '"),
        (["--units", "imperial"], "'metric', 'us'"),
        (["--cut", "beef eye of rund"], "did you mean 'beef eye of round'"),
        (["--salt", "2"], "an amount per weight of meat with its unit"),
        (["--out", "."], "is a folder"),
        (["--out", "no/such/folder.csv"], "cannot be written"),
    ],
)
def test_slips_with_firm(changes, says):
    result = invoke(*PIECE, *changes)
    if "cannot be written" in says:  # found out only when it is written, after the answer
        assert result.exit_code == 2
        assert says in result.stderr
    else:
        assert_one_line(result, says)


def test_firm_takes_the_piece_from_a_batch(tmp_path):

    path = tmp_path / "b.toml"
    path.write_text(warm_air_text())
    data = json.loads(answer("firm", str(path), "--json"))
    sides = [data["piece"][side] for side in ("thickness_m", "width_m", "length_m")]
    assert sides[0] == pytest.approx(0.05)  # slices of 120 by 50 mm are cut from a piece as thick and as wide
    assert sides[2] == pytest.approx(0.12)
    assert data["piece"]["weight_kg"] == pytest.approx(0.7, rel=1e-9)
    two = json.loads(answer("firm", str(path), "--pieces", "2", "--json"))
    assert two["piece"]["weight_kg"] == pytest.approx(0.35, rel=1e-9)
    assert two["expected"]["stiff_s"] < data["expected"]["stiff_s"]  # less meat, more surface
    said = words_of(answer("firm", str(path), "--pieces", "2", "--units", "us"))
    assert "Each of 2 pieces" in said
    assert "The others wait in the freezer while you slice the first" in said


def test_firm_by_weight_is_firm_by_length():
    by_length = json.loads(
        answer("firm", "--thickness", "60 mm", "--width", "90 mm", "--length", "150 mm", "--json")
    )
    kg = by_length["piece"]["weight_kg"]
    assert kg == pytest.approx(0.06 * 0.09 * 0.15 * 1065.0, rel=0.02)
    by_weight = json.loads(
        answer("firm", "--thickness", "60 mm", "--width", "90 mm", "--weight", f"{kg} kg", "--json")
    )
    assert by_weight["expected"]["stiff_s"] == pytest.approx(by_length["expected"]["stiff_s"], rel=1e-6)
    assert by_length["turn_over_s"] == pytest.approx(0.5 * by_length["expected"]["stiff_s"])
    assert 1800.0 < by_length["expected"]["stiff_s"] < 7200.0  # cooks slice after half an hour to two hours


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "how large is the piece?"),
        (["--width", "90 mm"], "go with --thickness"),
        (["--thickness", "60 mm", "--weight", "1 kg"], "goes with --thickness and --width"),
        (["--thickness", "60 mm", "--width", "90 mm", "--weight", "40 kg"], "check weight and sides"),
        (["--thickness", "60 mm", "--pieces", "0"], "1 to 100"),
    ],
)
def test_slips_with_the_size_of_a_piece(words, says):
    assert_one_line(invoke("firm", *words), says)


# --- marinate --------------------------------------------------------------------------------------------------------


def test_marinate_shows_the_demonstration():
    result = invoke("marinate", "--details")
    assert result.exit_code == 0
    assert "this is the demonstration" in result.stderr
    said = words_of(result.stdout)
    for part in (
        "soy sauce",
        "12:00",
        "24:00",
        "48:00",
        "No marinade makes meat safe",
        "no credit for safety",
        "estimate",
    ):
        assert part in said
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_file_to_start_from_is_the_demonstration(tmp_path):
    path = tmp_path / "mine.toml"
    assert "Change it to suit" in answer("marinate", "--new", str(path))
    assert answer("marinate", str(path)) == invoke("marinate", "--details").stdout
    assert [one.name for one in tmp_path.iterdir()] == ["mine.toml"]
    assert_one_line(invoke("marinate", "--new", str(path)), "exists already")
    answer("marinate", "--new", str(path), "--force")
    assert_one_line(invoke("marinate", str(path), "--new", "x.toml"), "reads none")


def test_file_to_start_from_is_written_and_told_in_us_units(tmp_path):
    path = tmp_path / "mine.toml"
    answer("marinate", "--new", str(path), "--units", "us")
    assert 'weight = "1.54 lb"' in path.read_text()
    said = words_of(answer("marinate", str(path)))
    # the same meat and marinade: 15.5 and 27.8 g/kg of the demonstration, sixteen ounces in a pound
    assert "0.25 oz of salt and 0.45 oz of sugar per lb of raw meat" in said
    assert '"0.25 oz/lb"' in said
    assert "g/kg" not in said


def test_what_it_prints_for_the_batch_file_is_read_there(tmp_path):
    said = words_of(answer("marinate", "--time", "6 h"))
    lines = said.split("[marinade] with ")[1].split(". No")[0].split(", ")
    text = warm_air_text().replace('salt = "15 g/kg"', lines[0]).replace('sugar = "12 g/kg" ', lines[1] + " ")
    batch = parse_batch(text.replace('# water = "50 g/kg"', lines[2]), "b.toml")
    data = json.loads(answer("marinate", "--time", "6 h", "--json"))["chosen"]
    assert batch.marinade.salt_kg_kg == pytest.approx(data["salt"], abs=6e-5)
    assert batch.marinade.sugar_kg_kg == pytest.approx(data["sugar"], abs=6e-5)
    assert batch.marinade.water_kg_kg == pytest.approx(data["water"], abs=6e-4)


def test_marinate_json_and_units():
    data = json.loads(answer("marinate", "--json", "--units", "us"))
    assert data["bath"]["salt_kg"] == pytest.approx(0.0151, abs=1e-4)
    assert data["nitrite"] is None
    us = answer("marinate", "--units", "us")
    assert "oz" in us
    assert "40 °F" in us
    assert "°C" not in us


def changed(tmp_path, *pairs):
    from dryingsim.batch.catalog.ingredients import start_text

    text = start_text()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    path = tmp_path / "m.toml"
    path.write_text(text)
    return str(path)


@pytest.mark.parametrize(
    ("amount", "says"),
    [("1 g", "so it is within it"), ("3 g", "treat it as ABOVE"), ("20 g", "do not use this recipe")],
)
def test_nitrite_is_judged_with_its_rule(tmp_path, amount, says):
    row = f'[[ingredient]]\nname = "curing salt"\namount = "{amount}"\n\n[dried]'
    said = words_of(answer("marinate", changed(tmp_path, ("[dried]", row))))
    assert says in said
    assert "9 CFR 424.21(c), immersed" in said
    assert "21 CFR 172.170 allows 200 ppm in the finished meat" in said
    assert "second hand" in said


def test_warm_dry_and_thick_are_remarked(tmp_path):
    warm = words_of(answer("marinate", changed(tmp_path, ('"4 degC"', '"12 degC"'))))
    assert "Marinade too warm, 12.0 °C: bacteria grow" in warm
    thick = words_of(answer("marinate", changed(tmp_path, ('"5 mm"', '"60 mm"'))))
    assert "middle is still hardly salted" in thick
    wet = ('name = "water"\namount = "100 mL"', 'name = "salt"\namount = "1 g"')
    sauce = ('name = "soy sauce"\namount = "100 mL"', 'name = "salt"\namount = "15 g"')
    assert "this is a dry rub" in words_of(answer("marinate", changed(tmp_path, wet, sauce)))
    salty = words_of(
        answer(
            "marinate",
            changed(tmp_path, ('name = "water"\namount = "100 mL"', 'name = "salt"\namount = "90 g"')),
        )
    )
    assert "more salt than its water dissolves" in salty
    assert "hardly eatable" in salty


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nowhere.toml"], "'dryingsim marinate --new nowhere.toml' writes one"),
        (["--time", "5"], "a duration with its unit"),
        (["--time", "5 fortnights"], "is not a known unit"),
        (["--time", "900 h"], "is outside 1 min to 240 h"),
        (["--units", "imperial"], "'metric', 'us'"),
        (["--new", "no/such/m.toml"], "cannot be written"),
    ],
)
def test_slips_with_marinate(words, says):
    assert_one_line(invoke("marinate", *words), says)


def test_known_ingredients_are_shown_with_their_source():
    text = answer("marinate", "--ingredients")
    assert "worcestershire sauce" in text
    assert "USDA" in text
    assert "- rice vinegar: from memory" in text


# --- load ------------------------------------------------------------------------------------------------------------


def test_load_with_and_without_trays():
    alone = words_of(answer(*SLICES))
    assert "makes 22 slices of 120 mm by 50 mm" in alone
    assert "TRAYS" not in alone
    assert "estimate" in alone
    said = words_of(answer(*SLICES, "--appliance", "stacked dehydrator"))
    assert "22 slices take 3 trays, 80 % covered at most" in said
    assert "one load of the stacked dehydrator" in said
    assert "22 slices take" in words_of(answer(*SLICES, "--tray-length", "1 ft", "--tray-width", "13 inch"))


def test_load_takes_a_batch_and_what_is_typed_goes_first(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(warm_air_text())
    meat = parse_batch(warm_air_text(), "b.toml").meat
    sizes = json.loads(answer("load", str(path), "--json"))["slices"]
    assert (sizes["weight_kg"], sizes["length_m"], sizes["width_m"]) == (
        meat.weight_kg,
        meat.length_m,
        meat.width_m,
    )
    assert sizes["thickness_m"] == meat.mean_thickness_m
    other = json.loads(answer("load", str(path), "--weight", "2 lb", "--json"))["slices"]
    assert other == sizes | {"weight_kg": pytest.approx(0.90718474)}
    own = json.loads(answer("load", "examples/own_dehydrator_batch.toml", "--json"))
    assert (own["appliance"], own["layout"]["trays"]) == ("own dehydrator", 4)
    assert_one_line(
        invoke("load"), "--weight, --thickness, --length, --width are missing; a batch file tells that"
    )
    assert_one_line(invoke(*SLICES[:-2]), "--width is missing; a batch file tells that too")


def test_load_json_is_in_si_and_whatever_unit_was_typed():
    data = json.loads(answer(*SLICES, "--json", "--appliance", "stacked dehydrator"))
    us = (
        "load",
        "--weight",
        "24.6917733936 oz",
        "--thickness",
        "0.19685039370 inch",
        "--length",
        "4.7244094488 inch",
    )
    other = json.loads(
        answer(
            *us,
            "--width",
            "1.9685039370 inch",
            "--json",
            "--appliance",
            "stacked dehydrator",
            "--units",
            "us",
        )
    )
    assert list(numbers(other)) == pytest.approx(list(numbers(data)), rel=1e-8)
    assert data["layout"]["trays"] == 3


def test_load_takes_an_appliance_of_ones_own(tmp_path):
    from dryingsim.batch.catalog.appliances import find_appliance

    path = tmp_path / "mine.toml"
    path.write_text(find_appliance("", "stacked dehydrator").toml())
    same = answer(*SLICES, "--appliance", str(path))
    assert words_of(same) == words_of(answer(*SLICES, "--appliance", "stacked dehydrator"))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        (["--weight", "700"], "a weight with its unit is expected"),
        (["--weight", "1 t"], "is not a known unit"),
        (["--thickness", "5 m"], "is outside 0.5 mm to 30 mm"),
        (["--length", "0 mm"], "is outside 5 mm to 1 m"),
        (["--gap", "-5 mm"], "is outside 0 mm to 100 mm"),
        (["--appliance", "stacked dehidrator"], "did you mean 'stacked dehydrator'"),
        (["--appliance", "none.toml"], "there is no such file"),
        (["--appliance", "stacked dehydrator", "--tray-width", "1 ft"], "give one of them"),
        (["--tray-width", "1 ft"], "--tray-length is missing"),
        (["--tray-width", "6 cm", "--tray-length", "6 cm"], "does not fit"),
        (["--units", "furlongs"], "'metric', 'us'"),
    ],
)
def test_slips_with_load(changes, says):
    assert_one_line(invoke(*SLICES, *changes), says)


# --- a batch that tells its ingredients ------------------------------------------------------------------------------


@pytest.fixture
def soaked_batch(tmp_path):
    path = tmp_path / "soaked.toml"
    path.write_text(
        '[meat]\ncut = "beef eye of round"\nthickness = "3 mm"\nlength = "5 inch"\nwidth = "2 inch"\nweight = "1 lb"\n'
        '[marinade]\ntime = "24 h"\ntemperature = "45 degF"\n'
        'ingredients = ["1/2 cup soy sauce", "1/2 tsp curing salt"]\n'
        '[room]\ntemperature = "70 degF"\nhumidity = "45 %"\n[[stage]]\nair = "160 degF"\nspeed = "1 m/s"\nduration = "2 h"\n'
    )
    return str(path)


def test_marinate_reads_the_ingredients_of_a_batch(soaked_batch):
    said = words_of(answer("marinate", soaked_batch))
    assert "soy sauce" in said
    assert "24:00" in said
    assert "In the batch file" not in said  # it is there
    assert "weight weight" in words_of(answer("marinate", soaked_batch, "--units", "us"))  # in oz and in g


def test_run_tells_of_the_marinade_what_bears_on_health_even_if_quiet(soaked_batch):
    from typer.testing import CliRunner

    from dryingsim.cli.main import app

    quiet = words_of(CliRunner().invoke(app, ["run", soaked_batch, "--quiet"]).stdout)
    assert "Marinade too warm" in quiet
    assert (
        "do not use this recipe" in quiet
    )  # 0.19 g of nitrite on 454 g of meat: 413 ppm, three quarters in the meat
    assert "g of sugar" not in quiet
    data = json.loads(CliRunner().invoke(app, ["run", soaked_batch, "--json"]).stdout)
    assert data["marinade"]["nitrite"]["verdict"] == "above"
    taken = data["marinade"]["chosen"]["salt"] * 1000.0 * 0.45359237
    servings = data["yield"]["finished_kg"] / 0.028
    assert servings * data["serving"]["salt_kg"] * 1000.0 == pytest.approx(taken)
