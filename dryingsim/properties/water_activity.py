r"""Water activity of lean meat with salt and sugar: one curve per recipe, its exact inverse, its heat of sorption.

Every component (protein, the meat's own solutes, sodium chloride, sugar) holds its own water at the *common*
water activity, so moisture is a sum and an explicit function of the water activity:

.. math:: X(y) = P\,W_{GAB}(e^{-y}) + P\,n_0 M_w / y + n_{NaCl}/m_{NaCl}(y)\,s(y) + n_{suc}/m_{suc}(y),
          \qquad y = -\ln a_w

with P the protein in the dry solid. The way back, moisture to water activity, is a safeguarded Newton iteration
(`water_activity`) or, inside the solver, a cubic table of ln y over ln X built once per recipe (`SorptionTable`).

Heat of sorption and the curve's dependence on temperature are one assumption, not two: with y0 the value at
298.15 K and q(y0) the net heat of sorption,

.. math:: y(X, T) = y_0(X) - \frac{q(y_0)}{R}\left(\frac{1}{T_0} - \frac{1}{T}\right),
          \qquad q(y_0) = q_1 \frac{y_0^2}{y_0 + b}

so that Clausius-Clapeyron, :math:`q = R\,\partial y/\partial(1/T)` at constant X, holds exactly.

Status of the numbers: a working curve chosen by hand on measured raw beef (0.99), duck jerky and beef jerky; no
published parameter set for beef could be read. Take the water activity of whole muscle of known recipe as known to +-0.04
(`UNCERTAINTY`), that of other products less well (`batch.catalog.drying_evidence`).
"""

from dataclasses import dataclass
from functools import lru_cache
from numbers import Real
from typing import Annotated

import numpy as np

from dryingsim.constants import GAS_CONSTANT, MOLAR_MASS_WATER
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.properties.solutions import (
    MOLAR_MASS_SALT,
    MOLAR_MASS_SUGAR,
    SALT_SATURATION,
    sodium_chloride_molality,
    sucrose_mole_fraction,
)
from dryingsim.typing import Array

UNCERTAINTY: Annotated[
    float,
    Evidence(
        "-", "estimate", "largest misfit of the curve on measured jerky (0.001-0.038 on the rows not used)"
    ),
] = 0.04

REFERENCE_TEMPERATURE: Annotated[float, Evidence("K", "exact", "25 degC, where the data are")] = 298.15

_GAB = (
    "water of the protein: {} of a working curve chosen by hand; monolayers of dried beef 0.036-0.049 kg/kg dry "
    "matter (Yusuf 2024, abstract) reach up to 0.055 x protein share 0.88"
)
GAB_MONOLAYER: Annotated[float, Evidence("kg/kg protein", "derived", _GAB.format("first layer"))] = 0.055
GAB_C: Annotated[float, Evidence("-", "derived", _GAB.format("binding of the first layer"))] = 11.0
GAB_K: Annotated[float, Evidence("-", "derived", _GAB.format("binding of further layers"))] = 0.93

NATIVE_SOLUTES: Annotated[
    float, Evidence("osmol/kg protein", "estimate", "gives a_w 0.991 for raw eye of round (measured 0.99)")
] = 1.0
_SALT_SATURATION_Y = -np.log(SALT_SATURATION)
SALT_BLEND: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "width in -ln(a_w): real meat shows the step of salt that crystallises (salted pork, +-0.01), but not as a "
        "discontinuity",
        (0.005, 0.02),
    ),
] = 0.01
_HEAT_OF_SORPTION = (
    "net heat of sorption after the published shape (Clemente et al. 2009: equal to the latent heat above X = 0.15, "
    "rising below): 1.1, 2.4, 7.5 kJ/mol at X = 0.15, 0.10, 0.05; range x0.5-2"
)
HEAT_SLOPE: Annotated[float, Evidence("J/mol", "estimate", _HEAT_OF_SORPTION, (3000.0, 12000.0))] = 6000.0
HEAT_BEND: Annotated[float, Evidence("-", "estimate", _HEAT_OF_SORPTION)] = 0.6


