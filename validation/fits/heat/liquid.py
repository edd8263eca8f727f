"""Seconds to minutes in hot liquid or steam: how deep bacteria sit, what washes off, and the resistant fraction.

A count is the heat at a depth below the surface, limited by a ceiling of the study, plus what a spray or a chamber carries away;
that is never credited. A few parameters on a handful of studies: the priors speak loudly, and the page says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, logsumexp
from scipy.stats import norm

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.heat_draws import samples_of
from dryingsim.judge.heat_model import Ceiling, HeatResistance
from dryingsim.judge.heat_resistance import survived
from validation.data import table
from validation.fits.heat.challenge import Challenge, heat_of_liquid
from validation.fits.heat.laws import EFFECTS, HEATS, Params, drawn, some

DEPTHS_M = 1e-3 * np.array([0.0, 0.05, 0.1, 0.2, 0.3, 0.45, 0.6, 0.9, 1.5])
FILM = {"hot water": 1000.0, "steam": 3000.0, "steam chamber": 1000.0}  # estimates, W/(m2 K)
START_C = {"fresh beef": 5.0, "fresh beef surface": 5.0, "prerigor beef": 35.0}  # estimates
FILE = "heat_rapid_wet_evidence"
DRAWS = 8192
PRIORS = {
    "ln_depth": (np.log(0.3e-3), 0.8),
    "ceiling": (5.5, 1.5),
    "ln_between": (np.log(0.7), 0.5),
    "wash": (0.0, 1.5),  # its absolute value
    "ln_row": (np.log(0.4), 0.5),
}


@dataclass(frozen=True)
class Dip:
    """A row: heat of the draws over the depths, (depth, draw), and what was counted."""

    name: str
    study: str
    words: str
    organism: str
    heat: np.ndarray
    low: float
    high: float
    sprayed: bool


def _heat(model: HeatResistance, organism: str, **how: float | None) -> np.ndarray:
    factor = 10.0 ** -samples_of(model, organism, "surface").fast
    each = [heat_of_liquid(model, depth_m=float(depth), **how).sums[:, :1] * factor for depth in DEPTHS_M]  # type: ignore[arg-type]
    return np.array([some(one) for one in each])


def dips(model: HeatResistance, challenges: Sequence[Challenge]) -> list[Dip]:
    """Return all rows; several organisms together count as Salmonella, the middle one."""
    out = []
    for row in table(FILE).where(use="fit").rows:
        key = "e_coli" if row["organism"] == "E. coli O157:H7" else "salmonella"
        celsius, seconds = (float(row[c].split("-")[-1]) for c in ("medium_C", "time_s"))
        if row["log_reduction_low"] and not row["log_reduction_high"]:
            seconds = float(row["time_s"].split("-")[0])
        heat = _heat(
            model,
            key,
            liquid_K=celsius + ZERO_CELSIUS,
            seconds=seconds,
            film=FILM[row["medium"]],
            start_K=START_C[row["tissue"]] + ZERO_CELSIUS,
        )
        low, high = float(row["log_reduction_low"] or "-inf"), float(row["log_reduction_high"] or "inf")
        words = f"{row['medium']} {celsius:g} degC, {seconds:g} s"
        out.append(Dip(row["id"], row["study"], words, key, heat, low, high, sprayed=True))
    for one in challenges:
        if one.nothing_after:
            seconds = None if one.liquid_s < 0.0 else one.liquid_s
            words = "boiling, until 71.1 degC in the middle" if seconds is None else f"boiling, {seconds:g} s"
            heat = _heat(model, one.organism, liquid_K=373.15, seconds=seconds)
            out.append(Dip(str(one.row), one.study, words, one.organism, heat, one.low, one.high, False))
    return out


@dataclass(frozen=True)
class Posterior:
    """Even draws of the parameters with the log likelihood of each study, (study, draw)."""

    params: Params
    studies: tuple[str, ...]
    logs: np.ndarray

    def weights(self, without: str = "") -> np.ndarray:
        """Return the posterior weights from all studies but one."""
        keep = np.array([study != without for study in self.studies])
        logs = self.logs[keep].sum(axis=0)
        return np.asarray(np.exp(logs - logsumexp(logs)))

    def mean(self, values: np.ndarray, without: str = "") -> float:
        """Return the posterior mean of something of the draws."""
        return float(self.weights(without) @ values.reshape(-1))

    def ceiling(self, without: str = "") -> Ceiling:
        """Return the ceiling of a new study."""
        c = self.params["ceiling"]
        mean = self.mean(c, without)
        variance = self.mean(np.square(c - mean) + np.exp(2.0 * self.params["ln_between"]), without)
        return Ceiling(mean=mean, sd=float(np.sqrt(variance)))

    def depth_m(self, without: str = "", above: float = 1.645) -> float:
        """Return the depth: as a rule its unfavourable end, so many standard deviations of its logarithm above the mean."""
        x = self.params["ln_depth"]
        mean = self.mean(x, without)
        return float(np.exp(mean + above * np.sqrt(self.mean(np.square(x - mean), without))))


def posterior(rows: Sequence[Dip]) -> Posterior:
    """Fit the rows."""
    params = drawn(PRIORS, DRAWS)
    studies = tuple(dict.fromkeys(row.study for row in rows))
    logs = [_study([row for row in rows if row.study == study], params) for study in studies]
    return Posterior(params, studies, np.array(logs))


def _study(rows: Sequence[Dip], params: Params) -> np.ndarray:
    nodes, weights = np.polynomial.hermite_e.hermegauss(EFFECTS)
    top = params["ceiling"][..., None] + np.exp(params["ln_between"])[..., None] * nodes
    total = np.zeros((params["ceiling"].shape[0], HEATS, EFFECTS))
    for row in rows:
        heat = _at_depth(row.heat, np.exp(params["ln_depth"][:, 0]))[..., None]
        washed = np.abs(params["wash"])[..., None] * row.sprayed
        total += _log(row, survived(np.minimum(heat, 50.0), top) + washed, params)
    mean = logsumexp(total, axis=(1, 2), b=np.broadcast_to(weights / weights.sum() / HEATS, total.shape))
    return np.asarray(mean)


def _at_depth(heat: np.ndarray, depth: np.ndarray) -> np.ndarray:
    place = np.interp(depth, DEPTHS_M, np.arange(DEPTHS_M.size))
    low = np.minimum(place.astype(int), DEPTHS_M.size - 2)
    part = (place - low)[:, None]
    logs = np.log(np.maximum(heat, 1e-12))
    return np.asarray(np.exp((1.0 - part) * logs[low] + part * logs[low + 1]))


def _log(row: Dip, value: np.ndarray, params: Params) -> np.ndarray:
    sd = np.exp(params["ln_row"])[..., None]
    if row.low == row.high:
        return np.asarray(norm.logpdf(row.low, value, sd))
    if not np.isfinite(row.high):
        return np.asarray(log_ndtr((value - row.low) / sd))
    upper = log_ndtr((row.high - value) / sd)
    if not np.isfinite(row.low):
        return np.asarray(upper)
    return np.asarray(np.log(np.maximum(np.exp(upper) - np.exp(log_ndtr((row.low - value) / sd)), 1e-300)))
