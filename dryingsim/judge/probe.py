"""What a thermometer's log says of the place of its probe: log reductions per organism, and a federal table.

What is credited is a lower bound: between two readings the meat is taken as cool and as dry as at either of them, a gap of
more than a quarter of an hour earns nothing, and up to three readings in a row far above those around them are not counted.
A log that does not look like meat warming is refused, or objected to: then nothing counts as reached (`log_plausibility`).
"""

from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.federal_tables import FederalColumn
from dryingsim.batch.checks import check_range
from dryingsim.batch.schema import Form, Species
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.judge.federal_table import (
    HUMID_AIR,
    TableCompliance,
    best_compliance,
    table_compliance,
)
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Lethality
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.log_plausibility import first_refusal, objections
from dryingsim.judge.logged_history import THIN_M, LoggedHistory
from dryingsim.judge.reductions import STRICTEST_FORM, judge_place
from dryingsim.judge.thermometer_log import LONGEST_GAP_S, ThermometerLog
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

_STANDS_OUT_K: Annotated[
    float, Evidence("K", "estimate", "meat does not rise and fall again by so much within a few readings")
] = 8.0
_SLIPS_IN_A_ROW: Annotated[
    int, Evidence("-", "estimate", "readings in a row that may stand out together")
] = 3
_NO_CREDIT_K: Annotated[
    float, Evidence("K", "estimate", "far below the coolest temperature that is credited")
] = ZERO_CELSIUS + 40.0
_RAW_AW: Annotated[float, Evidence("-", "published", "water activity of raw meat, measured 0.99")] = 0.99
_DRY_AW: Annotated[
    float, Evidence("-", "estimate", "water activity of bone-dry meat, where nothing was logged of its air")
] = 0.1
_MOIST: Annotated[
    float,
    Evidence(
        "-",
        "published",
        "relative humidity that keeps surfaces moist, by the federal cooking guideline "
        "(FSIS-GD-2021-14, options 3, 4)",
    ),
] = 0.90
_THICKNESS_M: Annotated[
    tuple[float, float], Evidence("m", "estimate", "of slices, for checking what was typed")
] = (1e-3, 0.03)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogJudgement:
    """What the logged history does, at the place of the probe.

    Attributes
    ----------
    compliance : TableCompliance or None
    remarks : tuple of Finding
        What was assumed, and what was left out.
    objections : tuple of Finding
        What speaks against the log; where there is any, nothing counts as reached or fulfilled.
    time_s, temperature_K, water_activity : ndarray
        The history that is credited: steps of the lower bound, with the readings between them.
    shown_water_activity : ndarray
        The same, where the air's humidity was logged and keeps the meat so wet; else that of its air, or of dry meat.
    """

    compliance: TableCompliance | None
    remarks: tuple[Finding, ...]
    objections: tuple[Finding, ...]
    time_s: Array
    temperature_K: Array
    water_activity: Array
    shown_water_activity: Array


def judge_log(
    log: ThermometerLog,
    *,
    water_activity: float | None = None,
    column: FederalColumn | None = None,
    thickness_m: float | None = None,
    started_warm: str | None = None,
) -> LogJudgement:
    """Judge a log: the history that is credited, what speaks against it, and a federal table if one is given.

    Parameters
    ----------
    log : ThermometerLog
        As read.
    water_activity : float, optional
        Taken for all readings [-] if the log has no such column: 0.99 for meat known to have stayed wet at
        the probe. Without either, that of raw meat is taken, and the judgement is objected to.
    column : FederalColumn, optional
        Of the federal table, as from `column_of`. The log then needs relative humidity.
    thickness_m : float, optional
        Of the raw slice [m]: how fast it can warm. A thin slice, if not given.
    started_warm : str, optional
        Why the meat was warm at the first reading, where the file does not say.
    """
    activity, remarks, against = _activity(log, water_activity)
    slips = _slips(log)
    log = counted(log)
    reason = started_warm or log.started_warm
    if reason:
        remarks.append(Finding("warm_with_reason", {"reason": reason}))
    if log.reads_high_K:
        remarks.append(Finding("probe_error_taken_off", {"reads_high_K": log.reads_high_K}))
    against += _objections(log, activity, _checked(thickness_m), reason)
    bound = _lower_bound(log, activity)
    hottest = heat_resistance().hottest_K
    remarks += slips
    if log.temperature_K.max() > hottest:
        line = log.lines[int(np.argmax(log.temperature_K > hottest))]
        remarks.append(Finding("hotter_than_measured", {"line": line}))
    remarks.append(Finding("place_of_probe_only"))
    compliance = None if column is None else _compliance(log, bound, column)
    if compliance is not None and against:
        compliance = replace(compliance, fulfilled=False)
    return LogJudgement(
        compliance=compliance,
        remarks=tuple(remarks),
        objections=tuple(against),
        time_s=bound.time_s,
        temperature_K=bound.meat_K,
        water_activity=bound.water_activity,
        shown_water_activity=_shown(bound),
    )


