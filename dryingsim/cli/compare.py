"""`dryingsim compare`: batches side by side, or one batch with one of its parameters varied."""

from collections import Counter
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.cli.options import AsJson, Details, EnergyPrice, Pictures, Quiet, Units, out_folder
from dryingsim.cli.shared import Screen, bar, check_out
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from dryingsim.batch.schema import Batch
    from dryingsim.explore.compare import Comparison
    from dryingsim.explore.vary import Variation
    from dryingsim.judge.energy import Price

_AT_A_GLANCE = 12  # letters of a title that a first screen shows at the least


def compare(
    files: Annotated[
        list[Path] | None, typer.Argument(metavar="BATCH.toml...", help="The batches; one with --vary.")
    ] = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="KEY=VALUES",
            help='Vary one parameter of the one batch: "meat.thickness = 3 mm to 8 mm in 6", '
            '"stage.2.air = 60, 65, 70 degC".',
        ),
    ] = None,
    out: Annotated[Path | None, out_folder("comparison.csv, comparison.json and a picture")] = None,
    pictures: Pictures = "png",
    units: Units = None,
    price: EnergyPrice = None,
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Simulate batches side by side: appliances, schedules, or one batch with something varied."""
    paths = _checked(files or [], vary or [])

    from dryingsim.judge.energy import read_price
    from dryingsim.show.compare.files import comparison_document, write_comparison

    paid = read_price("--price", price) if price is not None else None
    simulate, count = _varied(paths[0], vary[0], paid) if vary else _together(paths, paid)
    check_out(out, pictures)
    screen = Screen(quiet, as_json, details)
    with bar(count, hidden=screen.bare) as show:
        runs = simulate(_tick(show, count))
    for remark in runs.remarks:
        typer.echo(f"Note: {remark}.", err=True)
    screen.show(comparison_document(runs, units))
    if out:
        screen.save(lambda: write_comparison(runs, out, units, pictures=pictures))


def _checked(files: list[Path], vary: list[str]) -> list[Path]:
    """Return the files; raise where their number does not go with what is asked."""
    if len(vary) > 1:
        raise InputError("--vary can be given once only: one parameter is varied at a time")
    if not files:
        raise InputError("no batch file: two or more are expected, or one with --vary")
    if vary and len(files) > 1:
        raise InputError(f"--vary goes with one batch file; there are {len(files)}")
    if not vary and len(files) == 1:
        raise InputError(f"{files[0]} alone cannot be compared: give another batch file, or --vary")
    return files


def _together(
    files: list[Path], price: "Price | None"
) -> "tuple[Callable[[Callable[[int, float], None] | None], Comparison | Variation], int]":
    """Read the batches; return what simulates them, and their number."""
    from dryingsim.batch.reading.batch_file import load_batch

    batches = _told_apart(files, [load_batch(file) for file in files])
    from dryingsim.explore.compare import compare

    return lambda tick: compare(batches, price=price, progress=tick), len(batches)


def _told_apart(files: list[Path], batches: "list[Batch]") -> "list[Batch]":
    """Return the batches, with the file's name before titles that begin alike: a row of a table has room for no more."""
    begin = Counter(batch.name[:_AT_A_GLANCE] for batch in batches)
    stems = Counter(file.stem for file in files)
    names = [file.stem if stems[file.stem] == 1 else str(file) for file in files]
    return [
        batch if begin[batch.name[:_AT_A_GLANCE]] == 1 else replace(batch, name=f"{name}: {batch.name}")
        for batch, name in zip(batches, names, strict=True)
    ]


def _varied(
    file: Path, request: str, price: "Price | None"
) -> "tuple[Callable[[Callable[[int, float], None] | None], Comparison | Variation], int]":
    """Read the batch with each of the values; return what simulates them, and their number."""
    from dryingsim.batch.reading.batch_file import load_batch
    from dryingsim.explore.vary import load_varied, read_request, vary_batches

    key, values = read_request("--vary", request)
    of_values = load_varied(file, key, values)
    simulate = partial(vary_batches, key, values, of_values, meant=load_batch(file), price=price)
    return lambda tick: simulate(progress=tick), len(values)


def _tick(show: "Callable[[float, str], None]", count: int) -> "Callable[[int, float], None]":
    """Return a function that shows which run is at what simulated time."""
    from dryingsim.show.core.quantities import clock

    return lambda index, simulated_s: show(
        index, f"run {index + 1} of {count}, simulated time {clock(simulated_s)} h"
    )
