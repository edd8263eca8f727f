"""What the commands share: checks of what was typed, the progress bar, writing."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from dryingsim.batch.checks import check_range, show
from dryingsim.errors import InputError, OutputError
from dryingsim.show.core.outlet import console_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from dryingsim.batch.schema import Batch
    from dryingsim.engine.executors import Pool
    from dryingsim.show.core.document import Document

_PATIENCE_S = 0.5  # shorter work needs no progress bar
TELLING_AFTER_S = 5.0  # what a command waits for is told, where no bar is drawn


def worker_count(workers: int | None) -> int:
    """Return how many processes to work with: as typed, or all cores."""
    if workers is None:
        return os.cpu_count() or 1
    return int(check_range("--workers", workers, workers, 1, 1024, "1 to 1024"))


@contextmanager
def crew(workers: int | None, scheduler: str | None) -> "Iterator[Pool | None]":
    """Yield what the work is done with: processes here, or the workers of a scheduler; lost ones are told on stderr.

    Parameters
    ----------
    workers : int or None
        As typed.
    scheduler : str or None
        Its address.
    """
    from dryingsim.engine.executors import processes

    def notice(sentence: str) -> None:
        typer.echo(f"dryingsim: {sentence}", err=True)

    if scheduler is None:
        yield processes(worker_count(workers), notice)
        return
    from dryingsim.engine.cluster import cluster

    with cluster(scheduler, workers and worker_count(workers), notice) as pool:
        yield pool


def batch_of(file: Path | None, units: str | None = None) -> "Batch":
    """Return the batch of a file, or the demonstration without one; where the file states no units, those of the person."""
    from dryingsim.batch.reading.batch_file import demo_text, load_document, parse_batch, parse_document

    if file is None:
        return parse_batch(demo_text(), "demo")
    return parse_document(in_units(load_document(file), units), str(file), file.parent)


def in_units(document: dict[str, Any], units: str | None) -> dict[str, Any]:
    """Return the document of a batch file with a person's units, where they chose some and it states none."""
    display = document.get("display", {})
    if units is None or not isinstance(display, dict):
        return document
    return {**document, "display": {"units": units, **display}}


def tell_demonstration(file: Path | None) -> None:
    """Say on stderr that without a file it is the demonstration."""
    if file is None:
        typer.echo("No batch file given: this is the demonstration; 'dryingsim new' writes it out.", err=True)


def check_free(path: Path | None, *, force: bool, option: str = "") -> None:
    """Complain of a file that is there, or of a place where none can be written, before the work, not after it."""
    from dryingsim.show.core.writing import write_whole

    if path is None:
        return
    try:
        there = path.lstat() is not None
    except FileNotFoundError:
        there = False
    except OSError as error:  # a name that is too long, a file in place of a folder
        raise InputError(f"{path} cannot be written ({error.strerror or error})") from None
    if there and not path.is_file():
        raise InputError(
            f"{path} is {'a folder' if path.is_dir() else 'no file'}; the name of a file is expected"
        )
    if there and not force:
        raise InputError(f"{path} exists already; choose another name{option}, or overwrite it with --force")
    try:
        write_whole(path, None)
    except OSError as error:
        raise InputError(f"{path} cannot be written ({error.strerror or error})") from None


def check_out(folder: Path | None, pictures: str) -> None:
    """Complain of a folder for results that cannot be, before the work, not after it; and of pictures without a folder.

    It is made when results are written: work that is refused leaves no empty folder.
    """
    from dryingsim.show.core.writing import PICTURE_KINDS, try_directory

    if folder is not None:
        try_directory(folder)
    elif pictures != PICTURE_KINDS[0]:
        raise InputError(
            f"--pictures = '{pictures}': pictures are drawn only into a folder; name one with --out"
        )


def page_of(
    file: Path | None, out: Path | None, endings: tuple[str, ...], *, force: bool, kind: str = ""
) -> Path:
    """Return where a page of a batch is to be written: as typed, or beside the batch file, named after it and its kind."""
    beside = file or Path("demo.toml")
    target = out or beside.with_name(f"{beside.stem}{kind}{endings[0]}")
    if target.suffix.lower() not in endings:
        raise InputError(f"--out = {show(str(target))}: a name that ends in {endings[0]} is expected")
    check_free(target, force=force, option=" with --out")
    return target


