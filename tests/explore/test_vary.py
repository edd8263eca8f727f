"""One batch varied: how values are read, where they go in the file, and that all checks of the file still hold."""

import tomllib
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from made_batch import warm_air, warm_air_text

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.errors import InputError
from dryingsim.explore import vary as module
from dryingsim.explore.document_change import change
from dryingsim.explore.maps import map_file, map_over
from dryingsim.explore.vary import load_varied, read_request, read_values, varied, vary, vary_batches
from dryingsim.judge.energy import read_price
from dryingsim.show.compare.files import comparison_document
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.map.text import map_document
from dryingsim.show.map.text import summary as map_data

DOCUMENT = tomllib.loads(warm_air_text())


# ---- values


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("3 mm to 8 mm in 6", ("3 mm", "4 mm", "5 mm", "6 mm", "7 mm", "8 mm")),
        ("0 to 80 mm in 5", ("0 mm", "20 mm", "40 mm", "60 mm", "80 mm")),
        ("0.1 to 0.3 in in 3", ("0.1 in", "0.2 in", "0.3 in")),
        ("8 mm to 3 mm in 2", ("8 mm", "3 mm")),
        ("-1 to 1 degC in 3", ("-1 degC", "0 degC", "1 degC")),
        ("0.7 to 0.9 in 3", ("0.7", "0.8", "0.9")),
        ("10 m3/h to 20 m3/h in 2", ("10 m3/h", "20 m3/h")),
        ("60, 65, 70 degC", ("60 degC", "65 degC", "70 degC")),
        ("60 degC, 150 degF", ("60 degC", "150 degF")),
        ("series, parallel", ("series", "parallel")),
        ("1 h 30 min, 2 h", ("1 h 30 min", "2 h")),
        ("true, false", ("true", "false")),
        ("1, 2, 3", ("1", "2", "3")),
    ],
)
def test_values_are_read(text, values):
    assert read_values(text) == values
    assert read_values(f"  {text} ") == values


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "values are expected"),
        ("5 mm", "one value alone varies nothing"),
        ("3 mm to 8 mm in 1", "2 to 200 values"),
        ("3 mm to 8 mm in 201", "2 to 200 values"),
        (", ".join(f"{i} mm" for i in range(201)), "2 to 200 values"),
        ("3 mm to 8 cm in 3", "same unit"),
        ("thin to thick in 3", "two numbers"),
        ("5 mm to 5 mm in 3", "'5 mm' stands there twice"),
        ("4 mm, 5 mm, 4 mm", "'4 mm' stands there twice"),
        ("4, 4 mm", "'4 mm' stands there twice"),
        ("3,5 mm, 6 mm", "decimals with a point"),
        ("4 mm,, 5 mm", "values are expected"),
        ("3 to 8 mm", "one value alone"),
    ],
)
def test_bad_values_are_one_clear_line(text, says):
    with pytest.raises(InputError, match=says) as error:
        read_values(text, "--vary meat.thickness")
    assert str(error.value).startswith("--vary meat.thickness = ")
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("text", ["meat.thickness", "= 3, 4 mm", "meat..thickness = 3, 4 mm", ". = 1, 2", ""])
def test_a_request_without_a_parameter_is_refused_with_an_example(text):
    with pytest.raises(InputError, match="a parameter and its values are expected, for example"):
        read_request("--vary", text)


# ---- places in the file


def test_a_value_goes_where_the_dots_lead():
    thin, thick = varied(DOCUMENT, "b", "meat.thickness", ["3 mm", "8 mm"])
    assert [one.thickness_m for one in thin.meat.classes] == [0.003]
    assert [one.thickness_m for one in thick.meat.classes] == [0.008]
    cool, warm = varied(DOCUMENT, "b", "stage.1.air", ["60 degC", "158 degF"])
    assert cool.stages[0].air.temperature_K == pytest.approx(333.15)
    assert warm.stages[0].air.temperature_K == pytest.approx(343.15)
    assert warm.stages[1] == cool.stages[1] == warm_air().stages[1]
    first, _ = varied(DOCUMENT, "b", "meat.thickness.2.value", ["4.5 mm", "5.5 mm"])
    assert [one.thickness_m for one in first.meat.classes] == pytest.approx([0.004, 0.0045, 0.006])
    drier, _ = varied(DOCUMENT, "b", "targets.water_activity", ["0.7", "0.8"])
    assert drier.targets.water_activity == 0.7


