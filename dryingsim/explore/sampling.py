"""Samples of what is not known of a batch, that fill the space evenly.

The sample is nested: batches, each with its own slices; see `batch.uncertainties` for what differs between which. Both are
Sobol sequences, scrambled by a seed, or Latin hypercubes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dryingsim.batch.checks import check_seed
from dryingsim.batch.distributions import Correlation, correlated
from dryingsim.batch.uncertainties import FACTOR_ENDS, INPUTS, Level
from dryingsim.batch.uncertainty import Uncertainty


@dataclass(frozen=True)
class Sample:
    """Values drawn: `b` batches, `m` slices, those of one batch one after the other.

    Attributes
    ----------
    batch : ndarray of int, shape (m,)
        Which batch each slice belongs to.
    batches, slices : dict of ndarray, shape (b,) and (m,)
        Factor on, or addition to, each input of that level.
    kind, tray : ndarray, shape (m,)
        Even numbers in 0..1 by which thickness class and tray are chosen.
    """

    batch: np.ndarray
    batches: dict[str, np.ndarray]
    slices: dict[str, np.ndarray]
    kind: np.ndarray
    tray: np.ndarray

    def of_slices(self, key: str) -> np.ndarray:
        """Values of an input for every slice, shape (m,)."""
        return self.slices[key] if key in self.slices else self.batches[key][self.batch]


Points = Literal["sobol", "latin"]


def draw(
    uncertainties: Mapping[str, Uncertainty],
    slices: int,
    seed: int,
    batches: int | None = None,
    *,
    correlations: Sequence[Correlation] = (),
    points: Points = "sobol",
) -> Sample:
    """Draw a sample.

    Parameters
    ----------
    uncertainties : mapping of Uncertainty
        For every key of `INPUTS`.
    slices : int
        At least so many in all; filled up so that each batch has the same number.
    seed : int
    batches : int, optional
        The power of two nearest to the square root of the slices if left out.
    correlations : sequence of (str, str, float)
        Rank correlations of two inputs of one level each [-].
    points : str
        "sobol": Sobol sequences, scrambled; "latin": Latin hypercubes.
    """
    check_seed("spread", seed)
    count = batches or 2 ** round(np.log2(np.sqrt(slices)))
    in_each = -(-slices // count)
    even = sobol if points == "sobol" else _latin
    of_batch = even(len(keys_of("batch")), count, seed)
    of_slice = even(len(keys_of("slice")) + 2, count * in_each, seed + 1)
    return placed(uncertainties, of_batch, of_slice, correlations)


def keys_of(level: Level) -> list[str]:
    """Return the inputs that are drawn at a level."""
    return [key for key, kind in INPUTS.items() if kind.level == level]


def placed(
    uncertainties: Mapping[str, Uncertainty],
    of_batch: np.ndarray,
    of_slice: np.ndarray,
    correlations: Sequence[Correlation] = (),
) -> Sample:
    """Return the sample that even numbers stand for.

    Parameters
    ----------
    uncertainties : mapping of Uncertainty
        For every key of `INPUTS`.
    of_batch, of_slice : ndarray, shape (inputs, b) and (inputs + 2, m)
        Even numbers in 0..1 for the inputs of each level [-]; the last two choose thickness class and tray.
    correlations : sequence of (str, str, float)
        Rank correlations of two inputs of one level each [-].
    """
    count, total = of_batch.shape[1], of_slice.shape[1]
    of_batch = correlated(of_batch, keys_of("batch"), correlations)
    of_slice = correlated(of_slice, keys_of("slice"), correlations)
    return Sample(
        batch=np.repeat(np.arange(count), total // count),
        batches=_values(uncertainties, keys_of("batch"), of_batch),
        slices=_values(uncertainties, keys_of("slice"), of_slice),
        kind=of_slice[-2],
        tray=of_slice[-1],
    )


def sobol(dimensions: int, points: int, seed: int) -> np.ndarray:
    """Return scrambled Sobol points, shape (dimensions, points); strictly inside 0..1.

    Parameters
    ----------
    dimensions, points : int
    seed : int
        Of the scrambling.
    """
    from scipy.stats import qmc  # slow to import, so only where a sample is drawn

    power = int(np.ceil(np.log2(max(points, 2))))
    drawn = qmc.Sobol(dimensions, scramble=True, seed=seed).random_base2(power)[:points]
    return np.clip(drawn.T, 1e-9, 1.0 - 1e-9)


def _latin(dimensions: int, points: int, seed: int) -> np.ndarray:
    """Return points of a Latin hypercube, likewise."""
    from scipy.stats import qmc

    drawn = qmc.LatinHypercube(dimensions, seed=seed).random(points)
    return np.clip(drawn.T, 1e-9, 1.0 - 1e-9)


def _values(
    uncertainties: Mapping[str, Uncertainty], keys: list[str], u: np.ndarray
) -> dict[str, np.ndarray]:
    drawn = {
        key: uncertainties[key].drawn(row, factor=INPUTS[key].factor)
        for key, row in zip(keys, u, strict=False)
    }
    return {
        key: np.clip(values, *FACTOR_ENDS) if INPUTS[key].factor else values for key, values in drawn.items()
    }
