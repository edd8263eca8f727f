"""`dryingsim sheet`: a page or two to print and take to the kitchen."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.run import one_thread, save
from dryingsim.errors import InputError


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
    from dryingsim.batch.checks import check_choice
    from dryingsim.batch.toml_file import demo_text, load_batch, parse_batch

    if units is not None:
        check_choice("--units", units, ("metric", "us"))
    batch = load_batch(file) if file else parse_batch(demo_text(), "demo")
    target = out or (file.with_suffix(".pdf") if file else Path("demo.pdf"))
    if target.suffix.lower() != ".pdf":
        raise InputError(f"--out = '{target}': a name that ends in .pdf is expected")
    if target.exists() and not force:
        raise InputError(
            f"{target} exists already; choose another name with --out, or overwrite it with --force"
        )

    from dryingsim.judge.doneness import judge_batch
    from dryingsim.show.files import write_whole
    from dryingsim.show.sheet import sheet_pdf
    from dryingsim.simulate import run as simulate

    save(lambda: [write_whole(target, None)], announce=False)  # complain before the work, not after it
    history = simulate(batch)
    content = sheet_pdf(history, judge_batch(history), units)
    save(lambda: [write_whole(target, content)], announce=True)
