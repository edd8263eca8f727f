"""`dryingsim new`: write a commented batch file to start from."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.shared import check_free
from dryingsim.errors import InputError
from dryingsim.show.whole import write_whole


def new(
    file: Annotated[Path, typer.Argument(help="The file to write.")] = Path("batch.toml"),
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")] = False,
) -> None:
    """Write a commented batch file to start from."""
    from dryingsim.batch.toml_file import demo_text

    check_free(file, force=force)
    try:
        write_whole(file, demo_text().encode())
    except OSError as error:
        raise InputError(f"{file} cannot be written ({error.strerror or error})") from error
    typer.echo(f"Wrote {file}. Change it to suit, then: dryingsim run {file}")
