"""From emulated times to a posterior, and to what studies left out say of a law.

A posterior is a set of draws of the parameters from a wide proposal, with weights. Leaving a study out is dividing its
likelihood out of the weights of the same draws; where that moves the answer far, the proposal is widened towards there.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.special import gammaincinv, logsumexp, ndtri
from scipy.stats import qmc

from dryingsim.properties.diffusivity import LEAN_MEAT
from validation.fits.drying.likelihood import Seen, Study, between, study_log
from validation.fits.drying.simulation import ENERGY, ENERGY_ABOVE, LEVEL, SHAPES, scaled

ENOUGH = 300.0  # effective draws of a posterior with a study left out
SEED = 7
# Priors of the parameters, mean and standard deviation: wide, from the ranges of shared/ and no other fit.
#   level: ln of D_ref over 6e-10; shape: ln X_h (0.1-1 estimated, a factor 3.3 as sd), or the power q of shrinkage
#   energy: 15-50 kJ/mol published; above 60 degC 5-45. Scales: ln of the sd.
PRIOR = {
    "level": (np.log(6e-10 / LEAN_MEAT.reference_m2_s), 1.0),
    "half": (np.log(0.5), 1.2),
    "power": (0.3, 1.0),
    "energy": (32e3, 10e3),
    "energy_above": (28e3, 12e3),
    "studies": (np.log(0.35), 0.5),
    "batches": (np.log(0.12), 0.5),
    "rows": (np.log(0.08), 0.5),
    "tail": (np.log(6.0), 0.7),
    "offset": (0.0, 1.0),
    "slope_studies": (np.log(0.5), 0.5),
}
NAMES = (
    "level",
    "shape",
    "energy",
    "energy_above",
    "studies",
    "batches",
    "rows",
    "tail",
    "offset",
    "slope_studies",
)


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A model to be tried.

    Attributes
    ----------
    family : str
        "half" or "power".
    fixed : dict
        Parameters held, by name; `energy_above` may be "energy" (one slope).
    evidence : str
        "times", "slopes" or "both".
    """

    family: str = "half"
    fixed: dict[str, float | str] = field(default_factory=dict)
    evidence: str = "both"

    @property
    def free(self) -> list[str]:
        """Names of the parameters that are sampled."""
        unused = {"times": ("offset", "slope_studies"), "slopes": ("offset", "studies"), "both": ()}
        return [name for name in NAMES if name not in self.fixed and name not in unused[self.evidence]]

    def prior(self, name: str) -> tuple[float, float]:
        """Mean and standard deviation."""
        return PRIOR[self.family if name == "shape" else name]


def knowns(choice: Choice, values: dict[str, np.ndarray]) -> np.ndarray:
    """The four parameters of the law, scaled for the emulators, shape (n, 4)."""
    ends = {"level": LEVEL, "shape": SHAPES[choice.family], "energy": ENERGY, "energy_above": ENERGY_ABOVE}
    return np.stack([np.clip(scaled(ends[name], values[name]), -1.1, 1.1) for name in ends], axis=1)


def complete(choice: Choice, draws: np.ndarray) -> dict[str, np.ndarray]:
    """All parameters by name, for draws (n, free)."""
    values = dict(zip(choice.free, draws.T, strict=True))
    for name in NAMES:
        if name not in values:
            fixed = choice.fixed.get(name, 0.0)
            values[name] = values[fixed] if isinstance(fixed, str) else np.full(draws.shape[0], fixed)
    return values


