"""What a serving of the dried meat holds, and how salty and sweet that is beside dried meats whose figures are published.

Only water leaves: all salt, sugar, protein and fat that went on the trays are in the finished weight. An estimate, not a
declaration for a label: makes of sauce, animals and the weight at which it is taken out differ (`nine_in_ten`).
"""

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM
from dryingsim.batch.schema import Composition, Marinade
from dryingsim.batch.uncertainties import default_uncertainties
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
STRIP_PROTEIN: Annotated[
    float, Evidence("-", "published", "protein in beef strip (USDA SR28, NDB 19002)")
] = 0.332
STRIP_J_KG: Annotated[
    float,
    Evidence("J/kg", "derived", "beef strip: 33.2 % protein, 25.6 % fat, 11 % carbohydrate (NDB 19002)"),
] = 17.04e6
# standard deviations of logarithms
_FINISHED: Annotated[
    float,
    Evidence(
        "-", "estimate", "of the finished weight: a water activity off by 0.04 moves it so far", (0.03, 0.1)
    ),
] = 0.06
_PROTEIN: Annotated[
    float, Evidence("-", "estimate", "of the protein, from animal to animal", (0.03, 0.08))
] = 0.05
_FAT: Annotated[float, Evidence("-", "estimate", "of the fat in lean meat, likewise", (0.2, 0.5))] = 0.3
_OWN: Annotated[float, Evidence("-", "derived", "of the sodium of the meat itself, by its range")] = 0.2
_NINE_IN_TEN: Annotated[float, Evidence("-", "exact", "standard deviations")] = 1.645
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

    def nine_in_ten(self) -> dict[str, tuple[float, float]]:
        """Return from what to what each figure lies nine times in ten, under the same names and in the same units."""
        marinade = default_uncertainties()["marinade"].deviation
        own = self.sodium_kg - self.salt_kg / SALT_PER_SODIUM
        other_J = self.energy_J - sum(
            per_kg * kg
            for per_kg, kg in (
                (_PROTEIN_J_KG, self.protein_kg),
                (_FAT_J_KG, self.fat_kg),
                (_SUGAR_J_KG, self.sugar_kg),
            )
        )  # of the meat's own carbohydrate, which is little
        parts = {  # what each is the sum of, with how far each summand may be off by itself
            "salt_kg": ((self.salt_kg, marinade),),
            "sodium_kg": ((self.salt_kg / SALT_PER_SODIUM, marinade), (own, _OWN)),
            "sugar_kg": ((self.sugar_kg, marinade),),
            "protein_kg": ((self.protein_kg, _PROTEIN),),
            "fat_kg": ((self.fat_kg, _FAT),),
            "energy_J": (
                (_PROTEIN_J_KG * self.protein_kg, _PROTEIN),
                (_FAT_J_KG * self.fat_kg, _FAT),
                (_SUGAR_J_KG * self.sugar_kg, marinade),
                (other_J, _FAT),
            ),
        }
        return {name: _range(summands) for name, summands in parts.items()}

    @property
    def sweetness(self) -> Sweetness:
        """Beside published dried meats: below salted dried beef, up to beef strip, above it."""
        sugar = self.sugar_kg / SERVING_KG
        return "hardly sweet" if sugar < DRIED_BEEF_SUGAR else "usual" if sugar <= STRIP_SUGAR else "sweet"


def _range(summands: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Nine times in ten: summands that are off by themselves, in a finished weight that is off for all of them."""
    total = sum(value for value, _ in summands)
    if not total > 0.0:
        return (0.0, 0.0)
    apart = math.hypot(*(value / total * deviation for value, deviation in summands))
    factor = math.exp(_NINE_IN_TEN * math.hypot(apart, _FINISHED))
    return (total / factor, total * factor)


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
