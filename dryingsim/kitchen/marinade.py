"""What meat takes up in a marinade: salt, sugar and acid over time, and what becomes of them when it is dried.

How much is taken up, is physics (`properties.soaking`), and a batch file whose marinade is told by its ingredients asks it
there too. The drying model takes the uptake as spread evenly over the slice; how even it is, is told by the profile.

Acid is reported as information. It never counts towards safety: marinating for a day changed counts by -0.3 to +0.6
log (Albright 2002, read).
"""

from dataclasses import dataclass
from typing import Annotated

from dryingsim.batch.reading.marinade_file import MarinadeRecipe, recipe_of_batch
from dryingsim.batch.schema import Batch, Composition, Marinade
from dryingsim.batch.soaking import check_dissolves, mixed, soaked
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.kitchen.nitrite import NitriteCheck, nitrite_check
from dryingsim.properties.packaging import DAY_S
from dryingsim.properties.soaking import Bath, Uptake, bath_over_meat, profile, uptake
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, Recipe, equilibrium_moisture

COMPARED_H: Annotated[tuple[float, ...], Evidence("h", "common practice", "at least 12 h, best 24-48 h")] = (
    12.0,
    24.0,
    48.0,
)
COLD_K: Annotated[float, Evidence("K", "published", "40 degF: marinate no warmer (federal advice, read)")] = (
    ZERO_CELSIUS + 40.0 / 9.0
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dried:
    """The same in the finished product, dried to a water activity.

    Attributes
    ----------
    water_activity : float
        It is dried to [-].
    weight : float
        Per raw weight.
    moisture_wb : float
        Water over its weight [kg/kg].
    salt : float
        Mass fractions of the product.
    salt_range : tuple[float, float]
        Lowest and highest [kg/kg].
    sugar : float
        [kg/kg].
    acid : float
        [kg/kg].
    stronger : float
        Salt in it over salt in the raw marinated meat.
    """

    water_activity: float
    weight: float
    moisture_wb: float
    salt: float
    salt_range: tuple[float, float]
    sugar: float
    acid: float
    stronger: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Marinated:
    """The answer for a marinade.

    Attributes
    ----------
    recipe : MarinadeRecipe
        As asked about.
    bath : Bath
        What is poured together.
    alpha : float
        Water of the bath over that of the meat, by its partition [-].
    final : Uptake
        After as long as it takes.
    chosen : Uptake
        After the time stated.
    dried : Dried
        That, dried.
    compared : tuple[tuple[Uptake, Dried], ...]
        Other times, each with what it gives dried.
    profile : tuple[tuple[float, float, float], ...]
        Depth over thickness, salt, sugar per raw weight.
    nitrite : NitriteCheck or None
        None where there is none in it.
    """

    recipe: MarinadeRecipe
    bath: Bath
    alpha: float
    final: Uptake
    chosen: Uptake
    dried: Dried
    compared: tuple[tuple[Uptake, Dried], ...]
    profile: tuple[tuple[float, float, float], ...]
    nitrite: NitriteCheck | None

    @property
    def marinade(self) -> Marinade:
        """The input of the drying model: spread evenly over the slice."""
        one = self.chosen
        return Marinade(salt_kg_kg=one.salt, sugar_kg_kg=one.sugar, water_kg_kg=one.water)


def marinate(recipe: MarinadeRecipe) -> Marinated:
    """Work out what the meat takes up, and what of it is in the dried product.

    Parameters
    ----------
    recipe : MarinadeRecipe

    Raises
    ------
    InputError
        If the ingredients hold more salt than all the water dissolves.

    Examples
    --------
    The marinade of the starting file: salt taken up by the time it says, and in the end, per raw weight.

    >>> from dryingsim.batch.catalog.ingredients import start_text
    >>> from dryingsim.batch.reading.marinade_file import parse_marinade
    >>> marinated = marinate(parse_marinade(start_text(), "start"))
    >>> round(marinated.chosen.salt, 3), round(marinated.final.salt, 3)
    (0.015, 0.015)
    """
    bath = mixed(recipe.portions)
    meat = soaked(recipe, recipe.composition.water, recipe.weight_kg, recipe.thickness_m)
    check_dissolves(bath, meat)
    times = sorted({recipe.time_s, *(3600.0 * h for h in COMPARED_H)})
    uptakes = {time: uptake(bath, meat, time) for time in times}
    chosen = uptakes[recipe.time_s]
    dried = dry(recipe.composition, chosen, recipe.water_activity)
    return Marinated(
        recipe=recipe,
        bath=bath,
        alpha=bath_over_meat(bath, meat),
        final=uptake(bath, meat, 1e3 * DAY_S),
        chosen=chosen,
        dried=dried,
        compared=tuple(
            (one, dry(recipe.composition, one, recipe.water_activity)) for one in uptakes.values()
        ),
        profile=profile(bath, meat, recipe.time_s),
        nitrite=nitrite_check(recipe, bath.nitrite_kg, bath.water_kg, dried.weight),
    )


def marinated_batch(batch: Batch) -> Marinated | None:
    """Return what comes of a batch's own marinade; None where its ingredients are not told.

    Parameters
    ----------
    batch : Batch
    """
    recipe = recipe_of_batch(batch)
    return None if recipe is None else marinate(recipe)


def dry(raw: Composition, uptake: Uptake, water_activity: float) -> Dried:
    """Return what is in the marinated meat once it is dried to a water activity; water alone leaves.

    Parameters
    ----------
    raw : Composition
        Of the meat before the marinade.
    uptake : Uptake
    water_activity : float
        That it is dried to [-].

    Examples
    --------
    15 g of salt per kg of raw beef become, in the product dried to 0.80, a mass fraction of

    >>> from dryingsim.batch.catalog.cuts import find_cut
    >>> soaked = Uptake(time_s=86400.0, salt=0.015, salt_range=(0.01, 0.02), sugar=0.0, sugar_range=(0.0, 0.0),
    ...                 acid=0.0, water=0.0, evenness=1.0)
    >>> round(dry(find_cut("cut", "beef eye of round").composition, soaked, 0.80).salt, 3)
    0.037
    """
    solids = 1.0 - raw.water + uptake.salt + uptake.sugar
    recipe = Recipe(protein=raw.protein / solids, salt=uptake.salt / solids, sugar=uptake.sugar / solids)
    even = float(equilibrium_moisture(water_activity, REFERENCE_TEMPERATURE, recipe))
    moisture = min(even, (raw.water + uptake.water) / solids)  # very salty meat is that dry from the start
    weight = solids * (1.0 + moisture)
    laid_on = 1.0 + uptake.salt + uptake.sugar + uptake.water
    return Dried(
        water_activity=water_activity,
        weight=weight,
        moisture_wb=moisture / (1.0 + moisture),
        salt=uptake.salt / weight,
        salt_range=(uptake.salt_range[0] / weight, uptake.salt_range[1] / weight),
        sugar=uptake.sugar / weight,
        acid=uptake.acid / weight,
        stronger=laid_on / weight,
    )
