r"""From when to when slices may be dry: nine chances in ten, out of one run.

How fast meat dries differs between kitchens, batches and slices, and the water activity is known to an error of its own. No
second run is needed: a drying slice is two resistances in series, the meat's and the air's. At the mean moisture it has,
let :math:`e` be how much its rate grows with the diffusivity (of the logarithms); the rest, :math:`1 - e`, it grows with the
heat-transfer coefficient. From Fick's law between mean and surface, the film, the balance of heat and the Arrhenius law

.. math:: e = N / (G + L + N (1 + \epsilon\Delta T)),\quad N = (\bar X - X_s)\,dp_s/dX,\quad L = \Delta T\,dp_s/dT

with :math:`G` the vapour pressure at the surface over that of the air, :math:`\Delta T` the air's temperature over the surface's
and :math:`\epsilon = E/RT^2`. With a meat k times and an air q times as fast, a state reached at t is reached at
:math:`\int_0^t (e/k + (1 - e)/q)\,dt`.

Times for half and for twice the diffusivity come out within 12 % of those of a run of its own (tests), a small part of a
window that is a factor two wide. Left out are that an appliance's air gets drier where meat dries slowly, and the half moisture
of the diffusivity, which `explore.spread` draws: a third of it to four times as much, the diffusivity along with it, move the
time to 0.85 by less than 10 %. Beyond the stage in
which the target is reached (or the run), slices go on as they dried last, in the same air.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.drying_evidence import between_studies, student
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of, uncertainties_of
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.constants import GAS_CONSTANT
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.model.build import recipe_of
from dryingsim.model.slab import LEAST_MOISTURE
from dryingsim.properties import moist_air, water
from dryingsim.properties.diffusivity import activation_energy, falling
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, Recipe, equilibrium_moisture
from dryingsim.properties.water_activity import water_activity as activity_of

_DRIED: Annotated[
    float,
    Evidence(
        "-", "estimate", "the errors of the water activity were found on meat about this dry, and drier"
    ),
] = 0.85
CERTAIN: Annotated[
    tuple[float, float], Evidence("-", "assumed", "ends of the window: nine chances in ten lie between")
] = (0.05, 0.95)
_DRAWS: Annotated[
    int,
    Evidence("-", "numerical", "even points in all that is uncertain; four times as many move no end by 1 %"),
] = 1024
_BEYOND: Annotated[
    float, Evidence("-", "numerical", "slices are followed for so much longer than they took")
] = 1.5
_BEYOND_S: Annotated[
    float,
    Evidence("s", "numerical", "or for so long, once they are dry as computed: to where they surely are"),
] = 4.0 * 3600.0
_STEPS: Annotated[int, Evidence("-", "numerical", "in so many steps")] = 120
_LAST: Annotated[
    float, Evidence("-", "numerical", "share of a stage, at its end, that says how fast slices dry on")
] = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Times [s] since the start at which a target is reached.

    Attributes
    ----------
    earliest_s, latest_s : float or None
        Nine chances in ten lie between. Beyond the run, if slices are left in as they are; None where that takes more than
        two and a half times as long, or where `expected_s` is None.
    expected_s : float or None
        As computed; None where the run ends before.
    """

    earliest_s: float | None
    expected_s: float | None
    latest_s: float | None


def at_time(time_s: float, times_s: np.ndarray, series: np.ndarray) -> np.ndarray:
    """Return what slabs have at one time, on straight lines between, shape (m,).

    Parameters
    ----------
    time_s : float
        [s].
    times_s : ndarray, shape (t,)
        [s].
    series : ndarray, shape (t, m)
        Of each slab.
    """
    return np.array([np.interp(time_s, times_s, slab) for slab in series.T])


def first_time_down_to(time_s: np.ndarray, value: np.ndarray, level: float) -> float | None:
    """Time when a recorded value first is at or below a level.

    Parameters
    ----------
    time_s, value : ndarray, shape (t,)
        Increasing times [s] and the values recorded then; straight lines between them.
    level : float
        In the unit of the value.

    Returns
    -------
    float or None
        Time [s]; None if the value stays above.

    Examples
    --------
    >>> first_time_down_to(np.array([0.0, 60.0]), np.array([1.0, 0.5]), 0.75)
    30.0
    """
    below = np.flatnonzero(value <= level)
    if not below.size:
        return None
    i = int(below[0])
    if i == 0:
        return float(time_s[0])
    share = (value[i - 1] - level) / (value[i - 1] - value[i])
    return float(time_s[i - 1] + share * (time_s[i] - time_s[i - 1]))


