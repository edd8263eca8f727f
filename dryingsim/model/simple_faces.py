"""Faces that do less than exchange heat and vapour with the air: for teaching, and against exact solutions."""

from typing import Annotated

import numpy as np

from dryingsim.batch.components import HeldSurface
from dryingsim.evidence import Evidence
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR, AirAtSlabs, FaceExchange
from dryingsim.model.slab import Slabs
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT, liquid_enthalpy

_HOLDING: Annotated[
    float,
    Evidence(
        "kg/(m2 s)",
        "numerical",
        "per kg/kg that a held face is off: some 1e5 times what a slice conducts to it",
    ),
] = 10.0


def simple_faces(
    slabs: Slabs, air: AirAtSlabs, moisture: np.ndarray, temperature: np.ndarray
) -> FaceExchange:
    """Return what passes faces that take no heat.

    Parameters
    ----------
    slabs : Slabs
        With a `surface` of their own.
    air : AirAtSlabs
    moisture, temperature : ndarray, shape (2, m)
        Of the lower and upper face nodes [kg/kg], [K].

    Returns
    -------
    FaceExchange
        Of the kind that the surface asks for.
    """
    if isinstance(slabs.surface, HeldSurface):
        return HeldFaces(slabs, slabs.surface, moisture, temperature)
    return IsothermalFaces(slabs, air, moisture, temperature)


class IsothermalFaces(FaceExchange):
    """Faces of slices that keep their temperature: vapour passes as of `FaceExchange`, water leaves as it is, and no heat.

    Parameters
    ----------
    slabs : Slabs
    air : AirAtSlabs
    moisture, temperature : ndarray, shape (2, m)
        Of the lower and upper face nodes [kg/kg], [K].

    Attributes
    ----------
    boundary_flux, film, vapour_film
        As of `FaceExchange`.
    """

    def __init__(self, slabs: Slabs, air: AirAtSlabs, moisture: np.ndarray, temperature: np.ndarray) -> None:
        super().__init__(slabs, air, moisture, temperature)
        self._enthalpy = liquid_enthalpy(temperature)
        self.boundary_flux[CARRIED] = self.boundary_flux[VAPOUR] * self._enthalpy
        self.boundary_flux[CONVECTED:] = 0.0

    def slopes(self) -> np.ndarray:
        """As of `FaceExchange`, shape (4, 2, 2, m)."""
        out = super().slopes()
        out[CARRIED] = out[VAPOUR] * self._enthalpy
        out[CARRIED, 1] += self.boundary_flux[VAPOUR] * LIQUID_SPECIFIC_HEAT
        out[CONVECTED:] = 0.0
        return out

    def input_slopes(self) -> np.ndarray:
        """As of `FaceExchange`: of the air, only its vapour acts."""
        out = super().input_slopes()
        out[CONVECTED:] = 0.0
        return out


class HeldFaces(FaceExchange):
    """Faces held at a moisture, in place of `FaceExchange`: water leaves as it is, and no heat passes.

    Parameters
    ----------
    slabs : Slabs
    held : HeldSurface
    moisture, temperature : ndarray, shape (2, m)
        Of the lower and upper face nodes [kg/kg], [K].

    Attributes
    ----------
    boundary_flux, film, vapour_film
        As of `FaceExchange`; there is no film.
    """

    def __init__(
        self, slabs: Slabs, held: HeldSurface, moisture: np.ndarray, temperature: np.ndarray
    ) -> None:
        self._open = _HOLDING * slabs.vapour_open
        self._enthalpy = liquid_enthalpy(temperature)
        self.film = self.vapour_film = np.zeros_like(moisture)
        self.boundary_flux = np.zeros((4, *moisture.shape))
        self.boundary_flux[VAPOUR] = self._open * (moisture - np.reshape(held.moisture_db, (-1, 1)))
        self.boundary_flux[CARRIED] = self.boundary_flux[VAPOUR] * self._enthalpy

    def slopes(self) -> np.ndarray:
        """As of `FaceExchange`, shape (4, 2, 2, m)."""
        out = np.zeros((4, 2, *self._enthalpy.shape))
        out[VAPOUR, 0] = self._open
        out[CARRIED, 0] = self._open * self._enthalpy
        out[CARRIED, 1] = self.boundary_flux[VAPOUR] * LIQUID_SPECIFIC_HEAT
        return out

    def input_slopes(self) -> np.ndarray:
        """As of `FaceExchange`: the air sets nothing."""
        return np.zeros((4, 4, *self._enthalpy.shape))
