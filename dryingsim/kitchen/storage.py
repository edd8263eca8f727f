r"""Dried meat in a closed package: how its water activity moves, who may grow when, how long advice says to keep it.

Meat, silica gel and the air in the package stand at one water activity a (what the wall lets through is far slower
than what evens out inside). The package then holds the water :math:`W(a)`, which its wall changes by

.. math:: \frac{dW}{dt} = G\,p_{sat}\,(a_{out} - a), \qquad a = a_{out} + (a_0 - a_{out})\,e^{-s}
   \;\Rightarrow\; dt = \frac{W'(a)}{G\,p_{sat}}\,ds

so that time is a plain integral over s, exact for any sorption curve (`course`).

Two ways to look at it. *Expected*: the middle of every range. *Cautious*: the water activity is higher than computed
by its uncertainty (lower, where brittleness is asked), the wall is at the worse end of its range, and so is the gel.
The cautious figure decides. Growth limits say where growth begins, not how much is dangerous; that dried meat carries
no living bacteria in the first place is nothing this module knows of.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.catalog.growth_limits import Advice, Organism, Place
from dryingsim.batch.catalog.packages import DAY_S, Package
from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.model.build import recipe_of
from dryingsim.properties import packaging
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.moist_air import vapour_diffusivity
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import UNCERTAINTY, Recipe, equilibrium_moisture, water_activity
from dryingsim.typing import Array

HORIZON_DAYS = 730.0  # nothing is said of later
FRIDGE_K, FRIDGE_HUMIDITY = 4.0 + ZERO_CELSIUS, 0.75  # estimate: 2-8 degC, 30-90 %
FREEZER_K = 255.38  # K, -18 degC or 0 degF; common practice, no source
MOST_GEL_KG = 1.0  # of gel asked for; more is no answer
_LEFT = 0.05  # share of a difference that may be left when it counts as evened out
_DRY_PER_VOLUME = 285.0  # kg dry solid per m3 of raw lean meat: 1070 kg/m3 with 26.6 % solids (eye of round)
_GAP_M = 5e-3  # air between slices in a package; estimate 1-20 mm
_POINTS, _REACH = 500, 14.0  # steps in s, and how far: exp(-14) of the difference is left


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """The dried meat that goes into the package."""

    dry_mass_kg: float  # dry solid
    moisture_db: float  # mean [kg/kg]
    recipe: Recipe
    fat_share: float  # of the dried weight
    wettest: float  # water activity of the wettest and the driest slices, each evened out
    driest: float
    thickness_m: float | None = None  # of the thickest raw slices; None if not known
    one_sided: bool = False  # dried on one face only

    @property
    def weight_kg(self) -> float:
        """Weight as it is packed."""
        return self.dry_mass_kg * (1.0 + self.moisture_db)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """What the meat is packed in, and where it stands."""

    package: Package
    area_m2: float  # of the wall, both sides
    gel_kg: float
    gel_water: float  # kg/kg, in the gel when it goes in
    room_K: float
    room_humidity: float


@dataclass(frozen=True, slots=True)
class ActivityHistory:
    """Water activity inside over time; `start` is what meat and gel even out at, days is an ndarray with 0 first."""

    days: np.ndarray
    water_activity: np.ndarray

    @property
    def start(self) -> float:
        """Water activity once everything inside has evened out [-]."""
        return float(self.water_activity[0])

    def at(self, days: Array) -> Array:
        """Water activity after a number of days [-]."""
        return np.interp(days, self.days, self.water_activity)


@dataclass(frozen=True, slots=True)
class When:
    """Days until something happens; None where not within `HORIZON_DAYS`."""

    expected: float | None
    cautious: float | None


@dataclass(frozen=True, slots=True)
class Growth:
    """When one organism could begin to grow; `too_cold` where it cannot at all."""

    organism: Organism
    when: When
    too_cold: bool

    @property
    def harmful(self) -> bool:
        """Whether it makes ill, and its growth ends the keeping."""
        return self.organism.group == "pathogen"


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """One place to keep the package."""

    place: Place
    temperature_K: float
    humidity: float
    expected: ActivityHistory | None  # None in the freezer, where nothing is computed
    growth: tuple[Growth, ...]
    mould: When  # that can be seen
    brittle: When
    first_days: float | None  # the earliest cautious figure of all, and what it is
    first: str
    advice: Advice
    days: float  # the shorter of the computed figure and the advice
    decided_by: Literal["computed", "advice"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GelNeed:
    """Gel for a number of days in the room."""

    days: float
    gel_kg: (
        float | None
    )  # the least that keeps mould and pathogens off by the cautious figures; None if none does
    brittle_kg: (
        float | None
    )  # from here on the meat itself is dried until it breaks (expected); None: none does


@dataclass(frozen=True, slots=True, kw_only=True)
class Storage:
    """All answers."""

    product: Product
    packing: Packing
    packed: float  # water activity of the meat as packed, evened out, in the room
    within_s: float | None  # until a slice has evened out within itself, to a twentieth
    between_s: float | None  # and the slices among each other
    keepings: tuple[Keeping, ...]  # room, fridge, freezer
    gel: GelNeed | None


def product_of(history: History) -> Product:
    """Return what a run leaves on its trays at its end.

    Parameters
    ----------
    history : History
    """
    batch, last = history.batch, history.equalised_water_activity[-1]
    recipe, solids, _ = recipe_of(batch)
    moisture = float(history.batch_moisture_db[-1])
    return Product(
        dry_mass_kg=float(history.dry_mass_kg.sum()),
        moisture_db=moisture,
        recipe=recipe,
        fat_share=batch.meat.composition.fat / solids / (1.0 + moisture),
        wettest=float(last.max()),
        driest=float(last.min()),
        thickness_m=max(one.thickness_m for one in batch.meat.classes),
        one_sided=batch.support == "sheet",
    )


def water_held(activity: Array, temperature_K: float, product: Product, packing: Packing) -> Array:
    """Water that meat, gel and air hold together at a common water activity [kg]."""
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
    """
    packed = float(water_activity(product.moisture_db, temperature_K, product.recipe))
    water = (
        product.dry_mass_kg * product.moisture_db
        + packing.gel_kg * packing.gel_water
        + float(packaging.air_water(packing.package.air_m3, humidity, temperature_K))
    )
    start = _evened_out(water, packed, temperature_K, product, packing)
    outside = min(max(humidity, 1e-4), 1.0 - 1e-4)
    if abs(start - outside) < 1e-9 or conductance <= 0.0:
        return ActivityHistory(np.array([0.0, HORIZON_DAYS]), np.array([start, start]))
    s = np.linspace(0.0, _REACH, _POINTS + 1)
    activity = outside + (start - outside) * np.exp(-s)
    slope = np.diff(water_held(activity, temperature_K, product, packing)) / np.diff(activity)
    step = slope * np.diff(s) / (conductance * float(saturation_pressure(temperature_K)))
    return ActivityHistory(np.concatenate([[0.0], np.cumsum(step)]) / DAY_S, activity)


