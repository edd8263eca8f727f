"""What several commands take, written once: so each means the same everywhere."""

from pathlib import Path
from typing import Annotated, Any

import typer

from dryingsim.batch.checks import check_choice
from dryingsim.show.core.writing import PICTURE_KINDS

UNITS_VARIABLE = "DRYINGSIM_UNITS"  # of the environment: a person's units, said once


def check_units(units: str | None) -> str | None:
    """Return the units asked for, if any; raise unless they are known."""
    return None if units is None else check_choice("--units", units, ("metric", "us"))


def check_pictures(kind: str) -> str:
    """Return the kind of pictures asked for; raise unless it is known."""
    return check_choice("--pictures", kind, PICTURE_KINDS)


def out_folder(files: str, note: str = "files there are replaced") -> Any:
    """Return the option that names a folder, with what is written there."""
    return typer.Option(metavar="DIR", help=f"Folder for {files}; {note}.")


BatchOrDemo = Annotated[
    Path | None, typer.Argument(metavar="BATCH.toml", help="The batch; without it, a demonstration.")
]
Units = Annotated[
    str | None,
    typer.Option(
        metavar="metric|us",
        envvar=UNITS_VARIABLE,
        callback=check_units,
        help="Units to print in; else as the file says.",
    ),
]
Pictures = Annotated[
    str,
    typer.Option(
        metavar="|".join(PICTURE_KINDS),
        callback=check_pictures,
        help="File type of the pictures in the folder of --out.",
    ),
]
PageOut = Annotated[
    Path | None,
    typer.Option("--out", "-o", metavar="FILE.html", help="Where to write it; else beside the batch file."),
]
PageQuiet = Annotated[bool, typer.Option("--quiet", help="Do not say where it was written.")]
UnitsWithoutFile = Annotated[
    str,
    typer.Option(metavar="metric|us", envvar=UNITS_VARIABLE, callback=check_units, help="Units to print in."),
]
Workers = Annotated[
    int | None, typer.Option(metavar="NUMBER", help="Processes to work with; all cores if left out.")
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        metavar="ADDRESS",
        help="Of a Dask scheduler, such as tcp://192.168.1.5:8786, whose workers do the work; --workers are then waited for.",
    ),
]
EnergyPrice = Annotated[
    str | None, typer.Option(metavar="PRICE", help='Of the energy, for example "0.30 EUR/kWh".')
]
Remedies = Annotated[
    bool,
    typer.Option("--remedies", help="Simulate what would reduce bacteria more: six changes, one at a time."),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")]
Details = Annotated[
    bool,
    typer.Option(
        "--details", help="Print all that is known below the first screen, with tables and reasons."
    ),
]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print only the answers, as JSON in SI.")]
