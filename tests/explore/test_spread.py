"""Many slices of many batches: what follows from them, the air they lie in, going on where it stopped."""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.answer import Answer
from dryingsim.batch.reading.appliance_file import appliance_of
from dryingsim.batch.uncertainties import INPUTS, default_uncertainties
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.air_history import ApplianceAirHistory
from dryingsim.engine.checkpoints import forget
from dryingsim.engine.ensemble import Request, run_ensemble
from dryingsim.engine.segments import Clock, by_the_clock, clock_of, segments_in_appliance
from dryingsim.engine.slices import Slices
from dryingsim.errors import InputError
from dryingsim.explore import spread as module
from dryingsim.explore.laid_slices import slices_of_sample
from dryingsim.explore.sampling import draw
from dryingsim.explore.spread import spread, times_of_sample
from dryingsim.model.build import build_slabs
from dryingsim.model.surroundings import repeat_slabs
from dryingsim.show.spread.text import causes
from dryingsim.teaching import diffusivity_law

SURE = {key: Uncertainty("normal", 0.0) for key in INPUTS}


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], duration_s=8 * 3600.0),))


@pytest.fixture(scope="module")
def found(batch):
    return spread(batch, slices=256, seed=4)


@pytest.fixture(scope="module")
def few(batch):
    """A spread at once there, for what holds whatever it is of: the first hour, slices in four chunks."""
    short = replace(batch, stages=(replace(batch.stages[0], until=None, duration_s=3600.0),))
    return partial(spread, short, slices=64, nodes=6, meant=ds.run(short, nodes=6))


@pytest.fixture(scope="module")
def dehydrator(batch):
    appliance = appliance_of("appliance", {"use": "stacked dehydrator"}, Path())
    stage = replace(batch.stages[0], until=None, duration_s=3 * 3600.0)
    return replace(batch, appliance=appliance, stages=(stage,))


@pytest.fixture(scope="module")
def loaded(dehydrator):
    return ds.run(dehydrator)


# ---- slices


def test_without_uncertainty_every_slice_is_that_of_the_batch(batch):
    own = ds.run(batch)
    found = spread(batch, SURE, slices=64, meant=own)
    kinds = np.array([one.thickness_m for one in batch.meat.classes])
    done = ds.judge_batch(own).doneness.classes
    for kind, window in zip(kinds, done, strict=True):
        times = found.done_s[found.thickness_m == kind]
        assert times.size
        assert np.ptp(times) == 0.0
        if window.expected_s is not None:
            # five minutes between notes, on a curve: the done time is read off straight lines
            assert times[0] == pytest.approx(window.expected_s, abs=20.0)


def test_a_run_that_is_known_is_not_simulated_again(found, batch):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "run", None)
        again = spread(batch, slices=256, seed=4, meant=found.meant)
    np.testing.assert_array_equal(again.done_s, found.done_s)
    assert again.organism == found.judged.worst.organism


def test_slices_are_counted_by_number_not_by_weight(batch):
    found = draw(SURE, 4096, 1)
    _, thickness = slices_of_sample(batch, found, 1, 6)
    share = np.array([(thickness == one.thickness_m).mean() for one in batch.meat.classes])
    number = np.array([one.share / one.thickness_m for one in batch.meat.classes])
    np.testing.assert_allclose(share, number / number.sum(), atol=0.002)


def test_a_slice_keeps_its_dry_solid_and_its_water(batch):
    sample = draw(default_uncertainties(), 256, 2)
    slices_, thickness = slices_of_sample(batch, sample, 1, 6)
    slabs = slices_.slabs
    np.testing.assert_allclose(slabs.thickness(slabs.initial_moisture_db), thickness, rtol=1e-12)
    raw = batch.meat.composition.water + sample.slices["moisture"]
    marinade = batch.marinade
    solids = 1.0 - raw + sample.slices["marinade"] * (marinade.salt_kg_kg + marinade.sugar_kg_kg)
    np.testing.assert_allclose(slabs.initial_moisture_db, (raw + marinade.water_kg_kg) / solids, rtol=1e-12)


# ---- answers


def test_shares_add_up_and_move_one_way(found):
    states = found.states()
    np.testing.assert_allclose(states.sum(axis=0), 1.0, atol=1e-12)
    assert states[0, 0] == 1.0
    assert np.all(np.diff(states[0]) <= 0.0)
    assert np.all(np.diff(states[2]) >= 0.0)


def test_slices_are_seen_when_they_come_out_of_what_heats_them():
    times = times_of_sample(Clock((49.8, 9000.0, 9600.0), 1, 22500.0))
    assert {0.0, 49.8, 300.0, 9600.0} <= set(times.tolist())
    assert times[-1] == 22500.0
    assert np.all(np.diff(times) > 0.0)
    np.testing.assert_array_equal(
        times_of_sample(Clock((20.0,), None, 20.0)), [0.0, 20.0]
    )  # all over at once


