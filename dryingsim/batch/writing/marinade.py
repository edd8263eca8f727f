"""A marinade as the tables of a batch file: each ingredient by its weight."""

from decimal import Decimal
from typing import Any

from dryingsim.batch.catalog.ingredients import Ingredient, all_ingredients
from dryingsim.batch.schema import UnitSystem
from dryingsim.batch.soaking import Portion, Soak
from dryingsim.batch.writing.quantities import spelled


def soak_keys(soak: Soak, units: UnitSystem) -> dict[str, Any]:
    """Return how the meat lies in a marinade, as keys of [marinade].

    Parameters
    ----------
    soak : Soak
    units : str
        "metric" or "us": what the person types in.
    """
    keys = {
        "time": spelled(soak.time_s, "duration", units),
        "temperature": spelled(soak.temperature_K, "temperature", units),
    }
    if soak.gained_kg_kg is not None:
        keys["gained"] = spelled(soak.gained_kg_kg, "mass fraction", units)
    return keys


def ingredient_tables(soak: Soak, units: UnitSystem) -> list[dict[str, Any]]:
    """Return the ingredients as tables [[marinade.ingredients]].

    Parameters
    ----------
    soak : Soak
    units : str
        "metric" or "us": what the person types in.
    """
    return [_ingredient(one, units) for one in soak.portions]


def _ingredient(portion: Portion, units: UnitSystem) -> dict[str, Any]:
    ingredient, weight = portion.ingredient, spelled(portion.weight_kg, "mass", units)
    table: dict[str, Any] = {"name": ingredient.name, "amount": weight}
    if all_ingredients().get(ingredient.name) != ingredient:
        table |= _figures(ingredient, units)
    if portion.cost is not None:
        table["price"] = f"{Decimal(repr(portion.cost.value)):f} {portion.cost.currency} per {weight}"
    return table


def _figures(ingredient: Ingredient, units: UnitSystem) -> dict[str, Any]:
    parts = ("water", "salt", "sugar", "acid", "nitrite")
    figures = {part: spelled(getattr(ingredient, part), "fraction", units) for part in parts}
    if ingredient.tablespoon_kg is not None:
        figures["tablespoon"] = spelled(ingredient.tablespoon_kg, "mass", units)
    return figures
