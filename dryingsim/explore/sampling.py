"""Samples of what is not known of a batch, that fill the space evenly.

The sample is nested: batches, each with its own slices; see `batch.uncertainties` for what differs between which. Both are
Sobol sequences, scrambled by a seed, or Latin hypercubes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np

from dryingsim.batch.distributions import Correlation, correlated
from dryingsim.batch.uncertainties import FACTOR_ENDS, INPUTS, Level, Uncertainty


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
    from scipy.stats import qmc  # slow to import, so only where a sample is drawn

    count = batches or 2 ** round(np.log2(np.sqrt(slices)))
    in_each = -(-slices // count)
    levels = {
        level: [key for key, kind in INPUTS.items() if kind.level == level] for level in get_args(Level)
    }
    even = _sobol if points == "sobol" else _latin
    of_batch = correlated(even(qmc, len(levels["batch"]), count, seed), levels["batch"], correlations)
    of_slice = even(qmc, len(levels["slice"]) + 2, count * in_each, seed + 1)
    of_slice = correlated(of_slice, levels["slice"], correlations)
    return Sample(
        batch=np.repeat(np.arange(count), in_each),
        batches=_values(uncertainties, levels["batch"], of_batch),
        slices=_values(uncertainties, levels["slice"], of_slice),
        kind=of_slice[-2],
        tray=of_slice[-1],
    )


def _sobol(qmc: Any, dimensions: int, points: int, seed: int) -> np.ndarray:
    """Scrambled Sobol points, shape (dimensions, points); strictly inside 0..1."""
    power = int(np.ceil(np.log2(max(points, 2))))
    drawn = qmc.Sobol(dimensions, scramble=True, seed=seed).random_base2(power)[:points]
    return np.clip(drawn.T, 1e-9, 1.0 - 1e-9)


def _latin(qmc: Any, dimensions: int, points: int, seed: int) -> np.ndarray:
    """Points of a Latin hypercube, likewise."""
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
