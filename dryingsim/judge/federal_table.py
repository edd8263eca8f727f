"""The federal time-temperature tables for cooked meat (USDA FSIS Appendix A, 2021), and how far a history fulfils one.

A table holds three conditions together: the time at *internal* temperature of the coldest place, humid air (one of four options),
and a come-up in which no meat is between 10 and 54.4 degC for longer than 6 h. Here time at temperature counts only while the
air is as humid as the option asks, which is stricter than the guideline (that asks for a share of the cooking time) and never
more lenient; and the come-up is measured at the coldest place, which the guideline asks for of pieces that are not intact.

A table is a second, separate check. It was made for Salmonella; L. monocytogenes was more resistant in model roast beef, and at
54.4 degC the beef table was not confirmed for any pathogen (McMinn et al., Meat Muscle Biol).
"""

from dataclasses import dataclass
from functools import cache
from math import ceil
from typing import Annotated, Literal

import numpy as np

from dryingsim.batch.catalog.federal_tables import LEAST_FAT, MOST_FAT, FederalColumn, federal_column
from dryingsim.batch.schema import Species
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.judge.lethality import cumulative_exponential
from dryingsim.typing import Array

Signal = Literal["relative humidity", "steam", "sealed oven", "hot liquid"]
COME_UP_K: Annotated[
    tuple[float, float],
    Evidence("K", "published", "50 and 130 degF: between them the come-up counts (FSIS-GD-2021-14, p. 23)"),
] = (283.15, 327.59)
LONGEST_COME_UP_S: Annotated[
    float, Evidence("s", "published", "6 h of come-up in total (FSIS-GD-2021-14, p. 23)")
] = 21600.0
_ROUNDING: Annotated[
    float,
    Evidence(
        "-", "numerical", "of a temperature converted from degF: a row's own temperature must reach that row"
    ),
] = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class HumidityRule:
    """A humidity option of the guideline's table 1 (page 26), or what needs none of them.

    Attributes
    ----------
    version : str
    signal : str
        What shows that the condition holds.
    least_relative_humidity : float
        While time counts [-]; unused by the other signals.
    least_share, least_time_s : float
        Of the cooking time [-], and at least [s].
    least_internal_K : float
        Of the coldest place, for time to count [K].
    """

    version: str
    signal: Signal
    least_relative_humidity: float
    least_share: float
    least_time_s: float
    least_internal_K: float

    @property
    def throughout(self) -> bool:
        """Whether it asks for humid air from the beginning until the table's time is gathered."""
        return self.least_share >= 1.0


def _rule(
    version: str, signal: Signal, humidity: float, share: float, least_s: float, internal_F: float
) -> HumidityRule:
    return HumidityRule(
        version=version,
        signal=signal,
        least_relative_humidity=humidity,
        least_share=share,
        least_time_s=least_s,
        least_internal_K=(internal_F + 459.67) / 1.8,
    )


