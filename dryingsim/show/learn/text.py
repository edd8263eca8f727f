"""What logs taught, as text and as JSON."""

import numpy as np

from dryingsim.batch.learned import KEYS
from dryingsim.batch.reading.weigh_in_file import TOGETHER_S
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.learn.causes import Cause
from dryingsim.learn.estimates import (
    Misfit,
    estimates,
    learned_from,
    misfits,
    together,
)
from dryingsim.learn.fit import Fit
from dryingsim.learn.forecast import Forecast
from dryingsim.learn.parameters import natural
from dryingsim.learn.problem import LoggedBatch
from dryingsim.learn.readings import AIR_K, LOOKING_S, MEAT_K, SWING_K, WEIGHING_KG
from dryingsim.show.core.document import Document, labelled, screen
from dryingsim.show.core.quantities import Units, capital, count_of, spoken
from dryingsim.show.core.tables import CAUTION, Column, Table
from dryingsim.show.learn.data import learn_values
from dryingsim.show.thermometer.logger_text import what_was_read

LEARNING_CAUTIONS = (
    "This tells when meat is dry, not how far bacteria were reduced: for that 'dryingsim run', and measure the meat itself.",
    "It tells when meat is dry, not how far bacteria were reduced; for that see 'dryingsim run', and measure the meat. "
    + CAUTION,
)
_FINE_S, _COARSE_S = 60.0, 300.0  # an error of a time is told to the minute, or to five where it is long
_LONG_S = 1200.0
_AS_MEANT = 0.05  # of the logarithm of the time: less asks for no cause
_WORTH_NAMING, _SURE = 0.05, 0.8  # chances of a main cause
_HUMIDITY = ("wet_bulb", "dew_point", "relative_humidity")
_WIDE = 0.2  # of the time: an interval wider than that comes from few weighings


def title_of(found: Fit) -> str:
    """Return what the numbers are of."""
    logged_batches = [part.logged for part in found.problem.parts]
    weighings = sum(int(logged.readings.weighs.sum()) for logged in logged_batches)
    others = sum(len(logged.readings) for logged in logged_batches) - weighings
    names = ", ".join(logged.log.name for logged in logged_batches)
    more = f" and {count_of(others, 'temperature')}" if others else ""
    return f"{logged_batches[0].batch.name}: {names}, {count_of(weighings, 'weighing')}{more}"


def estimate_table(found: Fit, units: str | None = None) -> Table:
    """Return the table of what was thought before and is thought now."""
    rows, shown = estimates(found), Units(found.problem.parts[0].logged.batch, units)
    columns = [
        Column(("", "", "what"), [KEYS[one.key].words for one in rows]),
        Column(("", "thought before", "(90 %)"), [_told(one.key, one.before, shown) for one in rows]),
        Column(("", "by the log", "(90 %)"), [_told(one.key, one.after, shown) for one in rows]),
        Column(("uncertainty", "left", "%"), [f"{100.0 * min(one.left, 1.0):.0f}" for one in rows]),
    ]
    note = "Factors (x) are on the package's own numbers, the others are added to what the batch says."
    return Table(columns, [note])


def _told(key: str, values: tuple[float, float, float], shown: Units) -> str:
    kind, sign, digits, unit, factor = KEYS[key].dimension, "+", 1, " %", 100.0
    if kind == "temperature difference":
        factor, unit, digits = (1.8, " °F", 0) if shown.temperature.name == "degF" else (1.0, " K", 1)
    elif not kind:
        factor, unit, digits, sign = 1.0, "", 2, ""
    middle, low, high = (f"{factor * value:{sign}z.{digits}f}" for value in values)
    return f"{'' if kind else 'x '}{middle} ({low} to {high}){unit}"


def _most_likely(key: str, value: float, shown: Units) -> str:
    """Return the same without its ends."""
    middle, _, rest = _told(key, (natural(key, value),) * 3, shown).partition(" (")
    return middle + rest.partition(")")[2]


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
    return [*said, *_loggers(found), *(f"Note: {text}." for text in notes)]


def _loggers(found: Fit) -> list[str]:
    """Return what was read of loggers that the logs of a fit name, and how it counts."""
    told = []
    for part in found.problem.parts:
        log = part.logged.log
        for logger in log.loggers:
            count = sum(1 for reading in log.readings if reading.file == logger.name)
            told += [
                what_was_read(logger),
                f"{count} readings of {logger.name} count, means over 10 min every {spoken(TOGETHER_S)}: what lies between "
                "errs alike.",
            ]
            if part.logged.batch.appliance is None and any(key in logger.values for key in _HUMIDITY):
                told.append(
                    "Its humidity is left aside: the batch file states the air, and nothing of it is learned."
                )
    return told


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
    verb = "Was done" if one.done_s <= one.last_s else "Done"
    when = f"{_moment(logged, one.done_s)}{_plus_minus(one)}"
    after = "" if logged.log.start_clock_s is None else f", that is after {spoken(one.done_s)}"
    told = [
        f"{name}{verb} {when}{after}: the wettest slices then even out at a water activity of {target:g}. The error is what the "
        f"readings leave open, {_sure(one)} times in ten."
    ]
    if one.weight_kg is not None and one.weight_low_kg is not None and one.weight_high_kg is not None:
        weight, low_kg, high_kg = shown.weight, one.weight_low_kg, one.weight_high_kg
        as_ready = logged.batch.take_off == "as ready"
        told.append(
            f"All of the meat{', slices taken off as they are ready among it,' if as_ready else ''} then weighs "
            f"{weight.text(one.weight_kg)} ({weight.number(low_kg)} to {weight.text(high_kg)}), of "
            f"{weight.text(one.laid_on_kg)} laid on: go by the weight."
        )
    return [*told, _activity(logged, one, shown)]


