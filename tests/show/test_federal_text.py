"""What is said of growth, of the federal table and of the home advice; and that it stands beside what is reached."""

import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.explore.compare import compare
from dryingsim.explore.maps import map_over
from dryingsim.explore.vary import vary_batches
from dryingsim.judge.circumstances import circumstances, heated_circumstances
from dryingsim.judge.growth import OrganismGrowth
from dryingsim.judge.remedies import remedied
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.compare.files import comparison_document
from dryingsim.show.compare.text import comparison_sentences
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality.brief import brief, safety_lines, verdict
from dryingsim.show.lethality.data import growth_values
from dryingsim.show.lethality.federal_text import check_values, checks_line, table_line
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.text import growth_lines, lines, verdict_line
from dryingsim.show.map.text import map_sentences, summary

pytestmark = pytest.mark.usefixtures("coarse_steps")

CHECKS = "Separate checks: federal time-temperature table (USDA FSIS, "
ADVICE = "USDA home advice (71 °C before drying) "


def humid(relative, hours=2.0, celsius=70.0, **meat):
    """A batch in humid air that was measured."""
    batch = warm_air()
    air = replace(
        batch.stages[0].air,
        temperature_K=273.15 + celsius,
        humidity=ds.Humidity(kind="relative", value=relative, measured=True),
    )
    stage = replace(batch.stages[0], air=air, duration_s=3600.0 * hours, until=None)
    classes = (ds.ThicknessClass(thickness_m=4e-3, share=1.0),)
    return replace(batch, meat=replace(batch.meat, classes=classes, **meat), stages=(stage,))


def judged(batch):
    history = ds.run(batch, nodes=8)
    return judge_batch_lethality(history), Units(history, "metric")


@pytest.fixture(scope="module")
def moist():
    return judged(humid(0.93))


@pytest.fixture(scope="module")
def drier():
    return judged(humid(0.80))


def test_a_table_that_is_fulfilled_says_by_what(moist):
    lethality, units = moist
    text = table_line(lethality.table, units.temperature)
    assert (
        "USDA FSIS Appendix A of 2021: meat, 6.5 log, table 2, page 35; humidity option 3, humid air): fulfilled"
        in text
    )
    assert re.search(r"between 10 °C and 54 °C for .* before, 6 h are allowed\.$", text)
    assert check_values(lethality) == {"federal_table_fulfilled": True, "home_advice_followed": False}


def test_one_that_is_not_says_what_is_missing(drier):
    lethality, units = drier
    text = table_line(lethality.table, units.temperature)
    assert "not fulfilled. Of its time 0 % was gathered" in text
    assert "it asks for 25 % of the cooking time and 1 h at least, and has 0 % and 0 min" in text
    assert "The meat was hot for long enough, but in air too dry to count." in text


def test_the_verdict_has_the_checks_beside_it_only_where_it_is_reached(moist, drier):
    lethality, units = moist
    assert lethality.grade == drier[0].grade == "met"
    assert verdict_line(lethality, units).endswith(f"{CHECKS}meat, 6.5 log) fulfilled; {ADVICE}not followed.")
    assert verdict_line(*drier).endswith(f"{CHECKS}meat, 6.5 log) not fulfilled; {ADVICE}not followed.")
    short, units = judged(humid(0.80, hours=0.1))
    assert short.grade != "met"
    assert "Separate checks" not in verdict_line(short, units)


def test_fish_has_no_table_and_says_so():
    fish, units = judged(humid(0.93, species="fish", name="fish"))
    assert "no federal table speaks of this meat" in checks_line(fish, units.temperature)
    assert check_values(fish)["federal_table_fulfilled"] is None


def test_poultry_goes_by_its_fat():
    poultry, units = judged(humid(0.93, species="poultry", name="poultry"))
    assert "(USDA FSIS, poultry, 4 % fat, 7 log)" in checks_line(poultry, units.temperature)  # 3.04 % and up


def test_hot_liquid_needs_no_humid_air_and_follows_the_home_advice():
    batch = warm_air()
    batch = replace(batch, stages=(replace(batch.stages[0], duration_s=1800.0, until=None),))
    lethality, units = judged(remedied(batch, "boiled first"))
    assert lethality.table.rule.version == "none needed, in hot liquid"
    assert check_values(lethality) == {"federal_table_fulfilled": True, "home_advice_followed": True}
    assert lethality.table.come_up_s < 300.0
    assert "fulfilled; " + ADVICE + "followed." in checks_line(lethality, units.temperature)
    assert not judged(batch)[0].table.fulfilled


