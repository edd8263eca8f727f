"""All stages of the fit, one after the other."""

from dataclasses import dataclass

from dryingsim.judge.heat_model import HeatResistance
from validation.fits.heat import challenge, evidence, laws, liquid, resistance, verdicts
from validation.fits.heat.build import built
from validation.fits.heat.challenge import Challenge


@dataclass(frozen=True)
class Outcome:
    """All that the page tells."""

    rows: list[evidence.DValue]
    fitted: resistance.Fitted
    left_out: list[resistance.LeftOut]
    one_slope: float  # log marginal likelihood that a slope of its own for each organism gains
    scores: dict[str, laws.Scored]
    scored_studies: tuple[str, ...]
    dips: list[liquid.Dip]
    liquid: liquid.Posterior
    model: HeatResistance
    verdicts: list[verdicts.Verdict]
    drier: dict[int, float]  # lower bounds of humid rows whose humidity was read too high
    limits: list[verdicts.Limits]


def for_laws(rows: tuple[Challenge, ...]) -> list[Challenge]:
    """Return the rows that tell what drying adds: no extremes of a study, nothing heated first."""
    return [one for one in rows if one.kind != "heated first, dips" and one.row not in challenge.EXTREMES]


def outcome() -> Outcome:
    """Do all stages."""
    rows = evidence.d_values()
    fitted = resistance.fit(rows)
    prior = built(fitted)
    all_rows = challenge.challenges()
    known = laws.features(for_laws(all_rows), prior)
    scores = {name: laws.scored(name, known) for name in laws.LAWS}
    dips = liquid.dips(prior, all_rows)
    found = liquid.posterior(dips)
    used = scores[laws.USED]
    model = verdicts.without("", prior, used, found)
    return Outcome(
        rows=rows,
        fitted=fitted,
        left_out=resistance.leave_laboratories_out(rows, fitted),
        one_slope=resistance.slopes_gain(rows, fitted),
        scores=scores,
        scored_studies=tuple(dict.fromkeys(row.one.study for row in known if laws.counts(row))),
        dips=dips,
        liquid=found,
        model=model,
        verdicts=verdicts.verdicts(all_rows, prior, used, found),
        drier=verdicts.drier_bounds(all_rows, model),
        limits=verdicts.critical_limits(model),
    )
