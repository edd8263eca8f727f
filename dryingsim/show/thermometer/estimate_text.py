"""What a log says with its batch file: the estimated slice over time, log reductions, what speaks against the log."""

from dataclasses import replace
from typing import Any

import numpy as np

from dryingsim.judge.drawn import DrawnLethality
from dryingsim.judge.grades import Grade
from dryingsim.learn.logged_estimate import LoggedEstimate
from dryingsim.learn.logged_outlook import Outlook
from dryingsim.show.core.document import Document, labelled, screen
from dryingsim.show.core.quantities import Units, clock, count_of, ended, logs, spoken
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.lethality.brief import brief, safety_lines
from dryingsim.show.lethality.data import growth_values, table_values
from dryingsim.show.lethality.finding_words import objection, sentence
from dryingsim.show.lethality.text import HEADLINES, warning_lines
from dryingsim.show.lethality.words import CAUTIONS
from dryingsim.show.thermometer.outlook_text import (
    outlook_lines,
    outlook_values,
)
from dryingsim.show.thermometer.text import NOT_RELIED_ON, best_cells, judged_organism, what_was_read
from dryingsim.typing import Array

_ROWS, _ALL_ROWS = 9, 20  # of a long log; a log no longer than this is shown whole
_SHORT: dict[Grade, str] = {"met only if measured": "if measured"}  # as a table of 80 columns has room for
_HEAT_BEFORE = "heat_before_decides"
BAND = (0.05, 0.5, 0.95)
HOW = (
    "Estimated by fitting slices of this batch to the readings: 64 draws that explain them, each as likely as the others. "
    "Ranges hold nine in ten of them."
)
AIR_UNLOGGED = (
    "No humidity was logged: it was estimated from the meat's own temperature. What counts on it is met only if it is measured: "
    "log the wet bulb or the relative humidity too."
)


def estimate_document(estimate: LoggedEstimate, ahead: Outlook | None, units: Units) -> Document:
    """Return what is told of a log and its batch: the verdict on the whole batch, and where it stands.

    An unfinished batch has an outlook.
    """
    log, begun = estimate.of.fitted.log, " on the trays" if estimate.of.heated.ends_s else ""
    read, ahead_lines = what_was_read(estimate.of.log), outlook_lines(ahead, units)
    return screen(
        f"{log.name}: {log.time_s.size} readings in {spoken(estimate.end_s)}{begun}, fitted to {estimate.of.batch.name}",
        [
            *labelled({"SAFETY": _safety(estimate, units)}),
            replace(_reductions(estimate), spare=True),
            *labelled({"READY": ahead_lines[:1]}),
        ],
        {
            "the probed slice": [_over_time(estimate, units)],
            "all answers": [*read, *ahead_lines, *lines(estimate, units)],
        },
        lambda: {
            "read": next(iter(read), None),
            **values(estimate),
            "outlook": outlook_values(ahead),
        },
    )


def _safety(estimate: LoggedEstimate, units: Units) -> list[str]:
    """Return the verdict on the whole batch in brief."""
    against, degrees = estimate.of.objections, units.temperature.text
    lethality, heat_before = estimate.batch_lethality.lethality, _heat_before(estimate, units)
    warnings = tuple(each for each in lethality.warnings if each.key != _HEAT_BEFORE)  # told as heat_before
    lethality = replace(lethality, table=estimate.of.judged_log.compliance, warnings=warnings)
    said, *more = safety_lines(lethality, units, relied=not against)
    not_relied_on = (ended(f"{NOT_RELIED_ON}: {brief(each, degrees)}") for each in against[:2])
    return [said, *not_relied_on, *more, *heat_before]


def _heat_before(estimate: LoggedEstimate, units: Units) -> list[str]:
    """Return what to do for the heat before drying to count, where the batch heats its slices first."""
    lethality, heated = estimate.batch_lethality.lethality, estimate.of.heated
    if not heated.ends_s or lethality.grade == "met":
        return []
    early = heated.whole.time_s.size - heated.dried.time_s.size
    first = count_of(early, "reading")
    left_out = (
        f"Left out are the first {first}, before the trays: a probe beside hot slices reads as in them. "
    )
    told = (
        f"{left_out if early > 0 else ''}Heat before drying counts only if it was measured: next time read the middle of the "
        f"thickest slice as it comes out, {units.temperature.text(heated.asked_K)} or more, and write it down ('dryingsim "
        "record' has the place)."
    )
    alone = [each.values["relied_log10"] for each in lethality.warnings if each.key == _HEAT_BEFORE]
    return [" ".join([told, *(f"By drying alone: {logs(log10)} log." for log10 in alone)])]


