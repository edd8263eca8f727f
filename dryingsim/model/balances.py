"""How well the balances of water and energy close over a run: the same sums for one batch, an appliance or thousands.

Running totals of what passed the faces are integrated beside the state (`model.system`, `model.chamber`); here they are
compared with what the slabs and the chamber hold. A run that closes worse than these limits is an error, not a result.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.errors import SolverError
from dryingsim.evidence import Evidence
from dryingsim.model.chamber import Chamber

_CLOSURE = "largest miss of the balance of {}; the sums are invariants, so what is left is round-off"
SLAB_WATER: Annotated[float, Evidence("-", "numerical", _CLOSURE.format("slabs' water"))] = 1e-9
SLAB_ENERGY: Annotated[float, Evidence("-", "numerical", _CLOSURE.format("slabs' energy"))] = 1e-6
CHAMBER_WATER: Annotated[float, Evidence("-", "numerical", _CLOSURE.format("an appliance's water"))] = 1e-8
CHAMBER_ENERGY: Annotated[float, Evidence("-", "numerical", _CLOSURE.format("an appliance's energy"))] = 1e-5
_NOTHING = "as good as nothing passed: keeps nothing from being divided by nothing"
_LEAST_VAPOUR: Annotated[float, Evidence("kg/m2", "numerical", _NOTHING)] = 1e-3
_LEAST_HEAT: Annotated[float, Evidence("J/m2", "numerical", _NOTHING)] = 1.0
_LEAST_SUPPLIED: Annotated[float, Evidence("J", "numerical", _NOTHING)] = 1.0
_LEAST_DRIED: Annotated[float, Evidence("kg", "numerical", _NOTHING)] = 1e-6


@dataclass(frozen=True, slots=True)
class Exchange:
    """What slabs gained between two states, and by how much that misses what passed their faces.

    Attributes
    ----------
    water_kg_m2, energy_J_m2 : ndarray, shape (m,)
        Gained per area of one face.
    water_closure, energy_closure : ndarray, shape (m,)
        Miss relative to the vapour given off and to the heat received.
    """

    water_kg_m2: np.ndarray
    energy_J_m2: np.ndarray
    water_closure: np.ndarray
    energy_closure: np.ndarray


def slab_exchange(
    mass_kg_m2: np.ndarray, moisture_db: np.ndarray, enthalpy: np.ndarray, totals: np.ndarray
) -> Exchange:
    """Return what slabs gained, and the miss of their balances.

    Parameters
    ----------
    mass_kg_m2 : ndarray, shape (n, m)
        Dry mass that each node stands for [kg/m2].
    moisture_db, enthalpy : ndarray, shape (n, m)
        Change of the nodes' moisture [kg/kg] and enthalpy [J/kg].
    totals : ndarray, shape (5, m)
        Change of the running totals of `model.system`: vapour, the enthalpy it carried, three kinds of heat
        [kg/m2, J/m2].

    Returns
    -------
    Exchange
        Gains and misses.

    Examples
    --------
    >>> mass, change = np.ones((1, 1)), np.array([[-0.5]])
    >>> totals = np.array([[0.5], [0.0], [0.0], [0.0], [0.0]])
    >>> float(slab_exchange(mass, change, 0.0 * change, totals).water_closure[0])
    0.0
    """
    gained, heated = (mass_kg_m2 * moisture_db).sum(axis=0), (mass_kg_m2 * enthalpy).sum(axis=0)
    vapour, carried, received = totals[0], totals[1], totals[2] + totals[3] + totals[4]
    passed = np.where(received == 0.0, carried, received)  # held faces take no heat at all
    return Exchange(
        water_kg_m2=gained,
        energy_J_m2=heated,
        water_closure=np.abs(gained + vapour) / np.maximum(np.abs(vapour), _LEAST_VAPOUR),
        energy_closure=np.abs(heated - received + carried) / np.maximum(np.abs(passed), _LEAST_HEAT),
    )


def chamber_closure(
    chamber: Chamber,
    first: np.ndarray,
    last: np.ndarray,
    slab_water_kg: float | np.ndarray,
    slab_energy_J: float | np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Return the miss of a whole appliance's balances of water and energy.

    Parameters
    ----------
    chamber : Chamber
    first, last : ndarray, shape (size,) or (size, copies)
        Its states at the beginning and the end [J, kg, K], see `ChamberRows`.
    slab_water_kg, slab_energy_J : float or ndarray, shape (copies,)
        What all slabs in it gained meanwhile [kg], [J].

    Returns
    -------
    tuple of ndarray
        Relative to the water that the meat lost, and to the energy supplied.
    """
    energy0, water0 = chamber.content(first)
    energy1, water1 = chamber.content(last)
    supplied = np.maximum(chamber.supplied_J(last), _LEAST_SUPPLIED)
    dried = np.maximum(np.abs(slab_water_kg), _LEAST_DRIED)
    return (
        np.abs(water1 - water0 + slab_water_kg) / dried,
        np.abs(energy1 - energy0 + slab_energy_J) / supplied,
    )


def require_slabs_closed(water: float | np.ndarray, energy: float | np.ndarray) -> None:
    """Raise where the balances of slabs do not close as they must.

    Parameters
    ----------
    water, energy : float or ndarray
        Misses of the balances of slabs [-], see `slab_exchange`.

    Examples
    --------
    >>> require_slabs_closed(1e-12, 1e-9)
    """
    require_closed("water", water, SLAB_WATER)
    require_closed("energy", energy, SLAB_ENERGY)


def require_chamber_closed(water: float | np.ndarray, energy: float | np.ndarray) -> None:
    """Raise where the balances of a whole appliance do not close as they must.

    Parameters
    ----------
    water, energy : float or ndarray
        Misses of the balances of appliances [-], see `chamber_closure`.

    Examples
    --------
    >>> require_chamber_closed(1e-12, 1e-9)
    """
    require_closed("appliance's water", water, CHAMBER_WATER)
    require_closed("appliance's energy", energy, CHAMBER_ENERGY)


def require_closed(name: str, closure: float | np.ndarray, limit: float) -> None:
    """Raise where a balance does not close to a limit; values that are not a number do not close.

    Parameters
    ----------
    name : str
        Of the balance, for the message.
    closure : float or ndarray
        Its miss [-].
    limit : float
        Largest miss that is allowed [-].

    Examples
    --------
    >>> require_closed("water", 1e-3, 1e-9)
    Traceback (most recent call last):
    dryingsim.errors.SolverError: the water balance closed to 1.0e-03 only; 1e-09 is required
    """
    if not np.all(closure <= limit):
        raise SolverError(f"the {name} balance closed to {np.max(closure):.1e} only; {limit:.0e} is required")
