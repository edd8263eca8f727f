"""`dryingsim run`: simulate a batch, print its answers, and write the results if asked to."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.cli.options import AsJson, BatchOrDemo, EnergyPrice, Quiet, Remedies, Units, out_folder
from dryingsim.cli.shared import Screen, bar, batch_of, tell_demonstration, watched
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.schema import Batch
    from dryingsim.history import History
    from dryingsim.judge.doneness import Answers
    from dryingsim.judge.energy import Price
    from dryingsim.judge.remedies import Remedy
    from dryingsim.judge.yield_and_cost import Yield
    from dryingsim.kitchen.loads import Loads


def run(
    file: BatchOrDemo = None,
    out: Annotated[
        Path | None,
        out_folder("history.csv, summary.json and pictures", "those of an earlier run are replaced"),
    ] = None,
    units: Units = None,
    price: EnergyPrice = None,
    meat_price: Annotated[
        str | None, typer.Option(metavar="PRICE", help='Of the raw meat, for example "12.50 USD/lb".')
    ] = None,
    ingredients: Annotated[
        str | None, typer.Option(metavar="AMOUNT", help='Cost of the marinade, for example "3 EUR".')
    ] = None,
    remedies: Remedies = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Simulate a batch: when it is done, what it weighs then, how hot the meat gets, what that does to bacteria."""
    whole = batch_of(file)

    from dryingsim.batch.money import read_amount, read_meat_price
    from dryingsim.judge.doneness import judge_batch
    from dryingsim.judge.yield_and_cost import judge_yield
    from dryingsim.kitchen.loads import loads_of
    from dryingsim.show.core.tables import print_table
    from dryingsim.show.run.files import prepare_directory, summary_json, write_results
    from dryingsim.show.run.text import answer_text, remedy_text
    from dryingsim.simulate import run as simulate

    loads = loads_of(whole)
    batch = loads.one
    paid = None if price is None else _energy_price(price, batch)
    meat = read_meat_price("--meat-price", meat_price) if meat_price is not None else None
    extras = read_amount("--ingredients", ingredients) if ingredients is not None else None
    if out:
        prepare_directory(out)
    tell_demonstration(file)
    screen = Screen(quiet, as_json)
    with watched(batch, hidden=screen.bare) as tick:
        history = simulate(batch, progress=tick)
        answers = judge_batch(history)
    product = judge_yield(history, answers, meat, extras, paid, loads.count)
    if not screen.bare:
        print_table(history, units)
        typer.echo()
    if not as_json:  # remedies take a while: the answers do not wait for them
        costs = meat is not None or extras is not None  # asked for, so told in any mode
        _print_loads(loads, answers, float(history.time_s[-1]), units)
        typer.echo(answer_text(history, answers, units, paid))
        _print_product(history, answers, product, units, whole=not quiet, costs=costs or not quiet)
    tried = _remedies(batch, hidden=screen.bare) if remedies else None
    if as_json:
        typer.echo(summary_json(history, answers, paid, tried, product), nl=False)
    elif tried:
        typer.echo("\n" + remedy_text(tried, units))
    if out:
        screen.save(lambda: write_results(history, answers, out, units, paid, tried, product))


def _print_loads(loads: "Loads", answers: "Answers", end_s: float, units: str | None) -> None:
    """Print how a batch that the trays do not hold is dried."""
    from dryingsim.show.core.kitchen_units import paragraphs
    from dryingsim.show.kitchen.loading_text import loads_sentences

    told = loads_sentences(loads, answers, end_s, units or loads.batch.display)
    if told:
        typer.echo(paragraphs(told) + "\n")


def _print_product(
    history: "History", answers: "Answers", product: "Yield", units: str | None, *, whole: bool, costs: bool
) -> None:
    """Print how the finished meat bends, what a serving of it holds, and what it weighs and costs."""
    from dryingsim.judge.serving import serving_of
    from dryingsim.kitchen.marinade import marinated_batch
    from dryingsim.show.core.tables import wrapped
    from dryingsim.show.kitchen.marinade_text import soak_sentences
    from dryingsim.show.kitchen.product_text import texture_sentences, yield_sentences
    from dryingsim.show.kitchen.serving_words import serving_sentences

    batch = history.batch
    marinated = marinated_batch(batch)
    serving = serving_of(batch.meat.composition, batch.marinade, product.share)
    sentences = [
        *(texture_sentences(history, answers, units) if whole else []),
        *(yield_sentences(history, product, units) if costs else []),
        *(soak_sentences(marinated, units or batch.display, whole=whole) if marinated else []),
        *(serving_sentences(serving) if whole else []),
    ]
    if sentences:
        typer.echo("\n" + "\n".join(map(wrapped, sentences)))


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
