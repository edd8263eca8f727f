"""`dryingsim thermometer`: what a thermometer's log says about log reductions at the place of its probe."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from dryingsim.cli.logged_batch import tell_estimate
from dryingsim.cli.options import AsJson, UnitsWithoutFile
from dryingsim.cli.shared import Screen
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.catalog.organisms import Species
    from dryingsim.judge.grades import Lethality
    from dryingsim.judge.probe import LogJudgement
    from dryingsim.judge.thermometer_log import ThermometerLog
    from dryingsim.show.core.quantities import Unit
    from dryingsim.show.core.tables import Table

_INTEGRATION = (
    "Between two readings the meat is taken as cool and as dry as at either of them: the numbers are lower bounds of what "
    "the readings tell, and closer to it the more often they are taken."
)


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
        typer.Option(metavar="WEIGHTS.csv", help="With --batch: weights taken meanwhile, as for 'learn'."),
    ] = None,
    units: UnitsWithoutFile = "metric",
    as_json: AsJson = False,
) -> None:
    """Judge a thermometer's log: log reductions of three bacteria at the place of its probe, and the federal table."""
    from dryingsim.batch.catalog.organisms import SPECIES
    from dryingsim.batch.checks import check_choice

    check_choice("--species", species, SPECIES)
    from dryingsim.batch.reading.batch_file import form_of
    from dryingsim.batch.units import display_units, to_si_within
    from dryingsim.judge.federal_table import column_of
    from dryingsim.judge.probe import judge_log, judge_probe
    from dryingsim.judge.reductions import STRICTEST_FORM
    from dryingsim.judge.thermometer_log import read_log_file, without_error
    from dryingsim.show.core.quantities import Unit
    from dryingsim.show.core.tables import CAUTION, wrapped
    from dryingsim.show.core.writing import json_text

    thickness_m = to_si_within("--thickness", thickness or "3 mm", "length", "1 mm", "30 mm")
    if started_warm is not None and not started_warm.strip():
        raise InputError(
            "--started-warm is empty; say why the meat was warm, for example 'heated in the marinade'"
        )
    log = read_log_file(file, columns=columns, dates=dates, part=(begin, until))
    if reads_high is not None:
        log = without_error(
            log, to_si_within("--reads-high", reads_high, "temperature difference", "0 K", "5 K")
        )
    if log.water_activity is not None and water_activity is not None:
        raise InputError(f"--water-activity: {log.name} has a column water_activity already")
    if batch is not None:
        _check_with_batch(species, form, water_activity, started_warm)
        tell_estimate(log, batch, thickness, tray, weighings, units, _read(log), Screen(as_json=as_json))
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
    unit = Unit("temperature", display_units(units)["temperature"])
    Screen(as_json=as_json).tell(
        lambda: json_text(_values(log, judgement, lethality)),
        lambda: "\n".join(
            map(wrapped, [*_read(log), *_sentences(judgement, lethality, unit, water_activity), "", CAUTION])
        ),
        lambda: (_title(log, unit), [_table(lethality)]),
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
                else "a fit needs meat that was laid in cold"
            )
            why = "it is estimated" if option == "--water-activity" else why
            raise InputError(f"{option} does not go with --batch: {why}")


def _values(log: "ThermometerLog", judgement: "LogJudgement", lethality: "Lethality") -> dict[str, Any]:
    from dryingsim.show.lethality.data import growth_values, organism_values, table_values
    from dryingsim.show.lethality.finding_words import objection, sentence
    from dryingsim.show.lethality.words import CAUTIONS

    return {
        "log": log.name,
        "read": next(iter(_read(log)), None),
        "readings": log.time_s.size,
        "duration_s": float(log.time_s[-1] - log.time_s[0]),
        "coldest_K": float(log.temperature_K.min()),
        "hottest_K": float(log.temperature_K.max()),
        "species": lethality.species,
        "form": lethality.form,
        "grade": lethality.grade,
        "warnings": [sentence(one) for one in lethality.warnings],
        "decides": lethality.worst.organism,
        "organisms": [organism_values(one) for one in lethality.organisms],
        "growth": [growth_values(lethality, one) for one in lethality.growth],
        "federal_table": table_values(judgement.compliance) if judgement.compliance else None,
        "objections": [objection(one) for one in judgement.objections],
        "integration": _INTEGRATION,
        "remarks": [sentence(one) for one in judgement.remarks],
        "cautions": list(CAUTIONS),
    }


