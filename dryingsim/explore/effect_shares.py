"""How much of the variance of an outcome goes with each of its inputs: alone, and with all that it does together with others."""

from dataclasses import dataclass

import numpy as np

_RESAMPLED = 200


@dataclass(frozen=True, slots=True)
class Effect:
    """Shares of the variance of an outcome that go with one input, or with several that are drawn together.

    Attributes
    ----------
    first, total : float
        What would be gone if the input were known exactly; what would be left if all others were. Alone they are equal;
        the total is larger where the input acts through others. Estimates: they may come out a little below 0.
    first_error, total_error : float
        One standard error of each: the scatter over rows of points drawn anew from those there are (bootstrap). Even
        points do better than the random ones it supposes, so it is rather too large.
    """

    first: float
    first_error: float
    total: float
    total_error: float


@dataclass(frozen=True, kw_only=True)
class Effects:
    """First-order and total effects of the inputs of a batch.

    Attributes
    ----------
    rows : int
        Points of each of the two samples that are compared.
    slices : int
        Simulated in all: the rows times two more than there are inputs.
    seed : int
    of_time, of_reduction : dict of Effect
        On the rank of the time at which a slice is done, and on the rank of its log reduction (lower bound): ranks, as
        some slices are never done. By the keys of `batch.uncertainties.INPUTS`, those that correlate joined by " + "; "class":
        which thickness class it is, "tray": on which tray it lies. The largest total first;
        all 0 where the outcome is the same everywhere.
    """

    rows: int
    slices: int
    seed: int
    of_time: dict[str, Effect]
    of_reduction: dict[str, Effect]


def shares(a: np.ndarray, b: np.ndarray, mixed: np.ndarray, seed: int) -> list[Effect]:
    """Return the effects of inputs from an outcome at two samples and at mixtures of them.

    Parameters
    ----------
    a, b : ndarray, shape (rows,)
        Outcome at two independent samples, in any unit.
    mixed : ndarray, shape (inputs, rows)
        Outcome at the first sample with one input taken from the second.
    seed : int
        Of the rows drawn for the errors.

    Notes
    -----
    First order by Saltelli et al. (2010, table 2 b), total by Jansen (1999).
    """
    middle = 0.5 * (a.mean() + b.mean())
    a, b, mixed = a - middle, b - middle, mixed - middle
    terms = np.stack([b * (mixed - a), 0.5 * (a - mixed) ** 2])  # (2, inputs, rows)
    squares, sums = 0.5 * (a**2 + b**2), 0.5 * (a + b)

    def estimated(rows: np.ndarray) -> np.ndarray:
        variance = squares[rows].mean() - sums[rows].mean() ** 2
        found: np.ndarray = (
            terms[..., rows].mean(axis=-1) / variance if variance > 0.0 else np.zeros(terms.shape[:2])
        )
        return found

    rng = np.random.default_rng(seed)
    values = estimated(np.arange(a.size))
    again = np.stack([estimated(rng.integers(0, a.size, a.size)) for _ in range(_RESAMPLED)])
    errors = again.std(axis=0, ddof=1)
    return [
        Effect(*map(float, (values[0, i], errors[0, i], values[1, i], errors[1, i])))
        for i in range(len(mixed))
    ]
