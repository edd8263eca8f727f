"""`dryingsim plan`: the settings of the next batch, found within what may change."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import AsJson, Quiet, Units, Workers, out_folder
from dryingsim.cli.shared import Screen, bar, worker_count


def plan(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="BATCH.toml", help="The batch; its [plan] says what may change, and what for."
        ),
    ],
    out: Annotated[
        Path | None,
        out_folder("planned.toml (a batch file), plan.json and pictures"),
    ] = None,
    seed: Annotated[int, typer.Option(help="Of the search; the same seed finds the same plan.")] = 1,
    workers: Workers = None,
    units: Units = None,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Plan the next batch: what to set for the least time (or energy) that reaches log reduction, dryness and texture."""
    from dryingsim.batch.checks import check_range
    from dryingsim.batch.reading.batch_file import load_document, parse_document

    cores = worker_count(workers)
    check_range("--seed", seed, seed, 0, 2**31 - 1, "0 to 2147483647")
    document = load_document(file)
    parse_document(document, str(file), file.parent)  # whatever is wrong with the file itself is told as ever

    from dryingsim.plan import planner
    from dryingsim.show.core.writing import prepare_directory
    from dryingsim.show.plan.files import plan_json, write_plan
    from dryingsim.show.plan.tables import trade_off_tables
    from dryingsim.show.plan.text import plan_text

    if out:
        prepare_directory(out)
    screen = Screen(quiet, as_json)
    with bar(1.0, hidden=screen.bare, patience_s=0.0) as show:
        planned = planner.plan(document, str(file), file.parent, seed=seed, workers=cores, progress=show)
    screen.tell(
        lambda: plan_json(planned),
        lambda: plan_text(planned, units),
        lambda: (f"{planned.batch.name}: least time", trade_off_tables(planned, units)),
    )
    if out:
        screen.save(lambda: write_plan(planned, out, units))