def _evened_out(water: float, packed: float, kelvin: float, product: Product, packing: Packing) -> float:
    """Common water activity of everything inside that holds this water."""
    if not packing.gel_kg and not packing.package.air_m3:
        return packed
    low, high = 1e-6, 1.0 - 1e-6
    for _ in range(4):  # each time a hundredth of the interval before
        grid = np.linspace(low, high, 101)
        above = int(np.searchsorted(water_held(grid, kelvin, product, packing), water))
        low, high = grid[max(above - 1, 0)], grid[min(above, 100)]
    return float(0.5 * (low + high))


@dataclass(frozen=True, slots=True)
class _ActivityHistories:
    """The expected course, and those among which the worse one counts."""

    expected: ActivityHistory
    for_growth: tuple[ActivityHistory, ...]
    for_brittleness: tuple[ActivityHistory, ...]


def _histories(
    product: Product, packing: Packing, temperature_K: float, humidity: float
) -> _ActivityHistories:
    low, middle, high = packing.package.conductances(packing.area_m2, temperature_K)

    def one(gel_factor: float, conductance: float) -> ActivityHistory:
        packed = replace(packing, gel_kg=packing.gel_kg * gel_factor)
        return activity_history(product, packed, temperature_K, humidity, conductance)

    less, more = 1.0 - packaging.GEL_SPREAD, 1.0 + packaging.GEL_SPREAD
    return _ActivityHistories(
        one(1.0, middle), (one(less, low), one(less, high)), (one(more, low), one(more, high))
    )


