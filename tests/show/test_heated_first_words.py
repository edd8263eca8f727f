"""What a first screen says of a batch whose slices are heated before they dry, and what a map says it does not judge."""

from dataclasses import replace
from math import ceil

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim import demo_batch, run
from dryingsim.batch.catalog.ingredients import find_ingredient
from dryingsim.batch.laying import laid
from dryingsim.batch.schema import Stage, Until
from dryingsim.batch.soaking import Portion, Soak
from dryingsim.errors import InputError
from dryingsim.explore.maps import map_over
from dryingsim.judge.federal_table import column_of, required_time
from dryingsim.judge.remedies import BOIL_S, remedied
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality.brief import brief, heating_as_planned, kept_verdict, safety_lines
from dryingsim.show.lethality.federal_text import table_line
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.map.text import map_document, map_sentences

pytestmark = pytest.mark.usefixtures("coarse_steps")


def judged(core_K=344.27, overlapping=0.0):
    batch = demo_batch()
    classes = laid(batch.meat.classes[:1], {"overlapping": overlapping} if overlapping else {})
    classes = tuple(replace(each, share=each.share / sum(one.share for one in classes)) for each in classes)
    heated = replace(batch.stages[0], until=Until(core_temperature_K=core_K))
    meat = replace(batch.meat, classes=classes)
    batch = replace(batch, meat=meat, stages=(heated, *batch.stages[1:]))
    return judge_as_computed(run(batch, nodes=8))


def said(lethality):
    return " ".join(safety_lines(lethality, Units(demo_batch(), "metric")))


def test_slices_in_liquid_come_with_a_caution_on_the_liquid():
    (warning,) = [each for each in judged().warnings if each.key == "liquid_taken_to_stay"]
    text = sentence(warning)
    for words in (
        "few slices at a time",
        "at least 10 times their weight",
        "an estimate",
        "stir",
        "measure the liquid",
    ):
        assert words in text
    assert "Keep marinade hot" in said(judged())
    assert "liquid_taken_to_stay" not in [
        each.key for each in judge_as_computed(run(warm_air(), nodes=8)).warnings
    ]


def poured(water_kg, kind="marinade"):
    """Return 700 g of meat, heated in a marinade that was poured together for it."""
    batch = demo_batch()
    soak = Soak(
        portions=(Portion(find_ingredient("name", "water"), water_kg),), time_s=3600.0, temperature_K=277.0
    )
    stages = (replace(batch.stages[0], kind=kind), *batch.stages[1:])
    return replace(batch, marinade=replace(batch.marinade, soak=soak), stages=stages)


def with_thin_slices(batch):
    """Return a batch of slices of 6 g."""
    return replace(batch, meat=replace(batch.meat, length_m=0.03, width_m=0.03))


@pytest.mark.parametrize(
    ("units", "left", "portion", "water"),
    [("metric", "200 g", "20 g", "7.00 kg"), ("us", "7.1 oz", "0.7 oz", "15 lb 6.9 oz")],
)
def test_a_marinade_too_little_to_heat_in_comes_with_how_much_meat_it_takes(units, left, portion, water):
    """What the meat took up is in it no more; salt, sugar and water gained by 700 g of meat are 21 g here."""
    batch = poured(0.221)
    marinade = replace(batch.marinade, salt_kg_kg=0.015, sugar_kg_kg=0.005, water_kg_kg=0.01)
    history = run(with_thin_slices(replace(batch, marinade=marinade)), nodes=8)
    warnings = {each.key: each for each in judge_as_computed(history).warnings}
    assert "liquid_taken_to_stay" not in warnings
    warning = warnings["marinade_too_little"]
    assert warning.values["at_a_time_kg"] == pytest.approx(0.02)
    degrees = Units(history, units).temperature.text
    short, full = brief(warning, degrees), sentence(warning, degrees)
    assert short.startswith(
        f"heat {portion} at a time in the {left} of marinade left, or in water ({water} for all; say so)"
    )
    assert full.startswith(f"{left} of your marinade is left once the meat has taken up its share")
    assert f"heat at most {portion} of meat at a time" in full


def test_a_marinade_too_little_for_one_slice_is_refused():
    """Slices of 120 x 50 mm weigh 30 g and more; what to heat in instead is told."""
    with pytest.raises(InputError, match=r"231 g of it is left .* say water = .* \(7 kg for all at once"):
        run(poured(0.25), nodes=8)
    assert run(poured(0.25, "water"), nodes=8).batch.washed
    assert run(poured(0.45), nodes=8)


