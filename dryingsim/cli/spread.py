"""`dryingsim spread`: many slices of a batch, no two alike."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from dryingsim.cli.options import AsJson, Details, Pictures, Quiet, Scheduler, Units, Workers, out_folder
from dryingsim.cli.shared import Screen, bar, check_out, counted, crew, worker_count

if TYPE_CHECKING:
    from dryingsim.explore.sampling import Points


def spread(
    file: Annotated[
        Path, typer.Argument(metavar="BATCH.toml", help="The batch; its [spread] says what is uncertain.")
    ],
    slices: Annotated[int, typer.Option(help="How many slices to simulate, at least.")] = 4000,
    seed: Annotated[
        int, typer.Option(help="Of the random numbers; the same seed draws the same slices.")
    ] = 1,
    points: Annotated[
        str,
        typer.Option(
            help="How what is drawn fills the space: 'sobol' (a scrambled sequence) or 'latin' (a hypercube)."
        ),
    ] = "sobol",
    effects: Annotated[
        bool,
        typer.Option(
            "--effects",
            help="Simulate about as many slices again for first-order and total effects; see --details or the JSON.",
        ),
    ] = False,
    workers: Workers = None,
    scheduler: Scheduler = None,
    out: Annotated[
        Path | None,
        out_folder(
            "spread.csv, spread.json, slices.npz and a picture; work that was stopped goes on from there"
        ),
    ] = None,
    pictures: Pictures = "png",
    units: Units = None,
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Simulate thousands of slices that differ as real ones do: how many are done when, and what makes them differ."""
    from dryingsim.batch.checks import check_choice, check_range
    from dryingsim.batch.reading.batch_file import load_batch
    from dryingsim.kitchen.loads import loads_of

    worker_count(workers)
    check_range("--seed", seed, seed, 0, 2**32 - 1, "0 to 4294967295")
    check_choice("--points", points, ("sobol", "latin"))
    loads = loads_of(load_batch(file))
    batch = loads.one

    from dryingsim.engine.checkpoints import forget
    from dryingsim.explore.effects import effects as effects_of
    from dryingsim.explore.spread import spread as simulate
    from dryingsim.show.spread.text import spread_document, write_spread

    check_out(out, pictures)
    screen = Screen(quiet, as_json, details)
    with (
        bar(float(slices), hidden=screen.bare, patience_s=0.0) as show,
        _kept(out),
        crew(workers, scheduler) as pool,
    ):
        apart = effects_of(batch, slices=slices, seed=seed, executor=pool) if effects else None
        result = simulate(
            batch,
            slices=slices,
            seed=seed,
            points=cast("Points", points),
            executor=pool,
            folder=out,
            progress=counted(show, "the batch and its air", "slices"),
            notice=lambda sentence: typer.echo(f"dryingsim: {sentence}", err=True),
        )
    result = replace(result, effects=apart)
    if loads.count > 1:
        typer.echo(f"Note: the trays do not hold the batch; this is one of {loads.count} loads.", err=True)
    screen.show(spread_document(result, units))
    if out:
        screen.save(lambda: write_spread(result, out, units, pictures=pictures))
        forget(out)


@contextmanager
def _kept(folder: Path | None) -> Iterator[None]:
    """Say where what is finished is kept, when the work is stopped."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        if folder:
            typer.echo(
                f"What is finished is kept in {folder}; the same command goes on from there.", err=True
            )
        raise
