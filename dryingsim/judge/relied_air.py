"""The air that a batch can be relied on to have: no hotter than it was set, and no more humid than the room's own.

Wet meat is about as hot as the wet bulb of its air, so humid air heats where dry air only dries. How humid an appliance
gets follows from how tight it is, which is an estimate, or was merely typed. A humidity counts only where it was measured, and
then less the accuracy of a good instrument, as does the temperature of the air beside it; elsewhere the batch is run again in
the room's air, heated as much as it was, and what does not hold there is met only if measured: a wet bulb that would do is
searched for, with the time it must hold. Nor does a thermostat that was learned to be off make meat hot: weighings and a probe
out of its place tell the same. Nor does a cover keep meat wet that is not shown to be tight: slices on a closed sheet or on one
another are run again in air.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Annotated

import numpy as np

from dryingsim.batch.air_stages import straight_between
from dryingsim.batch.learned import diffusivity_factor, may_gain, unlearned
from dryingsim.batch.schema import Air, Batch, Humidity, HumidityKind, Stage, with_components
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.model.air import vapour_pressure
from dryingsim.model.build import law_of
from dryingsim.model.laying import lying
from dryingsim.properties.diffusivity import multiplied
from dryingsim.properties.moist_air import dew_point, vapour_pressure_from_wet_bulb, wet_bulb
from dryingsim.properties.water import saturation_pressure
from dryingsim.simulate import DEFAULT_TOLERANCE, run
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
_FIRST_WET_BULB_K: Annotated[
    float, Evidence("K", "numerical", "where the search for a wet bulb begins, 40 degC")
] = 40.0 + ZERO_CELSIUS
_ACCURACY = "a ventilated pair of dry and wet bulb: 2 to 5 % RH (ASTM E337 as quoted by an instrument maker); 1 K is the same"
RELATIVE_ERROR: Annotated[float, Evidence("-", "published", _ACCURACY)] = 0.05
BULB_ERROR_K: Annotated[float, Evidence("K", "derived", _ACCURACY)] = 1.0
_SEARCH_TOLERANCE: Annotated[
    float,
    Evidence("-", "numerical", "of the steps, where a wet bulb is searched for to a kelvin: 0.1 K or so"),
] = 1e-3
_again: dict[tuple[Batch, float, int, float], History] = {}
Cap = Callable[[Array], Array]  # the most vapour [Pa] at a temperature [K]


def measured(history: History) -> Array:
    """Return whether the humidity at each recorded time was measured, shape (t,)."""
    said = [stage.air.humidity.measured and not _humid(stage) for stage in history.batch.stages]
    return history.by_stage(said)


def relied_humidity(history: History) -> Array:
    """Return the relative humidity of the driest air at the slabs that can be relied on [-], shape (t,)."""
    vapour = history.air_vapour_pressure_Pa
    vapour = np.where(measured(history)[:, None], vapour, np.minimum(vapour, _room_vapour(history.batch)))
    return (vapour / saturation_pressure(history.air_temperature_K)).min(axis=1)


def air_unshown(batch: Batch) -> bool:
    """Whether air may be as humid as it is computed to be, by an appliance or as typed, without having been measured."""
    return batch.appliance is not None or any(map(_humid, batch.stages))


def covered(batch: Batch) -> bool:
    """Whether a face of any slice lies on a closed sheet or on another slice."""
    return bool((lying(batch).vapour_below == 0.0).any())


def run_relied_on(history: History, tolerance: float = DEFAULT_TOLERANCE) -> History | None:
    """Run a batch again, for as long, in the air that it can be relied on to have, both faces in it; None where that is so.

    Parameters
    ----------
    history : History
    tolerance : float
        Of its steps, see `dryingsim.run` [-].
    """
    batch = history.batch
    if not (air_unshown(batch) or may_gain(batch) or covered(batch) or measured(history).any()):
        return None
    return _run_again(history, _room_cap(batch), tolerance)


def _room_cap(batch: Batch) -> Cap:
    """Return the most vapour that can be relied on: the room's, whatever the temperature."""
    return lambda temperature_K: np.full_like(np.asarray(temperature_K, dtype=float), _room_vapour(batch))


def _run_again(history: History, most: Cap, tolerance: float) -> History:
    """Run a batch again, for as long, its vapour held down wherever it was not measured."""
    batch = history.batch
    stages = (
        _stages_in_given_air(history, most) if batch.appliance is None else _stages_as_recorded(history, most)
    )
    again = _relied_on(batch, tuple(stages))
    interval = float(np.clip(np.diff(history.time_s).max(), 1.0, 600.0))  # as good an integration
    nodes = history.slabs.nodes.size
    key = again, interval, nodes, tolerance
    if key not in _again:
        while len(_again) >= _KEPT_RUNS:
            _again.pop(next(iter(_again)))
        _again[key] = run(again, nodes=nodes, interval_s=interval, tolerance=tolerance)
    return _again[key]