def test_what_water_does_to_the_salt_is_told_with_the_heating_where_there_is_any():
    """As counted on where the file says water, else what to do if it is used."""
    salted = with_thin_slices(poured(0.221))
    plain = replace(salted, marinade=replace(salted.marinade, salt_kg_kg=0.0, sugar_kg_kg=0.0))
    (in_water,) = judge_as_computed(run(with_thin_slices(poured(0.221, "water")), nodes=8)).warnings
    assert in_water.key == "liquid_taken_to_stay"  # no matter how little marinade there is
    assert "count on none that is left" in sentence(in_water)
    assert "Taken to leave no salt in" in brief(in_water, str)
    for batch, seasoned in ((salted, True), (plain, False)):
        warnings = {one.key: one for one in judge_as_computed(run(batch, nodes=8)).warnings}
        too_little = warnings["marinade_too_little"]
        stays = replace(too_little, key="liquid_taken_to_stay")
        for finding in (too_little, stays):
            assert ("plain water takes salt and sugar out of the slices" in sentence(finding)) == seasoned
        assert ("In water? Say so: dry further" in brief(stays, str)) == seasoned


def test_plenty_without_salt_in_it_is_enough_to_heat_in():
    batch = poured(8.0)
    bare = replace(batch, marinade=replace(batch.marinade, salt_kg_kg=0.0, sugar_kg_kg=0.0))
    warnings = [each.key for each in judge_as_computed(run(bare, nodes=8)).warnings]
    assert "marinade_too_little" not in warnings
    assert "liquid_taken_to_stay" in warnings


@pytest.mark.parametrize(("water_kg", "kind", "cautioned"), [(7.1, "marinade", True), (0.2, "steam", False)])
def test_only_too_little_liquid_is_complained_of(water_kg, kind, cautioned):
    warnings = [each.key for each in judge_as_computed(run(poured(water_kg, kind), nodes=8)).warnings]
    assert "marinade_too_little" not in warnings
    assert ("liquid_taken_to_stay" in warnings) == cautioned


@pytest.mark.parametrize(
    ("until", "planned"),
    [
        (
            None,
            "Do first, as planned: heat the slices for 5 min at 100 °C; check for 71 °C or more inside the thickest slice of "
            "every portion.",
        ),
        (
            Until(core_temperature_K=344.27),
            "Do first: heat 50 s or more, to 71 °C inside each portion's thickest.",
        ),
        (
            Until(core_temperature_K=360.0),  # more than home advice asks for is counted on, so it is told
            "Do first: heat 1 min 18 s or more, to 87 °C inside each portion's thickest.",
        ),
    ],
)
def test_what_is_done_first_is_told_as_the_batch_has_it(until, planned):
    batch = demo_batch()
    heated = replace(batch.stages[0], until=until, duration_s=300.0 if until is None else None)
    batch = replace(batch, stages=(heated, *batch.stages[1:]))
    text = said(judge_as_computed(run(batch, nodes=8)))
    assert planned in text


def test_slices_that_steam_heats_are_checked_in_the_thickest_of_all():
    steamed = judge_as_computed(run(poured(0.2, "steam"), nodes=8))
    assert "Do first: heat 1 min 10 s or more, to 71 °C inside the thickest slice." in said(steamed)


def test_enough_marinade_takes_all_slices_at_once():
    assert "to 71 °C inside the thickest slice." in said(judge_as_computed(run(poured(7.1), nodes=8)))


def test_what_a_batch_does_already_is_not_advised_again():
    text = said(judged(overlapping=0.2))
    assert "part the slices while they heat, until all are at 71 °C" in text
    assert "boiling" not in text
    text = said(judged(core_K=323.15))
    assert "heat the slices for longer, until all are at 71 °C" in text
    assert "boiling" not in text
    assert "as in boiling water" in said(judge_as_computed(run(warm_air(), nodes=8)))


def sliced(
    thickness_m,
    seconds=None,
    rest_s=0.0,
    kind="marinade",
    species="beef",
    core_K=None,
    form="sliced",
    liquid_K=None,
):
    """Return slices heated in boiling liquid or steam, to the core of the starting file or another, or for a time."""
    batch = demo_batch()
    stages = (replace(batch.stages[0], kind=kind), *batch.stages[1:])
    if liquid_K is not None:
        stages = (replace(stages[0], air=replace(stages[0].air, temperature_K=liquid_K)), *stages[1:])
    if core_K is not None:
        stages = (replace(stages[0], until=Until(core_temperature_K=core_K)), *stages[1:])
    if seconds is not None:
        stages = (replace(stages[0], until=None, duration_s=seconds), *stages[1:])
    if rest_s:
        air = replace(stages[0].air, temperature_K=298.15)
        stages = (stages[0], Stage(name="rest", kind="rest", air=air, duration_s=rest_s), *stages[1:])
    classes = (replace(batch.meat.classes[0], thickness_m=thickness_m, share=1.0),)
    name = batch.meat.name if species == "beef" else species
    meat = replace(batch.meat, classes=classes, species=species, name=name, form=form)
    batch = replace(batch, meat=meat, stages=stages)
    return batch, judge_batch_lethality(run(batch, nodes=8))


