"""Work on any executor: task by task, whatever becomes of the workers.

A pool of processes that breaks (a worker was killed) is made again, and only what is missing is done again. Workers end
with the process that started them, and leave Ctrl-C to it.
"""

import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import (
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
    as_completed,
)
from contextlib import nullcontext
from dataclasses import dataclass
from functools import partial
from multiprocessing import parent_process
from typing import Any, TypeVar

from dryingsim.errors import SolverError, workers_ended, workers_lost

Workers = Executor | Callable[[], Executor] | None  # an executor, what makes one, or None: work here
_TRIES = 5  # pools that may break before the work is given up
_OF_THIS_MACHINE = (ProcessPoolExecutor, ThreadPoolExecutor)


@dataclass(frozen=True)
class Pool:
    """What makes executors, and what is told of them.

    Attributes
    ----------
    make : callable
    name : str or None
        As provenance has it; None for processes of this machine, which nothing depends on.
    notice : callable or None
        Called with a sentence where workers were lost and work is done again.
    workers : int
        That each has, as far as is known.
    meanwhile : callable or None
        Called here each time that tasks have been handed out: it gets ready what is needed after them, such as a slow import.
    """

    make: Callable[[], Executor]
    name: str | None = None
    notice: Callable[[str], None] | None = None
    workers: int = 2
    meanwhile: Callable[[], object] | None = None

    def __call__(self) -> Executor:
        """Make one."""
        return self.make()


_In = TypeVar("_In")
_Out = TypeVar("_Out")


def each(
    function: Callable[[_In], _Out],
    todo: Sequence[_In],
    executor: Workers = None,
    have: dict[int, _Out] | None = None,
    meanwhile: Callable[[], object] = lambda: None,
) -> Generator[tuple[int, _Out], None, None]:
    """Do every task that is not done yet; yield its index and its result as it is done.

    Parameters
    ----------
    function : callable
        Of a task; usually `ensemble.work`.
    todo : sequence
        The tasks; with processes they and the results are pickled.
    executor : Executor, or a callable that makes one, or None
        None: here, one after the other. An executor that breaks (its workers were killed) ends the work, with what is
        done yielded and a `SolverError`; one that is made here is made again, five times at most, and only what is
        missing is done again. A `Pool` tells so.
    have : dict, optional
        What is done already, by index; it is yielded first.
    meanwhile : callable, optional
        Called here each time that tasks have been handed out.
    """
    have = have or {}
    yield from sorted(have.items(), key=lambda item: item[0])
    missing = [i for i in range(len(todo)) if i not in have]
    if executor is None:
        meanwhile()
        for i in missing:
            yield i, function(todo[i])
        return
    beside = partial(_meanwhile, executor, meanwhile)
    for attempt in range(1, _TRIES + 1):
        made = nullcontext(executor) if isinstance(executor, Executor) else executor()
        try:
            with made as pool:
                for i, result in _completed(pool, function, todo, tuple(missing), beside):
                    missing.remove(i)
                    yield i, result
        except _losses():
            if isinstance(executor, Executor):
                raise SolverError(workers_ended()) from None
            if attempt == _TRIES:
                raise SolverError(workers_ended(_TRIES)) from None
            if isinstance(executor, Pool) and executor.notice:
                executor.notice(workers_lost(len(missing), len(todo), attempt + 1, _TRIES))
        if not missing:
            return


def _meanwhile(executor: Workers, own: Callable[[], object]) -> None:
    """Do here what a call, and then its pool, has to be done while workers work."""
    own()
    if isinstance(executor, Pool) and executor.meanwhile:
        executor.meanwhile()


def _losses() -> tuple[type[BaseException], ...]:
    """Return what tells that workers were lost; Dask's own word for it too, where that is in use."""
    scheduler: Any = sys.modules.get("distributed.scheduler")
    return (BrokenExecutor, CancelledError, *((scheduler.KilledWorker,) if scheduler else ()))


