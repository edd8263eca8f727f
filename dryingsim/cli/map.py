"""`dryingsim map`: a batch at every point of a grid over one or two of its parameters."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.shared import bar, check_units, one_thread, save, worker_count


def map(
    file: Annotated[Path, typer.Argument(metavar="BATCH.toml", help="The batch.")],
    over: Annotated[
        list[str],
        typer.Option(
            metavar="KEY=VALUES",
            help='One or two parameters: "meat.thickness = 3 mm to 8 mm in 21", "stage.1.air = 55 to 75 degC in 21"; '
            '"diffusivity = 0.5 to 2 in 9" and "film = ..." multiply what the model takes.',
        ),
    ],
    workers: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Processes to work with; all cores if left out.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR", help="Folder for map.csv, .json, .png and .svg; files there are replaced."
        ),
    ] = None,
    units: Annotated[
        str | None, typer.Option(metavar="metric|us", help="Units to print in; else as the batch says.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the map, as JSON in SI.")] = False,
) -> None:
    """Map when a batch is done and what is killed over one or two of its parameters, hundreds of points at once."""
    one_thread()

    check_units(units)
    cores = worker_count(workers)

    from dryingsim.engine.executors import processes
    from dryingsim.explore.maps import map_file
    from dryingsim.show.files import prepare_directory
    from dryingsim.show.map_text import map_json, map_tables, map_text, write_map
    from dryingsim.show.tables import print_tables

    if out:
        prepare_directory(out)
    with bar(None, hidden=quiet or as_json, patience_s=0.0) as show:
        show(0.0, "simulating all points")  # they go side by side, so the bar only moves
        found = map_file(file, over, executor=processes(cores))
    for remark in found.remarks:
        typer.echo(f"Note: {remark}.", err=True)
    if as_json:
        typer.echo(map_json(found), nl=False)
    else:
        if not quiet:
            print_tables(found.title, map_tables(found, units))
            typer.echo()
        typer.echo(map_text(found, units))
    if out:
        save(lambda: write_map(found, out), announce=not (quiet or as_json))