def one_thread() -> None:
    """Keep linear algebra to one thread; to be called before numpy is first imported.

    The solver's matrices are tiny: waiting threads would only burn time.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@dataclass(frozen=True, slots=True)
class Screen:
    """How a command tells what it found: a first screen; with `details` all; `quiet`, no table; `as_json`, nothing else."""

    quiet: bool = False
    as_json: bool = False
    details: bool = False

    @property
    def bare(self) -> bool:
        """Whether nothing but the answers is to be seen: no bar, no table, no word of what was written."""
        return self.quiet or self.as_json

    def show(self, document: "Document") -> None:
        """Print a document: as JSON, or its first screen, or all of it."""
        if self.as_json:
            from dryingsim.show.core.writing import json_text

            typer.echo(json_text(document.data()), nl=False)
            return
        from dryingsim.show.core.terminal import print_document

        print_document(document, details=self.details, tables=not self.quiet)

    def save(self, write: "Callable[[], list[Path]]") -> None:
        """Write the files, and say so."""
        save(write, announce=not self.bare)


def save(write: "Callable[[], list[Path]]", *, announce: bool) -> None:
    """Write the files; a disk that fills up, or a folder that has gone, is no fault of the program."""
    try:
        written = write()
    except OSError as error:
        raise OutputError(f"the results cannot be written ({error.strerror or error})") from error
    if announce:
        typer.echo(f"\nWrote {', '.join(map(str, written))}")


def end_orderly() -> None:
    """Let SIGTERM end a command as Ctrl-C does, workers and half-written files with it: exit code 143."""
    import signal
    import threading

    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, _ended)


def _ended(number: int, _: object) -> None:
    raise SystemExit(128 + number)


@contextmanager
def bar(
    total: float | None, *, hidden: bool, patience_s: float = _PATIENCE_S
) -> "Iterator[Callable[[float, str], None]]":
    """Yield a function of what is done and a text for it, which shows both on stderr once the work takes long.

    Both tell what time is left where the total is known. Where stderr is no terminal, or the bar is to be hidden, the text is
    told in a line now and then (`_telling`).
    """
    import sys

    if hidden or not sys.stderr.isatty():
        with _telling(total) as tell:
            yield tell
        return
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn())
    drawn = Progress(*columns, console=console_on(sys.stderr), transient=True)
    task = drawn.add_task("", total=total)
    begin = time.monotonic()
    shown = False

    def show(completed: float, text: str) -> None:
        nonlocal shown
        waited = time.monotonic() - begin
        if not shown and waited >= patience_s:
            drawn.start()
            shown = True
        if shown:
            left = _left(waited, completed, total)
            drawn.update(task, completed=completed, description=f"{text}{left}")

    try:
        yield show
    finally:
        if shown:
            drawn.stop()


def _left(waited_s: float, completed: float, total: float | None) -> str:
    """Return what is told of the time that is left, by the time that what is done has taken."""
    if not total or not 0.0 < completed < total or waited_s < 1.0:
        return ""
    return f", about {waited_s * (total - completed) / completed:.0f} s left"


@contextmanager
def watched(batch: "Batch", *, hidden: bool = False) -> "Iterator[Callable[[float], None]]":
    """Yield a function that shows the simulated time of a batch."""
    # a stage that ends by a condition has no known end: the bar then only moves
    sure = all(stage.until is None for stage in batch.stages)
    total = sum(stage.duration_s or 0.0 for stage in batch.stages) if sure else None
    with bar(total, hidden=hidden) as show:
        from dryingsim.show.core.quantities import clock

        yield lambda simulated_s: show(simulated_s, f"simulated time {clock(simulated_s)} h")


@contextmanager
def _telling(total: float | None) -> "Iterator[Callable[[float, str], None]]":
    """Yield a function of what is done and a text for it; the text goes to stderr after 5 s, 10 s, 20 s ...

    By the system's alarm clock, as a thread beside processes that are forked would be asking for trouble. Systems without
    one are not told.
    """
    import signal
    import threading

    begin, latest, done = time.monotonic(), "", 0.0

    def note(completed: float, text: str) -> None:
        nonlocal latest, done
        latest, done = text, completed

    def tell(*_: object) -> None:
        waited = time.monotonic() - begin
        with suppress(OSError, RuntimeError, ValueError):  # stderr closed, or in the middle of a write
            left = _left(waited, done, total)
            typer.echo(f"dryingsim: at work for {waited:.0f} s: {latest}{left}", err=True)
        signal.setitimer(signal.ITIMER_REAL, waited)

    if not hasattr(signal, "SIGALRM") or threading.current_thread() is not threading.main_thread():
        yield note
        return
    before = signal.signal(signal.SIGALRM, tell)
    signal.setitimer(signal.ITIMER_REAL, TELLING_AFTER_S)
    try:
        yield note
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def in_rounds(show: "Callable[[float, str], None]", usual: int) -> "Callable[[str], None]":
    """Return a function that is told of each round of work as it begins, on a bar of 1; there may be more than `usual`."""
    begun = 0

    def tell(text: str) -> None:
        nonlocal begun
        show(begun / max(usual, begun + 1), text)
        begun += 1

    return tell


def counted(show: "Callable[[float, str], None]", begin: str, things: str) -> "Callable[[int, int], None]":
    """Return a function that shows how many of some things are done."""
    show(0.0, begin)
    return lambda done, of: show(done, f"{done} of {of} {things}")
