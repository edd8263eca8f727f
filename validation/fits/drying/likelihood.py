r"""The likelihood of a study: what is not known of it integrated over, effects of studies, runs and rows.

For row i of study k, with what is unknown of the study u_k (thickness, film, humidity, air, salt ...) shared by its rows,

.. math:: \ln t_i = f_i(\theta, u_k) + b_k + c_j + e_i,\qquad b_k \sim t_\nu(0, \tau),\quad
          c_j \sim N(0, \omega^2),\quad e_i \sim N(0, \sigma^2 + s_i^2)

where c_j belongs to the run j, a batch of that laboratory, and s_i comes from the row's own end point, its rounding and the
emulator. Slopes read from curves have an offset common to all of them and a between-study sd of their own. The likelihood
integrates over u_k by even draws and over b_k, the t as a mixture of normals; a one-sided time counts by the probability of
its side.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv, logsumexp, ndtr, ndtri
from scipy.stats import qmc

from validation.fits.drying.emulator import Emulator, Reduced
from validation.fits.drying.evidence import Row, Run
from validation.fits.drying.simulation import END_REACH, ENERGY, ENERGY_ABOVE, LEVEL, REACH, UNKNOWNS, scaled

DRAWS_OF_UNKNOWNS = 64
SEED = 7
_NODES, WEIGHTS = np.polynomial.legendre.leggauss(10)
_HERMITE, _HERMITE_WEIGHTS = np.polynomial.hermite_e.hermegauss(9)


@dataclass(frozen=True)
class Study:
    """Rows of a study at the draws of what is unknown of it."""

    name: str
    rows: list[Row]
    reduced: list[Reduced]
    own_variance: np.ndarray  # of each row

    @property
    def slope(self) -> bool:
        """Whether its rows are slopes."""
        return self.rows[0].slope

    @property
    def logs(self) -> np.ndarray:
        """Logarithm of what is published."""
        return np.log([row.published for row in self.rows])


def studies_of(rows: list[Row], runs: dict[str, Run], emulators: dict[str, Emulator]) -> list[Study]:
    """Group the rows by study."""
    names = list(dict.fromkeys(row.study for row in rows))
    return [_study(name, [r for r in rows if r.study == name], emulators, i) for i, name in enumerate(names)]


def _study(name: str, rows: list[Row], emulators: dict[str, Emulator], number: int) -> Study:
    even = qmc.Sobol(len(UNKNOWNS), rng=SEED + number).random(DRAWS_OF_UNKNOWNS)
    draws = np.clip(ndtri(even) / REACH, -1.0, 1.0)
    draws[:, UNKNOWNS.index("hidden")] = 2.0 * even[:, UNKNOWNS.index("hidden")] - 1.0
    draws[:, UNKNOWNS.index("end")] = 0.0
    usual = np.array([[scaled(LEVEL, 0.0), 0.0, scaled(ENERGY, 32e3), scaled(ENERGY_ABOVE, 32e3)]])
    variances = []
    for row in rows:
        steep = emulators[row.name].by_end().at(draws).value(usual).mean() / END_REACH
        variances.append(steep**2 + row.rounding**2 + emulators[row.name].error ** 2)
    return Study(name, rows, [emulators[row.name].at(draws) for row in rows], np.array(variances))


def between(values: dict[str, np.ndarray], slope: bool) -> np.ndarray:
    """Variances of the study effect in its mixture, shape (n, 10)."""
    half_df = 0.5 * np.exp(np.clip(values["tail"], 0.0, 5.0))[:, None]
    precision = gammaincinv(half_df, 0.5 * (1.0 + _NODES)) / half_df
    sd = np.exp(values["slope_studies" if slope else "studies"])[:, None]
    return sd**2 / precision


@dataclass(frozen=True)
class Seen:
    """A study under n draws of the parameters.

    Attributes
    ----------
    residual : ndarray, shape (n, draws of the unknowns, rows)
        Published minus modelled.
    variance : ndarray, shape (n, rows)
        Of each row's own error.
    batches : ndarray, shape (n,)
        Variance from run to run.
    studies : ndarray, shape (n, 10)
        Variances of the study effect in its mixture.
    """

    residual: np.ndarray
    variance: np.ndarray
    batches: np.ndarray
    studies: np.ndarray
    rows: list[Row]


def study_log(seen: Seen) -> np.ndarray:
    """Logarithm of the study's likelihood: effects of runs and of the study integrated in closed form, (n,)."""
    near = np.array([row.near for row in seen.rows])
    s0, s1, s2, log = 0.0, 0.0, 0.0, 0.0
    omega = seen.batches[:, None]
    for run in dict.fromkeys(row.run for row in seen.rows):
        own = near & np.array([row.run == run for row in seen.rows])
        r, w = seen.residual[:, :, own], 1.0 / seen.variance[:, own]
        w0 = w.sum(axis=1)[:, None]
        w1, w2 = (np.einsum("nmr,nr->nm", power, w) for power in (r, r * r))
        shared = 1.0 + omega * w0
        s0, s1, s2 = s0 + w0 / shared, s1 + w1 / shared, s2 + w2 - omega * w1**2 / shared
        log = log + 0.5 * (np.log(w / (2.0 * np.pi)).sum(axis=1)[:, None] - np.log(shared))
    spread, s0 = seen.studies[:, None, :], s0[:, :, None]
    shrunk = spread / (1.0 + spread * s0)
    log = log[:, :, None] - 0.5 * (s2[:, :, None] - shrunk * s1[:, :, None] ** 2 + np.log1p(spread * s0))
    if not near.all():
        log = log + np.log(_sides(seen, shrunk * s1[:, :, None], shrunk) + 1e-300)
    return logsumexp(log + np.log(0.5 * WEIGHTS), axis=(1, 2)) - np.log(log.shape[1])


def _sides(seen: Seen, mean: np.ndarray, spread: np.ndarray) -> np.ndarray:
    """Probability that one-sided times lie on their side, given the other rows of the study."""
    total = np.zeros(np.broadcast_shapes(mean.shape, spread.shape))
    for z, weight in zip(_HERMITE, _HERMITE_WEIGHTS / _HERMITE_WEIGHTS.sum(), strict=True):
        product = np.ones(())
        for i, row in enumerate(seen.rows):
            if row.near:
                continue
            side = 1.0 if np.isfinite(row.high) else -1.0  # at most: the true time lies below
            gap = seen.residual[:, :, i, None] - (mean + z * np.sqrt(spread))
            sd = np.sqrt(seen.variance[:, i] + seen.batches)[:, None, None]
            product = product * ndtr(side * gap / sd)
        total += weight * product
    return total
