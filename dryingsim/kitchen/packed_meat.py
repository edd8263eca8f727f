r"""Dried meat in a closed package: the water activity that everything inside shares, and how it moves over time.

Meat, silica gel and the air in the package stand at one water activity a (what the wall lets through is far slower
than what evens out inside). The package then holds the water :math:`W(a)`, which its wall changes by

.. math:: \frac{dW}{dt} = G\,p_{sat}\,(a_{out} - a), \qquad a = a_{out} + (a_0 - a_{out})\,e^{-s}
   \;\Rightarrow\; dt = \frac{W'(a)}{G\,p_{sat}}\,ds

so that time is a plain integral over s, exact for any sorption curve (`activity_history`).
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.packages import DAY_S, Package
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.model.build import recipe_of
from dryingsim.model.laying import lying, slab_thickness
from dryingsim.properties import packaging
from dryingsim.properties.air_transport import vapour_diffusivity
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import (
    UNCERTAINTY,
    Recipe,
    equilibrium_moisture,
    water_activity,
)
from dryingsim.typing import Array

HORIZON_DAYS: Annotated[float, Evidence("days", "numerical", "nothing is said of later")] = 730.0
_LEFT: Annotated[
    float, Evidence("-", "estimate", "share of a difference that may be left when it counts as evened out")
] = 0.05
_DRY_PER_VOLUME: Annotated[
    float,
    Evidence("kg/m3", "derived", "dry solid of raw lean meat: 1070 kg/m3 with 26.6 % solids (eye of round)"),
] = 285.0
_GAP_M: Annotated[float, Evidence("m", "estimate", "air between slices in a package", (1e-3, 2e-2))] = 5e-3
_POINTS: Annotated[
    int, Evidence("-", "numerical", "steps in the logarithm of what is left of the difference")
] = 500
_REACH: Annotated[
    float, Evidence("-", "numerical", "how far they go: exp(-14) of the difference is left")
] = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """The dried meat that goes into the package.

    Attributes
    ----------
    dry_mass_kg : float
        Dry solid.
    moisture_db : float
        Mean [kg/kg].
    recipe : Recipe
        What holds its water.
    fat_share : float
        Of the dried weight.
    wettest : float
        Water activity of the wettest and the driest slices, each evened out.
    driest : float
        See `wettest` [-].
    thickness_m : float or None
        Of the thickest raw slices; None if not known.
    one_sided : bool
        Dried on one face only.
    error : float
        Of its water activity, by the kind of product.
    """

    dry_mass_kg: float
    moisture_db: float
    recipe: Recipe
    fat_share: float
    wettest: float
    driest: float
    thickness_m: float | None = None
    one_sided: bool = False
    error: float = UNCERTAINTY

    @property
    def weight_kg(self) -> float:
        """Weight as it is packed."""
        return self.dry_mass_kg * (1.0 + self.moisture_db)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """What the meat is packed in, and where it stands.

    Attributes
    ----------
    package : Package
        Its material.
    area_m2 : float
        Of the wall, both sides.
    gel_kg : float
        Dry silica gel put in [kg].
    gel_water : float
        Kg/kg, in the gel when it goes in.
    room_K : float
        [K].
    room_humidity : float
        Relative [-].
    """

    package: Package
    area_m2: float
    gel_kg: float
    gel_water: float
    room_K: float
    room_humidity: float


@dataclass(frozen=True, slots=True)
class ActivityHistory:
    """Water activity inside over time; `start` is what meat and gel even out at, days is an ndarray with 0 first.

    Attributes
    ----------
    water_activity : ndarray
        At the days [-].
    """

    days: np.ndarray
    water_activity: np.ndarray

    @property
    def start(self) -> float:
        """Water activity once everything inside has evened out [-]."""
        return float(self.water_activity[0])

    def at(self, days: Array) -> Array:
        """Water activity after a number of days [-]."""
        return np.interp(days, self.days, self.water_activity)


def product_of(history: History, moisture_db: Array | None = None) -> Product:
    """Return the meat of a run, as it leaves the trays.

    Parameters
    ----------
    history : History
    moisture_db : ndarray, shape (m,), optional
        Mean moisture of each slab then [kg/kg]; that at the end of the run if left out.
    """
    batch = history.batch
    held = history.mean_moisture_db[-1] if moisture_db is None else moisture_db
    last = history.evened_out(held)
    recipe, solids, _ = recipe_of(batch)
    moisture = float(held @ history.dry_mass_kg / history.dry_mass_kg.sum())
    return Product(
        dry_mass_kg=float(history.dry_mass_kg.sum()),
        moisture_db=moisture,
        recipe=recipe,
        fat_share=batch.meat.composition.fat / solids / (1.0 + moisture),
        wettest=float(last.max()),
        driest=float(last.min()),
        thickness_m=float(slab_thickness(batch).max()),
        one_sided=bool((lying(batch).vapour_below == 0.0).any()),
        error=activity_error_of(batch).half_width,
    )


def water_held(activity: Array, temperature_K: float, product: Product, packing: Packing) -> Array:
    """Water that meat, gel and air hold together at a common water activity [kg].

    Parameters
    ----------
    activity : float or ndarray
        Water activity that all of them share [-].
    temperature_K : float
        Of everything in the package [K].
    product : Product
    packing : Packing

    Examples
    --------
    A fifth of a kilogram of dry lean meat at a water activity of 0.7, and ten grams of silica gel with it:

    >>> from dryingsim.batch.catalog.packages import find_package
    >>> meat = Product(dry_mass_kg=0.2, moisture_db=0.2, recipe=Recipe(protein=0.8), fat_share=0.1,
    ...                wettest=0.7, driest=0.7)
    >>> bag = Packing(package=find_package("package", "zip bag"), area_m2=0.06, gel_kg=0.01, gel_water=0.03,
    ...               room_K=294.15, room_humidity=0.5)
    >>> round(float(water_held(0.7, 294.15, meat, bag)), 4)
    0.036
    """
    meat = product.dry_mass_kg * equilibrium_moisture(activity, temperature_K, product.recipe)
    gel = packing.gel_kg * packaging.gel_uptake(activity, temperature_K)
    return meat + gel + packaging.air_water(packing.package.air_m3, activity, temperature_K)


def activity_history(
    product: Product, packing: Packing, temperature_K: float, humidity: float, conductance: float
) -> ActivityHistory:
    """Return the water activity inside over time.

    Parameters
    ----------
    product : Product
    packing : Packing
    temperature_K, humidity : float
        Of the place [K], [-].
    conductance : float
        Of wall and closure [kg/(s Pa)].

    Examples
    --------
    Meat dried to 0.7 in a zip bag, in a room of 50 %: where it begins, and where it stands after a month.

    >>> from dryingsim.batch.catalog.packages import find_package
    >>> lean = Recipe(protein=0.8)
    >>> meat = Product(dry_mass_kg=0.2, moisture_db=float(equilibrium_moisture(0.7, 294.15, lean)), recipe=lean,
    ...                fat_share=0.1, wettest=0.7, driest=0.7)
    >>> bag = Packing(package=find_package("package", "zip bag"), area_m2=0.06, gel_kg=0.0, gel_water=0.0,
    ...               room_K=294.15, room_humidity=0.5)
    >>> _, middle, _ = bag.package.conductances(bag.area_m2, bag.room_K)
    >>> inside = activity_history(meat, bag, bag.room_K, bag.room_humidity, middle)
    >>> round(inside.start, 2), round(float(inside.at(30.0)), 2)
    (0.7, 0.68)
    """
    return filled(product, packing, temperature_K, humidity).through(conductance)


@dataclass(frozen=True, slots=True)
class Filled:
    """What a package holds at each water activity on its way to that outside, whatever its wall lets through.

    Attributes
    ----------
    water_activity : ndarray
        On the way, the first of them once everything inside has evened out [-].
    passes_Pa_kg : ndarray
        Time that each step takes by a wall of one unit of conductance [kg/Pa].
    """

    water_activity: np.ndarray
    passes_Pa_kg: np.ndarray

    def through(self, conductance: float) -> ActivityHistory:
        """Return the water activity over time, where wall and closure have a conductance [kg/(s Pa)]."""
        if not self.passes_Pa_kg.size or conductance <= 0.0:
            return ActivityHistory(np.array([0.0, HORIZON_DAYS]), self.water_activity[[0, 0]])
        days = np.cumsum(self.passes_Pa_kg / conductance) / DAY_S
        return ActivityHistory(np.concatenate([[0.0], days]), self.water_activity)


def filled(product: Product, packing: Packing, temperature_K: float, humidity: float) -> Filled:
    """Return what a package holds on its way to the water activity of a place.

    Parameters
    ----------
    product : Product
    packing : Packing
    temperature_K, humidity : float
        Of the place [K], [-].
    """
    packed = float(water_activity(product.moisture_db, temperature_K, product.recipe))
    water = (
        product.dry_mass_kg * product.moisture_db
        + packing.gel_kg * packing.gel_water
        + float(packaging.air_water(packing.package.air_m3, humidity, temperature_K))
    )
    start = _common_activity(water, packed, temperature_K, product, packing)
    outside = min(max(humidity, 1e-4), 1.0 - 1e-4)
    if abs(start - outside) < 1e-9:
        return Filled(np.array([start]), np.array([]))
    s = np.linspace(0.0, _REACH, _POINTS + 1)
    activity = outside + (start - outside) * np.exp(-s)
    slope = np.diff(water_held(activity, temperature_K, product, packing)) / np.diff(activity)
    return Filled(activity, slope * np.diff(s) / float(saturation_pressure(temperature_K)))


def _common_activity(
    water: float, packed: float, temperature_K: float, product: Product, packing: Packing
) -> float:
    """Water activity at which everything inside holds this water together; that of the meat if it is alone."""
    if not packing.gel_kg and not packing.package.air_m3:
        return packed
    low, high = 1e-6, 1.0 - 1e-6
    for _ in range(4):  # each time a hundredth of the interval before
        grid = np.linspace(low, high, 101)
        above = int(np.searchsorted(water_held(grid, temperature_K, product, packing), water))
        low, high = grid[max(above - 1, 0)], grid[min(above, 100)]
    return float(0.5 * (low + high))


def days_above(history: ActivityHistory, limit: float) -> float | None:
    """Days until the water activity first stands at or above a limit; None where not within `HORIZON_DAYS`.

    Parameters
    ----------
    history : ActivityHistory
    limit : float
        Water activity [-].

    Examples
    --------
    >>> round(days_above(ActivityHistory(np.array([0.0, 10.0]), np.array([0.6, 0.8])), 0.75), 6)
    7.5
    """
    return first_day(history.days, history.water_activity - limit)


def days_below(history: ActivityHistory, limit: float) -> float | None:
    """Days until the water activity first stands at or below a limit; None where not within `HORIZON_DAYS`.

    Parameters
    ----------
    history : ActivityHistory
    limit : float
        Water activity [-].

    Examples
    --------
    >>> round(days_below(ActivityHistory(np.array([0.0, 10.0]), np.array([0.8, 0.6])), 0.75), 6)
    2.5
    """
    return first_day(history.days, limit - history.water_activity)


def first_day(days: np.ndarray, beyond: np.ndarray) -> float | None:
    """First time something is no longer below nil, on straight lines between the points.

    Parameters
    ----------
    days : ndarray
        Times [day], the first of them 0.
    beyond : ndarray
        How far it is past its limit at these times, in any unit; below nil before.

    Returns
    -------
    float or None
        None where it does not happen within `HORIZON_DAYS`.

    Examples
    --------
    >>> first_day(np.array([0.0, 10.0, 20.0]), np.array([-3.0, -1.0, 1.0]))
    15.0
    """
    reached = np.flatnonzero(beyond >= 0.0)
    if not reached.size:
        return None
    i = int(reached[0])
    if i == 0:
        return 0.0
    share = -beyond[i - 1] / (beyond[i] - beyond[i - 1])
    day = float(days[i - 1] + share * (days[i] - days[i - 1]))
    return day if day <= HORIZON_DAYS else None


def equilibration_times(product: Product, temperature_K: float) -> tuple[float, float] | None:
    """Return the time until a slice has evened out within itself, and slices among each other [s].

    Parameters
    ----------
    product : Product
    temperature_K : float
        Of the place [K].

    Notes
    -----
    By the slowest term of the series of a slab in the dry-mass coordinate. Within: closed faces, the profile even
    about the middle unless one face was closed in drying. Between: both faces open to the common air, and the air
    between slices in series (still, `_GAP_M` wide). None without a thickness.

    Examples
    --------
    Days within and between slices that were 6 mm thick when raw:

    >>> meat = Product(dry_mass_kg=0.2, moisture_db=0.25, recipe=Recipe(protein=0.8), fat_share=0.1,
    ...                wettest=0.75, driest=0.7, thickness_m=6e-3)
    >>> within, between = equilibration_times(meat, 294.15)
    >>> round(within / 86400, 1), round(between / 86400, 1)
    (0.5, 2.2)
    """
    if product.thickness_m is None:
        return None
    diffusivity = float(LEAN_MEAT.value(temperature_K, product.moisture_db))
    scale = product.thickness_m**2 / (np.pi**2 * diffusivity)  # s
    within = scale * (1.0 if product.one_sided else 0.25) * np.log(1.0 / _LEFT)
    activity = float(water_activity(product.moisture_db, temperature_K, product.recipe))
    nearby = np.array([activity - 0.005, activity + 0.005])
    slope = float(np.diff(equilibrium_moisture(nearby, temperature_K, product.recipe))[0]) / 0.01
    vapour = float(vapour_diffusivity(temperature_K, STANDARD_PRESSURE)) * float(
        saturation_pressure(temperature_K)
    )
    through_air = vapour / (
        packaging.VAPOUR_CONSTANT * temperature_K * _GAP_M
    )  # kg/(m2 s) per water activity
    per_area = product.thickness_m * _DRY_PER_VOLUME
    air = per_area * slope / (2.0 * through_air)
    between = scale * np.log(8.0 / np.pi**2 / _LEFT) + air * np.log(1.0 / _LEFT)
    return float(within), float(between)
