"""What people say of the finished meat, and the weight or the salt for the next time."""

import re
from dataclasses import replace

import pytest
from made_batch import warm_air

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.reading.weigh_in_log import parse_weigh_ins
from dryingsim.batch.schema import Marinade
from dryingsim.errors import InputError
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.stop_weight import ready_moisture
from dryingsim.learn.outcomes import answers_to as answers_up_to
from dryingsim.learn.outcomes import sure_weight, weight_to_stop_at
from dryingsim.model.build import recipe_of
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, water_activity
from dryingsim.simulate import run

DEMO = warm_air()
FIRST = 0.719  # 0.7 kg with 27 g/kg of salt and sugar
SURE = 0.7 * recipe_of(DEMO)[1] * (1.0 + ready_moisture(DEMO))
COMPLAINTS = ("too brittle", "too moist", "mouldy", "mouldy after 3 days")


def answers_to(batch, log, **units):
    return answers_up_to(batch, log, SURE, **units)


def log(*outcomes, last=243):
    said = "".join(f"# outcome: {outcome}\n" for outcome in outcomes)
    return parse_weigh_ins(f"{said}time, weight [g]\n0:00, 719\n5:00, {last}\n", "a.csv")


def activity(kg):
    recipe, solids, _ = recipe_of(DEMO)
    dry_kg = FIRST / 1.027 * solids
    return float(water_activity(kg / dry_kg - 1.0, REFERENCE_TEMPERATURE, recipe))


def test_outcomes_are_read_in_words():
    assert log().outcomes == ()
    assert log("Too brittle,  too salty", "moldy after 9 days").outcomes == (
        "too brittle",
        "too salty",
        "mouldy after 9 days",
    )


def test_a_word_that_is_not_known_is_named():
    with pytest.raises(InputError, match="# outcome = 'too britle': did you mean 'too brittle'"):
        log("too britle")


def test_too_brittle_is_a_heavier_weight_and_it_says_both():
    (answer,) = answers_to(DEMO, log("too brittle"))
    assert "a.csv, too brittle: stop at 251 g (8.9 oz); it was 243 g (8.6 oz) from 719 g" in answer
    assert "may reduce bacteria less" in answer


@pytest.mark.parametrize("last", [0.2, 0.22, 0.243, 0.26])
def test_brittle_meat_ends_moister_but_no_moister_than_required(last):
    stop = weight_to_stop_at("too brittle", DEMO, FIRST, last)
    assert stop > last
    assert growth_limits.texture().brittle < activity(stop) <= DEMO.targets.water_activity + 1e-6


@pytest.mark.parametrize("last", [0.25, 0.28, 0.30, 0.35])
def test_moist_meat_ends_drier_and_below_what_is_required(last):
    stop = weight_to_stop_at("too moist", DEMO, FIRST, last)
    assert stop < last
    assert activity(stop) <= DEMO.targets.water_activity - 0.05 + 1e-6
    mouldy = weight_to_stop_at("mouldy after 9 days", DEMO, FIRST, last)
    assert mouldy <= stop
    assert activity(mouldy) <= 0.70 + 1e-6


def test_moist_meat_that_is_complained_of_as_brittle_is_uneven():
    (answer,) = answers_to(DEMO, log("too brittle", last=400))
    assert "at 400 g (14.1 oz) meat bends by its water activity (0.92 as computed)" in answer
    assert "drier than weighed" in answer
    assert "cut the slices more even" in answer
    assert f"{1e3 * SURE:.0f} g ({SURE / 0.0283495:.1f} oz) is the most that is surely dry" in answer


@pytest.mark.parametrize("complaint", COMPLAINTS)
@pytest.mark.parametrize("first", [600, 719, 900])
def test_no_weight_is_advised_above_the_one_that_is_surely_dry(complaint, first):
    """Nor where more meat than the file says was weighed, nor above its share where it was less."""
    for last in range(200, 480, 20):
        weighed = parse_weigh_ins(
            f"# outcome: {complaint}\ntime, weight [g]\n0:00, {first}\n5:00, {last}\n", "a.csv"
        )
        (answer,) = answers_to(DEMO, weighed)
        advised = re.findall(r"(?:stop at|:|\.) (\d+) g \([\d.]+ oz\)(?:;| is the most)", answer)
        assert advised or "is the most" in answer
        assert all(float(grams) <= 1e3 * SURE * min(1.0, first / 719.0) + 0.5 for grams in advised)


