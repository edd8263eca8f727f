"""`dryingsim spread`: many slices of a batch, no two alike."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.shared import bar, check_units, counted, one_thread, save, worker_count


def spread(
    file: Annotated[
        Path, typer.Argument(metavar="BATCH.toml", help="The batch; its [spread] says what is in doubt.")
    ],
    slices: Annotated[int, typer.Option(help="How many slices to simulate, at least.")] = 4000,
    seed: Annotated[
        int, typer.Option(help="Of the random numbers; the same seed draws the same slices.")
    ] = 1,
    workers: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Processes to work with; all cores if left out.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Folder for spread.csv, spread.json, slices.npz and pictures; work that was stopped goes on from there.",
        ),
    ] = None,
    units: Annotated[
        str | None, typer.Option(metavar="metric|us", help="Units to print in; else as the batch says.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the summary, as JSON in SI.")] = False,
) -> None:
    """Simulate thousands of slices that differ as real ones do: how many are done when, and what makes them differ."""
    one_thread()
    from dryingsim.batch.checks import check_range
    from dryingsim.batch.reading.batch_file import load_batch, load_document
    from dryingsim.explore.sampling import read_uncertainties

    check_units(units)
    cores = worker_count(workers)
    check_range("--seed", seed, seed, 0, 2**32 - 1, "0 to 4294967295")
    batch = load_batch(file)
    uncertainties = read_uncertainties(load_document(file), str(file), batch.learned)

    from dryingsim.engine.checkpoints import forget
    from dryingsim.engine.executors import processes
    from dryingsim.explore import spread as engine
    from dryingsim.show.files import prepare_directory
    from dryingsim.show.spread_text import spread_json, spread_table, spread_text, write_spread
    from dryingsim.show.tables import print_tables

    if out:
        prepare_directory(out)
    with bar(float(slices), hidden=quiet or as_json, patience_s=0.0) as show:
        try:
            found = engine.spread(
                batch,
                uncertainties,
                slices=slices,
                seed=seed,
                executor=processes(cores),
                folder=out,
                progress=counted(show, "the batch and its air", "slices"),
                notice=lambda sentence: typer.echo(f"dryingsim: {sentence}", err=True),
            )
        except (KeyboardInterrupt, SystemExit):
            if out:
                typer.echo(
                    f"What is finished is kept in {out}; the same command goes on from there.", err=True
                )
            raise
    if as_json:
        typer.echo(spread_json(found), nl=False)
    else:
        if not quiet:
            print_tables(found.title, [spread_table(found, units)])
            typer.echo()
        typer.echo(spread_text(found, units))
    if out:
        save(lambda: write_spread(found, out, units), announce=not (quiet or as_json))
        forget(out)