def test_bands_lie_in_order(found):
    bands = found.bands("water_activity")
    assert np.all(np.diff(bands, axis=0) >= 0.0)
    early, half = found.done_quantile(0.05), found.done_quantile(0.5)
    assert early < half
    assert (found.done_s <= early).mean() >= 0.05
    assert (found.done_s < early).mean() <= 0.05
    for share in (5, "half"):
        with pytest.raises(InputError, match=r"share = .* is outside 0 to 1"):
            found.done_quantile(share)


def test_thick_slices_of_slow_meat_take_long(found):
    influence = found.influences()
    assert influence["diffusivity"] < -0.4
    assert influence["thickness"] > 0.4
    assert -1.0 <= min(influence.values()) <= max(influence.values()) <= 1.0
    assert list(map(abs, influence.values())) == sorted(map(abs, influence.values()), reverse=True)
    assert 0.2 < found.between_batches() < 0.8


def test_what_may_be_by_chance_is_not_told_as_a_cause(found):
    few = found.sample.batches["setpoint"].size
    assert found.chance_correlation("setpoint") == pytest.approx(2.0 / np.sqrt(few))
    assert found.chance_correlation("thickness") < found.chance_correlation("setpoint")
    level = found.chance_correlation("air_exchange")
    assert (
        causes(found, {"air_exchange": 0.99 * level}) == "nothing in particular"
    )  # it does nothing in given air
    assert "air" in causes(found, {"air_exchange": -1.01 * level})


def test_a_law_that_cannot_go_to_workers_is_told_in_one_line(batch):
    law = diffusivity_law(lambda temperature, moisture: 3e-10 + 0.0 * temperature * moisture)
    with pytest.raises(InputError, match="no lambda"):
        spread(batch, slices=64, nodes=6, components=ds.Components(diffusivity=law))


def test_hotter_air_reduces_more(found):
    influence = found.reduction_influences()
    assert influence.keys() == found.influences().keys()
    assert influence["setpoint"] > 0.3
    assert next(iter(influence)) == max(influence, key=lambda key: abs(influence[key]))


@pytest.mark.slow
def test_a_single_batch_tells_nothing_of_how_batches_differ():
    with pytest.raises(InputError, match="batches = 1 is outside 2 to the number of slices"):
        spread(warm_air(), slices=64, batches=1)


def test_sampling_error_tells_how_other_seeds_scatter(batch):
    short = replace(batch, stages=(replace(batch.stages[0], until=None, duration_s=4 * 3600.0),))
    drawn = partial(spread, short, slices=256, batches=16, nodes=6, meant=ds.run(short))
    tried = [drawn(seed=10 + 2 * k).slowest_misses() for k in range(6)]
    scatter = np.std([one.value for one in tried], ddof=1)
    # the error is that of independent batches; Sobol batches scatter less. Chi-squared of four: 0.35 to 1.7
    assert scatter < 1.8 * np.mean([one.error for one in tried])


# ---- same on any executor, and goes on where it stopped


def assert_same(one, other):
    for name, values in other.numbers.items():
        np.testing.assert_array_equal(one.numbers[name], values)
    for name, counts in other.counts_over_time.counts.items():
        np.testing.assert_array_equal(one.counts_over_time.counts[name], counts)


def test_no_more_is_kept_of_a_slice_than_its_answers(found):
    assert sum(values.nbytes for values in found.numbers.values()) <= 12 * 8 * found.thickness_m.size


def test_seed_and_executor(few):
    found = few(seed=4)
    assert_same(few(seed=4, executor=partial(ProcessPoolExecutor, 2)), found)
    assert np.any(few(seed=5).numbers["lower"] != found.numbers["lower"])


def test_stopped_work_goes_on_where_it_stopped(few, tmp_path, monkeypatch):
    found = few(seed=4)
    monkeypatch.setattr(module, "tasks", partial(module.tasks, chunk=16))
    seen = []

    def stop(done, of):
        seen.append(done)
        if len(seen) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        few(seed=4, folder=tmp_path, progress=stop)
    kept = sorted(path.name for path in tmp_path.iterdir())
    assert len(kept) == 2
    worked = []

    def counted(task, work=module.work):
        worked.append(task)
        return work(task)

    monkeypatch.setattr(module, "work", counted)
    again = few(seed=4, folder=tmp_path)
    assert len(worked) == 2
    assert_same(again, found)
    worked.clear()
    few(seed=6, folder=tmp_path)
    assert len(worked) == 4  # other work takes nothing from there
    forget(tmp_path)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("slices", [0, 63, 2_000_000])
def test_too_few_or_too_many_slices(batch, slices):
    with pytest.raises(InputError, match="64 to 1000000"):
        spread(batch, slices=slices)


