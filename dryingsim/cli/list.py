"""`dryingsim list`: what the package knows by name."""

import typer

app = typer.Typer(no_args_is_help=True, help="Show what is known by name.")


@app.callback()
def main() -> None:
    """Show what is known by name."""


@app.command()
def cuts() -> None:
    """Show the cuts of meat and their composition."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    from dryingsim.batch.catalog.cuts import all_cuts, source

    table = Table("cut", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("water %", "protein %", "fat %", "ash %", "NDB no."):
        table.add_column(heading, justify="right")
    for cut in all_cuts().values():
        parts = (cut.water, cut.protein, cut.fat, cut.ash)
        table.add_row(cut.name, *(f"{part:.2f}" for part in parts), f"{cut.ndb:05d}")
    console = Console(highlight=False)
    console.print(table)
    console.print(
        f"Raw, percent by weight as printed in the {source()}. The parts sum to 99-101 % there, each "
        "analysed on its own; they are scaled to 100 % on reading."
    )
