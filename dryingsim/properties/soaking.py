"""What meat takes up from a marinade: salt, sugar, acid and water over time.

A slice in a closed bag is a slab in a finite bath (`finite_bath`): in the end the water in the meat holds `PARTITION`
times what the water of the bath holds, so that the bath's alpha is its water over `PARTITION` times that of the meat.

Water moves with the salt, into meat in weak brine and out of it in strong; that is an estimate, better weighed.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.constants import GAS_CONSTANT
from dryingsim.evidence import Evidence
from dryingsim.properties.finite_bath import concentration_share, uptake_share
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

PARTITION_RANGE = (0.9, 1.0)
PARTITION: Annotated[
    float, Evidence("-", "from memory", "salt in the meat's water over that in the bath's", PARTITION_RANGE)
] = 0.95
SALT_DISSOLVES: Annotated[
    float,
    Evidence(
        "kg/kg water", "published", "at most, 5-25 degC (shared/sodium_chloride.csv: 6.15 mol/kg saturated)"
    ),
] = 0.36
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
    """How fast a solute moves in meat: diffusivity at 5 degC [m2/s], its range, activation energy [J/mol].

    Attributes
    ----------
    name : str
        What it is.
    lowest : float
        Of the range of the diffusivity [m2/s].
    highest : float
        Of that range [m2/s].
    source : str
        Of the numbers.
    """

    name: str
    diffusivity: float
    lowest: float
    highest: float
    activation: float
    source: str

    def at(self, temperature_K: float) -> np.ndarray:
        """Return the diffusivity as thought, lowest and highest [m2/s]."""
        check_kelvin(temperature_K, "temperature_K")
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
    """What the marinade holds altogether [kg].

    Attributes
    ----------
    weight_kg : float
        Of all of it [kg].
    water_kg : float
        [kg].
    salt_kg : float
        [kg].
    sugar_kg : float
        [kg].
    acid_kg : float
        [kg].
    nitrite_kg : float
        Sodium nitrite [kg].
    """

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
    """What the meat holds after a time, per raw weight [kg/kg]; ranges are lowest and highest.

    Attributes
    ----------
    time_s : float
        In the marinade [s].
    salt : float
        [kg/kg].
    salt_range : tuple[float, float]
        [kg/kg].
    sugar : float
        [kg/kg].
    sugar_range : tuple[float, float]
        [kg/kg].
    acid : float
        [kg/kg].
    water : float
        Below zero where water was drawn out.
    evenness : float
        Salt in the middle over salt at the face.
    """

    time_s: float
    salt: float
    salt_range: tuple[float, float]
    sugar: float
    sugar_range: tuple[float, float]
    acid: float
    water: float
    evenness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SoakedMeat:
    """The raw meat that lies in a bath.

    Attributes
    ----------
    weight_kg, water_kg : float
        Of all of it, and its water [kg].
    thickness_m : float
        Of the slices [m].
    temperature_K : float
        Of the bath [K].
    gained_kg_kg : float or None
        What it was weighed to have gained, per raw weight; None: water is estimated.
    """

    weight_kg: float
    water_kg: float
    thickness_m: float
    temperature_K: float
    gained_kg_kg: float | None = None


def bath_over_meat(bath: Bath, meat: SoakedMeat) -> float:
    """What the bath holds of a solute in the end over what the meat holds then [-].

    Parameters
    ----------
    bath : Bath
    meat : SoakedMeat

    Returns
    -------
    float
        [-]

    Examples
    --------
    >>> bath = Bath(weight_kg=1.05, water_kg=1.0, salt_kg=0.05, sugar_kg=0.0, acid_kg=0.0, nitrite_kg=0.0)
    >>> meat = SoakedMeat(weight_kg=1.0, water_kg=0.73, thickness_m=0.005, temperature_K=277.15)
    >>> round(bath_over_meat(bath, meat), 2)
    1.44
    """
    return bath.water_kg / (PARTITION * meat.water_kg)


def uptake(bath: Bath, meat: SoakedMeat, time_s: float) -> Uptake:
    """Return what meat holds after a time in a bath.

    Parameters
    ----------
    bath : Bath
    meat : SoakedMeat
    time_s : float
        [s]

    Returns
    -------
    Uptake

    Examples
    --------
    A kilogram of slices of 5 mm in a liter of 5 % brine overnight, salt per raw weight:

    >>> bath = Bath(weight_kg=1.05, water_kg=1.0, salt_kg=0.05, sugar_kg=0.0, acid_kg=0.0, nitrite_kg=0.0)
    >>> meat = SoakedMeat(weight_kg=1.0, water_kg=0.73, thickness_m=0.005, temperature_K=277.15)
    >>> round(uptake(bath, meat, 12 * 3600.0).salt, 3)
    0.02
    """
    salt, sugar, acid = (
        _taken(solute, kg, bath, meat, time_s)
        for solute, kg in ((SALT, bath.salt_kg), (SUGAR, bath.sugar_kg), (ACID, bath.acid_kg))
    )
    alpha = bath_over_meat(bath, meat)
    fourier = float(_fourier(SALT, meat, time_s)[0])
    middle, face = concentration_share(np.array([0.0, 1.0]), fourier, alpha)
    return Uptake(
        time_s=time_s,
        salt=float(salt[0]),
        salt_range=(float(salt[1]), float(salt[2])),
        sugar=float(sugar[0]),
        sugar_range=(float(sugar[1]), float(sugar[2])),
        acid=float(acid[0]),
        water=_water(bath, meat, float(uptake_share(fourier, alpha)), float(salt[0] + sugar[0])),
        evenness=float(middle / face),
    )


def profile(bath: Bath, meat: SoakedMeat, time_s: float) -> tuple[tuple[float, float, float], ...]:
    """Return depth over thickness, salt and sugar per raw weight, from the face to the middle in eighths of the thickness.

    Parameters
    ----------
    bath : Bath
    meat : SoakedMeat
    time_s : float
        [s]

    Returns
    -------
    tuple of (float, float, float)
        [-], [kg/kg], [kg/kg].

    Examples
    --------
    Two hours in 5 % brine, salt at the face and in the middle:

    >>> bath = Bath(weight_kg=1.05, water_kg=1.0, salt_kg=0.05, sugar_kg=0.0, acid_kg=0.0, nitrite_kg=0.0)
    >>> meat = SoakedMeat(weight_kg=1.0, water_kg=0.73, thickness_m=0.005, temperature_K=277.15)
    >>> [round(salt, 3) for _, salt, _ in profile(bath, meat, 7200.0)[::4]]
    [0.024, 0.01]
    """
    depth = np.linspace(0.0, 0.5, 5)
    share = float(_share_in_meat(bath, meat.water_kg, PARTITION)) / meat.weight_kg
    rows = [depth]
    for solute, kg in ((SALT, bath.salt_kg), (SUGAR, bath.sugar_kg)):
        fourier = float(_fourier(solute, meat, time_s)[0])
        rows.append(kg * share * concentration_share(1.0 - 2.0 * depth, fourier, bath_over_meat(bath, meat)))
    return tuple(tuple(map(float, row)) for row in np.array(rows).T)  # type: ignore[misc]


def _share_in_meat(bath: Bath, meat_water: float, partition: Array) -> Array:
    """Share of a solute that is in the meat once all is even."""
    return partition * meat_water / (bath.water_kg + partition * meat_water)


def _fourier(solute: Solute, meat: SoakedMeat, time_s: float) -> np.ndarray:
    return solute.at(meat.temperature_K) * time_s / (0.5 * meat.thickness_m) ** 2


def _taken(solute: Solute, kg: float, bath: Bath, meat: SoakedMeat, time_s: float) -> np.ndarray:
    """Uptake per raw weight as thought, lowest and highest."""
    partition = np.array([PARTITION, *PARTITION_RANGE])
    final = kg / meat.weight_kg * _share_in_meat(bath, meat.water_kg, partition)
    alphas = bath.water_kg / (partition * meat.water_kg)
    fouriers = _fourier(solute, meat, time_s)
    shares = [uptake_share(f, float(a)) for f, a in zip(fouriers, alphas, strict=True)]
    return final * np.array(shares)


def _water(bath: Bath, meat: SoakedMeat, share: float, solutes: float) -> float:
    """Water gained per raw weight, in step with the salt's share; or as weighed, less the salt and sugar in it."""
    if meat.gained_kg_kg is not None:
        return meat.gained_kg_kg - solutes
    gain = WATER_GAIN * (1.0 - bath.brine / NEUTRAL_BRINE) * share
    return min(gain, bath.water_kg / meat.weight_kg)