def test_what_is_added_has_no_lognormal_uncertainty(batch):
    with pytest.raises(
        InputError, match=r"uncertainties, setpoint, shape = 'lognormal': .*'normal', 'uniform'"
    ):
        spread(batch, {"setpoint": Uncertainty("lognormal", 2.0)}, slices=64)


# ---- the air of an appliance


def in_mean_field(batch, history, histories, deviations):
    """The batch's own slices in the air of other runs."""
    clock = clock_of(history)
    segments = segments_in_appliance(
        by_the_clock(batch, clock), clock, list(map(ApplianceAirHistory.of_run, histories)), deviations
    )
    trays, kinds = int(history.tray.max()) + 1, len(batch.meat.classes)
    slabs = repeat_slabs(build_slabs(batch, 24), trays)
    slices_ = Slices(slabs, np.repeat(np.arange(trays), kinds), np.ones(trays * kinds))
    times = np.arange(0.0, clock.longer_s + 1.0, 600.0)
    found = run_ensemble(slices_, segments, Request(temperature_K=batch.meat.temperature_K, times_s=times))
    return times, found["series_moisture_db"]


def test_slices_in_the_noted_air_dry_as_those_that_made_it(dehydrator, loaded):
    # Three classes on each tray; noted every one to five minutes, straight lines between.
    times, moisture = in_mean_field(dehydrator, loaded, [loaded], np.zeros((0, 1)))
    rows = np.searchsorted(loaded.time_s, times)
    np.testing.assert_allclose(moisture, loaded.mean_moisture_db[rows], rtol=0.0, atol=2e-3)


def test_trays_that_change_places_take_the_air_of_their_place(dehydrator):
    turning = replace(dehydrator, rotate_every_s=2400.0)
    history = ds.run(turning)
    assert history.tray.max() > 0
    times, moisture = in_mean_field(turning, history, [history], np.zeros((0, 1)))
    rows = np.searchsorted(history.time_s, times)
    np.testing.assert_allclose(moisture, history.mean_moisture_db[rows], rtol=0.0, atol=4e-3)


def test_an_appliance_gives_a_spread_over_trays(dehydrator):
    short = replace(dehydrator, stages=(replace(dehydrator.stages[0], duration_s=3600.0),))
    found = spread(short, slices=64, seed=1, nodes=6)
    assert found.tray.max() > 0
    assert found.numbers["water_closure"].max() < 1e-12
    assert "tray" in found.influences()


def test_own_slices_hardly_change_the_air_of_many(dehydrator, loaded):
    """The mean field: with thicknesses drawn apart, all in one appliance, slices dry as in the air of the batch."""
    classes = tuple(
        ds.ThicknessClass(thickness_m=float(t), share=0.2) for t in 5e-3 * np.array([0.8, 0.9, 1.0, 1.1, 1.2])
    )
    uneven = replace(dehydrator, meat=replace(dehydrator.meat, classes=classes))
    coupled = ds.run(uneven)
    times, moisture = in_mean_field(uneven, coupled, [loaded], np.zeros((0, 1)))
    rows = np.searchsorted(coupled.time_s, times)
    # the air is that of another mixture of slices (4, 5, 6 mm): what is left out is the difference of their loads
    np.testing.assert_allclose(moisture, coupled.mean_moisture_db[rows], rtol=0.0, atol=0.03)


def test_what_memory_cannot_hold_is_refused_before_the_work(batch, monkeypatch):
    pages = {"SC_PAGE_SIZE": 4096, "SC_PHYS_PAGES": 2**29 // 4096}  # a machine with half a GiB
    monkeypatch.setattr(module.os, "sysconf", pages.__getitem__)
    with pytest.raises(
        InputError,
        match=r"1000000 slices need about 1\.0 GB of memory and this machine has 0\.5 GB: at most 375",
    ):
        spread(batch, slices=1_000_000)
    assert module._check_memory(370_000) is None  # 0.7 of it


def test_a_spread_says_to_look_when_a_run_does(found, batch):
    answer = Answer(ds.run(batch))
    assert found.first_look_s == answer.doneness.first_look_s
    assert found.look_again_s == answer.texture.look_again_s
    # one in twenty of the slices of a kitchen that is not known: a quarter of the drawn ones at most are ready before
    assert 0.3 < found.first_look_s / found.done_quantile(0.05) < 1.2


@pytest.mark.parametrize("dehydrated", [False, True])
def test_slices_that_are_dry_before_they_dry_are_refused_in_a_line(batch, dehydrated):
    """So salty that raw meat is at 0.85: in an appliance that ended in a StopIteration."""
    salty = replace(batch, marinade=replace(batch.marinade, salt_kg_kg=0.3))
    if dehydrated:
        salty = replace(salty, appliance=appliance_of("appliance", {"use": "stacked dehydrator"}, Path()))
    with pytest.raises(InputError, match="dry as asked for before they are dried at all"):
        spread(salty, slices=64, nodes=6)
