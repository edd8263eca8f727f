"""Federal time-temperature tables for cooked meat, and how far a history fulfils one.

The tables hold *internal* temperatures and the time every part of the piece must be held there. The jerky
guidance lets a maker use them only together with a humidity condition, and versions of that condition
disagree: a statement always names the rule it used. Here time at temperature counts only while the air is
humid as the rule asks, which is stricter than the guidance (that asks for a share of the cooking time) and
never more lenient.

A table is a second, separate check. It was made for Salmonella in large pieces; L. monocytogenes was more
resistant in model roast beef, and at 54.4 degC the beef table was not confirmed for any pathogen (McMinn et
al., Meat Muscle Biol).
"""

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

import numpy as np

from dryingsim.batch.checks import check_choice
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.judge.lethality import CAUTIONS, cumulative_exponential
from dryingsim.typing import Array

Signal = Literal["relative humidity", "steam", "sealed oven"]
_ROUNDING = 1e-9  # of a temperature converted from degF: a row's own temperature must reach that row


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
    """One printed value."""

    temperature_K: float
    temperature_F: float
    time_s: float
    printed: str
    status: str  # "reprint" or "memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class FederalTable:
    """One table: printed rows for each target, in log10 reduction of Salmonella."""

    name: str
    title: str
    species: str
    source: str
    rows: dict[float, tuple[TableRow, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class HumidityRule:
    """A humidity condition that goes with a table, in one of its versions."""

    version: str
    source: str
    signal: Signal  # what shows that the condition holds
    least_relative_humidity: float  # while time counts; unused by the other signals
    least_share: float  # of the cooking time
    least_time_s: float
    least_internal_K: float  # of the coldest point, for time to count


_MORE_THAN_HALF = math.nextafter(0.5, 1.0)


def _rule(
    version: str,
    signal: Signal,
    humidity: float,
    share: float,
    least_s: float,
    internal_F: float,
    source: str,
) -> HumidityRule:
    return HumidityRule(
        version=version,
        source=source,
        signal=signal,
        least_relative_humidity=humidity,
        least_share=share,
        least_time_s=least_s,
        least_internal_K=(internal_F + 459.67) / 1.8,
    )


_2014 = "federal jerky guideline, 2012/2014 text, read in a quotation"
_2007 = "federal jerky guideline, 2007 text, read"
RULES: dict[str, HumidityRule] = {
    rule.version: rule
    for rule in (
        _rule("2014 option A, humid air", "relative humidity", 0.90, 0.25, 3600.0, 145.0, _2014),
        _rule("2014 option A, steam", "steam", 0.0, 0.50, 0.0, 145.0, _2014),
        _rule("2014 option A, sealed oven", "sealed oven", 0.0, _MORE_THAN_HALF, 0.0, 145.0, _2014),
        _rule("2014 option B", "relative humidity", 0.90, 0.25, 3600.0, 0.0, _2014),
        _rule("2007", "relative humidity", 0.90, 0.0, 0.0, 0.0, _2007),  # humid the whole time it counts
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TableCompliance:
    """How far a history fulfils a table together with its humidity condition."""

    table: str
    target: float
    rule: HumidityRule
    fraction: float  # of the required time, counted while the rule's condition holds
    fraction_any_air: float  # the same, whatever the air: shows what the humidity condition costs
    humid_share: float  # of the cooking time
    humid_time_s: float
    humidity_met: bool
    fulfilled: bool
    reason: str
    cautions: tuple[str, ...]


@cache
def _data() -> dict[str, Any]:
    folder = resources.files("dryingsim.batch.catalog")
    return tomllib.loads(folder.joinpath("federal_tables.toml").read_text(encoding="utf-8"))


def table_names() -> tuple[str, ...]:
    """Return the names of the tables."""
    return tuple(_data())


@cache
def federal_table(name: str) -> FederalTable:
    """Return a table as printed, with the status of every value."""
    check_choice("table", name, table_names())
    entry = _data()[name]
    rows = {}
    for index, target in enumerate(entry["targets"]):
        at = 1 + 2 * index
        rows[target] = tuple(
            TableRow(
                temperature_K=(row[0] + 459.67) / 1.8,
                temperature_F=float(row[0]),
                time_s=float(row[at]),
                printed=row[at + 1],
                status=entry["status"] if "status" in entry else row[3],
            )
            for row in entry["rows"]
        )
    return FederalTable(
        name=name, title=entry["title"], species=entry["species"], source=entry["source"], rows=rows
    )


def beef_law(temperature: Array, target: float) -> Array:
    """Return the time [s] of the law behind the cooked-beef table: 112 min at 130 degF, z = 10 degF.

    Parameters
    ----------
    temperature : float or ndarray
        Internal temperature [K].
    target : float
        Log10 reduction; the time is proportional to it.

    Notes
    -----
    Derived from the printed rows. For 6.5 log they follow it within their rounding (to the nearest unit or
    up), but for the "0 s" at 158-160 degF, where it gives 10.7, 8.5 and 6.7 s. For 7 log the rows at 131,
    133 and 136 degF are longer by 1.2-1.7 min, those at 134 and 135 degF shorter by 1.0-1.2 min, and at
    139, 140 and 143 degF the printed time is the 6.5-log one, up to 0.2 min shorter.

    Examples
    --------
    >>> round(float(beef_law((140 + 459.67) / 1.8, 6.5)) / 60, 1)
    11.2
    """
    fahrenheit = np.asarray(temperature) * 1.8 - 459.67
    return 112.0 * 60.0 * target / 6.5 * 10.0 ** ((130.0 - fahrenheit) / 10.0)


def required_time(temperature: Array, table: str, target: float) -> Array:
    """Return the time a table asks for at a constant internal temperature [s].

    Printed times at the printed temperatures; between rows log-linear, which is the tables' own law. Below
    the coolest row infinite. Above the hottest row with a time the time of that row is kept: "instant" is
    not believed. Rows from memory are not used.

    Parameters
    ----------
    temperature : float or ndarray
        Internal temperature at the coldest point [K].
    table : str
        A name of `table_names`.
    target : float
        Log10 reduction of a column of that table, such as 6.5 or 7.0.

    Examples
    --------
    >>> round(float(required_time((140 + 459.67) / 1.8, "beef_1999", 6.5)) / 60, 6)
    12.0
    """
    at, log10_time = _curve(table, target)
    t = np.asarray(temperature, dtype=float)
    return np.where(t < at[0] - _ROUNDING, np.inf, 10.0 ** np.interp(t, at, log10_time))[()]


@cache
def _curve(table: str, target: float) -> tuple[Array, Array]:
    columns = federal_table(table).rows
    if target not in columns:
        known = " and ".join(f"{value:g}" for value in columns)
        raise InputError(f"table '{table}' has no column for {target:g} log; it has {known}")
    rows = [row for row in columns[target] if row.status != "memory" and row.time_s > 0.0]
    if not rows:
        raise InputError(f"table '{table}' holds only values from memory: it cannot be used for a verdict")
    return np.array([r.temperature_K for r in rows]), np.log10([r.time_s for r in rows])


def table_compliance(
    time_s: Array,
    coldest_K: Array,
    relative_humidity: Array,
    table: str,
    target: float,
    rule: HumidityRule,
    *,
    cooking_end_s: float | None = None,
    switch: Array | None = None,
) -> TableCompliance:
    """Return how far a history fulfils a table, counting time only while the humidity condition holds.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    coldest_K : ndarray, shape (t,)
        Temperature of the coldest point of any piece [K]; never that of the air.
    relative_humidity : ndarray, shape (t,)
        Of the air at the meat, 0..1 [-].
    table : str
        A name of `table_names`.
    target : float
        Log10 reduction of a column of that table [-].
    rule : HumidityRule
        One of `RULES`, or your own.
    cooking_end_s : float, optional
        When cooking ends and mere drying begins [s]; the end of the record (the strictest
        reading) if not given.
    switch : ndarray of bool, shape (t,), optional
        True while steam is let in, or while the oven is sealed; needed by the rules that ask for it.

    Notes
    -----
    An interval counts as humid if the condition holds at both its ends. The required time is that of constant
    temperature; fractions of it are added along the history (time as log-linear between samples).
    """
    time, t = np.asarray(time_s, dtype=float), np.asarray(coldest_K, dtype=float)
    end = time[-1] if cooking_end_s is None else cooking_end_s
    cooking = time <= end
    held = _held(rule, np.asarray(relative_humidity, dtype=float), switch) & cooking
    floor = max(_curve(table, target)[0][0] - _ROUNDING, rule.least_internal_K - _ROUNDING)
    parts = np.diff(cumulative_exponential(time, _log10_rate(t, table, target), t, floor))
    humid = held[:-1] & held[1:]
    humid_time = float(np.sum(np.diff(time)[humid]))
    whole = float(end - time[0])
    share = humid_time / whole if whole > 0.0 else 0.0
    fraction = float(np.sum(parts[humid]))
    met = humid_time > 0.0 and share >= rule.least_share and humid_time >= rule.least_time_s
    return TableCompliance(
        table=table,
        target=target,
        rule=rule,
        fraction=fraction,
        fraction_any_air=float(np.sum(parts)),
        humid_share=share,
        humid_time_s=humid_time,
        humidity_met=met,
        fulfilled=met and fraction >= 1.0,
        reason=_reason(table, target, rule, fraction, share, humid_time, met, float(t.max())),
        cautions=_cautions(rule),
    )


def _held(rule: HumidityRule, humidity: Array, switch: Array | None) -> Array:
    """Say sample by sample whether the rule's condition on the air holds."""
    if rule.signal == "relative humidity":
        return humidity >= rule.least_relative_humidity
    if switch is None:
        raise InputError(
            f"rule '{rule.version}' needs a record of when the {rule.signal} was on: give `switch`"
        )
    return np.asarray(switch, dtype=bool)


def _log10_rate(t: Array, table: str, target: float) -> Array:
    """Return log10 of 1/required time, going on below the coolest row (where nothing is credited)."""
    at, log10_time = _curve(table, target)
    slope = (log10_time[1] - log10_time[0]) / (at[1] - at[0])
    return -(np.interp(t, at, log10_time) + slope * np.minimum(t - at[0], 0.0))


def _reason(
    table: str,
    target: float,
    rule: HumidityRule,
    fraction: float,
    share: float,
    humid_time: float,
    met: bool,
    hottest: float,
) -> str:
    shares = [f"{rule.least_share:.0%}"] if rule.least_share else []
    times = [f"{rule.least_time_s / 60.0:.0f} min"] if rule.least_time_s else []
    asked = " and ".join(shares + times)
    verdict = (f"at least {asked} is asked for, " if asked else "") + ("met" if met else "not met")
    return (
        f"Table {table}, {target:g} log, rule '{rule.version}': while it counted, the coldest point gathered "
        f"{fraction:.0%} of the required time (it reached {hottest - ZERO_CELSIUS:.1f} degC); the condition "
        f"on the air held for {share:.0%} of the cooking time ({humid_time / 60.0:.0f} min), {verdict}."
    )


def _cautions(rule: HumidityRule) -> tuple[str, ...]:
    own = [
        "The table speaks of Salmonella only; L. monocytogenes was found more resistant in meat.",
        "The tables of 2017 and 2021 were not seen: check the one in force.",
    ]
    if rule.signal == "steam":
        own.append(
            "Roasts cooked below 30 % relative humidity fell short of 6.5 log, and steam for half of the "
            "time does not ensure more (J Food Prot 70(3), 2007): measure the humidity as well."
        )
    return (*own, *CAUTIONS)
