"""Meat as a mixture of water, protein, fat, carbohydrate, fibre, ash and ice, by Choi & Okos's equations.

Choi, Y. and Okos, M. R. (1986), "Effects of temperature and composition on the thermal properties of foods",
as printed in ASHRAE Refrigeration (2006) ch. 9, tables 1 and 2; quadratics in degrees Celsius.
Valid -40 to 150 degC (water 0 to 150, ice -40 to 0). Real meats lie within some 10 % of them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

_Polynomials = dict[str, tuple[float, float, float]]  # c0 + c1 t + c2 t2 of each component
_CHOI_OKOS = "Choi & Okos (1986) as printed in ASHRAE Refrigeration (2006) ch. 9, table 1; quadratics in degC"
_CONDUCTIVITY: Annotated[_Polynomials, Evidence("W/(m K)", "published", _CHOI_OKOS)] = {
    "water": (0.57109, 1.7625e-3, -6.7036e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),
    "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
    "fibre": (0.18331, 1.2497e-3, -3.1683e-6),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
    "ice": (2.2196, -6.2489e-3, 1.0154e-4),
}
_DENSITY: Annotated[_Polynomials, Evidence("kg/m3", "published", _CHOI_OKOS)] = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.5184, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fibre": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
    "ice": (916.89, -0.13071, 0.0),
}
_SPECIFIC_HEAT: Annotated[
    _Polynomials,
    Evidence(
        "J/(kg K)",
        "published",
        f"{_CHOI_OKOS}. Water: the constant of the 1986 paper (4.1762 kJ, from memory); the 2006 handbook's 4.1289 is "
        "1.0-1.3 % below IAPWS-95 at 20-100 degC and misses the handbook's own table of lean beef",
    ),
] = {
    "water": (4176.2, -9.0864e-2, 5.4731e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
    "ice": (2062.3, 6.0769, 0.0),
}
COMPONENTS = tuple(_DENSITY)

DRY_SOLIDS_TEMPERATURE: Annotated[float, Evidence("K", "estimate", "middle of drying, 40 degC")] = 313.15


def _quadratic(table: dict[str, tuple[float, float, float]], component: str, temperature: Array) -> Array:
    """Evaluate one component's polynomial; `temperature` in K."""
    if component not in table:
        raise InputError(f"food component {component!r} is not known; known: {', '.join(COMPONENTS)}")
    c0, c1, c2 = table[component]
    t = temperature - ZERO_CELSIUS
    return c0 + t * (c1 + t * c2)


def component_conductivity(component: str, temperature: Array) -> Array:
    """Thermal conductivity [W/(m K)] of one of `COMPONENTS` at `temperature` [K].

    Water's is 2.6 % above IAPWS at 1 degC and within 1 % from 20 degC upward.

    Parameters
    ----------
    component : str
        One of `COMPONENTS`.
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Conductivity [W/(m K)].

    Examples
    --------
    >>> round(float(component_conductivity("protein", 293.15)), 5)
    0.20164
    """
    check_kelvin(temperature)
    return _quadratic(_CONDUCTIVITY, component, temperature)


def component_density(component: str, temperature: Array) -> Array:
    """Density [kg/m3] of one of `COMPONENTS` at `temperature` [K]; water's is 0.3 % low at 0-20 degC.

    Parameters
    ----------
    component : str
        One of `COMPONENTS`.
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Density [kg/m3].

    Examples
    --------
    >>> round(float(component_density("protein", 293.15)))
    1320
    """
    check_kelvin(temperature)
    return _quadratic(_DENSITY, component, temperature)


def component_specific_heat(component: str, temperature: Array) -> Array:
    """Specific heat [J/(kg K)] of one of `COMPONENTS` at `temperature` [K].

    Liquid water below 0 degC is continued smoothly by the polynomial of 0-150 degC.

    Parameters
    ----------
    component : str
        One of `COMPONENTS`.
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Specific heat [J/(kg K)].

    Examples
    --------
    >>> round(float(component_specific_heat("water", 293.15)))
    4177
    """
    check_kelvin(temperature)
    return _quadratic(_SPECIFIC_HEAT, component, temperature)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """Properties of a mixture without pores; arrays where the inputs were.

    Attributes
    ----------
    density : Array
        [kg/m3].
    specific_heat : Array
        [J/(kg K)].
    conductivity_parallel : Array
        W/(m K), upper limit, heat along the layers.
    conductivity_series : Array
        W/(m K), lower limit, heat across the layers.
    conductivity_levy : Array
        After Levy, between both limits [W/(m K)].
    """

    density: Array
    specific_heat: Array
    conductivity_parallel: Array
    conductivity_series: Array
    conductivity_levy: (
        Array  # W/(m K), in between; best for foods (Fricke & Becker 2001, HVAC&R Res. 7, 311-330)
    )