def _relied_on(batch: Batch, stages: tuple[Stage, ...]) -> Batch:
    """Return a batch by other stages, its slices apart on mesh, with nothing learned that would make it hotter or wetter."""
    again = replace(
        batch,
        meat=replace(batch.meat, classes=tuple(replace(each, lies="flat") for each in batch.meat.classes)),
        support="mesh",
        appliance=None,
        trays=None,
        rotate_every_s=None,
        stages=stages,
    )
    slower = min(diffusivity_factor(batch), 1.0)
    return with_components(unlearned(again), diffusivity=multiplied(law_of(batch), slower))


def as_relied_on(batch: Batch) -> Batch:
    """Return a batch in given, steady air as it can be relied on: where the humidity was not measured, the room's at most."""
    most = _room_cap(batch)
    stages = (
        replace(stage, air=_dry(stage.air, batch, most) if _humid(stage) else _at_least(stage.air))
        for stage in batch.stages
    )
    return _relied_on(batch, tuple(stages))


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


def _dry(air: Air, batch: Batch, most: Cap) -> Air:
    """Return the same air with no more vapour than some, if it is not the room's anyway."""
    if air.humidity.kind == "room":
        return air
    vapour = min(vapour_pressure(air, batch.room), float(most(np.asarray(air.temperature_K))))
    return replace(air, humidity=_moist(vapour, air.temperature_K))


def _less_error(kind: HumidityKind, temperature_K: Array, vapour_Pa: Array, pressure_Pa: float) -> Array:
    """Return the least vapour [Pa] that a measured humidity stands for, in air as cool as that of the temperature may be."""
    coolest_K = temperature_K - BULB_ERROR_K
    if kind == "relative":
        least = (vapour_Pa / saturation_pressure(temperature_K) - RELATIVE_ERROR) * saturation_pressure(
            coolest_K
        )
    elif kind == "dew_point":
        least = saturation_pressure(dew_point(np.maximum(vapour_Pa, _LEAST_PA)) - BULB_ERROR_K)
    else:
        bulb = wet_bulb(temperature_K, vapour_Pa, pressure_Pa) - BULB_ERROR_K
        least = vapour_pressure_from_wet_bulb(coolest_K, bulb, pressure_Pa)
    return np.asarray(np.maximum(least, 0.0))


def _at_least(air: Air) -> Air:
    """Return air whose humidity was measured, less the error of that and of its temperature."""
    held = air.humidity
    if held.kind == "room":
        return air
    error = RELATIVE_ERROR if held.kind == "relative" else BULB_ERROR_K
    return replace(
        air,
        temperature_K=air.temperature_K - BULB_ERROR_K,
        humidity=replace(held, value=max(held.value - error, 0.0)),
    )


def _stages_in_given_air(history: History, most: Cap) -> Iterator[Stage]:
    """Return the stages as they went, each for as long as it took."""
    batch, start, last = history.batch, 0.0, float(history.time_s[-1])
    for stage, end in zip(batch.stages, history.stage_end_s.tolist(), strict=True):
        lasted = min(end, last) - start
        if lasted > _LEAST_SPAN_S:
            first, then, last_air = stage.air, None, stage.air_end
            if _humid(stage):  # a ramp that was measured at one of its ends was not measured
                first = _dry(first, batch, most)
                last_air = None if last_air is None else _dry(last_air, batch, most)
            else:
                first = _at_least(first)
                last_air = None if last_air is None else _at_least(last_air)
            if last_air is not None and stage.duration_s:
                then = _between(first, last_air, min(lasted / stage.duration_s, 1.0), batch)
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


def _set_K(history: History) -> Array:
    """Return what the thermostat was set to at most at each recorded time [K], shape (t,).

    Where cold meat keeps a sensor cold, the air before it may be computed tens of kelvin hotter: by how much hangs on
    estimates of the appliance, so hotter air than was set is not relied on.
    """
    stages = ((stage.air, stage.air_end or stage.air) for stage in history.batch.stages)
    return history.by_stage([max(air.temperature_K for air in ends) for ends in stages])


