"""The record of a batch as a document: what was meant, measured, estimated and missed, and blanks to fill in and sign."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from dryingsim.batch.catalog.critical_limits import CriticalLimits, Stated
from dryingsim.batch.schema import Batch, Stage
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.learn.logged_estimate import LoggedEstimate
from dryingsim.show.core.document import Block, Caution, Document, Form, Heading, Picture, Sentence
from dryingsim.show.core.quantities import Units, capital, logs, spoken
from dryingsim.show.core.stage_words import ending, setting
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.lethality.federal_text import table_line
from dryingsim.show.lethality.finding_words import objection, sentence
from dryingsim.show.lethality.text import HEADLINES
from dryingsim.show.record.pictures import draw_readings
from dryingsim.show.thermometer.estimate_text import bands, values
from dryingsim.show.thermometer.logger_text import what_was_read

NO_APPROVAL = (
    "This is a record of readings and an estimate computed from them. It is not an approval, and validates no process: whoever "
    "signs it answers for it."
)
_CONDITIONS = (
    "humidity_decides",
    "humidity_decides_unfound",
    "learned_decides",
)  # on which its verdict rests
_BLANK = "                    "


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviations:
    """What was missed: kinds as the limits name them, and what to read of each."""

    kinds: tuple[str, ...]
    texts: tuple[str, ...]


def come_up_s(log: ThermometerLog, limits: CriticalLimits) -> float:
    """Return how long the meat stood where bacteria grow, by its readings [s]; an interval with one end there counts half.

    Parameters
    ----------
    log : ThermometerLog
    limits : CriticalLimits
    """
    low, high = limits.come_up_K
    within = ((log.temperature_K >= low) & (log.temperature_K <= high)).astype(float)
    return float(np.sum(np.diff(log.time_s) * 0.5 * (within[1:] + within[:-1])))


def deviations(estimate: LoggedEstimate, limits: CriticalLimits, units: Units) -> Deviations:
    """Return what was missed.

    Parameters
    ----------
    estimate : LoggedEstimate
    limits : CriticalLimits
    units : Units
    """
    log, table = estimate.of.log, estimate.of.judged_log.compliance
    lethality, spent = estimate.batch_lethality.lethality, come_up_s(log, limits)
    missed = {
        "temperature": (
            lethality.grade != "met",
            f"{HEADLINES[lethality.grade]} in the whole batch, {lethality.worst.name} first",
        ),
        "humidity": (
            table is None or not table.humidity_met,
            "no humidity option was shown to be met" if table is not None else "the humidity was not logged",
        ),
        "come_up": (
            spent > limits.come_up_s,
            f"the meat stood for {spoken(spent)} where bacteria grow; {spoken(limits.come_up_s)} are allowed",
        ),
    }
    doubts = tuple(
        f"the log is in doubt: {objection(each, units.temperature.text)}" for each in estimate.of.objections
    )
    kinds = tuple(kind for kind, (is_missed, _) in missed.items() if is_missed)
    return Deviations(kinds=kinds, texts=(*(missed[kind][1] for kind in kinds), *doubts))


def record_document(
    estimate: LoggedEstimate, limits: CriticalLimits, units: Units, lot: str | None = None
) -> Document:
    """Return the record.

    Parameters
    ----------
    estimate : LoggedEstimate
    limits : CriticalLimits
    units : Units
    lot : str, optional
        Of the batch, as its maker numbers it.
    """
    found = deviations(estimate, limits, units)
    blocks: list[Block] = [
        Caution(NO_APPROVAL),
        *_batch(estimate, units, lot),
        *_limits(estimate, limits, units),
        *_instruments(estimate.of.log, limits, units),
        *_measured(estimate, limits, units),
        *_missed(found, limits),
        *_signed(),
        Caution(CAUTION),
    ]
    return Document(
        f"Record: {estimate.of.batch.name}", blocks, lambda: record_values(estimate, limits, units, lot)
    )


def _batch(estimate: LoggedEstimate, units: Units, lot: str | None) -> list[Block]:
    batch, log = estimate.of.batch, estimate.of.log
    meat = batch.meat
    begun = log.logger.begins if log.logger is not None and log.logger.begins else ""
    thick = ", ".join(units.length.text(each.thickness_m) for each in meat.classes)
    marinade = batch.marinade
    seasoned = (
        f"salt {100.0 * marinade.salt_kg_kg:.2g} %, sugar {100.0 * marinade.sugar_kg_kg:.2g} % of the raw meat"
        if marinade.salt_kg_kg + marinade.sugar_kg_kg > 0.0
        else "none, by the batch file"
    )
    rows = (
        ("batch, lot", f"{batch.name}, {lot}" if lot else f"{batch.name}, lot {_BLANK}"),
        ("begun", begun),
        ("product", f"{meat.name} ({meat.species}), {meat.form}, {thick}"),
        ("raw weight", units.weight.text(meat.weight_kg)),
        ("salt and sugar taken up", seasoned),
        ("appliance", "air as stated in the batch file" if batch.appliance is None else batch.appliance.name),
        *((f"stage {i}", _stage(stage, batch, units)) for i, stage in enumerate(batch.stages, start=1)),
    )
    return [Heading("Batch"), Form(("what", "as the batch file says"), rows, (1.0, 3.0))]


def _stage(stage: Stage, batch: Batch, units: Units) -> str:
    length = (
        "" if stage.duration_s is None else f", {'at most ' if stage.until else ''}{spoken(stage.duration_s)}"
    )
    ends = "" if stage.until is None else f", until {ending(stage, units)}"
    return f"{stage.name}: {setting(stage, batch, units)}{length}{ends}"


def _limits(estimate: LoggedEstimate, limits: CriticalLimits, units: Units) -> list[Block]:
    low, high = (units.temperature.text(kelvin) for kelvin in limits.come_up_K)
    worst = estimate.batch_lethality.lethality.worst
    rows = (
        (
            "log reduction",
            f"{worst.target:.1f} log of {worst.name}",
            f"{worst.guideline}; {limits.log_reduction.source}",
        ),
        ("come-up", f"{spoken(limits.come_up_s)} or less between {low} and {high}", limits.come_up_source),
        *(("humidity, one of", each.text, each.source) for each in limits.humidity),
        *(("advice", each.text, each.source) for each in limits.advice),
    )
    return [
        Heading("Critical limits"),
        Sentence(f"Taken from: {limits.name} ({limits.status})."),
        *(
            Sentence(f"Of the batch as it is meant: {sentence(each, units.temperature.text)}.")
            for each in judge_batch_lethality(estimate.of.meant).warnings
            if each.key in _CONDITIONS
        ),
        Form(("limit", "what", "where it is printed"), rows, (1.0, 3.0, 1.6)),
    ]


def _instruments(log: ThermometerLog, limits: CriticalLimits, units: Units) -> list[Block]:
    error = (
        f"{units.temperature.difference(log.reads_high_K)} was taken off every reading of the meat, which its probe may "
        "read too high"
        if log.reads_high_K
        else "no error of the meat's probe was stated: check it in ice water and in boiling water"
    )
    rows = tuple((name, "", "", "", "") for name in ("meat", "air", "wet bulb or humidity", "scale"))
    return [
        Heading("Instruments"),
        Sentence(f"{capital(error)}. {capital(limits.instrument.text)} ({limits.instrument.source})."),
        Form(
            ("instrument", "number", "in ice water", "boiling, at height", "date"), rows, (1.4, 1, 1, 1.2, 1)
        ),
    ]


def _measured(estimate: LoggedEstimate, limits: CriticalLimits, units: Units) -> list[Block]:
    log, table = estimate.of.log, estimate.of.judged_log.compliance
    degrees, spent = units.temperature, come_up_s(log, limits)
    read = [] if log.logger is None else [Sentence(what_was_read(log.logger))]
    lines = [
        f"{log.time_s.size} readings in {spoken(estimate.end_s)}. Of the meat from {degrees.text(log.temperature_K.min())} to "
        f"{degrees.text(log.temperature_K.max())}; {limits.reading.text} ({limits.reading.source}).",
        f"Come-up: {spoken(spent)} in all between the two temperatures, of {spoken(limits.come_up_s)} that are allowed.",
        table_line(table, degrees)
        if table is not None
        else "Humidity: not logged, so no humidity option was met.",
        _estimated(estimate),
        *_weighed(estimate),
    ]
    return [
        Heading("Measured and estimated"),
        *read,
        *map(Sentence, lines),
        _picture(estimate, limits, units),
        _over_time(estimate, units),
    ]


def _weighed(estimate: LoggedEstimate) -> list[str]:
    """Return the weights over the first one, at most a dozen of them."""
    weights = estimate.of.weights
    if weights is None:
        return []
    rows = np.unique(np.linspace(0, weights.time_s.size - 1, 12).round().astype(int))
    each = ", ".join(f"{weights.share[i]:.0%} after {spoken(float(weights.time_s[i]))}" for i in rows)
    return [f"Weight, of that when laid in: {each}."]


def _estimated(estimate: LoggedEstimate) -> str:
    lethality = estimate.batch_lethality.lethality
    each = "; ".join(
        f"{entry.name} lower bound {logs(entry.counted)}, best estimate {logs(entry.best)}, required {entry.target:.1f} log"
        for entry in lethality.organisms
    )
    return f"Estimated for the least-reduced place of the whole batch: {each}. {HEADLINES[lethality.grade]}."


def _picture(estimate: LoggedEstimate, limits: CriticalLimits, units: Units) -> Picture:
    log = estimate.of.log

    def draw(axes: Any) -> None:
        draw_readings(axes, log, limits, units)

    title = "Readings, and the temperatures between which the meat may stand only so long"
    message = f"{log.time_s.size} readings of the meat and the air beside it over {spoken(estimate.end_s)}"
    return Picture("readings", title, message, draw)


def _over_time(estimate: LoggedEstimate, units: Units) -> Form:
    log, used = estimate.of.log, estimate.of.fitted.used
    rows = used[np.unique(np.linspace(0, used.size - 1, 13).round().astype(int))]
    times = log.time_s[rows]
    surface = bands(estimate.surface(), estimate.time_s, times)
    assert log.air_temperature_K is not None
    rh = log.relative_humidity
    lines = tuple(
        (
            spoken(float(times[k])),
            units.temperature.text(float(log.temperature_K[i])),
            units.temperature.text(float(log.air_temperature_K[i])),
            "not logged" if rh is None else f"{rh[i]:.0%}",
            f"{surface[1, k]:.2f} ({surface[0, k]:.2f} to {surface[2, k]:.2f})",
        )
        for k, i in enumerate(rows.tolist())
    )
    return Form(
        ("time", "meat", "air", "relative humidity", "water activity at the surface, estimated"),
        lines,
        (1, 1, 1, 1, 2),
    )


def _missed(found: Deviations, limits: CriticalLimits) -> list[Block]:
    if not found.texts:
        return [Heading("Deviations"), Sentence("None was found in what was logged.")]
    steps: list[Stated] = [step for kind in (*found.kinds, "any") for step in limits.deviation[kind]]
    rows = tuple((step.text, step.source) for step in steps)
    return [
        Heading("Deviations"),
        *(Sentence(f"{capital(text)}.") for text in found.texts),
        Form(("what applies", "where it is printed"), rows, (3.0, 1.0)),
    ]


def _signed() -> list[Block]:
    blanks = (
        "water activity measured",
        "weight at the end",
        "corrective action",
        "checked by",
        "signature, date",
    )
    return [
        Heading("To fill in"),
        Form(("what", ""), tuple((text, "") for text in blanks), (1.0, 3.0), tall=True),
    ]


def record_values(
    estimate: LoggedEstimate, limits: CriticalLimits, units: Units, lot: str | None
) -> dict[str, Any]:
    """Return the record as plain values in SI.

    Parameters
    ----------
    estimate : LoggedEstimate
    limits : CriticalLimits
    units : Units
    lot : str or None
    """
    found = deviations(estimate, limits, units)
    return {
        "not_an_approval": NO_APPROVAL,
        "lot": lot,
        "limits": {"name": limits.name, "status": limits.status, "come_up_s": limits.come_up_s},
        "come_up_s": come_up_s(estimate.of.log, limits),
        "reads_high_K": estimate.of.log.reads_high_K,
        "deviations": list(found.texts),
        "what_applies": [
            {"text": step.text, "source": step.source}
            for kind in (*found.kinds, *(("any",) if found.texts else ()))
            for step in limits.deviation[kind]
        ],
        **values(estimate),
    }
