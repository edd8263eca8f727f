"""Maps: a batch at every point of a grid over one or two of its parameters, all points at once.

In given air every point is the slices of its batch in their air. In an appliance the loaded appliances of all points are
run side by side first (`engine.batch_group`), and the slices then lie in the air of their own. A thermostat counts with the mean
of its cycle.

Stages end as in `dryingsim.run`: by the clock, or where the slices of the point meet a condition. What a point says is
said of its whole batch: the wettest slice decides when it is done, the least-reduced place what became of bacteria.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dryingsim.batch.catalog import growth_limits, organisms
from dryingsim.batch.checks import check_choice, check_range
from dryingsim.batch.component_checks import laws_named
from dryingsim.batch.components import Components
from dryingsim.batch.laying import of_one_thickness
from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.batch.schema import Air, Batch, with_components
from dryingsim.batch.stage_schema import LONGEST_S, SHORTEST_S
from dryingsim.engine.batch_group import BatchGroup, groups_of, run_group
from dryingsim.engine.ensemble import TOLERANCE, Numbers
from dryingsim.engine.executors import Workers, name_of
from dryingsim.errors import InputError
from dryingsim.explore.counted import counted
from dryingsim.explore.document_change import no_longer_measured
from dryingsim.explore.vary import axis_of, load_grid, read_request
from dryingsim.judge.grades import Lethality
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.kitchen.loads import loads_of
from dryingsim.lazy_import import from_above
from dryingsim.simulate import run

if TYPE_CHECKING:
    import pandas
    import xarray
    from matplotlib.axes import Axes

OF_SLICE = ("thickness_m", "diffusivity_factor", "film_factor", "moisture_db")
OF_AIR = ("air_K", "room_humidity", "speed_m_s")
FACTORS = {"diffusivity": "diffusivity_factor", "film": "film_factor"}  # typed without a place in the file
MOST_POINTS = 10_000
_FOLLOWED_S = 24 * 3600.0
# of all slices of a point the one that decides; of what is not named here the largest
_SMALLEST = ("brittle_s", "peak_K", "lower", "best")


@dataclass(frozen=True)
class Map:
    """What comes of a batch at every point of a grid.

    Attributes
    ----------
    batch : Batch
        At the first point.
    axes : dict of ndarray
        Values of the one or two parameters, as numbers in `units`.
    units : dict of str
        What the numbers of each axis are in, as typed; in SI where it is not there.
    numbers : dict of ndarray
        Each of the shape of the grid. `done_s` : when the wettest slice is down to the target [s], `brittle_s` : when
        the first is brittle [s], infinite beyond the stage that dries; `end_s` : when the schedule ends, or, where no
        condition ends it and slices are taken off, when the wettest is ready as computed [s]: until then heat counts, less long
        than in `run`, which counts it until they are surely dry; `moisture_db` : of the wettest slice at the end of the last
        stage [kg/kg]; `peak_K` : the highest temperature of the coldest
        place, of the slice where that is lowest; `lower`, `best` : log10 reduction of the organism at the least-reduced
        place of all slices, if asked for; `water_closure`, `energy_closure` : relative miss of the balances.
    organism : str or None
        Whose log reduction it is.
    remarks : tuple of str
        Why points could not be run; their numbers are nan.
    judged : Lethality or None
        Of the batch as it stands in the file, for its warnings.
    workers : str or None
        What it was worked out on, if not on this machine alone.
    unmeasured : int
        At how many points the air is not that in which the file says a humidity was measured: there it is not measured.
    """

    batch: Batch
    axes: dict[str, np.ndarray]
    units: dict[str, str]
    numbers: dict[str, np.ndarray]
    organism: str | None
    remarks: tuple[str, ...]
    judged: Lethality | None = None
    workers: str | None = None
    unmeasured: int = 0

    @property
    def title(self) -> str:
        """What the numbers are of."""
        return f"{self.batch.name}: over {' and '.join(self.axes)}"

    @property
    def target_log10(self) -> float | None:
        """Reduction required of the organism."""
        species = self.batch.meat.judged_as
        return None if self.organism is None else organisms.target(self.organism, species).log10

    @property
    def reported(self) -> dict[str, np.ndarray]:
        """The numbers as they are told, see `explore.counted`."""
        return counted(self.numbers)

    def to_xarray(self) -> "xarray.Dataset":
        """Return the numbers with the axes named; needs xarray. See `dryingsim.explore.labelled`."""
        arrays: xarray.Dataset = from_above("Map.to_xarray")(self)
        return arrays

    def to_pandas(self) -> "pandas.DataFrame":
        """Return one row per point; needs pandas. See `dryingsim.explore.labelled`."""
        table: pandas.DataFrame = from_above("Map.to_pandas")(self)
        return table

    def plot(self, axes: "Axes | None" = None) -> "Axes":
        """Draw when the batch is done: a line over one parameter, contours over two.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            To draw on; a new figure if left out.
        """
        drawn: Axes = from_above("Map.plot")(self, axes)
        return drawn

    def axis_label(self, key: str) -> str:
        """Name of an axis with its unit."""
        unit = self.units.get(key, "").replace("deg", "°")
        return f"{key} ({unit})" if unit else key


def map_over(
    batch: Batch,
    axes: Mapping[str, np.ndarray],
    *,
    duration_s: float = _FOLLOWED_S,
    organism: str | None = "salmonella",
    nodes: int = NODES_OF_MANY,
    tolerance: float = TOLERANCE,
    components: Components | None = None,
    executor: Workers = None,
) -> Map:
    """Run a batch at every point of a grid over one or two parameters.

    Parameters
    ----------
    batch : Batch
    axes : mapping of ndarray
        One or two of `OF_SLICE` and `OF_AIR`, each with its values in SI. "thickness_m" is that of all slices; "air_K"
        and "speed_m_s" are those of the first stage, the others are moved by the same difference.
    duration_s : float
        How long a stage without a duration lasts at most [s], 60 to 31622400.
    organism : str or None
        Whose log reduction is wanted.
    nodes, tolerance
        See `dryingsim.run`.
    components : Components, optional
        Laws to simulate with, in place of those of the batch.
    executor
        See `dryingsim.engine.executors.each`. The result does not depend on it.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> found = map_over(demo_batch(), {"thickness_m": np.array([3e-3, 6e-3])}, organism=None)
    >>> bool(found.numbers["done_s"][1] > 2.0 * found.numbers["done_s"][0])
    True
    """
    check_range(
        "map_over, duration_s",
        duration_s,
        duration_s,
        SHORTEST_S,
        LONGEST_S,
        "60 to 31622400; seconds are expected",
    )
    batch = with_components(batch, components)
    known = {key: np.asarray(values, dtype=float) for key, values in axes.items()}
    _check_count(len(known))
    for key in known:
        check_choice("map", key, OF_SLICE + OF_AIR)
    shape = tuple(values.size for values in known.values())
    grid = _grid(known)
    points = BatchGroup(
        [
            _changed(batch, dict(zip(known, row, strict=True)))
            for row in zip(*map(np.ndarray.tolist, grid.values()), strict=True)
        ],
        grid.get("diffusivity_factor", np.ones(math.prod(shape))),
        grid.get("film_factor", np.ones(math.prod(shape))),
        grid.get("moisture_db"),
    )
    with laws_named(batch.components):
        numbers, remarks = _mapped(points, organism, duration_s, nodes, tolerance, executor)
    return Map(
        batch,
        known,
        {},
        _shaped(numbers, shape),
        organism,
        remarks,
        workers=name_of(executor),
        unmeasured=_in_other_air(batch, points.batches),
    )


def map_file(
    file: str | Path,
    requests: Sequence[str],
    *,
    nodes: int = NODES_OF_MANY,
    executor: Workers = None,
) -> Map:
    """Run the batch of a file at every point of a grid over one or two of its parameters.

    Parameters
    ----------
    file : str or Path
        The batch file; it is not changed.
    requests : sequence of str
        One or two, each as `vary.read_request` reads it: "meat.thickness = 3 mm to 8 mm in 6". Besides places in the
        file, "diffusivity" and "film" multiply what the model takes: "diffusivity = 0.5 to 2 in 7".
    nodes : int
        Across each slice; log reductions are meant for 12 or more.
    executor
        See `dryingsim.engine.executors.each`. The result does not depend on it.

    Returns
    -------
    Map
        The log reduction is that of the organism that decides in the batch as it stands in the file.
    """
    asked, axes, units = read_axes(requests)
    meant = load_batch(file)
    of_file = [(key, values) for key, values in asked if key not in FACTORS]
    batches = np.empty(math.prod(len(values) for _, values in of_file), dtype=object)
    batches[:] = load_grid(file, of_file)
    # where a factor is an axis, all along it stand the same batches
    by_key = batches.reshape([len(values) if key not in FACTORS else 1 for key, values in asked])
    shape = tuple(len(values) for _, values in asked)
    at_points: list[Batch] = np.broadcast_to(by_key, shape).reshape(-1).tolist()
    grid, as_meant = _grid(axes), np.ones(len(at_points))
    points = BatchGroup(at_points, grid.get("diffusivity", as_meant), grid.get("film", as_meant))
    judged = judge_batch_lethality(run(loads_of(meant).one))
    organism = judged.worst.organism
    numbers, remarks = _mapped(points, organism, _FOLLOWED_S, nodes, TOLERANCE, executor)
    shaped = _shaped(numbers, shape)
    other_air = _in_other_air(meant, at_points)
    return Map(meant, axes, units, shaped, organism, remarks, judged, name_of(executor), other_air)


def _in_other_air(meant: Batch, at_points: Sequence[Batch]) -> int:
    """Return how many batches are in other air than that in which a humidity was measured by the batch as it is meant."""
    return sum(1 for point in at_points if no_longer_measured(meant, point))


def read_axes(
    requests: Sequence[str],
) -> tuple[list[tuple[str, tuple[str, ...]]], dict[str, np.ndarray], dict[str, str]]:
    """Read the parameters of a map: as typed, as numbers, and their units."""
    _check_count(len(requests))
    asked = [read_request("--over", text) for text in requests]
    axes: dict[str, np.ndarray] = {}
    units: dict[str, str] = {}
    for key, values in asked:
        numbers, unit = axis_of(values)
        if key in axes:
            raise InputError(f"--over {key} stands there twice: two different parameters are expected")
        if numbers is None:
            raise InputError(
                f"--over {key}: numbers of one unit are expected; words are varied with 'compare --vary'"
            )
        if "." not in key and key not in FACTORS:
            raise InputError(
                f'--over {key}: a place in the batch file is expected, such as "meat.thickness", or one of '
                f"{', '.join(FACTORS)}"
            )
        if key in FACTORS and (unit or np.any(numbers <= 0.0)):
            raise InputError(f"--over {key}: plain numbers above zero are expected; they multiply")
        axes[key], units[key] = numbers, unit
    if math.prod(values.size for values in axes.values()) > MOST_POINTS:
        raise InputError(f"--over: {MOST_POINTS} points at most are expected")
    return asked, axes, units


def _check_count(count: int) -> None:
    if not 1 <= count <= 2:
        raise InputError(f"{count} parameters to map over: one or two are expected")


def _grid(axes: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Value of each parameter at each point; the last changes fastest."""
    grids = np.meshgrid(*axes.values(), indexing="ij")
    return {key: grid.reshape(-1) for key, grid in zip(axes, grids, strict=True)}


