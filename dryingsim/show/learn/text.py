"""What logs taught, as text and as JSON."""

from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.batch.learned import KEYS
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.history.provenance import inputs_of, versions
from dryingsim.learn.causes import Cause
from dryingsim.learn.estimates import (
    Estimate,
    Misfit,
    estimates,
    expected_readings,
    learned_from,
    misfits,
    together,
)
from dryingsim.learn.fit import Fit
from dryingsim.learn.forecast import Forecast
from dryingsim.learn.problem import LoggedBatch
from dryingsim.learn.readings import AIR_K, LOOKING_S, MEAT_K, SWING_K, WEIGHING_KG
from dryingsim.show.core.document import Block, Document, labelled, screen, sentences
from dryingsim.show.core.quantities import Units, capital, spoken
from dryingsim.show.core.tables import CAUTION, Column, Table
from dryingsim.show.learn.logger_words import logger_sentences

DRYNESS_ONLY = "It tells when meat is dry, not how far bacteria were reduced; for that see 'dryingsim run', and measure the meat."
LEARNING_CAUTIONS = (
    "This tells when meat is dry, not how far bacteria were reduced: for that 'dryingsim run', and measure the meat itself.",
    f"{DRYNESS_ONLY} {CAUTION}",
)
_FINE_S, _COARSE_S = 60.0, 300.0  # an error of a time is told to the minute, or to five where it is long
_LONG_S = 1200.0
_AS_MEANT = 0.05  # of the logarithm of the time: less asks for no cause
_WORTH_NAMING, _SURE = 0.05, 0.8  # chances of a main cause
_WIDE = 0.2  # of the time: an interval wider than that comes from few weighings


def title_of(found: Fit) -> str:
    """Return what the numbers are of."""
    logged_batches = [part.logged for part in found.problem.parts]
    weighings = sum(int(logged.readings.weighs.sum()) for logged in logged_batches)
    others = sum(len(logged.readings) for logged in logged_batches) - weighings
    names = ", ".join(logged.log.name for logged in logged_batches)
    more = f" and {_count(others, 'temperature')}" if others else ""
    return f"{logged_batches[0].batch.name}: {names}, {_count(weighings, 'weighing')}{more}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def estimate_table(found: Fit, units: str | None = None, part: int = 0) -> Table:
    """Return the table of what was thought before and is thought now."""
    rows = estimates(found, part)
    shown = Units(found.problem.parts[part].logged.batch, units)
    columns = [
        Column(("", "", "what"), [KEYS[one.key].words for one in rows]),
        Column(("", "thought before", "(90 %)"), [_told(one.key, one.before, shown) for one in rows]),
        Column(("", "by the log", "(90 %)"), [_told(one.key, one.after, shown) for one in rows]),
        Column(("uncertainty", "left", "%"), [f"{100.0 * min(one.left, 1.0):.0f}" for one in rows]),
    ]
    return Table(
        columns,
        ["Factors (x) are on the package's own numbers, the others are added to what the batch says."],
        set(),
    )


def _told(key: str, values: tuple[float, float, float], shown: Units) -> str:
    middle, low, high = values
    kind = KEYS[key].dimension
    if kind == "temperature difference":
        fahrenheit = shown.temperature.name == "degF"
        middle, low, high = ((1.8 if fahrenheit else 1.0) * one for one in values)
        digits = 0 if fahrenheit else 1
        return f"{middle:+.{digits}f} ({low:+.{digits}f} to {high:+.{digits}f}) {'°F' if fahrenheit else 'K'}"
    if kind:
        return f"{100 * middle:+.1f} ({100 * low:+.1f} to {100 * high:+.1f}) %"
    return f"x {middle:.2f} ({low:.2f} to {high:.2f})"


