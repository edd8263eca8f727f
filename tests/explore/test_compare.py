"""Batches side by side: each as it is alone, named apart, and told when it is not the same meat."""

import math
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.errors import InputError
from dryingsim.explore import compare as module
from dryingsim.explore.compare import compare
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.energy import judge_energy, read_price
from dryingsim.judge.grades import GRADES
from dryingsim.judge.taking_off import ready_levels
from dryingsim.judge.trays import judge_trays
from dryingsim.judge.verdict import judge_batch_lethality

pytestmark = pytest.mark.usefixtures("coarse_steps")

PRICE = read_price("price", "0.30 EUR/kWh")


def short(name, hours=1.2, **changes):
    """The demonstration batch in given air, for a while."""
    batch = warm_air()
    stage = replace(batch.stages[0], duration_s=3600.0 * hours, until=None)
    return replace(batch, name=name, stages=(stage,), **changes)


@pytest.fixture(scope="module")
def whole():
    """A run in a stack until all is done, and the demonstration."""
    return compare([in_stack(7.0), warm_air()], price=PRICE)


def test_each_answers_as_it_does_alone(whole):
    history = ds.run(in_stack(7.0))
    answers = judge_batch(history)
    energy, trays = judge_energy(history, answers, PRICE), judge_trays(history)
    done, heating = answers.doneness, answers.heating
    expected = {
        "done_s": done.batch.expected_s,
        "loads": 1,
        "all_loads_s": done.stop.likely_s,
        "done_earliest_s": done.batch.earliest_s,
        "done_latest_s": done.batch.latest_s,
        "first_hour_meat_K": heating.first_hour_K,
        "hottest_meat_K": heating.peak_K,
        "hottest_air_K": heating.air_at_peak_K,
        "trays_apart_s": trays.apart_s,
        "weight_kg": done.weight_kg,
        "weight_share": done.weight_share,
        "moisture_protein_ratio": done.moisture_protein_ratio,
        "energy_J": energy.until_done.total_J,
        "energy_per_water_J_kg": energy.until_done.per_water_J_kg,
        "cost": energy.until_done.cost,
        "run_energy_J": energy.run.total_J,
        "peak_heater_W": energy.peak_heater_W,
        "classes_apart_s": done.classes[2].expected_s - done.classes[0].expected_s,
    }
    kill = judge_batch_lethality(
        history.up_to(done.batch.expected_s)
    )  # taken out when done, not at the end of the run
    order = list(GRADES)
    expected |= {"first_hour_air_K": heating.air_first_hour_K, "grade": order.index(kill.grade)}
    for one in kill.organisms:
        expected |= {f"{one.organism}_lower": one.lower, f"{one.organism}_best": one.best}
        expected[f"{one.organism}_counted"] = one.counted
        expected[f"{one.organism}_grade"] = order.index(one.grade)
    for name, value in expected.items():
        assert whole.measures[name][0] == pytest.approx(value, rel=1e-9), name
    assert set(whole.measures) - set(expected) == {"driest_water_activity"}


def test_every_measure_is_explained(whole):
    words = module.measure.__doc__.replace(",", " ").split()
    assert set(whole.measures) <= set(words)


def test_driest_slices_are_drier_than_the_target_and_are_those_of_the_history(whole):
    history = whole.runs[0].history
    when = whole.measures["done_s"][0]
    near = int(np.abs(history.time_s - when).argmin())
    left_in = history.equalised_water_activity[near].min()
    ready = ready_levels([history.batch])[0]
    assert left_in < ready < 0.85  # thin slices were taken off before
    assert whole.measures["driest_water_activity"][0] == pytest.approx(ready)


def test_what_a_run_does_not_have_is_nan(whole):
    for name in (
        "trays_apart_s",
        "energy_J",
        "energy_per_water_J_kg",
        "cost",
        "run_energy_J",
        "peak_heater_W",
    ):
        assert math.isnan(whole.measures[name][1]), name
    early = compare([short("a", 0.2), short("b", 0.2)]).measures
    for name in ("done_s", "first_hour_meat_K", "first_hour_air_K", "classes_apart_s", "weight_kg"):
        assert np.isnan(early[name]).all(), name


def test_titles_that_stand_twice_are_numbered():
    batches = [short(name, 0.1) for name in ("Friday", "Friday", "Friday (2)", "Saturday", "Friday")]
    found = compare(batches)
    assert found.labels == ("Friday", "Friday (2)", "Friday (2) (2)", "Saturday", "Friday (3)")


def test_the_same_meat_needs_no_remark_and_other_meat_one_line():
    one = short("a", 0.1)
    assert compare([one, replace(one, name="b")]).remarks == ()
    other = replace(
        one,
        meat=replace(one.meat, weight_kg=2.0, length_m=0.1),
        marinade=ds.Marinade(),
        targets=ds.Targets(water_activity=0.7),
    )
    (remark,) = compare([one, other]).remarks
    assert "(length, weight, marinade, target)" in remark
    assert "\n" not in remark


def test_progress_tells_which_run():
    seen = []
    compare([short("a", 0.1), short("b", 0.1)], progress=lambda index, seconds: seen.append((index, seconds)))
    assert [index for index, _ in seen] == sorted(index for index, _ in seen)
    assert {index for index, _ in seen} == {0, 1}
    assert seen[-1] == (1, pytest.approx(360.0))


def test_one_batch_alone_is_refused():
    with pytest.raises(InputError, match="at least two batches"):
        compare([warm_air()])