@dataclass(frozen=True, kw_only=True)
class Course:
    """How slices dry, followed beyond the end; t times, m slabs.

    Attributes
    ----------
    time_s : ndarray, shape (t,)
    moisture_db, water_activity : ndarray, shape (t, m)
        Mean moisture [kg/kg] and water activity once it has evened out; never rising.
    inner_s, outer_s : ndarray, shape (t, m)
        Time taken so far by the meat's and by the air's resistance [s]; together `time_s`.
    """

    time_s: np.ndarray
    moisture_db: np.ndarray
    water_activity: np.ndarray
    inner_s: np.ndarray
    outer_s: np.ndarray

    def reached_s(self, slab: int, level: np.ndarray) -> np.ndarray:
        """Return when a slab is down to water activities [s]; not a number where it is not followed so far."""
        falling = -self.water_activity[:, slab]
        return np.interp(-level, falling, self.time_s, right=np.nan)


def course_of(history: History, target: float, *, as_planned: bool = False) -> Course:
    """Follow the slices of a run, and beyond the stage in which the wettest of them are dry.

    Parameters
    ----------
    history : History
    target : float
        Water activity that counts as dry [-].
    as_planned : bool
        Through what comes after that stage too, such as a hot finish, and only then on in its air: what is to be weighed when.
        Else as if it went on: slices that dry more slowly than computed stay in it for longer.
    """
    cut = _cut(history, target)
    end = history.time_s.size if as_planned else cut
    time, moisture = history.time_s[:end], history.mean_moisture_db[:end]
    share = _inner_share(history, end)
    done = bool(history.equalised_water_activity[cut - 1].max() <= target)
    later, drier = _dried_on(history, cut, end, done)
    time, moisture = np.concatenate([time, later]), np.concatenate([moisture, drier])
    activity = history.evened_out(moisture)
    share = np.concatenate([share, np.broadcast_to(share[-1], drier.shape)])
    inner = np.zeros_like(moisture)
    inner[1:] = np.cumsum(0.5 * (share[1:] + share[:-1]) * np.diff(time)[:, None], axis=0)
    return Course(
        time_s=time,
        moisture_db=moisture,
        water_activity=np.minimum.accumulate(activity, axis=0),
        inner_s=inner,
        outer_s=time[:, None] - inner,
    )


def dry_in(history: History, target: float) -> int | None:
    """Return the index of the stage in which all slices are dry; None where they never are.

    Parameters
    ----------
    history : History
    target : float
        Water activity that counts as dry, of slices evened out [-].
    """
    done = first_time_down_to(history.time_s, history.equalised_water_activity.max(axis=1), target)
    if done is None:
        return None
    return int(history.stage[min(int(np.searchsorted(history.time_s, done)), history.stage.size - 1)])


def _cut(history: History, target: float) -> int:
    """Records up to where slices go on as they are: the end of the stage in which all are dry, if a condition ends it."""
    stage = dry_in(history, target)
    if stage is None or history.batch.stages[stage].until is None:
        return history.time_s.size
    return max(int(np.searchsorted(history.stage, stage, side="right")), 2)


def _inner_share(history: History, cut: int) -> np.ndarray:
    """How much the rate grows with the diffusivity, of the logarithms; shape (t, m). See the head of this module."""
    slabs, last = history.slabs, history.slabs.nodes.size - 1
    mean = history.mean_moisture_db[:cut, None]
    moisture, t = history.moisture_db[:cut, ::last], history.temperature_K[:cut, ::last]
    pressure = np.exp(slabs.sorption.log_activity(moisture, t, slabs.recipe)) * water.saturation_pressure(t)
    by_moisture, _ = slabs.sorption.slopes(moisture, t, slabs.recipe)
    warmer = np.maximum(history.air_temperature_K[:cut, None] - t, 0.0)
    meat = pressure * by_moisture * np.maximum(mean - moisture, 0.0)
    film = np.maximum(pressure - history.air_vapour_pressure_Pa[:cut, None], 0.0)
    heat = warmer * pressure * water.log_saturation_pressure_slope(t)
    arrhenius = activation_energy(slabs.diffusivity, t, np.maximum(moisture, LEAST_MOISTURE)) / (
        GAS_CONSTANT * t * t
    )
    share = meat / np.maximum(film + heat + meat * (1.0 + arrhenius * warmer), 1e-9)
    open_faces = slabs.vapour_open / np.maximum(slabs.vapour_open.sum(axis=0), 1e-9)
    shares: np.ndarray = (open_faces * share).sum(axis=1)
    return shares


