"""Plans of small problems whose answers are known: by bisection, or because there is none."""

import math
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from made_search import few_schedules

from dryingsim.answer import Answer
from dryingsim.batch.reading.batch_file import load_batch, parse_document
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.units import to_si
from dryingsim.errors import InputError
from dryingsim.judge.taking_off import ready_levels
from dryingsim.plan import planner, schedules, search
from dryingsim.plan.heating import heated_document, heating_that_meets
from dryingsim.plan.needs import Needs
from dryingsim.plan.planner import plan
from dryingsim.plan.requirements import read_requirements
from dryingsim.plan.search import Search
from dryingsim.plan.settings import template_of
from dryingsim.plan.trial import NAMES, Many, Trial, screened, tried, unevenness
from dryingsim.show.core.quantities import Unit, about
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.plan.files import plan_document, planned_toml, summary, write_plan
from dryingsim.show.plan.pictures import plan_figure
from dryingsim.show.plan.setting_text import degrees_to_set, time_to_set, unmeasured
from dryingsim.show.plan.tables import trade_off_tables
from dryingsim.show.run.first_screen import run_document
from dryingsim.simulate import run

HUMID = """
title = "Humid first"
[meat]
cut = "beef eye of round"
thickness = "4 mm"
length = "120 mm"
width = "50 mm"
weight = "1 kg"
[marinade]
salt = "15 g/kg"
[room]
temperature = "21 degC"
humidity = "45 %"
[[stage]]
name = "humid"
air = "68 degC"
humidity = { relative = "97 %", measured = true }
speed = "1.5 m/s"
duration = "40 min"
[[stage]]
name = "drying"
air = "75 degC"
speed = "1.5 m/s"
duration = "6 h"
until = { water_activity = 0.85 }
[plan]
reserve = 0.6  # what is measured is not known to the last per cent
[plan.between]
stage.1.duration = ["0 min", "30 min"]
"""
DRY = (
    HUMID.replace('humidity = { relative = "97 %", measured = true }\n', "")
    .replace('stage.1.duration = ["0 min", "30 min"]', 'stage.2.air = ["60 degC", "70 degC"]')
    .replace("reserve = 0.6", "reserve = 0.2")
)


@pytest.fixture(scope="module", autouse=True)
def few():
    with pytest.MonkeyPatch.context() as patch:
        few_schedules(patch)
        yield


@pytest.fixture(scope="module")
def found(few):
    del few
    return plan(tomllib.loads(HUMID), "b.toml")


@pytest.fixture(scope="module")
def heated(few):
    """No air within the bounds is enough, so the slices are heated first; what more would cost is not asked for."""
    del few
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planner, "relaxed", lambda *args, **settings: ())
        patch.setattr(planner, "trade_offs", lambda *args: ())
        return plan(tomllib.loads(DRY), "b.toml")


@pytest.fixture(scope="module")
def nothing(few):
    """No air is enough; of poultry so much is required that no counting shows it, however it is heated."""
    del few
    text = (
        DRY.replace("beef eye of round", "chicken breast")
        .replace('speed = "1.5 m/s"\n', "")
        .replace("75 degC", "70 degC")
        .replace('weight = "1 kg"', 'weight = "0.4 kg"')
    )
    with pytest.MonkeyPatch.context() as patch:  # what misses by logs does so whatever the steps
        patch.setattr(planner, "VERIFY_NODES", 12)
        patch.setattr(planner, "VERIFY_TOLERANCE", 1e-3)
        return plan(
            tomllib.loads(text.replace("[room]", '[appliance]\nuse = "stacked dehydrator"\n[room]')),
            "b.toml",
        )


def at(minutes):
    text = HUMID.replace('duration = "40 min"', f'duration = "{minutes} min"')
    document = {key: value for key, value in tomllib.loads(text).items() if key != "plan"}
    return parse_document(document, "b.toml")


def shortest_by_bisection():
    """Whole minutes of humid air that are needed."""
    low, high = 1, 30
    while high - low > 1:
        middle = (low + high) // 2
        found = tried(at(middle))
        spare = min(found.log_reductions[key] - target for key, target in found.targets.items())
        low, high = (low, middle) if found.reached and spare >= 0.6 else (middle, high)
    assert low > 1
    assert high < 30
    return high


def test_one_thing_to_change_comes_out_as_by_bisection(found):
    (minutes,) = found.values
    # a minute more at most: the search keeps 0.05 log on top, and a minute of this air kills more than that
    assert 0 <= minutes - shortest_by_bisection() <= 1


