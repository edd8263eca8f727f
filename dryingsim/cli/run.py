"""`dryingsim run`: simulate a batch, print its answers, and write the results if asked to."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.cli.options import (
    AsJson,
    BatchOrDemo,
    Details,
    EnergyPrice,
    Force,
    Pictures,
    Quiet,
    Remedies,
    Units,
    out_folder,
)
from dryingsim.cli.shared import (
    Screen,
    bar,
    batch_of,
    check_free,
    check_out,
    save,
    tell_demonstration,
    watched,
)
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.schema import Batch
    from dryingsim.judge.energy import Price
    from dryingsim.judge.remedies import Remedy


def run(
    file: BatchOrDemo = None,
    out: Annotated[
        Path | None,
        out_folder("history.csv, summary.json and pictures", "those of an earlier run are replaced"),
    ] = None,
    pictures: Pictures = "png",
    units: Units = None,
    price: EnergyPrice = None,
    meat_price: Annotated[
        str | None, typer.Option(metavar="PRICE", help='Of the raw meat, for example "12.50 USD/lb".')
    ] = None,
    ingredients: Annotated[
        str | None, typer.Option(metavar="AMOUNT", help='Cost of the marinade, for example "3 EUR".')
    ] = None,
    remedies: Remedies = False,
    apply: Annotated[
        str | None,
        typer.Option(
            metavar="CHANGE", help="Make one of the changes that --remedies tries, and go on with it."
        ),
    ] = None,
    changed: Annotated[
        Path | None,
        typer.Option("--changed", "-o", metavar="FILE.toml", help="With --apply: write the changed batch."),
    ] = None,
    force: Force = False,
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Simulate a batch: what to do for safety, when it is ready, at what weight, what it will be like."""
    whole = _changed(batch_of(file, units), apply, changed, force=force)

    from dryingsim.answer import Answer, Prices
    from dryingsim.batch.money import read_amount, read_meat_price
    from dryingsim.kitchen.loads import loads_of
    from dryingsim.show.core.document import Document
    from dryingsim.show.run.data import summary
    from dryingsim.show.run.files import write_results
    from dryingsim.show.run.first_screen import remedy_document, run_document
    from dryingsim.simulate import run as simulate

    loads = loads_of(whole)
    batch = loads.one
    prices = Prices(
        energy=None if price is None else _energy_price(price, batch),
        meat=None if meat_price is None else read_meat_price("--meat-price", meat_price),
        ingredients=None if ingredients is None else read_amount("--ingredients", ingredients),
    )
    check_out(out, pictures)
    tell_demonstration(file)
    screen = Screen(quiet, as_json, details)
    with watched(batch, hidden=screen.bare) as tick:
        answer = Answer(simulate(batch, progress=tick), prices, loads)
    if not as_json:  # remedies take a while: the answers do not wait for them
        screen.show(run_document(answer, units))
    tried = _remedies(batch, hidden=screen.bare) if remedies else None
    if as_json:
        screen.show(Document(batch.name, [], lambda: summary(answer, tried)))
    elif tried:
        typer.echo()
        screen.show(remedy_document(tried, units))
    if out:
        screen.save(lambda: write_results(answer, out, units, tried, pictures=pictures))


def _changed(batch: "Batch", change: str | None, target: Path | None, *, force: bool) -> "Batch":
    """Return the batch with a change made, and write it if a file is named."""
    if change is None:
        if target is not None:
            raise InputError(
                "-o writes the batch that --apply changes: name a change, such as --apply 'heated first'"
            )
        return batch
    from dryingsim.judge.remedies import remedied
    from dryingsim.show.core.writing import write_whole

    check_free(target, force=force, option=" with -o")
    changed = remedied(batch, change)
    if target is not None:
        text = changed.to_toml()
        save(lambda: [write_whole(target, text.encode())], announce=False)
        typer.echo(
            f"Wrote {target}, a batch file: run, plan, print it as any other. Comments are not carried over.",
            err=True,
        )
    return changed


def _energy_price(typed: str, batch: "Batch") -> "Price":
    from dryingsim.judge.energy import read_price

    price = read_price("--price", typed)
    if batch.appliance is None:
        raise InputError("--price: this batch states its air and names no appliance, so no energy is counted")
    return price


def _remedies(batch: "Batch", *, hidden: bool) -> "list[Remedy]":
    from dryingsim.judge.remedies import remedies

    with bar(None, hidden=hidden, patience_s=0.0) as show:
        show(0.0, "simulating changes to the batch")  # nobody knows how far they are, so the bar only moves
        return remedies(batch)
