"""`dryingsim record`: what was meant, measured and estimated of a batch, against limits, with room to sign."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.logged_batch import estimated
from dryingsim.cli.options import Force, Units
from dryingsim.cli.shared import bar, page_of, save
from dryingsim.errors import InputError

_ENDINGS = (".html", ".htm", ".pdf", ".json")


def record(
    file: Annotated[Path, typer.Argument(metavar="BATCH.toml", help="The batch as it was meant.")],
    log: Annotated[
        Path,
        typer.Argument(
            metavar="LOG.csv", help="Readings of the meat and the air beside it, as for 'thermometer'."
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE.html|pdf|json", help="Where to write it; else beside the batch file."
        ),
    ] = None,
    lot: Annotated[str | None, typer.Option(metavar="TEXT", help="The lot, as you number it.")] = None,
    limits: Annotated[
        Path | None,
        typer.Option(metavar="LIMITS.toml", help="Limits of another country."),
    ] = None,
    columns: Annotated[
        str | None, typer.Option(metavar="WHAT=COLUMN,...", help="As for 'thermometer'.")
    ] = None,
    dates: Annotated[str | None, typer.Option(metavar="ORDER", help="As for 'thermometer'.")] = None,
    begin: Annotated[
        str | None, typer.Option("--from", metavar="TIME", help="When the cold meat went in.")
    ] = None,
    until: Annotated[str | None, typer.Option(metavar="TIME", help="When it was taken out.")] = None,
    thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the raw slice that holds the probe.")
    ] = None,
    tray: Annotated[int | None, typer.Option(metavar="NUMBER", help="Where that slice lies.")] = None,
    weighings: Annotated[
        Path | None, typer.Option(metavar="WEIGHTS.csv", help="Weights taken meanwhile, as for 'learn'.")
    ] = None,
    reads_high: Annotated[
        str | None,
        typer.Option(metavar="DIFF", help="By how much the probe may read too high; taken off its readings."),
    ] = None,
    units: Units = None,
    force: Force = False,
) -> None:
    """Write a record of a batch: readings against limits, estimates, deviations, blanks to sign. It is no approval."""
    target = page_of(file, out, _ENDINGS, force=force)
    if lot is not None and not lot.strip():
        raise InputError("--lot is empty; leave it out for a blank to fill in")
    from dryingsim.batch.catalog.critical_limits import critical_limits
    from dryingsim.batch.units import to_si_within
    from dryingsim.judge.thermometer_log import read_log_file, without_error
    from dryingsim.show.core.quantities import Units as PrintedUnits
    from dryingsim.show.core.writing import write_whole
    from dryingsim.show.record.document import record_document
    from dryingsim.show.record.page import content_of

    against = critical_limits(limits)
    readings = read_log_file(log, columns=columns, dates=dates, part=(begin, until))
    if reads_high is not None:
        high = to_si_within("--reads-high", reads_high, "temperature difference", "0 K", "5 K")
        readings = without_error(readings, high)
    with bar(None, hidden=False, patience_s=0.0) as show:
        show(0.0, "slices of this batch in the air as logged")
        estimate = estimated(readings, file, thickness, tray, weighings)
    shown = PrintedUnits(estimate.of.batch, units)
    document = record_document(estimate, against, shown, lot)
    content = content_of(document, target.suffix.lower(), units or estimate.of.batch.display)
    save(lambda: [write_whole(target, content)], announce=True)
