"""How dried meat keeps in a closed package: who may grow when, how long advice says to keep it, how much gel helps.

Two ways to look at it. *Expected*: the middle of every range. *Cautious*: the water activity is higher than computed
by its uncertainty (lower, where brittleness is asked), the wall is at the worse end of its range, and so is the gel.
The cautious figure decides. Growth limits say where growth begins, not how much is dangerous; that dried meat carries
no living bacteria in the first place is nothing this module knows of.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.catalog.growth_limits import Advice, Organism, Place
from dryingsim.evidence import Evidence
from dryingsim.kitchen.loading import FRIDGE_K
from dryingsim.kitchen.mould import days_to_mould
from dryingsim.kitchen.packed_meat import (
    ActivityHistory,
    Filled,
    Packing,
    Product,
    days_above,
    days_below,
    equilibration_times,
    filled,
)
from dryingsim.properties import packaging
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, equilibrium_moisture, water_activity

FRIDGE_HUMIDITY: Annotated[
    float, Evidence("-", "estimate", "relative humidity in a household refrigerator", (0.3, 0.9))
] = 0.75
FREEZER_K: Annotated[float, Evidence("K", "common practice", "-18 degC or 0 degF, no source")] = 255.38
MOST_GEL_KG: Annotated[float, Evidence("kg", "numerical", "of gel asked for; more is no answer")] = 1.0


@dataclass(frozen=True, slots=True)
class When:
    """Days until something happens; None where not within `HORIZON_DAYS`.

    Attributes
    ----------
    expected : float or None
        As computed.
    cautious : float or None
        With what is uncertain on the unfavourable side.
    """

    expected: float | None
    cautious: float | None


@dataclass(frozen=True, slots=True)
class Growth:
    """When one organism could begin to grow; `too_cold` where it cannot at all.

    Attributes
    ----------
    when : When
        It could begin.
    """

    organism: Organism
    when: When
    too_cold: bool

    @property
    def harmful(self) -> bool:
        """Whether it makes ill, and its growth ends the keeping."""
        return self.organism.group == "pathogen"


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """One place to keep the package.

    Attributes
    ----------
    temperature_K : float
        [K].
    humidity : float
        Relative, of the place [-].
    expected : ActivityHistory or None
        None in the freezer, where nothing is computed.
    growth : tuple[Growth, ...]
        Of each organism.
    mould : When
        That can be seen.
    brittle : When
        When the meat breaks.
    first_days : float or None
        The earliest cautious figure of all, and what it is.
    first : str
        See `first_days`.
    advice : Advice
        Published, for such a place.
    days : float
        The shorter of the computed figure and the advice.
    decided_by : str
        Which of the two is shorter: "computed" or "advice".
    """

    place: Place
    temperature_K: float
    humidity: float
    expected: ActivityHistory | None
    growth: tuple[Growth, ...]
    mould: When
    brittle: When
    first_days: float | None
    first: str
    advice: Advice
    days: float
    decided_by: Literal["computed", "advice"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GelNeed:
    """Gel for a number of days in the room.

    Attributes
    ----------
    gel_kg : float or None
        The least that keeps mould and pathogens off, cautious; None if none does.
    brittle_kg : float or None
        From here on the meat itself breaks, expected; None if none does that.
    """

    days: float
    gel_kg: float | None
    brittle_kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Storage:
    """All answers.

    Attributes
    ----------
    product : Product
        As asked about.
    packing : Packing
        As asked about.
    packed : float
        Water activity of the meat as packed, evened out, in the room.
    within_s : float or None
        Until a slice has evened out within itself, to a twentieth.
    between_s : float or None
        And the slices among each other.
    keepings : tuple[Keeping, ...]
        Room, fridge, freezer.
    gel : GelNeed or None
        For the days asked for.
    gel_advised : GelNeed
        For as long as advice gives meat in the room.
    dried_on_kg : float or None
        What it would weigh if dried on until it keeps there so long; None: it does, or never would.
    room_without_gel : Keeping
        As it keeps there with none put in.
    """

    product: Product
    packing: Packing
    packed: float
    within_s: float | None
    between_s: float | None
    keepings: tuple[Keeping, ...]
    gel: GelNeed | None
    gel_advised: GelNeed
    dried_on_kg: float | None
    room_without_gel: Keeping


@dataclass(frozen=True, slots=True)
class _Cases:
    """The expected water activity over time, and those among which the worse one counts."""

    expected: ActivityHistory
    for_growth: tuple[ActivityHistory, ...]
    for_brittleness: tuple[ActivityHistory, ...]


def _cases(product: Product, packing: Packing, temperature_K: float, humidity: float) -> _Cases:
    low, middle, high = packing.package.conductances(packing.area_m2, temperature_K)
    expected = filled(product, packing, temperature_K, humidity)

    def gel(factor: float) -> Filled:
        if not packing.gel_kg:
            return expected
        return filled(product, replace(packing, gel_kg=packing.gel_kg * factor), temperature_K, humidity)

    less, more = gel(1.0 - packaging.GEL_SPREAD), gel(1.0 + packaging.GEL_SPREAD)
    return _Cases(
        expected=expected.through(middle),
        for_growth=(less.through(low), less.through(high)),
        for_brittleness=(more.through(low), more.through(high)),
    )


def earliest(*times: float | None) -> float | None:
    """Return the earliest of some times, those that never come aside.

    Parameters
    ----------
    times : float or None
        In one unit [any]; None for never.

    Examples
    --------
    >>> earliest(3.0, None, 2.0), earliest(None)
    (2.0, None)
    """
    return min((time for time in times if time is not None), default=None)


def _growth(organism: Organism, cases: _Cases, temperature_K: float, error: float) -> Growth:
    if temperature_K < organism.coldest_K:
        return Growth(organism, When(None, None), True)
    limit = organism.water_activity
    cautious = earliest(*(days_above(case, limit - error) for case in cases.for_growth))
    return Growth(organism, When(days_above(cases.expected, limit), cautious), False)


def _keep(product: Product, packing: Packing, place: Place, temperature_K: float, humidity: float) -> Keeping:
    cases = _cases(product, packing, temperature_K, humidity)
    growth = tuple(
        _growth(organism, cases, temperature_K, product.error) for organism in growth_limits.organisms()
    )
    mould = When(
        days_to_mould(cases.expected, temperature_K, 0.0, False),
        _cautious_mould(cases, temperature_K, product.error),
    )
    limit = growth_limits.texture().brittle
    brittle = When(
        days_below(cases.expected, limit),
        earliest(*(days_below(case, limit + product.error) for case in cases.for_brittleness)),
    )
    causes = [(row.when.cautious, f"{row.organism.name} may grow") for row in growth if row.harmful]
    causes.append((mould.cautious, "mould may show"))  # brittle meat is worse to eat, but it keeps
    reached = [(days, cause) for days, cause in causes if days is not None]
    first_days, first = min(reached, default=(None, ""), key=lambda cause: cause[0])
    advice = growth_limits.advice(place, packing.package.name)
    computed = first_days is not None and first_days < advice.days
    return Keeping(
        place=place,
        temperature_K=temperature_K,
        humidity=humidity,
        expected=cases.expected,
        growth=growth,
        mould=mould,
        brittle=brittle,
        first_days=first_days,
        first=first,
        advice=advice,
        days=first_days if first_days is not None and computed else advice.days,
        decided_by="computed" if computed else "advice",
    )


def _cautious_mould(cases: _Cases, temperature_K: float, error: float) -> float | None:
    return earliest(*(days_to_mould(case, temperature_K, error, True) for case in cases.for_growth))


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
        That it should keep [day].

    Examples
    --------
    Grams for two months in a zip bag, of 240 g dried to 0.74, in a room of 21 degC and 80 %:

    >>> from dryingsim.batch.catalog.packages import find_package
    >>> from dryingsim.properties.water_activity import Recipe
    >>> meat = Product(dry_mass_kg=0.2, moisture_db=0.2, recipe=Recipe(protein=0.8, salt=0.05), fat_share=0.1,
    ...                wettest=0.74, driest=0.70)
    >>> bag = Packing(package=find_package("package", "zip bag"), area_m2=0.06, gel_kg=0.0, gel_water=0.03,
    ...               room_K=294.15, room_humidity=0.8)
    >>> round(1e3 * gel_for(meat, bag, 60.0).gel_kg)
    36
    """

    def holds(gel_kg: float) -> bool:
        return _holds(product, replace(packing, gel_kg=gel_kg), days)

    def breaks(gel_kg: float) -> bool:
        packed = replace(packing, gel_kg=gel_kg)
        inside = filled(product, packed, packing.room_K, packing.room_humidity)
        return float(inside.water_activity[0]) <= growth_limits.texture().brittle

    return GelNeed(days=days, gel_kg=_least(holds), brittle_kg=_least(breaks))


