"""One hierarchical model of log10 D(T, a_w), fitted by its marginal likelihood.

    log10 D [min] = c(organism) - b t + E (low + rise s(t)) + linear x + whole + fat + cure
                    + laboratory + study x organism + matrix + t (slope of a study) + E (dryness of a matrix) + rest

t = T - 60 degC, x = a_w below 0.99, E = 1 - exp(-x/width), s a smooth ramp from zero below the hinge to t - hinge above: dryness
protects above the hinge, and below it does nothing or the reverse. Random effects are normal. The linear coefficients have wide
normal priors and are integrated out exactly; the spreads, the width and the hinge are at the mode, with the curvature there as
their uncertainty (Laplace). A censored value counts with the probability of its side, and then as the normal with the moments of
what is left.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize
from scipy.stats import norm

from dryingsim.judge.heat_model import dryness_shapes
from validation.fits.heat.evidence import ORGANISMS, DValue

COEFFICIENTS = (*ORGANISMS, "slope", "low", "rise", "linear", "whole", "fat", "cure")
PRIOR_MEAN = np.array([0.5] * len(ORGANISMS) + [0.17, 0.0, 0.05, 2.0, 0.0, 0.0, 0.0])
PRIOR_SD = np.array([2.0] * len(ORGANISMS) + [0.1, 1.0, 0.1, 3.0, 0.5, 0.5, 0.5])
SPREADS = ("laboratory", "study", "matrix", "slope", "dryness", "rest")
BENDS = ("ln_width", "hinge")
# mode and spread of the priors: ln of the spreads, ln of the width, hinge [K above 60 degC]
OUTER_MEAN = np.array([*np.log([0.3, 0.2, 0.2, 0.02, 0.4, 0.15]), np.log(0.08), -6.0])
OUTER_SD = np.array([1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.7, 4.0])
RATIO_SD = 0.1  # log10: rounding of a printed ratio, no rest of two D values; estimate


@dataclass(frozen=True)
class Arrays:
    """What the model needs of the rows."""

    rows: Sequence[DValue]
    y: np.ndarray
    t: np.ndarray
    activity: np.ndarray
    compared: np.ndarray
    ratio: np.ndarray  # whether it is a ratio
    fixed: np.ndarray  # columns that depend on no bend: organisms, slope, whole, fat, cure
    same: dict[str, np.ndarray]  # of a level: whether two rows share it

    @classmethod
    def of(cls, rows: Sequence[DValue]) -> "Arrays":
        """Return those of some rows."""

        def column(how) -> np.ndarray:  # type: ignore[no-untyped-def]
            return np.array([how(row) for row in rows])

        ratio = column(lambda r: r.kind == "ratio")
        once = ~ratio
        t = column(lambda r: r.t)
        organisms = [column(lambda r, o=name: r.organism == o) * once for name in ORGANISMS]
        whole = column(lambda r: r.form == "whole").astype(float)
        fat, cure = column(lambda r: r.fat) * once, column(lambda r: r.cured) * once
        names = {
            "laboratory": column(lambda r: r.laboratory),
            "study": column(lambda r: f"{r.study}/{r.organism}"),
            "matrix": column(lambda r: f"{r.study}/{r.matrix}"),
        }
        both = once[:, None] & once[None, :]
        same = {level: (name[:, None] == name[None, :]) & both for level, name in names.items()}
        same["foods"] = names["matrix"][:, None] == names["matrix"][None, :]
        return cls(
            rows,
            column(lambda r: r.log10_d),
            t,
            column(lambda r: r.activity),
            column(lambda r: r.compared_activity),
            ratio,
            np.stack([*organisms, -t * once, whole, fat, cure], axis=1),
            same,
        )


def design(arrays: Arrays, bends: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the columns of the coefficients, and E (of a ratio the difference)."""

    def shapes(activity: np.ndarray) -> np.ndarray:
        near, ramp, fall = dryness_shapes(arrays.t, activity, float(np.exp(bends[0])), float(bends[1]))
        return np.stack([near, near * ramp, fall], axis=1)

    dry = shapes(arrays.activity) - arrays.ratio[:, None] * shapes(arrays.compared)
    n = len(ORGANISMS) + 1
    return np.concatenate([arrays.fixed[:, :n], dry, arrays.fixed[:, n:]], axis=1), dry[:, 0]