def test_nothing_is_missed_by_the_verifying_run(found):
    assert found.reached
    assert not found.missed
    again = tried(load_of(found), planner.VERIFY_NODES, planner.VERIFY_TOLERANCE)
    for trial in (found.trial, again):
        assert trial.reached
        assert trial.beyond >= 0.0
        assert trial.water_activity <= 0.852


def load_of(found):
    return parse_document(tomllib.loads(planned_toml(found, Path())), "planned")


def test_asking_for_less_reduction_saves_time_and_so_it_binds(found):
    less = next(one for one in found.relaxed if one.what == "reduction")
    assert less.gain_s > 60.0
    assert -1.0 <= less.trial.beyond < 0.0
    assert "The log reduction required: asking for 1 log less saves" in flat(shown(found))


def test_taken_out_wetter_it_is_shorter_by_what_the_run_says(found):
    wetter = next(one for one in found.relaxed if one.what == "dry")
    text = planned_toml(found, Path()).replace("water_activity = 0.85", "water_activity = 0.87")
    direct = tried(parse_document(tomllib.loads(text + "\n[targets]\nwater_activity = 0.87\n"), "b"))
    # with the steps of the search, times are good to 1e-4 of themselves
    assert wetter.gain_s == pytest.approx(found.trial.end_s - direct.end_s, abs=2e-4 * found.trial.end_s)


def test_curves_rise(found):
    rows = [one for one in found.trade_offs if one.over == "reduction"]
    assert len(rows) >= 3
    times, lethal = [one.trial.end_s for one in rows], [one.trial.beyond for one in rows]
    assert times == sorted(times)
    assert lethal == sorted(lethal)
    assert any(one.values == found.values for one in rows)
    assert trade_off_tables(found)[0].columns[0].cells


def shown(plan, units=None):
    return plain_text(plan_document(plan, units), details=True)


def flat(text):
    return " ".join(text.split())


def test_text_says_what_to_set_and_never_that_it_is_safe(found):
    text = flat(shown(found))
    for words in (
        "Plan for the least time:",
        "1. humid: air 68 °C at a relative humidity of 97 %, for",
        "2. drying: air 75 °C, until water activity 0.85 (wettest)",
        "end it by that weight, not by the clock",
        "By this estimate the required log reduction is met",
        "A second run, of finer layers and steps, misses nothing either",
        "With all that is uncertain ([spread])",
        flat(CAUTION),
    ):
        assert words in text
    assert " safe" not in text.replace("food-safety", "").replace(" safety", "")


def test_the_weight_to_stop_at_is_told_beside_the_chance_that_it_is_wet(found):
    """As planned it ends at what is dry as computed, which is not surely dry: the weight to go on to is that of a run."""
    first_screen = flat(plain_text(plan_document(found)))
    answer = Answer(found.history)
    stop = f"{1e3 * answer.doneness.stop.weight_kg:.0f} g of {1e3 * answer.loaded_kg:.0f} g loaded"
    assert "chance that a slice is not dry: " in first_screen
    assert re.search(
        r"[Ii]n (\d+|less than 1) of 100 kitchens some slice stays below(?: \d log)? \(lower bound\)",
        first_screen,
    )
    assert answer.doneness.stop.likely_s > found.trial.end_s
    surely = f"surely dry (95 %) after about {about(answer.doneness.stop.likely_s)}: go on to {stop}"
    assert f"ready as computed after {about(found.trial.end_s)}; {surely}" in first_screen


def test_where_an_offset_was_learned_the_dial_stands_beside_the_air(found):
    learned = Learned(logs=("log.csv",), corrections={"setpoint": Correction(value=-3.0, uncertainty=1.0)})
    text = flat(shown(replace(found, planned=replace(found.planned, learned=learned))))
    assert "2. drying: dial 78 °C, air then 75 °C, until water activity 0.85" in text
    assert "dial" not in flat(shown(found))


def test_us_units(found):
    assert "air 154.4 °F" in flat(shown(found, "us"))


def test_files(found, tmp_path):
    names = [path.name for path in write_plan(found, tmp_path)]
    assert names == ["planned.toml", "plan.json", "plan.png"]
    batch = load_batch(tmp_path / "planned.toml")
    assert batch.stages == found.planned.stages
    assert batch.meat == found.planned.meat
    assert "# planned; the file had 40 min" in (tmp_path / "planned.toml").read_text()
    assert summary(found)["reached"] is True
    assert len(plan_figure(found).axes) == 4


