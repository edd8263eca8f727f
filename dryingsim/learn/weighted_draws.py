r"""Draws weighted by how well they explain readings: adaptive importance sampling, without an assumption of normality.

Unknowns are standard normal before. Each round draws around the most likely point that a straight line through the round
before tells (residuals regressed on the draws), as widely as that line leaves open. The first rounds trust the readings
less, since lines through what is far apart are bent. The draws of the last rounds together are weighted by

.. math:: w \propto \frac{p(z)\,L(z)}{\sum_r n_r q_r(z)}

(the deterministic mixture of Cornuet et al. 2012, from memory), so that no line has to be true. Where few of them would
carry all the weight, weights are flattened: intervals get wider.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from dryingsim.typing import Array

_WIDER = 1.05  # of a proposal's standard deviation
_TRUSTED = (0.05, 0.4)  # share of the likelihood in the first rounds; then all of it
_COUNTED = 2  # rounds whose draws are kept, the last ones
_EFFECTIVE = 0.125  # share of the kept draws that the weights are worth, at least: flattened until they are
BEND = 2.0  # standard deviations from which on a residual counts in proportion, not squared


@dataclass(frozen=True)
class WeightedDraws:
    """Draws and their weights.

    Attributes
    ----------
    z : ndarray, shape (s, p)
    weight : ndarray, shape (s,)
        They add up to one.
    """

    z: Array
    weight: Array

    @property
    def effective(self) -> float:
        """How many even draws they are worth."""
        return float(1.0 / np.sum(self.weight**2))

    def even(self, count: int) -> Array:
        """Return which draws stand for all, each for as much: those with much weight several times, shape (count,)."""
        steps = (np.arange(count) + 0.5) / count
        return np.minimum(np.searchsorted(np.cumsum(self.weight), steps), self.weight.size - 1)


@dataclass(frozen=True)
class _Proposal:
    mean: Array
    covariance: Array

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        p = self.mean.size
        z = self.mean + rng.standard_normal((count, p)) @ np.linalg.cholesky(self.covariance).T
        return np.asarray(z)

    def density(self, z: Array) -> Array:
        """As a logarithm, but for a constant."""
        root = np.linalg.cholesky(self.covariance)
        off = np.linalg.solve(root, (z - self.mean).T)
        return np.asarray(-0.5 * np.sum(off**2, axis=0) - np.log(np.diag(root)).sum())


def weighted_draws(
    residuals: Callable[[Array], Array], unknowns: int, *, count: int, rounds: int, seed: int
) -> WeightedDraws:
    """Draw unknowns and weigh them.

    Parameters
    ----------
    residuals : callable
        Of draws (s, p): how far each reading is off, in its standard deviations, shape (s, n).
    unknowns : int
        p.
    count, rounds : int
        Draws in a round, and rounds.
    seed : int

    Examples
    --------
    A reading of 2 with an error of one, and the standard normal prior, give 1 with a variance of a half:

    >>> drawn = weighted_draws(lambda z: z - 2.0, 1, count=2000, rounds=2, seed=1)
    >>> round(float(drawn.weight @ drawn.z[:, 0]), 1)
    1.0
    """
    rng = np.random.default_rng(seed)
    drawn, likelihood, proposals = [], [], [_Proposal(np.zeros(unknowns), np.eye(unknowns))]
    for i in range(rounds):
        z = proposals[i].draw(count, rng)
        missed = residuals(z)
        drawn.append(z)
        likelihood.append(_log_likelihood(missed))
        proposals.append(_next(z, missed, _TRUSTED[i] if i < len(_TRUSTED) else 1.0))
    kept = slice(max(rounds - _COUNTED, 0), rounds)
    z = np.concatenate(drawn[kept])
    mixture = np.logaddexp.reduce([each.density(z) for each in proposals[kept]], axis=0)
    logarithm = np.concatenate(likelihood[kept]) - 0.5 * np.sum(z**2, axis=1) - mixture
    return WeightedDraws(z, _flattened(logarithm))


def _log_likelihood(missed: Array) -> Array:
    size = np.abs(missed)
    return np.asarray(-np.sum(np.where(size <= BEND, 0.5 * size**2, BEND * size - 0.5 * BEND**2), axis=1))


def _next(drawn: Array, missed: Array, trusted: float) -> _Proposal:
    """Return where to draw next, by straight lines through residuals; readings that stand off count for less."""
    p = drawn.shape[1]
    middle = drawn.mean(axis=0)
    lines = np.linalg.lstsq(np.column_stack([np.ones(len(drawn)), drawn - middle]), missed, rcond=None)[0]
    z = middle
    for _ in range(3):
        at = lines[0] + (z - middle) @ lines[1:]
        counted = trusted * np.minimum(1.0, BEND / np.maximum(np.abs(at), 1e-9))
        precision = np.eye(p) + (lines[1:] * counted) @ lines[1:].T
        pull = (lines[1:] * counted) @ (lines[0] - middle @ lines[1:])
        z = -np.linalg.solve(precision, pull)
    return _Proposal(z, _WIDER**2 * np.linalg.inv(precision))


def _flattened(logarithm: Array) -> Array:
    """Return weights of logarithms, as much as given as leaves enough of them."""
    share = 1.0
    while True:
        weight = np.exp(share * (logarithm - logarithm.max()))
        weight /= weight.sum()
        if 1.0 / np.sum(weight**2) >= _EFFECTIVE * weight.size:
            return np.asarray(weight)
        share *= 0.9
