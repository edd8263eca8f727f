"""Slices that each kitchen heats until its own thickest is hot inside: how long, what follows, and that it is counted so."""

from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from dryingsim import demo_batch
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.engine.own_heating import heated_until
from dryingsim.engine.segments import clock_of, segments_in_given_air
from dryingsim.engine.slices import Differences, different_slices
from dryingsim.explore import spread as of_many
from dryingsim.explore.spread import spread
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.simulate import run

KITCHENS, EACH = 3, 4


def laid(batch, factors, kitchens=KITCHENS):
    """Slices of the thickest class, thicker by factors, in kitchens with the same air; by the clock of the batch."""
    meant = run(batch, nodes=12)
    clock, m = clock_of(meant), len(factors)
    one = np.ones(m)
    differences = Differences(
        kind=np.full(m, len(batch.meat.classes) - 1),
        thickness=np.array(factors),
        diffusivity=one,
        half_moisture=one,
        film=one,
        marinade=one,
        water=0.0 * one,
    )
    column = np.repeat(np.arange(kitchens), m // kitchens)
    slices, thickness = different_slices(batch, differences, column, 16)
    return clock, slices, thickness, segments_in_given_air([batch] * kitchens, clock)


@pytest.fixture(scope="module")
def three():
    """The thickest slices of three kitchens: thinner than meant, a fifth thicker, twice as thick."""
    factors = [0.6, 0.7, 0.8, 0.9, 0.9, 1.2, 1.0, 1.1, 2.0, 0.8, 1.0, 1.0]
    batch = demo_batch()
    clock, slices, thickness, by_clock = laid(batch, factors)
    own, heating = heated_until(batch, clock, slices, thickness, EACH, KITCHENS, by_clock)
    return batch, thickness, by_clock, own, heating


@pytest.mark.parametrize("kitchen", [1, 2])
def test_a_heating_goes_on_until_the_thickest_slice_of_the_kitchen_is_hot_inside(three, kitchen):
    batch, thickness, _, own, heating = three
    thickest = thickness.reshape(KITCHENS, EACH)[kitchen].max()
    alone = replace(batch.meat.classes[0], share=1.0, thickness_m=float(thickest))
    history = run(replace(batch, meat=replace(batch.meat, classes=(alone,))))
    # coarse steps and readings by straight lines, both within a hundredth
    assert own[0].end_s[kitchen] == pytest.approx(history.stage_end_s[0], rel=0.01)
    assert heating.heated_s[kitchen] == own[0].end_s[kitchen]
    assert heating.inside[kitchen]


def test_no_kitchen_heats_for_less_than_the_batch_as_it_is_meant(three):
    _, _, by_clock, own, _ = three
    assert own[0].end_s[0] == by_clock[0].end_s


def test_what_follows_is_put_off_by_as_much(three):
    _, _, by_clock, own, _ = three
    later = own[0].end_s - by_clock[0].end_s
    assert np.all(own[0].start_s == 0.0)
    for before, after in zip(by_clock[1:], own[1:], strict=True):
        np.testing.assert_allclose(after.start_s - before.start_s, later)
        np.testing.assert_allclose(after.end_s - before.end_s, later)
        assert (after.since_s is None) == (before.since_s is None)
        if before.since_s is not None:  # the same air, that much later
            np.testing.assert_allclose(after.since_s - before.since_s, later)


def test_a_heating_by_the_clock_stays_by_the_clock():
    demo = demo_batch()
    timed = replace(demo.stages[0], until=None, duration_s=300.0)
    batch = replace(demo, stages=(timed, *demo.stages[1:]))
    clock, slices, thickness, by_clock = laid(batch, [1.0, 1.5], kitchens=2)
    assert heated_until(batch, clock, slices, thickness, 1, 2, by_clock) == (by_clock, None)


def test_what_the_clock_heats_before_counts_as_heated():
    batch = demo_batch()
    warm = replace(batch.stages[0], until=None, duration_s=45.0, name="warm")
    warm = replace(warm, air=replace(warm.air, temperature_K=320.0))
    batch = replace(batch, stages=(warm, *batch.stages))
    clock, slices, thickness, by_clock = laid(batch, [0.9, 1.0, 1.3])
    own, heating = heated_until(batch, clock, slices, thickness, 1, KITCHENS, by_clock)
    np.testing.assert_allclose(heating.heated_s, own[1].end_s, rtol=1e-12)
    assert np.all(heating.heated_s >= clock.ends_s[1])


def test_a_duration_ends_it_as_well():
    demo = demo_batch()
    capped = replace(demo.stages[0], duration_s=55.0)
    batch = replace(demo, stages=(capped, *demo.stages[1:]))
    clock, slices, thickness, by_clock = laid(batch, [1.0, 2.0], kitchens=2)
    own, heating = heated_until(batch, clock, slices, thickness, 1, 2, by_clock)
    assert own[0].end_s[1] == pytest.approx(55.0)
    assert heating.inside.tolist() == [True, False]


def test_the_thickest_is_one_of_as_many_slices_as_the_batch_has_however_many_are_drawn(three):
    """Of four drawn two are the batch; of a batch of eight the next kitchen's are among them."""
    batch, _, _, _, of_four = three
    factors = [0.6, 0.7, 0.8, 0.9, 0.9, 1.2, 1.0, 1.1, 2.0, 0.8, 1.0, 1.0]
    clock, slices, thickness, by_clock = laid(batch, factors)
    _, of_two = heated_until(batch, clock, slices, thickness, 2, KITCHENS, by_clock)
    _, of_eight = heated_until(batch, clock, slices, thickness, 8, KITCHENS, by_clock)
    np.testing.assert_allclose(of_two.heated_s, of_four.heated_s)  # the thickest are the first two
    assert of_eight.heated_s[0] == pytest.approx(of_four.heated_s[1], rel=1e-6)
    assert of_eight.heated_s[1] == pytest.approx(of_four.heated_s[2], rel=1e-6)


def steamed(**changed):
    demo = demo_batch()
    steam = replace(demo.stages[0], kind="steam")
    return replace(demo, stages=(steam, *demo.stages[1:]), **changed)


def test_fewer_kitchens_miss_what_they_check_than_what_they_time(monkeypatch):
    meant = run(steamed())
    drawn = partial(
        spread, steamed(), slices=512, batches=64, nodes=12, meant=meant, judged=judge_batch_lethality(meant)
    )
    checked = drawn()
    monkeypatch.setattr(of_many, "heated_until", lambda *given: (given[-1], None))
    timed = drawn()
    assert checked.reduction_misses().value < 0.5 * timed.reduction_misses().value
    assert timed.grade == "not shown"


def test_all_trays_of_a_kitchen_in_an_appliance_wait_for_its_thickest(monkeypatch):
    demo = demo_batch()
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    batch = replace(demo, appliance=appliance, stages=demo.stages[:2])
    seen = []

    def kept(*given):
        seen.append((given[-1], heated_until(*given)[0]))
        return seen[-1][1], None

    monkeypatch.setattr(of_many, "heated_until", kept)
    found = spread(batch, slices=64)
    by_clock, own = seen[0]
    trays = int(found.tray.max()) + 1
    later = (own[0].end_s - by_clock[0].end_s).reshape(-1, trays)
    assert trays > 1
    assert np.all(later == later[:, :1])
    assert np.ptp(later[:, 0]) > 5.0
