"""The air that a batch can be relied on to have: no hotter than it was set, and no more humid than the room's own.

Wet meat is about as hot as the wet bulb of its air, so humid air kills where dry air only dries. How humid an appliance
gets follows from how tight it is, which is an estimate, or was merely typed. A humidity counts only where it was
measured; elsewhere the batch is run again in the room's air, heated as much as it was, and what does not hold there is not
shown. Nor does a thermostat that was learned to be off make meat hot: weighings and a probe out of its place tell the same.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Annotated

import numpy as np

from dryingsim.batch.learned import diffusivity_factor, may_gain, unlearned
from dryingsim.batch.schema import Air, Batch, Humidity, Stage
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.model.air import vapour_pressure
from dryingsim.properties.moist_air import dew_point
from dryingsim.properties.water import saturation_pressure
from dryingsim.simulate import run
from dryingsim.typing import Array

_APART_K: Annotated[
    float, Evidence("K", "numerical", "how far straight lines may lie from the air as it was computed")
] = 1.0
_LEAST_PA: Annotated[
    float, Evidence("Pa", "numerical", "of vapour: the driest that a dew point is computed for")
] = 1.0
_SATURATED: Annotated[
    float, Evidence("-", "numerical", "of saturation: the most humid that air is taken")
] = 0.99
_LEAST_SPAN_S: Annotated[float, Evidence("s", "numerical", "shortest piece of a straight line")] = 1e-3
_KEPT_RUNS: Annotated[int, Evidence("-", "numerical", "runs whose results are kept")] = 8
_again: dict[str, History] = {}


def measured(history: History) -> Array:
    """Return whether the humidity at each recorded time was measured, shape (t,)."""
    said = [stage.air.humidity.measured and not _humid(stage) for stage in history.batch.stages]
    return np.array(said)[np.minimum(history.stage, len(said) - 1)]


def relied_humidity(history: History) -> Array:
    """Return the relative humidity of the driest air at the slabs that can be relied on [-], shape (t,)."""
    vapour = history.air_vapour_pressure_Pa
    vapour = np.where(measured(history)[:, None], vapour, np.minimum(vapour, _room_vapour(history.batch)))
    return (vapour / saturation_pressure(history.air_temperature_K)).min(axis=1)


def air_unshown(batch: Batch) -> bool:
    """Whether air may be as humid as it is computed to be, by an appliance or as typed, without having been measured."""
    return batch.appliance is not None or any(map(_humid, batch.stages))


def run_relied_on(history: History) -> History | None:
    """Run a batch again, for as long, in the air that it can be relied on to have; None where that is its own air."""
    batch = history.batch
    if not air_unshown(batch) and not may_gain(batch):
        return None
    again = replace(
        batch,
        appliance=None,
        trays=None,
        rotate_every_s=None,
        stages=tuple(
            _stages_in_given_air(history) if batch.appliance is None else _stages_as_recorded(history)
        ),
    )
    again = unlearned(again)
    interval = float(np.clip(np.median(np.diff(history.time_s)), 1.0, 600.0))  # as good an integration
    nodes, law = history.slabs.nodes.size, history.slabs.diffusivity
    faster = max(diffusivity_factor(batch), 1.0)  # is in the slabs already
    law = replace(law, reference_m2_s=law.reference_m2_s / faster)
    key = repr((again, interval, nodes, law))
    if key not in _again:
        while len(_again) >= _KEPT_RUNS:
            _again.pop(next(iter(_again)))
        _again[key] = run(again, nodes=nodes, interval_s=interval, diffusivity=law)
    return _again[key]


def _humid(stage: Stage) -> bool:
    """Whether a stage is given a humidity of its own that was not measured."""
    return any(air is not None and _unshown(air.humidity) for air in (stage.air, stage.air_end))


def _unshown(humidity: Humidity) -> bool:
    return humidity.kind != "room" and not humidity.measured


def _room_vapour(batch: Batch) -> float:
    room = batch.room
    return room.relative_humidity * float(saturation_pressure(room.temperature_K))


def _moist(vapour: float, temperature_K: float) -> Humidity:
    """Return air of a vapour pressure, as a dew point."""
    most = _SATURATED * float(saturation_pressure(temperature_K))
    return Humidity(kind="dew_point", value=float(dew_point(np.clip(vapour, _LEAST_PA, most))))


def _dry(air: Air, batch: Batch) -> Air:
    """Return the same air with no more vapour than the room's, unless its humidity was measured."""
    if not _unshown(air.humidity):
        return air
    vapour = min(vapour_pressure(air, batch.room), _room_vapour(batch))
    return replace(air, humidity=_moist(vapour, air.temperature_K))


