"""What people say of a finished batch, and what to change next time: the weight to stop at, or the salt.

The way from a word to a number is the water activity that the last weight stands for: a step to the moister or the drier side
of it, within what bends, keeps and was required, and back to a weight.
"""

from itertools import pairwise
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.reading.weigh_in_log import WeighInLog
from dryingsim.batch.schema import Batch
from dryingsim.evidence import Evidence
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


def answers_to(batch: Batch, log: WeighInLog) -> tuple[str, ...]:
    """Return what to change next time for each complaint of a log, in sentences.

    Parameters
    ----------
    batch : Batch
        That the log is of, as its file says.
    log : WeighInLog
    """
    complaints = [outcome for outcome in log.outcomes if outcome != "good"]
    return tuple(f"{log.name}, {complaint}: {_answer(complaint, batch, log)}" for complaint in complaints)


def _answer(complaint: str, batch: Batch, log: WeighInLog) -> str:
    if complaint == "too salty":
        return _less_salt(batch)
    times_s, weights = _whole_batch(batch, log)
    if len(weights) < 2:
        return (
            "weigh the whole batch when it goes in and when you take it out, so that a weight to stop at can be told, or say "
            "'taken out at 243 g after 5 h 20 min'."
        )
    first, last = weights[0], weights[-1]
    stop = weight_to_stop_at(complaint, batch, first, last)
    if complaint == "too brittle" and stop <= last:
        return (
            "by its weight the batch as a whole is not too dry: cut the slices more even, and take each off when it is "
            "ready."
        )
    moister = (
        "; moister meat keeps for less long, and less drying may reduce bacteria less: run it again first"
    )
    keeps = moister if complaint == "too brittle" else ""
    when = _when(stop, times_s, weights)
    return f"stop at {_weight(stop)}; it was {_weight(last)} from {_weight(first)}{when}{keeps}."


def _whole_batch(batch: Batch, log: WeighInLog) -> tuple[list[float | None], list[float]]:
    """Return times [s] and weights [kg] of the whole batch, that at which it was taken out the last."""
    whole = [reading for reading in log.of("weight") if reading.scope == "batch"]
    times: list[float | None] = [reading.time_s for reading in whole]
    weights = [reading.value for reading in whole]
    if log.taken_out is not None:
        kg, time_s = log.taken_out
        if not weights:  # as it was laid on, by the batch file
            extra = batch.marinade
            times, weights = (
                [0.0],
                [batch.meat.weight_kg * (1.0 + extra.salt_kg_kg + extra.sugar_kg_kg + extra.water_kg_kg)],
            )
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
            return f"; it had that after about {_clock(t0 + (w0 - stop) / (w0 - w1) * (t1 - t0))} h"
    (t0, w0), (t1, w1) = known[-2:]
    if w0 > w1 > stop and t1 > t0:
        return f"; about {_clock((w1 - stop) / (w0 - w1) * (t1 - t0))} h longer at its last rate, and rather more"
    return ""


def _clock(time_s: float) -> str:
    """Return a time to five minutes: "4:40"."""
    minutes = max(5 * round(time_s / 300.0), 5)
    return f"{minutes // 60}:{minutes % 60:02d}"


def weight_to_stop_at(complaint: str, batch: Batch, first_kg: float, last_kg: float) -> float:
    """Return the weight at which the whole batch is to be taken out next time [kg].

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
    curve, solids = curve_of(batch), recipe_of(batch)[1]
    extra = batch.marinade
    laid_on = 1.0 + extra.salt_kg_kg + extra.sugar_kg_kg + extra.water_kg_kg
    dry_kg = first_kg / laid_on * solids
    moisture = max(last_kg / dry_kg - 1.0, _DRIEST)
    activity = float(curve.water_activity(moisture, REFERENCE_TEMPERATURE))
    if complaint == "too brittle":
        wanted = max(activity, growth_limits.texture().brittle) + _STEP
    else:
        wanted = min(activity, batch.targets.water_activity) - _STEP
        if complaint.startswith("mouldy"):
            wanted = min(wanted, _NO_MOULD)
    wanted = float(np.clip(wanted, _STEP, batch.targets.water_activity))
    return dry_kg * (1.0 + float(curve.moisture(wanted, REFERENCE_TEMPERATURE)))


def _less_salt(batch: Batch) -> str:
    salt = batch.marinade.salt_kg_kg
    if not salt > 0.0:
        return "the batch file says that the meat took up no salt: write in [marinade] what it did."
    return (
        f"let the meat take up {1e3 * salt * (1.0 - _LESS_SALT):.1f} g of salt per kg instead of {1e3 * salt:.1f}, a quarter "
        "less; less salt also keeps for less long, so watch the water activity."
    )


def _weight(kg: float) -> str:
    return f"{1e3 * kg:.0f} g ({kg / _OUNCE_KG:.1f} oz)"