@dataclass(frozen=True, slots=True)
class Recipe:
    """What holds the water, per kg of dry solid (salt and sugar count as dry solid). Scalars or equal arrays.

    Attributes
    ----------
    protein : Array
        [kg/kg].
    """

    protein: Array
    salt: Array = 0.0  # kg NaCl/kg
    sugar: Array = 0.0  # kg sucrose/kg

    def __post_init__(self) -> None:
        for name in ("protein", "salt", "sugar"):
            share = getattr(self, name)
            if getattr(
                share, "ndim", 0
            ):  # arrays are the package's own, put together of values looked at before
                continue
            if not isinstance(share, Real | np.ndarray) or not 0.0 <= float(share) <= 1.0:  # also catches nan
                raise InputError(
                    f"Recipe, {name} = {share}: a share from 0 to 1 is expected, kg per kg of dry solid"
                )


def moisture_at_reference(y0: Array, recipe: Recipe) -> tuple[Array, Array]:
    """Equilibrium moisture at 25 degC and its slope.

    Parameters
    ----------
    y0 : float or ndarray
        -ln(a_w) at 25 degC [-], > 0.
    recipe : Recipe
        Composition of the dry solid.

    Returns
    -------
    tuple of ndarray
        Moisture X [kg water/kg dry solid] and dX/dy0 (negative).

    Examples
    --------
    >>> moisture, slope = moisture_at_reference(-np.log(0.85), Recipe(protein=0.879))
    >>> round(float(moisture), 3), round(float(slope), 2)
    (0.323, -1.48)
    """
    y = np.asarray(y0, dtype=float)
    ka = GAB_K * np.exp(-y)
    rest, plus = 1.0 - ka, 1.0 + (GAB_C - 1.0) * ka
    gab = GAB_MONOLAYER * GAB_C * ka / (rest * plus)
    gab_slope = -gab * (1.0 + ka / rest - (GAB_C - 1.0) * ka / plus)
    native = NATIVE_SOLUTES * MOLAR_MASS_WATER / y
    moisture = recipe.protein * (gab + native)
    slope = recipe.protein * (gab_slope - native / y)

    molality, molality_slope = sodium_chloride_molality(y)
    dissolved = 0.5 * (1.0 - np.tanh(0.5 * (y - _SALT_SATURATION_Y) / SALT_BLEND))
    brine = recipe.salt / MOLAR_MASS_SALT / molality * dissolved
    moisture = moisture + brine
    slope = slope - brine * (molality_slope / molality + (1.0 - dissolved) / SALT_BLEND)

    fraction, fraction_slope = sucrose_mole_fraction(y)
    moles = recipe.sugar / MOLAR_MASS_SUGAR * MOLAR_MASS_WATER
    moisture = moisture + moles * (1.0 - fraction) / fraction
    slope = slope - moles * fraction_slope / fraction**2
    return moisture, slope


def net_heat_of_sorption(y0: Array) -> Array:
    """Heat of sorption above the latent heat [J/mol water] at the state y0 = -ln(a_w) (25 degC).

    Parameters
    ----------
    y0 : float or ndarray
        -ln(a_w) at 25 degC [-].

    Returns
    -------
    float or ndarray
        Heat [J/mol water].

    Examples
    --------
    >>> round(float(net_heat_of_sorption(-np.log(0.5))))
    2229
    """
    return HEAT_SLOPE * y0 * y0 / (y0 + HEAT_BEND)


def _warmth(temperature: Array) -> Array:
    """(1/T0 - 1/T)/R [mol/J]: how far the temperature is from the reference, in the curve's own measure."""
    return (1.0 / REFERENCE_TEMPERATURE - 1.0 / temperature) / GAS_CONSTANT