class Fit:
    """A choice on its evidence."""

    def __init__(self, choice: Choice, studies: list[Study]) -> None:
        wanted = {"times": (False,), "slopes": (True,), "both": (False, True)}[choice.evidence]
        self.choice = choice
        self.studies = [study for study in studies if study.slope in wanted]

    def log_prior(self, draws: np.ndarray) -> np.ndarray:
        """Logarithm of the prior density."""
        mean, sd = np.array([self.choice.prior(name) for name in self.choice.free]).T
        return -0.5 * np.sum(((draws - mean) / sd) ** 2, axis=1)

    def log_likelihoods(self, draws: np.ndarray) -> np.ndarray:
        """Of every study, shape (n, studies)."""
        parts = np.array_split(draws, max(draws.shape[0] // 250, 1))
        return np.concatenate([self._part(part) for part in parts])

    def _part(self, draws: np.ndarray) -> np.ndarray:
        values = complete(self.choice, draws)
        place = knowns(self.choice, values)
        columns = [study_log(self.seen(study, place, values)) for study in self.studies]
        return np.stack(columns, axis=1)

    def seen(self, study: Study, place: np.ndarray, values: dict[str, np.ndarray]) -> "Seen":
        """What draws of the parameters make of a study."""
        model = np.stack([one.value(place) for one in study.reduced], axis=2)
        model += (values["offset"] * study.slope)[:, None, None]
        variance = np.exp(2.0 * values["rows"])[:, None] + study.own_variance
        batches = np.exp(2.0 * values["batches"])
        return Seen(study.logs - model, variance, batches, between(values, study.slope), study.rows)

    def sample(self, size: int = 4096, seed: int = SEED) -> "Posterior":
        """Adapt a proposal, then draw `size` (a power of two) from it; then more where leaving a study out moves it far."""
        prior = np.array([self.choice.prior(name) for name in self.choice.free])
        floor = 1e-4 * np.diag(prior[:, 1] ** 2)
        part = Wide(prior[:, 0], np.diag(prior[:, 1] ** 2))
        for k in range(5):
            draws = part.draws(size // 4, seed + k)
            weight = self.log_likelihoods(draws).sum(axis=1) + self.log_prior(draws) - part.log_density(draws)
            share = _shares(
                weight * min(1.0, 0.35 + 0.2 * k)
            )  # tempered at first, so that few draws do not decide
            part = _moments(draws, share, floor, 1.0)
        parts = [Wide(part.mean, 1.3 * part.cov)]
        found = self._drawn(parts, [size], seed + 9)
        hard = [k for k in np.argsort(found.effective) if found.effective[k] < ENOUGH][:4]
        parts += [
            _moments(found.draws, _shares(0.5 * np.log(found.without(k) + 1e-300)), floor, 1.2) for k in hard
        ]
        return self._drawn(parts, [size, *[size // 4] * len(hard)], seed + 9) if hard else found

    def _drawn(self, parts: list["Wide"], sizes: list[int], seed: int) -> "Posterior":
        """Draws of several proposals, weighed as draws of their mixture."""
        draws = np.concatenate(
            [p.draws(n, seed + i) for i, (p, n) in enumerate(zip(parts, sizes, strict=True))]
        )
        share = np.log(np.array(sizes) / sum(sizes))
        density = logsumexp([s + p.log_density(draws) for s, p in zip(share, parts, strict=True)], axis=0)
        return Posterior(self, draws, self.log_likelihoods(draws), self.log_prior(draws) - density)


@dataclass(frozen=True)
class Wide:
    """A multivariate t with 6 degrees of freedom."""

    mean: np.ndarray
    cov: np.ndarray
    df: float = 6.0

    def draws(self, size: int, seed: int) -> np.ndarray:
        """Even draws (Sobol), shape (size, k)."""
        count = self.mean.size
        even = np.clip(qmc.Sobol(count + 1, rng=seed).random(size), 1e-7, 1.0 - 1e-7)
        stretch = np.sqrt(0.5 * self.df / gammaincinv(0.5 * self.df, even[:, count]))
        return self.mean + ndtri(even[:, :count]) * stretch[:, None] @ np.linalg.cholesky(self.cov).T

    def log_density(self, draws: np.ndarray) -> np.ndarray:
        """Logarithm of the density at draws, up to a constant of the dimension."""
        root = np.linalg.cholesky(self.cov)
        z = np.linalg.solve(root, (draws - self.mean).T)
        power = -0.5 * (self.df + self.mean.size)
        return power * np.log1p(np.sum(z**2, axis=0) / self.df) - np.log(np.diag(root)).sum()


def _moments(draws: np.ndarray, share: np.ndarray, floor: np.ndarray, wider: float) -> Wide:
    mean = share @ draws
    return Wide(mean, wider * ((draws - mean).T @ ((draws - mean) * share[:, None])) + floor)


def _shares(log_weights: np.ndarray) -> np.ndarray:
    return np.exp(log_weights - logsumexp(log_weights))


@dataclass(frozen=True)
class Posterior:
    """Draws with what weighs them; `logs` of every study, `base` of prior over proposal."""

    fit: Fit
    draws: np.ndarray
    logs: np.ndarray
    base: np.ndarray

    @property
    def weights(self) -> np.ndarray:
        """Of all studies together."""
        return _shares(self.base + self.logs.sum(axis=1))

    def without(self, k: int) -> np.ndarray:
        """Weights with study k left out."""
        return _shares(self.base + self.logs.sum(axis=1) - self.logs[:, k])

    @property
    def left_out_scores(self) -> np.ndarray:
        """Logarithm of the density that the others predict for each study."""
        scores = [
            logsumexp(np.log(self.without(k) + 1e-300) + self.logs[:, k]) for k in range(self.logs.shape[1])
        ]
        return np.array(scores)

    @property
    def effective(self) -> np.ndarray:
        """Effective number of draws with each study left out."""
        return np.array([1.0 / np.sum(self.without(k) ** 2) for k in range(self.logs.shape[1])])

    def values(self) -> dict[str, np.ndarray]:
        """All parameters by name."""
        return complete(self.fit.choice, self.draws)

    def moments(self, names: list[str]) -> tuple[np.ndarray, np.ndarray]:
        """Mean and covariance of some parameters."""
        values, share = np.stack([self.values()[name] for name in names], axis=1), self.weights
        mean = share @ values
        return mean, (values - mean).T @ ((values - mean) * share[:, None])

    def quantiles(self, name: str, at: tuple[float, ...] = (0.05, 0.5, 0.95)) -> np.ndarray:
        """Weighted quantiles of a parameter."""
        return weighted_quantile(self.values()[name], self.weights, np.array(at))


def weighted_quantile(values: np.ndarray, weights: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Quantiles of weighted values."""
    order = np.argsort(values)
    cumulative = np.cumsum(weights[order]) - 0.5 * weights[order]
    return np.interp(at, cumulative, values[order])
