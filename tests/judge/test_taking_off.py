"""One weight for one thing: what slices weigh as they leave the trays, whoever asks, over all examples."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.judge.reductions import judge_lethality
from dryingsim.judge.sides import sides_of
from dryingsim.judge.taking_off import held_weight, leaving_times, taken_off
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality
from dryingsim.kitchen.packed_meat import product_of

pytestmark = pytest.mark.usefixtures("coarse_steps")

EXAMPLES = Path(__file__).parents[2] / "examples"
BATCHES = sorted(
    path.name for path in EXAMPLES.glob("*.toml") if "[[stage]]" in path.read_text(encoding="utf-8")
)


def run(batch):
    return ds.run(batch, nodes=8, tolerance=1e-3, interval_s=300.0)


def left_in(history):
    return replace(history, batch=replace(history.batch, take_off="together"))


@cache
def example(name):
    return run(ds.demo_batch() if name == "the demonstration" else ds.load_batch(EXAMPLES / name))


@pytest.fixture(scope="module")
def history():
    return run(warm_air())


@pytest.mark.parametrize("name", ["the demonstration", *BATCHES])
def test_run_sheet_store_and_report_tell_one_weight(name):
    answer = ds.Answer(example(name))
    off = taken_off(answer.history)
    packed = product_of(answer.history, off.moisture_db)
    finished = answer.product.finished_kg  # of run and report
    assert packed.dry_mass_kg * (1.0 + packed.moisture_db) == pytest.approx(finished, rel=1e-9)
    stop = answer.doneness.stop  # of run, report and sheet
    if not off.ready:
        assert answer.doneness.batch.expected_s is None or stop.weight_kg is None
        assert finished == pytest.approx(held_weight(answer.history)[-1])
        return
    # trays and thicknesses add up to the whole; the whole is what is packed
    assert finished == pytest.approx(stop.weight_kg, rel=1e-6)
    assert sum(tray.stop.weight_kg for tray in answer.by_tray) == pytest.approx(stop.weight_kg, rel=1e-6)
    for slices in answer.by_thickness:
        assert slices.stop_share == pytest.approx(stop.weight_kg / answer.loaded_kg, rel=1e-6)
    look = next(look for look in answer.looks if look.key == "stop")
    assert look.weight_kg == stop.weight_kg
    assert look.ready is None  # the weight tells
    by_time = sorted((*answer.looks, *answer.regular_looks), key=lambda look: look.time_s)
    for part in (lambda look: look.ready, lambda look: look.ready_range[0], lambda look: look.ready_range[1]):
        shares = [part(look) for look in by_time if look.ready is not None]
        assert shares == sorted(shares)
    assert packed.wettest == pytest.approx(stop.water_activity, abs=1e-3)


def test_slices_keep_what_they_hold_once_taken_off(history):
    held, left_in = held_weight(history), history.weight_kg.sum(axis=1)
    assert (held >= left_in - 1e-12).all()
    assert held[-1] > left_in[-1] + 0.005
    assert held[0] == pytest.approx(left_in[0])
    off = taken_off(history)
    assert np.ptp(off.moisture_db) == 0.0
    assert off.ready


def test_all_together_thin_slices_leave_drier(history):
    together = left_in(history)
    off, ready = taken_off(together), taken_off(history)
    assert off.moisture_db[0] < off.moisture_db[-1]
    assert off.weight_kg < ready.weight_kg
    assert off.weight_kg == pytest.approx(ds.judge_batch(together).doneness.stop.weight_kg, rel=1e-6)


@pytest.mark.parametrize("name", ["the demonstration", *BATCHES])
def test_heat_counts_no_higher_for_slices_that_leave_early(name):
    history = example(name)
    early, together = (judge_as_computed(each) for each in (history, left_in(history)))
    leave_early = (leaving_times(history) < history.time_s[-1]).any()
    assert leave_early or early == together  # to the last bit where all leave with the end
    for own, other in zip(early.organisms, together.organisms, strict=True):
        assert own.lower <= other.lower
        assert own.best <= other.best
    if early.table is not None:
        assert early.table.fraction <= together.table.fraction
    assert early.advice.hottest_K <= together.advice.hottest_K


def test_each_slice_counts_as_if_the_run_had_ended_when_it_left(history):
    """Slab by slab, cut at the record before and the one after it leaves: the verdict lies between the least of both."""
    leaves, numbers = leaving_times(history), []
    assert np.unique(leaves).size == 3
    for late in (0, 1):
        lower = []
        for slab, leave in enumerate(leaves):
            at = min(np.searchsorted(history.time_s, leave, side="right") - 1 + late, history.time_s.size - 1)
            part = left_in(history.up_to(float(history.time_s[at])))
            alone = judge_lethality(
                part.time_s,
                part.temperature_K[..., slab : slab + 1],
                np.minimum(part.water_activity[..., slab : slab + 1], 1.0),
                "sliced",
                "beef",
                drying=True,
                drier_water_activity=sides_of(part).heat_water_activity[..., slab : slab + 1],
            )
            lower.append(next(entry.lower for entry in alone.organisms if entry.organism == "salmonella"))
        numbers.append(lower)
    judged = next(e for e in judge_as_computed(history).organisms if e.organism == "salmonella")
    assert judged.slab == int(np.argmin(numbers[0]))
    # in every draw the least-reduced slab counts, so together they are a little below the least of them
    assert min(numbers[0]) - 0.1 < judged.lower <= min(numbers[1])


def test_a_hot_end_does_not_count_for_slices_that_have_left(history):
    """The schedule ends in a hot oven; only slices that are not ready before it go through it."""
    leaves = leaving_times(history)
    assert leaves.min() < history.stage_end_s[-2] < history.time_s[-1]
    early, together = (judge_batch_lethality(each) for each in (history, left_in(history)))
    assert early.advice.hottest_K < together.advice.hottest_K - 20.0
    assert early.worst.lower < together.worst.lower - 0.3


def test_a_file_says_that_all_leave_together():
    batch = replace(warm_air(), take_off="together")
    text = batch.to_toml()
    assert 'take_off = "together"' in text
    assert ds.parse_batch(text, "again") == batch
    with pytest.raises(ds.InputError, match="take_off"):
        ds.parse_batch(text.replace('"together"', '"later"'), "again")
