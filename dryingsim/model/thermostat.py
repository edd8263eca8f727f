"""The controls of an appliance: heater under a thermostat, humidity under steam and vents.

All switch smoothly but for a thermostat that is said to switch: a control with corners is what a solver stumbles over.
"""

from typing import Annotated

import numpy as np

from dryingsim.batch.appliance_schema import Heater
from dryingsim.evidence import Evidence
from dryingsim.typing import Array

IDEAL_WIDTH_K: Annotated[
    float,
    Evidence(
        "K",
        "numerical",
        "an ideal thermostat goes from 95 % power to 5 % within three of these around its setting",
    ),
] = 0.1
_FOLLOWING = (
    "an ideal thermostat that senses the return sets the supply air by it: {}. An integral of a delayed signal stands "
    "still from 0.64 times the delay on and dies out without swinging from 2.7 on"
)
FOLLOWING_S: Annotated[float, Evidence("s", "estimate", _FOLLOWING.format("its time constant"))] = 30.0
FOLLOWING_ROUNDS: Annotated[
    float,
    Evidence("-", "estimate", _FOLLOWING.format("how many times as long as the air takes round at least")),
] = 3.0
HUMIDITY_WIDTH: Annotated[
    float,
    Evidence(
        "-", "numerical", "as `IDEAL_WIDTH_K`, of the humidity control: share of the vapour fraction held"
    ),
] = 0.005
_OFF_AT_SETTING: Annotated[
    float, Evidence("-", "numerical", "widths past its setting at which a humidity control works half")
] = 5.0


def share_on(demand: Array) -> Array:
    """Smooth switch from 0 to 1 around zero.

    Parameters
    ----------
    demand : float or ndarray
        What is asked for, in widths of the control [-].

    Returns
    -------
    float or ndarray
        Share [-].

    Examples
    --------
    >>> [round(float(share_on(demand)), 3) for demand in (-3.0, 0.0, 3.0)]
    [0.047, 0.5, 0.953]
    """
    return 0.5 * (1.0 + np.tanh(0.5 * demand))


def humidity_share(miss: Array) -> Array:
    """Share of its steam, or of its purging air, that a humidity control lets in.

    Parameters
    ----------
    miss : float or ndarray
        By how much the vapour fraction misses the one held, as a share of it [-]; at none, hardly anything is let in.

    Returns
    -------
    float or ndarray
        Share [-].

    Examples
    --------
    >>> [round(float(humidity_share(miss)), 2) for miss in (0.0, 0.025, 0.05)]
    [0.01, 0.5, 0.99]
    """
    return share_on(miss / HUMIDITY_WIDTH - _OFF_AT_SETTING)


def heater_power(
    heater: Heater, share: float, short_K: np.ndarray, stored_J: np.ndarray
) -> tuple[Array, Array]:
    """Power taken by a heater and power it gives off to the air.

    Parameters
    ----------
    heater : Heater
    share : float
        Of its power, as a switching thermostat has it: 1 on, 0 off, between them the mean of both [-].
    short_K : ndarray
        What the air is short of its setting [K].
    stored_J : ndarray
        Heat stored in the element [J].

    Returns
    -------
    tuple of ndarray
        Taken, given off [W].

    Examples
    --------
    >>> heater = Heater(power_W=500.0, radiant_share=0.1, control="ideal", band_K=2.0, sensor="return",
    ...     sensor_lag_s=30.0, element_lag_s=20.0, fan_W=25.0)
    >>> taken, given = heater_power(heater, 1.0, np.array([-1.0, 0.0, 1.0]), np.zeros(3))
    >>> given.round()
    array([  0., 250., 500.])
    """
    if heater.control == "switching":
        taken = np.full_like(short_K, heater.power_W * share)
        return taken, stored_J / np.maximum(heater.element_lag_s, 1.0)
    power = heater.power_W * share_on(short_K / IDEAL_WIDTH_K)
    return power, power


def following_time(around_s: Array) -> Array:
    """Time constant [s] of an ideal thermostat that senses the return; the air takes `around_s` [s] round.

    Returns
    -------
    float or ndarray
        Time constant [s].

    Examples
    --------
    >>> float(following_time(2.0)), float(following_time(20.0))
    (30.0, 60.0)
    """
    return np.maximum(FOLLOWING_S, FOLLOWING_ROUNDS * around_s)


def shortfall(
    heater: Heater,
    setting_K: Array,
    sensed_K: np.ndarray,
    held_K: np.ndarray,
    supply_K: np.ndarray,
    following_s: Array,
) -> tuple[np.ndarray, np.ndarray]:
    """What the air is short of its setting where the heater acts, and the rate of the thermostat's own state.

    Sensing the return, an ideal thermostat keeps the supply air at its state `held_K`, which tends to what the supply is
    and the return lacks. So it comes to rest where the heater works by what the return lacks, and cannot run away while
    the heater is full on. Otherwise the state is the temperature of a sensor that lags behind the air.

    Parameters
    ----------
    heater : Heater
    setting_K : float or ndarray
        Temperature set [K].
    sensed_K, held_K, supply_K : ndarray
        Temperature of the air at the sensor, state of the thermostat, temperature of the supply air [K].
    following_s : float or ndarray
        See `following_time` [s].

    Returns
    -------
    tuple of ndarray
        Short by [K]; rate of the state [K/s].

    Examples
    --------
    >>> heater = Heater(power_W=500.0, radiant_share=0.1, control="ideal", band_K=2.0, sensor="return",
    ...     sensor_lag_s=30.0, element_lag_s=20.0, fan_W=25.0)
    >>> short, rate = shortfall(heater, 340.0, np.array(338.0), np.array(341.0), np.array(341.0), 30.0)
    >>> float(short), round(float(rate), 3)  # as warm as it was asked to be, but the return lacks 2 K
    (0.0, 0.067)
    """
    short = setting_K - sensed_K
    if heater.control == "ideal" and heater.sensor == "return":
        return held_K - supply_K, (supply_K + short - held_K) / following_s
    return short, (sensed_K - held_K) / np.maximum(heater.sensor_lag_s, 1.0)
