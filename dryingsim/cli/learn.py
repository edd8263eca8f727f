"""`dryingsim learn`: what weighings while drying say about this kitchen, and when the batch is done."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.checks import show
from dryingsim.cli.shared import bar, check_free, check_units, one_thread, save
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.learn.fit import Fit
    from dryingsim.learn.forecast import Forecast

_PICTURES = (".png", ".svg")  # in the order of show.files.pictures


def learn(
    file: Annotated[
        Path,
        typer.Argument(metavar="BATCH.toml", help="The batch; its [spread] says what is in doubt before."),
    ],
    logs: Annotated[
        list[Path],
        typer.Argument(
            metavar="LOG.csv...",
            help="Weighings: columns time and weight; tray, slice, tare, meat, air, note as there are. A pattern: "
            "examples/weigh_ins.csv. Several logs of one appliance count together; one of another batch says so in a line "
            "'# batch: FILE.toml'.",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.toml",
            help="Write what was learned; later batches name it under [learned] as 'file'.",
        ),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="Draw the weighings and what is left over (png or svg)."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite files that are there.")] = False,
    units: Annotated[
        str | None, typer.Option(metavar="metric|us", help="Units to print in; else as the batch says.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print only the answers, no table.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only the answers, as JSON in SI.")] = False,
) -> None:
    """Learn from weighings: when this batch is done, and what to expect of the next one.

    Works while the batch is drying: two weighings are enough for a first answer.
    """
    one_thread()

    check_units(units)
    _check_targets(out, picture, force)
    from dryingsim.learn.forecast import forecast
    from dryingsim.learn.logs import put_together
    from dryingsim.learn.support import fit_supported
    from dryingsim.show.learn_text import errors_sentence, estimate_table, learn_json, learn_text, title_of
    from dryingsim.show.tables import print_tables, wrapped

    with bar(None, hidden=quiet or as_json, patience_s=0.0) as show:

        def tell(text: str) -> None:
            show(0.0, text)

        tell("the batch as it is meant")
        logged_batches, priors, notes = put_together(file, logs)
        supported = fit_supported(logged_batches, priors, progress=tell)
        found, notes = supported.fit, (*notes, *filter(None, [supported.why]))
        tell("carrying on to the end")
        carried = [forecast(found, i) for i in range(len(logged_batches))]
    if as_json:
        typer.echo(learn_json(found, carried, notes), nl=False)
    else:
        if not quiet:
            print_tables(title_of(found), [estimate_table(found, units)])
            typer.echo()
        typer.echo(learn_text(found, carried, notes, units))
        if not quiet:
            typer.echo("\n" + wrapped(errors_sentence()))
    if out is not None or picture is not None:
        save(lambda: _write(found, carried, out, picture, units), announce=not (quiet or as_json))
    if out is not None and not (quiet or as_json):
        typer.echo(f'In a batch file: [learned] with file = "{out}"')


def _check_targets(out: Path | None, picture: Path | None, force: bool) -> None:
    """Complain of files that are there, or cannot be drawn, before the work, not after it."""
    for path in (out, picture):
        check_free(path, force=force)
        if path is not None and not path.parent.is_dir():
            raise InputError(f"{path}: there is no folder {path.parent}")
    if out is not None and out.suffix.lower() != ".toml":
        raise InputError(f"--out = {show(str(out))}: a name that ends in .toml is expected")
    if picture is not None and picture.suffix.lower() not in _PICTURES:
        raise InputError(
            f"--picture = {show(str(picture))}: a name that ends in {' or '.join(_PICTURES)} is expected"
        )


def _write(
    found: "Fit",
    carried: "list[Forecast]",
    out: Path | None,
    picture: Path | None,
    units: str | None,
) -> list[Path]:
    from dryingsim.learn.estimates import learned_file
    from dryingsim.show.atomic_write import write_whole
    from dryingsim.show.files import pictures

    contents: list[tuple[Path, bytes]] = []
    if picture is not None:
        from dryingsim.show.learn_plots import learn_figure  # slow to import

        drawn = dict(zip(_PICTURES, pictures(lambda: learn_figure(found, carried, units)), strict=True))
        contents.append((picture, drawn[picture.suffix.lower()]))
    if out is not None:
        contents.append((out, learned_file(found, out.name)))
    return [write_whole(path, content) for path, content in contents]
