"""`dryingsim thermometer`: what a thermometer's log says about log reductions at the place of its probe."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from dryingsim.cli.logged_batch import logs_read, once, tell_estimate
from dryingsim.cli.options import AsJson, Details, Units
from dryingsim.cli.shared import Screen
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.catalog.organisms import Species


def thermometer(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="LOG.csv",
            help="As a logger wrote it (examples/logger_file.csv), or typed: columns time and meat, with units "
            "('time, meat °F'); air, wet bulb or relative humidity, water_activity where known (examples/thermometer_log.csv). "
            "From when the cold meat goes in, a reading every 15 min at least, better every minute or two.",
        ),
    ],
    columns: Annotated[
        str | None,
        typer.Option(
            metavar="WHAT=COLUMN,...",
            help="Which column of a logger is of what, where its headings leave that open, with the unit if need be: "
            "'meat=CH1,wet_bulb=CH3 [degF]'. Also air, dew_point, relative_humidity, water_activity, time, date.",
        ),
    ] = None,
    dates: Annotated[
        str | None,
        typer.Option(
            metavar="day-first|month-first|year-first",
            help="How a logger's dates are to be read, where that is open.",
        ),
    ] = None,
    begin: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="TIME",
            help="When the cold meat went in, where a logger ran before: '13:10', '25 min'.",
        ),
    ] = None,
    until: Annotated[
        str | None, typer.Option(metavar="TIME", help="When it was taken out, where a logger ran on.")
    ] = None,
    species: Annotated[
        str,
        typer.Option(
            metavar="beef|pork|poultry|game|fish|other",
            help="Of the meat: what guidelines ask for. Without it, the strictest of all.",
        ),
    ] = "unknown",
    form: Annotated[
        str | None,
        typer.Option(
            metavar="sliced|ground|pounded|needled",
            help="Of the meat: what bacteria at the probe sit in. Without it, the strictest of all.",
        ),
    ] = None,
    water_activity: Annotated[
        float | None,
        typer.Option(
            metavar="NUMBER",
            help="At the probe, all along, where the log does not have it. Without either nothing is shown.",
        ),
    ] = None,
    started_warm: Annotated[
        str | None,
        typer.Option(metavar="REASON", help="Why the meat was warm at the first reading, if it was."),
    ] = None,
    thickness: Annotated[
        str | None,
        typer.Option(
            metavar="LENGTH",
            help="Of the raw slice that holds the probe: how fast it can warm; 3 mm, or the thickest of the batch, if left out.",
        ),
    ] = None,
    reads_high: Annotated[
        str | None,
        typer.Option(
            metavar="DIFF",
            help="By how much the probe may read too high ('measure ice', 'measure boiling'); taken off its readings.",
        ),
    ] = None,
    batch: Annotated[
        Path | None,
        typer.Option(
            metavar="BATCH.toml",
            help="The batch it is of: it is fitted to the readings of meat and air, so that water activity, the other slices and "
            "the coldest place are estimated, with their uncertainty.",
        ),
    ] = None,
    tray: Annotated[
        int | None,
        typer.Option(
            metavar="NUMBER", help="With --batch: where the probed slice lies; the warmest if left out."
        ),
    ] = None,
    weighings: Annotated[
        Path | None,
        typer.Option(
            metavar="WEIGHTS.csv",
            help="With --batch: weights taken meanwhile, as for 'learn'; where slices differ in thickness, of one like the "
            "probed slice, by itself (column 'slice').",
        ),
    ] = None,
    units: Units = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Judge a thermometer's log: log reductions of three bacteria at the place of its probe, and the federal table."""
    from dryingsim.batch.animals import check_species

    check_species("--species", species)
    from dryingsim.batch.reading.batch_file import form_of
    from dryingsim.batch.units import display_units, to_si_within
    from dryingsim.judge.federal_table import column_of
    from dryingsim.judge.probe import judge_log, judge_probe
    from dryingsim.judge.reductions import STRICTEST_FORM
    from dryingsim.show.core.quantities import Unit
    from dryingsim.show.thermometer.text import probe_document

    thickness_m = to_si_within("--thickness", thickness or "3 mm", "length", "1 mm", "30 mm")
    if started_warm is not None and not started_warm.strip():
        raise InputError(
            "--started-warm is empty; say why the meat was warm, for example 'heated in the marinade'"
        )
    (log,) = logs_read([file], once(columns), dates, (begin, until), once(reads_high))
    if log.water_activity is not None and water_activity is not None:
        raise InputError(f"--water-activity: {log.name} has a column water_activity already")
    if batch is not None:
        _check_with_batch(species, form, water_activity, started_warm)
        screen = Screen(as_json=as_json, details=details)
        tell_estimate(log, batch, thickness, tray, weighings, units, screen)
        return
    if tray is not None or weighings is not None:
        raise InputError(
            "--tray and --weighings go with --batch: without its batch a log is judged by itself"
        )
    meat = cast("Species", species)
    known_form = STRICTEST_FORM if form is None else form_of("--form", form)
    column = None if log.relative_humidity is None else column_of(meat)
    judgement = judge_log(
        log, water_activity=water_activity, column=column, thickness_m=thickness_m, started_warm=started_warm
    )
    lethality = judge_probe(judgement, meat, known_form)
    unit = Unit("temperature", display_units(units or "metric")["temperature"])
    Screen(as_json=as_json, details=details).show(
        probe_document(log, judgement, lethality, unit, water_activity)
    )


def _check_with_batch(
    species: str, form: str | None, water_activity: float | None, started_warm: str | None
) -> None:
    """Raise for options that the batch file or the fit takes the place of."""
    told = {
        "--species": species != "unknown",
        "--form": form is not None,
        "--water-activity": water_activity is not None,
        "--started-warm": started_warm is not None,
    }
    for option, typed in told.items():
        if typed:
            why = (
                "the batch file says it"
                if option in ("--species", "--form")
                else "a fit needs meat that was laid in cold. Log from before the heating, or leave out --batch"
            )
            why = "it is estimated" if option == "--water-activity" else why
            raise InputError(f"{option} does not go with --batch: {why}")