def _shaped(numbers: Numbers, shape: tuple[int, ...]) -> dict[str, np.ndarray]:
    return {name: values.reshape(shape) for name, values in numbers.items()}


def _changed(batch: Batch, values: Mapping[str, float]) -> Batch:
    """Return the batch at a point; what is in no batch is left out."""
    first = batch.stages[batch.first_drying].air
    by_K = values.get("air_K", first.temperature_K) - first.temperature_K
    faster = values.get("speed_m_s", first.speed_m_s) - first.speed_m_s

    def moved(air: Air) -> Air:
        if by_K == faster == 0.0:
            return air
        speed = max(air.speed_m_s + faster, 0.0)
        humidity = replace(air.humidity, measured=False)  # in other air
        return replace(air, temperature_K=air.temperature_K + by_K, speed_m_s=speed, humidity=humidity)

    stages = tuple(
        replace(stage, air=moved(stage.air), air_end=moved(stage.air_end) if stage.air_end else None)
        if stage.dries
        else stage
        for stage in batch.stages
    )
    meat = batch.meat
    if "thickness_m" in values:
        meat = replace(meat, classes=of_one_thickness(meat.classes, values["thickness_m"]))
    humidity = values.get("room_humidity", batch.room.relative_humidity)
    return replace(batch, meat=meat, room=replace(batch.room, relative_humidity=humidity), stages=stages)


