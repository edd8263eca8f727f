"""What may be typed under [plan], and what is said of what may not."""

import tomllib
from pathlib import Path

import pytest
from made_batch import warm_air, warm_air_text

from dryingsim.batch.reading.batch_file import parse_batch, parse_document
from dryingsim.errors import InputError
from dryingsim.plan.requirements import Variable, drying_stage, read_requirements
from dryingsim.plan.settings import template_of, written

DEMO = tomllib.loads(warm_air_text())


def requirements(text, document=DEMO):
    whole = document | tomllib.loads(text)
    return read_requirements(whole, "b.toml", parse_document(document, "b.toml"))


def template(between, document=DEMO):
    found = requirements("[plan.between]\n" + between, document)
    batch = parse_document(document, "b.toml")
    return template_of(document, "b.toml", Path(), batch, found.variables)


def test_places_are_read_in_the_unit_they_are_set_in():
    found = requirements(
        '[plan]\naim = "evenness"\nin_window = "60 %"\nreserve = 0.5\n'
        '[plan.between]\nstage.1.air = ["140 degF", "160 degF"]\nstage.1.until.water_activity = [0.75, 0.85]\n'
        '"stage.2.duration" = ["0 min", "1/4 h"]\n'
    )
    assert (found.aim, found.in_window, found.reserve) == ("evenness", 0.6, 0.5)
    assert [(k.key, k.unit, k.low, k.high, k.step) for k in found.variables] == [
        ("stage.1.air", "degF", 140.0, 160.0, 1.0),
        ("stage.1.until.water_activity", "", 0.75, 0.85, 0.005),
        ("stage.2.duration", "min", 0.0, 15.0, 1.0),
    ]
    assert not found.assumed


def test_without_a_table_the_air_and_the_finish_may_change():
    found = requirements("")
    assert found.assumed
    assert [k.key for k in found.variables] == ["stage.1.air", "stage.2.air", "stage.2.duration"]
    assert (found.aim, found.in_window, found.reserve) == ("time", None, 0.0)


def test_by_default_air_goes_as_far_as_the_thermostat():
    text = Path(__file__).parents[2] / "examples" / "stacked_dehydrator.toml"
    document = tomllib.loads(text.read_text(encoding="utf-8"))
    (variable,) = requirements("", document).variables
    assert (variable.low, variable.high) == (55.0, 71.0)  # the catalog's highest is 160 degF, 71.1 degC


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[plan]\naims = "time"', "has no key 'aims'; did you mean 'aim'?"),
        ('[plan]\naim = "cost"', "[plan], aim = 'cost': one of '"),
        ('[plan]\naim = "energy"', "names no appliance, so no energy is counted"),
        ("[plan]\nin_window = 0.6", "in_window = 0.6: a percentage with its unit is expected"),
        ('[plan]\nin_window = "130 %"', "in_window = '130 %' is outside 0 % to 100 %"),
        ("[plan]\nreserve = 9", "reserve = 9 is outside 0 to 5"),
        ('[plan.between]\nroom.humidity = ["1 %", "2 %"]', "this is no place that a plan can change; known: stage.N.air"),
        ('[plan.between]\nstage.1.air = "60 degC"', "the least and the most are expected"),
        ('[plan.between]\nstage.1.air = [60, 70]', "stage.1.air = 60: a temperature with its unit is expected"),
        ('[plan.between]\nstage.1.air = ["70 degC", "60 degC"]', "the least is to come first"),
        ('[plan.between]\nstage.4.air = ["60 degC", "70 degC"]', "instead of stage 4, one from 1 to 2 is expected"),
        ('[plan.between]\nstage.1.air = ["60 degC", "9 mm"]', "'mm' measures a length"),
        ('[plan.between]\nstage.1.humidity.wet_bulb = ["40 degC", "50 degC"]', "this stage holds no such humidity"),
        ('[plan.between]\nappliance.door.gap = ["0 mm", "50 mm"]', "nothing that has a door"),
        ("[plan]\nbetween = 3", "[plan.between] = 3: places and bounds are expected"),
    ],
)  # fmt: skip
def test_mistakes_are_told_with_their_place(text, says):
    with pytest.raises(InputError) as told:
        requirements(text)
    assert says in str(told.value)
    assert "b.toml: [plan" in str(told.value)


