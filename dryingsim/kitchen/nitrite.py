"""Nitrite of a marinade against the limits: what goes in with it, and what could be in the dried product."""

from dataclasses import dataclass
from typing import Annotated

from dryingsim.batch.reading.marinade_file import MarinadeRecipe
from dryingsim.evidence import Evidence

LITTLE_LIQUID: Annotated[
    float,
    Evidence("kg/kg", "estimate", "water of the marinade per raw meat below which it is rather a dry rub"),
] = 0.05


# Ingoing sodium nitrite per green weight: 9 CFR 424.21(c), as summarised from the inspectors' handbook (read second
# hand; the rule's own table was not). 21 CFR 172.170, for home curing: 200 ppm in the finished meat (read).
_LIMITS = {
    "minced": ("minced meat", 156e-6, "9 CFR 424.21(c), comminuted"),
    "soaked": (
        "pieces in a curing liquid",
        200e-6,
        "9 CFR 424.21(c), immersed; 21 CFR 172.170 for home curing",
    ),
    "rubbed": ("pieces rubbed dry", 625e-6, "9 CFR 424.21(c), dry cured"),
}
HOME_LIMIT: Annotated[
    float, Evidence("kg/kg", "published", "nitrite in the finished meat, 21 CFR 172.170 for home curing")
] = 200e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class NitriteCheck:
    """Nitrite against the limits [kg/kg]: ingoing per green (raw) weight, and for home curing in the dried product.

    Attributes
    ----------
    method : str
        Of curing, as the rule names it.
    limit : float
        Ingoing.
    rule : str
        Where it is printed.
    all_in : float
        As if all of it went into the meat.
    equalised : float
        Shared between the water of meat and marinade.
    finished : float
        All of it in the dried product, as if none were used up.
    """

    method: str
    limit: float
    rule: str
    all_in: float
    equalised: float
    finished: float

    @property
    def verdict(self) -> str:
        """Return "within", "above" or "unclear"; the last where only part of it going in would keep the limit."""
        if self.all_in <= self.limit:
            return "within"
        return "unclear" if self.equalised <= self.limit else "above"

    @property
    def within_home_limit(self) -> bool:
        """Whether the finished product keeps to the limit for home curing even if no nitrite is used up."""
        return self.finished <= HOME_LIMIT


def nitrite_check(
    recipe: MarinadeRecipe, nitrite_kg: float, bath_water_kg: float, dried_weight: float
) -> NitriteCheck | None:
    """Return nitrite against its limits; None where there is none.

    Parameters
    ----------
    recipe : MarinadeRecipe
    nitrite_kg : float
        In all of the marinade [kg].
    bath_water_kg : float
        Water of the marinade [kg].
    dried_weight : float
        Of the dried product, per raw weight [kg/kg].

    Examples
    --------
    0.1 g in the starting file's marinade, dried to half of the weight:

    >>> from dryingsim.batch.catalog.ingredients import start_text
    >>> from dryingsim.batch.reading.marinade_file import parse_marinade
    >>> check = nitrite_check(parse_marinade(start_text(), "start"), 1e-4, 0.2, 0.5)
    >>> check.verdict, check.within_home_limit
    ('within', False)
    """
    if not nitrite_kg > 0.0:
        return None
    liquid = bath_water_kg > LITTLE_LIQUID * recipe.weight_kg
    method, limit, rule = _LIMITS["minced" if recipe.form == "minced" else "soaked" if liquid else "rubbed"]
    all_in = nitrite_kg / recipe.weight_kg
    meat_water = recipe.composition.water * recipe.weight_kg
    return NitriteCheck(
        method=method,
        limit=limit,
        rule=rule,
        all_in=all_in,
        equalised=all_in * (meat_water / (bath_water_kg + meat_water)),
        finished=all_in / dried_weight,
    )