def equilibrium_moisture(water_activity: Array, temperature: Array, recipe: Recipe) -> Array:
    """Moisture in equilibrium with a water activity: the exact inverse of `water_activity`.

    Parameters
    ----------
    water_activity : float or ndarray
        Water activity [-], 0 < a_w < 1.
    temperature : float or ndarray
        Temperature [K]. Valid 263-423 K.
    recipe : Recipe
        Composition of the dry solid.

    Returns
    -------
    float or ndarray
        Moisture [kg water/kg dry solid].

    Raises
    ------
    InputError
        For water activities that are not between 0 and 1.

    Examples
    --------
    >>> lean = Recipe(protein=0.879)  # salt-free eye of round
    >>> round(float(equilibrium_moisture(0.85, 298.15, lean)), 3)
    0.323
    """
    check_kelvin(temperature)
    if not np.all(np.greater(water_activity, 0.0) & np.less(water_activity, 1.0)):
        raise InputError("water activity is expected between 0 and 1, as a fraction, not in percent")
    y = -np.log(water_activity)
    shift = HEAT_SLOPE * _warmth(temperature)
    # y (y0 + b) = y0^2 + b y0 - shift y0^2, a quadratic in y0 with one positive root
    a, b = 1.0 - shift, HEAT_BEND - y
    y0 = (np.sqrt(b * b + 4.0 * a * HEAT_BEND * y) - b) / (2.0 * a)
    return moisture_at_reference(y0, recipe)[0]


def _reference_depression(moisture: Array, recipe: Recipe, guess: Array = 0.3) -> Array:
    """y0 = -ln(a_w) at 25 degC that holds the given moisture, by Newton in ln X over ln y within a bracket."""
    target = np.log(np.asarray(moisture, dtype=float))
    shape = np.broadcast(target, recipe.protein, recipe.salt, recipe.sugar).shape
    low, high = np.full(shape, np.log(1e-6)), np.full(shape, np.log(200.0))
    u = np.broadcast_to(np.log(guess), shape)
    for _ in range(60):
        y = np.exp(u)
        value, slope = moisture_at_reference(y, recipe)
        miss = np.log(value) - target
        low, high = np.where(miss > 0.0, u, low), np.where(miss > 0.0, high, u)
        step = u - miss * value / (slope * y)
        there = np.abs(miss) < 1e-12
        if there.all():
            break
        u = np.where(there, u, np.where((step > low) & (step < high), step, 0.5 * (low + high)))
    return np.exp(u)


def water_activity(moisture: Array, temperature: Array, recipe: Recipe) -> Array:
    """Water activity at a moisture.

    Parameters
    ----------
    moisture : float or ndarray
        Moisture X [kg water/kg dry solid], 1e-4 to 20. Supported by data for 0.05-4.
    temperature : float or ndarray
        Temperature [K]. Valid 263-423 K; data 278-333 K.
    recipe : Recipe
        Composition of the dry solid.

    Returns
    -------
    float or ndarray
        Water activity [-], known to +-`UNCERTAINTY` in whole muscle of known recipe.

    Raises
    ------
    InputError
        For moistures that are not above 0 (or no numbers).

    Examples
    --------
    >>> raw = Recipe(protein=0.879)
    >>> round(float(water_activity(2.764, 298.15, raw)), 3)
    0.993
    """
    check_kelvin(temperature)
    if not np.all(np.greater(moisture, 0.0)):
        raise InputError("moisture [kg water/kg dry solid] is expected above 0 everywhere")
    y0 = _reference_depression(moisture, recipe)
    return np.exp(-(y0 - net_heat_of_sorption(y0) * _warmth(temperature)))


DRIEST: Annotated[
    float, Evidence("kg/kg", "numerical", "moisture below which a sorption curve is not asked")
] = 1e-4
WETTEST: Annotated[float, Evidence("kg/kg", "numerical", "likewise above")] = 20.0
_PIECES: Annotated[int, Evidence("-", "numerical", "of the table over ln X: within 1e-6 in a_w")] = 1280


def _grid() -> np.ndarray:
    """Ln X at the ends of the pieces of a table."""
    return np.linspace(np.log(DRIEST), np.log(WETTEST), _PIECES + 1)