def _read(log: "ThermometerLog") -> list[str]:
    """Return what was made out of a logger's file, as the first line; nothing for a typed log."""
    from dryingsim.show.thermometer.logger_text import what_was_read

    return [] if log.logger is None else [what_was_read(log.logger)]


def _title(log: "ThermometerLog", unit: "Unit") -> str:
    from dryingsim.show.core.quantities import spoken

    ends = f"{unit.number(log.temperature_K.min())} to {unit.text(log.temperature_K.max())}"
    return f"{log.name}: {log.time_s.size} readings in {spoken(log.time_s[-1] - log.time_s[0])}, {ends}"


def _table(lethality: "Lethality") -> "Table":
    from dryingsim.show.core.quantities import logs
    from dryingsim.show.core.tables import Column, Table

    entries = lethality.organisms
    columns = [
        Column(("", "log10 reduction", "of"), [one.name for one in entries]),
        Column(("", "lower", "bound"), [logs(one.lower) for one in entries]),
        Column(("", "best", "estimate"), [logs(one.best) for one in entries]),
        Column(("", "", "required"), [f"{one.target:.1f}" for one in entries]),
        Column(("", "", "grade"), [one.grade for one in entries]),
    ]
    return Table(columns, [], set())


def _sentences(
    judgement: "LogJudgement", lethality: "Lethality", unit: "Unit", assumed: float | None
) -> list[str]:
    from dryingsim.show.lethality.finding_words import objection, sentence
    from dryingsim.show.lethality.text import HEADLINES
    from dryingsim.show.thermometer.probe_words import PLACES_OF_PROBE

    worst = lethality.worst
    asked = "; ".join(one.guideline for one in lethality.organisms)
    meat = {"other": "other meat", "unknown": "meat of an unknown species"}.get(
        lethality.species, lethality.species
    )
    # where it rests on what was typed, not on what was logged, that comes first
    given = (
        f"If the water activity there was {assumed:g} all along, as said with --water-activity: "
        if assumed
        else ""
    )
    headline = HEADLINES[lethality.grade]
    headline = headline[:1].lower() + headline[1:] if given else headline
    return [
        *(f"Warning: {sentence(one, unit.text)}." for one in lethality.warnings),
        f"{given}{headline} at the probe; {worst.name} limits. There {sentence(worst.circumstances, unit.text)}.",
        *(f"The log is not relied on: {objection(one, unit.text)}." for one in judgement.objections),
        "By heat alone: the best estimate is the median of new studies; 19 of 20 of them exceed the lower bound (95 %), which "
        "decides. Water activity is taken as it is given, without allowance for its error.",
        _INTEGRATION,
        *_federal(judgement, lethality.species, unit),
        f"What is required of {meat} (--species): {asked}. {PLACES_OF_PROBE[lethality.form]} (--form).",
        *(f"Note: {sentence(one, unit.text)}." for one in judgement.remarks),
        *_beyond_measured(lethality, unit),
    ]


def _beyond_measured(lethality: "Lethality", unit: "Unit") -> list[str]:
    """Return the flags, each with the organisms it is for."""
    from dryingsim.show.lethality.finding_words import sentence

    names: dict[str, list[str]] = {}
    for one in lethality.organisms:
        for flag in one.flags:
            names.setdefault(sentence(flag, unit.text), []).append(one.name)
    return [f"Beyond what was measured, {', '.join(those)}: {text}." for text, those in names.items()]


def _federal(judgement: "LogJudgement", species: str, unit: "Unit") -> list[str]:
    from dryingsim.show.lethality.federal_text import table_line
    from dryingsim.show.lethality.federal_words import table_cautions

    if judgement.compliance is None:
        why = (
            "None speaks of fish."
            if species == "fish"
            else "The log has no relative humidity, and the table counts time in humid air only."
        )
        return [f"Federal time-temperature table (USDA FSIS Appendix A): not looked at. {why}"]
    own = " ".join(table_cautions(judgement.compliance.rule))
    objected = ["Since the log is not relied on, it fulfils no table."] if judgement.objections else []
    return [f"{table_line(judgement.compliance, unit)} The whole log counts as cooking. {own}", *objected]
