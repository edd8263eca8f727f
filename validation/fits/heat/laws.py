"""What dry hot air takes besides heat: candidate laws, each by its log score on studies left out.

A count is what a law says of the history, plus an effect of the study, plus the scatter of a row; both normal. Heat
comes from the
D values with all their spread (one laboratory's draw for all rows of a study). The parameters have wide priors and
are drawn evenly;
a study is scored by the posterior of the others, exactly and without another fit. Only two-sided rows in dry air are
scored, for an
open-ended row is a hit by construction; the open-ended rows of the other studies take part in their posterior.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import log_ndtr, logsumexp, ndtri
from scipy.stats import norm, qmc

from dryingsim.judge.decline import decline_rate
from dryingsim.judge.heat_draws import samples_of
from dryingsim.judge.heat_model import HeatResistance
from dryingsim.judge.heat_resistance import drying_share, survived
from validation.fits.heat.challenge import Challenge, places, sums
from validation.food_safety.challenge_runs import HOUR, record

# with 32 draws of heat the constant moved by 0.2 log, with 9 places of the effect its spread by as much; twice as many
# draws, four times as many of the parameters, or another seed move neither by more than 0.03
DRAWS, HEATS, EFFECTS = 2048, 64, 33
SEED = 17
SKIN_M = 0.1e-3
WARM_K = 318.15  # time counts while the surface is above 45 degC

Params = dict[str, np.ndarray]


@dataclass(frozen=True)
class Features:
    """What the laws know of a row; `heat` and `heat_below` are reductions of the draws (draw,)."""

    one: Challenge
    heat: np.ndarray
    heat_below: np.ndarray
    fall: float
    hours: float
    share: float  # of the drying term, as the package fades it in
    cold: float  # log10 by the published decline without heat


@dataclass(frozen=True)
class Law:
    """What a law says of a row, of parameters (p, 1) and heat draws (h,)."""

    value: Callable[[Features, Params], np.ndarray]
    priors: dict[str, tuple[float, float]] = field(
        default_factory=dict
    )  # mean, sd; of `ln_` names in logarithms


def _heat(row: Features, p: Params) -> np.ndarray:
    return row.heat + 0.0 * p["ln_study"]


CONSTANT = {"constant": (3.0, 2.0)}
LAWS = {
    "heat alone, surface": Law(_heat),
    "heat alone, 0.1 mm below": Law(lambda row, p: row.heat_below + 0.0 * p["ln_study"]),
    "constant alone": Law(lambda row, p: p["constant"] + 0.0 * row.heat, CONSTANT),
    "heat + constant": Law(lambda row, p: row.heat + p["constant"], CONSTANT),
    "heat + constant, faded in": Law(lambda row, p: row.heat + row.share * p["constant"], CONSTANT),
    "heat + saturating in the fall of a_w": Law(
        lambda row, p: row.heat - p["constant"] * np.expm1(-row.fall / np.exp(p["ln_fall"])),
        {**CONSTANT, "ln_fall": (np.log(0.1), 1.0)},
    ),
    "heat + saturating in time": Law(
        lambda row, p: row.heat - p["constant"] * np.expm1(-row.hours / np.exp(p["ln_hours"])),
        {**CONSTANT, "ln_hours": (np.log(3.0), 1.0)},
    ),
    "heat + Weibull in time": Law(
        lambda row, p: row.heat + (row.hours / np.exp(p["ln_hours"])) ** np.exp(p["ln_power"]),
        {"ln_hours": (np.log(1.0), 1.5), "ln_power": (np.log(0.6), 0.6)},
    ),
    "heat + decline without heat, scaled": Law(
        lambda row, p: row.heat + row.cold * np.exp(p["ln_scale"]), {"ln_scale": (0.0, 1.0)}
    ),
    "heat 0.1 mm below, resistant fraction": Law(
        lambda row, p: survived(row.heat_below, p["constant"]), {"constant": (4.0, 1.5)}
    ),
}
NOISE = {"ln_study": (np.log(1.0), 0.8), "ln_row": (np.log(0.5), 0.5)}
BEYOND, USED = "heat + constant", "heat + constant, faded in"


def features(rows: Sequence[Challenge], model: HeatResistance) -> list[Features]:
    """Return those of all rows."""
    return [_features(one, model) for one in rows]


def counted_heat(one: Challenge, model: HeatResistance, depth_m: float = 0.0) -> np.ndarray:
    """Return the reduction a count of the mean survivors sees, of every draw, ceilings left out."""
    own = sums(one, model, depth_m)
    factor = 10.0 ** -samples_of(model, one.organism, one.matrix).slow[:, :, None]
    each = own.heat[:, None, :] * factor
    least = each.min(axis=2, keepdims=True)
    share = np.sum(own.weights * 10.0 ** np.maximum(least - each, -300.0), axis=2)
    return np.asarray(least[..., 0] - np.log10(share))


def some(draws: np.ndarray) -> np.ndarray:
    """Return an even subset of draws (shape, draw): always the same, with ever another shape."""
    i = np.arange(HEATS)
    return np.asarray(draws[7 * i % draws.shape[0], i % draws.shape[1]])


def _features(one: Challenge, model: HeatResistance) -> Features:
    heat, below = (some(counted_heat(one, model, depth)) for depth in (0.0, SKIN_M))
    rec = record(one.condition, True)
    end = rec.index(one.hours)
    stop = rec.time_s.size if end == -1 else end + 1
    time, t = rec.time_s[:stop], places(one, rec.temperature_K[:stop]).mean(axis=1)
    a = places(one, rec.water_activity[:stop]).mean(axis=1)
    span = np.diff(time)
    warm = t[1:] >= WARM_K
    rate = decline_rate(t[1:])  # as if it held in hot air too: what is asked here
    return Features(
        one,
        heat,
        below,
        float(np.max(a[0] - a)),
        float(span @ warm) / HOUR,
        float(drying_share(time, t, np.minimum(a, 1.0), model)),
        float(span @ rate),
    )


@dataclass(frozen=True)
class Scored:
    """A law on all studies: even draws of its parameters, and the log likelihood of each study at each (study, draw)."""

    law: str
    params: Params
    studies: tuple[str, ...]
    all_rows: np.ndarray
    scored_rows: np.ndarray

    def weights(self, without: str = "") -> np.ndarray:
        """Return the posterior weights of the draws, from all studies but one."""
        keep = np.array([study != without for study in self.studies])
        logs = self.all_rows[keep].sum(axis=0)
        return np.asarray(np.exp(logs - logsumexp(logs)))

    def score(self, study: str) -> float:
        """Return the log probability of a study's scored rows, from the others."""
        i = self.studies.index(study)
        with np.errstate(divide="ignore"):
            return float(logsumexp(np.log(self.weights(study)) + self.scored_rows[i]))

    def moments(self, name: str, without: str = "") -> tuple[float, float]:
        """Return the posterior mean and standard deviation of a parameter."""
        w, x = self.weights(without), self.params[name][:, 0]
        mean = float(w @ x)
        return mean, float(np.sqrt(w @ np.square(x - mean)))


