"""The batches of many points as slices in segments of air: what `maps` runs.

All points go through the same stages, each at its own times: a stage may end where the slices of the point meet a
condition. Where no stage has one, the meat is taken out when it is done, as long as that is in the last stage.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from dryingsim.batch.schema import Batch, Until
from dryingsim.engine.appliance_ensemble import ApplianceAirHistory, endings, run_appliances
from dryingsim.engine.appliance_system import OF_SLABS, ApplianceSystem, slabs_of
from dryingsim.engine.ensemble import Numbers, Request, Slices, down_to, each, run_ensemble
from dryingsim.engine.segments import AirHistory, Segment, given_air_history, noted_air, segment_times
from dryingsim.model.faces import Film
from dryingsim.model.slab import WATER_VOLUME, Slabs

Workers = Executor | Callable[[], Executor] | None
FLEET = 64  # appliances run side by side: their arrays fit a core's cache
_CLOSE_S, _FINER = 60.0, 0.02  # notes lie a minute apart at first, later this share of the time


@dataclass(frozen=True)
class Points:
    """Batches of `p` points of one build, and factors that are in no batch.

    Attributes
    ----------
    batches : list of Batch
    diffusivity, film : ndarray, shape (p,)
        Multiply the diffusivity and the film coefficients.
    moisture_db : ndarray, shape (p,), or None
        Of the slices when laid on the trays [kg/kg]; None: as the recipe gives it.
    """

    batches: list[Batch]
    diffusivity: np.ndarray
    film: np.ndarray
    moisture_db: np.ndarray | None = None

    def take(self, which: Sequence[int]) -> "Points":
        """Return some of them."""
        index = np.asarray(which, dtype=np.intp)
        moisture = None if self.moisture_db is None else self.moisture_db[index]
        batches = [self.batches[i] for i in which]
        return Points(batches, self.diffusivity[index], self.film[index], moisture)


def times_of_points(longest_s: float) -> np.ndarray:
    """Times of notes [s], even at first, then a constant share of the time apart."""
    early = np.arange(0.0, min(_CLOSE_S / _FINER, longest_s), _CLOSE_S)
    count = int(np.ceil(np.log(max(longest_s / (early[-1] + _CLOSE_S), 1.0)) / _FINER)) + 1
    late = (
        np.geomspace(early[-1] + _CLOSE_S, longest_s, count)
        if longest_s > early[-1] + _CLOSE_S
        else [longest_s]
    )
    return np.concatenate([early, late])


def slices_of_points(points: Points, trays: int, nodes: int) -> Slices:
    """Slices of all points: point by point, tray by tray, class by class; column `point * trays + tray`."""
    kinds, table, row = slabs_of(points.batches, nodes)
    count, classes = len(kinds), kinds[0].dry_mass_kg_m2.size

    def whole(name: str) -> np.ndarray:
        values = np.stack([getattr(one, name) for one in kinds], axis=-2)  # (..., points, classes)
        values = np.repeat(values[..., None, :], trays, axis=-2)
        return values.reshape(*values.shape[:-3], -1)

    arrays: dict[str, Any] = {name: whole(name) for name in OF_SLABS}
    slabs: Slabs = replace(kinds[0], sorption=table, recipe=np.repeat(row, trays * classes), **arrays)
    point = np.repeat(np.arange(count), trays * classes)
    if points.moisture_db is not None:
        thickness, moisture = slabs.thickness(slabs.initial_moisture_db), points.moisture_db[point]
        mass = thickness / (slabs.solid_volume + WATER_VOLUME * moisture)
        slabs = replace(slabs, initial_moisture_db=moisture, dry_mass_kg_m2=mass)
    slabs = replace(slabs, diffusivity_factor=points.diffusivity[point])
    return Slices(slabs, np.repeat(np.arange(count * trays), classes), points.film[point])


class _Course:
    """Slices of points on their course through the stages; `segments` as far as it is known.

    Attributes
    ----------
    members : Members
    segments : tuple of Leg
    ends : ndarray, shape (p,)
        When the schedule of each point ends [s].
    longest : float
        When the last slices leave their air [s].
    """

    slices: Slices
    segments: tuple[Segment, ...]
    ends: np.ndarray
    longest: float


def _limits(points: Points, stage: int, longest_s: float) -> np.ndarray:
    return np.array([batch.stages[stage].duration_s or longest_s for batch in points.batches])


class _InAir(_Course):
    """In given air: a stage that may end by a condition is run to its limit first, to see when that is met."""

    def __init__(
        self, points: Points, nodes: int, longest_s: float, tolerance: float, workers: Workers
    ) -> None:
        self.points, self.tolerance, self.workers = points, tolerance, workers
        self.slices = slices_of_points(points, 1, nodes)
        untils, taken_out = endings(points.batches)
        conditional = [i for i, row in enumerate(untils) if any(row)]
        last = conditional[-1] if conditional else len(untils) - 1
        segments: list[Segment] = []
        rest: Segment | None = None
        start = np.zeros(len(points.batches))
        for i, row in enumerate(untils):
            air_history, limit = given_air_history(points.batches, i), start + _limits(points, i, longest_s)
            turn = points.batches[0].stages[i].turn
            segment = Segment(
                start, limit, air_history, len(segments) - 1, turn, dries=i <= last, lethal=True
            )
            end = limit
            if any(row):
                met = self._met((*segments, replace(segment, lethal=False)), row)
                # the end of a schedule without conditions is no condition: what is done before it goes through it
                end = np.where((met <= start) & taken_out, limit, np.clip(met, start, limit))
            segments.append(replace(segment, end_s=end))
            if i == last and np.any(end < limit):
                rest = replace(
                    segment, start_s=end, after=len(segments) - 1, turn=False, lethal=False, since_s=start
                )
            start = end
        self.segments, self.ends = (*segments, rest) if rest else tuple(segments), start
        self.longest = float(max(np.max(segment.end_s) for segment in self.segments))

    def _met(self, segments: tuple[Segment, ...], untils: Sequence[Until | None]) -> np.ndarray:
        """When each point meets its condition [s]; infinite where it does not."""
        longest = float(np.max(segments[-1].end_s))
        times = times_of_points(longest)
        batch = self.points.batches[0]
        request = Request(temperature_K=batch.meat.temperature_K, times_s=times, tolerance=self.tolerance)
        found = run_ensemble(self.slices, segments, request, executor=self.workers)
        by_point = {
            name: found[f"series_{name}"].reshape(times.size, len(untils), -1)
            for name in ("moisture_db", "water_activity", "core_K")
        }
        slabs = self.slices.slabs
        share = np.array([one.share for one in batch.meat.classes])
        start = slabs.initial_moisture_db.reshape(len(untils), -1)
        left = ((1.0 + by_point["moisture_db"]) / (1.0 + start) * share).sum(axis=2)  # of the weight laid on
        wettest, coldest = by_point["water_activity"].max(axis=2), by_point["core_K"].min(axis=2)
        begun = np.broadcast_to(segments[-1].start_s, (len(untils),))
        met = np.full(len(untils), np.inf)
        for p, until in enumerate(untils):
            if until is None:
                continue
            tried = (
                (left[:, p], None if until.weight_loss is None else 1.0 - until.weight_loss),
                (-coldest[:, p], None if until.core_temperature_K is None else -until.core_temperature_K),
                (wettest[:, p], until.water_activity),
            )
            within = times >= begun[p]
            for values, level in tried:
                if level is not None:
                    met[p] = min(met[p], down_to(times[within], values[within, None], level)[0])
        return met


class _Loaded(_Course):
    """In appliances: they are run side by side first, which also tells when their stages end."""

    def __init__(self, points: Points, nodes: int, longest_s: float, workers: Workers) -> None:
        count = len(points.batches)
        batches = [
            _blown(batch, factor) for batch, factor in zip(points.batches, points.film.tolist(), strict=True)
        ]
        points = replace(
            points, batches=batches, film=np.ones(count)
        )  # their films are those of the appliance
        parts = [slice(i, i + FLEET) for i in range(0, count, FLEET)]
        calls = [
            partial(
                run_appliances,
                batches[part],
                diffusivity_factor=points.diffusivity[part],
                longest_s=longest_s,
                nodes=nodes,
                taken_out=True,
            )
            for part in parts
        ]
        done = dict(each(_called, calls, workers))
        airs: list[ApplianceAirHistory] = [air for i in range(len(parts)) for air in done[i]]
        appliances = ApplianceSystem(batches, 3, 1e-3, np.ones(count))
        self.slices = slices_of_points(points, appliances.load.trays, nodes)
        untils, _ = endings(batches)
        conditional = [i for i, row in enumerate(untils) if any(row)]
        last = conditional[-1] if conditional else len(untils) - 1
        segments: list[Segment] = []
        rest: Segment | None = None
        start = np.zeros(count)
        for i in range(len(untils)):
            end = np.array([air.stage_end_s[i] for air in airs])
            appliances.begin(appliances.merged_stage(i), 0.0)
            air_history = _air_history(appliances, airs, start, end)
            begun, ended = (np.repeat(time, appliances.load.trays) for time in (start, end))
            turn = batches[0].stages[i].turn
            segments.append(
                Segment(begun, ended, air_history, len(segments) - 1, turn, dries=i <= last, lethal=True)
            )
            limit = start + _limits(points, i, longest_s)
            if i == last and np.any(end < limit):
                still, after = _air_history(appliances, airs, end, end), len(segments) - 1
                limit = np.repeat(limit, appliances.load.trays)
                rest = Segment(ended, limit, still, after, False, dries=True, lethal=False)
            start = end
        self.segments = (*segments, rest) if rest else tuple(segments)
        self.ends, self.longest = start, float(max(np.max(segment.end_s) for segment in self.segments))


def _called(call: Callable[[], list[ApplianceAirHistory]]) -> list[ApplianceAirHistory]:
    return call()


def _blown(batch: Batch, film_factor: float) -> Batch:
    """Return the batch with faster air along its slices: a laminar film goes with the root of the speed."""
    assert batch.appliance is not None
    trays = batch.appliance.trays
    trays = replace(trays, speed_m_s=trays.speed_m_s * film_factor**2)
    return replace(batch, appliance=replace(batch.appliance, trays=trays))


def _air_history(
    appliances: ApplianceSystem, airs: Sequence[ApplianceAirHistory], start: np.ndarray, end: np.ndarray
) -> AirHistory:
    """Air at every tray of every point from its start to its end, in the appliances' present setting."""
    longest, count, trays = float(np.max(end - start)), len(airs), appliances.load.trays
    times = np.unique(np.append(np.minimum(segment_times(longest), longest), longest))
    kinds = appliances.load.tray.size // trays
    place = appliances.load.tray[::kinds]
    noted = [
        noted_air(air, np.minimum(begin + times, stop), place, appliances.chamber.inlet)
        for air, begin, stop in zip(airs, start.tolist(), end.tolist(), strict=True)
    ]
    values = np.concatenate(noted, axis=2)  # (4, k, points * trays)
    film, view = appliances.together.film, appliances.chamber.view
    carrying = film.carrying
    assert carrying is not None

    def by_column(values: np.ndarray) -> np.ndarray:
        values = values.reshape(*values.shape[:-1], trays, kinds, count)[..., 0, :]
        return np.swapaxes(values, -1, -2).reshape(*values.shape[:-2], -1)

    return AirHistory(
        time_s=times,
        temperature_K=values[0],
        vapour_fraction=np.clip(values[1], 0.0, 0.98),
        wall_K=np.stack([values[2], values[3]], axis=1),
        view=by_column(view.reshape(2, -1)),
        pressure_Pa=np.repeat(np.broadcast_to(appliances.chamber.pressure, count), trays),
        film=Film(
            forced=by_column(film.forced),
            natural=by_column(film.natural),
            mass_factor=by_column(film.mass_factor),
            carrying=(by_column(carrying[0]), by_column(carrying[1])),
        ),
    )


def run_points(
    points: Points,
    organism: str | None,
    levels: tuple[float, ...],
    nodes: int,
    tolerance: float,
    longest_s: float,
    workers: Workers,
) -> tuple[Numbers, np.ndarray]:
    """Run all slices of points of one build.

    Returns
    -------
    tuple
        What `ensemble.work` returns, the slices of a point together; when the schedule of each point ends [s].
    """
    loaded = points.batches[0].appliance is not None
    course = (
        _Loaded(points, nodes, longest_s, workers)
        if loaded
        else _InAir(points, nodes, longest_s, tolerance, workers)
    )
    request = Request(
        temperature_K=points.batches[0].meat.temperature_K,
        times_s=times_of_points(course.longest),
        levels=levels,
        organism=organism,
        everywhere=any(batch.meat.form != "sliced" for batch in points.batches),
        series=False,
        tolerance=tolerance,
    )
    return run_ensemble(course.slices, course.segments, request, executor=workers), course.ends
