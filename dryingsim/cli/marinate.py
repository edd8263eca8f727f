"""`dryingsim marinate`: what meat takes up from a marinade, and what it tastes of when dry."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, Force, Units
from dryingsim.cli.shared import Screen, check_free, save
from dryingsim.errors import InputError
from dryingsim.show.core.writing import write_whole


def marinate(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="FILE.toml",
            help="The marinade, or a batch that tells its ingredients; without it, a demonstration.",
        ),
    ] = None,
    time: Annotated[
        str | None, typer.Option(metavar="TIME", help="In the marinade; else as the file says.")
    ] = None,
    new: Annotated[
        Path | None, typer.Option(metavar="FILE.toml", help="Write a commented file to start from, and stop.")
    ] = None,
    force: Force = False,
    ingredients: Annotated[
        bool, typer.Option("--ingredients", help="Show the ingredients known by name, and stop.")
    ] = False,
    units: Units = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Marinate: the salt and sugar that meat takes up over hours, and how strong they are when it is dry."""
    from dryingsim.batch.catalog.ingredients import start_text
    from dryingsim.batch.reading.marinade_file import load_marinade, parse_marinade
    from dryingsim.batch.writing.us_units import written_in

    if ingredients:
        _show_known()
        return
    if new is not None:
        if file is not None:
            raise InputError(f"--new writes a file to start from and reads none: leave out {file}")
        check_free(new, force=force)
        text = written_in(start_text(), units or "metric")
        save(lambda: [write_whole(new, text.encode())], announce=False)
        typer.echo(f"Wrote {new}. Change it to suit, then: dryingsim marinate {new}")
        return
    recipe = load_marinade(file) if file else parse_marinade(start_text(), "demo")
    if time is not None:
        from dataclasses import replace

        recipe = replace(recipe, time_s=to_si_within("--time", time, "duration", "1 min", "240 h"))

    from dryingsim.kitchen.marinade import marinate as work_out
    from dryingsim.show.kitchen.marinade_text import marinade_document

    if not file:
        typer.echo(
            "No file given: this is the demonstration; 'dryingsim marinate --new FILE.toml' writes it out.",
            err=True,
        )
    marinated = work_out(recipe)
    Screen(as_json=as_json, details=details).show(marinade_document(marinated, units or recipe.display))


def _show_known() -> None:
    from dryingsim.batch.catalog.ingredients import all_ingredients, from_elsewhere, source

    typer.echo(f"{'ingredient':30} {'water %':>8} {'salt %':>7} {'sugar %':>8} {'acid %':>7} {'g/tbsp':>7}")
    for one in all_ingredients().values():
        spoon = "" if one.tablespoon_kg is None else f"{1e3 * one.tablespoon_kg:.1f}"
        shares = (one.water, one.salt, one.sugar, one.acid)
        numbers = [f"{100.0 * value:{width}.1f}" for value, width in zip(shares, (8, 7, 8, 7), strict=True)]
        typer.echo(f"{one.name:30} {' '.join(numbers)} {spoon:>7}")
    typer.echo(f"\n{source()}; salt counted from sodium. Not from there:")
    for name, origin in from_elsewhere().items():
        typer.echo(f"- {name}: {origin}")
