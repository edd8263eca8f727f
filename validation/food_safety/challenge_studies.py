"""Published challenge studies against the package's lower bound and best estimate; `challenge_runs` says how each was simulated.

The rows carry two terms of the model, so what counts here is that the bound lies below what was counted and calls nothing
enough that a study found insufficient; the best estimate is shown study by study. Judged from the other studies, each row
stands in `validation/fits/heat/report.md`.
"""

from collections.abc import Callable

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.judge.heat_model import heat_resistance
from validation.case import Case, Plot, Result
from validation.data import table
from validation.food_safety.challenge_runs import (
    DRYING,
    LARGEST,
    LIQUID_FIRST,
    OVEN_FIRST,
    PROCESSES,
    ROWS,
    STUDIES,
    TABLE,
    WITHIN,
    boiled,
    judged,
    miss,
    organism,
    predicted,
    printed,
    rows_of,
    smokehouse,
)

KEYS = tuple(catalog.organisms())
TARGETS = np.array([catalog.target(key, "beef").log10 for key in KEYS])
INSUFFICIENT = [row for row in DRYING if ROWS[row]["meets_5log"] in ("no", "mixed")]
_CONSTANT = "in dry air the best estimate is nearly a constant, 3 to 4 log: "
KNOWN = {
    "Harrison1996": _CONSTANT + "5.5 to 6 log after 10 h are more by about 2",
    "Harrison2001": _CONSTANT + "5.8 log of E. coli O157:H7 are more by about 2",
    "KState2009_LS": _CONSTANT + "less than two hours earn a part of it, and 5 log and more were counted",
}
_ALL = DRYING | PROCESSES


def citation(study: str) -> str:
    return next(row["citation"] for row in TABLE.rows if row["study"] == study)


def words(row: int) -> str:
    entry = ROWS[row]
    return f"{entry['air_C']} degC, {entry['time_h'] or 'hours not printed'} h: {entry['pathogen']}"


def scatter_plot(rows: list[int], values: list[float], title: str) -> Plot:
    """Predicted over published; a range by its ends, a bound at the bound."""
    ends = [[v for v in printed(row) if np.isfinite(v)] for row in rows]
    line = np.array([0.0, LARGEST])
    return Plot(
        title=title,
        x_label="published log10 reduction",
        y_label="best estimate",
        points=(("studies", np.array([np.mean(e) for e in ends]), np.array(values)),),
        lines=(("equal", line, line), ("2 more", line, line + WITHIN), ("2 less", line, line - WITHIN)),
    )


def drying_case(study: str) -> Case:
    rows = rows_of((study,))

    def compute(full: bool) -> Result:
        values = [predicted(row, full).median for row in rows]
        return Result([miss(row, full) for row in rows], (scatter_plot(rows, values, study),))

    return Case(
        name=f"{study}: distance of the best estimate from the published reductions",
        kind=5,
        source=citation(study),
        status="read: abstract",
        inputs="; ".join(
            f"{words(row)} {ROWS[row]['qualifier'].replace('_', ' ')} {printed(row)}" for row in rows
        ),
        expected=0.0,
        tolerance=WITHIN,
        reason="one schedule gave 2.8 to 6.0 log in four laboratories (60 degC, 10 h, whole muscle)",
        compute=compute,
        unit="log10",
        fitted=True,
        known_failure=KNOWN.get(study, ""),
        slow=True,
    )


def bound_case(
    name: str,
    study: str,
    inputs: str,
    expected: object,
    compute: Callable[[bool], object],
    reason: str,
    **other: object,
) -> Case:
    return Case(
        name=name,
        kind=5,
        source=citation(study),
        status="read: abstract",
        inputs=inputs,
        expected=expected,
        reason=reason,
        compute=compute,
        unit="log10",
        slow=True,
        **{"tolerance": 0.0, "fitted": True, **other},  # type: ignore[arg-type]
    )


def bounds(full: bool) -> np.ndarray:
    return np.array([predicted(row, full).lower for row in _ALL])