def _dried_on(history: History, cut: int, end: int, done: bool) -> tuple[np.ndarray, np.ndarray]:
    """Times and mean moistures beyond the first `end` records, in the air of record `cut`: slower as the meat's own law says."""
    time, moisture = history.time_s[:cut], history.mean_moisture_db[:cut]
    law, t = history.slabs.diffusivity, history.surface_temperature_K[cut - 1].max(axis=0)
    begun = time[np.searchsorted(history.stage[:cut], history.stage[cut - 1])]
    back = min(int(np.searchsorted(time, time[-1] - _LAST * (time[-1] - begun))), cut - 2)
    now, begin_s, x = moisture[-1], history.time_s[end - 1], history.mean_moisture_db[end - 1]
    rate = np.maximum((moisture[back] - now) / max(time[-1] - time[back], 1.0), 0.0)
    dry = np.minimum(_in_balance(history, cut), 0.98 * x)

    def slowness(x: np.ndarray) -> np.ndarray:
        return falling(law, t, x) * (x - dry)

    step = max(_BEYOND * begin_s, _BEYOND_S if done else 1.0) / _STEPS
    drier = np.empty((_STEPS, now.size))
    pace = rate / np.maximum(slowness(now), 1e-12)
    for i in range(_STEPS):
        x = dry + (x - dry) * np.exp(-step * pace * falling(law, t, x))
        drier[i] = x
    return begin_s + step * np.arange(1, _STEPS + 1), drier


def _in_balance(history: History, cut: int) -> np.ndarray:
    """Moisture in balance with the air of the last record [kg/kg], shape (m,), read off the curve of each slab."""
    slabs = history.slabs
    air = moist_air.relative_humidity(
        history.air_vapour_pressure_Pa[cut - 1], history.air_temperature_K[cut - 1]
    )
    moisture = np.geomspace(1e-3, 3.0, 60)[:, None] * np.ones(slabs.recipe.size)
    t = np.broadcast_to(history.air_temperature_K[cut - 1], moisture.shape)
    curve = np.exp(slabs.sorption.log_activity(moisture, t, slabs.recipe))
    return np.array([np.interp(air[k], curve[:, k], moisture[:, k]) for k in range(slabs.recipe.size)])


# --- what is uncertain ------------------------------------------------------------------------------------------------
@cache
def normal_points(dimensions: int) -> np.ndarray:
    """Return even points with a standard normal distribution in each of some dimensions, shape (dimensions, draws).

    Parameters
    ----------
    dimensions : int
    """
    golden = 2.0
    for _ in range(64):  # root of x^(d+1) = x + 1, whose powers fill space evenly (Roberts' sequence)
        golden = (1.0 + golden) ** (1.0 / (dimensions + 1.0))
    powers = golden ** -np.arange(1.0, dimensions + 1.0)
    u = (0.5 + powers[:, None] * np.arange(1, _DRAWS + 1)) % 1.0
    inverse = NormalDist().inv_cdf  # of the standard library: scipy's takes long to import
    return np.array([[inverse(v) for v in row] for row in np.clip(u, 1e-9, 1.0 - 1e-9).tolist()])


@dataclass(frozen=True)
class _Drawn:
    """Factors on the rate by the meat and by the air, and errors of the water activity; each (draws,)."""

    meat: np.ndarray
    air: np.ndarray
    activity: np.ndarray


def of_kitchens(uncertainty: Uncertainty, points: np.ndarray) -> np.ndarray:
    """Return logarithms of how fast meat lets water pass from kitchen to kitchen, at points of a standard normal number.

    Parameters
    ----------
    uncertainty : Uncertainty
        Of the diffusivity.
    points : ndarray
        [-].
    """
    if uncertainty.shape == "student":
        return uncertainty.size * student(points, between_studies().degrees_of_freedom)
    return uncertainty.deviation * points


