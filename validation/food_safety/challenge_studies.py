"""Published challenge studies against the two estimates of kill; `challenge_runs` says how each study was simulated.

The report shows every study's distance, fitted ones marked; what counts is the share of the check rows within 2 log and
their mean distance, separately for whole muscle and formed meat, and the bounds: processes that worked are credited,
and the cautious estimate calls nothing enough that a study found insufficient.
"""

from collections.abc import Callable

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from validation.case import Case, Plot, Result
from validation.food_safety.challenge_runs import (
    BIAS,
    CHECK,
    DRYING,
    FIT,
    HOLDS,
    LARGEST,
    LIQUID_FIRST,
    OVEN_AFTER,
    OVEN_AFTER_4,
    OVEN_FIRST,
    ROWS,
    SHARE,
    STRIP_OVEN,
    STUDIES,
    TABLE,
    WITHIN,
    Condition,
    cautious,
    central,
    fitted,
    in_liquid,
    miss,
    organism,
    predicted,
    printed,
    record,
    rows_of,
    smokehouse,
    worst_cautious,
)


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
        y_label="predicted, central estimate",
        points=(("studies", np.array([np.mean(e) for e in ends]), np.array(values)),),
        lines=(("equal", line, line), ("2 more", line, line + WITHIN), ("2 less", line, line - WITHIN)),
    )


def drying_case(study: str, known_failure: str = "") -> Case:
    rows = rows_of((study,))

    def compute(full: bool) -> Result:
        values = [predicted(row, full) for row in rows]
        return Result([miss(row, full) for row in rows], (scatter_plot(rows, values, study),))

    return Case(
        name=f"{study}: distance from the published reductions",
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
        fitted=study in FIT,
        known_failure=known_failure,
        slow=True,
    )


def summary_cases(form: str) -> list[Case]:
    """Share within the tolerance and bias over the check rows of one form."""
    rows = rows_of(CHECK, form)

    def values(full: bool) -> np.ndarray:
        return np.array([miss(row, full) for row in rows])

    common = {
        "kind": 5,
        "source": "; ".join(citation(study) for study in dict.fromkeys(ROWS[row]["study"] for row in rows)),
        "status": "read: abstracts",
        "inputs": f"{len(rows)} rows of {form} meat, studies not used for fitting",
        "slow": True,
    }
    return [
        Case(
            name=f"{form} meat, checks: share of rows within 2 log",
            expected=SHARE,
            tolerance=0.0,
            bound="at least",
            reason="set before the fit",
            compute=lambda full: np.mean(np.abs(values(full)) <= WITHIN),
            **common,
        ),
        Case(
            name=f"{form} meat, checks: mean distance",
            expected=0.0,
            tolerance=BIAS,
            reason="set before the fit",
            compute=lambda full: np.mean(values(full)),
            unit="log10",
            **common,
        ),
    ]


def process_case(name: str, rows: list[int], at_least: float | None = None, known_failure: str = "") -> Case:
    """Central estimate of published processes against their lower bounds, or against one number."""
    lowest = [printed(row)[0] for row in rows] if at_least is None else [at_least] * len(rows)

    def compute(full: bool) -> Result:
        values = [predicted(row, full) for row in rows]
        return Result(values, (scatter_plot(rows, values, name),))

    return Case(
        name=name,
        kind=5,
        source=citation(ROWS[rows[0]]["study"]),
        status="read: abstract",
        inputs="; ".join(
            f"{ROWS[row]['pathogen']}, {ROWS[row]['pretreatment']}, {ROWS[row]['time_h']} h" for row in rows
        ),
        expected=np.array(lowest),
        tolerance=0.0,
        bound="at least",
        reason="the published reduction is a lower bound" if at_least is None else "what guidelines ask for",
        compute=compute,
        unit="log10",
        known_failure=known_failure,
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
        **{"tolerance": 0.0, **other},  # type: ignore[arg-type]
    )


INSUFFICIENT = [row for row in DRYING if ROWS[row]["meets_5log"] in ("no", "mixed")]
KEYS = tuple(catalog.organisms())


def dry_cautious(full: bool) -> np.ndarray:
    out = []
    for row, (condition, hours) in DRYING.items():
        rec = record(condition, full)
        out.append(cautious(rec, organism(row), rec.index(hours)))
    return np.array(out)


def oven_gain(condition: Condition, hours: float, key: str, full: bool) -> float:
    rec = record(condition, full)
    return central(rec, key) - central(rec, key, rec.index(hours))


def formed_gain(key: str, full: bool) -> float:
    return 0.5 * (oven_gain(OVEN_AFTER_4, 4.0, key, full) + oven_gain(OVEN_AFTER, 6.0, key, full))


