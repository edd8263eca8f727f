"""`dryingsim learn`: what weighings while drying say about this kitchen, and when the batch is done."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.checks import show
from dryingsim.cli.options import AsJson, Details, Force, Quiet, Units
from dryingsim.cli.shared import Screen, bar, check_free, in_rounds
from dryingsim.errors import InputError
from dryingsim.show.core.writing import PICTURE_KINDS

if TYPE_CHECKING:
    from dryingsim.learn.fit import Fit
    from dryingsim.learn.forecast import Forecast

_USUAL_ROUNDS = 7  # of a fit, and what comes before and after it


def learn(
    file: Annotated[
        Path,
        typer.Argument(metavar="BATCH.toml", help="The batch; its [spread] says what is uncertain before."),
    ],
    logs: Annotated[
        list[Path],
        typer.Argument(
            metavar="LOG.csv...",
            help="Weighings: columns time and weight; tray, slice, tare, meat, air, note as there are. A pattern: "
            "examples/weigh_ins.csv. Several logs of one appliance count together; one of another batch says so in a line "
            "'# batch: FILE.toml', what a logger "
            "read meanwhile with '# logger: FILE.csv'. For 'logbook', name both alike: batch3.toml, batch3.csv.",
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
        typer.Option(metavar="FILE.png|FILE.svg", help="Draw the weighings and what is left over."),
    ] = None,
    force: Force = False,
    units: Units = None,
    details: Details = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Learn from weighings: when this batch is done, and what to expect of the next one.

    Works while the batch is drying: two weighings are enough for a first answer.
    """
    _check_targets(out, picture, force)
    from dryingsim.learn.forecast import forecast
    from dryingsim.learn.logs import put_together
    from dryingsim.learn.support import fit_supported
    from dryingsim.show.learn.text import learn_document

    screen = Screen(quiet, as_json, details)
    with bar(1.0, hidden=screen.bare, patience_s=0.0) as show:
        tell = in_rounds(show, _USUAL_ROUNDS)
        tell("the batch as it is meant")
        logged_batches, priors, notes = put_together(file, logs)
        supported = fit_supported(logged_batches, priors, progress=tell)
        fit, notes = supported.fit, (*notes, *filter(None, [supported.why]))
        tell("carrying on to the end")
        carried = [forecast(fit, i) for i in range(len(logged_batches))]
    screen.show(learn_document(fit, carried, notes, units))
    if out is not None or picture is not None:
        screen.save(lambda: _write(fit, carried, out, picture, units))
    if out is not None and not screen.bare:
        typer.echo(f'In a batch file: [learned] with file = "{out}"')


def _check_targets(out: Path | None, picture: Path | None, force: bool) -> None:
    """Complain of files that are there, or cannot be drawn, before the work, not after it."""
    for path in (out, picture):
        check_free(path, force=force)
        if path is not None and not path.parent.is_dir():
            raise InputError(f"{path}: there is no folder {path.parent}")
    if out is not None and out.suffix.lower() != ".toml":
        raise InputError(f"--out = {show(str(out))}: a name that ends in .toml is expected")
    if picture is not None and _kind(picture) not in PICTURE_KINDS:
        endings = " or ".join(f".{kind}" for kind in PICTURE_KINDS)
        raise InputError(f"--picture = {show(str(picture))}: a name that ends in {endings} is expected")


def _kind(picture: Path) -> str:
    return picture.suffix.lower().removeprefix(".")


def _write(
    fit: "Fit",
    carried: "list[Forecast]",
    out: Path | None,
    target: Path | None,
    units: str | None,
) -> list[Path]:
    from dryingsim.history.provenance import attributes
    from dryingsim.learn.estimates import learned_file
    from dryingsim.show.core.writing import picture, write_whole

    contents: list[tuple[Path, bytes]] = []
    if target is not None:
        from dryingsim.show.learn.pictures import learn_figure  # slow to import

        logged = [part.logged for part in fit.problem.parts]
        made = attributes(logged[0].batch, logged[0].batch.name, logs=[one.log.name for one in logged])
        contents.append((target, picture(lambda: learn_figure(fit, carried, units), made, _kind(target))))
    if out is not None:
        contents.append((out, learned_file(fit, out.name)))
    return [write_whole(path, content) for path, content in contents]
