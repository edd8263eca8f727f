"""`dryingsim logbook`: a folder of batches and their weighings as a history."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import AsJson, Details, Quiet, UnitsWithoutFile, Workers
from dryingsim.cli.shared import Screen, bar, counted, worker_count


def logbook(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER",
            help="Batch files and logs: batch3.csv is of batch3.toml, or says '# batch: FILE.toml'; '# date: 2026-03-01' "
            "puts it in order.",
        ),
    ],
    workers: Workers = None,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Look back on your batches: predicted against measured, what each taught, and what to change next time."""
    cores = worker_count(workers)
    from dryingsim.engine.executors import processes
    from dryingsim.learn.logbook import pairs_in, read_logbook
    from dryingsim.show.learn.logbook_text import logbook_document

    count = len(pairs_in(folder)[0])
    screen = Screen(quiet, as_json, details)
    with bar(float(count), hidden=screen.bare, patience_s=0.0) as show:
        pool = processes(min(cores, count))
        book = read_logbook(
            folder, units=units, executor=pool, progress=counted(show, "fitting the logs", "logs")
        )
    screen.show(logbook_document(book, units))