def days_above(one: ActivityHistory, limit: float) -> float | None:
    """Days until the water activity first stands at or above a limit."""
    return _first(one.days, one.water_activity >= limit, one.water_activity - limit)


def days_below(one: ActivityHistory, limit: float) -> float | None:
    """Days until the water activity first stands at or below a limit."""
    return _first(one.days, one.water_activity <= limit, limit - one.water_activity)


def _first(days: np.ndarray, there: np.ndarray, beyond: np.ndarray) -> float | None:
    """First time a condition holds, on straight lines between the points."""
    found = np.flatnonzero(there)
    if not found.size:
        return None
    i = int(found[0])
    if i == 0:
        return 0.0
    share = -beyond[i - 1] / (beyond[i] - beyond[i - 1])
    return _within_horizon(float(days[i - 1] + share * (days[i] - days[i - 1])))


def _within_horizon(days: float | None) -> float | None:
    return days if days is not None and days <= HORIZON_DAYS else None


def mould_rate(activity: Array, temperature_K: Array, soonest: bool) -> Array:
    """Progress towards visible mould per day [1/day].

    Parameters
    ----------
    activity, temperature_K : float or ndarray
        [-], [K].
    soonest : bool
        By the earliest published days, not by the geometric mean of the earliest and the latest.
    """
    known = growth_limits.visible_mould()
    early, late = np.log(known.soonest_days), np.log(known.latest_days)
    level = early if soonest else 0.5 * (early + late)
    grid = np.array(known.water_activity)
    per_activity = (level[1] - level[0]) / (grid[1] - grid[0])
    drier = level[0] + per_activity * (np.asarray(activity, dtype=float) - grid[0])
    log_days = np.where(activity < grid[0], drier, np.interp(activity, grid, level))
    rate = np.where(np.asarray(activity) < known.dry_end, 0.0, np.exp(-log_days))
    return rate * warmth(temperature_K) / warmth(known.at_K)


def warmth(temperature_K: Array) -> Array:
    """Growth rate of mould relative to its best, by the cardinal temperatures (Rosso et al.); held above the best.

    Parameters
    ----------
    temperature_K : float or ndarray
        [K].
    """
    known = growth_limits.visible_mould()
    low, best, high = known.lowest_K, known.best_K, known.highest_K
    t = np.clip(temperature_K, low, best)
    above = (t - high) * (t - low) ** 2
    # Rosso et al. (1993), from memory, checked by its three cardinal points
    below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2.0 * t))
    return above / below


def days_to_mould(one: ActivityHistory, temperature_K: float, margin: float, soonest: bool) -> float | None:
    """Days until mould can be seen: the progress per day added up along a course."""
    days = np.union1d(np.linspace(0.0, HORIZON_DAYS, 1461), one.days[one.days <= HORIZON_DAYS])
    rate = mould_rate(np.minimum(one.at(days) + margin, 1.0), temperature_K, soonest)
    done = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(days))])
    return _first(days, done >= 1.0, done - 1.0)


def earliest(*times: float | None) -> float | None:
    """Return the earliest of some times, those that never come aside."""
    return min((time for time in times if time is not None), default=None)


def _growth(organism: Organism, histories: _ActivityHistories, temperature_K: float) -> Growth:
    if temperature_K < organism.coldest_K:
        return Growth(organism, When(None, None), True)
    limit = organism.water_activity
    cautious = earliest(*(days_above(one, limit - UNCERTAINTY) for one in histories.for_growth))
    return Growth(organism, When(days_above(histories.expected, limit), cautious), False)


