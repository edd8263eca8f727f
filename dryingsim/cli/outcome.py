"""How a command ends: its streams, its exit code, and in what words what went wrong is told."""

import errno
import logging
import os
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TextIO

import typer

from dryingsim.errors import InputError, OutputError, Remark, SolverError, workers_ended
from dryingsim.show.core.outlet import Outlet

_NOWHERE = Path(os.devnull)


def outcome(error: Exception) -> tuple[int, str] | None:
    """Return the exit code for an error and what is told of it; None for a fault of the program."""
    if isinstance(error, InputError):
        return 2, str(error)
    if isinstance(error, SolverError | OutputError):
        return 1, str(error)
    if isinstance(error, typer.Abort):
        return 130, "stopped"
    if isinstance(error, MemoryError):
        return 1, "there is not enough memory for this"
    if isinstance(error, OSError) and error.errno != errno.EPIPE:
        place = f"{error.filename}: " if error.filename else ""
        return 1, f"{place}{error.strerror or error}"
    futures: Any = sys.modules.get("concurrent.futures")
    if futures and isinstance(error, futures.BrokenExecutor):
        return 1, workers_ended()
    return None


class _Answers(Outlet):
    """Standard output, of which it is told when nobody can read it."""

    def write(self, text: str, /) -> int:
        """Write a text."""
        with _printed():
            return super().write(text)

    def flush(self) -> None:
        """Hand on what has been written."""
        with _printed():
            super().flush()


class _Remarks(Outlet):
    """Standard error; where even that cannot be written to, the exit code has to do."""

    def write(self, text: str, /) -> int:
        """Write a text."""
        with suppress(OSError):
            super().write(text)
        return len(text)

    def flush(self) -> None:
        """Hand on what has been written."""
        with suppress(OSError):
            super().flush()


@contextmanager
def _printed() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        if error.errno == errno.EPIPE:  # the reader has seen enough
            raise
        raise OutputError(f"the answers cannot be printed ({error.strerror or error})") from error


@contextmanager
def outlets() -> Iterator[bool]:
    """Let text leave through outlets, and nothing of the libraries below reach the screen; yield whether it can leave."""
    before = sys.stdout, sys.stderr
    os.environ.pop("MPLBACKEND", None)  # pictures go into files: what shows them elsewhere need not be there
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    with warnings.catch_warnings():
        warnings.simplefilter("always", Remark)
        warnings.showwarning = _tell_remarks(set())
        # a stream that is closed: the next file to be opened would take its place
        streams = [_NOWHERE.open("w", encoding="utf-8") if one is None else one for one in before]
        sys.stdout, sys.stderr = _Answers(streams[0]), _Remarks(streams[1])
        try:
            yield before[0] is not None
        finally:
            for stream in streams:
                _drain(stream)
            sys.stdout, sys.stderr = before


def _drain(stream: TextIO) -> None:
    """Leave nothing behind in a stream that cannot be written to, or Python would complain of it at the very end."""
    try:
        stream.flush()
    except OSError:
        with suppress(OSError), _NOWHERE.open("wb") as nowhere:
            os.dup2(nowhere.fileno(), stream.fileno())
            stream.flush()


def _tell_remarks(told: set[str]) -> Any:
    """Return what shows warnings: a remark of the package once, and none of a library, as what matters is in the answers."""

    def show(message: Warning, category: type[Warning], *_: Any) -> None:
        if issubclass(category, Remark) and str(message) not in told:
            told.add(str(message))
            typer.echo(f"dryingsim: {message}", err=True)

    return show
