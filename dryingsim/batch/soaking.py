"""A marinade as it is poured together: what goes into it, how long and how cold the meat lies in it, and what it takes up."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dryingsim.batch.catalog.ingredients import Ingredient
from dryingsim.batch.money import Amount
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.properties.soaking import Bath, SoakedMeat, Uptake


@dataclass(frozen=True, slots=True)
class Portion:
    """An ingredient in its amount.

    Attributes
    ----------
    ingredient : Ingredient
    weight_kg : float
        [kg]
    cost : Amount or None
        What that much of it costs; None: not told.
    """

    ingredient: Ingredient
    weight_kg: float
    cost: Amount | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Soak:
    """What raw meat lies in, and for how long.

    Attributes
    ----------
    portions : tuple of Portion
        At least one; all that goes into the marinade of the whole batch.
    time_s, temperature_K : float
        In the marinade [s], and how warm that is [K].
    gained_kg_kg : float or None
        What the drained meat was weighed to have gained, per raw weight; None: water is estimated.
    """

    portions: tuple[Portion, ...]
    time_s: float
    temperature_K: float
    gained_kg_kg: float | None = None

    @property
    def cost(self) -> Amount | None:
        """What the ingredients cost whose price is told; None where none is."""
        paid = [one.cost for one in self.portions if one.cost is not None]
        return Amount(sum(one.value for one in paid), paid[0].currency) if paid else None

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Names of the ingredients whose price is not told, water aside."""
        return tuple(
            one.ingredient.name for one in self.portions if one.cost is None and one.ingredient.water < 1.0
        )


def mixed(portions: tuple[Portion, ...]) -> "Bath":
    """Return what all ingredients hold together.

    Parameters
    ----------
    portions : tuple of Portion

    Examples
    --------
    >>> from dryingsim.batch.catalog.ingredients import find_ingredient
    >>> round(mixed((Portion(find_ingredient("name", "soy sauce"), 0.1),)).salt_kg, 4)
    0.014
    """
    from dryingsim.properties.soaking import Bath

    def total(part: str) -> float:
        return float(sum(getattr(portion.ingredient, part) * portion.weight_kg for portion in portions))

    return Bath(
        weight_kg=float(sum(portion.weight_kg for portion in portions)),
        water_kg=total("water"),
        salt_kg=total("salt"),
        sugar_kg=total("sugar"),
        acid_kg=total("acid"),
        nitrite_kg=total("nitrite"),
    )


def check_dissolves(bath: "Bath", meat: "SoakedMeat") -> None:
    """Raise where meat and marinade together cannot dissolve the salt.

    Parameters
    ----------
    bath : Bath
    meat : SoakedMeat
    """
    from dryingsim.properties.soaking import SALT_DISSOLVES

    most = SALT_DISSOLVES * (bath.water_kg + meat.water_kg)
    if bath.salt_kg > most:
        raise InputError(
            f"the ingredients hold {bath.salt_kg:.4g} kg of salt, more than the {most:.3g} kg that all the water of "
            f"{meat.weight_kg:.4g} kg of meat and its marinade dissolves: check their amounts"
        )


def taken_up(soak: Soak, water: float, weight_kg: float, thickness_m: float) -> "Uptake":
    """Return what raw meat holds when it comes out of its marinade.

    Parameters
    ----------
    soak : Soak
    water : float
        Of the raw meat, its mass fraction [-].
    weight_kg : float
        Of all raw meat [kg].
    thickness_m : float
        Of its slices, on average [m].
    """
    from dryingsim.properties.soaking import uptake

    bath, meat = mixed(soak.portions), soaked(soak, water, weight_kg, thickness_m)
    check_dissolves(bath, meat)
    return uptake(bath, meat, soak.time_s)


def soaked(soak: Soak, water: float, weight_kg: float, thickness_m: float) -> "SoakedMeat":
    """Return the raw meat as it lies in a marinade.

    Parameters
    ----------
    soak : Soak
    water : float
        Of the raw meat, its mass fraction [-].
    weight_kg : float
        Of all raw meat [kg].
    thickness_m : float
        Of its slices, on average [m].
    """
    from dryingsim.properties.soaking import SoakedMeat

    return SoakedMeat(
        weight_kg=weight_kg,
        water_kg=water * weight_kg,
        thickness_m=thickness_m,
        temperature_K=soak.temperature_K,
        gained_kg_kg=soak.gained_kg_kg,
    )
