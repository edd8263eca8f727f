"""Work on executors: nothing lost, nothing double, nothing left running."""

import os
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from dryingsim.engine.executors import Pool, each, name_of, processes, results_of, results_of_calls
from dryingsim.errors import SolverError


def kill_once(flag, calls, number):
    """Square a number; the first to do the third one is killed while it works."""
    if number == 3 and not Path(flag).exists():
        Path(flag).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    with Path(calls).open("a") as file:
        file.write(f"{number}\n")
    return number * number


def one_at_once(number, much):
    """The first is done at once, the others take a minute."""
    time.sleep(60.0 * (number > 0))
    return number


class Witness:
    """Tells which thread packs it."""

    def __init__(self, threads):
        self.threads = threads

    def __reduce__(self):
        self.threads.append(threading.get_ident())
        return int, (1,)


def test_a_call_is_packed_before_anything_in_it_can_change():
    """The thread that sends it met a dict that was still growing: a history keeps what is asked of it."""
    threads = []
    with processes(2)() as pool:
        assert pool.submit(str, Witness(threads)).result() == "1"
    assert threads == [threading.get_ident()]


class SlowToRead:
    """What takes half a second to be read again."""

    def __reduce__(self):
        return time.sleep, (0.5,)


def more_than_a_pipe_holds(number):
    """After one that is done at once and one that is slow to read, results wait half-way in the pipe to be read on."""
    return [number, SlowToRead(), bytes(1_000_000)][min(number, 2)]


def always_killed(number):
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="a worker is killed the Unix way")
def test_a_killed_worker_costs_nothing(tmp_path):
    flag, calls = tmp_path / "killed", tmp_path / "calls"
    calls.touch()
    found = list(each(partial(kill_once, flag, calls), list(range(12)), partial(ProcessPoolExecutor, 2)))
    assert flag.exists()  # it did happen
    assert sorted(found) == [(i, i * i) for i in range(12)]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="a worker is killed the Unix way")
def test_a_pool_tells_that_workers_were_lost(tmp_path):
    told = []
    (tmp_path / "calls").touch()
    work = partial(kill_once, tmp_path / "killed", tmp_path / "calls")
    assert sorted(each(work, [3], processes(2, told.append))) == [(0, 9)]
    assert told == ["workers were lost; 1 of 1 parts are done again (attempt 2 of 5)"]


def test_what_works_has_a_name_only_where_it_is_not_this_machine():
    class Elsewhere(Executor):
        pass

    assert name_of(Pool(Elsewhere, "there")) == "there"
    assert name_of(Elsewhere()).endswith("Elsewhere")
    with ThreadPoolExecutor(1) as threads:
        assert name_of(None) is name_of(processes(2)) is name_of(threads) is None


def test_a_given_executor_that_breaks_ends_the_work_but_not_what_is_done():
    with ProcessPoolExecutor(1) as pool:
        found = each(always_killed, [1, 2, 3], pool, have={1: "kept"})
        assert next(found) == (1, "kept")
        with pytest.raises(SolverError, match="ended from outside; is there memory"):
            next(found)


def test_pools_that_always_break_are_given_up():
    with pytest.raises(SolverError, match="ended from outside, 5 times"):
        list(each(always_killed, [1, 2], partial(ProcessPoolExecutor, 1)))


def test_what_is_there_is_not_done_again(tmp_path):
    calls = []
    found = list(each(lambda i: calls.append(i) or i, [0, 1, 2, 3], None, have={2: "two", 0: "nil"}))
    assert calls == [1, 3]
    assert found == [(0, "nil"), (2, "two"), (1, 1), (3, 3)]


def test_stopping_leaves_nothing_running():
    import time

    with ThreadPoolExecutor(1) as pool:
        begun = []

        def slow(i):
            begun.append(i)
            time.sleep(0.05)
            return i

        work_of = each(slow, list(range(50)), pool)
        next(work_of)
        work_of.close()
    assert len(begun) < 5


@pytest.mark.skipif(sys.platform == "win32", reason="workers are ended the Unix way")
def test_a_pool_left_by_an_exception_does_not_wait_for_its_workers():
    begun = time.monotonic()
    much = np.zeros(500_000)  # more than a pipe holds: the next task hangs half-way to the workers
    results = each(partial(one_at_once, much=much), range(40), processes(2))
    assert next(results)[1] == 0
    results.close()
    assert time.monotonic() - begun < 20.0


@pytest.mark.skipif(sys.platform == "win32", reason="workers are ended the Unix way")
def test_a_pool_left_by_an_exception_does_not_wait_for_the_rest_of_a_result():
    results = each(more_than_a_pipe_holds, range(8), processes(2))
    next(results)
    time.sleep(0.2)
    leaving = threading.Thread(target=results.close, daemon=True)
    leaving.start()
    leaving.join(20.0)
    assert not leaving.is_alive()


@pytest.mark.skipif(sys.platform != "linux", reason="looks for processes the Linux way")
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_workers_end_with_the_process_that_started_them(how):
    code = (
        "import time\n"
        "from dryingsim.engine.executors import processes\n"
        "pool = processes(3)()\n"
        "running = [pool.submit(time.sleep, 60) for _ in range(3)]\n"
        "time.sleep(0.3)\n"
        "print(*pool._processes, flush=True)\n"
        "time.sleep(60)\n"
    )
    begun = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    workers = [int(pid) for pid in begun.stdout.readline().split()]
    assert len(workers) == 3
    begun.send_signal(how)
    begun.wait(10)
    begun.stdout.close()
    limit = time.monotonic() + 10.0
    while (left := [pid for pid in workers if Path(f"/proc/{pid}").exists()]) and time.monotonic() < limit:
        time.sleep(0.05)
    assert not left


@pytest.mark.parametrize("executor", [None, partial(ThreadPoolExecutor, 3)])
def test_results_stand_in_the_order_of_the_tasks(executor):
    def slow_at_first(number):
        time.sleep(0.02 * (3 - number))
        return number

    assert results_of(slow_at_first, [0, 1, 2, 3], executor) == [0, 1, 2, 3]
    calls = [partial(slow_at_first, 0), partial(pow, 2, 5), partial(slow_at_first, 3)]
    assert results_of_calls(calls, executor) == [0, 32, 3]


def test_a_call_is_made_here_while_a_worker_waits_for_it():
    done = threading.Event()
    calls = [partial(done.wait, 20.0)]
    with ThreadPoolExecutor(1) as pool:
        assert results_of_calls(calls, pool, here=lambda: done.set() or os.getpid()) == [True, os.getpid()]
    assert results_of_calls(calls, None, here=lambda: "here") == [True, "here"]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="a worker is killed the Unix way")
def test_a_call_here_is_made_once_though_workers_are_lost(tmp_path):
    made = []
    calls = [partial(kill_once, tmp_path / "killed", tmp_path / "calls", 3)]
    found = results_of_calls(calls, partial(ProcessPoolExecutor, 1), here=lambda: made.append(1) or len(made))
    assert found == [9, 1]
