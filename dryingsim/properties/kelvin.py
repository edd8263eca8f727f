"""Whether a temperature is in kelvin: degrees Celsius would give a number that looks right and is not."""

from typing import Any

from dryingsim.constants import COLDEST_K, ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.typing import Array


def check_kelvin(temperature: Array, name: str = "temperature", *, floats: bool = False) -> None:
    """Refuse a number that no kitchen has in kelvin, but has in degrees Celsius or Fahrenheit.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Numbers are looked at, and arrays of whole numbers, which a person types. Arrays of floats are not:
        the solver tries states of hundreds of slices that it throws away again, and a look at each would cost it some
        per cent.
    name : str
        What the message calls it.
    floats : bool
        Look at arrays of floats too: where the solver does not come along.

    Examples
    --------
    >>> check_kelvin(25.0)
    Traceback (most recent call last):
        ...
    dryingsim.errors.InputError: temperature = 25 is colder than 173.15 K: kelvin are expected; 25 degC are 298.15 K
    """
    if getattr(temperature, "ndim", 0) == 0:
        _check(temperature, name)
    elif temperature.size and (floats or temperature.dtype.kind in "iu"):
        _check(temperature.min(), name)


def _check(number: Any, name: str) -> None:
    if number < COLDEST_K:  # what is not a number passes, as it does through every formula
        raise InputError(
            f"{name} = {number:g} is colder than {COLDEST_K} K: kelvin are expected; {number:g} degC are "
            f"{number + ZERO_CELSIUS:g} K"
        )