THIN_KANSAS = (
    "thickness, air speed and the start of the chamber are not printed: at 2.5 m/s instead of 1 the mean "
    "distance of all formed strips turns from -0.5 to +0.3"
)
CASES = [
    Case(
        name="drying term: fitted again",
        kind=5,
        source="; ".join(map(citation, FIT)),
        status="read: abstracts",
        inputs=f"{len(rows_of(FIT))} rows of five studies; largest [log10], fall width [-]",
        expected=np.array([catalog.desiccation().largest, catalog.desiccation().fall_width]),
        tolerance=np.array([0.26, 0.04]),
        reason="one standard error of the fit",
        compute=lambda full: [fitted(full).largest, fitted(full).fall_width],
        fitted=True,
        slow=True,
    ),
    *(
        drying_case(
            study,
            THIN_KANSAS
            if study == "KState2009_LS"
            else "L. monocytogenes after 3 h by 0.1 log too much: all three organisms share one drying term"
            if study == "Harrison1996"
            else "",
        )
        for study in STUDIES
    ),
    *summary_cases("whole"),
    *summary_cases("ground"),
    process_case("smokehouse near 80 degC, humid at first: published at least 7.3", [*range(91, 109)]),
    process_case("wet bulb 54.4 degC for 1 h first: asked for 5", [66, 67], 5.0),
    process_case("wet bulb 57.2 and 60 degC first: asked for 5", [68, 69, 70, 71], 5.0),
    process_case(
        "wet bulb 51.7 degC for 1 h first: asked for 5",
        [64, 65],
        5.0,
        known_failure="short by 0.3 log: at 51.7 degC hardly any kill by heat is credited",
    ),
    process_case(
        "wet bulb held first: published at least 6.4",
        [*range(64, 72)],
        known_failure="0.1 to 1.8 log short; the central D of Salmonella at 60 degC is 2.4 times the federal "
        "table's; the acid of the marinade (pH 5.3) is not in the model",
    ),
    process_case(
        "air rising to 76.7 degC: published at least 5.0",
        [*range(72, 78)],
        known_failure="0.7 to 0.9 log short: the hours at 76.7 degC are not printed, and the acid of the marinade "
        "(pH 5.3) is not in the model",
    ),
    bound_case(
        "boiling marinade to 71.1 degC in the middle, before drying",
        "Harrison1996",
        "slices, all three organisms; published 4.5-5.5",
        4.5,
        lambda full: [min(central(in_liquid(None, full), key), 6.0) for key in KEYS],
        "lowest published value; nothing above the 6.0 log of the same study could be counted",
        bound="at least",
    ),
    bound_case(
        "boiling marinade, then dried: cautious estimate reaches the targets",
        "Harrison1996",
        "slices, 60 degC for 10 h after heating; published: none found afterwards",
        np.array([catalog.target(key, "beef").log10 for key in KEYS]),
        lambda full: [worst_cautious(record(LIQUID_FIRST, full), key) for key in KEYS],
        "the targets of the guideline; the temperature from which the cautious D is held was chosen with this in view",
        bound="at least",
        fitted=True,
    ),
    bound_case(
        "smokehouse near 80 degC for 2.5 h: cautious estimate reaches the targets",
        "PortoFett2008",
        "marinated slices, relative humidity 63 to 21 %; published at least 7.3",
        np.array([catalog.target(key, "beef").log10 for key in KEYS]),
        lambda full: [worst_cautious(record(smokehouse(2.5, 0.015), full), key) for key in KEYS],
        "the targets of the guideline; that the error of a_w shrinks towards raw meat was chosen with this in view",
        bound="at least",
        fitted=True,
    ),
    bound_case(
        "wet bulb 54.4 degC for 1 h first: cautious estimate reaches the targets",
        "Buege2006",
        "slices; published at least 6.4",
        np.array([catalog.target(key, "beef").log10 for key in KEYS]),
        lambda full: [worst_cautious(record(HOLDS[54.4], full), key) for key in KEYS],
        "the targets of the guideline",
        bound="at least",
        known_failure="heat alone, credited from 55 degC with the largest D: an hour is less than a log even in wet "
        "meat; the verdict stays 'not shown'",
    ),
    bound_case(
        "20-30 s in boiling water: central estimate, face",
        "BoilingHPP",
        "slices, 20 s; all three organisms",
        5.0,
        lambda full: [central(in_liquid(20.0, full), key) for key in KEYS],
        "published: more than 5",
        bound="at least",
    ),
    bound_case(
        "formed strips heated in an oven, then dried",
        "Harrison1997",
        "149 degC to 71.1 degC in the middle, then 60 degC for 8 h; L. monocytogenes, Salmonella",
        3.8,
        lambda full: [central(record(OVEN_FIRST, full), key) for key in ("listeria", "salmonella")],
        "the same scatter as of drying; how the strips were heated is not printed",
        tolerance=WITHIN,
    ),
    bound_case(
        "oven after drying, formed strips: what it adds",
        "Borowski2009",
        "62.5 degC for 4 and 6 h, then 135 degC for 10 min; Salmonella, E. coli",
        np.array([2.99, 3.02]),
        lambda full: [formed_gain(key, full) for key in ("salmonella", "e_coli")],
        "a step of its own: half the scatter of a whole process",
        tolerance=0.5 * WITHIN,
        fitted=True,
    ),
    bound_case(
        "oven after drying, slices: what it adds",
        "Harrison2001",
        "60 degC for 10 h, then 135 degC for 10 min; all three organisms",
        2.0,
        lambda full: [oven_gain(STRIP_OVEN, 10.0, key, full) for key in KEYS],
        "a step of its own: half the scatter of a whole process",
        tolerance=0.5 * WITHIN,
        fitted=True,
        known_failure="L. monocytogenes by 1.3 log too much: its dry D is assumed, from Salmonella's dry z",
    ),
    bound_case(
        "cautious estimate: more than published nowhere in dry air",
        "Albright2002",
        f"all {len(DRYING)} rows of drying in dry air, every study",
        np.array([min(printed(row)[1], LARGEST) for row in DRYING]),
        dry_cautious,
        "the upper end of what was published",
        bound="at most",
    ),
    bound_case(
        "cautious estimate: no schedule found insufficient is called enough",
        "Dierschke2010",
        f"{len(INSUFFICIENT)} rows of dry air that missed 5 log, and formed strips heated in an oven first",
        3.0,
        lambda full: [
            *(worst_cautious(record(DRYING[row][0], full), organism(row)) for row in INSUFFICIENT),
            *(worst_cautious(record(OVEN_FIRST, full), key) for key in KEYS),
        ],
        "the lowest target of any guideline",
        bound="at most",
    ),
]
