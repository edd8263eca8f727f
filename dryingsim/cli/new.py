"""`dryingsim new`: write a commented batch file to start from."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import UNITS_VARIABLE, Force, check_units
from dryingsim.cli.shared import check_free, save
from dryingsim.errors import InputError
from dryingsim.show.core.writing import write_whole


def new(
    file: Annotated[Path, typer.Argument(help="The file to write.")] = Path("batch.toml"),
    units: Annotated[
        str | None,
        typer.Option(
            metavar="metric|us",
            envvar=UNITS_VARIABLE,
            callback=check_units,
            help="Units that its batch is written and told in; metric if left out, with --ask those of the answers.",
        ),
    ] = None,
    ask: Annotated[
        bool,
        typer.Option("--ask", help="Ask for a batch of your own, a question a line; needs a terminal."),
    ] = False,
    force: Force = False,
) -> None:
    """Write a commented batch file to start from, or with --ask one of your own."""
    check_free(file, force=force)
    if ask and not at_terminal():
        raise InputError(
            f"--ask needs a terminal to ask at; without it, 'dryingsim new {file}' writes a commented file"
        )
    if ask:
        text = _asked(units)
    else:
        from dryingsim.batch.reading.batch_file import demo_text
        from dryingsim.batch.writing.us_units import written_in

        text = written_in(demo_text(), units or "metric")
    save(lambda: [write_whole(file, text.encode())], announce=False)
    typer.echo(f"Wrote {file}. Change it to suit, then: dryingsim run {file}")


def at_terminal() -> bool:
    """Whether there is somebody to ask."""
    return sys.stdin.isatty()


def _asked(chosen: str | None) -> str:
    """Return the batch file that answers make; what is not understood, or cannot be, is asked again.

    Units not chosen are those of what is typed.
    """
    from dryingsim.batch.catalog.questions import QUESTIONS, batch_text, suggested, units_typed
    from dryingsim.batch.reading.batch_file import parse_batch

    typer.echo("Enter takes what stands in brackets. Any unit will do: mm or inch, degC or degF.")
    answers, typed, units = dict[str, str](), dict[str, str](), chosen or "metric"
    for question in QUESTIONS:
        while True:
            default = suggested(question, units)
            answer = answers[question.key] = typer.prompt(question.words, default=default)
            typed |= {question.key: answer} if answer != default else {}
            units = chosen or units_typed(typed) or units
            try:
                parse_batch(batch_text(answers, units), "your answer")
            except InputError as problem:
                typer.echo(f"  {problem}", err=True)
            else:
                break
    return batch_text(answers, units)