@lru_cache(maxsize=256)
def _pieces(recipe: Recipe) -> np.ndarray:
    """Coefficients of the cubic pieces of ln y0 of a recipe, shape (4, pieces): they take time, and many batches share them."""
    grid = _grid()
    trial = np.geomspace(1e-4, 100.0, 1000)
    rough = np.interp(-grid, -np.log(moisture_at_reference(trial, recipe)[0]), np.log(trial))
    y0 = _reference_depression(np.exp(grid), recipe, np.exp(rough))
    value, slope = moisture_at_reference(y0, recipe)
    level, tangent = np.log(y0), value / (slope * y0) / (1.0 / (grid[1] - grid[0]))
    rise = np.diff(level)
    return np.stack(
        [
            level[:-1],
            tangent[:-1],
            3.0 * rise - 2.0 * tangent[:-1] - tangent[1:],
            tangent[:-1] + tangent[1:] - 2.0 * rise,
        ]
    )


class SorptionTable:
    """The same curve as `water_activity`, tabulated for the solver: ln y0 by cubic pieces over an even ln X.

    Deviates from the exact curve by less than 1e-6 in a_w. One row per recipe; `row` picks one for each slab. The
    table must reach below what the hottest, driest air leaves in meat (0.0009 kg/kg in room air heated to 135 degC): a
    curve that stops falling would let a face dry below nothing.
    """

    def __init__(self, recipes: list[Recipe]) -> None:
        grid = _grid()
        self._start, self._per_width = grid[0], 1.0 / (grid[1] - grid[0])
        self._pieces = np.concatenate(
            [_pieces(recipe) for recipe in recipes], axis=1
        )  # (4, recipes * pieces)

    def _piece(self, moisture: Array, row: Array) -> tuple[Array, Array]:
        """Coefficients (4, ...) of the piece of ln y0 that each moisture lies in, and its place 0..1 there."""
        # a solver's trial state may be anything
        within = np.fmin(np.fmax(moisture, DRIEST), WETTEST)
        place = (np.log(within) - self._start) * self._per_width
        piece = np.minimum(place.astype(np.intp), _PIECES - 1)
        return self._pieces.take(piece + row * _PIECES, axis=1), place - piece

    def log_activity(self, moisture: Array, temperature: Array, row: Array) -> Array:
        """Return ln(a_w) [-].

        Parameters
        ----------
        moisture, temperature : ndarray, shape (..., m)
            [kg/kg], taken as 1e-4 below and as 20 above these; [K].
        row : ndarray of int, shape (m,)
            Recipe of each slab.

        Returns
        -------
        ndarray, shape (..., m)
        """
        (c0, c1, c2, c3), u = self._piece(moisture, row)
        y0 = np.exp(c0 + u * (c1 + u * (c2 + u * c3)))
        return net_heat_of_sorption(y0) * _warmth(temperature) - y0

    def slopes(self, moisture: Array, temperature: Array, row: Array) -> tuple[Array, Array]:
        """Derivatives d ln(a_w)/dX [kg/kg] and d ln(a_w)/dT [1/K]; parameters as for `log_activity`.

        Parameters
        ----------
        moisture, temperature : ndarray, shape (..., m)
            [kg/kg]; [K].
        row : ndarray of int, shape (m,)
            Recipe of each slab.

        Returns
        -------
        tuple of ndarray
            [1/(kg/kg)]; [1/K].
        """
        (c0, c1, c2, c3), u = self._piece(moisture, row)
        y0 = np.exp(c0 + u * (c1 + u * (c2 + u * c3)))
        slope = (c1 + u * (2.0 * c2 + 3.0 * u * c3)) * self._per_width
        bend = y0 + HEAT_BEND
        heat_slope = HEAT_SLOPE * y0 * (y0 + 2.0 * HEAT_BEND) / (bend * bend)
        by_moisture = (heat_slope * _warmth(temperature) - 1.0) * y0 * slope / np.maximum(moisture, DRIEST)
        return by_moisture, net_heat_of_sorption(y0) / (GAS_CONSTANT * temperature * temperature)