def told(batch, lethality):
    return " ".join(safety_lines(lethality, Units(batch, "metric"), batch))


def test_slices_heated_for_too_short_a_time_are_told_to_be_heated_for_longer():
    batch, lethality = sliced(0.003)
    assert lethality.grade == "not shown"
    assert lethality.advice.before_drying
    text = told(batch, lethality)
    assert "Do first: heat for longer, for 5 min (--apply 'boiled first' -o longer.toml)." in text
    assert "Why: too short a heat first: above 50 °C for " in text
    assert "--remedies" not in said(lethality)  # on paper


@pytest.mark.parametrize("kind", ["marinade", "steam"])
@pytest.mark.parametrize("thickness_m", [0.8e-3, 1.5e-3, 3e-3, 9e-3])
def test_what_is_advised_is_enough_however_thin_the_slices_are(thickness_m, kind):
    batch, lethality = sliced(thickness_m, BOIL_S, kind=kind)
    assert lethality.grade == "met"
    assert "Do first, as planned: heat the slices for 5 min at 100 °C" in told(batch, lethality)


def test_ground_poultry_is_not_sent_into_liquid_and_back():
    batch, lethality = sliced(0.005, BOIL_S, kind="steam", species="poultry", form="minced")
    text = told(batch, lethality)
    assert (
        "in air measured to be as humid as it asks: steam does not count, and ground meat falls apart" in text
    )
    assert "boiling" not in text.partition("Why")[0].replace("boiling liquid", "")
    with pytest.raises(InputError, match="heated for as long already"):
        remedied(batch, "boiled first")


def test_no_advice_asks_for_less_than_is_planned():
    batch, lethality = sliced(0.019, species="poultry", kind="steam", core_K=363.15)
    assert lethality.advice.least_s > BOIL_S
    assert "for longer, for 5 min" not in told(batch, lethality)
    with pytest.raises(InputError, match="heated for as long already"):
        remedied(sliced(0.019, core_K=363.15)[0], "boiled first")  # it would be heated for less


def test_what_is_no_hotter_than_it_is_to_heat_to_is_told_so():
    batch, lethality = sliced(0.005, BOIL_S, liquid_K=333.15)
    assert "heat the slices in what is hotter, at the boil, until all are at 71 °C." in told(batch, lethality)


def test_more_heat_before_drying_hardly_ever_shows_less():
    """From half a minute of boiling on; what is lost meanwhile, as slices dry sooner after more of it, is told in the theory."""
    for thickness_m, least in ((2e-3, 5.5), (5e-3, 5.4)):
        found = np.array([sliced(thickness_m, s)[1].worst.lower for s in (30.0, 60.0, 120.0, 300.0, 1800.0)])
        assert np.all(np.diff(found) > -0.2)
        assert np.all(found > least)
        assert found[-1] == found.max()


def test_what_a_file_heats_to_less_than_advice_asks_comes_without_its_time():
    batch, lethality = sliced(0.005, core_K=328.15)
    assert not lethality.advice.before_drying
    assert lethality.advice.least_s is None
    text = heating_as_planned(lethality.advice, Units(batch, "metric").temperature.text)
    assert text == "Do first: heat to 71 °C inside each portion's thickest; the plan stops cooler."
    met = replace(lethality, organisms=tuple(replace(one, grade="met") for one in lethality.organisms))
    assert kept_verdict(met, Units(batch, "metric"))[0].startswith("MET if heated to 71 °C first: ")


def test_poultry_steamed_for_as_long_goes_into_liquid_for_the_table():
    batch, steamed = sliced(0.005, BOIL_S, kind="steam", species="poultry")
    text = told(batch, steamed)
    assert (
        "Do first: heat them in boiling marinade or water, not steam, to 74 °C inside and for 5 min or more."
        in text
    )
    assert "a few bacteria may survive any heating that has been counted" in text
    boiled = remedied(batch, "boiled first")
    assert [stage.kind for stage in boiled.stages] == ["marinade", "air"]
    judged = judge_batch_lethality(run(boiled, nodes=8))
    assert judged.table.fulfilled
    assert "go by the federal table. Do first, as planned: heat the slices for 5 min" in told(boiled, judged)


