"""The page of the fit."""

from typing import TYPE_CHECKING

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.heat_model import Lasting
from validation.fits.heat import cold, evidence, tables
from validation.fits.heat.challenge import LEAK
from validation.fits.heat.laws import BEYOND, LAWS, USED

NOISE = 4.0  # log score; two standard errors of a difference, about

if TYPE_CHECKING:
    from validation.fits.heat.outcome import Outcome


def _law_words(found: "Outcome") -> str:
    def total(name: str) -> float:
        return sum(found.scores[name].score(study) for study in found.scored_studies)

    best = max((name for name in LAWS if name != BEYOND), key=total)
    gain = total(best) - total(BEYOND)
    if gain >= NOISE:
        return f"'{best}' beats '{BEYOND}' by {gain:.1f}."
    return (
        f"Of the others '{best}' scores highest, {gain:+.1f} against '{BEYOND}', where\n{NOISE:.0f} is noise: "
        f"no law beats heat plus a constant. The package takes '{USED}', the same without a step: nothing is credited "
        "without warm drying."
    )


def _left_out() -> str:
    return "; ".join(f"{count} {reason}" for reason, count in evidence.left_out().items())


def _dip_words(found: "Outcome") -> str:
    ceiling, depth = found.model.ceilings["rapid"], found.model.depth_m
    middle = found.liquid.depth_m(above=0.0)
    draws = 1.0 / float(np.sum(np.square(found.liquid.weights())))
    without = "; ".join(
        f"without {name} {found.liquid.ceiling(name).mean:.1f} +- {found.liquid.ceiling(name).sd:.1f}"
        for name in found.liquid.studies
    )
    return (
        f"Ceiling for a new study {ceiling.mean:.1f} +- {ceiling.sd:.1f} log ({without}; prior 5.5 +- 1.7).\n"
        f"{_lasting(found.model.lasting)}\n"
        f"Depth {1e3 * middle:.2f} mm; the package takes its unfavourable end, {1e3 * depth:.2f} mm. {draws:.0f} effective "
        "draws.\n"
    )


def _lasting(lasting: Lasting) -> str:
    hot = f"{lasting.hot_K - ZERO_CELSIUS:.1f} degC or more"
    return (
        f"It holds for places that were at {hot} for up to {lasting.quick_s:.0f} s, longer than in any row, and goes\n"
        f"over into the ceiling of all other heat until {lasting.long_s:.0f} s, by the logarithm of time: a judgement, as no "
        "counts lie between."
    )


def _head(found: "Outcome") -> str:
    studies, groups = (len({getattr(row, name) for row in found.rows}) for name in ("study", "laboratory"))
    rows, challenges = len(found.rows), len(found.verdicts)
    return f"""# Heat resistance fitted to all published D values, and judged on challenge studies

Written by `python -m validation.fits.heat --write`; do not edit. {rows} D values of {studies} studies from {groups} groups of
authors, wet and dry together, in `shared/{evidence.FILE}.csv`. Left out there: {_left_out()}.
Then {challenges} rows of `shared/lethality_challenge_studies.csv`, each through the simulation that
`validation/food_safety/challenge_runs.py` describes.

Two figures follow for a user: the best estimate (median of new studies) and the lower bound, which 19 of 20 new studies
exceed. The bound decides. Nothing above 7 log is printed: nobody counts more.
"""


def _model(found: "Outcome") -> str:
    f = found.fitted
    gain, hinge = f"{found.one_slope:+.1f}", f"{60 + f['hinge']:.0f}"
    low, width = f"{f['low']:+.2f} +- {f.error('low'):.2f}", f"{np.exp(2 * f.error('ln_width')):.1f}"
    return f"""## The model of D(T, a_w)

    log10 D = level(organism) - slope t + E (low + rise s(t)) + linear x + whole + fat + cure
              + laboratory + study x organism + matrix + t (slope of the study) + E (dryness of the matrix) + rest

t = T - 60 degC; x: water activity below 0.99; E = 1 - exp(-x/width); s: a ramp from the hinge upward, rounded over 2 K.
Marginal likelihood with the coefficients integrated out, curvature at the mode; censored values as censored
(`resistance.py`).

{tables.parameters(found)}
A slope of its own for each organism would gain {gain} in log marginal likelihood; one slope is kept.

{tables.decimal_times(found)}
How much dryness multiplies D of Salmonella (median):

{tables.dryness(found)}
Above the hinge of {hinge} degC dryness protects, ever more with temperature; below it does little. A reversal, as one study
reports below 53-55 degC, is neither shown nor excluded by these data ({low}). The width is known to a factor of {width}
either way: between 0.87 and 0.95 nearly nothing was measured.
"""


