"""What meat takes up in a marinade: salt, sugar and acid over time, and what becomes of them when it is dried.

A slice in a closed bag is a slab in a finite bath (`finite_bath`): in the end the water in the meat holds `PARTITION`
times what the water of the bath holds, so that the bath's alpha is its water over `PARTITION` times that of the meat.

Water moves with the salt, into meat in weak brine and out of it in strong; that is an estimate, better weighed.
The drying model takes the uptake as spread evenly over the slice; how even it is, is told by the profile.

Acid is reported as information. It never counts towards safety: marinating for a day changed counts by -0.3 to +0.6
log (Albright 2002, read).
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.reading.marinade_file import MarinadeRecipe
from dryingsim.batch.schema import Composition, Marinade
from dryingsim.constants import GAS_CONSTANT, ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.kitchen.finite_bath import concentration_share, uptake_share
from dryingsim.kitchen.nitrite import NitriteCheck, nitrite_check
from dryingsim.properties.packaging import DAY_S
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, Recipe, equilibrium_moisture
from dryingsim.typing import Array

PARTITION_RANGE = (0.9, 1.0)
PARTITION: Annotated[
    float, Evidence("-", "from memory", "salt in the meat's water over that in the bath's", PARTITION_RANGE)
] = 0.95
COMPARED_H: Annotated[tuple[float, ...], Evidence("h", "common practice", "at least 12 h, best 24-48 h")] = (
    12.0,
    24.0,
    48.0,
)
SALT_DISSOLVES: Annotated[
    float,
    Evidence(
        "kg/kg water", "published", "at most, 5-25 degC (shared/sodium_chloride.csv: 6.15 mol/kg saturated)"
    ),
] = 0.36
COLD_K: Annotated[float, Evidence("K", "published", "40 degF: marinate no warmer (federal advice, read)")] = (
    ZERO_CELSIUS + 40.0 / 9.0
)
WATER_GAIN_RANGE = (0.02, 0.10)
WATER_GAIN: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "share of the raw weight gained overnight as water by strips in a dilute marinade, well drained",
        WATER_GAIN_RANGE,
    ),
] = 0.06
NEUTRAL_BRINE: Annotated[
    float,
    Evidence(
        "kg/kg water",
        "derived",
        "no water is gained in brine of 200 kg/m3; above that water leaves (pork at 5 degC, brines of "
        "50-280 kg/m3, read)",
    ),
] = 0.215


@dataclass(frozen=True, slots=True)
class Solute:
    """How fast a solute moves in meat: diffusivity at 5 degC [m2/s], its range, activation energy [J/mol]."""

    name: str
    diffusivity: float
    lowest: float
    highest: float
    activation: float
    source: str

    def at(self, temperature_K: float) -> np.ndarray:
        """Return the diffusivity as thought, lowest and highest [m2/s]."""
        warmth = np.exp(self.activation / GAS_CONSTANT * (1.0 / 278.15 - 1.0 / temperature_K))
        return np.array([self.diffusivity, self.lowest, self.highest]) * warmth


SALT = Solute(
    "salt",
    2.5e-10,
    1.4e-10,
    9.4e-10,
    20e3,
    "estimate within measured beef 1.4-9.4e-10 (Pol. J. Food Nutr. Sci. 1998), pork slices 1.9e-10 at 5 degC (2015), "
    "pork 3-7e-10 (Hansen 2008), read",
)
SUGAR = Solute(
    "sugar",
    0.9e-10,
    0.5e-10,
    3.1e-10,
    24e3,
    "estimate, 0.35 of the value in water; 3.1-8.3e-10 at 20-50 degC in molasses, read",
)
ACID = Solute(
    "acid", 2.5e-10, 1.0e-10, 5.0e-10, 20e3, "estimate; no value read, and the meat's buffering slows it"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bath:
    """What the marinade holds altogether [kg]."""

    weight_kg: float
    water_kg: float
    salt_kg: float
    sugar_kg: float
    acid_kg: float
    nitrite_kg: float

    @property
    def brine(self) -> float:
        """Salt dissolved per water [kg/kg], at most what dissolves."""
        return min(self.salt_kg / self.water_kg, SALT_DISSOLVES) if self.water_kg > 0.0 else SALT_DISSOLVES


@dataclass(frozen=True, slots=True, kw_only=True)
class Uptake:
    """What the meat holds after a time, per raw weight [kg/kg]; ranges are lowest and highest."""

    time_s: float
    salt: float
    salt_range: tuple[float, float]
    sugar: float
    sugar_range: tuple[float, float]
    acid: float
    water: float  # below zero where water was drawn out
    evenness: float  # salt in the middle over salt at the face

    @property
    def marinade(self) -> Marinade:
        """The input of the drying model: spread evenly over the slice."""
        return Marinade(salt_kg_kg=self.salt, sugar_kg_kg=self.sugar, water_kg_kg=self.water)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dried:
    """The same in the finished product, dried to a water activity."""

    water_activity: float
    weight: float  # per raw weight
    moisture_wb: float
    salt: float  # mass fractions of the product
    salt_range: tuple[float, float]
    sugar: float
    acid: float
    stronger: float  # salt in it over salt in the raw marinated meat


@dataclass(frozen=True, slots=True, kw_only=True)
class Marinated:
    """The answer for a marinade."""

    recipe: MarinadeRecipe
    bath: Bath
    alpha: float
    final: Uptake  # after as long as it takes
    chosen: Uptake
    dried: Dried
    compared: tuple[tuple[Uptake, Dried], ...]
    profile: tuple[tuple[float, float, float], ...]  # depth over thickness, salt, sugar per raw weight
    nitrite: NitriteCheck | None


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
    bath = mix(recipe)
    meat_water = recipe.composition.water * recipe.weight_kg
    alpha = bath.water_kg / (PARTITION * meat_water)
    _check_salt(recipe, bath, meat_water)
    times = sorted({recipe.time_s, *(3600.0 * h for h in COMPARED_H)})
    uptakes = {time: _uptake(recipe, bath, time) for time in times}
    chosen = uptakes[recipe.time_s]
    dried = dry(recipe.composition, chosen, recipe.water_activity)
    return Marinated(
        recipe=recipe,
        bath=bath,
        alpha=alpha,
        final=_uptake(recipe, bath, 1e3 * DAY_S),
        chosen=chosen,
        dried=dried,
        compared=tuple(
            (uptake, dry(recipe.composition, uptake, recipe.water_activity)) for uptake in uptakes.values()
        ),
        profile=_profile(recipe, bath, alpha),
        nitrite=nitrite_check(recipe, bath.nitrite_kg, bath.water_kg, dried.weight),
    )


def _check_salt(recipe: MarinadeRecipe, bath: Bath, meat_water: float) -> None:
    """Raise where meat and marinade together cannot dissolve the salt."""
    most = SALT_DISSOLVES * (bath.water_kg + meat_water)
    if bath.salt_kg > most:
        raise InputError(
            f"the ingredients hold {bath.salt_kg:.4g} kg of salt, more than the {most:.3g} kg that all the water of "
            f"{recipe.weight_kg:.4g} kg of meat and its marinade dissolves: check their amounts"
        )


def mix(recipe: MarinadeRecipe) -> Bath:
    """Sum the ingredients.

    Parameters
    ----------
    recipe : MarinadeRecipe

    Examples
    --------
    Salt of the starting file's marinade over its water [kg/kg]:

    >>> from dryingsim.batch.catalog.ingredients import start_text
    >>> from dryingsim.batch.reading.marinade_file import parse_marinade
    >>> round(mix(parse_marinade(start_text(), "start")).brine, 2)
    0.08
    """

    def total(part: str) -> float:
        return float(
            sum(getattr(portion.ingredient, part) * portion.weight_kg for portion in recipe.portions)
        )

    return Bath(
        weight_kg=float(sum(portion.weight_kg for portion in recipe.portions)),
        water_kg=total("water"),
        salt_kg=total("salt"),
        sugar_kg=total("sugar"),
        acid_kg=total("acid"),
        nitrite_kg=total("nitrite"),
    )


def _share_in_meat(bath: Bath, meat_water: float, partition: Array) -> Array:
    """Share of a solute that is in the meat once all is even."""
    return partition * meat_water / (bath.water_kg + partition * meat_water)


def _fourier(solute: Solute, recipe: MarinadeRecipe, time_s: float) -> np.ndarray:
    return solute.at(recipe.temperature_K) * time_s / (0.5 * recipe.thickness_m) ** 2


def _taken(solute: Solute, kg: float, recipe: MarinadeRecipe, bath: Bath, time_s: float) -> np.ndarray:
    """Uptake per raw weight as thought, lowest and highest."""
    meat_water = recipe.composition.water * recipe.weight_kg
    partition = np.array([PARTITION, *PARTITION_RANGE])
    final = kg / recipe.weight_kg * _share_in_meat(bath, meat_water, partition)
    alphas = bath.water_kg / (partition * meat_water)
    fouriers = _fourier(solute, recipe, time_s)
    shares = [uptake_share(f, float(a)) for f, a in zip(fouriers, alphas, strict=True)]
    return final * np.array(shares)


def _uptake(recipe: MarinadeRecipe, bath: Bath, time_s: float) -> Uptake:
    salt, sugar, acid = (
        _taken(solute, kg, recipe, bath, time_s)
        for solute, kg in ((SALT, bath.salt_kg), (SUGAR, bath.sugar_kg), (ACID, bath.acid_kg))
    )
    alpha = bath.water_kg / (PARTITION * recipe.composition.water * recipe.weight_kg)
    fourier = float(_fourier(SALT, recipe, time_s)[0])
    middle, face = concentration_share(np.array([0.0, 1.0]), fourier, alpha)
    return Uptake(
        time_s=time_s,
        salt=float(salt[0]),
        salt_range=(float(salt[1]), float(salt[2])),
        sugar=float(sugar[0]),
        sugar_range=(float(sugar[1]), float(sugar[2])),
        acid=float(acid[0]),
        water=_water(recipe, bath, float(uptake_share(fourier, alpha)), float(salt[0] + sugar[0])),
        evenness=float(middle / face),
    )


def _water(recipe: MarinadeRecipe, bath: Bath, share: float, solutes: float) -> float:
    """Water gained per raw weight, in step with the salt's share; or as weighed, less the salt and sugar in it."""
    if recipe.gained_kg_kg is not None:
        return recipe.gained_kg_kg - solutes
    gain = WATER_GAIN * (1.0 - bath.brine / NEUTRAL_BRINE) * share
    return min(gain, bath.water_kg / recipe.weight_kg)


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


def _profile(recipe: MarinadeRecipe, bath: Bath, alpha: float) -> tuple[tuple[float, float, float], ...]:
    """Salt and sugar per raw weight from the face to the middle, in eighths of the thickness."""
    depth = np.linspace(0.0, 0.5, 5)
    meat_water = recipe.composition.water * recipe.weight_kg
    share = float(_share_in_meat(bath, meat_water, PARTITION)) / recipe.weight_kg
    rows = [depth]
    for solute, kg in ((SALT, bath.salt_kg), (SUGAR, bath.sugar_kg)):
        fourier = float(_fourier(solute, recipe, recipe.time_s)[0])
        rows.append(kg * share * concentration_share(1.0 - 2.0 * depth, fourier, alpha))
    return tuple(tuple(map(float, row)) for row in np.array(rows).T)  # type: ignore[misc]
