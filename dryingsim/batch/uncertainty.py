"""How far one number may be from its value, and what is drawn of it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from typing import Literal, get_args

import numpy as np

from dryingsim.batch.catalog.drying_evidence import between_studies, student
from dryingsim.batch.checks import check_choice, show
from dryingsim.batch.distributions import Parameters, frozen
from dryingsim.errors import InputError

Shape = Literal["normal", "lognormal", "student", "uniform"]
_MOST_OF_LOGARITHM = 3.0  # twenty times the value either way: more is per cent typed for a share


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """How far an input may be from its value.

    Attributes
    ----------
    shape : str
        "normal": value + size * z; "lognormal": value * exp(size * z), so that it stays positive; "student": likewise
        with Student's t in place of z, which has heavy tails: now and then far off; "uniform": value plus anything
        within the size either way (for a factor: the factor is 1 plus it). With `parameters` the name of any continuous
        distribution of `scipy.stats`: what it draws is added to the value, or as a share of it.
    size : float
        Standard deviation (of "student" the scale), or half the width; a share of the value, or in SI where `dimension` is
        not "fraction". Of a distribution of scipy it follows from the parameters: its standard deviation.
    parameters : mapping of float
        Of a distribution of scipy: `loc`, `scale` (in the unit of the size) and what else it asks for. Kept as pairs.

    Examples
    --------
    >>> Uncertainty("triang", parameters={"c": 0.5, "loc": -0.2, "scale": 0.4}).size  # a triangle, 20 % either way
    0.08164965809277261
    """

    shape: str
    size: float = math.nan
    parameters: Mapping[str, float] | Parameters = ()

    @property
    def deviation(self) -> float:
        """Standard deviation, of the logarithm for "lognormal" and "student"; in the unit of the size."""
        if self.shape == "uniform":
            return self.size / math.sqrt(3.0)
        if self.shape == "student":
            degrees = between_studies().degrees_of_freedom
            return self.size * math.sqrt(degrees / (degrees - 2.0))
        return self.size

    def __post_init__(self) -> None:
        """Refuse what has no meaning."""
        if self.parameters:
            given = dict(self.parameters)
            deviation = float(frozen(self.shape, given).std())
            object.__setattr__(
                self, "parameters", tuple(sorted((key, float(one)) for key, one in given.items()))
            )
            object.__setattr__(self, "size", 0.0 if self.size == 0.0 else deviation)
            return
        check_choice("Uncertainty, shape", self.shape, get_args(Shape))
        number = isinstance(self.size, Real) and not isinstance(self.size, bool)
        if not number or not 0.0 <= self.size < math.inf:  # not a number fails too
            raise InputError(
                f"Uncertainty, size = {show(self.size)}: a number from 0 up is expected, a share of the value or in SI"
            )
        if self.shape in ("lognormal", "student") and self.size > _MOST_OF_LOGARITHM:
            raise InputError(
                f"Uncertainty, size = {show(self.size)}: a share of the value is expected of '{self.shape}', "
                f"{_MOST_OF_LOGARITHM:g} at most; {self.size:g} % are {self.size / 100.0:g}"
            )

    def drawn(self, u: np.ndarray, *, factor: bool) -> np.ndarray:
        """Return the factor on the input, or what is added to it.

        Parameters
        ----------
        u : ndarray
            Even numbers, 0 < u < 1.
        factor : bool
            Which of the two.
        """
        from scipy.special import ndtri

        if self.parameters:
            off = frozen(self.shape, dict(self.parameters)).ppf(u) if self.size else np.zeros_like(u)
            return 1.0 + off if factor else off
        if self.shape == "uniform":
            return (1.0 if factor else 0.0) + self.size * (2.0 * u - 1.0)
        if self.shape == "student":
            return np.exp(self.size * student(ndtri(u), between_studies().degrees_of_freedom))
        z = self.size * ndtri(u)
        if not factor:
            return z
        return np.exp(z) if self.shape == "lognormal" else 1.0 + z
