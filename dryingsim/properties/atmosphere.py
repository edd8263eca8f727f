"""The standard atmosphere."""

from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.typing import Array


def standard_pressure(altitude_m: Array) -> Array:
    """Pressure of the standard atmosphere [Pa] at an altitude [m], -500 to 11 000 m.

    Parameters
    ----------
    altitude_m : float or ndarray
        Height above sea level [m].

    Returns
    -------
    float or ndarray
        Pressure [Pa].

    Notes
    -----
    ASHRAE Fundamentals (2009) ch. 1, eq. 3.

    Examples
    --------
    >>> round(float(standard_pressure(1500.0)))
    84556
    """
    return STANDARD_PRESSURE * (1.0 - 2.25577e-5 * altitude_m) ** 5.2559