def covariance(arrays: Arrays, spreads: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Return the covariance of the rows given the coefficients."""
    laboratory, study, matrix, slope, dryness, rest = np.square(spreads)
    v = laboratory * arrays.same["laboratory"] + matrix * arrays.same["matrix"]
    v = v + (study + slope * np.outer(arrays.t, arrays.t)) * arrays.same["study"]
    v = v + dryness * np.outer(near, near) * arrays.same["foods"]
    return v + np.diag(np.where(arrays.ratio, RATIO_SD**2, rest))


@dataclass(frozen=True)
class Solved:
    """Marginal log likelihood, and the posterior of the coefficients at given spreads and bends."""

    log_likelihood: float
    mean: np.ndarray
    cov: np.ndarray


def solve(arrays: Arrays, outer: np.ndarray) -> Solved:
    """Integrate the coefficients out."""
    spreads, bends = np.exp(outer[: len(SPREADS)]), outer[len(SPREADS) :]
    x, near = design(arrays, bends)
    v = covariance(arrays, spreads, near)
    censored = np.array([row.kind in ("at_most", "at_least") for row in arrays.rows])
    y, total = arrays.y.copy(), 0.0
    if censored.any():
        total, y, v = _uncensored(arrays, x, v, censored)
    keep = np.isfinite(y)
    x, y, v = x[keep], y[keep], v[np.ix_(keep, keep)]
    factor = cho_factor(v, lower=True)
    vx, miss = cho_solve(factor, x), y - x @ PRIOR_MEAN
    precision = x.T @ vx + np.diag(PRIOR_SD**-2.0)
    inner = cho_factor(precision, lower=True)
    weighted = vx.T @ miss
    shift = cho_solve(inner, weighted)
    quadratic = miss @ cho_solve(factor, miss) - weighted @ shift
    logs = 2.0 * np.sum(np.log(np.diag(factor[0])))
    logs += 2.0 * np.sum(np.log(np.diag(inner[0]))) + 2.0 * np.sum(np.log(PRIOR_SD))
    own = -0.5 * (quadratic + logs + y.size * np.log(2.0 * np.pi))
    return Solved(float(own - total), PRIOR_MEAN + shift, cho_solve(inner, np.eye(precision.shape[0])))


def _uncensored(
    arrays: Arrays, x: np.ndarray, v: np.ndarray, censored: np.ndarray
) -> tuple[float, np.ndarray, np.ndarray]:
    """Turn each censored row into a measurement that moves it to the moments of its side.

    Returns what the log likelihood of those measurements has too much of, the values and the covariance.
    """
    marginal = v + (x * PRIOR_SD**2) @ x.T
    y, v, too_much = arrays.y.copy(), v.copy(), 0.0
    known = np.flatnonzero(~censored)
    factor = cho_factor(marginal[np.ix_(known, known)], lower=True)
    for i in np.flatnonzero(censored):
        to = cho_solve(factor, marginal[known, i])
        mean = float(x[i] @ PRIOR_MEAN + to @ (y[known] - x[known] @ PRIOR_MEAN))
        variance = float(marginal[i, i] - to @ marginal[known, i])
        side = -1.0 if arrays.rows[i].kind == "at_most" else 1.0
        z = side * (mean - y[i]) / np.sqrt(variance)
        mills = float(np.exp(norm.logpdf(z) - norm.logcdf(z)))
        less = mills * (z + mills)
        new_mean, new_variance = mean + side * np.sqrt(variance) * mills, variance * (1.0 - less)
        noise = 1.0 / max(1.0 / new_variance - 1.0 / variance, 1e-9)
        value = new_variance**-1.0 * new_mean - mean / variance
        y[i] = value * noise
        v[i, i] += noise
        as_if = norm.logpdf(y[i], mean, np.sqrt(variance + noise))
        too_much += float(as_if - norm.logcdf(z))
    return too_much, y, v


@dataclass(frozen=True)
class Fitted:
    """The model at its mode.

    Attributes
    ----------
    names : tuple of str
        Coefficients, then the bends.
    mean, cov : ndarray
        Of these, jointly, with the uncertainty of the spreads and of the bends in it.
    spreads : dict
        Standard deviations of the random effects; their logarithms' standard errors in `spread_errors`.
    """

    names: tuple[str, ...]
    mean: np.ndarray
    cov: np.ndarray
    spreads: dict[str, float]
    spread_errors: dict[str, float]
    outer: np.ndarray
    log_likelihood: float

    def __getitem__(self, name: str) -> float:
        return float(self.mean[self.names.index(name)])

    def error(self, name: str) -> float:
        """Return the standard error of a parameter."""
        i = self.names.index(name)
        return float(np.sqrt(self.cov[i, i]))


def _objective(outer: np.ndarray, arrays: Arrays) -> float:
    prior = 0.5 * np.sum(np.square((outer - OUTER_MEAN) / OUTER_SD))
    return float(prior - solve(arrays, outer).log_likelihood)


def fit(rows: Sequence[DValue], start: np.ndarray = OUTER_MEAN) -> Fitted:
    """Fit the model to some rows."""
    arrays = Arrays.of(rows)
    found = minimize(_objective, start, args=(arrays,), method="L-BFGS-B", options={"maxiter": 200})
    outer = found.x
    cov_outer = np.linalg.inv(_curvature(outer, arrays))
    best = solve(arrays, outer)
    step = 0.05
    moves = np.stack(
        [
            (solve(arrays, outer + step * e).mean - solve(arrays, outer - step * e).mean) / (2.0 * step)
            for e in np.eye(outer.size)
        ],
        axis=1,
    )
    bends = np.eye(outer.size)[len(SPREADS) :]
    to = np.concatenate([moves, bends], axis=0)
    cov = to @ cov_outer @ to.T
    n = best.mean.size
    cov[:n, :n] += best.cov
    return Fitted(
        (*COEFFICIENTS, *BENDS),
        np.concatenate([best.mean, outer[len(SPREADS) :]]),
        cov,
        dict(zip(SPREADS, np.exp(outer).tolist(), strict=False)),
        dict(zip(SPREADS, np.sqrt(np.diag(cov_outer)).tolist(), strict=False)),
        outer,
        best.log_likelihood,
    )


def _curvature(at: np.ndarray, arrays: Arrays, step: float = 0.05) -> np.ndarray:
    n = at.size
    e = step * np.eye(n)

    def value(shift: np.ndarray) -> float:
        return _objective(at + shift, arrays)

    middle, out = value(np.zeros(n)), np.empty((n, n))
    for i in range(n):
        out[i, i] = (value(e[i]) - 2.0 * middle + value(-e[i])) / step**2
        for j in range(i):
            mixed = value(e[i] + e[j]) - value(e[i] - e[j]) - value(e[j] - e[i]) + value(-e[i] - e[j])
            out[i, j] = out[j, i] = mixed / (4.0 * step**2)
    lowest = np.linalg.eigvalsh(out)[0]
    return out + max(0.0, 1e-3 - lowest) * np.eye(n)  # a flat direction keeps its prior's order


def slopes_gain(rows: Sequence[DValue], full: Fitted) -> float:
    """Return what a slope of its own for each organism adds to the log marginal likelihood, at the spreads of one slope."""
    arrays = Arrays.of(rows)
    spreads = np.array([full.spreads[name] for name in SPREADS])
    x, near = design(arrays, full.outer[len(SPREADS) :])
    keep = np.array([row.kind == "value" for row in rows])
    own = -arrays.t[:, None] * x[:, : len(ORGANISMS)]
    v = covariance(arrays, spreads, near)[np.ix_(keep, keep)]
    out = []
    for columns, mean, sd in (
        (x, PRIOR_MEAN, PRIOR_SD),
        (
            np.concatenate([x, own], axis=1),
            np.append(PRIOR_MEAN, np.zeros(5)),
            np.append(PRIOR_SD, np.full(5, 0.03)),
        ),
    ):
        total = v + (columns[keep] * sd**2) @ columns[keep].T
        factor = cho_factor(total, lower=True)
        miss = arrays.y[keep] - columns[keep] @ mean
        out.append(-0.5 * miss @ cho_solve(factor, miss) - np.sum(np.log(np.diag(factor[0]))))
    return float(out[1] - out[0])


@dataclass(frozen=True)
class LeftOut:
    """A D value predicted from the other laboratories: z score and predictive standard deviation."""

    row: DValue
    z: float
    sd: float


def leave_laboratories_out(rows: Sequence[DValue], full: Fitted) -> list[LeftOut]:
    """Predict every value from a fit without its laboratory."""
    out = []
    values = [row for row in rows if row.kind == "value"]
    for laboratory in dict.fromkeys(row.laboratory for row in values):
        others = [row for row in rows if row.laboratory != laboratory]
        own = [row for row in values if row.laboratory == laboratory]
        out += predicted(fit(others, full.outer), own)
    return out


def predicted(model: Fitted, rows: Sequence[DValue]) -> list[LeftOut]:
    """Predict rows of a new laboratory."""
    arrays = Arrays.of(rows)
    bends = model.mean[-len(BENDS) :]
    x, near = design(arrays, bends)
    ahead = []
    for e in np.eye(len(BENDS)) * 1e-3:
        up, down = design(arrays, bends + e)[0], design(arrays, bends - e)[0]
        ahead.append((up - down) @ model.mean[: -len(BENDS)] / 2e-3)
    full = np.concatenate([x, np.stack(ahead, axis=1)], axis=1)
    spreads = np.array([model.spreads[name] for name in SPREADS])
    variance = np.einsum("ij,jk,ik->i", full, model.cov, full)
    variance = variance + np.diag(covariance(arrays, spreads, near))
    miss = arrays.y - x @ model.mean[: -len(BENDS)]
    return [
        LeftOut(row, float(m / np.sqrt(v)), float(np.sqrt(v)))
        for row, m, v in zip(rows, miss, variance, strict=True)
    ]