def test_what_holds_only_in_air_that_was_not_measured_is_no_plan_to_rely_on(found):
    first = found.planned.stages[0]
    typed = replace(first, air=replace(first.air, humidity=replace(first.air.humidity, measured=False)))
    planned = replace(found.planned, stages=(typed, *found.planned.stages[1:]))
    history = replace(found.history, batch=planned)
    plan = replace(found, planned=planned, answer=Answer(history), shown=False)
    text = flat(shown(plan))
    assert text.startswith("Humid first PLAN Ready as computed after 2 h")
    assert "SAFETY MET ONLY IF MEASURED: " in text
    assert "This is no plan to rely on yet" in text
    assert "By this estimate the required log reduction is met:" not in text
    assert "Warning: the air's humidity decides and was not measured." in text
    assert "# MET ONLY IF MEASURED: " in planned_toml(plan, Path())
    told = summary(plan)
    assert (told["reached"], told["reached_as_computed"], told["grade"]) == (
        False,
        True,
        "met only if measured",
    )
    assert "wet bulb" in told["warnings"][0]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("60 degC", "60 °C"),
        ("60.5 degC", "60.5 °C"),
        ("60.54 degC", "60.6 °C"),
        ("140 degF", "60 °C"),  # 60.00 exactly
        ("160 degF", "71.2 °C"),  # 71.11
    ],
)
def test_what_is_to_be_set_is_never_less_than_in_the_file(typed, told):
    assert degrees_to_set(Unit("temperature", "degC"), to_si("", typed, "temperature")) == told


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(780.0, "13 min"), (90.0, "1 min 30 s"), (5.0, "5 s"), (4350.4, "1 h 12 min 31 s"), (480.0, "8 min")],
)
def test_a_time_to_set_is_that_of_the_file(seconds, told):
    assert time_to_set(seconds) == told


def test_a_plan_says_when_it_is_ready_as_a_run_of_its_file_does(found):
    ready = about(found.answer.doneness.batch.expected_s)
    assert f"ready as computed after {ready}" in flat(shown(found))
    assert f"4 mm {ready} (" in flat(plain_text(run_document(Answer(found.history))))
    later = replace(found, trial=replace(found.trial, end_s=found.trial.end_s + 1800.0))
    assert f"ready as computed after {ready}, the whole plan takes {about(later.trial.end_s)};" in flat(
        shown(later)
    )


def test_air_that_is_not_changed_stays_measured_and_other_air_is_told():
    document = tomllib.loads(HUMID)
    document["plan"]["between"] = {
        "stage.1.air": ["60 degC", "70 degC"],
        "stage.2.air": ["60 degC", "80 degC"],
    }
    batch = parse_document(document, "b.toml")
    variables = read_requirements(document, "b.toml", batch).variables
    template = template_of(document, "b.toml", Path(), batch, variables)
    for stage_air, kept in ((68.0, True), (67.0, False)):
        values = (stage_air, 80.0)
        assert template.batch(values).stages[0].air.humidity.measured is kept
        assert ("measured" in template.at(values)["stage"][0]["humidity"]) is kept
        told = unmeasured(SimpleNamespace(batch=batch, template=template, values=values))
        assert told == (
            [] if kept else ["Other air than was measured, so its humidity counts as not measured: humid."]
        )


def test_where_nothing_reaches_it_says_so_and_what_would(nothing):
    assert not nothing.reached
    assert nothing.missed["reduction"] > 1.0
    assert nothing.values == (70.0,)  # all else being met, the hottest air is nearest: it kills most
    text = flat(shown(nothing))
    assert "PLAN Nothing within the bounds reaches all that is required." in text
    assert "No schedule within the bounds was found that reaches all that is asked for." in text
    assert "What would change that, each simulated:" in text
    assert "None of these changes meets the required log reduction by itself." in text
    assert "By this estimate the required log reduction is met: " not in text
    assert "NOT ENOUGH" in planned_toml(nothing, Path())
    assert summary(nothing)["reached"] is False


def test_where_no_air_is_enough_heating_is_put_first_and_the_file_says_so(heated):
    assert heated.added == "heated first"
    assert heated.reached
    assert heated.shown
    assert heated.without.beyond < -1.0  # what the nearest without it misses
    assert [stage.kind for stage in heated.planned.stages] == ["marinade", "air", "air"]
    assert heated.template.variables[0].key == "stage.3.air"  # the same one, counted on
    assert (heated.template.variables[0].low, heated.template.variables[0].high) == (60.0, 70.0)
    text = flat(shown(heated))
    assert "Added: heated first. Without it no air within the bounds shows enough: " in text
    assert "1. heat in boiling marinade: stirred in marinade at 100 °C, until the middle of " in text
    assert "the thickest is at 71.2 °C, 26 s or more 2. humid" in text
    told = summary(heated)
    assert (told["added"], told["reached"], told["grade"]) == ("heated first", True, "met")
    assert "boiling" not in str(told["inputs"])  # which are the file's own
    assert told["loads"]["count"] == 1