def _drawn(history: History) -> _Drawn:
    """Draw what is uncertain: as the batch states it, by what was learned, by default."""
    batch, surface_K = history.batch, float(np.median(history.surface_temperature_K))
    energy = activation_energy(history.slabs.diffusivity, surface_K, 1.0)
    uncertainties = uncertainties_of(batch)
    sizes = {key: uncertainty.deviation for key, uncertainty in uncertainties.items()}
    kitchen, own, thickness, film, warmth, activity = normal_points(6)
    thick = thickness * np.hypot(sizes["thickness_between"], sizes["thickness_within"])
    of_batch = np.hypot(sizes["diffusivity_batches"], sizes["diffusivity_slices"])
    film_size = np.hypot(sizes["film"], sizes["film_places"])
    # warmer air speeds up the air's part about as much as the meat's
    kelvin = energy / (GAS_CONSTANT * surface_K**2)
    warm = warmth * sizes["setpoint"] * kelvin
    meat = of_kitchens(uncertainties["diffusivity"], kitchen) + of_batch * own - 2.0 * thick + warm
    marinade = marinade_error(batch, np.array(batch.targets.water_activity), sizes["marinade"])
    error = math.hypot(activity_error_of(batch).deviation, float(marinade))
    return _Drawn(np.exp(meat), np.exp(film_size * film - thick + warm), error * activity)


def computed_level(target: float, error: np.ndarray) -> np.ndarray:
    """Return what has to be computed for the true water activity to be at a target.

    Raw meat's is known to some thousandths: from 0.85 upward errors shrink in proportion to the distance from 1.

    Parameters
    ----------
    target : float
        Water activity [-].
    error : ndarray
        Of the curve where meat is dry, computed minus true [-].

    Examples
    --------
    >>> computed_level(0.85, np.array([-0.04, 0.0, 0.04])).round(3).tolist()
    [0.81, 0.85, 0.882]
    """
    steep = np.maximum(error / (1.0 - _DRIED), -0.9)
    level: np.ndarray = np.where(target + error <= _DRIED, target + error, (target + steep) / (1.0 + steep))
    return level


def marinade_error(batch: Batch, water_activity: np.ndarray, size: float) -> np.ndarray:
    """How far a water activity is off when the salt and sugar taken up are off by a share [-].

    Parameters
    ----------
    batch : Batch
    water_activity : ndarray
        As computed [-].
    size : float
        Share of the salt and the sugar.
    """
    if batch.components.sorption is not None:  # salt and sugar are nothing to it
        return np.zeros_like(water_activity)
    recipe = recipe_of(batch)[0]
    moisture = equilibrium_moisture(water_activity, REFERENCE_TEMPERATURE, recipe)
    more = Recipe(recipe.protein, recipe.salt * (1.0 + size), recipe.sugar * (1.0 + size))
    off: np.ndarray = np.abs(activity_of(moisture, REFERENCE_TEMPERATURE, more) - water_activity)
    return off


def windows(
    history: History, groups: Sequence[np.ndarray], target: float, course: Course | None = None
) -> list[Window]:
    """Return from when to when the wettest slices of each group may be down to a water activity.

    Parameters
    ----------
    history : History
    groups : sequence of ndarray of bool, shape (m,)
        Slabs of each.
    target : float
        Water activity [-].
    course : Course, optional
        Of the history to that target, where it is known already.
    """
    drawn, course = _drawn(history), course or course_of(history, target)
    return [_window(history, course, drawn, np.flatnonzero(group), target) for group in groups]


def _window(history: History, course: Course, drawn: _Drawn, slabs: np.ndarray, target: float) -> Window:
    activity = history.equalised_water_activity[:, slabs]
    expected = first_time_down_to(history.time_s, activity.max(axis=1), target)
    at = -1 if expected is None else max(int(np.searchsorted(history.time_s, expected)) - 1, 0)
    wettest = int(slabs[activity[at].argmax()])
    reached = course.reached_s(wettest, computed_level(target, drawn.activity))
    inner, outer = (
        np.interp(reached, course.time_s, part[:, wettest]) for part in (course.inner_s, course.outer_s)
    )
    times = np.where(np.isnan(reached), np.inf, inner / drawn.meat + outer / drawn.air)
    early, late = (float(time) for time in np.quantile(times, CERTAIN, method="inverted_cdf"))
    if expected is None:
        in_run = early <= float(history.time_s[-1])
        return Window(earliest_s=early if in_run else None, expected_s=None, latest_s=None)
    return Window(
        earliest_s=min(early, expected),
        expected_s=expected,
        latest_s=max(late, expected) if np.isfinite(late) else None,
    )
