"""`dryingsim plan`: the settings of the next batch, found within what may change."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.shared import bar, check_units, one_thread, save, worker_count


def plan(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="BATCH.toml", help="The batch; its [plan] says what may change, and what for."
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Folder for planned.toml (a batch file), plan.json and pictures; files there are replaced.",
        ),
    ] = None,
    seed: Annotated[int, typer.Option(help="Of the search; the same seed finds the same plan.")] = 1,
    workers: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Processes to work with; all cores if left out.")
    ] = None,
    units: Annotated[
        str | None, typer.Option(metavar="metric|us", help="Units to print in; else as the batch says.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the plan, as JSON in SI.")] = False,
) -> None:
    """Plan the next batch: what to set for the least time (or energy) that reaches kill, dryness and texture."""
    one_thread()
    from dryingsim.batch.checks import check_range
    from dryingsim.batch.reading.batch_file import load_batch, load_document

    check_units(units)
    cores = worker_count(workers)
    check_range("--seed", seed, seed, 0, 2**31 - 1, "0 to 2147483647")
    load_batch(file)  # whatever is wrong with the file itself is told as ever
    document = load_document(file)

    from dryingsim.plan import planner
    from dryingsim.show.files import prepare_directory
    from dryingsim.show.plan_files import plan_json, write_plan
    from dryingsim.show.plan_tables import trade_off_tables
    from dryingsim.show.plan_text import plan_text
    from dryingsim.show.tables import print_tables

    if out:
        prepare_directory(out)
    with bar(1.0, hidden=quiet or as_json, patience_s=0.0) as show:
        found = planner.plan(document, str(file), file.parent, seed=seed, workers=cores, progress=show)
    if as_json:
        typer.echo(plan_json(found), nl=False)
    else:
        tables = [] if quiet else trade_off_tables(found, units)
        if tables:
            print_tables(f"{found.batch.name}: least time", tables)
            typer.echo()
        typer.echo(plan_text(found, units))
    if out:
        save(lambda: write_plan(found, out, units), announce=not (quiet or as_json))