def test_the_written_file_with_its_heating_is_judged_as_the_plan_is(heated, tmp_path):
    (tmp_path / "planned.toml").write_text(planned_toml(heated, tmp_path))
    batch = load_batch(tmp_path / "planned.toml")
    assert batch.stages == heated.planned.stages
    answer, planned = Answer(run(batch)), Answer(heated.history)
    assert answer.lethality == planned.lethality
    assert answer.lethality.grade == "met"
    assert answer.product.finished_kg == planned.product.finished_kg
    assert answer.doneness.stop == planned.doneness.stop
    # plan and run tell one weight
    stop = f"{1e3 * answer.doneness.stop.weight_kg:.0f} g"
    whole = f"{1e3 * answer.loaded_kg:.0f} g"
    assert f": go on to {stop} of {whole} loaded" in flat(plain_text(plan_document(heated)))
    assert f"of the weight before heating, a slice or all: {stop}" in flat(plain_text(run_document(answer)))


def test_the_gentlest_heating_that_meets_is_chosen_and_one_whose_air_is_to_be_measured_only_where_none_does():
    def tried_of(**grades):
        organism = SimpleNamespace(counted=5.3, target=5.0)
        return [
            SimpleNamespace(
                name=name.replace("_", " "), lethality=SimpleNamespace(grade=grade, organisms=[organism])
            )
            for name, grade in grades.items()
        ]

    both = tried_of(boiled_first="met", heated_first="met", humid_first="met only if measured")
    assert heating_that_meets(both, 0.3) == "heated first"
    assert heating_that_meets(both, 0.5) == "heated first"  # none keeps so much beyond
    both[0].lethality.organisms = [SimpleNamespace(counted=5.6, target=5.0)]
    assert heating_that_meets(both, 0.5) == "boiled first"
    assert (
        heating_that_meets(tried_of(heated_first="below target", humid_first="met only if measured"), 0.0)
        == "humid first"
    )
    assert heating_that_meets(tried_of(thinner="met"), 0.0) is None


def test_heating_that_is_too_little_is_replaced_and_what_may_change_of_it_goes():
    text = DRY.replace(
        "[[stage]]", '[[stage]]\nname = "dip"\nmarinade = "70 degC"\nduration = "5 s"\n[[stage]]', 1
    )
    text = text.replace(
        'stage.2.air = ["60 degC", "70 degC"]',
        'stage.1.duration = ["5 s", "20 s"]\nstage.3.air = ["60 degC", "70 degC"]',
    )
    document = tomllib.loads(text)
    batch = parse_document(document, "b.toml")
    longer = heated_document(document, batch, "boiled first")
    assert [stage.get("marinade") for stage in longer["stage"]] == ["boiling", None, None]
    assert longer["plan"]["between"] == {"stage.3.air": ["60 degC", "70 degC"]}
    assert document["stage"][0]["marinade"] == "70 degC"  # the file's own stays
    assert parse_document(longer, "b.toml").stages[1:] == batch.stages[1:]


def test_heating_that_cannot_be_put_first_leaves_the_plan_without():
    dip = '[[stage]]\nname = "dip"\nmarinade = "70 degC"\nduration = "5 s"\n[[stage]]'
    document = tomllib.loads(DRY.replace("[[stage]]", dip, 1).replace("stage.2.air", "stage.3.air"))
    made = planner._Planner.of(document, "b.toml", Path(), 1, None, None)
    assert planner._heated(made, None, document, "heated first") is None  # they are heated already


def test_better_settings_that_were_run_for_another_reason_are_known():
    merits = {(1.0,): (0.0, 2.0), (2.0,): (0.0, 1.9), (3.0,): (0.1, 1.0)}  # what is missed, the cost

    class Known(Search):
        variables = (None,)

        def __init__(self):
            pass

        def merit(self, values, *_):
            return merits[values]

        def _best_so_far(self, *_):
            return min(merits, key=merits.__getitem__)

    better = [values for values in merits if Known().knows_better(values, None, "time")]
    assert better == [(1.0,), (3.0,)]