def test_where_the_meat_is_uncertain_brittle_meat_may_still_not_be_surely_dry():
    """With salt that is a guess nothing is contradicted; meat that is not surely dry is not to be dried less."""
    guessed = replace(DEMO, marinade=replace(DEMO.marinade, known=False))
    (answer,) = answers_to(guessed, log("too brittle", last=300))
    assert "dry it no less: 291 g (10.3 oz) is the most that is surely dry" in answer
    (capped,) = answers_to(guessed, log("too brittle", last=280))
    assert "stop at 291 g (10.3 oz); it was 280 g" in capped
    assert "is the most that is surely dry; keep softer meat in the refrigerator" in capped


def test_slices_that_all_stay_in_are_surely_dry_at_less():
    history = run(DEMO)
    assert sure_weight(history, together=False) == pytest.approx(SURE)
    assert sure_weight(history, together=True) < SURE
    stop = judge_batch(history).doneness.stop  # as `run` tells
    assert stop.weight_kg == pytest.approx(sure_weight(history, together=False))
    assert stop.left_in_kg == pytest.approx(sure_weight(history, together=True))
    early = history.up_to(0.3 * float(history.time_s[-1]))
    assert sure_weight(early, together=True) <= SURE


def test_us_units_come_first_where_they_are_wanted():
    (answer,) = answers_to(DEMO, log("too brittle"), units="us")
    assert "stop at 8.9 oz (251 g); it was 8.6 oz (243 g)" in answer
    (salt,) = answers_to(DEMO, log("too salty"), units="us")
    assert "0.18 oz of salt per lb instead of 0.24" in salt


def test_too_salty_is_less_salt():
    (answer,) = answers_to(DEMO, log("too salty"))
    assert "11.2 g of salt per kg instead of 15.0" in answer
    (unsalted,) = answers_to(replace(DEMO, marinade=Marinade()), log("too salty"))
    assert "took up no salt" in unsalted


def test_without_two_weighings_of_the_whole_the_answer_is_to_weigh():
    once = parse_weigh_ins("# outcome: too moist\ntime, weight [g]\n0:00, 719\n", "a.csv")
    assert "weigh the whole batch" in answers_to(DEMO, once)[0]


@pytest.mark.parametrize(
    "outcome", ["too brittle", "too moist", "too salty", "mouldy", "mouldy after 3 days"]
)
def test_every_complaint_has_an_answer(outcome):
    (answer,) = answers_to(DEMO, log(outcome))
    assert answer.startswith(f"a.csv, {outcome}: ")


def test_good_meat_asks_for_nothing():
    assert answers_to(DEMO, log("good")) == ()


@pytest.mark.parametrize(
    ("said", "kg", "time_s"),
    [
        ("taken out at 243 g after 5 h 20 min", 0.243, 19200.0),
        ("Taken out at 8.5 oz", 0.2409709, None),
    ],
)
def test_figures_are_read_and_are_no_complaint(said, kg, time_s):
    figures = log(said)
    assert figures.taken_out[0] == pytest.approx(kg)
    assert figures.taken_out[1] == time_s
    assert figures.outcomes == ()


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ("taken out at five", "a weight with its unit"),
        ("taken out late", "taken out at 243 g after 5 h 20 min"),
    ],
)
def test_figures_that_say_nothing_are_one_line(said, says):
    with pytest.raises(InputError, match=says):
        log(said)


def test_figures_stand_for_the_last_weighing():
    """With a first weighing alone, or one of a tray; what was laid on is then as the batch file says, 0.7 kg and 27 g/kg."""
    said = "# outcome: too brittle, taken out at 243 g after 5 h\n"
    weighed = parse_weigh_ins(f"{said}time, weight [g]\n0:00, 719\n", "a.csv")
    tray = parse_weigh_ins(f"{said}time, weight [g], tray\n0:00, 240, 1\n", "a.csv")
    (first,), (second,) = answers_to(DEMO, weighed), answers_to(DEMO, tray)
    assert "stop at 251 g (8.9 oz); it was 243 g (8.6 oz) from 719 g" in first
    assert "stop at 25" in second
    assert "it was 243 g (8.6 oz) from 719 g" in second


def test_the_answer_says_when_the_log_had_that_weight():
    three = parse_weigh_ins(
        "# outcome: too brittle\ntime, weight [g]\n0:00, 719\n4:00, 261\n5:00, 241\n", "a.csv"
    )
    (answer,) = answers_to(DEMO, three)
    stop = weight_to_stop_at("too brittle", DEMO, FIRST, 0.241)
    hours = 4.0 + (0.261 - stop) / 0.020
    assert f"it had that after about {int(hours)} h {5 * round(12 * (hours % 1)):02d};" in answer
    moist = parse_weigh_ins(
        "# outcome: too moist\ntime, weight [g]\n0:00, 719\n3:00, 320\n4:00, 300\n", "a.csv"
    )
    (answer,) = answers_to(DEMO, moist)
    assert "longer at its last rate, and rather more" in answer
