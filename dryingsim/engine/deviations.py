"""A batch that is not quite as it is meant, and the air of very many such batches from a few runs.

A *deviation* says how far one thing is off: the logarithm of a factor, or an offset in SI (`FACTORS`, `OFFSETS`). In an
appliance a batch drawn does not run by itself: the batch is run as it is meant and with each thing off by itself, all of
them side by side, and the air of a batch drawn is put together from these, by straight lines between the runs and one
deviation added to the other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from dryingsim.batch.learned import moved
from dryingsim.batch.schema import Batch
from dryingsim.engine.air_history import ApplianceAirHistory
from dryingsim.engine.appliance_ensemble import run_appliances

FACTORS = ("diffusivity", "film", "air_exchange")
OFFSETS = ("setpoint", "room_humidity", "moisture")  # K, and shares
_DRIEST_ROOM, _DAMPEST_ROOM = 0.02, 0.98
# Runs that give the air: each deviation of the whole batch by so many of its sizes, the others nil. A heater at its
# limit bends the answer to the setting and to the air exchange, so these have runs on both sides.
KNOTS = {
    "diffusivity": (1.0,),
    "film": (1.0,),
    "setpoint": (-1.5, 1.5),
    "room_humidity": (1.0,),
    "air_exchange": (-1.5, 0.8, 1.8),
}


def deviated(batch: Batch, deviations: Mapping[str, float]) -> tuple[Batch, float]:
    """Return the batch with things off, and the factor on its diffusivity, which is in no batch.

    Parameters
    ----------
    batch : Batch
    deviations : mapping of float
        By `FACTORS` (logarithms) and `OFFSETS` (in SI); what is left out is as it is meant.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> warmer, factor = deviated(demo_batch(), {"setpoint": 2.0, "diffusivity": np.log(1.5)})
    >>> round(warmer.stages[1].air.temperature_K - demo_batch().stages[1].air.temperature_K, 6), round(factor, 6)
    (2.0, 1.5)
    """
    if "room_humidity" in deviations:
        humidity = batch.room.relative_humidity + deviations["room_humidity"]
        humidity = min(max(humidity, _DRIEST_ROOM), _DAMPEST_ROOM)
        batch = replace(batch, room=replace(batch.room, relative_humidity=humidity))
    factor = {key: float(np.exp(deviations.get(key, 0.0))) for key in FACTORS}
    changed = moved(
        batch,
        setpoint_K=deviations.get("setpoint", 0.0),
        air_exchange=factor["air_exchange"],
        film=factor["film"],
        water=deviations.get("moisture", 0.0),
    )
    return changed, factor["diffusivity"]


def runs_for_air(sizes: Mapping[str, float]) -> list[dict[str, float]]:
    """Return the deviations of each of the runs that give the air, without that of the batch as it is meant.

    Parameters
    ----------
    sizes : mapping of float
        How large each of the deviations of `KNOTS` usually is; nothing is run for one of size 0.
    """
    return [{key: knot * sizes[key]} for key, knots in KNOTS.items() for knot in knots if sizes[key] > 0.0]


def shares_of_runs(drawn: Mapping[str, np.ndarray], sizes: Mapping[str, float]) -> np.ndarray:
    """Return the share of each of the `runs_for_air` in the air of every batch drawn, shape (runs, b).

    Parameters
    ----------
    drawn : mapping of ndarray, shape (b,)
        Deviations of the batches.
    sizes : mapping of float
        See `runs_for_air`.

    Notes
    -----
    Straight lines between the knots of each deviation, carried on beyond the last; the deviations add up.
    """
    rows: list[np.ndarray] = []
    for key, own in KNOTS.items():
        if sizes[key] == 0.0:
            continue
        place, knots = drawn[key] / sizes[key], np.array(sorted((0.0, *own)))
        i = np.clip(np.searchsorted(knots, place) - 1, 0, knots.size - 2)
        above = (place - knots[i]) / (knots[i + 1] - knots[i])
        for k, knot in enumerate(knots):
            if knot != 0.0:
                rows.append(np.where(i == k, 1.0 - above, 0.0) + np.where(i + 1 == k, above, 0.0))
    return np.stack(rows) if rows else np.zeros((0, drawn["setpoint"].size))


def airs_of_deviations(batch: Batch, runs: Sequence[Mapping[str, float]]) -> list[ApplianceAirHistory]:
    """Return the air of runs of a batch in its appliance.

    Parameters
    ----------
    batch : Batch
        By the clock.
    runs : sequence of mapping of float
        The deviations in each, see `deviated`.
    """
    batches, factors = zip(*(deviated(batch, deviations) for deviations in runs), strict=True)
    return run_appliances(batches, diffusivity_factor=np.array(factors))
