r"""Meat that freezes: where it begins, how much ice there is, its enthalpy and its conductivity.

Meat does not freeze at one temperature. Ice forms from pure water, the solutes stay behind in less and less of it, and
at each temperature the rest is as concentrated as that temperature asks for. For an ideal solution (Schwartzberg 1976;
Chen 1985; ASHRAE Refrigeration (2006) ch. 9), with t in degC, t_f the initial freezing point, x_w all water and x_b the
water bound to protein, which never freezes:

.. math:: x_{ice} = (x_w - x_b)(1 - t_f/t), \qquad
          h = (t - t_r)\Big[1.55 + 1.26 x_s - \frac{(x_w - x_b) L_0 t_f}{t_r t}\Big], \quad t_r = -40

(kJ/kg, Chen's enthalpy). Both come from one curve: the heat is exactly that of the ice, and h has a closed inverse.
Measured lean beef (Riedel's table, from memory) lies within 5 % of h from -5 degC downward and up to 8 % above it at
-2 degC. What matters most is t_f, which laboratories give from -0.9 to -2.2 degC for fresh beef.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.constants import GAS_CONSTANT, ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.properties import meat
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.properties.solutions import MOLAR_MASS_SALT, MOLAR_MASS_SUGAR
from dryingsim.typing import Array

_ASHRAE = "ASHRAE Refrigeration (2006) ch. 9"
LATENT_HEAT_OF_FUSION: Annotated[float, Evidence("J/kg", "published", _ASHRAE)] = 333.6e3
BOUND_WATER: Annotated[
    float, Evidence("kg/kg protein", "published", f"water that never freezes; {_ASHRAE}")
] = 0.4
REFERENCE_CELSIUS: Annotated[
    float, Evidence("degC", "published", f"zero of Chen's enthalpy; {_ASHRAE}")
] = -40.0
CRYOSCOPIC: Annotated[float, Evidence("K kg/mol", "derived", "ideal solution in water")] = (
    GAS_CONSTANT * ZERO_CELSIUS**2 / LATENT_HEAT_OF_FUSION
)
_FRESH: Annotated[
    tuple[float, float],
    Evidence(
        "K",
        "published",
        "fresh meats: -(1.9 - 1.4 x_w) degC, a correlation read in a food-engineering text; -0.9 at 72 % water",
    ),
] = (1.9, -1.4)
HANDBOOK_FREEZING_K: Annotated[
    float, Evidence("K", "published", f"lean beef, {_ASHRAE} table 3: -1.7 degC (sirloin)")
] = ZERO_CELSIUS - 1.7
_SALT_OSMOTIC: Annotated[
    float,
    Evidence(
        "-",
        "derived",
        "osmotic coefficient of sodium chloride when it freezes, over that of an ideal solution of two ions, for "
        "0.1-2 mol/kg in the handbook's freezing points (shared/brine_freezing_points.csv)",
        (0.91, 0.93),
    ),
] = 0.92


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezingMeat:
    """Mass fractions that sum to one, and the initial freezing point. Scalars or equal arrays.

    Attributes
    ----------
    water, protein, fat, carbohydrate, ash : float or ndarray
        Mass fractions [kg/kg]; added sugar counts as carbohydrate, added salt as ash.
    freezing_K : float or ndarray
        Initial freezing point [K].
    """

    water: Array
    protein: Array
    fat: Array
    carbohydrate: Array
    ash: Array
    freezing_K: Array

    @property
    def freezable(self) -> Array:
        """Water that can freeze [kg/kg]."""
        return self.water - BOUND_WATER * self.protein


def fresh_freezing_point(water: Array) -> Array:
    """Initial freezing point of fresh, unsalted meat [K].

    Parameters
    ----------
    water : float or ndarray
        Mass fraction of water [kg/kg]. Valid 0.6-0.8.

    Returns
    -------
    float or ndarray
        Temperature [K].

    Notes
    -----
    Handbook tables have lower values for the same cuts (-1.7 to -2.2 degC, `HANDBOOK_FREEZING_K`).

    Examples
    --------
    >>> round(float(fresh_freezing_point(0.72)) - 273.15, 2)
    -0.89
    """
    return ZERO_CELSIUS - (_FRESH[0] + _FRESH[1] * water)


def solute_depression(salt: Array, sugar: Array, water: Array) -> Array:
    """How far salt and sugar lower the freezing point [K].

    Parameters
    ----------
    salt, sugar : float or ndarray
        Sodium chloride and sucrose [kg], each in
    water : float or ndarray
        this much water [kg].

    Returns
    -------
    float or ndarray
        Depression [K].

    Notes
    -----
    Van 't Hoff's law with one osmotic coefficient for salt, 0.92, and the ideal one for sugar. Brines: within 3 % of
    the printed freezing points up to 10 % salt by weight; 5 and 11 % too little at 15 and 20 %.

    Examples
    --------
    >>> round(float(solute_depression(5.0, 0.0, 95.0)), 2)  # 5 % brine: 3.0 in the handbook
    3.08
    """
    osmoles = 2.0 * _SALT_OSMOTIC * salt / MOLAR_MASS_SALT + sugar / MOLAR_MASS_SUGAR
    return CRYOSCOPIC * osmoles / water


def freezing_meat(
    water: Array,
    protein: Array,
    fat: Array,
    carbohydrate: Array,
    ash: Array,
    *,
    salt: Array = 0.0,
    sugar: Array = 0.0,
    fresh_K: Array | None = None,
) -> FreezingMeat:
    """Meat from its raw composition and what was rubbed or soaked into it.

    Parameters
    ----------
    water, protein, fat, carbohydrate, ash : float or ndarray
        Mass fractions of the raw meat [kg/kg], summing to one.
    salt, sugar : float or ndarray
        Taken up, per raw weight [kg/kg].
    fresh_K : float or ndarray, optional
        Freezing point of the unsalted meat [K]; `fresh_freezing_point` of its water if left out.

    Returns
    -------
    FreezingMeat
        Mass fractions divided by their sum.

    Examples
    --------
    >>> lean = freezing_meat(0.73, 0.22, 0.03, 0.0, 0.02)
    >>> round(float(lean.freezing_K - ZERO_CELSIUS), 2)  # read for fresh meats of 72 % water: -0.9
    -0.88
    """
    total = 1.0 + salt + sugar
    fresh = fresh_freezing_point(water) if fresh_K is None else fresh_K
    return FreezingMeat(
        water=water / total,
        protein=protein / total,
        fat=fat / total,
        carbohydrate=(carbohydrate + sugar) / total,
        ash=(ash + salt) / total,
        freezing_K=fresh - solute_depression(salt, sugar, water - BOUND_WATER * protein),
    )


def ice_fraction(food: FreezingMeat, temperature: Array) -> Array:
    """Ice per mass of meat [kg/kg]; none above the initial freezing point.

    Parameters
    ----------
    food : FreezingMeat
    temperature : float or ndarray
        Temperature [K]. Valid 233 K upward.

    Returns
    -------
    float or ndarray
        Mass fraction [-].

    Examples
    --------
    >>> lean = freezing_meat(water=0.73, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.02)
    >>> round(float(ice_fraction(lean, 253.15)), 2)
    0.61
    """
    check_kelvin(temperature)
    t_f = food.freezing_K - ZERO_CELSIUS
    t = np.minimum(temperature - ZERO_CELSIUS, t_f)
    return food.freezable * (1.0 - t_f / t)


def ice_fraction_tchigeov(water: Array, freezing_K: Array, temperature: Array) -> Array:
    """Ice per mass of food [kg/kg] by the other formula of the handbook, an empirical one.

    Parameters
    ----------
    water : float or ndarray
        Mass fraction of water [kg/kg].
    freezing_K, temperature : float or ndarray
        Initial freezing point and temperature below it [K]. Valid 228-272 K.

    Returns
    -------
    float or ndarray
        Mass fraction [-].

    Notes
    -----
    Tchigeov (1979); ASHRAE Refrigeration (2006) ch. 9. Nearer to measured beef below -5 degC than `ice_fraction`,
    too low by a tenth of the water at -2 degC, where slicing happens; it has no enthalpy of its own.

    Examples
    --------
    >>> round(float(ice_fraction_tchigeov(0.58, 271.45, 253.15)), 3)
    0.516
    """
    check_kelvin(freezing_K, "freezing_K")
    check_kelvin(temperature)
    return 1.105 * water / (1.0 + 0.7138 / np.log(freezing_K - temperature + 1.0))


def _chen(food: FreezingMeat) -> tuple[Array, Array, Array, Array]:
    """Coefficients a [J/(kg K)], b [J/kg], t_f [degC] of Chen's enthalpy, and the unfrozen specific heat."""
    solids = 1.0 - food.water
    a = 1550.0 + 1260.0 * solids
    unfrozen = 4190.0 - 2300.0 * solids - 628.0 * solids**3
    return a, food.freezable * LATENT_HEAT_OF_FUSION, food.freezing_K - ZERO_CELSIUS, unfrozen