def learn_sentences(
    found: Fit, carried: list[Forecast], notes: tuple[str, ...], units: str | None = None
) -> list[str]:
    """Return the answers as sentences: the forecast of each batch, what stays open, what did not fit."""
    parts = found.problem.parts
    said = []
    for part, one in zip(parts, carried, strict=True):
        said += forecast_sentences(part.logged, one, units, named=len(parts) > 1)
    for i, one in enumerate(carried):
        said += _causes(found, i, one, units)
    said += [*_strange(found), *_open(found)]
    said += [_misfit(one, parts[0].logged.batch, units) for one in misfits(found)]
    if found.widened > 1.0:
        said.append(
            f"The readings scatter {found.widened:.1f} times as widely around the model as their errors explain; the "
            "intervals are widened by that."
        )
    return [*said, *logger_sentences(found), *(f"Note: {text}." for text in notes)]


def forecast_sentences(
    logged: LoggedBatch, one: Forecast, units: str | None = None, *, named: bool = False
) -> list[str]:
    """Return when a batch is done, at which weight, and what that leaves out."""
    shown = Units(logged.batch, units)
    target = logged.batch.targets.water_activity
    name = f"{logged.log.name}: " if named else ""
    if one.done_s is None:
        return [
            f"{name}Not done (equilibrated water activity {target:g}) within {spoken(one.horizon_s)}: in this air it dries "
            "too slowly, or the weights are not those of this batch."
        ]
    over = one.done_s <= one.last_s
    when, spread = _moment(logged, one.done_s), _plus_minus(one)
    after = "" if logged.log.start_clock_s is None else f", that is after {spoken(one.done_s)}"
    told = [
        f"{name}{'Was done' if over else 'Done'} {when}{spread}{after}: the wettest slices then even out at a water activity "
        f"of {target:g}. The error is what the readings leave open, {_sure(one)} times in ten."
    ]
    if one.weight_kg is not None and one.weight_low_kg is not None and one.weight_high_kg is not None:
        ends = f"{shown.weight.number(one.weight_low_kg)} to {shown.weight.text(one.weight_high_kg)}"
        told.append(
            f"All of the meat{_taken_off(logged.batch)} then weighs {shown.weight.text(one.weight_kg)} ({ends}), of "
            f"{shown.weight.text(one.laid_on_kg)} laid on: go by the weight."
        )
    told.append(_activity(logged, one, shown))
    return told


def _taken_off(batch: Batch) -> str:
    return ", slices taken off as they are ready among it," if batch.take_off == "as ready" else ""


def _sure(one: Forecast) -> str:
    """How often the interval holds: where much is open it is somewhat too narrow, see `learn.forecast`."""
    wide = (
        one.done_s is None
        or one.low_s is None
        or one.high_s is None
        or one.high_s - one.low_s > _WIDE * one.done_s
    )
    return "eight" if wide else "nine"


def _activity(logged: LoggedBatch, one: Forecast, shown: Units) -> str:
    early = "at any time before" if one.earliest_s is None else _moment(logged, one.earliest_s)
    late = "beyond what was followed" if one.latest_s is None else _moment(logged, one.latest_s)
    surely = (
        f" At {shown.weight.text(one.surely_kg)} it is dry with 95 % certainty."
        if one.surely_kg is not None
        else ""
    )
    error = activity_error_of(logged.batch).half_width
    return (
        f"Water activity is known to ±{error:.2f} only, which no scale improves: it may be {early}, or only "
        f"{late}.{surely}"
    )


def _moment(logged: LoggedBatch, time_s: float) -> str:
    """Return a time as a person of this log says it: "at 15:40", "at 3:40 pm", "after 4 h 10 min"."""
    start = logged.log.start_clock_s
    if start is None:
        return f"after {spoken(time_s)}"
    days, rest = divmod(round((start + time_s) / 60.0), 24 * 60)
    day = "" if not days else " the next day" if days == 1 else f" {days} days later"
    hours, minutes = divmod(rest, 60)
    if logged.log.half_days:
        return f"at {(hours - 1) % 12 + 1}:{minutes:02d} {'am' if hours < 12 else 'pm'}{day}"
    return f"at {hours}:{minutes:02d}{day}"


def _plus_minus(one: Forecast) -> str:
    if one.low_s is None or one.high_s is None:
        return " at the earliest" if one.low_s is None and one.high_s is None else ", perhaps much later"
    half = 0.5 * (one.high_s - one.low_s)
    step = _COARSE_S if half > _LONG_S else _FINE_S
    return f" ± {spoken(max(step * np.ceil(half / step), _FINE_S))}"


