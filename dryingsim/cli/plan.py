"""`dryingsim plan`: the settings of the next batch, found within what may change."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import AsJson, Details, Pictures, Quiet, Units, Workers, out_folder
from dryingsim.cli.shared import Screen, bar, check_out, in_units, worker_count


def plan(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="BATCH.toml", help="The batch; its [plan] says what may change, and what for."
        ),
    ],
    out: Annotated[
        Path | None,
        out_folder("planned.toml (a batch file), plan.json and a picture"),
    ] = None,
    pictures: Pictures = "png",
    seed: Annotated[int, typer.Option(help="Of the search; the same seed finds the same plan.")] = 1,
    workers: Workers = None,
    units: Units = None,
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Plan the next batch: what to set for the least time (or energy) that reaches log reduction, dryness and texture.

    Where no air is enough, the slices are heated first.
    """
    from dryingsim.batch.checks import check_range
    from dryingsim.batch.reading.batch_file import load_document, parse_document

    cores = worker_count(workers)
    check_range("--seed", seed, seed, 0, 2**31 - 1, "0 to 2147483647")
    document = in_units(load_document(file), units)
    parse_document(document, str(file), file.parent)  # whatever is wrong with the file itself is told as ever

    from dryingsim.plan import planner
    from dryingsim.show.plan.files import plan_document, write_plan

    check_out(out, pictures)
    screen = Screen(quiet, as_json, details)
    with bar(1.0, hidden=screen.bare, patience_s=0.0) as show:
        planned = planner.plan(document, str(file), file.parent, seed=seed, workers=cores, progress=show)
    screen.show(plan_document(planned, units))
    if out:
        screen.save(lambda: write_plan(planned, out, units, pictures=pictures))