def slope_in_wet_meat(full: bool) -> float:
    """Slope of -log10 D on temperature, common to all studies of raw meat, each with its own level."""
    groups: dict[tuple[str, ...], list[tuple[float, float]]] = {}
    for row in table("heat_resistance_evidence").rows:
        if row["use"] == "fit" and row["kind"] == "value" and not row["water_activity"]:
            key = row["study"], row["organism"], row["matrix"]
            groups.setdefault(key, []).append((float(row["temperature_C"]), np.log10(float(row["D_min"]))))
    apart = np.concatenate([np.array(rows) - np.mean(rows, axis=0) for rows in groups.values()])
    return float(-(apart[:, 0] @ apart[:, 1]) / (apart[:, 0] @ apart[:, 0]))


CASES = [
    *map(drying_case, STUDIES),
    Case(
        name="slope of log10 D in wet meat, by least squares within each study",
        kind=5,
        source="shared/heat_resistance_evidence.csv",
        status="read: abstracts",
        inputs="all D values of raw meat, every study, organism and matrix at a level of its own",
        expected=heat_resistance()["slope"],
        tolerance=0.01,
        reason="two standard errors of the model's own slope",
        compute=slope_in_wet_meat,
        unit="1/K",
        fitted=True,
    ),
    bound_case(
        "lower bound: more than published nowhere",
        "Albright2002",
        f"all {len(_ALL)} rows, every study",
        np.array([min(printed(row)[1], LARGEST) for row in _ALL]),
        bounds,
        "the upper end of what was published",
        bound="at most",
    ),
    bound_case(
        "lower bound: no schedule found insufficient is called enough",
        "Dierschke2010",
        f"{len(INSUFFICIENT)} rows of dry air that missed 5 log, and formed strips heated in an oven first",
        3.0,
        lambda full: [
            *(judged(DRYING[row][0], organism(row), full).lower for row in INSUFFICIENT),
            *(judged(OVEN_FIRST, key, full).lower for key in KEYS),
        ],
        "the lowest target of any guideline",
        bound="at most",
    ),
    bound_case(
        "boiling marinade, then dried: lower bound reaches the targets",
        "Harrison1996",
        "slices, 60 degC for 10 h after heating; published: none found afterwards",
        TARGETS,
        lambda full: [judged(LIQUID_FIRST, key, full).lower for key in KEYS],
        "the targets of the guideline",
        bound="at least",
    ),
    bound_case(
        "smokehouse near 80 degC for 2.5 h: lower bound reaches the targets",
        "PortoFett2008",
        "marinated slices, relative humidity 63 to 21 %; published at least 7.3",
        TARGETS,
        lambda full: [judged(smokehouse(2.5, 0.015), key, full).lower for key in KEYS],
        "the targets of the guideline",
        bound="at least",
    ),
    bound_case(
        "wet bulb 51.7 to 60 degC held first: lower bound reaches the target",
        "Buege2006",
        "slices; published at least 6.4",
        5.0,
        lambda full: [predicted(row, full).lower for row in range(64, 72)],
        "the target of the guideline",
        bound="at least",
        known_failure="about 2 to 3 log: an hour at so low a wet bulb is too little for a new laboratory's strains",
    ),
    bound_case(
        "20-30 s in boiling water: lower bound",
        "BoilingHPP",
        "slices, 20 s; all three organisms",
        5.0,
        lambda full: [boiled(20.0, key, full).lower for key in KEYS],
        "published: more than 5",
        bound="at least",
        known_failure="less than half a log: 0.4 mm below the surface, where bacteria are taken to sit, it is not hot yet",
    ),
    bound_case(
        "formed strips heated in an oven, then dried: best estimate",
        "Harrison1997",
        "149 degC to 71.1 degC in the middle, then 60 degC for 8 h; L. monocytogenes, Salmonella",
        3.8,
        lambda full: [judged(OVEN_FIRST, key, full).median for key in ("listeria", "salmonella")],
        "the same scatter as of drying; how the strips were heated is not printed",
        tolerance=WITHIN,
    ),
]
