"""Every challenge row judged from the other studies: bounds, passes and misses, by kind of treatment."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from dryingsim.judge.heat_draws import samples_of
from dryingsim.judge.heat_model import Drying, HeatResistance
from dryingsim.judge.heat_resistance import Reduction, accumulated, reduction, survived
from validation.fits.heat import challenge, laws, liquid
from validation.fits.heat.challenge import Challenge, drier, holds_humidity, leaking, sums
from validation.food_safety.challenge_runs import HOUR, Condition, Record, record, relative, stage, wet_bulb


@dataclass(frozen=True)
class Verdict:
    """A row predicted from the other studies.

    `heat` counts heat alone, `whole` the drying term too, both at the least-reduced place; `vented` is `whole` half as typed and
    half in leaking air. `place` is where the published value lies among predicted counts (two-sided rows).
    """

    one: Challenge
    heat: Reduction
    whole: Reduction
    vented: Reduction
    counted: float
    place: float

    @property
    def published(self) -> float:
        """The published value, the middle of a range, or its only end."""
        ends = [v for v in (self.one.low, self.one.high) if np.isfinite(v)]
        return float(np.mean(ends))


def drying_of(score: laws.Scored, prior: Drying, without: str = "") -> Drying:
    """Return the drying term for a new study: a normal with the median and the 5 % quantile of the posterior predictive."""
    weights = score.weights(without)
    middle, between = score.params["constant"][:, 0], np.exp(score.params["ln_study"][:, 0])

    def below(value: float) -> float:
        return float(weights @ ndtr((value - middle) / between))

    median, low = (brentq(lambda v, q=share: below(v) - q, -30.0, 30.0) for share in (0.5, 0.05))
    return replace(prior, mean=median, sd=(median - low) / -float(ndtri(0.05)))


def without(study: str, model: HeatResistance, score: laws.Scored, dips: liquid.Posterior) -> HeatResistance:
    """Return the model as the studies but one would have it."""
    return replace(
        model,
        drying=drying_of(score, model.drying, study),
        ceilings={**model.ceilings, "rapid": dips.ceiling(study)},
        depth_m=dips.depth_m(study),
    )


def verdicts(
    rows: Sequence[Challenge], model: HeatResistance, score: laws.Scored, dips: liquid.Posterior
) -> list[Verdict]:
    """Judge all rows."""
    models = {study: without(study, model, score, dips) for study in {one.study for one in rows}}
    return [_verdict(one, models[one.study], score) for one in rows]


def _verdict(one: Challenge, model: HeatResistance, score: laws.Scored) -> Verdict:
    own = sums(one, model)
    how = {"before": own.before, "model": model}
    heat = reduction(own.heat, one.organism, one.matrix, **how)  # type: ignore[arg-type]
    whole = reduction(own.heat, one.organism, one.matrix, drying=own.drying, **how)  # type: ignore[arg-type]
    counts = _counts(one, own, model, score)
    middle = np.mean([v for v in (one.low, one.high) if np.isfinite(v)])
    return Verdict(
        one,
        heat,
        whole,
        mixed(whole, _in_leak(one, model)) if holds_humidity(one) else whole,
        float(np.median(counts)),
        float(np.mean(counts < middle)),
    )


def _in_leak(one: Challenge, model: HeatResistance) -> Reduction:
    own = sums(leaking(one), model)
    return reduction(own.heat, one.organism, one.matrix, drying=own.drying, model=model)


def mixed(one: Reduction, other: Reduction) -> Reduction:
    """Return what is expected where both are as likely."""
    return Reduction(draws=np.sort(np.concatenate([one.draws, other.draws])))


def _counts(one: Challenge, own: challenge.Sums, model: HeatResistance, score: laws.Scored) -> np.ndarray:
    """Return counts of a new study: the mean survivors over the places, with the scatter of a row."""
    samples = samples_of(model, one.organism, one.matrix)
    fast, slow = 10.0 ** -samples.fast[..., None], 10.0 ** -samples.slow[..., None]
    each = own.heat[:, None, :] * slow + own.drying * samples.drying[..., None]
    if own.before is not None:
        most = np.moveaxis(samples.ceiling_before(model.lasting.share(own.before.hot_s)), 0, -1)
        each = each + survived(own.before.sums[:, None, :] * fast, most)
    least = each.min(axis=2, keepdims=True)
    share = np.sum(own.weights * 10.0 ** np.maximum(least - each, -300.0), axis=2)
    counts = survived(least[..., 0] - np.log10(share), samples.ceilings["long"]).reshape(-1)
    scatter = np.exp(score.moments("ln_row", one.study)[0])
    even = ndtri((np.arange(counts.size) + 0.5) / counts.size)
    return np.asarray(counts + scatter * np.random.default_rng(laws.SEED).permutation(even))


def drier_bounds(rows: Sequence[Challenge], model: HeatResistance) -> dict[int, float]:
    """Return the lower bound of every humid row if its humidity was read too high by a good instrument's error."""
    out = {}
    for one in rows:
        if holds_humidity(one):
            own = sums(drier(one), model)
            bound = reduction(own.heat, one.organism, one.matrix, drying=own.drying, model=model)
            out[one.row] = bound.lower
    return out


TYPED = Condition(
    (stage(71.0, 0.5, relative(1.0)),)
)  # 30 min in air said to be saturated, in a dryer whose fan dries it


def typed_humidity(model: HeatResistance, organism: str) -> tuple[Reduction, Reduction]:
    """Return the reductions of `TYPED`: as typed, and half as typed, half leaking."""
    one = Challenge(0, "", "typed", organism, TYPED, None, -np.inf, 5.0)
    own = sums(one, model)
    as_typed = reduction(own.heat, organism, drying=own.drying, model=model)
    return as_typed, mixed(as_typed, _in_leak(one, model))


@dataclass(frozen=True)
class Limits:
    """Minutes at a wet bulb until the lower bound reaches the target, at 71 degC dry bulb, 6 mm; NaN: not in five hours."""

    wet_bulb_C: float
    minutes: dict[str, float]


def critical_limits(
    model: HeatResistance, wet_bulbs: Sequence[float] = (57, 58, 60, 62, 64, 66)
) -> list[Limits]:
    """Return how long a wet bulb must hold from the start."""
    targets = {one.organism: one.target for one in challenge.challenges()}
    out = []
    for celsius in wet_bulbs:
        air = wet_bulb(float(celsius))
        rec = record(Condition((stage(71.0, 5.0, air),)), False)
        out.append(Limits(celsius, {key: _minutes(rec, model, key, goal) for key, goal in targets.items()}))
    return out


def _minutes(rec: Record, model: HeatResistance, organism: str, target: float) -> float:
    def bound(end: int) -> float:
        t, a = rec.temperature_K[:end, [0, -1]], rec.water_activity[:end, [0, -1]]
        own = accumulated(rec.time_s[:end], t, a, model)
        return reduction(own, organism, model=model).lower

    if bound(rec.time_s.size) < target:
        return float("nan")
    low, high = 1, rec.time_s.size
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if bound(middle) >= target else (middle, high)
    return float(rec.time_s[high - 1]) / HOUR * 60.0