def _strange(found: Fit) -> list[str]:
    names = {
        KEYS[row.key].words
        for i in range(len(found.problem.parts))
        for row in estimates(found, i)
        if row.strange
    }
    if not names:
        return []
    return [
        f"Stranger than 1 batch in 80: {'; '.join(sorted(names))}. Look again at the thickness and the weight in the "
        "batch file, and at the times and units in the log."
    ]


def _causes(found: Fit, part: int, one: Forecast, units: str | None) -> list[str]:
    """Name the main cause of a batch slower or faster than its file says, how sure that is, and what comes next."""
    if not one.causes:
        return []
    logged = found.problem.parts[part].logged
    of = f"{logged.log.name}: " if len(found.problem.parts) > 1 else ""
    together_factor = float(np.prod([cause.time_factor for cause in one.causes]))
    if abs(np.log(together_factor)) < _AS_MEANT:
        return [
            f"{of}It dries as its file says, to {100.0 * _AS_MEANT:.0f} % of the time: no cause need be named."
        ]
    values = {row.key: row.after for row in estimates(found, part)}
    shown = Units(logged.batch, units)

    def named(cause: Cause) -> str:
        moved = f"{100.0 * (cause.time_factor - 1.0):+.0f} % of the time"
        return (
            f"{KEYS[cause.key].words}, {_told(cause.key, values[cause.key], shown)}, {moved}; chance to be the main cause "
            f"{'over 99' if cause.chance > 0.99 else f'{100.0 * cause.chance:.0f}'} %"
        )

    first, second = one.causes[:2] if len(one.causes) > 1 else (one.causes[0], None)
    way = "slower" if together_factor > 1.0 else "faster"
    told = [f"{of}It dries {way} than its file says. Likeliest cause: {named(first)}."]
    if second is not None and second.chance >= _WORTH_NAMING:
        unsure = (
            " The readings cannot tell the two apart: begin with the first." if first.chance < _SURE else ""
        )
        told.append(f"Else: {named(second)}.{unsure}")
    return [" ".join(told)]


def _open(found: Fit) -> list[str]:
    rows = estimates(found)
    unknown = [KEYS[one.key].words for one in rows if not one.determined]
    pairs = [f"{KEYS[a].words} and {KEYS[b].words} ({value:+.2f})" for a, b, value in together(found)]
    told = []
    if len(unknown) == len(rows):
        told.append("The log says next to nothing yet about any of these: weigh again.")
    elif unknown:
        told.append(f"Not determined by the log, as open as before: {'; '.join(unknown)}.")
    if pairs:
        told.append(f"Known only together (correlation): {'; '.join(pairs)}.")
    return told


def _misfit(one: Misfit, batch: Batch, units: str | None) -> str:
    shown = Units(batch, units)
    unit = shown.weight if one.reading.quantity == "weight" else shown.temperature
    return (
        f"Left out: {one.reading.place(one.log)}, {one.reading.quantity.replace('_', ' ')} {unit.text(one.reading.value)}. The "
        f"other readings make one expect {unit.text(one.expected)} there, {abs(one.deviations):.0f} standard deviations away: "
        "a slip of the pen, another tray, a moved scale?"
    )


def errors_sentence(shown: Units) -> str:
    """Return what the readings are taken to be good for."""
    off = shown.temperature.difference
    return (
        f"Taken as errors (estimates, one standard deviation): {1e3 * WEIGHING_KG:g} g for a weighing (at least 0.1 %, "
        f"at most 1 % of the weight), {off(AIR_K)} for a thermometer in the air and {off(SWING_K)} for a thermostat's swings, "
        f"{off(MEAT_K)} for one in a slice, {LOOKING_S:.0f} s for the time; and the last digit typed."
    )


