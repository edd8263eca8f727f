"""What a log can teach, and what is thought of it before: the priors, in one place.

The priors are the uncertainties of `batch.uncertainties` (the spread of all published drying, or estimates), or what the
batch file's [spread] says instead, or what a learned file says. A fit is of normal distributions: heavy tails count by
their standard deviation, which leaves a log of weights more say than the t would near its middle. Two of the five belong to
the piece of meat as well as to the kitchen: the part of their uncertainty that lies between batches of one kitchen
(`diffusivity_batches`, and `BETWEEN`) is met again next time; the rest is the same in all its batches.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dryingsim.batch.learned import KEYS
from dryingsim.batch.schema import Batch, Correction, Learned
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.batch.uncertainty import Uncertainty

_FROM_BATCH_TO_BATCH = (
    "diffusivity_batches"  # the input that holds this part of the diffusivity's uncertainty
)
BETWEEN = {
    "moisture": 0.006,  # kg/kg; estimate, 0.004-0.008: of the same cut; over 13 cuts it is 0.008 (batch.uncertainties)
}


@dataclass(frozen=True)
class Priors:
    """Normal priors of `p` things: logarithms of factors, offsets in SI.

    Attributes
    ----------
    keys : tuple of str
        Of `batch.learned.KEYS`.
    mean, common, between : ndarray, shape (p,)
        The value thought most likely, and the standard deviations of what all batches of the kitchen share and of what
        differs between them.
    """

    keys: tuple[str, ...]
    mean: np.ndarray
    common: np.ndarray
    between: np.ndarray

    @property
    def total(self) -> np.ndarray:
        """Standard deviations for a single batch."""
        return np.hypot(self.common, self.between)

    def without(self, key: str) -> "Priors":
        """Return the priors of all the others: that one is as the batch file says."""
        kept = np.array([each != key for each in self.keys], dtype=bool)
        return Priors(
            keys=tuple(each for each in self.keys if each != key),
            mean=self.mean[kept],
            common=self.common[kept],
            between=self.between[kept],
        )


def priors_of(
    batch: Batch, uncertainties: Mapping[str, Uncertainty], learned: Learned | None = None
) -> Priors:
    """Return the priors for a batch.

    Parameters
    ----------
    batch : Batch
        Without learned values; it decides which of the things have an effect at all.
    uncertainties : mapping of Uncertainty
        As `batch.uncertainties.uncertainties_of` gives them.
    learned : Learned, optional
        What other logs taught; it takes the place of the uncertainties.
    """
    keys = tuple(key for key in KEYS if _acts(key, batch))
    known = learned.corrections if learned else {}
    batches = _size(_FROM_BATCH_TO_BATCH, uncertainties[_FROM_BATCH_TO_BATCH])
    beliefs = [
        known.get(key, Correction(value=0.0, uncertainty=_prior_size(key, uncertainties))) for key in keys
    ]
    total = np.array([belief.uncertainty for belief in beliefs])
    differs = BETWEEN | {"diffusivity": batches}
    # what lies between batches is never more than nine tenths of what is uncertain at all
    between = np.array(
        [min(differs.get(key, 0.0), 0.9 * size) for key, size in zip(keys, total, strict=True)]
    )
    acting = total > 0.0
    return Priors(
        keys=tuple(key for key, does in zip(keys, acting, strict=True) if does),
        mean=np.array([belief.value for belief in beliefs])[acting],
        common=np.sqrt(total**2 - between**2)[acting],
        between=between[acting],
    )


def _acts(key: str, batch: Batch) -> bool:
    if key == "air_exchange":
        return batch.appliance is not None
    if key == "film":
        if batch.appliance is not None:
            return batch.appliance.trays.speed_m_s > 0.0
        return any(stage.air.speed_m_s > 0.0 for stage in batch.stages)
    return True


def _prior_size(key: str, uncertainties: Mapping[str, Uncertainty]) -> float:
    """Standard deviation for a single batch."""
    size = _size(key, uncertainties[key])
    if key != "diffusivity":
        return size
    return float(np.hypot(size, _size(_FROM_BATCH_TO_BATCH, uncertainties[_FROM_BATCH_TO_BATCH])))


def _size(key: str, uncertainty: Uncertainty) -> float:
    """Standard deviation of a uncertainty, of the logarithm where it is a factor; heavy tails by a normal as wide."""
    size = uncertainty.deviation
    if INPUTS[key].factor and uncertainty.shape not in ("lognormal", "student"):
        return float(np.log1p(min(size, 0.9)))
    return size


def natural(key: str, value: float) -> float:
    """Return the factor for its logarithm; an offset as it is.

    Parameters
    ----------
    key : str
        Of `batch.learned.KEYS`.
    value : float
        Logarithm of a factor [-], or an offset in SI.

    Examples
    --------
    >>> natural("diffusivity", 0.0), natural("setpoint", -2.0)
    (1.0, -2.0)
    """
    return float(np.exp(value)) if not KEYS[key].dimension else value