RULES: dict[str, HumidityRule] = {
    rule.version: rule
    for rule in (
        _rule("option 1, steam", "steam", 0.0, 0.5, 3600.0, 145.0),
        _rule("option 2, sealed oven", "sealed oven", 0.0, 0.5, 3600.0, 145.0),
        _rule("option 3, humid air", "relative humidity", 0.90, 0.25, 3600.0, 0.0),
        _rule("option 4, humid air throughout", "relative humidity", 0.90, 1.0, 0.0, 0.0),
        _rule("none needed, in hot liquid", "hot liquid", 0.0, 1.0, 0.0, 0.0),  # pages 31 and 32
    )
}
HUMID_AIR = tuple(rule for rule in RULES.values() if rule.signal == "relative humidity")
IN_LIQUID = RULES["none needed, in hot liquid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableCompliance:
    """How far a history fulfils a table together with its humidity option and its come-up.

    Attributes
    ----------
    table, where : str
        Which, and where it is printed.
    target : float
        Log10 reduction of Salmonella.
    fat_percent : int or None
    rule : HumidityRule
    fraction : float
        Of the required time, counted while the option's condition holds [-].
    fraction_any_air : float
        The same, whatever the air: shows what the humidity condition costs.
    humid_share, humid_time_s : float
        Of the cooking time [-], and [s].
    come_up_s : float
        Time between 10 and 54.4 degC until the table's time was gathered [s].
    humidity_met, come_up_met, fulfilled : bool
    hottest_K : float
        Of the coldest place.
    """

    table: str
    where: str
    target: float
    fat_percent: int | None
    rule: HumidityRule
    fraction: float
    fraction_any_air: float
    humid_share: float
    humid_time_s: float
    come_up_s: float
    humidity_met: bool
    come_up_met: bool
    fulfilled: bool
    hottest_K: float


def column_of(
    species: Species, *, fat: float | None = None, shelf_stable: bool = False
) -> FederalColumn | None:
    """Return the column that holds for a kind of meat; None for fish, of which no table speaks.

    Parameters
    ----------
    species : str
        "poultry" gets the longer time of chicken and turkey, "other" and "unknown" that of fat poultry, the strictest of all.
    fat : float, optional
        Of the raw meat [kg/kg].
    shelf_stable : bool
        Whether it is surely dry enough to keep: 5 log are then accepted of meat (pp. 18 and 57), else 6.5 (p. 18).

    Examples
    --------
    >>> column_of("beef").target, column_of("poultry", fat=0.026).fat_percent
    (6.5, 3)
    """
    if species == "fish":
        return None
    if species in ("other", "unknown"):
        return federal_column("poultry", 7.0)
    if species == "poultry":
        percent = MOST_FAT if fat is None else ceil(round(100.0 * fat, 6))
        return federal_column("poultry", 7.0, min(max(percent, LEAST_FAT), MOST_FAT))
    return federal_column("meat", 5.0 if shelf_stable else 6.5)


def required_time(temperature: Array, column: FederalColumn) -> Array:
    """Return the time a table asks for at a constant internal temperature [s].

    Printed times at the printed temperatures; between rows log-linear, which is the tables' own law. Below
    the coolest row infinite. Above the hottest row with a time the time of that row is kept: "instant" is
    not believed.

    Parameters
    ----------
    temperature : float or ndarray
        Internal temperature at the coldest place [K].
    column : FederalColumn

    Examples
    --------
    >>> round(float(required_time((140 + 459.67) / 1.8, federal_column("meat", 6.5))) / 60, 6)
    12.0
    """
    at, log10_time = _curve(column)
    t = np.asarray(temperature, dtype=float)
    return np.where(t < at[0] - _ROUNDING, np.inf, 10.0 ** np.interp(t, at, log10_time))[()]


@cache
def _curve(column: FederalColumn) -> tuple[Array, Array]:
    at, time = np.array(column.temperature_K), np.array(column.time_s)
    return at[time > 0.0], np.log10(time[time > 0.0])


def best_compliance(found: list[TableCompliance]) -> TableCompliance:
    """Return the one that is fulfilled, of several options; the first, if none is."""
    return next((one for one in found if one.fulfilled), found[0])


def table_compliance(
    time_s: Array,
    coldest_K: Array,
    relative_humidity: Array,
    column: FederalColumn,
    rule: HumidityRule,
    *,
    warmest_K: Array | None = None,
    cooking_end_s: float | None = None,
    switch: Array | None = None,
) -> TableCompliance:
    """Return how far a history fulfils a table, counting time only while the humidity condition holds.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    coldest_K : ndarray, shape (t,)
        Temperature of the coldest place of any piece [K]; never that of the air.
    relative_humidity : ndarray, shape (t,)
        Of the air at the meat, 0..1 [-].
    column : FederalColumn
        As from `column_of`.
    rule : HumidityRule
        One of `RULES`, or your own.
    warmest_K : ndarray, shape (t,), optional
        Temperature of the warmest place [K], with which the come-up begins; the coldest if not given.
    cooking_end_s : float, optional
        When cooking ends and mere drying begins [s]; the end of the record (the strictest reading) if not given.
    switch : ndarray of bool, shape (t,), optional
        True while steam is let in, while the oven is sealed, or in hot liquid; needed by the options that ask for it.

    Notes
    -----
    An interval counts as humid if the condition holds at both its ends. The required time is that of constant
    temperature; fractions of it are added along the history (time as log-linear between samples).

    Examples
    --------
    Two hours at 60 degC in humid air, where the table asks for 12 min:

    >>> time_s, ones = np.arange(0.0, 7201.0, 600.0), np.ones(13)
    >>> rule = RULES["option 4, humid air throughout"]
    >>> compliance = table_compliance(time_s, 333.15 * ones, 0.95 * ones, column_of("beef"), rule)
    >>> compliance.fulfilled, round(compliance.fraction, 1)
    (True, 10.0)
    """
    time, t = np.asarray(time_s, dtype=float), np.asarray(coldest_K, dtype=float)
    end = float(time[-1] if cooking_end_s is None else cooking_end_s)
    held = _held(rule, np.asarray(relative_humidity, dtype=float), switch) & (time <= end)
    floor = max(_curve(column)[0][0], rule.least_internal_K) - _ROUNDING
    parts = np.diff(cumulative_exponential(time, _log10_rate(t, column), t, floor))
    humid = held[:-1] & held[1:]
    gathered = np.cumsum(np.where(humid, parts, 0.0))
    fraction = float(gathered[-1]) if gathered.size else 0.0
    reached = int(np.searchsorted(gathered, 1.0)) + 1  # samples until then
    if rule.throughout and fraction >= 1.0:
        end = float(time[reached])
    share, humid_time = _share(time, humid, end)
    met = humid_time > 0.0 and share >= rule.least_share - 1e-9 and humid_time >= rule.least_time_s
    come_up = _come_up(time, t, t if warmest_K is None else np.asarray(warmest_K), reached)
    risen = come_up <= LONGEST_COME_UP_S
    return TableCompliance(
        table=column.table,
        where=column.where,
        target=column.target,
        fat_percent=column.fat_percent,
        rule=rule,
        fraction=fraction,
        fraction_any_air=float(np.sum(parts)),
        humid_share=share,
        humid_time_s=humid_time,
        come_up_s=come_up,
        humidity_met=met,
        come_up_met=risen,
        fulfilled=met and risen and fraction >= 1.0,
        hottest_K=float(t.max()),
    )


def _share(time: Array, humid: Array, end: float) -> tuple[float, float]:
    """Return for which share of the cooking time, and for how long [s], the air was humid."""
    within = np.clip(time, None, end)
    humid_time = float(np.sum(np.diff(within)[humid]))
    whole = end - float(time[0])
    return (humid_time / whole if whole > 0.0 else 0.0), humid_time


def _come_up(time: Array, coldest: Array, warmest: Array, reached: int) -> float:
    """Return how long any of the meat was in the range of the come-up before the table's time was gathered [s]."""
    low, high = COME_UP_K
    within = ((warmest >= low) & (coldest < high))[: reached + 1].astype(float)
    return float(np.sum(np.diff(time[: reached + 1]) * 0.5 * (within[:-1] + within[1:])))


def _held(rule: HumidityRule, humidity: Array, switch: Array | None) -> Array:
    """Say sample by sample whether the option's condition on the air holds."""
    if rule.signal == "relative humidity":
        return humidity >= rule.least_relative_humidity
    if switch is None:
        raise InputError(
            f"rule '{rule.version}' needs a record of when the {rule.signal} was on: give `switch`"
        )
    return np.asarray(switch, dtype=bool)


def _log10_rate(t: Array, column: FederalColumn) -> Array:
    """Return log10 of 1/required time, going on below the coolest row (where nothing is credited)."""
    at, log10_time = _curve(column)
    slope = (log10_time[1] - log10_time[0]) / (at[1] - at[0])
    return -(np.interp(t, at, log10_time) + slope * np.minimum(t - at[0], 0.0))