def test_comparing_and_varying_print_the_checks():
    batches = [humid(0.93), replace(humid(0.80), name="drier")]
    side_by_side = " ".join(comparison_sentences(compare(batches), "metric"))
    assert side_by_side.count(CHECKS) == 2
    varied = vary_batches("stage.1.humidity", ["93 %", "80 %"], batches)
    text = " ".join(comparison_sentences(varied, "metric"))
    assert f"meat, 6.5 log) fulfilled; {ADVICE}not followed (93 %)." in text
    assert f"meat, 6.5 log) not fulfilled; {ADVICE}not followed (80 %)." in text
    assert comparison_document(varied).data()["runs"][0]["federal_table_fulfilled"] is True


def test_a_map_prints_the_checks_where_points_reach():
    batch = humid(0.93)
    bare = map_over(batch, {"thickness_m": np.array([4e-3, 5e-3])}, nodes=8)
    assert "The federal table and the home advice were not looked at." in map_sentences(bare, "metric")
    found = replace(bare, judged=judged(batch)[0])
    text = " ".join(map_sentences(found, "metric"))
    assert CHECKS + "meat, 6.5 log) fulfilled" in text
    assert "That is the batch as it stands in the file." in text
    assert summary(found)["checks_in_the_file"]["federal_table_fulfilled"] is True
    never = replace(found, numbers={**found.numbers, "lower": np.zeros(2)})
    assert CHECKS not in " ".join(map_sentences(never, "metric"))


# --- growth ----------------------------------------------------------------------------------------------------


def grown(name, upper, **more):
    own = dict(
        organism=name, name=name, slab=0, node=0, upper=upper, lagged=0.4 * upper, surface=upper, middle=3.1, below=1.4
    )  # fmt: skip
    return OrganismGrowth(**(own | {"limit": None, "net": None} | more))


def test_growth_in_words(drier):
    lethality, units = drier
    some = (
        grown("S. aureus", 1.25, limit=2.0),
        grown("Salmonella", 0.5, net=-4.2),
        grown("C. perfringens", 0.0),
    )
    text = " ".join(growth_lines(replace(lethality, growth=some), units))
    assert "no lag): S. aureus 1.2, Salmonella 0.5, the others less than 0.1." in text
    assert "With a lag S. aureus comes to 0.5; federal guidance allows it 2, for its toxin." in text
    assert "S. aureus would come to 1.4 log at 1 mm below it and to 3.1 in the middle." in text
    assert "Salmonella 4.2 fewer." in text
    assert "°c" not in text
    minced = growth_lines(replace(lethality, growth=some, form="minced"), units)
    assert "intact muscle" not in " ".join(minced)
    assert growth_lines(replace(lethality, growth=()), units) == []


def test_hardly_any_growth_is_one_short_sentence(drier):
    lethality, units = drier
    none = (grown("S. aureus", 0.01, limit=2.0, middle=0.02, below=0.0),)
    (text,) = growth_lines(replace(lethality, growth=none), units)
    assert "less than 0.1 log" in text
    assert text in lines(replace(lethality, growth=none), units)


def test_growth_as_plain_values(drier):
    lethality, _ = drier
    values = growth_values(lethality, grown("S. aureus", 12.0, limit=2.0))
    assert values["upper"] == 7.0  # hardly anybody counts more
    assert values["with_lag"] == pytest.approx(4.8)
    assert (values["limit"], values["below_1_mm"], values["middle"]) == (2.0, 1.4, 3.1)
    assert values["growth_less_reduction"] is None
    assert values["place"]["tray"] == 1


def test_a_slow_cool_schedule_is_told_of_growth_first():
    warm = humid(0.75, hours=20.0, celsius=30.0, form="minced")
    lethality, units = judged(warm)
    (first, *_) = lines(lethality, units)
    assert first.startswith("Warning: bacteria grow")
    assert "S. aureus may grow by" in first
    assert "more than the 2 log that federal guidance allows" in first
    assert lethality.growth[0].too_much


def test_a_first_screen_says_what_to_do_where_no_count_can_show_so_much():
    lethality, units = judged(humid(0.80, species="poultry", name="poultry"))
    told = " ".join(safety_lines(lethality, units))
    assert (lethality.worst.target, lethality.grade) == (7.0, "not shown")
    assert "Counting cannot show so much: go by the federal table, or heat it first." in told
    assert "federal table NOT met" in told


