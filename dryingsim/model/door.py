"""Air exchanged through a door left ajar: buoyancy through a slot, and a fan's draught."""

from typing import Annotated

import numpy as np

from dryingsim.batch.appliance_schema import Door
from dryingsim.constants import GRAVITY
from dryingsim.evidence import Evidence

_SLIP_K: Annotated[
    float, Evidence("K", "numerical", "rounds off the square root of a vanishing density difference")
] = 1e-3


def slot_flow(
    width_m: float, height_m: float, discharge: float, density_in: np.ndarray, density_out: np.ndarray
) -> np.ndarray:
    """Mass flow each way through a vertical slot between two airs of different density [kg/s].

    Parameters
    ----------
    width_m, height_m : float
        Of the slot [m].
    discharge : float
        Discharge coefficient [-].
    density_in, density_out : float or ndarray
        Of the air on either side [kg/m3].

    Returns
    -------
    float or ndarray
        Mass flow [kg/s].

    Notes
    -----
    Bernoulli from the neutral level z, which balances the masses: z/H = 1/(1 + (rho_heavy/rho_light)^(1/3)). The
    usual Cd (A/3) sqrt(g H dT/T) (BS 5925; CIBSE) is its limit for small differences and 5-10 % higher in an oven.

    Examples
    --------
    >>> warm, cold = 353.05 / 343.15, 353.05 / 295.15
    >>> round(1e3 * float(slot_flow(0.05, 0.35, 0.6, warm, cold)), 3)  # g/s
    2.792
    """
    heavy, light = np.maximum(density_in, density_out), np.minimum(density_in, density_out)
    difference = heavy - light
    # sqrt(d) with a finite slope at zero, where the flow itself is nil
    root = difference / np.sqrt(difference + _SLIP_K * heavy / 300.0)
    level = height_m / (1.0 + np.cbrt(heavy / light))
    return discharge * width_m * (2.0 / 3.0) * level**1.5 * np.sqrt(2.0 * GRAVITY * heavy) * root


def door_flow(door: Door | None, gap_m: float, density_in: np.ndarray, density_out: np.ndarray) -> np.ndarray:
    """Mass flow each way through a door left ajar [kg/s].

    A side-hinged door opens a slot of its own height; a bottom-hinged one opens a wedge at either side, together as
    large as that slot, and a slot of the gap's height along its top edge. A fan adds its draught over half the area
    each way.

    Parameters
    ----------
    door : Door or None
        None where it cannot be left ajar.
    gap_m : float or ndarray
        How far it stands open [m].
    density_in, density_out : float or ndarray
        Of the air inside and in the room [kg/m3].

    Returns
    -------
    ndarray
        Mass flow [kg/s].

    Examples
    --------
    >>> door = Door(height_m=0.35, width_m=0.5, hinge="side")
    >>> warm, cold = np.array(353.05 / 343.15), 353.05 / 295.15
    >>> round(1e3 * float(door_flow(door, 0.05, warm, cold)), 2)  # g/s
    2.79
    """
    if door is None or np.max(gap_m) <= 0.0:
        return np.zeros_like(density_in)
    flow = slot_flow(gap_m, door.height_m, door.discharge, density_in, density_out)
    area = gap_m * door.height_m
    if door.hinge == "bottom":
        flow = flow + slot_flow(door.width_m, gap_m, door.discharge, density_in, density_out)
        area += gap_m * door.width_m
    return flow + 0.5 * area * door.draught_m_s * density_in
