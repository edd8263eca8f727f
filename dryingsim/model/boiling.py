r"""Where the vapour pressure of the water inside would exceed the pressure of the air, it leaves as vapour.

.. math:: -\partial X/\partial t = k\,X\,\frac{e^2}{e + w},\quad e = \max(a_w p_{sat}/P - 1, 0)

A smooth source in place of a boiling front: it holds the meat at its boiling point as long as it has water to give.
The vapour is taken to find its way out at once, with its enthalpy.
"""

import math
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.model.faces import CARRIED, VAPOUR
from dryingsim.model.slab import Slabs
from dryingsim.properties.water import VAPOUR_SPECIFIC_HEAT, log_saturation_pressure_slope, vapour_enthalpy

RATE_1_S: Annotated[
    float,
    Evidence(
        "1/s", "estimate", "k: so fast that in air of 150 degC the excess stays below 2 %, and no faster"
    ),
] = 1.0
_WIDTH: Annotated[
    float, Evidence("-", "estimate", "w: the excess over which the source sets in, without a kink")
] = 0.005


def may_boil(temperature: np.ndarray, pressure_Pa: float | np.ndarray) -> bool:
    """Whether anything is hot enough to boil: pure water does 1 to 2 K above the bound taken here.

    Parameters
    ----------
    temperature : ndarray, shape (n, m)
        [K]; what is no number (a solver's trial state) does not boil.
    pressure_Pa : float or ndarray, shape (m,)
        Of the air [Pa], 40 to 110 kPa.

    Returns
    -------
    bool

    Examples
    --------
    >>> may_boil(np.array([368.0, 372.5]), 101325.0), may_boil(np.array([368.0, np.nan]), 101325.0)
    (True, False)
    """
    least = pressure_Pa if isinstance(pressure_Pa, float) else float(np.min(pressure_Pa))
    bound = 1.0 / (1.0 / 373.12 - math.log(least / 101325.0) / 4900.0) - 1.0  # Clausius-Clapeyron
    return bool((temperature > bound).any())


class Boiling:
    """What boils away at each node, per dry mass.

    Parameters
    ----------
    slabs : Slabs
    x, temperature : ndarray, shape (n, m)
        Moisture [kg/kg] and temperature [K] of the nodes.
    over : ndarray, shape (n, m)
        `vapour_over` them [-].

    Attributes
    ----------
    boundary_flux : ndarray, shape (4, n, m)
        As `FaceExchange.boundary_flux`, per kg of dry solid: [1/s] and [W/kg].
    """

    def __init__(self, slabs: Slabs, x: np.ndarray, temperature: np.ndarray, over: np.ndarray) -> None:
        self._slabs, self._x, self._t = slabs, x, temperature
        self._y, self._enthalpy = over, vapour_enthalpy(temperature)
        excess = np.maximum(over - 1.0, 0.0)
        self._set_in = excess / (excess + _WIDTH)
        vapour = RATE_1_S * x * excess * self._set_in
        self.boundary_flux = np.zeros((4, *x.shape))
        self.boundary_flux[VAPOUR], self.boundary_flux[CARRIED] = vapour, vapour * self._enthalpy

    def slopes(self) -> np.ndarray:
        """Derivatives of `boundary_flux` by the node's moisture and temperature, shape (4, 2, n, m)."""
        by_x, by_t = self._slabs.sorption.slopes(self._x, self._t, self._slabs.recipe)
        steep = (
            RATE_1_S * self._x * self._set_in * (2.0 - self._set_in) * self._y
        )  # d(e^2/(e+w))/de = s (2 - s)
        vapour = self.boundary_flux[VAPOUR]
        out = np.zeros((4, 2, *self._t.shape))
        out[VAPOUR, 0] = steep * by_x + vapour / self._x
        out[VAPOUR, 1] = steep * (by_t + log_saturation_pressure_slope(self._t))
        out[CARRIED] = out[VAPOUR] * self._enthalpy
        out[CARRIED, 1] += vapour * VAPOUR_SPECIFIC_HEAT
        return out