def test_what_the_file_leaves_out_is_added():
    text = warm_air_text()
    document = tomllib.loads(text[: text.index("[marinade]")] + text[text.index("[room]") :])
    assert "altitude" not in document["room"]
    low, high = varied(document, "b", "room.altitude", ["0 m", "3000 m"])
    assert low.room.pressure_Pa > high.room.pressure_Pa
    plain, salted = varied(document, "b", "marinade.salt", ["0 g/kg", "20 g/kg"])
    assert (plain.marinade.salt_kg_kg, salted.marinade.salt_kg_kg) == (0.0, 0.02)
    turned, _ = varied(document, "b", "stage.2.turn", ["true", "false"])
    assert turned.stages[1].turn is True


def test_the_document_stays_as_it_was():
    before = tomllib.loads(warm_air_text())
    varied(DOCUMENT, "b", "stage.1.air", ["60 degC", "65 degC"])
    assert before == DOCUMENT


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("meat.thicknes", "4 mm", "has no key 'thicknes'; did you mean 'thickness'?"),
        ("maet.thickness", "4 mm", "has no key 'maet'; did you mean 'meat'?"),
        ("meat.thickness", "4 kg", "'kg' measures a weight"),
        ("meat.thickness", "80 mm", "is outside 0.5 mm to 30 mm"),
        ("meat.thickness", "4", "with its unit is expected"),
        ("meat.thickness.4.value", "4 mm", "instead of '4' a number from 1 to 3"),
        ("meat.thickness.two.value", "4 mm", "instead of 'two' a number from 1 to 3"),
        ("stage.3.air", "60 degC", "a number from 1 to 2"),
        ("stage.1.air.end", "60 degC", "'155 degF' in the file, so 'end' cannot stand below it"),
        ("meat", "4 mm", "a table of keys is expected"),
    ],
)
def test_all_checks_of_the_file_hold(key, value, says):
    with pytest.raises(InputError) as error:
        varied(DOCUMENT, "b.toml", key, [value])
    assert says in str(error.value)
    assert str(error.value).startswith("b.toml: ") or "b.toml has no key" in str(error.value)


# ---- runs


def test_thicker_slices_take_longer_and_the_file_is_left_alone(short):
    text = short.read_text(encoding="utf-8")
    seen = []
    found = vary(short, "meat.thickness", "1 to 2 mm in 3", progress=lambda index, _: seen.append(index))
    assert found.values == ("1 mm", "1.5 mm", "2 mm")
    np.testing.assert_array_equal(found.numbers, [1.0, 1.5, 2.0])
    assert (found.key, found.unit, found.remarks) == ("meat.thickness", "mm", ())
    assert np.all(np.diff(found.measures["done_s"]) > 0.0)
    assert set(seen) == {0, 1, 2}
    assert short.read_text(encoding="utf-8") == text


def test_each_value_is_the_batch_with_that_value(short):
    found = vary(short, "meat.thickness", ["1 mm", "2 mm"])
    (alone,) = vary_batches("x", ["2 mm"], load_varied(short, "meat.thickness", ["2 mm"])).measures["done_s"]
    assert found.measures["done_s"][1] == alone


@pytest.mark.parametrize(
    ("values", "unit"),
    [(["1 mm", "0.1 inch"], None), (["thin", "thick"], None), (["1", "2"], ""), (["1 h", "2 h"], "h")],
)
def test_values_are_numbers_only_in_one_unit(values, unit, monkeypatch):
    nothing = SimpleNamespace(lethality=SimpleNamespace(warnings=()))
    monkeypatch.setattr(module, "judged", lambda *args: nothing)
    monkeypatch.setattr(module, "measure", lambda one: {"done_s": 1.0})
    found = vary_batches("key", values, [warm_air()] * 2)
    assert (found.numbers is None) == (unit is None)
    assert found.unit == (unit or "")


def test_a_value_that_cannot_be_run_leaves_a_gap_and_a_remark(monkeypatch):
    real = module.judged

    def fails_at_noon(batch, price, progress):
        if batch.name == "noon":
            raise InputError("noon: the slices need 9 trays")
        return real(batch, price, progress)

    monkeypatch.setattr(module, "judged", fails_at_noon)
    batch = warm_air()
    batch = replace(batch, stages=(replace(batch.stages[0], duration_s=300.0),))
    batches = [replace(batch, name=name) for name in ("morning", "noon", "night")]
    found = vary_batches("time", ["6", "12", "18"], batches, price=read_price("price", "1 EUR/kWh"))
    np.testing.assert_array_equal(np.isnan(found.measures["hottest_meat_K"]), [False, True, False])
    assert found.remarks == ("time = 12 could not be run: noon: the slices need 9 trays",)
    assert found.currency == "EUR"
    with pytest.raises(InputError, match="time = 12 could not be run"):
        vary_batches("time", ["12"], batches[1:2])


