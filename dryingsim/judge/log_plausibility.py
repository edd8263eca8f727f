"""Whether a thermometer's log can be that of meat that warms in warm air: small checks of arrays, each with its reason.

A check returns what it found or nothing: a refusal of the log (a slip that makes all of it wrong: a unit, swapped columns), or
an objection to it; it is judged then, but never counts as reached.

The bounds lean to the side of believing: they are those of a thin slice in the strongest air, so that no honest log is
refused. What they rest on:

- A wet slice of thickness L takes up heat through both surfaces. It follows its surroundings with the time constant
  `rho c L/2 (1/h + L/(6 k))`: the film and the conduction inside in series (mean temperature of a slab heated evenly). Density,
  specific heat and conductivity of lean raw meat from its composition (Choi & Okos), rounded; a dry slice holds a quarter of
  the heat (estimate: dry matter and a tenth of the water).
- h = 60 W/(m2 K) in dry air: forced convection of a strong fan and radiation (estimate). In humid air vapour condenses, and
  the exchange is `1 + s/gamma` times as strong, s the slope of the saturation pressure, gamma the psychrometric constant.
- At 85 degC a wet surface in air that is not steam gives off some 20 kW/m2 of latent heat; no dryer's air supplies that.
"""

from collections.abc import Callable
from typing import Annotated

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.judge.findings import Finding
from dryingsim.judge.logged_air import (
    as_hot_as_its_air,
    cooler_than_wet_bulb,
    hotter_than_its_air,
    swapped,
)
from dryingsim.judge.logged_history import (
    COLD_K,
    DRY_AND_HOT_K,
    HOT_K,
    SLACK_K,
    WET_AW,
    LoggedHistory,
    Objection,
    Refusal,
    first_of,
)
from dryingsim.properties.water import log_saturation_pressure_slope, saturation_pressure
from dryingsim.typing import Array

_MILD_K: Annotated[float, Evidence("K", "estimate", "cold meat in degF is a number below 80")] = (
    ZERO_CELSIUS + 80.0
)
_WARMS_K: Annotated[float, Evidence("K", "estimate", "by so much more than a regulated bath")] = 5.0
_PRESSURE: Annotated[float, Evidence("Pa", "estimate", "above that of any kitchen")] = 1.1e5
_GAMMA: Annotated[float, Evidence("Pa/K", "published", "psychrometric constant at sea level, rounded")] = 66.0
_FILM: Annotated[float, Evidence("W/(m2 K)", "estimate", "a strong fan and radiation")] = 60.0
_STORED: Annotated[float, Evidence("J/(m3 K)", "published", "lean raw meat (Choi & Okos, rounded)")] = (
    1060.0 * 3500.0
)
_CONDUCTIVITY: Annotated[float, Evidence("W/(m K)", "published", "lean raw meat (Choi & Okos, rounded)")] = (
    0.45
)
_DRY_AW: Annotated[float, Evidence("-", "estimate", "a slice drier than this has lost most of its water")] = (
    0.90
)
_DRY_SHARE: Annotated[
    float, Evidence("-", "estimate", "heat that a dry slice holds, of that of the raw one")
] = 0.25
_DRY_AIR: Annotated[
    float,
    Evidence(
        "-", "estimate", "relative humidity up to which air is dry; low on purpose for household hygrometers"
    ),
] = 0.40
_OWN_K: Annotated[
    float,
    Evidence(
        "K",
        "estimate",
        "the air stands at most so far above the hottest reading of the meat, where it was not logged",
    ),
] = 20.0
_UNSEEN_K: Annotated[
    float, Evidence("K", "estimate", "warming in dry air takes several readings for so much")
] = 25.0
_LEAST_HOT: Annotated[
    int, Evidence("-", "estimate", "readings over the hot part, for none of them to decide alone")
] = 5
_WET_AND_HOT_K: Annotated[float, Evidence("K", "estimate", "see the head of this module")] = (
    ZERO_CELSIUS + 85.0
)
# estimates, for air that is not humid and for air that is: how long meat stays hot and wet; how long it warms from the cold
_LONGEST_WET_S = {False: 6 * 3600.0, True: 12 * 3600.0}
_SLOW_S = {False: 3600.0, True: 1800.0}
_LONGEST_S: Annotated[float, Evidence("s", "estimate", "thin slices are dry in a day")] = 48 * 3600.0
_SWINGS_K: Annotated[
    float,
    Evidence(
        "K", "estimate", "standard deviation that a probe inside meat does not show from reading to reading"
    ),
] = 1.2


