r"""Sorption laws other than that of meat: any a_w(T, X), with the inverse that follows from it.

The net heat of sorption is not a second law but the first one's dependence on temperature, by Clausius and Clapeyron:

.. math:: q = R T^2\,(\partial\ln a_w/\partial T)_X
"""

from dataclasses import dataclass
from typing import Annotated, Protocol

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.properties.water_activity import (
    DRIEST,
    WETTEST,
    Recipe,
    SorptionTable,
    equilibrium_moisture,
    water_activity,
)
from dryingsim.typing import Array

_LEAST: Annotated[float, Evidence("-", "numerical", "smallest water activity that a law is taken at")] = 1e-9
_STEP_K: Annotated[float, Evidence("K", "numerical", "over which slopes by temperature are taken")] = 1.0
_STEP: Annotated[float, Evidence("-", "numerical", "of ln X, over which slopes by moisture are taken")] = 1e-4
_HALVINGS: Annotated[int, Evidence("-", "numerical", "of ln X: the moisture to 1e-12 of itself")] = 44


class SorptionLaw(Protocol):
    """What is asked of a law of sorption: any object with this method."""

    def water_activity(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Water activity [-], rising with moisture to 1 at most; arrays broadcast.

        Parameters
        ----------
        temperature, moisture_db : float or ndarray
            [K], [kg/kg].
        """


@dataclass(frozen=True, slots=True)
class OwnSorption:
    """A law of a user's own as the solver asks for it; see `SorptionTable`, which it stands in for.

    Attributes
    ----------
    law : SorptionLaw
    """

    law: SorptionLaw

    def log_activity(self, moisture: Array, temperature: Array, row: Array) -> Array:
        """Return ln(a_w) [-] within what is asked: a solver's trial state may be anything, and a law may pass 1 where all is wet.

        Parameters
        ----------
        moisture, temperature : ndarray, shape (..., m)
            [kg/kg], taken as 1e-4 below and as 20 above these; [K].
        row : ndarray of int, shape (m,)
            Of no matter: salt and sugar change nothing in a law of one's own.

        Returns
        -------
        ndarray, shape (..., m)
        """
        del row
        within = np.fmin(np.fmax(moisture, DRIEST), WETTEST)
        return np.log(np.clip(self.law.water_activity(temperature, within), _LEAST, 1.0))

    def slopes(self, moisture: Array, temperature: Array, row: Array) -> tuple[Array, Array]:
        """Derivatives d ln(a_w)/dX [kg/kg] and d ln(a_w)/dT [1/K]; parameters as for `log_activity`.

        Parameters
        ----------
        moisture, temperature : ndarray, shape (..., m)
            [kg/kg]; [K].
        row : ndarray of int, shape (m,)
            Of no matter.

        Returns
        -------
        tuple of ndarray
            [1/(kg/kg)]; [1/K].
        """
        x = np.maximum(moisture, DRIEST)
        drier, wetter = (
            self.log_activity(x * (1.0 + by), temperature, row) for by in (-0.5 * _STEP, 0.5 * _STEP)
        )
        colder, warmer = (
            self.log_activity(x, temperature + by, row) for by in (-0.5 * _STEP_K, 0.5 * _STEP_K)
        )
        return (wetter - drier) / (x * _STEP), (warmer - colder) / _STEP_K


Sorption = SorptionTable | OwnSorption


@dataclass(frozen=True, slots=True)
class Curve:
    """The sorption of one recipe, both ways: meat's own, or that of another law.

    Attributes
    ----------
    recipe : Recipe
    law : SorptionLaw or None
        In place of meat's.
    """

    recipe: Recipe
    law: SorptionLaw | None = None

    def water_activity(self, moisture_db: Array, temperature: Array) -> Array:
        """Water activity [-] at a moisture.

        Parameters
        ----------
        moisture_db, temperature : float or ndarray
            [kg/kg], [K].

        Returns
        -------
        float or ndarray
            [-].
        """
        if self.law is None:
            return water_activity(moisture_db, temperature, self.recipe)
        return np.clip(self.law.water_activity(temperature, moisture_db), _LEAST, 1.0)

    def moisture(self, activity: Array, temperature: Array) -> Array:
        """Moisture [kg/kg] at a water activity, by halving for another law than meat's; `WETTEST` where it is not reached.

        Parameters
        ----------
        activity, temperature : float or ndarray
            [-], [K].

        Returns
        -------
        float or ndarray
            [kg/kg].
        """
        if self.law is None:
            return equilibrium_moisture(activity, temperature, self.recipe)
        low = np.full(np.broadcast(activity, temperature).shape, np.log(DRIEST))
        high = np.full_like(low, np.log(WETTEST))
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            below = self.law.water_activity(temperature, np.exp(middle)) < activity
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.exp(0.5 * (low + high))
