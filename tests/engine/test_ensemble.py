"""The engine for many slices: against single runs, to the last bit on any executor, nothing lost, nothing double."""

import logging
import os
import pickle
import signal
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.engine.cluster import cluster
from dryingsim.engine.ensemble import CHUNK, Request, joined, run_ensemble, tasks, work
from dryingsim.engine.executors import each
from dryingsim.engine.segments import clock_of, segments_in_given_air
from dryingsim.engine.slices import Slices
from dryingsim.judge.exposed import drier_side
from dryingsim.judge.heat_resistance import accumulated, drying_share, reduction
from dryingsim.model.build import build_slabs
from dryingsim.model.slab import taken
from dryingsim.simulate import DEFAULT_TOLERANCE


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    first = replace(demo.stages[0], until=ds.Until(water_activity=0.93), duration_s=3 * 3600.0)
    return replace(demo, stages=(first, replace(demo.stages[1], turn=True)))


@pytest.fixture(scope="module")
def history(batch):
    return ds.run(batch, interval_s=60.0)


@pytest.fixture(scope="module")
def segments(batch, history):
    return segments_in_given_air([batch], clock_of(history))


def slices_(batch, count):
    slabs = taken(build_slabs(batch, 8), np.arange(count) % 3)
    factor = np.linspace(0.7, 1.5, count)
    slabs = replace(slabs, dry_mass_kg_m2=slabs.dry_mass_kg_m2 * factor, diffusivity_factor=factor[::-1])
    return Slices(slabs, np.zeros(count, dtype=int), np.linspace(1.2, 0.8, count))


def request(end=3 * 3600.0, **changed):
    return Request(
        temperature_K=277.15,
        times_s=np.arange(0.0, end + 1.0, 300.0),
        levels=(0.95, 0.9),
        organism="salmonella",
        **changed,
    )


@pytest.fixture(scope="module")
def reference(batch, segments):
    return run_ensemble(slices_(batch, 44), segments, request())


def assert_same(found, reference, index=slice(None)):
    assert found.keys() == reference.keys()
    for name in found:
        np.testing.assert_array_equal(found[name], reference[name][..., index], err_msg=name)


# ---- right


def test_slices_dry_as_in_a_run_of_their_own(batch, history, segments):
    own = Slices(build_slabs(batch, 24), np.zeros(3, dtype=int), np.ones(3))
    found = run_ensemble(own, segments, request())
    times = np.arange(0.0, clock_of(history).ends_s[0], 300.0)
    rows = np.searchsorted(history.time_s, times)
    np.testing.assert_allclose(history.time_s[rows], times, atol=1e-6)
    # both are within 5e-4 kg/kg of the exact solution, and within a fifth of a kelvin
    got = found["series_moisture_db"][: times.size]
    np.testing.assert_allclose(got, history.mean_moisture_db[rows], rtol=0.0, atol=5e-4)
    np.testing.assert_allclose(
        found["series_core_K"][: times.size], history.core_temperature_K[rows], rtol=0.0, atol=0.2
    )


def test_the_reduction_is_that_of_the_rules_for_a_history(batch, history, segments):
    own = Slices(build_slabs(batch, 24), np.zeros(3, dtype=int), np.ones(3))
    found = run_ensemble(own, segments, request(tolerance=1.5e-4))
    t, a = history.surface_temperature_K, history.surface_water_activity
    sums, share = accumulated(history.time_s, t, drier_side(a)), drying_share(history.time_s, t, a)
    for slab in range(3):
        exact = reduction(sums[..., slab], "salmonella", drying=share[:, slab])
        # one adds samples a minute apart, the other two in every step, on curves bent in between
        assert found["lower"][slab] == pytest.approx(exact.lower, rel=0.03, abs=0.01)
        assert found["best"][slab] == pytest.approx(exact.median, rel=0.03, abs=0.01)


def test_balances_close(reference):
    assert reference["water_closure"].max() < 1e-12
    assert reference["energy_closure"].max() < 1e-12


def test_error_is_within_what_is_promised(batch, segments, reference):
    exact = run_ensemble(slices_(batch, 44), segments, request(tolerance=1e-5))
    miss = np.abs(reference["series_moisture_db"] - exact["series_moisture_db"])
    assert miss.max() < 5e-4
    assert miss.max() > 1e-6  # else the tolerance would do nothing


def test_slices_go_on_beyond_the_plan_but_the_reduction_does_not(history, segments, reference):
    clock = clock_of(history)
    assert clock.stage == 0
    assert clock.longer_s == pytest.approx(min(3 * 3600.0, 2.5 * clock.ends_s[0]))
    assert [segment.lethal for segment in segments] == [True, True, False]
    assert [segment.dries for segment in segments] == [True, False, True]
    wet = reference["series_moisture_db"][: int(clock.longer_s // 300) + 1]
    assert np.all(np.diff(wet, axis=0) < 0.0)


# ---- the same on any executor


@pytest.mark.parametrize(("chunk", "count"), [(1, 4), (7, 17), (16, 44)])
def test_chunking_changes_nothing(batch, segments, reference, chunk, count):
    found = run_ensemble(slices_(batch, 44).take(slice(0, count)), segments, request(), chunk=chunk)
    assert_same(found, reference, slice(0, count))


def test_order_and_company_change_nothing(batch, segments, reference):
    some = np.random.default_rng(2).permutation(44)[:19]
    assert_same(run_ensemble(slices_(batch, 44).take(some), segments, request()), reference, some)


def test_executors_change_nothing(batch, segments, reference):
    with ThreadPoolExecutor(2) as threads:
        assert_same(
            run_ensemble(slices_(batch, 44), segments, request(), executor=threads, chunk=15), reference
        )
    made = partial(ProcessPoolExecutor, 2)
    assert_same(run_ensemble(slices_(batch, 44), segments, request(), executor=made, chunk=15), reference)


def test_a_cluster_is_an_executor_like_others(batch, segments, reference, tmp_path):
    distributed = pytest.importorskip("distributed")
    import cloudpickle

    cloudpickle.register_pickle_by_value(sys.modules[__name__])  # workers cannot import the tests
    quiet = {"dashboard_address": None, "silence_logs": logging.CRITICAL}
    told = []
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, **quiet) as local,
        cluster(local.scheduler_address, 2, told.append) as pool,
    ):
        for nanny in local.workers.values():
            nanny.auto_restart = False  # one that is lost is not replaced: its start would be all that takes
        with pool() as given:
            assert_same(
                run_ensemble(slices_(batch, 44), segments, request(), executor=given, chunk=22), reference
            )
        # a worker killed in mid-run: its chunks are done again by others
        todo = tasks(slices_(batch, 44), segments, request(), chunk=11)
        done = list(each(partial(work_or_die, tmp_path / "flag"), todo, pool))
    assert (tmp_path / "flag").exists()
    assert told == ["1 of 2 workers lost meanwhile; others did their parts again"]
    assert sorted(i for i, _ in done) == [0, 1, 2, 3]
    assert_same(joined([numbers for _, numbers in sorted(done, key=lambda one: one[0])]), reference)