def _coverage(found: "Outcome") -> str:
    slow, spread = (f"{value:.2f}" for value in found.model.slow)
    return f"""## Are its intervals honest

Every laboratory predicted from a fit to the others.

{tables.coverage(found)}
{tables.laboratories(found)}
Rows of one laboratory err together, so the effective number is nearer that of the laboratories.

Slow heating: three printed ratios raise log10 D by {slow}, with a standard deviation of {spread} for a new study. It is added
everywhere but in liquid and steam.
"""


def _air_and_liquid(found: "Outcome") -> str:
    d = found.model.drying
    rows = sum(one.one.two_sided and one.one.kind == "dry air" for one in found.verdicts)
    middle, low, high = (f"{max(d.mean + z * d.sd, 0.0):.1f}" for z in (0.0, -1.645, 1.645))
    law_words, dip_words = _law_words(found), _dip_words(found)
    return f"""## Dry hot air

Leave-one-study-out log scores (higher is better) on {rows} two-sided rows of {len(found.scored_studies)} studies, air of
52-68 degC, 3-20 h.

{tables.laws(found)}
{law_words}
What reduces bacteria in dry air besides heat cannot be told from these data, nor do they tell schedules apart. In honest
words: in dry hot air about {middle} log besides what heat does, from {low} to {high} in a new laboratory.

## Hot liquid and steam

Median heat (5 % quantile) in log, at depths below the surface:

{tables.dips(found)}
{dip_words}What a spray washes off is never credited: 6 s of 71 degC took 2.4 to 3.1 log where the model sees no heat at all.
"""


def _cold(_: "Outcome") -> str:
    everything = cold.compared()
    beats = "beats" if everything.law < everything.constant else "does not beat"
    return f"""## Decline without heat

The law of 44 studies of E. coli (`dryingsim/judge/decline.py`) against counts it was not made from, 0 to 47 degC:

{tables.cold_counts()}
{tables.cold_compared()}
On these studies the law {beats} the mean of the others: it is printed beside the verdict for E. coli, as a best estimate, and
counted in no bound, no best estimate and no grade. In hot air ("heat + decline without heat, scaled", above) it is worse still.
"""


def _judged(found: "Outcome") -> str:
    leak = f"{100 * LEAK:.0f}"
    return f"""## Every study judged from the others

Study sufficient: it showed what guidelines ask for. Humidity unsure: half as printed, half falling to {leak} %, as in a
vented dryer once its fan runs.

{tables.kinds(found)}
Counts of two-sided rows inside their intervals: {tables.count_coverage(found)};
rows of one study err together. The intervals are wide rather than narrow.

Best estimates:

{tables.best_estimates(found)}
A count sees the mean survivors; in formed strips the dry skin is a hundredth of the mass and the least-reduced place.
Where the other studies' mean has the smaller rms, a constant does as well as the model: {tables.no_better(found)}.

A humidity that was only typed: 30 min at 71 degC, 100 % typed, where a study that steamed its dryer missed 5 log:

{tables.typed(found)}
## What a wet bulb must be, and for how long

Air of 71 degC, slices of 6 mm, 1 m/s; minutes from the start until the lower bound, by heat alone, reaches the target of beef:

{tables.limits(found)}
## Row by row

{tables.every_row(found)}"""


LAST = """## What this rests on, and what it cannot say

- Nearly all D values were read in abstracts. Groups of authors stand for laboratories.
- No D(T, a_w) of lean meat between 0.70 and 0.96 was found; flour, whey, cocoa, nut butter and cheese speak for it.
- The challenge rows were read while earlier constants of this package were chosen, and the fade-in of the drying term was
  set with them in view; leaving a study out does not undo that.
- Thickness, air speed and start of most challenge studies are not printed; what is taken for them is in no interval.
- Six studies carry the drying term, two the ceiling of rapid heating. Acid and cure are not in the bound.
- By heat alone the bound never falls with temperature, time or humidity. With the drying term it does with humidity, by
  six tenths of a log at most, while it is below 2.1 (sweep of wet bulbs of 30 to 74 degC at dry bulbs of 56 to 88, half an
  hour to 8 h; by a third from 64 on, by less than a tenth at 88). More humid air dries later, so the drying term, counted in
  dried meat alone, comes later, and heat takes over some kelvin above. The more humid schedule is then credited less, which
  errs on the side of caution. The best estimate may fall by some tenths more.
- Credit ends below 50 degC and D is held above 90 degC: judgements, where nothing was measured.
"""


def page(found: "Outcome") -> str:
    """The page."""
    sections = (_head, _model, _coverage, _air_and_liquid, _cold, _judged)
    return "\n".join([*(section(found) for section in sections), LAST])