def _holds(product: Product, packing: Packing, days: float) -> bool:
    """Whether neither pathogens nor mould may grow in the room for some days, by the cautious figures."""
    cases = _cases(product, packing, packing.room_K, packing.room_humidity)
    place, error = packing.room_K, product.error
    growth = (_growth(organism, cases, place, error) for organism in growth_limits.organisms())
    pathogens = (row.when.cautious for row in growth if row.harmful)
    first = earliest(_cautious_mould(cases, place, error), *pathogens)
    return first is None or first >= days


def dried_on(product: Product, packing: Packing, days: float) -> float | None:
    """Return what meat would weigh if it were dried on until it keeps for some days in the room [kg].

    Parameters
    ----------
    product : Product
    packing : Packing
    days : float
        That it should keep [day].

    Returns
    -------
    float or None
        The most it may weigh, to a hundredth of water activity; None where it keeps so long as it is, or would be brittle before.
    """
    if _holds(product, packing, days):
        return None
    wettest, brittle = product.wettest, growth_limits.texture().brittle
    for activity in np.arange(np.floor(100.0 * wettest) / 100.0, brittle, -0.01).tolist():
        moisture = float(equilibrium_moisture(activity, REFERENCE_TEMPERATURE, product.recipe))
        drier = replace(product, moisture_db=moisture, wettest=activity, driest=activity)
        if moisture < product.moisture_db and _holds(drier, packing, days):
            return drier.weight_kg
    return None


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


