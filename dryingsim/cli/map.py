"""`dryingsim map`: a batch at every point of a grid over one or two of its parameters."""

from dataclasses import replace
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import AsJson, Details, Pictures, Quiet, Scheduler, Units, Workers, out_folder
from dryingsim.cli.shared import Screen, bar, check_out, crew, worker_count


def map(
    file: Annotated[Path, typer.Argument(metavar="BATCH.toml", help="The batch.")],
    over: Annotated[
        list[str],
        typer.Option(
            metavar="KEY=VALUES",
            help='One or two parameters: "meat.thickness = 3 mm to 8 mm in 21", "stage.2.air = 55 to 75 degC in 21"; '
            '"diffusivity = 0.5 to 2 in 9" and "film = ..." multiply what the model takes.',
        ),
    ],
    workers: Workers = None,
    scheduler: Scheduler = None,
    out: Annotated[Path | None, out_folder("map.csv, map.json and a picture")] = None,
    pictures: Pictures = "png",
    units: Units = None,
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Map when a batch is done and its log reduction over one or two of its parameters, hundreds of points at once."""
    worker_count(workers)

    from dryingsim.explore.maps import map_file
    from dryingsim.show.map.text import map_document, write_map

    check_out(out, pictures)
    screen = Screen(quiet, as_json, details)
    with bar(None, hidden=screen.bare, patience_s=0.0) as show, crew(workers, scheduler) as pool:
        if out and pool:
            pool = replace(pool, meanwhile=partial(import_module, "dryingsim.show.map.pictures"))
        show(0.0, "simulating all points")  # they go side by side, so the bar only moves
        mapped = map_file(file, over, executor=pool)
    for remark in mapped.remarks:
        typer.echo(f"Note: {remark}.", err=True)
    screen.show(map_document(mapped, units))
    if out:
        screen.save(lambda: write_map(mapped, out, pictures=pictures))
