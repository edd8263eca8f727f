"""`dryingsim logbook`: a folder of batches and their weighings as a history."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.shared import bar, counted, one_thread, worker_count


def logbook(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER",
            help="Batch files and logs: batch3.csv is of batch3.toml, or says '# batch: FILE.toml'; '# date: 2026-03-01' "
            "puts it in order.",
        ),
    ],
    workers: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Processes to work with; all cores if left out.")
    ] = None,
    units: Annotated[str, typer.Option(metavar="metric|us", help="Units to print in.")] = "metric",
    quiet: Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the history, as JSON in SI.")] = False,
) -> None:
    """Look back on your batches: predicted against measured, what each taught, and what to change next time."""
    one_thread()
    from dryingsim.batch.checks import check_choice

    check_choice("--units", units, ("metric", "us"))
    cores = worker_count(workers)
    from dryingsim.engine.executors import processes
    from dryingsim.learn.logbook import pairs_in, read_logbook
    from dryingsim.show.logbook_text import logbook_json, logbook_tables, logbook_text
    from dryingsim.show.tables import print_tables

    count = len(pairs_in(folder)[0])
    with bar(float(count), hidden=quiet or as_json, patience_s=0.0) as show:
        pool = processes(min(cores, count))
        book = read_logbook(folder, executor=pool, progress=counted(show, "fitting the logs", "logs"))
    if as_json:
        typer.echo(logbook_json(book), nl=False)
        return
    if not quiet:
        print_tables(f"{folder}: {count} log{'s' if count > 1 else ''}", logbook_tables(book, units))
        typer.echo()
    typer.echo(logbook_text(book))
