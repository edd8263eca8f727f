"""What people say of a finished batch, and what to change next time: the weight to stop at, or the salt.

The way from a word to a number is the water activity that the last weight stands for: a step to the moister or the drier side
of it, within what bends, keeps and was required, and back to a weight; never above the one that is surely dry.
"""

from itertools import pairwise
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.reading.weigh_in_log import WeighInLog
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.done_window import course_of
from dryingsim.judge.stop_weight import ready_moisture, stop_of
from dryingsim.model.build import curve_of, recipe_of
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

_STEP: Annotated[
    float, Evidence("-", "estimate", "water activity by which one batch is changed at a time", (0.03, 0.08))
] = 0.05
_NO_MOULD: Annotated[
    float, Evidence("-", "common practice", "water activity below which dried food seldom moulds, no source")
] = 0.70
_DRIEST: Annotated[float, Evidence("kg/kg", "numerical", "no moisture is taken to be less")] = 0.01
_LESS_SALT: Annotated[
    float, Evidence("-", "estimate", "share of the salt to leave out at a time", (0.1, 0.3))
] = 0.25
_OUNCE_KG: Annotated[float, Evidence("kg", "exact", "avoirdupois ounce")] = 0.45359237 / 16.0


def answers_to(batch: Batch, log: WeighInLog, sure_kg: float, units: str = "metric") -> tuple[str, ...]:
    """Return what to change next time for each complaint of a log, in sentences.

    Parameters
    ----------
    batch : Batch
        That the log is of, as its file says.
    log : WeighInLog
    sure_kg : float
        Weight at which that batch is surely dry [kg], see `sure_weight`; none above is advised.
    units : str
        To print in, "metric" or "us".
    """
    complaints = [outcome for outcome in log.outcomes if outcome != "good"]
    return tuple(
        f"{log.name}, {complaint}: {_answer(complaint, batch, log, sure_kg, units)}"
        for complaint in complaints
    )


def sure_weight(history: History, *, together: bool) -> float:
    """Return the most that a batch may weigh to be surely dry, as `run` tells [kg].

    Parameters
    ----------
    history : History
        Of the batch as its file means it.
    together : bool
        All slices stay in until the last is ready; else each is taken off when it is, and weighed along.
    """
    batch = history.batch
    target = batch.targets.water_activity
    ready = float(history.dry_mass_kg.sum() * (1.0 + ready_moisture(batch)))
    if not together:
        return ready
    left_in = stop_of(history, course_of(history, target, as_planned=True), target).left_in_kg
    return min(ready, float(history.weight_kg[-1].sum()) if left_in is None else left_in)


def _answer(complaint: str, batch: Batch, log: WeighInLog, sure_kg: float, units: str) -> str:
    if complaint == "too salty":
        return _less_salt(batch, units)
    times_s, weights = _whole_batch(batch, log)
    if len(weights) < 2:
        return (
            "weigh the whole batch when it goes in and when you take it out, so that a weight to stop at can be told, or say "
            f"'taken out at {'8.6 oz' if units == 'us' else '243 g'} after 5 h 20 min'."
        )
    first, last = weights[0], weights[-1]
    wanted = weight_to_stop_at(complaint, batch, first, last)
    wettest = sure_kg * min(1.0, first / batch.laid_on_kg)  # of less meat, less
    stop = min(wanted, wettest)
    if complaint == "too brittle":
        keeps = (
            f"{_weight(wettest, units)} is the most that is surely dry; keep softer "
            "meat in the refrigerator, 'dryingsim store' says how long"
        )
        activity = _activity(batch, first, last)
        if activity - activity_error_of(batch).half_width > growth_limits.texture().brittle_range[1]:
            return (
                f"at {_weight(last, units)} meat bends by its water activity ({activity:.2f} as computed), so the batch or "
                "some slices were drier than weighed, as thin ones that come off late: cut the slices more even, and take "
                f"each off when it is ready. {keeps}."
            )
        if stop <= last:
            return f"dry it no less: {keeps}."
        moister = (
            "moister meat keeps for less long, and less drying may reduce bacteria less: run it again first"
        )
        after = f"{keeps}; {moister}" if stop < wanted else moister
    else:
        after = ""
    when = _when(stop, times_s, weights)
    was = f"it was {_weight(last, units)} from {_weight(first, units)}"
    return f"stop at {_weight(stop, units)}; {was}{when}{'; ' if after else ''}{after}."