def _stages_as_recorded(history: History, most: Cap) -> Iterator[Stage]:
    """Return the coolest air at any slab of an appliance as given air, in straight lines over time."""
    batch, time = history.batch, history.time_s
    appliance = batch.appliance
    assert appliance is not None
    coolest = np.minimum(history.air_temperature_K.min(axis=1), _set_K(history))
    recorded = history.air_vapour_pressure_Pa.min(axis=1)
    vapour = np.minimum(recorded, most(coolest))
    for number, stage in enumerate(batch.stages):
        if stage.air.humidity.measured and not _humid(stage):
            least = _less_error(stage.air.humidity.kind, coolest, recorded, batch.room.pressure_Pa)
            vapour = np.where(history.stage == number, least, vapour)
            coolest = np.where(history.stage == number, coolest - BULB_ERROR_K, coolest)

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
        if not stage.dries:
            lasted = float(time[min(end, time.size - 1)] - time[first])
            if lasted > _LEAST_SPAN_S:
                yield replace(stage, duration_s=lasted, until=None)
            first = max(first, min(end, time.size - 1))
            continue
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
    part = slice(first, last + 1)
    return [first + corner for corner in straight_between(time[part], values[part] / _APART_K)]


def critical_limits(
    history: History, records_to: Callable[[History], int | None]
) -> tuple[float, float, float] | None:
    """Return the lowest reading of a wet bulb that serves, to a kelvin [K], and from when to when it must hold [s].

    Found by search on the simulation: the batch is run in its own air with no more vapour than that of a wet bulb. It has to
    serve by the end of the humid air; where the batch as it is cannot make that, what follows counts too, as it does once
    the air was measured. The accuracy of the reading is added, as to any critical limit (FSIS-GD-2021-14, page 20).

    Parameters
    ----------
    history : History
        In air of which more than the room's vapour cannot be relied on.
    records_to : callable
        Tells after how many records of a run what is required is met; None where it never is.

    Returns
    -------
    tuple or None
        None where no wet bulb up to the highest of the run itself serves, or its air is nowhere as humid as is searched for.
    """
    highest_K = _wet_bulbs(history).max()
    if highest_K <= _FIRST_WET_BULB_K:
        return None
    by_its_end = _lowest_that_serves(_humid_part(history), records_to)
    if by_its_end is not None and by_its_end[0] <= highest_K:
        return by_its_end
    return _lowest_that_serves(history, records_to) or by_its_end


def _lowest_that_serves(
    history: History, records_to: Callable[[History], int | None]
) -> tuple[float, float, float] | None:
    """Return `critical_limits`, where it has to serve by the end of a history."""
    low = _FIRST_WET_BULB_K
    high = low + float(np.ceil(max(_wet_bulbs(history).max() - low, 1.0)))
    served = _run_below(history, high)
    last = records_to(served)
    if last is None:
        return None
    trial = max(high - _may_fall_by(served, last), low + 1.0)
    while high - low > 1.0:
        tried = _run_below(history, trial)
        records = records_to(tried)
        if records is None:
            low, trial = trial, trial + float(np.ceil(0.5 * (high - trial)))
        else:
            high, served, last = trial, tried, records
            trial = max(high - _may_fall_by(served, last), low + 1.0)
    held = np.flatnonzero(_wet_bulbs(served)[:last].min(axis=1) >= high - _APART_K)
    held = held if held.size else np.arange(last)
    return high + BULB_ERROR_K, float(served.time_s[held[0]]), float(served.time_s[held[-1]])


def _wet_bulbs(history: History) -> Array:
    """Return the wet bulb of the drying air at the slabs [K], shape (t, m); none of what is around them before, as liquid."""
    drying = history.stage >= history.batch.first_drying
    return np.where(drying[:, None], history.air_wet_bulb_K, 0.0)


def _humid_part(history: History) -> History:
    """Return a history up to where its air is last as humid as is searched for: what follows is the same for all."""
    humid = np.flatnonzero(_wet_bulbs(history).max(axis=1) > _FIRST_WET_BULB_K)
    last = min(int(humid[-1]) + 1, history.time_s.size - 1)
    return history.up_to(float(history.time_s[last]))


def _may_fall_by(served: History, last: int) -> float:
    """Return by how many whole kelvin the wet bulb may fall, for the time that is left over: D goes by so much a kelvin."""
    spare = np.log10(served.time_s[-1] / max(float(served.time_s[last - 1]), 1.0))
    return max(float(np.floor(spare / heat_resistance()["slope"])), 1.0)


def _run_below(history: History, wet_bulb_K: float) -> History:
    """Run a batch again in its own air, but with no more vapour than at a wet bulb."""
    pressure = history.batch.room.pressure_Pa

    def most(temperature_K: Array) -> Array:
        cooler = np.minimum(wet_bulb_K, temperature_K)
        return vapour_pressure_from_wet_bulb(temperature_K, cooler, pressure)

    return _run_again(history, most, _SEARCH_TOLERANCE)