def test_too_many_things_to_change():
    stages = [{"name": f"s{i}", "air": "60 degC", "speed": "1 m/s", "duration": "1 h"} for i in range(7)]
    text = "[plan.between]\n" + "".join(f'stage.{i}.air = ["50 degC", "60 degC"]\n' for i in range(1, 8))
    with pytest.raises(InputError, match="names 7 things to change; 6 at most"):
        requirements(text, DEMO | {"stage": stages})


def test_a_bound_beyond_the_appliance_is_refused_in_its_own_words():
    text = Path(__file__).parents[2] / "examples" / "stacked_dehydrator.toml"
    document = tomllib.loads(text.read_text(encoding="utf-8"))
    with pytest.raises(
        InputError, match=r"everything at its most: .* above the highest setting of the stacked"
    ):
        template('stage.1.air = ["60 degC", "90 degC"]', document)


def test_values_snap_to_what_can_be_set():
    variable = Variable("stage.1.air", "temperature", "degC", 55.5, 71.3, 1.0)
    assert [variable.snapped(v) for v in (60.4, 55.6, 71.29, 80.0)] == [60.0, 55.5, 71.3, 71.3]
    assert Variable("stage.1.duration", "duration", "min", 0.0, 300.0, 5.0).typed(95.0) == "1 h 35 min"
    assert Variable("stage.1.duration", "duration", "min", 0.0, 300.0, 5.0).typed(120.0) == "2 h"


def test_a_batch_at_some_values():
    made = template('stage.1.air = ["50 degC", "70 degC"]\nstage.2.duration = ["0 min", "20 min"]')
    batch = made.batch((60.0, 12.0))
    assert batch.stages[0].air.temperature_K == pytest.approx(333.15)
    assert batch.stages[1].duration_s == 720.0
    assert len(made.batch((60.0, 0.0)).stages) == 1
    assert len(made.batch((60.0, 0.0), whole=True).stages) == 2
    assert made.own() == pytest.approx((68.333, 10.0), abs=1e-3)


def test_the_mean_thickness_moves_all_classes():
    made = template('meat.thickness = ["3 mm", "6 mm"]')
    sizes = [one.thickness_m for one in made.batch((4.0,)).meat.classes]
    assert sizes == pytest.approx([3.2e-3, 4e-3, 4.8e-3], rel=1e-4)
    assert made.own() == pytest.approx((5.0,))


def test_a_schedule_by_the_clock_is_given_an_end_by_dryness():
    text = Path(__file__).parents[2] / "examples" / "stacked_dehydrator.toml"
    document = tomllib.loads(text.read_text(encoding="utf-8"))
    made = template('stage.1.air = ["60 degC", "70 degC"]', document)
    assert made.given_end
    assert made.batch((65.0,)).stages[0].until.water_activity == 0.85
    assert drying_stage(warm_air()) == 0


def test_a_written_file_is_the_same_batch(tmp_path):
    text = written(DEMO, Path(), tmp_path, ["head"], {"stage.1.air": "planned"})
    assert text.startswith("# head\n")
    assert 'air = "155 degF"  # planned' in text
    assert parse_batch(text, "b.toml") == parse_batch(warm_air_text(), "b.toml")


def test_files_it_names_are_found_from_where_it_lies(tmp_path):
    document = DEMO | {"appliance": {"file": "own.toml"}}
    text = written(document, tmp_path, tmp_path / "out", [], {})
    assert tomllib.loads(text)["appliance"]["file"] == "../own.toml"