def _shown(bound: LoggedHistory) -> Array:
    """Return the water activity that the logged air supports.

    A surface that gives off water, or gives off none any more, holds a vapour pressure of that of its air or more. Meat is
    no warmer than its air: where only the humidity was logged, it is taken for that of air as warm as the meat.
    """
    if bound.relative_humidity is None:
        return np.full_like(bound.water_activity, _DRY_AW)
    least = bound.relative_humidity
    if bound.air_K is not None:
        vapour = bound.relative_humidity * saturation_pressure(bound.air_K)
        least = np.maximum(least, vapour / saturation_pressure(bound.meat_K))
    supported = np.minimum(bound.water_activity, np.maximum(least, _DRY_AW))
    return np.where(bound.relative_humidity >= _MOIST, bound.water_activity, supported)


def judge_probe(log_judgement: LogJudgement, species: Species, form: Form = STRICTEST_FORM) -> Lethality:
    """Judge the one place of the probe against what guidelines ask for; a log with objections reaches nothing.

    Nor does a water activity that was only estimated: no probe measures it, and the surface, where the bacteria of a
    slice sit, dries first. What is reached has to be reached with the water activity that the logged air supports.

    Parameters
    ----------
    log_judgement : LogJudgement
        As `judge_log` returns it.
    species, form : str
        As in `judge_place`.
    """
    judged = judge_place(
        log_judgement.time_s, log_judgement.temperature_K, log_judgement.water_activity, species, form
    )
    if log_judgement.objections:
        return replace(judged, organisms=tuple(entry.not_shown() for entry in judged.organisms))
    if all(entry.grade != "met" for entry in judged.organisms):
        return judged
    shown = judge_place(
        log_judgement.time_s, log_judgement.temperature_K, log_judgement.shown_water_activity, species, form
    )
    held = {entry.organism for entry in shown.organisms if entry.grade == "met"}
    unshown = [entry for entry in judged.organisms if entry.grade == "met" and entry.organism not in held]
    if not unshown:
        return judged
    organisms = tuple(entry.not_shown() if entry in unshown else entry for entry in judged.organisms)
    return replace(
        judged, organisms=organisms, warnings=(*judged.warnings, Finding("water_activity_estimated"))
    )


def _activity(log: ThermometerLog, typed: float | None) -> tuple[Array, list[Finding], list[Finding]]:
    """Return the water activity at every reading, with remarks and objections about it."""
    if log.water_activity is not None:
        return log.water_activity, [], []
    if typed is None:
        unknown = Finding("no_water_activity", {"water_activity": _RAW_AW})
        return np.full_like(log.temperature_K, _RAW_AW), [], [unknown]
    if not 0.0 < typed <= 1.0:
        raise InputError(f"{log.name}: water activity {typed:g} is outside 0 to 1")
    assumed = Finding("water_activity_assumed", {"water_activity": typed})
    return np.full_like(log.temperature_K, typed), [assumed], []


