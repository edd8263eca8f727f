"""What slices lie in outside of drying air: hot liquid, steam, or a cover that keeps them from drying.

A medium heats the faces through a film and takes no water as vapour. What hot meat lets go as juice is taken off where
it leaves the medium (`dripped`).
"""

from typing import Annotated, Any

import numpy as np

from dryingsim.batch.schema import StageKind
from dryingsim.evidence import Evidence
from dryingsim.model.faces import AirAtSlabs, Film
from dryingsim.model.slab import Slabs
from dryingsim.properties.cooking_loss import let_go, water_kept
from dryingsim.properties.water import saturation_pressure

LIQUID_W_M2K: Annotated[
    float, Evidence("W/(m2 K)", "estimate", "boiling liquid around pieces on the move", (500.0, 2000.0))
] = 1000.0
STEAM_W_M2K: Annotated[
    float,
    Evidence("W/(m2 K)", "estimate", "steam with some air in it, condensing on meat", (200.0, 5000.0)),
] = 400.0
COVER_W_M2K: Annotated[
    float,
    Evidence(
        "W/(m2 K)", "estimate", "still air and radiation under a cover, slices side by side", (4.0, 12.0)
    ),
] = 8.0
_FILMS = {"marinade": LIQUID_W_M2K, "water": LIQUID_W_M2K, "steam": STEAM_W_M2K, "rest": COVER_W_M2K}
_MOST_VAPOUR: Annotated[
    float,
    Evidence(
        "-", "numerical", "mole fraction that a medium is recorded with at most; nothing follows from it"
    ),
] = 0.98


def medium(kind: StageKind, temperature: np.ndarray, pressure_Pa: Any) -> AirAtSlabs:
    """Return what slices lie in during a stage that is not in drying air.

    Parameters
    ----------
    kind : str
        "marinade", "water", "steam" or "rest".
    temperature : ndarray, shape (m,)
        Of it, at each of the slabs [K].
    pressure_Pa : float or ndarray, shape (m,)
        Of the room [Pa].

    Returns
    -------
    AirAtSlabs
        Through which heat passes and no vapour.
    """
    slabs = temperature.size
    ones = np.ones(slabs)
    fraction = np.minimum(saturation_pressure(temperature) / pressure_Pa, _MOST_VAPOUR)
    film = Film(
        forced=np.full((2, slabs), _FILMS[kind]),
        natural=0.0 * ones,
        mass_factor=0.0 * ones,  # no vapour passes
    )
    around, sees = np.stack([temperature, temperature]), np.zeros((2, slabs))
    return AirAtSlabs(temperature, fraction, around, sees, pressure_Pa, film)


def dripped(
    slabs: Slabs, moisture: np.ndarray, enthalpy: np.ndarray, time_s: float | np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return what hot meat lets go as juice at every node: water and its enthalpy, per dry solid [kg/kg], [J/kg].

    Parameters
    ----------
    slabs : Slabs
    moisture, enthalpy : ndarray, shape (n, m)
        Of the nodes [kg/kg], [J/kg dry solid].
    time_s : float or ndarray, shape (m,)
        How long the slices were in it [s].

    Returns
    -------
    tuple of ndarray, shape (n, m)
    """
    temperature = slabs.temperature(moisture, enthalpy)
    loose = np.maximum(moisture - slabs.initial_moisture_db * water_kept(temperature), 0.0)
    left = moisture - let_go(time_s) * loose
    return moisture - left, enthalpy - slabs.enthalpy(left, temperature)