def _stages_in_given_air(history: History) -> Iterator[Stage]:
    """Return the stages as they went, each for as long as it took."""
    batch, start, last = history.batch, 0.0, float(history.time_s[-1])
    for stage, end in zip(batch.stages, history.stage_end_s.tolist(), strict=True):
        lasted = min(end, last) - start
        if lasted > _LEAST_SPAN_S:
            first, then = _dry(stage.air, batch), None
            if stage.air_end is not None and stage.duration_s:
                then = _between(first, _dry(stage.air_end, batch), min(lasted / stage.duration_s, 1.0), batch)
            yield replace(stage, air=first, air_end=then, duration_s=lasted, until=None)
        start = end


def _between(a: Air, b: Air, share: float, batch: Batch) -> Air:
    """Return the air on the way from one to another."""
    if share == 1.0:
        return b
    temperature = a.temperature_K + share * (b.temperature_K - a.temperature_K)
    vapours = [vapour_pressure(air, batch.room) for air in (a, b)]
    vapour = vapours[0] + share * (vapours[1] - vapours[0])
    return Air(
        temperature_K=temperature,
        humidity=_moist(vapour, temperature),
        speed_m_s=a.speed_m_s + share * (b.speed_m_s - a.speed_m_s),
    )


def _stages_as_recorded(history: History) -> Iterator[Stage]:
    """Return the coolest air at any slab of an appliance as given air, in straight lines over time."""
    batch, time = history.batch, history.time_s
    appliance = batch.appliance
    assert appliance is not None
    coolest = history.air_temperature_K.min(axis=1)
    shown, recorded = measured(history), history.air_vapour_pressure_Pa.min(axis=1)
    vapour = np.where(shown, recorded, np.minimum(recorded, _room_vapour(batch)))

    followed = np.stack([coolest, dew_point(np.maximum(vapour, _LEAST_PA))], axis=1)

    def air(i: int) -> Air:
        temperature = float(coolest[i])
        return Air(
            temperature_K=temperature,
            humidity=_moist(float(vapour[i]), temperature),
            speed_m_s=appliance.trays.speed_m_s,
        )

    ends = [int(np.searchsorted(time, end - _LEAST_SPAN_S)) for end in history.stage_end_s.tolist()]
    first = 0
    for stage, end in zip(batch.stages, ends, strict=True):
        corners = _corners(time, followed, first, min(end, time.size - 1))
        for number, (i, j) in enumerate(pairwise(corners)):
            yield Stage(
                name=stage.name,
                air=air(i),
                air_end=air(j),
                duration_s=float(time[j] - time[i]),
                turn=stage.turn and number == 0,
            )
        first = max(first, min(end, time.size - 1))


def _corners(time: Array, values: Array, first: int, last: int) -> list[int]:
    """Return indices between which straight lines follow the values, shape (t, kinds)."""
    if last <= first:
        return []
    kept, todo = [first, last], [(first, last)]
    while todo:
        i, j = todo.pop()
        share = ((time[i : j + 1] - time[i]) / (time[j] - time[i]))[:, None]
        apart = np.abs(values[i : j + 1] - values[i] - share * (values[j] - values[i])).max(axis=1)
        far = i + int(apart.argmax())
        if apart.max() > _APART_K and i < far < j:
            kept.append(far)
            todo += [(i, far), (far, j)]
    return sorted(kept)


def humidity_needed(history: History, sums: Array, slab: int, target: float) -> tuple[float, float, float]:
    """Return the lowest wet bulb [K] of the air at a slab while its log reduction came about, and from when to when [s].

    Parameters
    ----------
    history : History
    sums : ndarray, shape (t,)
        Log10 reduction of the cautious estimate at the recorded times.
    slab : int
    target : float
        Log10.
    """
    last = min(int(np.searchsorted(sums, sums[0] + target)), sums.size - 1)
    first = min(int(np.searchsorted(sums, sums[0] + 0.01 * target)), last)
    wet_bulb = float(history.air_wet_bulb_K[first : last + 1, slab].min())
    return wet_bulb, float(history.time_s[first]), float(history.time_s[last])