def _dry_mass(batch: Batch, first_kg: float) -> float:
    return first_kg / batch.laid_on_kg * batch.meat.weight_kg * recipe_of(batch)[1]


def _activity(batch: Batch, first_kg: float, last_kg: float) -> float:
    """Return the water activity of a whole batch, evened out, at its last weight [-]."""
    moisture = max(last_kg / _dry_mass(batch, first_kg) - 1.0, _DRIEST)
    return float(curve_of(batch).water_activity(moisture, REFERENCE_TEMPERATURE))


def _whole_batch(batch: Batch, log: WeighInLog) -> tuple[list[float | None], list[float]]:
    """Return times [s] and weights [kg] of the whole batch, that at which it was taken out the last."""
    whole = [reading for reading in log.of("weight") if reading.scope == "batch"]
    times: list[float | None] = [reading.time_s for reading in whole]
    weights = [reading.value for reading in whole]
    if log.taken_out is not None:
        kg, time_s = log.taken_out
        if not weights:  # as it was laid on, by the batch file
            times, weights = [0.0], [batch.laid_on_kg]
        times.append(time_s)
        weights.append(kg)
    return times, weights


def _when(stop: float, times: list[float | None], weights: list[float]) -> str:
    """Say when the log had that weight, or how much longer it takes at the rate of its last two weighings."""
    known = [(time, kg) for time, kg in zip(times, weights, strict=True) if time is not None]
    if len(known) < 2:
        return ""
    for (t0, w0), (t1, w1) in pairwise(known):
        if w1 <= stop <= w0 and w0 > w1:
            return f"; it had that after about {_clock(t0 + (w0 - stop) / (w0 - w1) * (t1 - t0))}"
    (t0, w0), (t1, w1) = known[-2:]
    if w0 > w1 > stop and t1 > t0:
        return (
            f"; about {_clock((w1 - stop) / (w0 - w1) * (t1 - t0))} longer at its last rate, and rather more"
        )
    return ""


def _clock(time_s: float) -> str:
    """Return a time to five minutes: "4 h 40"."""
    minutes = max(5 * round(time_s / 300.0), 5)
    return f"{minutes // 60} h {minutes % 60:02d}" if minutes >= 60 else f"{minutes} min"


def weight_to_stop_at(complaint: str, batch: Batch, first_kg: float, last_kg: float) -> float:
    """Return the weight at which the whole batch would be as it is wanted, surely dry or not [kg].

    Parameters
    ----------
    complaint : str
        "too brittle", "too moist" or "mouldy after ...".
    batch : Batch
    first_kg, last_kg : float
        As it was laid on, and as it was taken out [kg].

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> moister = weight_to_stop_at("too brittle", demo_batch(), 0.719, 0.243)
    >>> drier = weight_to_stop_at("too moist", demo_batch(), 0.719, 0.300)
    >>> round(1e3 * moister), round(1e3 * drier)
    (251, 278)
    """
    curve, dry_kg = curve_of(batch), _dry_mass(batch, first_kg)
    activity = _activity(batch, first_kg, last_kg)
    if complaint == "too brittle":
        wanted = max(activity, growth_limits.texture().brittle) + _STEP
    else:
        wanted = min(activity, batch.targets.water_activity) - _STEP
        if complaint.startswith("mouldy"):
            wanted = min(wanted, _NO_MOULD)
    wanted = float(np.clip(wanted, _STEP, batch.targets.water_activity))
    return dry_kg * (1.0 + float(curve.moisture(wanted, REFERENCE_TEMPERATURE)))


def _less_salt(batch: Batch, units: str) -> str:
    salt = batch.marinade.salt_kg_kg
    if not salt > 0.0:
        return "the batch file says that the meat took up no salt: write in [marinade] what it did."
    less = salt * (1.0 - _LESS_SALT)
    told = (
        f"{16.0 * less:.2f} oz of salt per lb instead of {16.0 * salt:.2f}"
        if units == "us"
        else f"{1e3 * less:.1f} g of salt per kg instead of {1e3 * salt:.1f}"
    )
    return (
        f"let the meat take up {told}, a quarter less; less salt also keeps for less long, so watch the water "
        "activity."
    )


def _weight(kg: float, units: str) -> str:
    ounces, grams = f"{kg / _OUNCE_KG:.1f} oz", f"{1e3 * kg:.0f} g"
    return f"{ounces} ({grams})" if units == "us" else f"{grams} ({ounces})"
