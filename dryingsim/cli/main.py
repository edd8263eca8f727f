"""The command `dryingsim`: its subcommands, and the one place where an error becomes a line on the screen."""

import gc
import re
import sys
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from dryingsim._version import __version__
from dryingsim.batch.checks import nearest
from dryingsim.cli.compare import compare
from dryingsim.cli.examples import examples
from dryingsim.cli.firm import firm
from dryingsim.cli.handout import handout
from dryingsim.cli.learn import learn
from dryingsim.cli.list import app as list_app
from dryingsim.cli.load import load
from dryingsim.cli.logbook import logbook
from dryingsim.cli.map import map as map_
from dryingsim.cli.marinate import marinate
from dryingsim.cli.measure import app as measure_app
from dryingsim.cli.new import new
from dryingsim.cli.outcome import outcome, outlets
from dryingsim.cli.plan import plan
from dryingsim.cli.record import record
from dryingsim.cli.report import report
from dryingsim.cli.run import run
from dryingsim.cli.shared import end_orderly, one_thread
from dryingsim.cli.sheet import sheet
from dryingsim.cli.spread import spread
from dryingsim.cli.store import store
from dryingsim.cli.thermometer import thermometer
from dryingsim.errors import OutputError

# what the command-line library says, in any of its versions
_EXTRA = re.compile(r"Got unexpected extra arguments?(?:\(s\))? \((.*)\)")
_NO_NUMBER = re.compile(r"Invalid value for '([^']+)': .*valid (integer|number|float)")
_NO_OPTION = re.compile(r"No such option:? '?(--?[^\s.()']+)")
_FEW = 4  # commands that have an option; more are not worth listing
_LONG_WORD = re.compile(r"(\S{60})[^\s')]{20,}")