# --- running ---------------------------------------------------------------------------------------------------------
def _mapped(
    points: BatchGroup,
    organism: str | None,
    longest_s: float,
    nodes: int,
    tolerance: float,
    executor: Workers,
) -> tuple[Numbers, tuple[str, ...]]:
    """Run all points, group by group; nan where a point cannot be run, and why."""
    if any(batch.rotate_every_s is not None for batch in points.batches):
        raise InputError(
            f"{points.batches[0].name}: [trays], rotate_every: a map cannot follow trays that change places; leave it out"
        )
    loads = [loads_of(batch) for batch in points.batches]
    several = max(each.count for each in loads)
    points = replace(points, batches=[each.one for each in loads])
    groups, problems = groups_of(points.batches)
    if several > 1:
        problems.append(
            f"the trays do not hold the batch everywhere: up to {several} loads; all that is told is of one load"
        )
    if not groups:
        raise InputError(problems[0])
    of_points: Numbers = {}
    for which in groups:
        group = points.take(which)
        levels = (group.batches[0].targets.water_activity, growth_limits.texture().brittle)
        numbers, ends = run_group(
            group,
            organism=organism,
            levels=levels,
            nodes=nodes,
            tolerance=tolerance,
            longest_s=longest_s,
            executor=executor,
        )
        for name, values in _deciding(numbers, ends).items():
            of_points.setdefault(name, np.full(len(points.batches), np.nan))[which] = values
    return of_points, tuple(problems)


def _deciding(numbers: Numbers, ends: np.ndarray) -> Numbers:
    """Numbers of points from those of their slices."""
    numbers = dict(numbers)
    numbers["done_s"], numbers["brittle_s"] = numbers["done_s"]
    by_point = {name: values.reshape(ends.size, -1) for name, values in numbers.items()}
    return {"end_s": ends} | {
        name: values.min(axis=1) if name in _SMALLEST else values.max(axis=1)
        for name, values in by_point.items()
    }