def learn_document(
    found: Fit, carried: list[Forecast], notes: tuple[str, ...], units: str | None = None
) -> Document:
    """Return what logs taught.

    Parameters
    ----------
    found : Fit
    carried : list of Forecast
        Of each batch.
    notes : tuple of str
        What was met on the way.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    parts = found.problem.parts
    pairs = list(zip(parts, carried, strict=True))
    named = len(parts) > 1
    answers = {
        "READY": [text for part, one in pairs for text in _ready(part.logged, one, units, named=named)],
        "LEARNED": _learnt(found, units),
        "CHECK": [*_strange(found), *(f"{text}." for text in notes)],
    }
    details: dict[str, list[Block]] = {
        "what was learned": [estimate_table(found, units)],
        "all answers": sentences(
            *learn_sentences(found, carried, notes, units),
            errors_sentence(Units(parts[0].logged.batch, units)),
        ),
    }
    return screen(
        title_of(found), labelled(answers), details, lambda: _data(found, carried, notes), LEARNING_CAUTIONS
    )


def _ready(logged: LoggedBatch, one: Forecast, units: str | None, *, named: bool) -> list[str]:
    shown, name = Units(logged.batch, units), f"{logged.log.name}: " if named else ""
    if one.done_s is None:
        return [
            f"{name}not within {spoken(one.horizon_s)}: too slow, or the weights are not those of this batch."
        ]
    verb = "was ready" if one.done_s <= one.last_s else "ready"
    weight = "" if one.weight_kg is None else f", at {shown.weight.text(one.weight_kg)}"
    surely = f"; surely dry (95 %) at {shown.weight.text(one.surely_kg)}" if one.surely_kg is not None else ""
    text = f"{name}{verb} {_moment(logged, one.done_s)}{_plus_minus(one)}{weight}{surely}."
    return [text if named else capital(text)]


def _learnt(found: Fit, units: str | None) -> list[str]:
    shown = Units(found.problem.parts[0].logged.batch, units)
    known = [row for row in estimates(found) if row.determined]
    told = [f"{KEYS[row.key].words} {_told(row.key, row.after, shown)}" for row in known]
    return [f"{capital('; '.join(told))}." if told else "Next to nothing yet: weigh again."]


def _data(found: Fit, carried: list[Forecast], notes: tuple[str, ...]) -> dict[str, Any]:
    return {
        "caution": LEARNING_CAUTIONS[1],
        "batches": [_batch(found, i, one) for i, one in enumerate(carried)],
        "next_batch": _next(found),
        "known_only_together": [list(pair) for pair in together(found)],
        "left_out": [_left_out(one) for one in misfits(found)],
        "errors_widened_by": found.widened,
        "notes": list(notes),
        "inputs": [inputs_of(part.logged.batch) for part in found.problem.parts],
        "versions": versions(),
    }


def _batch(found: Fit, part: int, one: Forecast) -> dict[str, Any]:
    logged = found.problem.parts[part].logged
    return {
        "batch": logged.batch.name,
        "log": logged.log.name,
        "start_clock_s": logged.log.start_clock_s,
        "forecast": asdict(one),
        "estimates": [_estimate(row) for row in estimates(found, part)],
        "readings": [
            {
                "file": reading.file or logged.log.name,
                "line": reading.line,
                "time_s": reading.time_s,
                "quantity": reading.quantity,
                "measured": reading.value,
                "expected": float(should),
                "standard_deviations": float(miss),
                "used": bool(used),
            }
            for reading, should, miss, used in zip(
                logged.readings.readings,
                expected_readings(found, part),
                found.misses(part),
                found.problem.parts[part].used,
                strict=True,
            )
        ],
    }


def _estimate(one: Estimate) -> dict[str, Any]:
    return {
        "key": one.key,
        "before": list(one.before),
        "after": list(one.after),
        "uncertainty_left": one.left,
        "determined": one.determined,
    }


def _next(found: Fit) -> dict[str, Any]:
    corrections = learned_from(found).corrections
    return {key: {"value": one.value, "uncertainty": one.uncertainty} for key, one in corrections.items()}


def _left_out(one: Misfit) -> dict[str, Any]:
    return {
        "log": one.log,
        "file": one.reading.file or one.log,
        "line": one.reading.line,
        "measured": one.reading.value,
        "expected": one.expected,
        "standard_deviations": one.deviations,
    }