def _over_time(estimate: LoggedEstimate, units: Units) -> Table:
    fitted = estimate.of.fitted
    log = fitted.log
    most = fitted.used.size if fitted.used.size <= _ALL_ROWS else _ROWS
    rows = np.unique(np.linspace(0, fitted.used.size - 1, most).round().astype(int))
    used = fitted.used[rows]
    times = log.time_s[used]
    assert log.air_temperature_K is not None
    low, middle, high = bands(estimate.surface(), estimate.time_s, times)
    even = bands(estimate.probed_activity, estimate.time_s, times)
    shown = np.median(fitted.after_K[rows], axis=1)
    degrees = units.temperature

    def kelvins(heading: str, values: Array) -> Column:
        return Column(("", heading, degrees.symbol), [degrees.number(float(value)) for value in values])

    columns = [
        Column(("", "time", "h:min"), [*map(clock, times)]),
        kelvins("air", log.air_temperature_K[used]),
        kelvins("meat", log.temperature_K[used]),
        kelvins("fitted", shown),
        Column(("water activity", "at surface", "about"), [f"{value:.2f}" for value in middle]),
        Column(("", "from", "to"), [f"{a:.2f}-{b:.2f}" for a, b in zip(low, high, strict=True)]),
        Column(("", "equil-", "ibrated"), [f"{value:.2f}" for value in even[1]]),
    ]
    count = log.time_s.size
    return Table(
        columns, [] if rows.size == count else [f"{rows.size} of the {count} readings, evenly spread."]
    )


def _reductions(estimate: LoggedEstimate) -> Table:
    probed, batch = estimate.probed_lethality, estimate.batch_lethality
    relied = not estimate.of.objections
    pairs = list(zip(probed.lethality.organisms, batch.lethality.organisms, strict=True))
    columns = [
        Column(("", "log10 reduction", "of"), [a.name for a, _ in pairs]),
        Column(("probed", "slice:", "lower"), [logs(a.counted) for a, _ in pairs]),
        Column(("", "", "best"), best_cells(probed.lethality.organisms, relied=relied)),
        Column(("whole", "batch:", "lower"), [logs(b.counted) for _, b in pairs]),
        Column(("", "", "best"), best_cells(batch.lethality.organisms, relied=relied)),
        Column(("", "", "required"), [f"{b.target:.1f}" for _, b in pairs]),
        Column(("", "", "grade"), [_SHORT.get(b.grade, b.grade) for _, b in pairs]),
    ]
    return Table(columns)


def bands(series: Array, time_s: Array, at_s: Array) -> Array:
    """Return the low end, the middle and the high end of draws at some times, shape (3, times).

    Parameters
    ----------
    time_s, at_s : ndarray
        When the draws were noted, and when they are wanted [s].
    """
    quantiles = np.quantile(series, BAND, axis=1)
    return np.stack([np.interp(at_s, time_s, row) for row in quantiles])


def lines(estimate: LoggedEstimate, units: Units) -> list[str]:
    """Return the verdict and what it rests on, a sentence or two each."""
    degrees = units.temperature.text
    batch, probed = estimate.batch_lethality.lethality, estimate.probed_lethality.lethality
    worst = batch.worst
    best = "" if estimate.of.objections else f"best estimate {logs(worst.best)} log, "
    return [
        *warning_lines(batch, units),
        f"{HEADLINES[batch.grade]} in the whole batch; {worst.name} limits: lower bound (95 %) {logs(worst.counted)} log, "
        f"{best}{worst.target:.1f} log required ({worst.guideline}).",
        f"{_place(estimate, worst.slab, units)}, {sentence(worst.circumstances, degrees)}.",
        f"{HEADLINES[probed.grade]} in the probed slice.",
        *(ended(f"The log is in doubt: {objection(each, degrees)}") for each in estimate.of.objections),
        *([AIR_UNLOGGED] if estimate.of.fitted.log.relative_humidity is None else []),
        *_heated(estimate),
        _surface(estimate),
        HOW,
        *(f"Note: {sentence(each, degrees)}." for each in _remarks(estimate)),
    ]


