"""Reader of `drying_evidence.toml`: how far drying differs between laboratories, and how well a water activity is known.

The file is written by the fit to all published drying (validation/fits/drying) and says what each number rests on.
"""

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Annotated, Any, Literal, get_args

import numpy as np

from dryingsim.evidence import Evidence

Kind = Literal["known", "no_recipe", "formed"]
KINDS: tuple[Kind, ...] = get_args(Kind)
_TIME_BY_DIFFUSIVITY: Annotated[
    float, Evidence("-", "derived", "a drying time goes with about D^(-0.9), as drying_evidence.toml says")
] = 0.9
Z_90: Annotated[float, Evidence("-", "exact", "95 % of a normal distribution lie below")] = 1.6448536


@dataclass(frozen=True, slots=True, kw_only=True)
class BetweenStudies:
    """How much the diffusivity differs, as the scale of its logarithm.

    Attributes
    ----------
    kitchens : float
        From kitchen to kitchen, a Student t; what the level and the shape of the law themselves lack is in it.
    degrees_of_freedom : float
        Of that t.
    batches, slices : float
        From batch to batch of a kitchen, and from slice to slice; normal.
    half_moisture : float
        Standard deviation of the logarithm of the half moisture: how well its fit knows it.
    along_half_moisture : float
        How much of its logarithm the diffusivity changes with that of the half moisture, so that times stay as published.
    readings : float
        Scatter of the logarithm of a time that a paper reads of one batch; not of the batch itself.
    factor_new_batch : float
        Nine in ten times of a new kitchen's batch, all its inputs known, lie within this factor either way.
    coverage : dict of float
        Share of left-out published times inside an interval, by its nominal percentage.
    rests_on : str
    """

    kitchens: float
    degrees_of_freedom: float
    batches: float
    slices: float
    half_moisture: float
    along_half_moisture: float
    readings: float
    factor_new_batch: float
    coverage: dict[int, float]
    rests_on: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ActivityError:
    """How well the sorption curve knows the water activity of a kind of product.

    Attributes
    ----------
    kind : Kind
    words : str
        What a person reads.
    half_width : float
        Of the 90 % interval, either way [-]: so far below a limit it is below with 95 % certainty.
    rests_on : str
    """

    kind: Kind
    words: str
    half_width: float
    rests_on: str

    @property
    def deviation(self) -> float:
        """Standard deviation of the normal distribution with that interval [-]."""
        return self.half_width / Z_90


_WORDS: dict[Kind, str] = {
    "known": "whole muscle of known recipe",
    "no_recipe": "meat by a guessed recipe",
    "formed": "minced and formed meat",
}


@cache
def _data() -> dict[str, Any]:
    path = resources.files("dryingsim.batch.catalog").joinpath("drying_evidence.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def student(z: np.ndarray, degrees: float) -> np.ndarray:
    """Return the values of Student's t that stand where z stands in the standard normal distribution.

    Abramowitz and Stegun 26.7.5, four terms: within 0.1 % for 6 degrees of freedom and z up to 2.5, and without the second
    that scipy takes to be imported.

    Parameters
    ----------
    z : ndarray
        Standard normal [-].
    degrees : float
        Of freedom, 4 at least [-].

    Examples
    --------
    >>> round(float(student(np.array(1.6448536), 6.0)), 3)  # tables: 1.943
    1.943
    """
    s = z * z
    terms = (
        z * (s + 1.0) / 4.0,
        z * (s * (5.0 * s + 16.0) + 3.0) / 96.0,
        z * (s * (s * (3.0 * s + 19.0) + 17.0) - 15.0) / 384.0,
        z * (s * (s * (s * (79.0 * s + 776.0) + 1482.0) - 1920.0) - 945.0) / 92160.0,
    )
    return z + sum(term / degrees ** (k + 1) for k, term in enumerate(terms))


@cache
def between_studies() -> BetweenStudies:
    """Return how much drying differs between kitchens, batches and slices.

    Examples
    --------
    >>> round(between_studies().kitchens, 2), round(between_studies().batches, 2)
    (0.4, 0.1)
    """
    between, factors = _data()["between"], _data()["factor"]
    degrees = between["degrees_of_freedom"]
    covariance, parameters = _data()["posterior"]["covariance"], _data()["posterior"]["parameters"]
    level, half = parameters.index("ln_reference_m2_s"), parameters.index("ln_half_moisture_db")
    beyond_batches = math.log(factors["new_batch"]) ** 2 - (Z_90 * between["batches"]) ** 2
    return BetweenStudies(
        kitchens=math.sqrt(beyond_batches) / float(student(np.array(Z_90), degrees)) / _TIME_BY_DIFFUSIVITY,
        degrees_of_freedom=degrees,
        batches=between["batches"] / _TIME_BY_DIFFUSIVITY,
        slices=between["slices"],
        half_moisture=math.sqrt(covariance[half][half]),
        along_half_moisture=covariance[level][half] / covariance[half][half],
        readings=between["rows"],
        factor_new_batch=factors["new_batch"],
        coverage={int(nominal): share for nominal, share in _data()["coverage"].items()},
        rests_on=between["rests_on"],
    )


@cache
def activity_error(kind: Kind) -> ActivityError:
    """Return how well the water activity of a kind of product is known.

    Parameters
    ----------
    kind : Kind

    Examples
    --------
    >>> round(activity_error("known").half_width, 2), round(activity_error("formed").half_width, 2)
    (0.04, 0.2)
    """
    row = _data()["water_activity"][kind]
    return ActivityError(
        kind=kind, words=_WORDS[kind], half_width=row["half_width_90"], rests_on=row["rests_on"]
    )