def keep(product: Product, packing: Packing, days: float | None = None) -> Storage:
    """Answer how dried meat keeps in a package.

    Parameters
    ----------
    product : Product
    packing : Packing
    days : float, optional
        For which the gel is asked [day].

    Returns
    -------
    Storage

    Examples
    --------
    How long, in days, and by what, in the room, the refrigerator and the freezer:

    >>> from dryingsim.batch.catalog.packages import find_package
    >>> from dryingsim.properties.water_activity import Recipe
    >>> meat = Product(dry_mass_kg=0.2, moisture_db=0.2, recipe=Recipe(protein=0.8, salt=0.05), fat_share=0.1,
    ...                wettest=0.74, driest=0.70)
    >>> bag = Packing(package=find_package("package", "zip bag"), area_m2=0.06, gel_kg=0.0, gel_water=0.03,
    ...               room_K=294.15, room_humidity=0.5)
    >>> [(keeping.days, keeping.decided_by) for keeping in keep(meat, bag).keepings]
    [(7.0, 'advice'), (90.0, 'advice'), (365.0, 'advice')]
    """
    times = equilibration_times(product, packing.room_K)
    room = _keep(product, packing, "room", packing.room_K, packing.room_humidity)
    bare = replace(packing, gel_kg=0.0)
    return Storage(
        product=product,
        packing=packing,
        packed=float(water_activity(product.moisture_db, packing.room_K, product.recipe)),
        within_s=times[0] if times else None,
        between_s=times[1] if times else None,
        keepings=(
            room,
            _keep(product, packing, "fridge", FRIDGE_K, FRIDGE_HUMIDITY),
            _freezer(packing),
        ),
        gel=gel_for(product, packing, days) if days is not None else None,
        gel_advised=gel_for(product, packing, room.advice.days),
        dried_on_kg=dried_on(product, packing, room.advice.days),
        room_without_gel=_keep(product, bare, "room", bare.room_K, bare.room_humidity)
        if packing.gel_kg
        else room,
    )