def drawn(priors: dict[str, tuple[float, float]], count: int = DRAWS) -> Params:
    """Return even draws of normal priors, (draw, 1) each."""
    even = qmc.Sobol(len(priors), seed=SEED).random(count)
    z = ndtri(np.clip(even, 1e-6, 1.0 - 1e-6))
    return {name: (mean + sd * z[:, i])[:, None] for i, (name, (mean, sd)) in enumerate(priors.items())}


def scored(name: str, rows: Sequence[Features]) -> Scored:
    """Score a law on every study."""
    law = LAWS[name]
    params = drawn({**NOISE, **law.priors})
    studies = tuple(dict.fromkeys(row.one.study for row in rows))
    every, some = [], []
    for study in studies:
        own = [row for row in rows if row.one.study == study]
        parts = [_row_logs(row, law, params) for row in own]
        every.append(_integrated(parts, params))
        some.append(_integrated([p for p, row in zip(parts, own, strict=True) if counts(row)], params))
    return Scored(name, params, studies, np.array(every), np.array(some))


def counts(row: Features) -> bool:
    """Whether a row is scored."""
    return row.one.two_sided and row.one.kind == "dry air"


def _row_logs(row: Features, law: Law, params: Params) -> np.ndarray:
    """Return the log likelihood of a row, (draw, heat, effect)."""
    nodes, _ = np.polynomial.hermite_e.hermegauss(EFFECTS)
    with np.errstate(over="ignore"):
        value = np.minimum(law.value(row, params), 12.0)
    middle = survived(value, np.array(7.5))[..., None] + np.exp(params["ln_study"])[..., None] * nodes
    sd = np.exp(params["ln_row"])[..., None]
    low, high = row.one.low, row.one.high
    if low == high:
        return np.asarray(norm.logpdf(low, middle, sd))
    upper = log_ndtr((high - middle) / sd) if np.isfinite(high) else np.zeros_like(middle)
    if not np.isfinite(low):
        return np.asarray(upper)
    lower = log_ndtr((low - middle) / sd)
    if not np.isfinite(high):
        return np.asarray(log_ndtr((middle - low) / sd))
    return np.asarray(upper + np.log1p(-np.exp(np.minimum(lower - upper, -1e-9))))


def _integrated(parts: list[np.ndarray], params: Params) -> np.ndarray:
    """Integrate the study's effect and its heat out of the product of its rows."""
    if not parts:
        return np.zeros(params["ln_study"].shape[0])
    weights = np.polynomial.hermite_e.hermegauss(EFFECTS)[1]
    total = np.sum(parts, axis=0)
    return np.asarray(
        logsumexp(
            total, axis=(1, 2), b=np.broadcast_to(weights / weights.sum() / total.shape[1], total.shape)
        )
    )
