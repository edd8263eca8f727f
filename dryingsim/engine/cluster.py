"""Workers of a Dask scheduler that runs elsewhere; needs the extra `cluster`."""

import re
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from functools import partial
from typing import Any

from dryingsim._version import __version__
from dryingsim.batch.checks import show
from dryingsim.engine.executors import Pool
from dryingsim.errors import InputError, SolverError

_PATIENCE_S = 10.0  # to find the scheduler, and until its workers are there
_ADDRESS = re.compile(r"([a-z]+://)?[^\s/]+:\d+")


@contextmanager
def cluster(
    address: str, workers: int | None = None, notice: Callable[[str], None] | None = None
) -> Iterator[Pool]:
    """Yield what `executors.each` works with: the workers of a scheduler, as long as this lasts.

    Parameters
    ----------
    address : str
        Of the scheduler: "tcp://192.168.1.5:8786".
    workers : int, optional
        To wait for; one at least if left out. More may come or go.
    notice : callable, optional
        Called with a sentence where workers were lost.
    """
    if not _ADDRESS.fullmatch(address):
        raise InputError(
            f"--scheduler {show(address)}: an address such as tcp://192.168.1.5:8786 is expected"
        )
    try:
        import distributed
    except ImportError:
        raise InputError(
            f"--scheduler {address}: this needs Dask, which is not there: pip install 'dryingsim[cluster]'"
        ) from None
    try:
        client = distributed.Client(address, timeout=_PATIENCE_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise InputError(
            f"--scheduler {address}: no scheduler answers there ({_first_line(error)}); 'dask scheduler' starts one "
            "and prints its address"
        ) from None
    with client:
        there = _workers(client, address, workers or 1)
        name = f"Dask {distributed.__version__} at {address}, {len(there)} workers"
        yield Pool(partial(_executor, client, address), name, notice, len(there))
        lost = len(there - _now(client))
        if lost and notice:
            notice(f"{lost} of {len(there)} workers lost meanwhile; others did their parts again")


def _executor(client: Any, address: str) -> Executor:
    """Return what hands work to the workers; raise where their scheduler is gone and does not come back."""
    deadline = (
        time.monotonic() + _PATIENCE_S
    )  # a client that looks for its scheduler would take work and never do it
    while client.status != "running" and time.monotonic() < deadline:
        time.sleep(0.1)
    if client.status != "running":
        raise SolverError(
            f"the scheduler at {address} is gone; where finished parts are kept, the same command goes on from there"
        )
    executor: Executor = client.get_executor(pure=False)
    return executor


def _workers(client: Any, address: str, count: int) -> set[str]:
    """Wait for the workers; raise where they do not come or are of another version, whose numbers would be other ones."""
    try:
        client.wait_for_workers(count, timeout=_PATIENCE_S)
    except TimeoutError:
        raise InputError(
            f"--scheduler {address}: {len(_now(client))} of {count} workers came in {_PATIENCE_S:.0f} s; "
            f"'dask worker {address}' starts one"
        ) from None
    try:
        versions: dict[str, str] = client.run(_version)
    except ImportError as error:
        raise InputError(
            f"--scheduler {address}: its workers lack a package ({_first_line(error)})"
        ) from None
    for worker, version in versions.items():
        if version != __version__:
            raise InputError(
                f"--scheduler {address}: {worker} has dryingsim {version}, where {__version__} is expected"
            )
    return set(versions)


def _version() -> str:
    return __version__


def _now(client: Any) -> set[str]:
    return set(client.nthreads())


def _first_line(error: Exception) -> str:
    return next(iter(str(error).splitlines()), type(error).__name__)