def test_the_same_seed_gives_the_same_search():
    document = tomllib.loads(HUMID)
    batch = parse_document(document, "b.toml")
    variables = read_requirements(document, "b.toml", batch).variables
    needs = Needs(target_log10=3.0, beyond=0.0, water_activity=0.85)

    def searched():
        made = search.Search(
            template_of(document, "b.toml", Path(), batch, variables),
            "listeria",
            0.1,
            3,
            None,
            lambda n: None,
        )
        made.begin(needs, "time")
        return made.refined(needs, "time", tries=1), made.rows

    assert searched() == searched()


def test_the_quick_model_agrees_with_the_full_one():
    batches = tuple(at(minutes) for minutes in (10, 50))
    quick = screened(Many(batches, "listeria", 0.1))
    for i, batch in enumerate(batches):
        full = tried(batch)
        # 12 nodes and steps at 1e-3: within 1.5 % in time, as validation.benchmarks has it; kill on its scale
        assert quick["log_time"][i] == pytest.approx(math.log(full.end_s), abs=0.015)
        assert quick["water_activity"][i] == pytest.approx(full.water_activity, abs=0.005)
        assert quick["log_of_reduction"][i] == pytest.approx(
            math.log10(full.log_reductions["listeria"] + 0.5), abs=0.05
        )
    assert set(quick) == set(NAMES)


def test_without_uncertainty_slices_do_not_differ():
    quick = screened(Many((at(20),), "listeria", 0.0))
    assert quick["apart"] == pytest.approx([0.0], abs=1e-9)


def test_uncertainties_between_slices_add_up_as_squares():
    from dryingsim.batch.uncertainties import default_uncertainties
    from dryingsim.batch.uncertainty import Uncertainty

    none = {key: Uncertainty("normal", 0.0) for key in default_uncertainties()}
    assert unevenness(none) == 0.0
    assert unevenness(
        none
        | {"thickness_between": Uncertainty("lognormal", 0.3), "thickness_within": Uncertainty("normal", 0.4)}
    ) == (pytest.approx(0.5))


def test_what_cannot_be_simulated_at_all(monkeypatch):
    """No schedule runs, neither by the quick model nor in full: the reason is that of the file as it stands."""
    nothing = {name: np.array([np.nan]) for name in NAMES}
    failed = Trial(log_reductions={}, targets={}, problem="its stage 1 does not end")
    monkeypatch.setattr(
        schedules, "screened", lambda many: {k: np.repeat(v, len(many.batches)) for k, v in nothing.items()}
    )
    monkeypatch.setattr(schedules, "tried", lambda batch: failed)
    monkeypatch.setattr(planner, "tried", lambda batch: failed)
    with pytest.raises(InputError, match=r"can be simulated: its stage 1 does not end"):
        plan(tomllib.loads(HUMID), "b.toml")


def test_slices_taken_off_as_ready_are_not_brittle_when_drying_ends_and_no_drier_than_ready():
    batch = at(20)
    ready = ready_levels([batch])[0]
    seen = {}
    for way in ("as ready", "together"):
        slices = SimpleNamespace(
            batch=replace(batch, take_off=way),
            done_s=np.array([1e3, 2e3, 9e3]),
            brittle_s=np.array([3e3, 9e3, np.inf]),
            planned_s=5e3,
            times_s=np.array([0.0, 5e3]),
            bands=lambda name, shares: np.array([[0.98, 0.5], [0.98, 0.84]]),
        )
        seen[way] = planner.share_in_window(slices), planner.apart(slices)
    assert seen["as ready"] == pytest.approx((2.0 / 3.0, 0.84 - ready))
    assert seen["together"] == pytest.approx((1.0 / 3.0, 0.34))


def test_slices_that_overlap_are_laid_flat_to_see_what_that_gains():
    data = tomllib.loads(DRY + '[trays]\noverlapping = "30 %"\ntake_off = "together"\n')
    batch = parse_document(data, "x.toml")
    searched = SimpleNamespace(uneven=0.1, organism="salmonella")
    gains = dict(planner._Planner._evener(SimpleNamespace(), batch, searched))
    assert list(gains) == [
        "Slices that differ half as much within a class",
        "All slices flat, none overlapping or on foil",
    ]
    as_is = screened(Many((batch,), "salmonella", 0.1))["in_window"][0]
    # drying ends when the middle one of the wettest slices is done: half of those, and the flat ones are brittle by then
    assert as_is < 0.3
    assert gains["All slices flat, none overlapping or on foil"] == pytest.approx(0.5, abs=0.05)
