"""`dryingsim list`: what the package knows by name."""

import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from dryingsim.cli.options import AsJson
from dryingsim.show.core.outlet import console_on

if TYPE_CHECKING:
    from rich.console import Console

    from dryingsim.batch.appliance_description import Description

_WIDTH = 100  # columns of the wider tables, and where nobody says how wide the screen is

app = typer.Typer(no_args_is_help=True, help="Show what is known by name.")


@app.callback()
def main() -> None:
    """Show what is known by name."""


@app.command(epilog="Example: dryingsim list cuts")
def cuts(as_json: AsJson = False) -> None:
    """Show the cuts of meat and their composition."""
    from rich import box
    from rich.table import Table

    from dryingsim.batch.catalog.cuts import all_cuts, source

    if as_json:
        _print_json({"source": source(), "cuts": [asdict(cut) for cut in all_cuts().values()]})
        return
    table = Table("cut", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("water %", "protein %", "fat %", "ash %", "NDB no."):
        table.add_column(heading, justify="right")
    for cut in all_cuts().values():
        parts = (cut.water, cut.protein, cut.fat, cut.ash)
        table.add_row(cut.name, *(f"{part:.2f}" for part in parts), f"{cut.ndb:05d}")
    console = console_on(sys.stdout)
    console.print(table)
    console.print(
        f"Raw, percent by weight as printed in the {source()}. The parts sum to 99-101 % there, each "
        "analysed on its own; they are scaled to 100 % on reading."
    )


@app.command(epilog='Example: dryingsim list appliances "oven with fan"')
def appliances(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="One of them, to show its parameters.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show the kinds of appliances, or every parameter of one with its range and source."""
    from dryingsim.batch.catalog.appliances import all_appliances, find_appliance

    if as_json:
        told = list(all_appliances().values()) if name is None else [find_appliance("NAME", name)]
        _print_json({"appliances": [_values(one) for one in told]})
        return
    console = console_on(sys.stdout)
    if not console.is_terminal:
        console.width = _WIDTH
    if name is None:
        _print_kinds(console, list(all_appliances().values()))
    else:
        _print_parameters(console, find_appliance("NAME", name))


def _print_json(data: dict[str, Any]) -> None:
    import json

    typer.echo(json.dumps(data, indent=2, ensure_ascii=False))


def _values(one: "Description") -> dict[str, Any]:
    """Return the parameters of an appliance: value and range in SI where they are numbers, and the source."""
    return {
        "name": one.name,
        "about": one.about,
        "parameters": {
            key: {"value": entry.si, "text": entry.text, "range": entry.span_si, "source": entry.source}
            for key, entry in one.entries.items()
        },
    }


def _print_kinds(console: "Console", known: "list[Description]") -> None:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("name", no_wrap=True)
    for heading in ("trays", "flow", "heater", "air m3/h", "fresh m3/h"):
        table.add_column(heading, justify="left" if heading == "flow" else "right", no_wrap=True)
    table.add_column("", ratio=1)
    for one in known:
        fresh = one.si("air.vents") + one.si("air.leak")
        numbers = (f"{3600.0 * one.si('air.circulation'):.0f}", f"{3600.0 * fresh:.3g}")
        heater = one.entries["heater.power"].text
        table.add_row(one.name, f"{one.si('trays.slots')}", one.si("air.path"), heater, *numbers, one.about)
    console.print(table)
    console.print(
        "air: what passes all trays together. fresh: of the room, door shut. Most numbers are estimates: "
        "'dryingsim list appliances NAME' shows each with its range and source.",
    )


def _print_parameters(console: "Console", one: "Description") -> None:
    from rich import box
    from rich.table import Table

    table = Table("parameter", "value", "range", "source", box=box.SIMPLE_HEAD, pad_edge=False)
    group = ""
    for key, entry in one.entries.items():
        if key.split(".")[0] != group and group:
            table.add_section()
        group = key.split(".")[0]
        table.add_row(key, entry.text, entry.span_text, entry.source)
    console.print(f"{one.name}: {one.about}", markup=False)
    console.print()
    console.print(table)
    console.print(
        "Change any of them in a batch file, in [appliance] beside 'use': heater.power = \"600 W\".",
        markup=False,
    )