def test_a_bad_file_is_told_as_ever(tmp_path):
    with pytest.raises(InputError, match="there is no such file"):
        vary(tmp_path / "none.toml", "meat.thickness", "3, 4 mm")


@pytest.mark.parametrize("key", ["stage.1.air", "stage.1.humidity.wet_bulb", "appliance.air.vents"])
def test_a_humidity_measured_in_other_air_is_measured_no_more(key):
    document = {
        "stage": [{"air": "70 degC", "humidity": {"wet_bulb": "60 degC", "measured": True}}],
        "appliance": {},
    }
    change(document, "b.toml", key, "65 degC")
    assert document["stage"][0]["humidity"].get("measured") is None


@pytest.mark.parametrize(
    ("key", "value"),
    [("stage.1.duration", "2 h"), ("stage.1.humidity.measured", True), ("meat.thickness", "4 mm")],
)
def test_a_measured_humidity_stays_measured_for_longer_stages_and_other_meat(key, value):
    document = {"stage": [{"air": "70 degC", "humidity": {"wet_bulb": "60 degC", "measured": True}}]}
    change(document, "b.toml", key, value)
    assert document["stage"][0]["humidity"]["measured"] is True


@pytest.mark.parametrize("value", ["70 degC", "70.0 °C", "158 degF"])
def test_the_air_of_the_file_typed_otherwise_keeps_what_was_measured(value):
    document = {"stage": [{"air": "70 degC", "humidity": {"wet_bulb": "60 degC", "measured": True}}]}
    change(document, "b.toml", "stage.1.air", value)
    assert document["stage"][0]["humidity"]["measured"] is True


def test_other_air_in_one_stage_leaves_what_was_measured_in_another():
    humidity = {"wet_bulb": "60 degC", "measured": True}
    document = {"stage": [{"air": "70 degC", "humidity": dict(humidity)} for _ in range(2)]}
    change(document, "b.toml", "stage. 2 .air", "65 degC")
    assert [stage["humidity"].get("measured") for stage in document["stage"]] == [True, None]


# tiny: what is told of the air hangs on no simulation
MEASURED = """
[meat]
cut = "beef eye of round"
thickness = "3 mm"
length = "120 mm"
width = "50 mm"
weight = "1 kg"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
name = "humid"
air = "76.7 degC"
humidity = { wet_bulb = "60.5 degC", measured = true }
speed = "1.5 m/s"
duration = "20 min"
"""


def test_values_that_make_other_air_than_was_measured_are_told():
    meant, other = varied(tomllib.loads(MEASURED), "b", "stage.1.air", ["76.7 degC", "75 degC"])
    assert meant.stages[0].air.humidity.measured
    assert not other.stages[0].air.humidity.measured
    told = vary_batches("stage.1.air", ["76.7 degC", "75 degC"], [meant, other], meant=meant)
    assert told.unmeasured == ("75 degC",)
    said = " ".join(plain_text(comparison_document(told)).split())
    assert "75 degC: other air than was measured, so its humidity counts as not measured." in said


def test_a_map_tells_at_how_many_points_the_air_is_other_than_was_measured(tmp_path):
    file = tmp_path / "b.toml"
    file.write_text(MEASURED)
    some = map_file(file, ["stage.1.air = 75, 76.7 degC"], nodes=6)
    none = map_file(file, ["stage.1.air = 75, 80 degC"], nodes=6)
    for mapped, where, counted in ((some, "1 of 2", True), (none, "all", False)):
        said = " ".join(plain_text(map_document(mapped)).split())
        assert f"At {where} points the air is other than was measured" in said
        assert ("Counts on temperature and humidity said to be measured" in said) == counted
        assert map_data(mapped)["humidity_shown"] is False


def test_a_map_over_air_given_in_python_keeps_what_was_measured_in_its_own_air_alone():
    batch = parse_batch(MEASURED, "b")
    own = batch.stages[0].air.temperature_K
    mapped = map_over(batch, {"air_K": np.array([own, own + 5.0])}, nodes=6)
    assert mapped.unmeasured == 1
    assert map_data(mapped)["humidity_shown"] is False