def name_of(executor: Workers) -> str | None:
    """Return the name of what works, for provenance; None for this machine's own.

    Parameters
    ----------
    executor
        See `each`.
    """
    if isinstance(executor, Executor) and not isinstance(executor, _OF_THIS_MACHINE):
        return f"{type(executor).__module__}.{type(executor).__qualname__}"
    return executor.name if isinstance(executor, Pool) else None


def workers_of(executor: Workers) -> int:
    """Return how many share the work, as far as is known.

    Parameters
    ----------
    executor
        See `each`.
    """
    if executor is None:
        return 1
    return executor.workers if isinstance(executor, Pool) else 2


def results_of(function: Callable[[_In], _Out], todo: Sequence[_In], executor: Workers = None) -> list[_Out]:
    """Do every task; return the results in the order of the tasks.

    Parameters
    ----------
    function, todo, executor
        See `each`.
    """
    done = dict(each(function, todo, executor))
    return [done[i] for i in range(len(todo))]


def results_of_calls(
    calls: Sequence[Callable[[], Any]], executor: Workers = None, *, here: Callable[[], Any] | None = None
) -> list[Any]:
    """Make calls that know their arguments (`functools.partial`); return their results in order.

    Parameters
    ----------
    calls : sequence of callable
    executor
        See `each`.
    here : callable, optional
        Another call, made in this process while the workers make theirs; its result is the last.
    """
    own: list[Any] = []

    def meanwhile() -> None:
        if here and not own:  # what was handed out may have to be handed out again
            own.append(here())

    done = dict(each(_made, calls, executor, meanwhile=meanwhile))
    return [done[i] for i in range(len(calls))] + own


def _made(call: Callable[[], Any]) -> Any:
    return call()


def _completed(
    pool: Executor,
    function: Callable[[_In], _Out],
    todo: Sequence[_In],
    missing: Sequence[int],
    meanwhile: Callable[[], object],
) -> Iterator[tuple[int, _Out]]:
    waiting: dict[Future[_Out], int] = {pool.submit(function, todo[i]): i for i in missing}
    try:
        meanwhile()
        for future in as_completed(list(waiting)):
            index = waiting.pop(future)  # nobody else holds on to its result
            yield index, future.result()
    finally:  # interrupted work does not go on behind
        if not isinstance(pool, _Processes):  # whose workers end; it would choke on what is cancelled by then
            for future in waiting:
                future.cancel()


def processes(workers: int, notice: Callable[[str], None] | None = None) -> Pool | None:
    """Return what makes a pool of processes on this machine, for `each`; None for a single worker.

    Parameters
    ----------
    workers : int
    notice : callable, optional
        As of `Pool`.
    """
    return None if workers < 2 else Pool(partial(_Processes, workers), notice=notice, workers=workers)


class _Processes(ProcessPoolExecutor):
    """A pool whose workers do not go on with what nobody will take: they end when it is left by an exception."""

    def __init__(self, workers: int) -> None:
        super().__init__(workers, initializer=_begin_work)

    def submit(self, fn: Callable[..., _Out], /, *args: Any, **options: Any) -> Future[_Out]:
        """Hand out a call as it is now: the thread that sends it would meet what goes on changing, such as kept properties."""
        return super().submit(_unpacked, pickle.dumps(partial(fn, *args, **options)))

    def __exit__(self, kind: Any, error: Any, place: Any) -> None:
        """Leave the pool."""
        if kind is not None:
            # no public way before Python 3.14; without it they would finish what they have been given
            for process in list((getattr(self, "_processes", None) or {}).values()):
                process.kill()
            # the rest of a result that came half-way would be waited for as long as anybody could send it
            self._result_queue._writer.close()  # type: ignore[attr-defined]
        super().__exit__(kind, error, place)


def _unpacked(call: bytes) -> Any:
    return pickle.loads(call)()


def _begin_work() -> None:
    """Leave Ctrl-C to the process that hands out the work, and end with it, however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End this process once the one that started it is gone: nobody would take the results."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