def first_refusal(readings: LoggedHistory) -> Refusal | None:
    """Return why a log is refused, or nothing."""
    return next(filter(None, (check(readings) for check in _REFUSALS)), None)


def objections(readings: LoggedHistory) -> list[Objection]:
    """Return what speaks against a log."""
    return list(filter(None, (check(readings) for check in _OBJECTIONS)))


def warm_start(r: LoggedHistory) -> Refusal | None:
    """Refuse a log where the meat is warm at the first reading, and nobody said why."""
    first = float(r.meat_K[0])
    if first <= COLD_K or r.started_warm:
        return None
    number = first - ZERO_CELSIUS
    in_f = (number + 459.67) / 1.8
    cold_in_f = in_f <= COLD_K and not r.fahrenheit
    slip = f"; or were {number:.4g} degF meant ({_degrees(in_f, r)})?" if cold_in_f else ""
    return Refusal(
        f"the log begins with meat at {_degrees(first, r)}; a log begins when the cold meat goes in. Where its batch file "
        "heats it first, give that (--batch); else log from before it was warm, or say why it was: --started-warm "
        '"reason", or a line "# started warm: reason" in the file' + slip,
        0,
    )


def warm_and_warming(r: LoggedHistory) -> Objection | None:
    """Object to a log that begins warm, for whatever reason, and gets warmer in air that was not logged."""
    first, hottest = float(r.meat_K[0]), float(r.meat_K.max())
    if r.air_K is not None or not COLD_K < first < _MILD_K or hottest < first + _WARMS_K:
        return None
    return Objection(Finding("warm_and_warming", {"meat_K": first}), 0)


def boiling(r: LoggedHistory) -> Refusal | None:
    """Refuse a log where the meat would boil: a unit was mistaken, or the probe was not in wet meat."""
    i = first_of(r.water_activity * saturation_pressure(r.meat_K) > _PRESSURE)
    if i is None:
        return None
    return Refusal(
        f"meat of a water activity of {r.water_activity[i]:g} boils before it is as hot as {_degrees(float(r.meat_K[i]), r)}; is "
        "the unit of the temperature right, and the water activity?",
        i,
    )


def wrong_time_unit(r: LoggedHistory) -> Refusal | None:
    """Refuse a log where a thin slice takes hours to warm or days to dry: seconds were taken for minutes."""
    total = float(r.time_s[-1] - r.time_s[0])
    if total > _LONGEST_S:
        return Refusal(
            f"it lasts {total / 3600.0:.0f} h, and thin slices are dry within a day or two; is the unit of the time right "
            "(seconds under min, or min:s read as h:min)?"
        )
    start = float(r.meat_K[0])
    if start > COLD_K or not r.hot.any():
        return None
    rise = max(ZERO_CELSIUS + 25.0 - start, 5.0)
    end = int(np.argmax(r.meat_K >= start + 0.8 * rise))
    begin = int(np.flatnonzero(r.meat_K[: end + 1] <= start + 0.2 * rise)[-1])
    taken, humid = float(r.time_s[end] - r.time_s[begin]), bool(r.humid[begin:end].all()) and end > begin
    # two readings far apart say nothing about how slow it was between them
    if end - begin < 2 or taken <= _SLOW_S[humid]:
        return None
    span = f"{_degrees(float(r.meat_K[begin]), r)} to {_degrees(float(r.meat_K[end]), r)}"
    return Refusal(
        f"the meat takes {taken / 60.0:.0f} min to warm from {span}, and in hot air it takes some; is the unit of the time "
        "right (seconds under min, or min:s read as h:min)?",
        end,
    )


def few_readings(r: LoggedHistory) -> Objection | None:
    """Object to a log with too few readings while the meat was hot."""
    count = int(np.count_nonzero(r.hot))
    if not 0 < count < _LEAST_HOT:
        return None
    return Objection(Finding("few_readings", {"count": count, "hot_K": HOT_K, "least": _LEAST_HOT}))


def fast_rise(r: LoggedHistory) -> Objection | None:
    """Object to a rise that a slice of that thickness cannot make: a slip, or a probe that left the meat."""
    before, after = r.meat_K[:-1], r.meat_K[1:]
    if r.air_K is None:
        around = np.full_like(before, float(r.meat_K.max()) + _OWN_K)
    else:
        around = np.maximum(r.air_K[:-1], r.air_K[1:]) + SLACK_K
    share = -np.expm1(-np.diff(r.time_s) / _time_constant_s(r))
    i = first_of(after - before > np.maximum(around - before, 0.0) * share + SLACK_K)
    if i is None:
        return None
    values = {
        "before_K": float(before[i]),
        "after_K": float(after[i]),
        "span_s": float(r.time_s[i + 1] - r.time_s[i]),
        "thickness_m": r.thickness_m,
    }
    return Objection(Finding("fast_rise", values), i + 1)


