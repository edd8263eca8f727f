"""The page and the data file of the fit, as text."""

from typing import TYPE_CHECKING

import numpy as np

from dryingsim.properties.diffusivity import LEAN_MEAT
from validation.fits.drying.activity_errors import WORDS
from validation.fits.drying.figures import (
    by_study,
    coverage,
    factor_90,
    in_units,
    median_miss,
    new_batch_factor,
    typical_factor,
)

if TYPE_CHECKING:
    from validation.fits.drying.outcome import Outcome

LAW = ["level", "shape", "energy"]


# --- text ------------------------------------------------------------------------------------------------------------
def _table(head: tuple[str, ...], body: list[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *body]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


def _range(values: np.ndarray, digits: int = 2) -> str:
    low, middle, high = (f"{v:.{digits}f}" for v in values)
    return f"{middle} ({low}-{high})"


def _posteriors(found: "Outcome") -> str:
    names = list(found.posteriors)
    columns = {name: in_units(posterior) for name, posterior in found.posteriors.items()}
    unused = {
        "times": ("between studies (slopes), ln", "offset of slopes, ln"),
        "slopes": ("between studies (times), ln", "offset of slopes, ln"),
        "both, no offset": ("offset of slopes, ln",),
        "two energies": ("between studies (slopes), ln", "offset of slopes, ln"),
        "the present constants": ("between studies (slopes), ln", "offset of slopes, ln"),
    }
    body = [
        (row, *("-" if row in unused.get(name, ()) else _range(columns[name][row]) for name in names))
        for row in columns["times"]
    ]
    more = [
        ("90 % of left-out times within a factor", factor_90),
        ("90 % interval of a left-out time, factor (middle)", typical_factor),
        ("median miss of the studies, doublings", median_miss),
    ]
    for words, function in more:
        values = ["-" if name == "slopes" else f"{function(found.predictions[name]):.2f}" for name in names]
        body.append((words, *values))
    factors = [
        "-" if name == "slopes" else f"{new_batch_factor(found.posteriors[name]):.2f}" for name in names
    ]
    body.append(("90 % factor of a new laboratory's batch, all inputs known", *factors))
    return _table(("middle (5-95 %)", *names), body)


def _laws(found: "Outcome") -> str:
    body = [(name, f"{s:.2f}", f"{d:+.2f}", f"{e:.2f}") for name, (s, d, e) in found.scores.items()]
    return _table(("law", "left-out log score", "against the present constants", "standard error"), body)


def _coverage(found: "Outcome", name: str) -> str:
    def percent(*values: float) -> str:
        return "-".join(f"{100 * v:.0f}" for v in values) + " %"

    body = [
        (
            percent(c.nominal),
            percent(c.rows),
            str(c.count),
            percent(*c.by_rows),
            percent(c.studies),
            percent(*c.by_studies),
        )
        for c in coverage(found.predictions[name])
    ]
    head = (
        "interval",
        "of the times inside",
        "times",
        "95 % binomial",
        "mean over studies",
        "95 % binomial with their number",
    )
    return _table(head, body)


def _hours(value: float) -> str:
    return f"{value:.3g}"


def _studies(found: "Outcome") -> str:
    posterior, body = found.posteriors["times"], []
    scores = dict(zip([s.name for s in posterior.fit.studies], posterior.left_out_scores, strict=True))
    for name, own in by_study(found.predictions["times"]).items():
        for i, one in enumerate(own):
            low, middle, high = np.exp(one.quantiles)
            row = one.row
            printed = (
                _hours(row.published)
                if row.near
                else ("<= " if row.high < np.inf else ">= ") + _hours(row.published)
            )
            body.append(
                (
                    name if i == 0 else "",
                    row.name,
                    f"{row.quantity} {row.value:g}",
                    printed,
                    f"{_hours(middle)} ({_hours(low)}-{_hours(high)})",
                    f"{one.miss:+.2f}",
                    f"{100 * one.place:.0f} %",
                    f"{scores[name]:.2f}" if i == 0 else "",
                )
            )
    head = (
        "study",
        "row",
        "state",
        "published, h",
        "from the other studies, h",
        "doublings",
        "place",
        "log score",
    )
    return _table(head, body)


def _slopes(found: "Outcome") -> str:
    def ten(value: float) -> str:
        return f"{1e10 * value:.2f}" if np.isfinite(value) else "none gives it"

    body = [
        (
            a.row.name,
            a.row.run,
            ten(a.row.value),
            ten(a.present),
            ten(a.largest),
            ten(a.asked),
            ten(a.asked_by_full),
        )
        for a in found.asked
    ]
    head = (
        "row",
        "run",
        "printed",
        "present law read alike",
        "largest possible",
        "D_ref asked for",
        "asked for, full thickness",
    )
    return _table(head, body)


def _causes(found: "Outcome") -> str:
    return _table(("slope over the D put in", ""), [(name, f"{value:.2f}") for name, value in found.causes])


def _checks(found: "Outcome") -> str:
    body = []
    for one in found.checks:
        low, middle, high = np.exp(one.quantiles)
        body.append(
            (one.row.run, f"{one.row.low:g}-{one.row.high:g}", f"{middle:.1f} ({low:.1f}-{high:.1f})")
        )
    return _table(("rule of thumb", "said, h", "predicted, h (90 %)"), body)


def _activity(found: "Outcome") -> str:
    body = [
        (
            WORDS.get(k.kind, k.kind),
            str(k.rows),
            str(k.studies),
            f"{k.mean:+.3f}",
            f"{k.rms:.3f}",
            f"{100 * k.within:.0f} %",
            f"{k.largest:+.3f}",
            f"{k.half_width_90:.3f}",
        )
        for k in found.activity
    ]
    head = (
        "kind",
        "rows",
        "studies",
        "mean of curve - measured",
        "rms",
        "within 0.04",
        "largest",
        "90 % half-width",
    )
    return _table(head, body)


def _studies_read(found: "Outcome", what: str) -> int:
    """Number of studies of times whose paper states something."""
    rows = [row for row in found.rows if row.use != "check" and not row.slope]
    return len({row.study for row in rows if f"{what} READ" in found.runs[row.run].status})


def _conclusion(found: "Outcome") -> str:
    first, *others = found.scores
    best = max(others, key=lambda name: found.scores[name][1])
    gain, error = found.scores[best][1:]
    kept = gain < 2.0 * error
    return (
        f"The best of the fitted laws on left-out studies is '{best}', {gain:+.2f} against {first}, standard error {error:.2f}: "
        + (
            "no gain beyond two standard errors, so the present constants stay."
            if kept
            else "the constants move."
        )
    )


def page(found: "Outcome") -> str:
    """The page."""
    fitted = [row for row in found.rows if row.use != "check"]
    errors = [found.emulators["half"][row.name].error for row in fitted]
    times = [row for row in fitted if not row.slope]
    largest = sum(a.row.value > a.largest for a in found.asked)
    return f"""# The diffusivity fitted to all published drying at once

Written by `python -m validation.fits.drying --write`; do not edit. {len(times)} rows of {len({r.study for r in times})} studies
of times and curves, {len(fitted) - len(times)} slopes (published diffusivities) of {len({r.study for r in fitted if r.slope})};
`shared/drying_evidence.csv` and `drying_evidence_runs.csv` hold them, each with source and status. Every run goes through
the whole simulation over a design of the law's parameters and of what its paper leaves open (thickness, air speed,
humidity, air temperature, moisture, salt, end point); the answers become polynomials (error on laws left out: median
{np.median(errors):.3f}, largest {np.max(errors):.2f} of the logarithm). What is not known is integrated over. Studies
differ by a Student t, runs of one study and rows of one run by normals (`posterior.py` has the model).

## Result

{_posteriors(found)}
`times` is the result the package takes: published slopes have an offset of their own that times do not share (below), so
they cannot speak for the level. A miss is predicted over published. Most of the width of a left-out time is what its paper
leaves open, thickness first of all; the last line is what remains when all that is known.

## Which law

Leave-one-study-out log scores on the times; a constant is changed only where left-out studies gain.

{_laws(found)}
{_conclusion(found)}

## Are the intervals honest

Each study predicted from the others.

{_coverage(found, "times")}
Likewise with the present constants, only the spreads fitted:

{_coverage(found, "the present constants")}
## Slopes and times

A slope read from a simulated curve as a paper reads it, over the diffusivity put in (5 mm, 60 degC, 1 m/s; causes taken
away one after the other):

{_causes(found)}
So a printed diffusivity is about twice too low for a law in the sense of this package. Read alike, the slopes still ask for
more than the times do. Row by row, at the likeliest thickness (5 mm where not read), speed and humidity, in 1e-10 m2/s:

{_slopes(found)}
{largest} of {len(found.asked)} printed slopes are larger than *any* diffusivity can give there: a slab of 5 mm whose water
is taken as fast as the air can take it reads as the 'largest possible' (which goes with the thickness). So those slices were
thicker than 5 mm, or the full thickness stood in the formula where the half belongs (a factor 4). With the full thickness the
same rows ask for about what the times ask for (but D10, in cold air, which must have been thicker still), while the others
agree with the times as printed. That is where the conflict comes from: from the thickness, not from the meat. Thickness and
formula could not be read in these papers, so this is inferred; it is why slopes get an offset of their own and no say in the
level. The present D_ref is right by its times; its stated derivation (a mean of printed slopes) rests on two errors that
cancel: slopes read about half, and some of them stand four times too high.

## Study by study

`place` is where the published time lies in the distribution that the other studies predict; rows C.. are further points of
the chicken curves, without a vote in the coverage.

{_studies(found)}
## Rules of thumb (no part of the fit)

{_checks(found)}
## Water activity by kind of product

{_activity(found)}
The half-width is Student's t with as many degrees of freedom as studies, times the root mean square: rows of one study err
together. Of one or two studies it is the largest error, no more than a lower limit. Unknown recipes are given the starting file's
15 g salt and 12 g sugar per kg; humectants are left out, as the package does not know them: they make meat less active than it
says (the error is on the careful side).

## What this rests on, and what it cannot say

- {_studies_read(found, "thickness")} of the studies of times state the thickness, {_studies_read(found, "speed")} the air speed;
  the level hangs on the 5 mm taken for the rest, with a standard deviation of 35 %.
- Batch to batch: the spread between runs of one study, all that is published of it; one kitchen's batches may differ less.
  Slice to slice: nothing published separates it from reading errors; the package's 10 % stays an estimate.
- One author's rows (Holley 1985) dry far faster than all others; the tail of the t meets them, no input is bent to do so.
- A tray closed from below, drip and load are not inputs here; formed meat on trays may have dried from one face.
"""


# --- the data file ---------------------------------------------------------------------------------------------------
HEAD = """# What the published evidence says of the diffusivity of lean meat and of the error of the water activity.
# Written by `python -m validation.fits.drying --write`; do not edit. How it comes about: validation/fits/drying/report.md.
#
# [posterior]    mean and covariance of `parameters`, jointly normal: ln of D_ref [m2/s] at 60 degC and 1 kg/kg, ln of the half
#                moisture X_h [kg/kg], activation energy [J/mol]; dry-mass convention, one energy for all temperatures.
# [constants]    the law that left-out studies do not improve on, i.e. the present one, or the fitted means.
# [between]      spread of ln(time) at known inputs: a Student t with `degrees_of_freedom` and scale `studies` from laboratory
#                to laboratory (take it for a kitchen nothing has been measured of), a normal `batches` from batch to batch of
#                one laboratory, a normal `rows` of one batch's readings. A time goes with about D^(-0.9).
#                `slices`: an estimate, no evidence.
# [coverage]     nominal share -> share of left-out published times inside.
# [factor]       90 % factors either way on a time: `published` of left-out published times about the predicted middle;
#                `new_batch` of a batch with all inputs known.
# [water_activity.KIND]  error of the sorption curve, curve minus measured: mean, root mean square, half of the 90 % interval
#                (Student's t with as many degrees of freedom as studies; the largest error where these are one or two), rows,
#                studies. KIND: known, unknown (sliced, recipe not read), formed (recipe not read), no_recipe (the two
#                together), glycerol (or sorbitol; the package does not know them).
"""


def result_file(found: "Outcome") -> str:
    """The data file."""
    posterior = found.posteriors["times"]
    mean, cov = posterior.moments(LAW)
    mean = mean + np.array([np.log(LEAN_MEAT.reference_m2_s), 0.0, 0.0])
    middle = {
        name: float(np.exp(posterior.quantiles(name)[1])) for name in ("studies", "batches", "rows", "tail")
    }
    study_count = len({s.name for s in posterior.fit.studies})
    rows = sum(len(s.rows) for s in posterior.fit.studies)
    parts = [
        HEAD,
        "[posterior]",
        f'rests_on = "{rows} rows of {study_count} studies of times and curves, shared/drying_evidence.csv"',
        'parameters = ["ln_reference_m2_s", "ln_half_moisture_db", "activation_energy_J_mol"]',
        "mean = [" + ", ".join(f"{v:.6g}" for v in mean) + "]",
        "covariance = [\n"
        + "".join("    [" + ", ".join(f"{v:.5g}" for v in row) + "],\n" for row in cov)
        + "]",
        "",
        "[constants]",
        f'rests_on = "{_conclusion(found)}"'.replace("\n", " "),
        f"reference_m2_s = {LEAN_MEAT.reference_m2_s:g}",
        f"half_moisture_db = {LEAN_MEAT.half_moisture_db:g}",
        f"activation_energy_J_mol = {LEAN_MEAT.activation_energy_J_mol:g}",
        "",
        "[between]",
        'rests_on = "posterior medians; the degrees of freedom lean on their prior (6, a factor 2)"',
        f"studies = {middle['studies']:.3f}",
        f"degrees_of_freedom = {middle['tail']:.2f}",
        f"batches = {middle['batches']:.3f}",
        f"rows = {middle['rows']:.3f}",
        "slices = 0.10",
        "",
        "[coverage]",
        *(f"{100 * c.nominal:.0f} = {c.rows:.3f}" for c in coverage(found.predictions["times"])),
        "",
        "[factor]",
        f"published = {factor_90(found.predictions['times']):.2f}",
        f"new_batch = {new_batch_factor(posterior):.2f}",
    ]
    for kind in found.activity:
        parts += [
            "",
            f"[water_activity.{kind.kind}]",
            f'rests_on = "{WORDS.get(kind.kind, kind.kind)}: {kind.rows} rows of {kind.studies} studies"',
            f"mean = {kind.mean:.4f}",
            f"rms = {kind.rms:.4f}",
            f"half_width_90 = {kind.half_width_90:.4f}",
            f"rows = {kind.rows}",
            f"studies = {kind.studies}",
        ]
    return "\n".join(parts) + "\n"