def _sure(one: Forecast) -> str:
    """How often the interval holds: where much is open it is somewhat too narrow, see `learn.forecast`."""
    if one.done_s is None or one.low_s is None or one.high_s is None:
        return "eight"
    return "eight" if one.high_s - one.low_s > _WIDE * one.done_s else "nine"


def _activity(logged: LoggedBatch, one: Forecast, shown: Units) -> str:
    early = "at any time before" if one.earliest_s is None else _moment(logged, one.earliest_s)
    late = "beyond what was followed" if one.latest_s is None else _moment(logged, one.latest_s)
    surely = ""
    if one.surely_kg is not None:
        surely = f" At {shown.weight.text(one.surely_kg)} it is dry with 95 % certainty."
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
    rows = [row for i in range(len(found.problem.parts)) for row in estimates(found, i) if row.strange]
    names = sorted({KEYS[row.key].words for row in rows})
    if not names:
        return []
    return [
        f"Stranger than 1 batch in 80: {'; '.join(names)}. Look again at the thickness and the weight in the batch file, and at "
        "the times and units in the log."
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
        chance = "over 99" if cause.chance > 0.99 else f"{100.0 * cause.chance:.0f}"
        return (
            f"{KEYS[cause.key].words}, {_told(cause.key, values[cause.key], shown)}, {moved}; chance to be the main cause "
            f"{chance} %"
        )

    first, *others = one.causes
    way = "slower" if together_factor > 1.0 else "faster"
    text = f"{of}It dries {way} than its file says. Likeliest cause: {named(first)}."
    if others and others[0].chance >= _WORTH_NAMING:
        text += f" Else: {named(others[0])}."
        if first.chance < _SURE:
            text += " The readings cannot tell the two apart: begin with the first."
    return [text]


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
    shown, reading = Units(batch, units), one.reading
    unit = shown.weight if reading.quantity == "weight" else shown.temperature
    return (
        f"Left out: {reading.place(one.log)}, {reading.quantity.replace('_', ' ')} {unit.text(reading.value)}. The "
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
    """Return what logs taught; `carried` has the forecast of each batch, `notes` what was met on the way."""
    parts = found.problem.parts
    named = len(parts) > 1
    ready = [_ready(part.logged, one, units, named=named) for part, one in zip(parts, carried, strict=True)]
    answers = {
        "READY": ready,
        "LEARNED": _learnt(found, units),
        "CHECK": [*_strange(found), *(f"{text}." for text in notes)],
    }
    return screen(
        title_of(found),
        labelled(answers),
        {
            "what was learned": [estimate_table(found, units), *_next_batch(found, units)],
            "all answers": [
                *learn_sentences(found, carried, notes, units),
                errors_sentence(Units(parts[0].logged.batch, units)),
            ],
        },
        lambda: learn_values(found, carried, notes, LEARNING_CAUTIONS[1]),
        LEARNING_CAUTIONS,
    )


def _ready(logged: LoggedBatch, one: Forecast, units: str | None, *, named: bool) -> str:
    shown, name = Units(logged.batch, units), f"{logged.log.name}: " if named else ""
    if one.done_s is None:
        return (
            f"{name}not within {spoken(one.horizon_s)}: too slow, or the weights are not those of this batch."
        )
    verb = (
        "was ready " if one.done_s <= one.last_s else "ready " if named else ""
    )  # alone it stands behind READY
    weight = "" if one.weight_kg is None else f", at {shown.weight.text(one.weight_kg)}"
    surely = f"; surely dry (95 %) at {shown.weight.text(one.surely_kg)}" if one.surely_kg is not None else ""
    text = f"{name}{verb}{_moment(logged, one.done_s)}{_plus_minus(one)}{weight}{surely}."
    return text if named else capital(text)


def _learnt(found: Fit, units: str | None) -> list[str]:
    shown = Units(found.problem.parts[0].logged.batch, units)
    known = [row for row in estimates(found) if row.determined]
    if not known:
        return ["Next to nothing yet: weigh again."]
    told = "; ".join(f"{KEYS[row.key].words} {_told(row.key, row.after, shown)}" for row in known)
    if len(found.problem.parts) > 1:
        told = f"{found.problem.parts[0].logged.log.name}: {told}"
    return [f"{capital(told)}."]


def _next_batch(found: Fit, units: str | None) -> list[str]:
    """Say what the next batch is run with of what differs from batch to batch; nothing where that was not learned."""
    shown, ahead = Units(found.problem.parts[0].logged.batch, units), learned_from(found).corrections
    differing = {found.priors.keys[i] for i in found.problem.varying}
    likely = [
        f"{KEYS[row.key].words} {_most_likely(row.key, ahead[row.key].value, shown)}"
        for row in estimates(found)
        if row.determined and row.key in differing
    ]
    if not likely:
        return []
    return [
        f"The next batch is run with (--out) {'; '.join(likely)}: meat differs, so one batch counts in part."
    ]
