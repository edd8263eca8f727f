"""What a serving of the dried meat holds, and how salty and sweet that is beside dried meats whose figures are published.

Only water leaves: all salt, sugar, protein and fat that went on the trays are in the finished weight. An estimate, not a
declaration for a label: sauces and cuts differ by a tenth and more from make to make and from animal to animal.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM
from dryingsim.batch.schema import Composition, Marinade
from dryingsim.evidence import Evidence
from dryingsim.judge.yield_and_cost import SERVING_KG

MEAT_SODIUM: Annotated[
    float, Evidence("kg/kg", "from memory", "sodium of raw lean meat of its own", (4e-4, 9e-4))
] = 6e-4
MILD_STRIP_SALT: Annotated[
    float,
    Evidence(
        "-", "derived", "salt in duck strip, from its formulation (J. Anim. Sci. Technol. 62:553, read)"
    ),
] = 0.024
STRIP_SODIUM: Annotated[float, Evidence("-", "published", "sodium in beef strip (USDA SR28, NDB 19002)")] = (
    0.02081
)
DRIED_BEEF_SODIUM: Annotated[
    float, Evidence("-", "published", "sodium in salted dried beef (USDA SR28, NDB 13350)")
] = 0.0279
STRIP_SUGAR: Annotated[float, Evidence("-", "published", "sugars in beef strip (USDA SR28, NDB 19002)")] = (
    0.09
)
DRIED_BEEF_SUGAR: Annotated[
    float, Evidence("-", "published", "sugars in salted dried beef (USDA SR28, NDB 13350)")
] = 0.027
_PROTEIN_J_KG: Annotated[float, Evidence("J/kg", "published", "4 kcal/g, general Atwater factor")] = 16.736e6
_FAT_J_KG: Annotated[float, Evidence("J/kg", "published", "9 kcal/g, general Atwater factor")] = 37.656e6
_SUGAR_J_KG: Annotated[float, Evidence("J/kg", "published", "4 kcal/g, general Atwater factor")] = 16.736e6

Saltiness = Literal["mild", "usual", "very salty", "too salty"]
Sweetness = Literal["hardly sweet", "usual", "sweet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """What `SERVING_KG` of the finished product holds [kg], and its energy [J].

    Attributes
    ----------
    salt_kg, sugar_kg : float
        Of the marinade.
    sodium_kg : float
        That of the salt, and of the meat itself.
    protein_kg, fat_kg : float
        Of the meat.
    energy_J : float
        By the general factors for protein, fat and carbohydrate.
    """

    salt_kg: float
    sodium_kg: float
    sugar_kg: float
    protein_kg: float
    fat_kg: float
    energy_J: float

    @property
    def sodium(self) -> float:
        """Sodium per finished weight [kg/kg]."""
        return self.sodium_kg / SERVING_KG

    @property
    def saltiness(self) -> Saltiness:
        """Beside published dried meats: below the mildest strip, among strips, up to salted dried beef, above it."""
        if self.sodium < MILD_STRIP_SALT / SALT_PER_SODIUM:
            return "mild"
        if self.sodium <= STRIP_SODIUM:
            return "usual"
        return "very salty" if self.sodium <= DRIED_BEEF_SODIUM else "too salty"

    @property
    def sweetness(self) -> Sweetness:
        """Beside published dried meats: below salted dried beef, up to beef strip, above it."""
        sugar = self.sugar_kg / SERVING_KG
        return "hardly sweet" if sugar < DRIED_BEEF_SUGAR else "usual" if sugar <= STRIP_SUGAR else "sweet"


def serving_of(raw: Composition, marinade: Marinade, finished_share: float) -> Serving:
    """Return what a serving of the finished product holds.

    Parameters
    ----------
    raw : Composition
        Of the raw meat.
    marinade : Marinade
        What it took up.
    finished_share : float
        Finished weight over raw weight [-].

    Examples
    --------
    15 g of salt per kg of raw meat that dries to 45 % of its weight, in grams of salt a serving:

    >>> lean = Composition(water=0.74, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.01)
    >>> serving = serving_of(lean, Marinade(salt_kg_kg=0.015), 0.45)
    >>> round(1e3 * serving.salt_kg, 2), serving.saltiness
    (0.93, 'usual')
    """
    concentrated = SERVING_KG / finished_share
    protein, fat = raw.protein * concentrated, raw.fat * concentrated
    salt, sugar = marinade.salt_kg_kg * concentrated, marinade.sugar_kg_kg * concentrated
    return Serving(
        salt_kg=salt,
        sodium_kg=salt / SALT_PER_SODIUM + MEAT_SODIUM * concentrated,
        sugar_kg=sugar,
        protein_kg=protein,
        fat_kg=fat,
        energy_J=_PROTEIN_J_KG * protein
        + _FAT_J_KG * fat
        + _SUGAR_J_KG * (sugar + raw.carbohydrate * concentrated),
    )