def enthalpy(food: FreezingMeat, temperature: Array) -> Array:
    """Specific enthalpy [J/kg] above that at -40 degC.

    Parameters
    ----------
    food : FreezingMeat
    temperature : float or ndarray
        Temperature [K]. Valid 233-313 K.

    Returns
    -------
    float or ndarray
        Enthalpy [J/kg].

    Notes
    -----
    Chen (1985), as printed in ASHRAE Refrigeration (2006) ch. 9.

    Examples
    --------
    >>> lean = freezing_meat(water=0.73, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.02)
    >>> round(float(enthalpy(lean, 278.15) - enthalpy(lean, 253.15)) / 1e3)  # kJ/kg to freeze it
    262
    """
    check_kelvin(temperature)
    a, b, t_f, unfrozen = _chen(food)
    celsius, t_r = temperature - ZERO_CELSIUS, REFERENCE_CELSIUS
    t = np.minimum(celsius, t_f)
    return (t - t_r) * (a - b * t_f / (t_r * t)) + unfrozen * (celsius - t)


def temperature(food: FreezingMeat, enthalpy: Array) -> Array:
    """Temperature [K] of an enthalpy: the exact inverse of `enthalpy`.

    Parameters
    ----------
    food : FreezingMeat
    enthalpy : float or ndarray
        Above that at -40 degC [J/kg].

    Returns
    -------
    float or ndarray
        Temperature [K].

    Examples
    --------
    >>> lean = freezing_meat(water=0.73, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.02)
    >>> round(float(temperature(lean, enthalpy(lean, 268.15))), 2)
    268.15
    """
    a, b, t_f, unfrozen = _chen(food)
    t_r = REFERENCE_CELSIUS
    at_freezing = (t_f - t_r) * (a - b / t_r)
    below = np.minimum(enthalpy, at_freezing)
    middle = a * t_r + b * t_f / t_r + below  # a t^2 - middle t + b t_f = 0, the negative root
    t = (middle - np.sqrt(middle**2 - 4.0 * a * b * t_f)) / (2.0 * a)
    return ZERO_CELSIUS + t + (enthalpy - below) / unfrozen


