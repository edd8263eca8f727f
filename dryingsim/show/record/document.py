"""The record of a batch as a document: what was meant, measured, estimated and missed, and blanks to fill in and sign."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dryingsim.batch.catalog.critical_limits import CriticalLimits
from dryingsim.batch.schema import Batch, Stage
from dryingsim.batch.soaking import Soak
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.grades import GRADES
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.learn.logged_estimate import LoggedEstimate
from dryingsim.properties.moist_air import dew_point
from dryingsim.show.core.document import Block, Caution, Document, Heading, Sentence, form, picked, sentences
from dryingsim.show.core.quantities import Units, at_least, capital, ended, spoken
from dryingsim.show.core.stage_words import ending, setting
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.core.writing import json_text
from dryingsim.show.lethality.finding_words import objection, sentence
from dryingsim.show.lethality.text import HEADLINES, warning_lines
from dryingsim.show.record.measured import come_up_s, measured, place_of, reductions
from dryingsim.show.thermometer.estimate_text import values

NO_APPROVAL = (
    "This is a record of readings and an estimate computed from them. It is not an approval, and validates no process: whoever "
    "signs it answers for it."
)
_CONDITIONS = ("humidity_decides", "humidity_decides_unfound", "learned_decides")  # on which a verdict rests
_FOOT = "A record and an estimate computed by dryingsim; it is not an approval."
_BLANK = "                    "
Estimates = Sequence[LoggedEstimate]  # one for every log of the batch


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviations:
    """What was missed: `kinds` as the limits name them, and `texts` to read of each, with what is doubtful of logs."""

    kinds: tuple[str, ...]
    texts: tuple[str, ...]


def limiting(estimates: Estimates) -> LoggedEstimate:
    """Return the log by which the whole batch stands worst: that one counts."""

    def stands(estimate: LoggedEstimate) -> tuple[int, float]:
        lethality = estimate.batch_lethality.lethality
        return GRADES.index(lethality.grade), lethality.worst.lower - lethality.worst.target

    return min(estimates, key=stands)


def deviations(estimates: Estimates, limits: CriticalLimits, units: Units) -> Deviations:
    """Return what was missed, by any of the logs."""
    lethality = limiting(estimates).batch_lethality.lethality
    tables = [estimate.of.judged_log.compliance for estimate in estimates]
    spent = max(come_up_s(estimate.of.heated.whole, limits) for estimate in estimates)
    missed = {}
    if lethality.grade != "met":
        missed["temperature"] = (
            f"{HEADLINES[lethality.grade]} in the whole batch, {lethality.worst.name} first"
        )
    if all(table is None for table in tables):
        missed["humidity"] = "the humidity was not logged"
    elif any(table is None or not table.humidity_met for table in tables):
        missed["humidity"] = "no humidity option was shown to be met"
    if spent > limits.come_up_s:
        allowed = f"{spoken(limits.come_up_s)} are allowed"
        missed["come_up"] = f"the meat stood for {spoken(spent)} where bacteria grow; {allowed}"
    doubts = (
        f"the log {estimate.of.log.name} is in doubt: {objection(each, units.temperature.text)}"
        for estimate in estimates
        for each in estimate.of.objections
    )
    return Deviations(kinds=tuple(missed), texts=(*missed.values(), *doubts))


def record_document(
    estimates: Estimates, limits: CriticalLimits, units: Units, lot: str | None = None
) -> Document:
    """Return the record. It has an estimate for every log of one batch; `lot` is that of its maker."""
    found, worst = deviations(estimates, limits, units), limiting(estimates)
    blocks: list[Block] = [
        Caution(NO_APPROVAL),
        *_batch(estimates, units, lot),
        *_limits(worst, limits, units),
        *_instruments(estimates, limits, units),
        Heading("Measured and estimated"),
        *_whole_batch(worst, units, count=len(estimates)),
        *(block for estimate in estimates for block in measured(estimate, limits, units)),
        *_missed(found, limits),
        *_signed(worst, units),
        Caution(CAUTION),
    ]
    return Document(
        f"Record: {worst.of.batch.name}", blocks, lambda: record_values(estimates, limits, units, lot)
    )


def _batch(estimates: Estimates, units: Units, lot: str | None) -> list[Block]:
    batch, loggers = estimates[0].of.batch, [estimate.of.log.logger for estimate in estimates]
    meat = batch.meat
    begun = next((logger.begins for logger in loggers if logger is not None and logger.begins), "")
    thick = ", ".join(units.length.text(each.thickness_m) for each in meat.classes)
    marinade = batch.marinade
    salt, sugar, seasoned = (
        100.0 * marinade.salt_kg_kg,
        100.0 * marinade.sugar_kg_kg,
        "none, by the batch file",
    )
    if salt + sugar > 0.0:
        seasoned = f"salt {salt:.2g} %, sugar {sugar:.2g} % of the raw meat"
        if batch.washed:
            seasoned += "; taken out again by the water they are heated in"
    rows = (
        ("batch, lot", f"{batch.name}, {lot}" if lot else f"{batch.name}, lot {_BLANK}"),
        ("begun", begun),
        ("product", f"{meat.name} ({meat.species}), {meat.form}, {thick}"),
        ("raw weight", units.weight.text(meat.weight_kg)),
        *(() if marinade.soak is None else (("marinade", _recipe(marinade.soak, units)),)),
        ("salt and sugar taken up", seasoned),
        ("appliance", "air as stated in the batch file" if batch.appliance is None else batch.appliance.name),
        *((f"stage {i}", _stage(stage, batch, units)) for i, stage in enumerate(batch.stages, start=1)),
    )
    return [Heading("Batch"), form({"what": 1.0, "as the batch file says": 3.0}, rows)]


def _recipe(soak: Soak, units: Units) -> str:
    told = units.weight.text
    poured = ", ".join(f"{each.ingredient.name} {told(each.weight_kg)}" for each in soak.portions)
    return f"{poured}; {spoken(soak.time_s)} at {units.temperature.text(soak.temperature_K)}"


def _stage(stage: Stage, batch: Batch, units: Units) -> str:
    most = "at most " if stage.until else ""
    length = "" if stage.duration_s is None else f", {most}{at_least(stage.duration_s)}"
    ends = "" if stage.until is None else f", until {ending(stage, units)}"
    return f"{stage.name}: {setting(stage, batch, units)}{length}{ends}"


def _limits(worst: LoggedEstimate, limits: CriticalLimits, units: Units) -> list[Block]:
    told = units.temperature.text
    low, high = map(told, limits.come_up_K)
    warnings = judge_batch_lethality(worst.of.meant).warnings
    conditions = [each for each in warnings if each.key in _CONDITIONS]
    organism = worst.batch_lethality.lethality.worst
    rows = (
        (
            "log reduction",
            f"{organism.target:.1f} log of {organism.name}",
            f"{organism.guideline}; {limits.log_reduction.source}",
        ),
        ("come-up", f"{spoken(limits.come_up_s)} or less between {low} and {high}", limits.come_up_source),
        *(("humidity, one of", each.text, each.source) for each in limits.humidity),
        *(("advice", each.text, each.source) for each in limits.advice),
    )
    return [
        Heading("Critical limits"),
        Sentence(f"Taken from: {limits.name} ({limits.status})."),
        *sentences(*(f"Of the batch as it is meant: {sentence(each, told)}." for each in conditions)),
        form({"limit": 1.0, "what": 3.0, "where it is printed": 1.6}, rows),
    ]


def _instruments(estimates: Estimates, limits: CriticalLimits, units: Units) -> list[Block]:
    logs = [estimate.of.log for estimate in estimates]
    errors = [
        f"{units.temperature.difference(log.reads_high_K)} was taken off every reading of {log.name}, which its probe may read "
        "too high: as if every limit stood so much higher"
        for log in logs
        if log.reads_high_K
    ]
    unstated = [log.name for log in logs if not log.reads_high_K]
    if unstated:
        errors.append(
            f"no error of the probe of {' and '.join(dict.fromkeys(unstated))} was stated (--reads-high): check it in ice water "
            "and in boiling water"
        )
    probes = [f"meat: {place_of(estimate, units)}" for estimate in estimates]
    names = (*probes, "air", "wet bulb or humidity", "scale")
    boils_K = float(dew_point(estimates[0].of.batch.room.pressure_Pa))
    ice, boiling = map(units.temperature.text, (ZERO_CELSIUS, boils_K))
    checks = {f"in ice water ({ice})": 1.1, f"in boiling water ({boiling} at this height)": 1.4}
    told = [*errors, f"{limits.instrument.text} ({limits.instrument.source})"]
    return [
        Heading("Instruments"),
        Sentence(". ".join(map(capital, told)) + "."),
        form(
            {"instrument": 1.6, "number": 0.8, **checks, "date": 0.8}, ((name, *[""] * 4) for name in names)
        ),
    ]


def _whole_batch(worst: LoggedEstimate, units: Units, *, count: int) -> list[Block]:
    """Return the estimate for the whole batch, by the log that stands worst."""
    lethality = worst.batch_lethality.lethality
    told = reductions(lethality, relied=not worst.of.objections)
    of = f" Of {count} logs the one that stands worst counts: {worst.of.log.name}." if count > 1 else ""
    return [
        Sentence(f"Estimated for the least-reduced place of the whole batch: {told}{of}"),
        *sentences(*warning_lines(lethality, units)),
    ]


def _missed(found: Deviations, limits: CriticalLimits) -> list[Block]:
    if not found.texts:
        return [Heading("Deviations"), Sentence("None was found in what was logged.")]
    steps = [step for kind in (*found.kinds, "any") for step in limits.deviation[kind]]
    return [
        Heading("Deviations"),
        *sentences(*(ended(capital(text)) for text in found.texts)),
        form({"what applies": 3.0, "where it is printed": 1.0}, ((step.text, step.source) for step in steps)),
    ]


def _signed(worst: LoggedEstimate, units: Units) -> list[Block]:
    heated = worst.of.heated
    meant = f"(meant: {units.temperature.text(heated.asked_K)})"
    blanks = (
        *([f"middle of the thickest slice as it came out of the heat {meant}"] if heated.ends_s else []),
        "water activity measured",
        "weight at the end",
        "corrective action",
        "checked by",
        "signature, date",
    )
    return [
        Heading("To fill in"),
        form({"what": 1.0, "": 3.0}, ((text, "") for text in blanks), tall=True),
    ]


def record_values(
    estimates: Estimates, limits: CriticalLimits, units: Units, lot: str | None
) -> dict[str, Any]:
    """Return the record as plain values in SI: those of the log that stands worst, and of every log."""
    found = deviations(estimates, limits, units)
    return {
        "not_an_approval": NO_APPROVAL,
        "lot": lot,
        "limits": picked(limits, "name", "status", "come_up_s"),
        "deviations": list(found.texts),
        "what_applies": [
            picked(step, "text", "source")
            for kind in (*found.kinds, *(("any",) if found.texts else ()))
            for step in limits.deviation[kind]
        ],
        **_values(limiting(estimates), limits),
        "logs": [_values(estimate, limits) for estimate in estimates],
    }


def _values(estimate: LoggedEstimate, limits: CriticalLimits) -> dict[str, Any]:
    return {
        "come_up_s": come_up_s(estimate.of.heated.whole, limits),
        "reads_high_K": estimate.of.log.reads_high_K,
        **values(estimate),
    }


def content_of(document: Document, ending: str, system: str) -> bytes:
    """Return what is written of a record.

    Its `ending` is ".pdf", ".json", ".html" or ".htm"; `system` says which paper a PDF is for.
    """
    if ending == ".json":
        return json_text(document.data()).encode("utf-8")
    if ending == ".pdf":
        from dryingsim.show.core.pdf import pdf_of

        return pdf_of(document, system, _FOOT)
    from dryingsim.show.core.page import page_html

    return page_html(document, below=_FOOT).encode("utf-8")
