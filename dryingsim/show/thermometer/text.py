"""What a thermometer's log says about bacteria at the place of its probe."""

from collections.abc import Sequence
from typing import Any

from dryingsim.judge.grades import Lethality, OrganismLethality
from dryingsim.judge.probe import LogJudgement
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.show.core.document import Document, labelled, screen
from dryingsim.show.core.quantities import Unit, ended, logs, spoken
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.lethality.brief import VERDICTS, brief, brief_sentences
from dryingsim.show.lethality.data import growth_values, organism_values, table_values
from dryingsim.show.lethality.federal_text import table_cautions, table_line
from dryingsim.show.lethality.finding_words import objection, sentence
from dryingsim.show.lethality.text import HEADLINES
from dryingsim.show.lethality.words import CAUTIONS
from dryingsim.show.thermometer.logger_text import what_was_read as logger_line
from dryingsim.show.thermometer.probe_words import PLACES_OF_PROBE

_INTEGRATION = (
    "Between two readings the meat is taken as cool and as dry as at either of them: the numbers are lower bounds of what "
    "the readings tell, and closer to it the more often they are taken."
)

_MEAT = {"other": "other meat", "unknown": "meat of an unknown species"}
NOT_RELIED_ON = "NOT relied on, so no best estimate (-)"


def probe_document(
    log: ThermometerLog, judgement: LogJudgement, lethality: Lethality, unit: Unit, assumed: float | None
) -> Document:
    """Return what is told of a thermometer's log.

    Lethality is that at the place of the probe; `assumed` is a water activity that was typed.
    """
    given = f"If the water activity was {assumed:g} all along: " if assumed else ""
    ends = f"{unit.number(log.temperature_K.min())} to {unit.text(log.temperature_K.max())}"
    federal = judgement.compliance
    table = "not looked at" if federal is None else "met" if federal.fulfilled else "NOT met"
    safety = [
        f"{given}{VERDICTS[lethality.grade]} at the probe. Federal table: {table}.",
        *(ended(f"{NOT_RELIED_ON}: {brief(one, unit.text)}") for one in judgement.objections[:2]),
        *brief_sentences(lethality.warnings, unit.text),
    ]
    return screen(
        f"{log.name}: {log.time_s.size} readings in {spoken(log.time_s[-1] - log.time_s[0])}, {ends}",
        [*labelled({"SAFETY": safety}), _table(lethality, relied=not judgement.objections)],
        {"all answers": [*what_was_read(log), *_sentences(judgement, lethality, unit, assumed)]},
        lambda: _values(log, judgement, lethality),
    )


def _values(log: ThermometerLog, judgement: LogJudgement, lethality: Lethality) -> dict[str, Any]:
    return {
        "log": log.name,
        "read": next(iter(what_was_read(log)), None),
        "readings": log.time_s.size,
        "duration_s": float(log.time_s[-1] - log.time_s[0]),
        "coldest_K": float(log.temperature_K.min()),
        "hottest_K": float(log.temperature_K.max()),
        "species": lethality.species,
        "form": lethality.form,
        "grade": lethality.grade,
        "warnings": [sentence(one) for one in lethality.warnings],
        "decides": lethality.worst.organism,
        "organisms": [judged_organism(one, relied=not judgement.objections) for one in lethality.organisms],
        "growth": [growth_values(lethality, one) for one in lethality.growth],
        "federal_table": table_values(judgement.compliance),
        "objections": [objection(one) for one in judgement.objections],
        "integration": _INTEGRATION,
        "remarks": [sentence(one) for one in judgement.remarks],
        "cautions": list(CAUTIONS),
    }


def what_was_read(log: ThermometerLog) -> list[str]:
    """Return what was made out of a logger's file, as the first line; nothing for a typed log."""
    return [] if log.logger is None else [logger_line(log.logger)]


def judged_organism(one: OrganismLethality, *, relied: bool) -> dict[str, Any]:
    """Return the judgement on one organism as plain values; with no best estimate where the log is not relied on."""
    values = organism_values(one)
    if relied:
        return values
    lower, asked = f"{one.name}: lower bound (95 %) {logs(one.counted)} log", f"{one.target:.1f} log required"
    reason = f"{lower}; {asked} ({one.guideline}). The log is not relied on, so no best estimate is told."
    return values | {"best": None, "probability": None, "reason": reason}


def best_cells(organisms: tuple[OrganismLethality, ...], *, relied: bool) -> list[str]:
    """Return best estimates as cells of a table; dashes where the log is not relied on, since they catch the eye."""
    return [logs(one.best) if relied else "-" for one in organisms]


def _table(lethality: Lethality, *, relied: bool) -> Table:
    entries = lethality.organisms
    cells: dict[str, Sequence[str]] = {
        "log reduction of": [one.name for one in entries],
        "lower bound": [logs(one.counted) for one in entries],
        "best estimate": best_cells(entries, relied=relied),
        "required": [f"{one.target:.1f}" for one in entries],
        "grade": [one.grade for one in entries],
    }
    return Table([Column(("", "", heading), [*texts]) for heading, texts in cells.items()])


def _sentences(judgement: LogJudgement, lethality: Lethality, unit: Unit, assumed: float | None) -> list[str]:
    worst = lethality.worst
    asked = "; ".join(one.guideline for one in lethality.organisms)
    meat = _MEAT.get(lethality.species, lethality.species)
    headline = HEADLINES[lethality.grade]
    if assumed:  # where it rests on what was typed, not on what was logged, that comes first
        given = f"If the water activity there was {assumed:g} all along, as said with --water-activity: "
        headline = f"{given}{headline[:1].lower()}{headline[1:]}"
    return [
        *(f"Warning: {sentence(one, unit.text)}." for one in lethality.warnings),
        f"{headline} at the probe; {worst.name} limits. There {sentence(worst.circumstances, unit.text)}.",
        *(ended(f"The log is not relied on: {objection(one, unit.text)}") for one in judgement.objections),
        "By heat alone: the best estimate is the median of new studies; 19 of 20 of them exceed the lower bound (95 %), which "
        "decides. Water activity is taken as it is given, without allowance for its error.",
        _INTEGRATION,
        *_federal(judgement, lethality.species, unit),
        f"What is required of {meat} (--species): {asked}. {PLACES_OF_PROBE[lethality.form]} (--form).",
        *(f"Note: {sentence(one, unit.text)}." for one in judgement.remarks),
        *_beyond_measured(lethality, unit),
    ]


def _beyond_measured(lethality: Lethality, unit: Unit) -> list[str]:
    """Return the flags, each with the organisms it is for."""
    names: dict[str, list[str]] = {}
    for one in lethality.organisms:
        for flag in one.flags:
            names.setdefault(sentence(flag, unit.text), []).append(one.name)
    return [f"Beyond what was measured, {', '.join(those)}: {text}." for text, those in names.items()]


def _federal(judgement: LogJudgement, species: str, unit: Unit) -> list[str]:
    if judgement.compliance is None:
        why = "The log has no relative humidity, and the table counts time in humid air only."
        if species == "fish":
            why = "None speaks of fish."
        return [f"Federal time-temperature table (USDA FSIS Appendix A): not looked at. {why}"]
    own = " ".join(table_cautions(judgement.compliance.rule))
    objected = ["Since the log is not relied on, it fulfils no table."] if judgement.objections else []
    return [f"{table_line(judgement.compliance, unit)} The whole log counts as cooking. {own}", *objected]