def _time_constant_s(r: LoggedHistory) -> Array:
    """Return how fast the slice could follow its air in each interval [s]."""
    warmest = np.maximum(r.meat_K[:-1], r.meat_K[1:])
    slope = saturation_pressure(warmest) * log_saturation_pressure_slope(warmest)
    condensing = 1.0 + slope / _GAMMA
    if r.relative_humidity is not None:
        dry = np.maximum(r.relative_humidity[:-1], r.relative_humidity[1:]) < _DRY_AIR
        condensing = np.where(dry, 1.0, condensing)
    stored = _STORED * r.thickness_m * np.where(r.water_activity[:-1] < _DRY_AW, _DRY_SHARE, 1.0)
    return 0.5 * stored * (1.0 / (_FILM * condensing) + r.thickness_m / (6.0 * _CONDUCTIVITY))


def unseen_rise(r: LoggedHistory) -> Objection | None:
    """Object to wet meat that gets hot between two readings in air that was not measured to be humid."""
    rise = np.diff(r.meat_K)
    seen = r.humid[1:] | r.in_oven[1:] | (r.water_activity[:-1] < _DRY_AW)
    i = first_of((rise > _UNSEEN_K) & r.hot[1:] & ~seen)
    if i is None:
        return None
    values = {"before_K": float(r.meat_K[i]), "after_K": float(r.meat_K[i + 1])}
    return Objection(Finding("unseen_rise", values), i + 1)


def too_hot(r: LoggedHistory) -> Objection | None:
    """Object to meat so hot that steam or an oven must have been there, and no log of the air tells of it."""
    i = first_of((r.meat_K > _WET_AND_HOT_K) & (r.water_activity >= _DRY_AW) & ~r.in_oven)
    if i is not None:
        values = {"water_activity": float(r.water_activity[i]), "meat_K": float(r.meat_K[i])}
        return Objection(Finding("wet_and_too_hot", values), i)
    i = first_of(r.meat_K > DRY_AND_HOT_K) if r.air_K is None else None
    if i is None:
        return None
    return Objection(Finding("too_hot_without_air", {"meat_K": float(r.meat_K[i])}), i)


def too_long_wet(r: LoggedHistory) -> Objection | None:
    """Object to meat that stays wet for hours while hot."""
    wet = r.hot & (r.water_activity >= WET_AW)
    both, humid = wet[:-1] & wet[1:], r.humid[:-1] & r.humid[1:]
    step = np.diff(r.time_s)
    for in_humid, counted in ((False, both & ~humid), (True, both)):
        spent = float(step[counted].sum())
        if spent > _LONGEST_WET_S[in_humid]:
            return Objection(Finding("too_long_wet", {"span_s": spent, "water_activity": WET_AW}))
    return None


def swinging(r: LoggedHistory) -> Objection | None:
    """Object to a hot part that swings from reading to reading as air under a thermostat does."""
    hot = r.meat_K[r.hot]
    if hot.size < 2 * _LEAST_HOT:
        return None
    # second differences leave out a steady rise; their median leaves out single steps, 0.6745 of a standard deviation
    spread = float(np.median(np.abs(np.diff(hot, 2)))) / 0.6745 / np.sqrt(6.0)
    if spread <= _SWINGS_K:
        return None
    return Objection(Finding("swinging", {"spread_K": spread}))


def _degrees(kelvin: float, readings: LoggedHistory) -> str:
    """Return a temperature [K] for the message of an error, in the unit of the log."""
    celsius = kelvin - ZERO_CELSIUS
    number, unit = (1.8 * celsius + 32.0, "degF") if readings.fahrenheit else (celsius, "degC")
    return f"{number:.1f}".removesuffix(".0") + f" {unit}"


_REFUSALS: tuple[Callable[[LoggedHistory], Refusal | None], ...] = (
    warm_start,
    swapped,
    boiling,
    wrong_time_unit,
)
_OBJECTIONS: tuple[Callable[[LoggedHistory], Objection | None], ...] = (
    warm_and_warming,
    few_readings,
    fast_rise,
    unseen_rise,
    hotter_than_its_air,
    cooler_than_wet_bulb,
    as_hot_as_its_air,
    too_hot,
    too_long_wet,
    swinging,
)
