"""`dryingsim sheet`: a page or two to print and take to the kitchen."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.shared import batch_of, check_units, one_thread, page_of, save, tell_demonstration, watched


def sheet(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="BATCH.toml", help="The batch; without it, a demonstration."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE.pdf", help="Where to write it; else beside the batch file."
        ),
    ] = None,
    units: Annotated[
        str | None,
        typer.Option(metavar="metric|us", help="Units, and A4 or letter paper; else as the batch says."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")] = False,
) -> None:
    """Write a sheet to print: the plan, when to look, target weights, temperatures to check, room for notes."""
    one_thread()
    check_units(units)
    tell_demonstration(file)
    batch = batch_of(file)
    target = page_of(file, out, (".pdf",), force=force)

    from dryingsim.judge.doneness import judge_batch
    from dryingsim.show.atomic_write import write_whole
    from dryingsim.show.sheet_pdf import sheet_pdf
    from dryingsim.simulate import run as simulate

    with watched(batch) as tick:
        history = simulate(batch, progress=tick)
    content = sheet_pdf(history, judge_batch(history), units)
    save(lambda: [write_whole(target, content)], announce=True)