@pytest.mark.parametrize(
    ("minutes", "table", "todo"),
    [
        (
            None,
            "NOT met",
            "Do first: heat them in boiling marinade or water, not steam, to 74 °C inside and for 5 min or more.",
        ),
        (
            5.0,
            "met",
            "Do first, as planned: heat the slices for 5 min at 100 °C; check for 74 °C or more inside",
        ),
    ],
)
def test_poultry_heated_first_is_told_how_long_meets_the_table(minutes, table, todo):
    demo = ds.demo_batch()
    heated = demo.stages[0]
    if minutes is not None:
        heated = replace(heated, until=None, duration_s=60.0 * minutes)
    meat = replace(demo.meat, species="poultry", name="turkey breast")
    lethality, units = judged(replace(demo, meat=meat, stages=(heated, *demo.stages[1:])))
    told = " ".join(safety_lines(lethality, units))
    assert f"Counting cannot show so much: go by the federal table. {todo}" in told
    assert f"federal table {table}" in told


@pytest.mark.parametrize(
    ("first", "told"),
    [
        (0.94, "hot for too short a time while wet"),
        (0.90, "hot for too short a time while wet"),
        (0.80, "dry bacteria survive"),
    ],
)
def test_only_dry_meat_is_said_to_protect_bacteria(first, told):
    time = np.linspace(0.0, 7200.0, 121)
    temperature, activity = np.linspace(310.0, 330.0, 121), np.full(121, first)
    text = brief(circumstances(time, temperature, activity), lambda kelvin: f"{kelvin - 273.15:.0f} °C")
    assert told in text
    assert f"{first:.2f}" in text
    assert ("dry bacteria" in text) == (first < 0.9)


def test_meat_that_was_wet_is_not_called_protected_but_told_how_little_heat_it_got():
    time, temperature, activity = np.arange(0.0, 3601.0, 60.0), np.full(61, 330.15), np.full(61, 0.97)
    activity[31:], temperature[31:] = 0.5, 340.15
    found = circumstances(time, temperature, activity)
    assert brief(found, lambda kelvin: f"{kelvin - 273.15:.0f} °C") == (
        "too little heat while wet: above 50 °C for 30 min, 57 °C at most"
    )


def test_of_meat_heated_first_drying_air_is_not_said_to_have_made_it_hot():
    """From the trays on it is still hot from the liquid, cools to 30 degC, and warms to 57 degC once it is dry."""
    heated_s, heated_K = np.array([0.0, 20.0, 40.0]), np.array([280.15, 323.15, 345.15])
    time = np.array([0.0, 60.0, 120.0, 3600.0, 7200.0])
    temperature = np.array([353.15, 313.15, 303.15, 303.15, 330.15])
    found = heated_circumstances(
        heated_s, heated_K, time, temperature, np.array([0.98, 0.97, 0.96, 0.6, 0.3])
    )
    assert found.values["hottest_K"] == 345.15
    assert found.values["hotter_s"] == pytest.approx(20.0 + 45.0)  # and from 80 to 50 degC on the trays
    assert found.values["dried"].key == "hot_once_dry"
    assert found.values["dried"].values["hottest_K"] == 330.15
    text = sentence(found)
    assert "hotter than 50 degC for 65 s, and reached 72 degC where bacteria sit; in drying air, once" in text
    assert "reached 57 degC, and dried to 0.30 meanwhile" in text
    assert brief(found, lambda kelvin: f"{kelvin - 273.15:.0f} °C") == (
        "too short a heat first: above 50 °C for 65 s, 72 °C at most"
    )


def test_no_best_estimate_is_told_of_what_is_not_relied_on(moist):
    lethality, units = moist
    assert "best estimate" in safety_lines(lethality, units)[0]
    assert "best estimate" not in verdict(lethality, relied=False)
    assert safety_lines(lethality, units, relied=False)[0] == verdict(lethality, relied=False)


def test_a_verdict_that_rests_on_heating_first_says_so_and_what_the_table_is_beside_it():
    lethality, units = judged(ds.demo_batch())
    said = " ".join(safety_lines(lethality, units))
    assert lethality.grade == "met"
    assert "Do first: heat 50 s or more, to 71 °C inside each portion's thickest." in said
    assert "Federal cooking table, a separate test: NOT met." in said


def test_a_table_that_is_met_is_told_where_the_log_reduction_is_not_shown():
    demo = ds.demo_batch()
    hot = replace(demo.stages[0], until=ds.Until(core_temperature_K=351.15))
    cool = replace(demo.stages[-1].air, temperature_K=313.15)
    mild = replace(demo.stages[-1], air=cool, until=None, duration_s=4 * 3600.0)
    history = ds.run(replace(demo, stages=(hot, mild)))
    lethality, units = judge_batch_lethality(history, limits=False), Units(history, "metric")
    assert lethality.grade == "not shown"
    assert "Federal cooking table, a separate test: met as computed." in safety_lines(lethality, units)


def test_other_ways_are_named_where_none_is_planned(moist):
    lethality, units = moist
    assert "Other ways to show it: federal table met; 71 °C first NOT met." in safety_lines(lethality, units)
