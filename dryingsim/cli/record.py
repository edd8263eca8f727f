"""`dryingsim record`: what was meant, measured and estimated of a batch, against limits, with room to sign."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.logged_batch import estimated, logs_read
from dryingsim.cli.options import Force, Units
from dryingsim.cli.shared import bar, in_rounds, page_of, save
from dryingsim.errors import InputError

_ENDINGS = (".html", ".htm", ".pdf", ".json")
_ROUNDS_OF_LOG = 5  # of the fit of each, and of what is estimated with it


def record(
    file: Annotated[Path, typer.Argument(metavar="BATCH.toml", help="The batch as it was meant.")],
    logs: Annotated[
        list[Path],
        typer.Argument(
            metavar="LOG.csv...",
            help="Readings of the meat and the air beside it, as for 'thermometer': one for each probe (the same file "
            "twice, with --columns for each), and loggers of the air alone, put beside by their clocks. "
            "The worst one counts.",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE.html|pdf|json",
            help="Where to write it; else beside the batch file, as BATCH-record.html.",
        ),
    ] = None,
    lot: Annotated[str | None, typer.Option(metavar="TEXT", help="The lot, as you number it.")] = None,
    limits: Annotated[
        Path | None,
        typer.Option(metavar="LIMITS.toml", help="Limits of another country."),
    ] = None,
    columns: Annotated[
        list[str] | None,
        typer.Option(
            metavar="WHAT=COLUMN,...", help="As for 'thermometer'; once for all logs, or once for each."
        ),
    ] = None,
    dates: Annotated[str | None, typer.Option(metavar="ORDER", help="As for 'thermometer'.")] = None,
    begin: Annotated[
        str | None, typer.Option("--from", metavar="TIME", help="When the cold meat went in.")
    ] = None,
    until: Annotated[str | None, typer.Option(metavar="TIME", help="When it was taken out.")] = None,
    thickness: Annotated[
        list[str] | None,
        typer.Option(
            metavar="LENGTH", help="Of the raw slice that holds the probe; once, or once for each probe."
        ),
    ] = None,
    tray: Annotated[
        list[int] | None, typer.Option(metavar="NUMBER", help="Where that slice lies; likewise.")
    ] = None,
    weighings: Annotated[
        Path | None,
        typer.Option(
            metavar="WEIGHTS.csv",
            help="Weights taken meanwhile, as for 'learn'; where slices differ in thickness, of one like the probed slice, by "
            "itself (column 'slice').",
        ),
    ] = None,
    reads_high: Annotated[
        list[str] | None,
        typer.Option(
            metavar="DIFF",
            help="By how much the probe may read too high; taken off its readings. Once, or once for each probe.",
        ),
    ] = None,
    units: Units = None,
    force: Force = False,
) -> None:
    """Write a record of a batch: readings against limits, estimates, deviations, blanks to sign. It is no approval."""
    target = page_of(file, out, _ENDINGS, force=force, kind="-record")
    if lot is not None and not lot.strip():
        raise InputError("--lot is empty; leave it out for a blank to fill in")
    from dryingsim.batch.catalog.critical_limits import critical_limits
    from dryingsim.show.core.quantities import Units as PrintedUnits
    from dryingsim.show.core.writing import write_whole
    from dryingsim.show.record.document import content_of, record_document

    against = critical_limits(limits)
    readings = logs_read(logs, columns, dates, (begin, until), reads_high)
    with bar(1.0, hidden=False, patience_s=0.0) as show:
        tell = in_rounds(show, 1 + _ROUNDS_OF_LOG * len(readings))
        tell("the batch as it is meant")
        estimates = estimated(readings, file, thickness, tray, weighings, tell)
    batch = estimates[0].of.batch
    document = record_document(estimates, against, PrintedUnits(batch, units), lot)
    content = content_of(document, target.suffix.lower(), units or batch.display)
    save(lambda: [write_whole(target, content)], announce=True)
