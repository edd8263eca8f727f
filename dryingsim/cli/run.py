"""`dryingsim run`: simulate a batch, print its answers, and write the results if asked to."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.cli.shared import bar, batch_of, check_units, one_thread, save, tell_demonstration, watched
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.schema import Batch
    from dryingsim.judge.energy import Price
    from dryingsim.judge.remedies import Remedy


def run(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="BATCH.toml", help="The batch; without it, a demonstration."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Folder for history.csv, summary.json and pictures; those of an earlier run are replaced.",
        ),
    ] = None,
    units: Annotated[
        str | None, typer.Option(metavar="metric|us", help="Units to print in; else as the batch says.")
    ] = None,
    price: Annotated[
        str | None, typer.Option(metavar="PRICE", help='Of the energy, for example "0.30 EUR/kWh".')
    ] = None,
    meat_price: Annotated[
        str | None, typer.Option(metavar="PRICE", help='Of the raw meat, for example "12.50 USD/lb".')
    ] = None,
    ingredients: Annotated[
        str | None, typer.Option(metavar="AMOUNT", help='Cost of the marinade, for example "3 EUR".')
    ] = None,
    remedies: Annotated[
        bool,
        typer.Option(
            "--remedies", help="Simulate what would kill more bacteria: six changes, one at a time."
        ),
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the summary, as JSON in SI.")] = False,
) -> None:
    """Simulate a batch: when it is done, what it weighs then, how hot the meat gets, what that does to bacteria."""
    one_thread()
    check_units(units)
    batch = batch_of(file)

    from dryingsim.judge.doneness import judge_batch
    from dryingsim.judge.yield_and_cost import judge_yield, read_amount, read_meat_price
    from dryingsim.show.answer_text import answer_text, remedy_text
    from dryingsim.show.files import prepare_directory, summary_json, write_results
    from dryingsim.show.product_text import texture_sentences, yield_sentences
    from dryingsim.show.tables import print_table, wrapped
    from dryingsim.simulate import run as simulate

    paid = None if price is None else _energy_price(price, batch)
    meat = read_meat_price("--meat-price", meat_price) if meat_price is not None else None
    extras = read_amount("--ingredients", ingredients) if ingredients is not None else None
    if out:
        prepare_directory(out)
    tell_demonstration(file)
    with watched(batch, hidden=quiet or as_json) as tick:
        history = simulate(batch, progress=tick)
        answers = judge_batch(history)
    product = judge_yield(history, answers, meat, extras, paid)
    if not as_json:
        if not quiet:
            print_table(history, units)
            typer.echo()
        typer.echo(answer_text(history, answers, units, paid))
        costs = meat is not None or extras is not None  # asked for, so told in any mode
        told = [] if quiet else texture_sentences(history, answers, units)
        if costs or not quiet:
            told = [*told, *yield_sentences(history, product, units)]
        if told:
            typer.echo("\n" + "\n".join(map(wrapped, told)))
    tried = _remedies(batch, hidden=quiet or as_json) if remedies else None
    if as_json:
        typer.echo(summary_json(history, answers, paid, tried, product), nl=False)
    elif tried:
        typer.echo("\n" + remedy_text(tried, units))
    if out:
        save(
            lambda: write_results(history, answers, out, units, paid, tried, product),
            announce=not (quiet or as_json),
        )


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