@pytest.mark.parametrize(
    ("address", "told"), [("here", "an address such as"), ("tcp://127.0.0.1:8786", "pip install")]
)
def test_a_cluster_that_cannot_be_is_told_in_one_line(monkeypatch, address, told):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ds.InputError, match=told), cluster(address):
        pass


def test_a_chunk_is_a_pure_function_that_can_be_pickled(batch, segments, reference):
    task = pickle.loads(pickle.dumps(tasks(slices_(batch, 44), segments, request(), chunk=20)[1]))
    first, again = work(task), work(task)
    assert_same(first, again)
    assert_same(first, reference, slice(16, 32))


OTHER_KERNELS = """
import pickle, sys
from pathlib import Path
import numpy as np
from dryingsim import run
from dryingsim.engine.ensemble import work
task, batch = pickle.loads(Path(sys.argv[1]).read_bytes())
numbers = work(task)
np.savez(sys.argv[2], moisture=run(batch, interval_s=600.0).moisture_db, **numbers)
"""


def test_another_kind_of_processor_in_linear_algebra_changes_no_bit_of_many_slices(batch, segments, tmp_path):
    # what BLAS chooses on an old processor; where numpy has another BLAS it chooses as ever, and all is the same anyhow
    task = tasks(slices_(batch, 8), segments, request())[0]
    (tmp_path / "task").write_bytes(pickle.dumps((task, batch)))
    subprocess.run(
        [sys.executable, "-c", OTHER_KERNELS, str(tmp_path / "task"), str(tmp_path / "other.npz")],
        env=os.environ | {"OPENBLAS_CORETYPE": "Prescott"},
        check=True,
    )
    with np.load(tmp_path / "other.npz") as other:
        numbers = dict(other)
    # the bands of a single batch are LAPACK's: rounding, grown over the steps, whose lengths follow from estimates of small
    # errors; allowed is what a step may err, as one may be refused that was taken
    moisture = ds.run(batch, interval_s=600.0).moisture_db
    np.testing.assert_allclose(numbers.pop("moisture"), moisture, rtol=DEFAULT_TOLERANCE, atol=0.0)
    assert_same(numbers, work(task))


# ---- nothing lost, nothing double


def test_killed_in_mid_run_the_ensemble_is_the_same(batch, segments, reference, tmp_path):
    todo = tasks(slices_(batch, 44), segments, request(), chunk=11)
    done = dict(each(partial(work_or_die, tmp_path / "flag"), todo, partial(ProcessPoolExecutor, 2)))
    assert (tmp_path / "flag").exists()
    assert_same(joined([done[i] for i in range(len(todo))]), reference)


def work_or_die(flag, task):
    if not Path(flag).exists():
        Path(flag).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return work(task)


def test_every_worker_has_as_many_chunks(batch, segments):
    def sizes(count, workers):
        todo = tasks(slices_(batch, 8).take(np.arange(count) % 8), segments, request(), workers=workers)
        return [len(task.slices) for task in todo]

    assert sizes(4032, 1) == [2016, 2016]
    assert sizes(4032, 2) == [2016, 2016]
    assert sizes(4032, 4) == [1008] * 4
    assert sizes(1000, 4) == [1000]  # too few to divide
    assert len(sizes(10_000, 3)) == 6
    assert sizes(100_000, 1) == sizes(100_000, 8)  # where many are kept, others may go on with them


def test_memory_does_not_hold_series_nobody_asked_for(batch, segments):
    numbers = run_ensemble(slices_(batch, 8), segments, request(series=False))
    assert not [name for name in numbers if name.startswith("series")]
    assert sum(values.nbytes for values in numbers.values()) <= 8 * 12 * 8
    assert CHUNK <= 3072  # the arrays of a chunk take some 65 MB


def test_places_are_those_that_series_are_made_of(batch, segments):
    numbers = run_ensemble(slices_(batch, 6), segments, request(places=True))
    t, a = numbers["places_K"], numbers["places_activity"]
    assert np.array_equal(t[1], numbers["series_core_K"], equal_nan=True)
    assert np.array_equal(np.minimum(t[0], t[2]), numbers["series_face_K"], equal_nan=True)
    assert a[1, 0] == pytest.approx(
        numbers["series_water_activity"][0], abs=2e-3
    )  # even when laid in, but as cold as it is
    assert np.all(a[[0, 2], 10] < a[1, 10])  # faces dry first
