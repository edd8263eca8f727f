"""The command `dryingsim`: its subcommands, and the one place where an error becomes a line on the screen."""

import sys
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from dryingsim import __version__
from dryingsim.cli.compare import compare
from dryingsim.cli.firm import firm
from dryingsim.cli.list import app as list_app
from dryingsim.cli.load import load
from dryingsim.cli.marinate import marinate
from dryingsim.cli.measure import app as measure_app
from dryingsim.cli.new import new
from dryingsim.cli.run import run
from dryingsim.cli.sheet import sheet
from dryingsim.cli.spread import spread
from dryingsim.cli.store import store
from dryingsim.cli.thermometer import thermometer
from dryingsim.errors import InputError, SolverError


class OneLineErrors(TyperGroup):
    """Commands whose expected failures come out as one line on stderr, never as a traceback.

    Exit codes: 2 for input that cannot be used, 1 for equations that could not be solved, 130 for Ctrl-C.
    """

    def main(self, *args: Any, **options: Any) -> Any:
        """Begin: what is wrong with the words typed is told in one line too."""
        alone = options.pop("standalone_mode", True)
        options["standalone_mode"] = False
        try:
            code = super().main(*args, **options)
        except Exception as error:
            # the command-line library's own errors; their class has another home in each of its versions
            if not alone or not hasattr(error, "format_message"):
                raise
            code = _usage(error)
        if not alone:
            return code
        sys.exit(code if isinstance(code, int) else 0)

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was asked for."""
        try:
            return super().invoke(ctx)
        except InputError as error:
            code, message = 2, str(error)
        except SolverError as error:
            code, message = 1, str(error)
        except KeyboardInterrupt:
            code, message = 130, "stopped"
        typer.echo(f"dryingsim: {' '.join(message.split())}", err=True)
        raise typer.Exit(code)


def _usage(error: Any) -> int:
    """Tell what is wrong with the words typed; return the exit code."""
    message, place = error.format_message(), getattr(error, "ctx", None)
    if "\n" in message.strip() or not message:  # nothing was typed: the help is the answer
        error.show()
    else:
        where = f"; see '{place.command_path} --help'" if place else ""
        typer.echo(f"dryingsim: {' '.join(message.split()).rstrip('.')}{where}", err=True)
    return int(error.exit_code)


app = typer.Typer(
    cls=OneLineErrors,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)


def _print_version(asked: bool) -> None:
    if asked:
        typer.echo(f"dryingsim {__version__}")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="Show the version and exit."),
    ] = False,
) -> None:
    """Predict what happens inside thin slices of meat while they dry."""


app.command()(new)
app.command()(firm)
app.command()(marinate)
app.command()(load)
app.command()(run)
app.command()(compare)
app.command()(spread)
app.command()(thermometer)
app.command()(store)
app.command()(sheet)
app.add_typer(list_app, name="list")
app.add_typer(measure_app, name="measure")