def conductivity(food: FreezingMeat, temperature: Array) -> Array:
    """Thermal conductivity [W/(m K)], ice intermingled with what is not frozen.

    Parameters
    ----------
    food : FreezingMeat
    temperature : float or ndarray
        Temperature [K]. Valid 233-313 K.

    Returns
    -------
    float or ndarray
        Conductivity [W/(m K)].

    Notes
    -----
    Levy's formula twice: water among the solids (`meat.mixture`), then ice among these. Heat along the fibres finds
    some 20 % more.

    Examples
    --------
    >>> lean = freezing_meat(water=0.73, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.02)
    >>> round(float(conductivity(lean, 278.15)), 2), round(float(conductivity(lean, 253.15)), 2)
    (0.47, 1.3)
    """
    check_kelvin(temperature)
    ice = ice_fraction(food, temperature)
    rest = meat.mixture(
        {
            "water": food.water - ice,
            "protein": food.protein,
            "fat": food.fat,
            "carbohydrate": food.carbohydrate,
            "ash": food.ash,
        },
        temperature,
    )
    volume_ice = ice / meat.component_density("ice", temperature)
    share = volume_ice / (volume_ice + 1.0 / rest.density)
    return meat.levy(meat.component_conductivity("ice", temperature), rest.conductivity_levy, share)


def density(food: FreezingMeat) -> Array:
    """Density of the meat before it freezes [kg/m3], at 0 degC; frozen through it is some 5 % less.

    Parameters
    ----------
    food : FreezingMeat
        The meat.

    Returns
    -------
    float or ndarray
        Density [kg/m3].

    Examples
    --------
    >>> lean = freezing_meat(water=0.73, protein=0.22, fat=0.03, carbohydrate=0.0, ash=0.02)
    >>> round(float(density(lean)))
    1066
    """
    parts = {name: getattr(food, name) for name in ("water", "protein", "fat", "carbohydrate", "ash")}
    return meat.mixture(parts, ZERO_CELSIUS).density
