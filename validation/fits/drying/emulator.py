"""The simulated times as polynomials of all that is uncertain: quadratic, cubic in what matters most."""

from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np

from validation.fits.drying.evidence import Row, Run
from validation.fits.drying.simulation import KNOWNS, UNKNOWNS, Design

CUBIC = ("level", "shape", "energy", "energy_above", "thickness", "film", "end")
NAMES = KNOWNS + UNKNOWNS
FOLDS = 8


@dataclass(frozen=True)
class Emulator:
    """Logarithm of a row's time [h], or of its slope [m2/s].

    Attributes
    ----------
    powers : ndarray of int, shape (terms, 12)
        Of the scaled knowns and unknowns.
    weights : ndarray, shape (terms,)
    error : float
        Root mean square on laws that were left out of the fit.
    """

    powers: np.ndarray
    weights: np.ndarray
    error: float

    def at(self, unknowns: np.ndarray) -> "Reduced":
        """What is left when the unknowns are given, shape (draws, 8)."""
        known, index = np.unique(self.powers[:, : len(KNOWNS)], axis=0, return_inverse=True)
        terms = self.weights * _monomials(self.powers[:, len(KNOWNS) :], unknowns)
        weights = np.zeros((unknowns.shape[0], known.shape[0]))
        np.add.at(weights.T, index.ravel(), terms.T)
        return Reduced(known, weights)

    def by_end(self) -> "Emulator":
        """Derivative by the scaled end point."""
        place = len(KNOWNS) + UNKNOWNS.index("end")
        powers, weights = self.powers.copy(), self.weights * self.powers[:, place]
        powers[:, place] = np.maximum(powers[:, place] - 1, 0)
        return Emulator(powers, weights, 0.0)


@dataclass(frozen=True)
class Reduced:
    """A row at given unknowns: polynomials of the knowns alone."""

    powers: np.ndarray
    weights: np.ndarray  # (draws, terms)

    def value(self, knowns: np.ndarray) -> np.ndarray:
        """At scaled knowns (n, 4), shape (n, draws)."""
        return _monomials(self.powers, knowns) @ self.weights.T


def _monomials(powers: np.ndarray, values: np.ndarray) -> np.ndarray:
    out = np.ones((values.shape[0], powers.shape[0]))
    for k in range(powers.shape[1]):
        for degree in range(1, int(powers[:, k].max(initial=0)) + 1):
            out[:, powers[:, k] >= degree] *= values[:, k : k + 1]
    return out


def _powers(names: list[str]) -> np.ndarray:
    columns = [NAMES.index(name) for name in names]
    rich = [NAMES.index(name) for name in names if name in CUBIC]
    products: list[tuple[int, ...]] = [()]
    for degree, of in ((1, columns), (2, columns), (3, rich)):
        products += list(combinations_with_replacement(of, degree))
    out = np.zeros((len(products), len(NAMES)), dtype=int)
    for i, term in enumerate(products):
        for column in term:
            out[i, column] += 1
    return out


def terms(row: Row, run: Run) -> np.ndarray:
    """Powers of a row's polynomial."""
    return _powers(uncertain(row, run))


def uncertain(row: Row, run: Run) -> list[str]:
    """Names of what moves a row's answer."""
    sizes = [run.thickness_sd, run.film_sd, run.vapour_sd, run.air_sd, run.water_sd, run.salt_sd]
    sizes += [row.value_sd or float(row.slope), float(row.quantity in ("mr", "slope"))]
    return [*KNOWNS, *(name for name, size in zip(UNKNOWNS, sizes, strict=True) if size > 0.0)]


def fit(design: Design, rows: list[Row], runs: dict[str, Run], laws: int) -> dict[str, Emulator]:
    """Polynomials of all rows."""
    place = {name: i for i, name in enumerate(runs)}
    out = {}
    for row in rows:
        i = place[row.run]
        points = np.concatenate([design.knowns[i], design.unknowns[i]], axis=1)
        fold = np.arange(points.shape[0]) // (points.shape[0] // laws) % FOLDS
        out[row.name] = _fitted(points, design.answers[row.name], fold, terms(row, runs[row.run]))
    return out


def _fitted(points: np.ndarray, answers: np.ndarray, fold: np.ndarray, powers: np.ndarray) -> Emulator:
    good = np.isfinite(answers)
    basis, values, fold = _monomials(powers, points[good]), answers[good], fold[good]
    errors = np.concatenate(
        [
            values[fold == k] - basis[fold == k] @ _solved(basis[fold != k], values[fold != k])
            for k in np.unique(fold)
        ]
    )
    return Emulator(powers, _solved(basis, values), float(np.sqrt(np.mean(errors**2))))


def _solved(basis: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Least squares with a ridge that only holds terms nothing is known of."""
    square = basis.T @ basis + 1e-3 * np.eye(basis.shape[1])
    return np.linalg.solve(square, basis.T @ values)