def _checked(thickness_m: float | None) -> float:
    if thickness_m is None:
        return THIN_M
    low, high = _THICKNESS_M
    return check_range("thickness_m", thickness_m, thickness_m, low, high, f"{low:g} to {high:g} m")


def _objections(
    log: ThermometerLog, activity: Array, thickness_m: float, reason: str | None
) -> list[Finding]:
    """Return what speaks against the log; raise where it cannot be that of meat."""
    readings = LoggedHistory(
        time_s=log.time_s,
        meat_K=log.temperature_K,
        water_activity=activity,
        air_K=log.air_temperature_K,
        relative_humidity=log.relative_humidity,
        thickness_m=thickness_m,
        started_warm=reason,
        fahrenheit=log.fahrenheit,
    )
    refusal = first_refusal(readings)
    if refusal is not None:
        place = "" if refusal.reading is None else f" line {log.lines[refusal.reading]}"
        raise InputError(f"{log.name}{place}: {refusal.message}")
    return [_with_line(log, each.finding, each.reading) for each in objections(readings)]


def _with_line(log: ThermometerLog, finding: Finding, reading: int | None) -> Finding:
    """Return a finding with the line of the file it is about."""
    if reading is None:
        return finding
    return replace(finding, values={**finding.values, "line": log.lines[reading]})


def _lower_bound(log: ThermometerLog, activity: Array) -> LoggedHistory:
    """Return the history that is credited: three samples at each reading, what held until it, itself, what holds after."""

    def steps(values: Array) -> Array:
        between = np.minimum(values[:-1], values[1:])
        if values is log.temperature_K:
            gap = np.diff(log.time_s) > LONGEST_GAP_S
            between = np.where(gap, np.minimum(between, _NO_CREDIT_K), between)
        until = np.concatenate([values[:1], between])
        after = np.concatenate([between, values[-1:]])
        return np.column_stack([until, values, after]).ravel()

    humidity, air = log.relative_humidity, log.air_temperature_K
    return LoggedHistory(
        time_s=np.repeat(log.time_s, 3),
        meat_K=steps(log.temperature_K),
        water_activity=steps(activity),
        relative_humidity=None if humidity is None else steps(humidity),
        air_K=None if air is None else steps(air),
    )


def counted(log: ThermometerLog) -> ThermometerLog:
    """Return the log with readings far above those before and after them brought down to the hotter of these."""
    t = log.temperature_K.copy()
    for first, end in _standing_out(log.temperature_K):
        t[first:end] = max(t[first - 1], t[end])
    return replace(log, temperature_K=t)


def _standing_out(temperature: Array) -> list[tuple[int, int]]:
    """Return where up to three readings in a row are like slips of the pen, each as (first, end)."""
    slips: list[tuple[int, int]] = []
    first = 1
    while first < temperature.size - 1:
        end = next(
            (
                end
                for end in range(first + 1, min(first + 1 + _SLIPS_IN_A_ROW, temperature.size))
                if temperature[first:end].min() - max(temperature[first - 1], temperature[end])
                >= _STANDS_OUT_K
            ),
            None,
        )
        if end is not None:
            slips.append((first, end))
        first = end or first + 1
    return slips


def _slips(log: ThermometerLog) -> list[Finding]:
    """Return which readings are not counted."""
    slips = []
    for first, end in _standing_out(log.temperature_K):
        line, last = log.lines[first], log.lines[end - 1]
        slips.append(
            Finding("reading_stands_out", {"line": line})
            if last == line
            else Finding("readings_stand_out", {"line": line, "last_line": last})
        )
    return slips


def _compliance(log: ThermometerLog, bound: LoggedHistory, column: FederalColumn) -> TableCompliance:
    if bound.relative_humidity is None:
        raise InputError(f"{log.name}: no column relative_humidity; a federal table counts in humid air only")
    arrays = bound.time_s, bound.meat_K, bound.relative_humidity
    return best_compliance([table_compliance(*arrays, column, rule) for rule in HUMID_AIR])