def _remarks(estimate: LoggedEstimate) -> list[Any]:
    told = {"place_of_probe_only"} | ({"warm_with_reason"} if estimate.of.heated.ends_s else set())
    return [each for each in estimate.of.judged_log.remarks if each.key not in told]


def _heated(estimate: LoggedEstimate) -> list[str]:
    """Return since when times count, where the slices were heated first."""
    heated = estimate.of.heated
    if not heated.ends_s:
        return []
    begun = f"about {spoken(heated.laid_s)} after the first reading"
    if heated.begins_hot:
        begun = "from the first reading on"
    return [f"Times count from when the slices came out of the heat and onto the trays, {begun}."]


def _surface(estimate: LoggedEstimate) -> str:
    at = np.array([estimate.end_s])
    low, middle, high = bands(estimate.surface(), estimate.time_s, at)[:, 0]
    even = bands(estimate.probed_activity, estimate.time_s, at)[:, 0]
    return (
        f"At the last reading the surface of the probed slice stands at a water activity of about {middle:.2f} ({low:.2f} to "
        f"{high:.2f}), the slice at {even[1]:.2f} ({even[0]:.2f} to {even[2]:.2f}) once moisture has evened out, without the "
        "error of the curve of water activity."
    )


def _place(estimate: LoggedEstimate, piece: int, units: Units) -> str:
    """Return where the least-reduced place is."""
    thick = units.length.text(estimate.of.batch.meat.classes[int(estimate.of.meant.kind[piece])].thickness_m)
    tray = f" on tray {int(estimate.of.meant.tray[piece]) + 1}" if estimate.of.meant.tray.max() else ""
    return f"At the least-reduced place, in the {thick} slices{tray}"


def values(estimate: LoggedEstimate) -> dict[str, Any]:
    """Return all of it as plain values in SI."""
    fitted = estimate.of.fitted
    log, used = fitted.log, fitted.used
    times, relied = log.time_s[used], not estimate.of.objections
    assert log.air_temperature_K is not None

    def band(draws: Array) -> dict[str, list[float]]:
        ends = bands(draws, estimate.time_s, times).tolist()
        return dict(zip(("low", "middle", "high"), ends, strict=True))

    return {
        "log": log.name,
        "batch": estimate.of.batch.name,
        "readings": log.time_s.size,
        "duration_s": estimate.end_s,
        "laid_s": estimate.of.heated.laid_s,
        "humidity_logged": log.relative_humidity is not None,
        "doubts": [objection(each) for each in estimate.of.objections],
        "time_s": times.tolist(),
        "meat_K": log.temperature_K[used].tolist(),
        "air_K": log.air_temperature_K[used].tolist(),
        "fitted_K": np.median(fitted.after_K, axis=1).tolist(),
        "surface_water_activity": band(estimate.surface()),
        "equilibrated_water_activity": band(estimate.probed_activity),
        "probed_slice": _judged(estimate.probed_lethality, relied=relied),
        "whole_batch": _judged(estimate.batch_lethality, relied=relied),
        "federal_table": table_values(estimate.of.judged_log.compliance),
        "remarks": [sentence(each) for each in _remarks(estimate)],
        "how": HOW,
        "cautions": list(CAUTIONS),
    }


def _judged(drawn: DrawnLethality, *, relied: bool) -> dict[str, Any]:
    lethality = drawn.lethality
    return {
        "grade": lethality.grade,
        "warnings": [sentence(each) for each in lethality.warnings],
        "decides": lethality.worst.organism,
        "organisms": [
            {
                **judged_organism(each, relied=relied),
                "by_the_log_alone": list(drawn.median_band[each.organism]) if relied else None,
            }
            for each in lethality.organisms
        ],
        "growth": [growth_values(lethality, each) for each in lethality.growth],
    }
