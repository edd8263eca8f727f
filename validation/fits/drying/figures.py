"""Figures that the report of the fit tells: misses, coverage, factors, parameters in the units people use."""

from dataclasses import dataclass

import numpy as np
from scipy.stats import binom
from scipy.stats import t as student

from dryingsim.properties.diffusivity import LEAN_MEAT
from validation.fits.drying.posterior import Posterior, weighted_quantile
from validation.fits.drying.prediction import Prediction

SHARES = (0.5, 0.8, 0.9)


def timed(found: list[Prediction]) -> list[Prediction]:
    """Predictions of published times with both ends."""
    return [one for one in found if one.row.timed]


def by_study(found: list[Prediction]) -> dict[str, list[Prediction]]:
    """Grouped."""
    names = dict.fromkeys(one.row.study for one in found)
    return {name: [one for one in found if one.row.study == name] for name in names}


def median_miss(found: list[Prediction]) -> float:
    """Median over the studies of their median miss, in doublings."""
    return float(np.median([np.median([p.miss for p in own]) for own in by_study(timed(found)).values()]))


@dataclass(frozen=True)
class Coverage:
    """Share of published times inside their central predictive interval, by rows and as the mean over the studies.

    `by_rows` and `by_studies` hold 95 % of the binomial with as many trials as rows, or (rows of one study err together)
    as studies.
    """

    nominal: float
    rows: float
    count: int
    by_rows: tuple[float, float]
    studies: float
    by_studies: tuple[float, float]


def coverage(found: list[Prediction]) -> list[Coverage]:
    """For each nominal share."""
    own, out = by_study(timed(found)), []
    for nominal in SHARES:
        inside = [[abs(p.place - 0.5) < 0.5 * nominal for p in v] for v in own.values()]
        rows = np.array([one for v in inside for one in v])
        within = [tuple(np.array(binom.interval(0.95, n, nominal)) / n) for n in (rows.size, len(own))]
        studies = float(np.mean([np.mean(v) for v in inside]))
        out.append(Coverage(nominal, float(rows.mean()), rows.size, within[0], studies, within[1]))
    return out


def factor_90(found: list[Prediction]) -> float:
    """Factor either way of the predicted median that holds 90 % of the published times."""
    return float(2.0 ** np.quantile([abs(p.miss) for p in timed(found)], 0.9))


def typical_factor(found: list[Prediction]) -> float:
    """Median over the rows of half the width of the 90 % interval, as a factor."""
    return float(np.exp(np.median([0.5 * (p.quantiles[2] - p.quantiles[0]) for p in timed(found)])))


def new_batch_factor(posterior: Posterior) -> float:
    """90 % factor on the time of a new laboratory's batch whose inputs are all known: study and batch effects."""
    values, weights = posterior.values(), posterior.weights
    rng = np.random.default_rng(3)
    effect = np.exp(values["studies"]) * student.rvs(np.exp(values["tail"]), random_state=rng)
    effect = effect + np.exp(values["batches"]) * rng.standard_normal(effect.size)
    return float(np.exp(weighted_quantile(np.abs(effect), weights, np.array([0.9]))[0]))


def in_units(posterior: Posterior) -> dict[str, np.ndarray]:
    """5, 50 and 95 % of the parameters in the units people use."""
    level = LEAN_MEAT.reference_m2_s * np.exp(posterior.quantiles("level"))
    return {
        "D_ref, 1e-10 m2/s": 1e10 * level,
        "X_h, kg/kg": np.exp(posterior.quantiles("shape")),
        "E, kJ/mol": 1e-3 * posterior.quantiles("energy"),
        "E above 60 degC, kJ/mol": 1e-3 * posterior.quantiles("energy_above"),
        "between studies (times), ln": np.exp(posterior.quantiles("studies")),
        "between studies (slopes), ln": np.exp(posterior.quantiles("slope_studies")),
        "batch to batch, ln": np.exp(posterior.quantiles("batches")),
        "rows of one run, ln": np.exp(posterior.quantiles("rows")),
        "degrees of freedom": np.exp(posterior.quantiles("tail")),
        "offset of slopes, ln": posterior.quantiles("offset"),
    }