def _keep(product: Product, packing: Packing, place: Place, kelvin: float, humidity: float) -> Keeping:
    histories = _histories(product, packing, kelvin, humidity)
    growth = tuple(_growth(one, histories, kelvin) for one in growth_limits.organisms())
    mould = When(days_to_mould(histories.expected, kelvin, 0.0, False), _cautious_mould(histories, kelvin))
    limit = growth_limits.texture().brittle
    brittle = When(
        days_below(histories.expected, limit),
        earliest(*(days_below(one, limit + UNCERTAINTY) for one in histories.for_brittleness)),
    )
    causes = [(one.when.cautious, f"{one.organism.name} may grow") for one in growth if one.harmful]
    causes.append((mould.cautious, "mould may show"))  # brittle meat is worse to eat, but it keeps
    reached = [(days, cause) for days, cause in causes if days is not None]
    first_days, first = min(reached, default=(None, ""), key=lambda one: one[0])
    advice = growth_limits.advice(place, packing.package.name)
    computed = first_days is not None and first_days < advice.days
    return Keeping(
        place=place,
        temperature_K=kelvin,
        humidity=humidity,
        expected=histories.expected,
        growth=growth,
        mould=mould,
        brittle=brittle,
        first_days=first_days,
        first=first,
        advice=advice,
        days=first_days if first_days is not None and computed else advice.days,
        decided_by="computed" if computed else "advice",
    )


def _cautious_mould(histories: _ActivityHistories, kelvin: float) -> float | None:
    return earliest(*(days_to_mould(one, kelvin, UNCERTAINTY, True) for one in histories.for_growth))


def _freezer(packing: Packing) -> Keeping:
    """Nothing grows in a freezer, and nothing is computed for it: the advice stands alone."""
    advice = growth_limits.advice("freezer", packing.package.name)
    never = When(None, None)
    return Keeping(
        place="freezer",
        temperature_K=FREEZER_K,
        humidity=1.0,
        expected=None,
        growth=(),
        mould=never,
        brittle=never,
        first_days=None,
        first="",
        advice=advice,
        days=advice.days,
        decided_by="advice",
    )


def gel_for(product: Product, packing: Packing, days: float) -> GelNeed:
    """Return the grams of gel that keep pathogens and mould off for a number of days in the room.

    Parameters
    ----------
    product : Product
    packing : Packing
        Its own gel is not counted.
    days : float
    """

    def holds(gel_kg: float) -> bool:
        histories = _histories(
            product, replace(packing, gel_kg=gel_kg), packing.room_K, packing.room_humidity
        )
        growth = (_growth(one, histories, packing.room_K) for one in growth_limits.organisms())
        pathogens = (one.when.cautious for one in growth if one.harmful)
        first = earliest(_cautious_mould(histories, packing.room_K), *pathogens)
        return first is None or first >= days

    def breaks(gel_kg: float) -> bool:
        packed = replace(packing, gel_kg=gel_kg)
        middle = packing.package.conductances(packing.area_m2, packing.room_K)[1]
        start = activity_history(product, packed, packing.room_K, packing.room_humidity, middle).start
        return start <= growth_limits.texture().brittle

    return GelNeed(days=days, gel_kg=_least(holds), brittle_kg=_least(breaks))


def _least(true_from: Callable[[float], bool]) -> float | None:
    """Least gel [kg] from which on something is so, to half a gram."""
    low, high = 0.0, MOST_GEL_KG
    if true_from(low):
        return 0.0
    if not true_from(high):
        return None
    while high - low > 5e-4:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if true_from(middle) else (middle, high)
    return high


def evening_out(product: Product, temperature_K: float) -> tuple[float, float] | None:
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


def keep(product: Product, packing: Packing, days: float | None = None) -> Storage:
    """Answer how dried meat keeps in a package.

    Parameters
    ----------
    product : Product
    packing : Packing
    days : float, optional
        For which the gel is asked.

    Returns
    -------
    Storage
    """
    evened = evening_out(product, packing.room_K)
    return Storage(
        product=product,
        packing=packing,
        packed=float(water_activity(product.moisture_db, packing.room_K, product.recipe)),
        within_s=evened[0] if evened else None,
        between_s=evened[1] if evened else None,
        keepings=(
            _keep(product, packing, "room", packing.room_K, packing.room_humidity),
            _keep(product, packing, "fridge", FRIDGE_K, FRIDGE_HUMIDITY),
            _freezer(packing),
        ),
        gel=gel_for(product, packing, days) if days is not None else None,
    )
