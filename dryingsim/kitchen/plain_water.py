"""How dried meat keeps that was heated in plain water: its salt and sugar are gone, so at the same weight it is wetter."""

from dataclasses import dataclass, replace
from typing import Annotated

from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.evidence import Evidence
from dryingsim.kitchen.packed_meat import Packing, Product
from dryingsim.kitchen.storage import Storage, keep
from dryingsim.model.build import after_plain_water, curve_of, recipe_of
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

_DRIEST: Annotated[float, Evidence("kg/kg", "numerical", "no slice is followed below this moisture")] = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterPlainWater:
    """The same meat, all its salt and sugar taken by the water that it was heated in.

    Attributes
    ----------
    as_weighed : Storage
        At the weight that it has with them.
    dried_on : Storage
        At the lower weight to dry it on to.
    """

    as_weighed: Storage
    dried_on: Storage


def keep_after_plain_water(
    product: Product, packing: Packing, batch: Batch, surely_dry_kg: float
) -> AfterPlainWater | None:
    """Answer how dried meat keeps if plain water took its salt and sugar.

    Parameters
    ----------
    product : Product
        Of the batch, its salt and sugar in it.
    packing : Packing
    batch : Batch
    surely_dry_kg : float
        What it then weighs when it is surely dry [kg]; dried on further where it would not keep in the room so.

    Returns
    -------
    AfterPlainWater or None
        None where the batch took up no salt and sugar, or is not heated in liquid.
    """
    plain = after_plain_water(batch)
    if plain is None:
        return None
    as_weighed = keep(without_salt(product, batch, plain, product.weight_kg), packing)
    goal_kg = min(surely_dry_kg, as_weighed.dried_on_kg or surely_dry_kg)
    return AfterPlainWater(
        as_weighed=as_weighed, dried_on=keep(without_salt(product, batch, plain, goal_kg), packing)
    )


def without_salt(product: Product, batch: Batch, plain: Batch, weight_kg: float) -> Product:
    """Return meat without its salt and sugar, at a weight.

    Parameters
    ----------
    product : Product
        Of the batch, its salt and sugar in it.
    batch, plain : Batch
        With them, and without.
    weight_kg : float
        Then, each slice in the proportion that it has of the whole [kg].
    """
    (_, solids_with, _), (recipe, solids, _) = recipe_of(batch), recipe_of(plain)
    salted, curve = curve_of(batch), curve_of(plain)
    dry_kg = product.dry_mass_kg * solids / solids_with
    share = weight_kg / product.weight_kg

    def activity(with_salt: float) -> float:
        """Of a slice that stands at some water activity with its salt."""
        weight = 1.0 + float(salted.moisture(with_salt, REFERENCE_TEMPERATURE))
        moisture = max(weight * share * solids_with / solids - 1.0, _DRIEST)
        return float(curve.water_activity(moisture, REFERENCE_TEMPERATURE))

    return replace(
        product,
        dry_mass_kg=dry_kg,
        moisture_db=max(weight_kg / dry_kg - 1.0, _DRIEST),
        recipe=recipe,
        fat_share=product.fat_share / share,
        wettest=activity(product.wettest),
        driest=activity(product.driest),
        error=activity_error_of(plain).half_width,
    )
