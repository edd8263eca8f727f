"""`dryingsim list`: what the package knows by name."""

from typing import Annotated

import typer

from dryingsim.cli.options import AsJson, Details, UnitsWithoutFile
from dryingsim.cli.shared import Screen

app = typer.Typer(no_args_is_help=True, help="Show what is known by name.")


@app.callback()
def main() -> None:
    """Show what is known by name."""


@app.command(epilog="Example: dryingsim list cuts")
def cuts(details: Details = False, as_json: AsJson = False) -> None:
    """Show the cuts of meat and their composition."""
    from dryingsim.batch.catalog.cuts import all_cuts
    from dryingsim.show.kitchen.catalog_text import cuts_document

    Screen(as_json=as_json, details=details).show(cuts_document(list(all_cuts().values())))


@app.command(epilog='Example: dryingsim list appliances "oven with fan"')
def appliances(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="One of them, to show its parameters.")
    ] = None,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Show the kinds of appliances, or every parameter of one with its range and source."""
    from dryingsim.batch.catalog.appliances import all_appliances, find_appliance
    from dryingsim.show.kitchen.catalog_text import appliance_document, appliances_document

    screen = Screen(as_json=as_json, details=details)
    if name is None:
        screen.show(appliances_document(list(all_appliances().values()), units))
    else:
        screen.show(appliance_document(find_appliance("NAME", name), units))