class OneLineErrors(TyperGroup):
    """Commands whose expected failures come out as one line on stderr, never as a traceback.

    Exit codes: 2 for input that cannot be used, 1 for what could not be done, 130 for Ctrl-C, 143 for SIGTERM.
    """

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        _tell_whole(self)

    def main(self, *args: Any, **options: Any) -> Any:
        """Begin: what is wrong with the words typed is told in one line too."""
        alone = options.pop("standalone_mode", True)
        options["standalone_mode"] = False
        with outlets() as heard:
            try:
                if not heard:
                    raise OutputError("standard output is closed: there is nowhere to print to")
                code = super().main(*args, **options)
                sys.stdout.flush()
            except Exception as error:
                ended = _ended(error) if alone else None
                if ended is None:
                    raise
                code = ended
        if not alone:
            return code
        sys.exit(code if isinstance(code, int) else 0)

    def invoke(self, ctx: Any) -> Any:
        """Run the command that was asked for."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt as stop:  # the library would print an empty line for it
            raise typer.Abort from stop


def _ended(error: Exception) -> int | None:
    """Tell in one line why a command ended before it was done; return its exit code, or None for a fault of the program."""
    if hasattr(
        error, "format_message"
    ):  # of the command-line library, whose classes move between its versions
        return _usage(error)
    end = outcome(error)
    if end is None:
        return None
    typer.echo(f"dryingsim: {' '.join(end[1].split())}", err=True)
    return end[0]


def _tell_whole(group: Any) -> None:
    """Let lists of commands tell their first sentences whole."""
    for one in group.commands.values():
        one.short_help = (one.help or "").partition("\n\n")[0]
        if hasattr(one, "commands"):
            _tell_whole(one)


def _usage(error: Any) -> int:
    """Tell what is wrong with the words typed; return the exit code."""
    message, place = error.format_message(), getattr(error, "ctx", None)
    if "\n" in message.strip() or not message:  # nothing was typed: the help is the answer
        error.show()
    else:
        plain = " ".join(message.split()).rstrip(".")
        unknown = _NO_OPTION.match(plain)
        said = _no_option(unknown[1], place) if unknown and place else _plainly(plain)
        sentence = _LONG_WORD.sub(r"\1...", said)
        where = (
            f"{' See' if sentence.endswith('?') else '; see'} '{place.command_path} --help'" if place else ""
        )
        typer.echo(f"dryingsim: {sentence}{where}", err=True)
    return int(error.exit_code)


def _no_option(typed: str, place: Any) -> str:
    """Return what is told of an option that a command does not have: who has it, or which one was meant."""
    root = place.find_root()
    holders = [name for name, one in getattr(root.command, "commands", {}).items() if typed in _options(one)]
    here = f"'{place.command_path}' has no option {typed}"
    if holders and len(holders) < _FEW:
        return (
            f"{here}; "
            + " and ".join(f"'dryingsim {name}'" for name in holders)
            + (" has it" if len(holders) == 1 else " have it")
        )
    near = nearest(typed.strip("-"), [name.strip("-") for name in _options(place.command)])
    return here + (f"; did you mean '--{near}'?" if near else "")


def _options(command: Any) -> list[str]:
    return [option for one in command.params for option in one.opts if option.startswith("--")]


def _plainly(message: str) -> str:
    """Return a message of the command-line library in the words of who typed the command.

    Examples
    --------
    >>> _plainly("Got unexpected extra argument(s) (kg)")
    'kg is a word too many; what has a blank in it stands in quotes, as in --weight "0.7 kg"'
    >>> _plainly("Got unexpected extra argument (b.toml)")
    'b.toml is a file too many'
    >>> _plainly("Invalid value for '--slices': Input should be a valid integer, unable to parse string")
    '--slices: a whole number is expected'
    """
    extra, number = _EXTRA.fullmatch(message), _NO_NUMBER.match(message)
    if extra and extra[1].lower().endswith((".toml", ".csv")):
        return f"{extra[1]} is a file too many"
    if extra:
        return (
            f'{extra[1]} is a word too many; what has a blank in it stands in quotes, as in --weight "0.7 kg"'
        )
    if number:
        return f"{number[1]}: a {'whole ' if number[2] == 'integer' else ''}number is expected"
    return message


app = typer.Typer(
    cls=OneLineErrors,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help: boxes would double the time until it is there
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
    end_orderly()
    one_thread()
    # hardly anything is left in circles, and looking for them takes a twentieth of the time of `run` with pictures
    gc.set_threshold(50_000)


# every command, with the example that its help ends with
for command, example in (
    (new, "new mine.toml"),
    (examples, "examples"),
    (firm, 'firm --thickness "60 mm" --width "90 mm" --length "150 mm"'),
    (marinate, "marinate --new soak.toml"),
    (load, 'load --weight "0.7 kg" --thickness "5 mm" --length "120 mm" --width "50 mm"'),
    (run, "run mine.toml --out mine"),
    (compare, 'compare mine.toml --vary "stage.2.air = 60, 65, 70 degC"'),
    (spread, "spread mine.toml --slices 1000 --out spread"),
    (
        map_,
        'map mine.toml --over "meat.thickness = 3 to 8 mm in 11" --over "stage.2.air = 55 to 70 degC in 7"',
    ),
    (learn, "learn mine.toml weighings.csv --out learned.toml"),
    (logbook, "logbook my_batches"),
    (plan, "plan mine.toml --out planned"),
    (thermometer, "thermometer log.csv --species beef"),
    (store, 'store mine.toml --package "jar" --for "60 days"'),
    (sheet, "sheet mine.toml -o sheet.pdf"),
    (report, "report mine.toml -o batch.html"),
    (handout, "handout mine.toml -o class.html"),
    (record, 'record mine.toml log.csv --lot "12" -o record.pdf'),
):
    app.command(epilog=f"Example: dryingsim {example}")(command)
app.add_typer(list_app, name="list")
app.add_typer(measure_app, name="measure")
