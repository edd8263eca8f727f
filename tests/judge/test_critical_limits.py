"""The wet bulb that must be measured: as low as serves, to a kelvin, and found in few runs."""

from dataclasses import replace

import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.judge import relied_air
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality

pytestmark = pytest.mark.usefixtures("coarse_steps")

CELSIUS = 273.15


def humid(celsius, wet_bulb, hours, *, measured=False):
    batch = warm_air()
    first = batch.stages[0]
    held = ds.Humidity(kind="wet_bulb", value=wet_bulb + CELSIUS, measured=measured)
    air = replace(first.air, temperature_K=celsius + CELSIUS, humidity=held)
    slices = (ds.ThicknessClass(thickness_m=0.005, share=1.0),)
    stages = (replace(first, air=air, duration_s=3600.0 * hours, until=None), *batch.stages)
    return replace(batch, meat=replace(batch.meat, classes=slices), stages=stages)


def run(batch):
    return ds.run(batch, nodes=8)


def humid_alone(*air, measured):
    """The humid air without what follows."""
    batch = humid(*air, measured=measured)
    return replace(batch, stages=batch.stages[:1])


@pytest.fixture(scope="module", params=[(76.7, 68.0, 1.0), (66.0, 60.0, 3.0)])
def found(request):
    celsius, wet_bulb, hours = request.param
    history, calls = run(humid(celsius, wet_bulb, hours)), []
    relied_air._again.clear()

    def counted(*arguments, **options):
        calls.append(1)
        return ds.run(*arguments, **options)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(relied_air, "run", counted)
        judged = judge_batch_lethality(history)
    without = judge_batch_lethality(history, limits=False)
    searched = ("humidity_decides", "setting_below_limit")
    kept = tuple(finding for finding in judged.warnings if finding.key not in searched)
    assert without == replace(judged, warnings=kept)  # no grade depends on it
    return celsius, hours, judged, len(calls)


def test_it_is_the_lowest_that_serves_by_the_end_of_the_humid_air(found):
    celsius, hours, judged, _ = found
    assert judged.grade == "met only if measured"
    limits = judged.warnings[0].values
    lowest = limits["wet_bulb_K"] - CELSIUS

    def grade(wet_bulb):
        return judge_as_computed(run(humid_alone(celsius, wet_bulb, hours, measured=True))).grade

    # a kelvin of it is for the reading; 0.2 K: the steps of the search are looser
    assert grade(lowest - 0.8) == "met"
    assert grade(lowest - 2.2) != "met"
    assert 0.0 <= limits["begin_s"] < limits["end_s"] <= 3600.0 * hours


def test_measured_so_humid_it_is_met_and_no_lower(found):
    """What is measured counts less the accuracy of the reading; what follows the humid air gives a kelvin or two."""
    celsius, hours, judged, _ = found
    lowest = judged.warnings[0].values["wet_bulb_K"] - CELSIUS
    assert judge_batch_lethality(run(humid(celsius, lowest + 0.2, hours, measured=True))).grade == "met"
    lower = (run(humid(celsius, lowest - step, hours, measured=True)) for step in (5.0, 4.0, 3.0, 2.0, 1.0))
    barely = next(history for history in lower if judge_as_computed(history).grade == "met")
    within = judge_batch_lethality(barely)
    assert within.grade == "not shown"
    assert "humidity_within_error" in [warning.key for warning in within.warnings]


def test_it_takes_few_runs(found):
    """Bisection over the 28 K between 40 and 68 degC would take six more."""
    assert found[-1] <= 6


@pytest.mark.parametrize(("wet_bulb", "said"), [(68.0, False), (63.5, True)])
def test_a_setting_that_cannot_make_its_own_limit_is_told(wet_bulb, said):
    history = run(humid(76.7, wet_bulb, 0.3))
    judged = judge_batch_lethality(history)
    warnings = {finding.key: finding.values for finding in judged.warnings}
    assert judged.grade == "met only if measured"
    assert ("setting_below_limit" in warnings) is said
    assert bool(history.air_wet_bulb_K.max() < warnings["humidity_decides"]["wet_bulb_K"]) is said


@pytest.mark.parametrize(
    ("kind", "value", "least"),
    [("relative", 0.9, 0.85), ("wet_bulb", 335.0, 334.0), ("dew_point", 334.0, 333.0)],
)
def test_air_that_was_measured_counts_less_the_accuracy_of_both_readings(kind, value, least):
    batch = humid_alone(65.0, 60.0, 1.0, measured=True)
    air = replace(batch.stages[0].air, humidity=ds.Humidity(kind=kind, value=value, measured=True))
    batch = replace(batch, stages=(replace(batch.stages[0], air=air),))
    again = relied_air.run_relied_on(run(batch)).batch.stages[0].air
    assert again.temperature_K == pytest.approx(air.temperature_K - 1.0)
    assert again.humidity.value == pytest.approx(least)
    assert relied_air.as_relied_on(batch).stages[0].air == again


def test_a_temperature_that_barely_serves_is_not_shown():
    """At a relative humidity, meat is as hot as its air lets it be: a kelvin of a thermometer's error counts."""

    def at(celsius):
        batch = humid(celsius, celsius - 5.0, 1.0)
        air = replace(batch.stages[0].air, humidity=ds.Humidity(kind="relative", value=0.9, measured=True))
        return run(replace(batch, stages=(replace(batch.stages[0], air=air), *batch.stages[1:])))

    barely = next(
        history for celsius in range(58, 75) if judge_as_computed(history := at(celsius)).grade == "met"
    )
    judged = judge_batch_lethality(barely)
    assert judged.grade == "not shown"
    assert "humidity_within_error" in [warning.key for warning in judged.warnings]


def test_liquid_before_the_drying_is_no_humid_air():
    batch = warm_air()
    liquid = ds.Air(temperature_K=100.0 + CELSIUS, humidity=ds.Humidity(kind="room"), speed_m_s=0.0)
    hot = ds.Stage(
        name="heat", kind="marinade", air=liquid, until=ds.Until(core_temperature_K=76.0 + CELSIUS)
    )
    mild = replace(
        batch.stages[0],
        air=ds.Air(
            temperature_K=43.0 + CELSIUS, humidity=ds.Humidity(kind="relative", value=0.4), speed_m_s=0.3
        ),
        duration_s=3600.0,
        until=None,
    )
    slices = (ds.ThicknessClass(thickness_m=0.005, share=1.0),)
    history = run(replace(batch, meat=replace(batch.meat, classes=slices), stages=(hot, mild)))
    assert relied_air.critical_limits(history, lambda run: run.time_s.size) is None
