"""`dryingsim sheet`: a page or two to print and take to the kitchen."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import UNITS_VARIABLE, BatchOrDemo, Force, check_units
from dryingsim.cli.shared import batch_of, page_of, save, tell_demonstration, watched


def sheet(
    file: BatchOrDemo = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE.pdf", help="Where to write it; else beside the batch file."
        ),
    ] = None,
    units: Annotated[
        str | None,
        typer.Option(
            metavar="metric|us",
            envvar=UNITS_VARIABLE,
            callback=check_units,
            help="Units, and A4 or letter paper; else as the batch says.",
        ),
    ] = None,
    force: Force = False,
) -> None:
    """Write a sheet to print: the plan, when to look, target weights, temperatures to check, room for notes."""
    tell_demonstration(file)
    batch = batch_of(file)
    target = page_of(file, out, (".pdf",), force=force)

    from dryingsim.answer import Answer
    from dryingsim.history.provenance import attributes
    from dryingsim.kitchen.loads import loads_of
    from dryingsim.show.core.pdf import pdf_of
    from dryingsim.show.core.writing import json_text, write_whole
    from dryingsim.show.run.sheet import sheet_document
    from dryingsim.simulate import run as simulate

    loads = loads_of(batch)
    with watched(loads.one) as tick:
        answer = Answer(simulate(loads.one, progress=tick), loads=loads)
    made = json_text(attributes(batch, batch.name))
    content = pdf_of(sheet_document(answer, units), units or batch.display, made=made)
    save(lambda: [write_whole(target, content)], announce=True)
