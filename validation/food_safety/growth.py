"""Growth of bacteria: published models as coded here against figures worked out from them elsewhere, and against each other."""

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.growth import growth_rate
from validation.case import Case, Plot, Result
from validation.data import table

_FIGURES = table("growth_in_6h")
_SAME = ("staphylococcus", "salmonella", "perfringens", "listeria")
_BEST = 1.0  # water activity: every factor at its best, as in the figures
_COMMON_C = np.arange(10.0, 36.0, 5.0)  # within the range of all four models of Salmonella


def in_6h(organism: str, celsius: np.ndarray) -> np.ndarray:
    """Increase [log10] in 6 h without a lag in wet meat."""
    rate = growth_rate(organism, celsius + ZERO_CELSIUS, np.full_like(celsius, _BEST))
    return rate * 6.0 * 3600.0 / np.log(10.0)


def same_models(full: bool) -> Result:
    celsius = _FIGURES.column("temp_C")
    grown = np.array([in_6h(one, celsius) for one in _SAME])
    plot = Plot(
        title="Growth in 6 h, wet, no lag",
        x_label="temperature [degC]",
        y_label="increase [log10]",
        points=tuple((one, celsius, _FIGURES.column(one)) for one in _SAME),
        lines=tuple((one, celsius, row) for one, row in zip(_SAME, grown, strict=True)),
    )
    return Result(grown, plots=(plot,))


def _coli() -> np.ndarray:
    return np.array([float(row["temp_C"]) <= 40.0 for row in _FIGURES.rows])


def other_models_of_salmonella(celsius: np.ndarray) -> np.ndarray:
    """Specific growth rates [1/h] in raw meat by three other published models, at a water activity of 0.99 and a pH of 5.7."""
    t, b, ph = celsius, np.sqrt(0.01), 5.7
    meat = np.exp(
        -11.909 + 0.3649 * t + 1.7832 * ph + 7.00019 * b - 0.00442 * t * ph - 0.00458 * t**2
        - 0.12539 * ph**2 - 62.114 * b**2
    )  # fmt: skip
    pork = (0.0356 * (t - 2.33)) ** 2
    chicken = np.log(10.0) * 0.00028 * (t + 0.67) ** 2 * (1.0 - np.exp(0.57 * (t - 47.36)))
    return np.array([meat, pork, chicken])


def against_other_models(full: bool) -> np.ndarray:
    own = growth_rate("salmonella", _COMMON_C + ZERO_CELSIUS, np.full_like(_COMMON_C, 0.99)) * 3600.0
    return np.log10(own / other_models_of_salmonella(_COMMON_C))


CASES = [
    Case(
        name="growth in 6 h at constant temperature",
        kind=3,
        source=_FIGURES.source,
        status=_FIGURES.status,
        inputs="10-50 degC, wet, no lag: S. aureus, Salmonella, C. perfringens, L. monocytogenes",
        expected=lambda full: np.array([_FIGURES.column(one) for one in _SAME]),
        tolerance=0.006,
        reason="the same constants: what is printed is rounded to 0.01",
        compute=same_models,
    ),
    Case(
        name="growth of E. coli in 6 h",
        kind=3,
        source=_FIGURES.source,
        status=_FIGURES.status,
        inputs="10-40 degC, wet, no lag; hotter the published line goes on beyond its fit, where this model ends at 45.4 degC",
        expected=lambda full: _FIGURES.column("e_coli")[_coli()],
        tolerance=0.33,
        reason="another law: cardinal, of the same rate at 37 degC. 7.5 % of the largest, where the straight line leaves its fit",
        compute=lambda full: in_6h("e_coli", _FIGURES.column("temp_C")[_coli()]),
    ),
    Case(
        name="Salmonella against other models of raw meat",
        kind=3,
        source="EFSA BIOHAZ 2014 (meat), Moller et al. 2013 (fresh pork), Juneja et al. 2007 (chicken): "
        "archived scripts 503, 355, 1169",
        status="read in the archived scripts; the unit of the last, log10 per hour, by its size",
        inputs="10-35 degC, a_w 0.99, pH 5.7 where it is asked for",
        expected=lambda full: np.zeros((3, _COMMON_C.size)),
        tolerance=0.4,
        reason="log10 of the ratio of the rates; the three others differ from each other by as much (factor 2.5)",
        compute=against_other_models,
    ),
]
