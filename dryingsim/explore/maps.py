"""Maps: one slice for every point of a grid over one or two parameters, all of them run together.

The parameters are those of a slice and of the air it lies in. Maps are for given air: a loaded appliance answers to what
lies in it, for which see `explore.vary`.
"""

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.checks import check_choice
from dryingsim.batch.schema import Air, Batch, ThicknessClass
from dryingsim.errors import InputError
from dryingsim.explore.ensemble import TOLERANCE, Ask, Members, run_ensemble, taken
from dryingsim.explore.legs import Clock, legs_in_given_air
from dryingsim.explore.spread import note_times
from dryingsim.model.build import build_slabs
from dryingsim.model.slab import WATER_VOLUME

OF_SLICE = ("thickness_m", "diffusivity_factor", "film_factor", "moisture_db")
OF_AIR = ("air_K", "room_humidity", "speed_m_s")
_FOLLOWED_S = 24 * 3600.0


@dataclass(frozen=True)
class Map:
    """What comes of a batch's slices at every point of a grid.

    Attributes
    ----------
    batch : Batch
        Its schedule by the clock; the thickness of its first class where that is no axis.
    axes : dict of ndarray
        Values of the one or two parameters.
    numbers : dict of ndarray
        As `dryingsim.explore.ensemble.work` returns them, each of the shape of the grid; `done_s` and `brittle_s`
        are the times of the target and of brittleness [s], infinite beyond the run.
    """

    batch: Batch
    axes: dict[str, np.ndarray]
    numbers: dict[str, np.ndarray]


def map_over(
    batch: Batch,
    axes: Mapping[str, np.ndarray],
    *,
    duration_s: float = _FOLLOWED_S,
    organism: str | None = "salmonella",
    nodes: int = 24,
    tolerance: float = TOLERANCE,
    executor: Executor | Callable[[], Executor] | None = None,
) -> Map:
    """Run a slice for every point of a grid over one or two parameters.

    Parameters
    ----------
    batch : Batch
        In given air; stages that end by a condition only go on to their duration, or for `duration_s`.
    axes : mapping of ndarray
        One or two of `OF_SLICE` and `OF_AIR`, each with its values in SI. "air_K" and "speed_m_s" are those of the
        first stage; the others are moved by the same difference.
    duration_s : float
        How long a stage without a duration lasts [s].
    organism : str or None
        Whose kill is wanted.
    nodes, tolerance
        See `dryingsim.run`.
    executor
        See `dryingsim.explore.ensemble.each`.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> found = map_over(demo_batch(), {"thickness_m": np.array([3e-3, 6e-3])}, organism=None)
    >>> bool(found.numbers["done_s"][1] > 2.0 * found.numbers["done_s"][0])
    True
    """
    known = {key: np.asarray(values, dtype=float) for key, values in axes.items()}
    if not 1 <= len(known) <= 2:
        raise InputError(f"{len(known)} parameters to map over: one or two are expected")
    for key in known:
        check_choice("map", key, OF_SLICE + OF_AIR)
    if batch.appliance is not None:
        raise InputError(
            f"{batch.name}: a map is made in given air; an appliance answers to its load: see 'compare'"
        )
    grids = np.meshgrid(*known.values(), indexing="ij")
    points = dict(zip(known, (grid.reshape(-1) for grid in grids), strict=True))
    count = grids[0].size
    airs, column = _airs(batch, {key: points[key] for key in known if key in OF_AIR}, count)
    clock = _clock(batch, duration_s)
    members = _members(batch, points, column, nodes)
    target = batch.targets.water_activity
    ask = Ask(
        temperature_K=batch.meat.temperature_K,
        times_s=note_times(clock),
        levels=(target, growth_limits.texture().brittle),
        organism=organism,
        everywhere=batch.meat.form != "sliced",
        series=False,
        tolerance=tolerance,
    )
    numbers = run_ensemble(members, legs_in_given_air(airs, clock), ask, executor=executor)
    numbers["done_s"], numbers["brittle_s"] = numbers["done_s"]
    shape = grids[0].shape
    return Map(batch, known, {name: values.reshape(shape) for name, values in numbers.items()})


def _clock(batch: Batch, duration_s: float) -> Clock:
    ends = np.cumsum([stage.duration_s or duration_s for stage in batch.stages])
    return Clock(tuple(ends.tolist()), None, float(ends[-1]))


def _airs(batch: Batch, points: dict[str, np.ndarray], count: int) -> tuple[list[Batch], np.ndarray]:
    """Return a batch for every different air, and which of them each point has."""
    if not points:
        return [batch], np.zeros(count, dtype=np.intp)
    rows, column = np.unique(np.stack(list(points.values()), axis=1), axis=0, return_inverse=True)
    return [_with_air(batch, dict(zip(points, row.tolist(), strict=True))) for row in rows], column.reshape(
        -1
    )


def _with_air(batch: Batch, values: dict[str, float]) -> Batch:
    first = batch.stages[0].air
    by_K = values.get("air_K", first.temperature_K) - first.temperature_K
    faster = values.get("speed_m_s", first.speed_m_s) - first.speed_m_s

    def moved(air: Air) -> Air:
        return replace(
            air, temperature_K=air.temperature_K + by_K, speed_m_s=max(air.speed_m_s + faster, 0.0)
        )

    stages = [
        replace(one, air=moved(one.air), air_end=moved(one.air_end) if one.air_end else None)
        for one in batch.stages
    ]
    humidity = values.get("room_humidity", batch.room.relative_humidity)
    return replace(batch, room=replace(batch.room, relative_humidity=humidity), stages=tuple(stages))


def _members(batch: Batch, points: dict[str, np.ndarray], column: np.ndarray, nodes: int) -> Members:
    first = replace(
        batch.meat, classes=(ThicknessClass(thickness_m=batch.meat.classes[0].thickness_m, share=1.0),)
    )
    one = build_slabs(replace(batch, meat=first), nodes)
    slabs = taken(one, np.zeros(column.size, dtype=np.intp))
    ones = np.ones(column.size)
    thickness = points.get("thickness_m", first.classes[0].thickness_m * ones)
    moisture = points.get("moisture_db", slabs.initial_moisture_db)
    slabs = replace(
        slabs,
        dry_mass_kg_m2=thickness / (slabs.solid_volume + WATER_VOLUME * moisture),
        initial_moisture_db=moisture,
        diffusivity_factor=points.get("diffusivity_factor", ones),
    )
    return Members(slabs, column, points.get("film_factor", ones))