@pytest.mark.parametrize("rest_h", [0.5, 8.0])
def test_a_rest_in_which_bacteria_may_grow_is_what_to_leave_out(rest_h):
    batch, lethality = sliced(0.005, 300.0, 3600.0 * rest_h)
    text = told(batch, lethality)
    assert ("Do first: dry right after heating, or rest the slices in the cold." in text) == (rest_h > 1.0)
    assert ("Bacteria may grow" in text) == (rest_h > 1.0)
    assert "Why:" not in text


@pytest.mark.parametrize("tell", [lambda m: str(map_document(m)), lambda m: " ".join(map_sentences(m))])
def test_a_map_says_what_it_does_not_judge(tell):
    text = tell(map_over(warm_air(), {"thickness_m": np.array([3e-3, 4e-3])}, nodes=8))
    assert "A map does not judge what was measured, nor growth: run " in " ".join(text.split())
    assert "not as shown" not in text


def test_a_table_missed_in_liquid_says_how_long_there_would_meet_it():
    lethality = judged()
    assert not lethality.table.fulfilled
    text = table_line(lethality.table, Units(demo_batch(), "metric").temperature)
    asked_s = float(required_time(339.15, column_of("beef", shelf_stable=lethality.table.target == 5.0)))
    assert f"met by {ceil(asked_s / 60.0)} min in the liquid with the coldest place" in text
    assert "at 66 °C or more" in text
    assert "dry" not in text


def test_where_air_makes_up_the_rest_longer_heating_is_named_beside_measuring():
    """A wet bulb of the first minute out of hot liquid is nothing to measure."""
    met = judge_as_computed(run(demo_batch(), nodes=8))
    held = replace(met, organisms=tuple(entry.only_if_measured() for entry in met.organisms))
    longer = "Or heat for longer, for 5 min; ways: --remedies."
    assert held.grade == "met only if measured"
    assert longer in said(held)
    assert longer not in said(met)
    dried_only = replace(held.advice, before_drying=False, heated_first=False)
    assert longer not in said(replace(held, advice=dried_only))


@pytest.mark.parametrize(
    ("duration_s", "until", "how"),
    [
        (66.0, None, "for 1 min 6 s at 100 °C"),
        (None, Until(core_temperature_K=360.0), "to 87 °C"),
        (600.0, Until(core_temperature_K=344.27), "to 71 °C"),
        (66.0, Until(core_temperature_K=370.0), "for 1 min 6 s at 100 °C"),  # which the clock ends
    ],
)
def test_what_is_kept_is_met_by_the_heating_it_had_by_the_clock_or_inside(duration_s, until, how):
    batch = demo_batch()
    heated = replace(batch.stages[0], until=until, duration_s=duration_s)
    judged = judge_as_computed(run(replace(batch, stages=(heated, *batch.stages[1:])), nodes=8))
    assert judged.grade == "met"
    (first, *_) = kept_verdict(judged, Units(batch, "metric"))
    assert first.startswith(f"MET if heated {how} first, as planned: Salmonella")


def test_a_batch_that_is_met_by_less_than_home_advice_asks_says_how_it_is_heated():
    """Thick slices: hot for long enough where bacteria sit, their middle not yet."""
    batch = demo_batch()
    thick = replace(batch.meat.classes[0], share=1.0, thickness_m=8e-3)
    heated = replace(batch.stages[0], until=None, duration_s=60.0)
    meat = replace(batch.meat, classes=(thick,))
    judged = judge_as_computed(run(replace(batch, meat=meat, stages=(heated, *batch.stages[1:])), nodes=12))
    assert (judged.grade, judged.advice.before_drying) == ("met", False)
    wanted = (
        "Do first, as planned: heat the slices for 1 min at 100 °C; home advice asks for more, 71 °C inside."
    )
    assert wanted in said(judged)


def test_a_map_says_that_each_point_heats_by_its_own_thickness_where_a_temperature_inside_ends_that():
    demo = demo_batch()
    timed = replace(demo.stages[0], until=None, duration_s=60.0)
    told = []
    for batch in (demo, replace(demo, stages=(timed, *demo.stages[1:]))):
        mapped = map_over(batch, {"thickness_m": np.array([3e-3, 4e-3])}, nodes=8)
        told.append(
            "Each point heats its slices first until its own thickest" in " ".join(map_sentences(mapped))
        )
    assert told == [True, False]