def mixture(fractions: Mapping[str, Array], temperature: Array) -> Mixture:
    """Density, specific heat and three conductivities of a mixture of food components.

    Parameters
    ----------
    fractions : mapping of str to float or ndarray
        Mass fraction of each component [kg/kg], names from `COMPONENTS`. Taken as given and
        *not* divided by their sum: printed analyses rarely sum to one, and worked examples use them as
        printed. Make them sum to one for a balance that must close.
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    Mixture
        Arrays of the broadcast shape.

    Notes
    -----
    ASHRAE Refrigeration (2006) ch. 9: density, specific heat, parallel and perpendicular models. Levy (1981)
    for two phases: the liquid water and all the rest, the rest being in parallel among itself; with ice the
    spread between phases is wider and Levy's value less sure. Levy's formula is symmetric in the two.

    Examples
    --------
    >>> lean = mixture({"water": 0.72, "protein": 0.22, "fat": 0.06}, 293.15)
    >>> round(float(lean.density)), round(float(lean.specific_heat))
    (1047, 3575)
    """
    specific_volume = {name: x / component_density(name, temperature) for name, x in fractions.items()}
    volume = sum(specific_volume.values())
    share = {name: v / volume for name, v in specific_volume.items()}
    conductivity = {name: component_conductivity(name, temperature) for name in fractions}
    k_water = component_conductivity("water", temperature)
    rest = sum(v for name, v in share.items() if name != "water")
    k_rest = sum(v * conductivity[name] for name, v in share.items() if name != "water")
    k_rest = np.where(rest > 0.0, k_rest / np.where(rest > 0.0, rest, 1.0), k_water)[()]
    return Mixture(
        density=1.0 / volume,
        specific_heat=sum(x * component_specific_heat(name, temperature) for name, x in fractions.items()),
        conductivity_parallel=sum(v * conductivity[name] for name, v in share.items()),
        conductivity_series=1.0 / sum(v / conductivity[name] for name, v in share.items()),
        conductivity_levy=levy(k_water, k_rest, 1.0 - rest),
    )


def levy(conductivity_1: Array, conductivity_2: Array, volume_fraction_1: Array) -> Array:
    """Thermal conductivity [W/(m K)] of two intermingled phases, Levy (1981); symmetric in the two.

    Parameters
    ----------
    conductivity_1, conductivity_2 : float or ndarray
        Conductivities of the phases [W/(m K)].
    volume_fraction_1 : float or ndarray
        Volume fraction of the first phase [-].

    Returns
    -------
    float or ndarray
        Conductivity [W/(m K)].

    Notes
    -----
    From memory, checked by its symmetry and its limits; ASHRAE Refrigeration (2006) ch. 9. Written without
    the division by s, so that equal conductivities are no special case.

    Examples
    --------
    >>> round(float(levy(0.6, 0.2, 0.7)), 3)
    0.446
    """
    ratio, v = conductivity_1 / conductivity_2, volume_fraction_1
    s = (ratio - 1.0) ** 2 / ((ratio + 1.0) ** 2 + 0.5 * ratio)
    b = 2.0 - s + 2.0 * s * v
    excess = (ratio - 1.0) * 4.0 * v / (b + np.sqrt(b**2 - 8.0 * s * v))
    return conductivity_2 * (2.0 + ratio + 2.0 * excess) / (2.0 + ratio - excess)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrySolids:
    """The bone-dry solid without pores, at one reference temperature; arrays where the inputs were.

    Attributes
    ----------
    specific_heat : Array
        [J/(kg K)].
    specific_volume : Array
        [m3/kg].
    conductivity : Array
        [W/(m K)].
    """

    specific_heat: Array
    specific_volume: Array
    conductivity: Array


def dry_solids(
    protein: Array,
    fat: Array,
    carbohydrate: Array,
    ash: Array,
    salt: Array,
    sugar: Array,
    *,
    temperature: Array = DRY_SOLIDS_TEMPERATURE,
) -> DrySolids:
    """Properties of the dry solid of (marinated) meat.

    Parameters
    ----------
    protein, fat, carbohydrate, ash, salt, sugar : float or ndarray
        Mass fractions of the *dry* solid [kg/kg], summing to one; taken as given. Salt and sugar are what a
        marinade added, and count as ash and carbohydrate.
    temperature : float or ndarray
        Reference temperature [K]. The default, 40 degC, is the middle of drying.

    Returns
    -------
    DrySolids
        Of the broadcast shape.

    Notes
    -----
    From 10 to 80 degC, against the value at 40 degC: specific heat -2 to +3 %, specific volume -1.2 to
    +1.6 %, conductivity -12 to +13 % (a thin slab is nearly isothermal, so the last matters little). The
    conductivity is the components' in parallel; in series it would be 2-4 % lower. Measured lean beef without
    water had 1.3-1.4 kJ/(kg K) (Morley), against 2.0 here: a known disagreement at the dry end.

    Examples
    --------
    >>> solid = dry_solids(0.88, 0.08, 0.0, 0.04, 0.0, 0.0)
    >>> round(float(solid.specific_heat)), round(1.0 / float(solid.specific_volume))
    (2017, 1287)
    """
    fractions = {"protein": protein, "fat": fat, "carbohydrate": carbohydrate + sugar, "ash": ash + salt}
    solid = mixture(fractions, temperature)
    return DrySolids(
        specific_heat=solid.specific_heat,
        specific_volume=1.0 / solid.density,
        conductivity=solid.conductivity_parallel,
    )
