"""Laws made of the functions that students write."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from dryingsim.properties.diffusivity import Convention
from dryingsim.typing import Array


@dataclass(frozen=True)
class _WrittenDiffusivity:
    function: Callable[[Any, Any], Any]
    convention: Convention

    def value(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Diffusivity [m2/s]."""
        return _filled(self.function, temperature, moisture_db)


@dataclass(frozen=True)
class _WrittenSorption:
    function: Callable[[Any, Any], Any]

    def water_activity(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Water activity [-]."""
        return _filled(self.function, temperature, moisture_db)


def _filled(function: Callable[[Any, Any], Any], temperature: Array, moisture_db: Array) -> Array:
    """Return what a function gives, in the shape of its arguments: a constant is a law too."""
    values = function(temperature, moisture_db)
    return np.asarray(values, dtype=float) + 0.0 * temperature + 0.0 * moisture_db


def diffusivity_law(function: Callable[[Any, Any], Any], convention: Convention = "dry_mass") -> Any:
    """Make a law for `ds.run(batch, diffusivity=...)` of a function.

    Parameters
    ----------
    function : callable
        Of temperature [K] and moisture [kg/kg], arrays; gives m2/s.
    convention : str
        "dry_mass", the constant of a slab that does not shrink, or "local".

    Returns
    -------
    DiffusivityLaw
        An object with `value(T, X)` [m2/s] and `convention`.

    Examples
    --------
    >>> law = diffusivity_law(lambda T, X: 5e-10)
    >>> law.value(np.full(2, 300.0), np.ones(2)).tolist()
    [5e-10, 5e-10]
    """
    return _WrittenDiffusivity(function, convention)


def sorption_law(function: Callable[[Any, Any], Any]) -> Any:
    """Make a law for `ds.Components(sorption=...)` of a function.

    Parameters
    ----------
    function : callable
        Of temperature [K] and moisture [kg/kg], arrays; gives a water activity, from above 0 to 1.

    Returns
    -------
    SorptionLaw
        An object with `water_activity(T, X)` [-].
    """
    return _WrittenSorption(function)
