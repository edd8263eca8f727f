"""`dryingsim new`: write a commented batch file to start from."""

import os
from pathlib import Path
from typing import Annotated

import typer

from dryingsim.errors import InputError


def new(
    file: Annotated[Path, typer.Argument(help="The file to write.")] = Path("batch.toml"),
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")] = False,
) -> None:
    """Write a commented batch file to start from."""
    from dryingsim.batch.toml_file import demo_text

    if file.exists() and not force:
        raise InputError(f"{file} exists already; choose another name, or overwrite it with --force")
    try:
        write_text_whole(file, demo_text())
    except OSError as error:
        raise InputError(f"{file} cannot be written ({error.strerror or error})") from error
    typer.echo(f"Wrote {file}. Change it to suit, then: dryingsim run {file}")


def write_text_whole(file: Path, text: str) -> None:
    """Write beside the file, then rename: nobody ever sees half a file, and a failure leaves the old one."""
    beside = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)
