"""`dryingsim new`: write a commented batch file to start from."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import UNITS_VARIABLE, Force, check_units
from dryingsim.cli.shared import check_free, save
from dryingsim.show.core.writing import write_whole


def new(
    file: Annotated[Path, typer.Argument(help="The file to write.")] = Path("batch.toml"),
    units: Annotated[
        str,
        typer.Option(
            metavar="metric|us",
            envvar=UNITS_VARIABLE,
            callback=check_units,
            help="Units that its batch is told in.",
        ),
    ] = "metric",
    force: Force = False,
) -> None:
    """Write a commented batch file to start from."""
    from dryingsim.batch.reading.batch_file import demo_text

    check_free(file, force=force)
    text = demo_text().replace('units = "metric" ', f'units = "{units}"{" " * (len("metric") - len(units))} ')
    save(lambda: [write_whole(file, text.encode())], announce=False)
    typer.echo(f"Wrote {file}. Change it to suit, then: dryingsim run {file}")
