"""Whether the window of done is honest: how many published times lie inside predicted intervals of 50, 80 and 90 %.

Two questions, kept apart. The *sizes* of what differs between kitchens and batches were fitted to these same studies
(validation/fits/drying), so only the shares of studies left out there say whether they are right: they are printed from the
file that the package reads. That the package *uses* them rightly is shown by predicting every published time as its window
does: by the two resistances of `judge.done_window`, with what the package draws, and with what the paper leaves open:

- thickness, where it was not read: any from 4 to 7 mm, evenly in its logarithm (as `published_experiments` allows);
- the recipe: assumed, so the water activity is known as for a recipe not read; of formed meat as for formed meat;
- an end only called done or dry: any water activity from 0.75 to 0.88;
- the reading of one time of a batch, as the fit found.

No study is left out of the second count; rows with one end open (a time only "at most") are.
"""

from functools import cache

import numpy as np

from dryingsim.batch.catalog.drying_evidence import activity_error, between_studies, student
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.judge.done_window import computed_level, course_of
from validation.case import Case, Listing, Result
from validation.drying.experiment_runs import HOUR, SETUPS, THICKNESS_MM, course, simulated
from validation.drying.published_experiments import TABLE, bound_of, published_hours

DRAWS, SEED = 4000, 3
LEFT_OUT_ROWS = 40
NOMINAL = (50, 80, 90)
THINNEST_MM, THICKEST_MM = 4.0, 7.0
DRY_ENDS = (0.75, 0.88)
_BY_RULE = ("by the rule", "end not read")


def drawn_hours(row: dict[str, str], full: bool, rng: np.random.Generator) -> np.ndarray:
    """Draw the time of a published state."""
    setup, between = SETUPS[row["run"]], between_studies()
    history = simulated(setup, full)
    z = rng.standard_normal((5, DRAWS))
    thickness = np.ones(DRAWS)
    if not row["thickness_mm"]:
        thickness = np.exp(rng.uniform(np.log(THINNEST_MM), np.log(THICKEST_MM), DRAWS)) / THICKNESS_MM
    rate = np.exp(between.kitchens * student(z[0], between.degrees_of_freedom) + between.batches * z[1])
    film = np.exp(INPUTS["film"].default.size * z[2])
    level = np.full(DRAWS, float(row["value"])) * (-1.0 if row["quantity"] == "loss" else 1.0)
    if any(word in row["citation"] for word in _BY_RULE):
        level = rng.uniform(*DRY_ENDS, DRAWS)
    if row["quantity"] == "aw":
        kind = "formed" if setup.batch.meat.form == "minced" else "no_recipe"
        level = (
            computed_level(float(row["value"]), activity_error(kind).deviation * z[3])
            + level
            - float(row["value"])
        )
    falling = np.minimum.accumulate(course(history, row["quantity"]))
    reached = np.interp(-level, -falling, history.time_s, right=np.inf)
    parts = course_of(history, 0.0)
    within = np.minimum(reached, parts.time_s[-1])
    inner, outer = (np.interp(within, parts.time_s, part[:, 0]) for part in (parts.inner_s, parts.outer_s))
    hours = (inner * thickness**2 / rate + outer * thickness / film) / HOUR
    return np.where(np.isfinite(reached), hours, np.inf) * np.exp(between.readings * z[4])


ROWS = [row for row in TABLE.rows if bound_of(row) == "near" and row["quantity"] != "mr"]
STUDIES = len({row["citation"].split(",")[0].split(":")[0] for row in ROWS})  # rows of one paper go together


@cache
def places(full: bool) -> tuple[tuple[str, float, float, float, float], ...]:
    """Row, published hours, ends of nine in ten, and share of the draws below the published time."""
    rng, out = np.random.default_rng(SEED), []
    for row in ROWS:
        hours, published = drawn_hours(row, full, rng), published_hours(row)
        low, high = np.quantile(hours, (0.05, 0.95), method="inverted_cdf")
        name = f"{row['run']}: {row['quantity']} {row['value']}"
        out.append((name, published, low, high, float(np.mean(hours < published))))
    return tuple(out)


def inside(full: bool) -> Result:
    """Share of the published times inside each interval, in percent."""
    place = np.array([each[-1] for each in places(full)])
    shares = [100.0 * float(np.mean(np.abs(place - 0.5) <= 0.5 * nominal / 100.0)) for nominal in NOMINAL]
    rows = [
        (name, f"{published:.2f}", f"{low:.2f}-{high:.2f}", f"{100.0 * share:.0f} %")
        for name, published, low, high, share in places(full)
    ]
    head = ("state", "published, h", "nine in ten, h", "place")
    return Result(
        np.array(shares), (), (Listing("Published times in their predicted intervals", (head, *rows)),)
    )


def left_out(full: bool) -> np.ndarray:
    """Shares of left-out times inside each interval, in percent, as the fit found them."""
    return np.array([100.0 * between_studies().coverage[nominal] for nominal in NOMINAL])


def binomial(count: int) -> np.ndarray:
    """Half of the 95 % interval of shares of so many, in percentage points."""
    share = np.array(NOMINAL) / 100.0
    return 196.0 * np.sqrt(share * (1.0 - share) / count)


CASES = [
    Case(
        name="published times inside predicted intervals",
        kind=5,
        source="all rows of drying_experiments.csv whose time is printed, but the moisture ratios of whole curves",
        status=TABLE.status,
        inputs="share of the times inside 50, 80 and 90 % intervals, nothing left out",
        expected=np.array(NOMINAL, dtype=float),
        tolerance=binomial(STUDIES),
        unit="%",
        reason=f"95 % binomial interval of {STUDIES} papers: rows of one go together",
        compute=inside,
        fitted=True,
        slow=True,
    ),
    Case(
        name="left-out times inside predicted intervals",
        kind=5,
        source="validation/fits/drying/report.md: each study predicted from the others",
        status="derived: dryingsim/batch/catalog/drying_evidence.toml",
        inputs="share of the 40 times inside 50, 80 and 90 % intervals, their own study left out",
        expected=np.array(NOMINAL, dtype=float),
        tolerance=binomial(LEFT_OUT_ROWS),
        unit="%",
        reason="95 % binomial interval of 40 times",
        compute=left_out,
    ),
]
