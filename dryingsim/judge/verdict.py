"""The judgement on log reductions: every organism at its least-reduced place, against what guidelines require.

The *best estimate* is the median of new studies; the *lower bound* is what 19 of 20 of them exceed, and it decides
whether a target counts as met. Both count heat and, in dry hot air, what drying itself was seen to take; heat is counted
at the drier side of the water activity's error, by the kind of product, and adds up by side of the meat (`judge.sides`). What is
met must be so in the air that can be relied on, with no face covered (`judge.relied_air`). A federal time-temperature table is a
second, separate check, and home advice a third.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.growth_limits import shelf_stable
from dryingsim.batch.laying import share_lying
from dryingsim.batch.learned import may_gain
from dryingsim.batch.schema import Marinade, Species
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.errors import InputError, SolverError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.exposed import Exposed
from dryingsim.judge.federal_table import (
    HUMID_AIR,
    IN_LIQUID,
    TableCompliance,
    best_compliance,
    column_of,
    table_compliance,
)
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Lethality, OrganismLethality
from dryingsim.judge.growth_places import NodeHeights
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.home_advice import home_advice
from dryingsim.judge.hot_liquid import InLiquid
from dryingsim.judge.liquid_amount import liquid_counted_on
from dryingsim.judge.parasites import judge_parasites
from dryingsim.judge.reductions import judge_computed, with_clash
from dryingsim.judge.relied_air import (
    BULB_ERROR_K,
    air_unshown,
    covered,
    critical_limits,
    measured,
    relied_humidity,
    run_relied_on,
)
from dryingsim.judge.sides import Sides, sides_of, turned_over
from dryingsim.judge.taking_off import held_moisture, leaving_times
from dryingsim.kernels.grid import FEWEST_GRADED
from dryingsim.simulate import DEFAULT_TOLERANCE

_MEAT_K: Annotated[float, Evidence("K", "published", "USDA home advice: 160 degF before drying starts")] = (
    344.26
)
_POULTRY_K: Annotated[
    float, Evidence("K", "published", "USDA home advice for poultry: 165 degF before drying starts")
] = 347.03
HOME_ADVICE_K: dict[Species, float] = {
    "beef": _MEAT_K,
    "pork": _MEAT_K,
    "poultry": _POULTRY_K,
    "game": _MEAT_K,
    "fish": _POULTRY_K,
    "other": _POULTRY_K,
    "unknown": _POULTRY_K,
}
_ABOUT_DONE_S: Annotated[
    float,
    Evidence("s", "estimate", "a plan that goes on for less than this after the meat is done is one with it"),
] = 15 * 60.0


def judge_batch_lethality(
    history: History, *, limits: bool = True, tolerance: float = DEFAULT_TOLERANCE
) -> Lethality:
    """Judge what a batch does to three kinds of bacteria.

    Parameters
    ----------
    history : History
    limits : bool
        Whether the wet bulb to be measured, where that decides, is searched for among the warnings; it takes some runs, and
        no grade depends on it.
    tolerance : float
        Of the run in the air that can be relied on, see `dryingsim.run`: that of the history [-].

    Returns
    -------
    Lethality
        The least-reduced place of all slabs, over all trays and thicknesses, decides. What holds only in air that was not
        measured to be so humid is met only if measured; what holds only by what was learned from other batches is not shown.

    Examples
    --------
    >>> from dryingsim import demo_batch, run
    >>> judge_batch_lethality(run(demo_batch())).grade
    'met'
    """
    if not isinstance(history, History):
        raise InputError(f"a History is expected, as run(batch) returns it, not {type(history).__name__}")
    judged, nodes = _judge_relied_on(history, limits, tolerance), history.slabs.nodes.size
    if nodes >= FEWEST_GRADED:
        return judged
    rough = Finding("few_nodes", {"nodes": nodes, "fewest": FEWEST_GRADED})
    return replace(judged, warnings=(*judged.warnings, rough))


def _judge_relied_on(history: History, limits: bool, tolerance: float) -> Lethality:
    """Judge a batch as computed, then in the air that can be relied on."""
    computed = judge_as_computed(history)
    if all(entry.grade != "met" for entry in computed.organisms) and not _table_unshown(computed, history):
        return computed
    try:
        again = run_relied_on(history, tolerance)
        relied = computed if again is None else judge_as_computed(again)
    except (InputError, SolverError):  # then nothing is shown
        relied = None
    by_key = {} if relied is None else {entry.organism: entry for entry in relied.organisms}
    if _table_unshown(computed, history):
        computed = replace(computed, table=None if relied is None else relied.table)
    unshown = [entry for entry in computed.organisms if not _holds(entry, by_key.get(entry.organism))]
    if not unshown:
        return computed
    # where some reductions are too few as computed, no wet bulb of the others is one that would do
    enough = all(entry.grade == "met" for entry in computed.organisms)
    needed = _needed(history, unshown, by_key, enough=enough, limits=limits)
    decides = {finding.key for finding in needed}
    only_air = air_unshown(history.batch) and not decides & {"learned_decides", "cover_decides"}

    def held_back(entry: OrganismLethality) -> OrganismLethality:
        return entry.only_if_measured() if only_air else entry.not_shown()

    return replace(
        computed,
        organisms=tuple(held_back(entry) if entry in unshown else entry for entry in computed.organisms),
        warnings=(*computed.warnings, *needed),
    )


def _holds(computed: OrganismLethality, relied: OrganismLethality | None) -> bool:
    return computed.grade != "met" or (relied is not None and relied.grade == "met")


def _table_unshown(computed: Lethality, history: History) -> bool:
    """Whether the federal table is fulfilled by meat that may be as hot only by what was learned, or under a cover."""
    open_to_question = may_gain(history.batch) or covered(history.batch)
    return computed.table is not None and computed.table.fulfilled and open_to_question


def _needed(
    history: History,
    unshown: list[OrganismLethality],
    relied: dict[str, OrganismLethality],
    *,
    enough: bool,
    limits: bool,
) -> list[Finding]:
    """Return what was not shown and what to measure, for the organism that falls farthest short without it."""
    short = {
        entry.organism: relied[entry.organism].counted if entry.organism in relied else 0.0
        for entry in unshown
    }
    worst = min(unshown, key=lambda entry: short[entry.organism] - entry.target)
    without = {"organism": worst.name, "relied_log10": short[worst.organism]}
    reasons = [Finding("learned_decides", without)] if may_gain(history.batch) else []
    cover = [Finding("cover_decides", without)] if covered(history.batch) else []
    if not air_unshown(history.batch):
        if measured(history).any() and enough and not cover:
            reasons.append(Finding("humidity_within_error", {**without, "bulb_error_K": BULB_ERROR_K}))
        return [*reasons, *cover]
    if not limits:
        return [*reasons, *cover]
    targets = {entry.organism: entry.target for entry in unshown}
    critical = critical_limits(history, lambda run: _records_to(run, targets)) if enough else None
    if critical is None:
        return [*reasons, *cover, Finding("humidity_decides_unfound", without)]
    wet_bulb, begin, end = critical
    needed = {"wet_bulb_K": wet_bulb, "begin_s": begin, "end_s": end, **without}
    planned = float(history.air_wet_bulb_K.max())
    above = {"planned_K": planned, "wet_bulb_K": wet_bulb}
    raised = [Finding("setting_below_limit", above)] if planned < wet_bulb else []
    return [*reasons, Finding("humidity_decides", needed), *raised]


def _heated_records(history: History) -> int:
    """Records before the slices came into drying air; none if they are laid on the trays first of all."""
    return (
        int(np.searchsorted(history.stage, history.batch.first_drying)) - 1
        if history.batch.heated_first
        else 0
    )


def _records_to(history: History, targets: dict[str, float]) -> int | None:
    """Return after how many records all targets are met [log10]; None where they never are."""
    samples = _exposed(history).samples_to(targets)
    return None if samples is None else samples + _heated_records(history)


def _exposed(history: History) -> Exposed:
    first, sides = _heated_records(history), sides_of(history)
    arrays = (
        history.time_s[first:],
        sides.temperature_K[first:],
        sides.water_activity[first:],
        sides.heat_water_activity[first:],
    )
    return Exposed.of(
        arrays,
        history.batch.meat.form,
        drying=True,
        in_liquid=_in_liquid(history, sides),
        from_cold=not history.batch.heated_first,
        leaves_s=leaving_times(history),
    )


def judge_as_computed(history: History) -> Lethality:
    """Judge a batch as if its air were as humid as computed.

    Parameters
    ----------
    history : History
    """
    meat, first, sides = history.batch.meat, _heated_records(history), sides_of(history)
    leaves = leaving_times(history)
    all_in = history.up_to(float(leaves.min()))
    judged = judge_computed(
        history.time_s[first:] - history.time_s[first],
        sides.temperature_K[first:],
        sides.water_activity[first:],
        meat.form,
        meat.judged_as,
        drying=True,
        drier_water_activity=sides.heat_water_activity[first:],
        in_liquid=_in_liquid(history, sides),
        from_cold=not history.batch.heated_first,
        heights=_heights(history),
        leaves_s=leaves - history.time_s[first],
    )
    learned = history.batch.learned
    said = (Finding("humidity_measured"),) if measured(history).any() else ()
    corrected = learned is not None and learned.corrections
    taught = (Finding("learned_counted", {"learned": learned}),) if corrected else ()
    overlapping = share_lying(meat.classes, "overlapping")
    stuck = (Finding("slices_overlap", {"share": overlapping}),) if overlapping else ()
    dry_below = (Finding("covered_counts_as_open"),) if covered(history.batch) else ()
    begun = float(history.temperature_K[0].max())
    hot = begun >= heat_resistance().coolest_K
    started = (Finding("started_hot", {"start_K": begun}),) if hot else ()
    judged = with_clash(judged, meat)
    return replace(
        judged,
        warnings=(
            *judged.warnings,
            *said,
            *taught,
            *started,
            *stuck,
            *dry_below,
            *liquid_counted_on(history),
        ),
        beside=_counted_elsewhere(history.batch.marinade),
        parasites=judge_parasites(meat.judged_as, all_in.time_s, all_in.temperature_K.min(axis=(1, 2))),
        table=_table(history, all_in),
        advice=home_advice(history, HOME_ADVICE_K[meat.judged_as], _heated_records(history)),
        slab_tray=tuple(history.tray.tolist()),
        slab_thickness_m=tuple(meat.classes[k].thickness_m for k in history.kind),
        slab_lies=tuple(meat.classes[k].lies for k in history.kind),
        turned=bool(turned_over(history.batch).any()),
    )


def _counted_elsewhere(marinade: Marinade) -> tuple[Finding, ...]:
    """Return what of the marinade others have counted bacteria with: told beside, and in no figure."""
    if marinade.soak is None:
        return ()
    ingredients = [portion.ingredient for portion in marinade.soak.portions]
    acid = (Finding("acid_counted"),) if any(each.acid > 0.0 for each in ingredients) else ()
    cure = (Finding("cure_counted"),) if any(each.nitrite > 0.0 for each in ingredients) else ()
    return acid + cure


def _in_liquid(history: History, sides: Sides) -> InLiquid | None:
    """Return what was done to every slab before it came into drying air."""
    if not history.batch.heated_first:
        return None
    last = _heated_records(history) + 1
    return InLiquid(
        time_s=history.time_s[:last],
        temperature_K=sides.temperature_K[:last],
        water_activity=sides.water_activity[0],
        drier_water_activity=sides.heat_water_activity[0],
        thickness_m=history.thickness_m[0],
    )


def _heights(history: History) -> NodeHeights:
    """Return where the nodes of the raw slices are."""
    slabs = history.slabs
    return NodeHeights(
        height_m=slabs.nodes[:, None] * history.thickness_m[0],
        lower_open=~slabs.covered,
        turned=bool(turned_over(history.batch).any()),
    )


def _table(whole: History, history: History) -> TableCompliance | None:
    """Return how far the federal table is fulfilled in the part of a history in which all slices are in.

    Time counts in humidity that can be relied on, or in liquid before.
    """
    meat, stages = history.batch.meat, history.batch.stages
    sure = shelf_stable()[0] - activity_error_of(history.batch).half_width
    kept = held_moisture(whole.batch, whole.mean_moisture_db[-1])
    keeps = bool(whole.evened_out(kept).max() <= sure)
    column = column_of(meat.judged_as, fat=meat.composition.fat, shelf_stable=keeps)
    if column is None:
        return None
    temperature = history.temperature_K
    kinds = history.by_stage([stage.kind for stage in stages])
    humidity = np.where(kinds == "air", relied_humidity(history), 0.0)
    liquid = history.by_stage([stage.in_liquid for stage in stages])
    return best_compliance(
        [
            table_compliance(
                history.time_s,
                temperature.min(axis=(1, 2)),
                humidity,
                column,
                rule,
                warmest_K=temperature.max(axis=(1, 2)),
                cooking_end_s=_cooking_end(whole),
                switch=liquid,
            )
            for rule in ((IN_LIQUID, *HUMID_AIR) if liquid.any() else HUMID_AIR)
        ]
    )


def judge_taken_out(
    history: History, judge: Callable[[History], Lethality] = judge_batch_lethality
) -> tuple[float, Lethality] | None:
    """Judge meat that is taken out when it is done, where the plan goes on for long after that.

    Parameters
    ----------
    history : History
    judge : callable
        Gives the judgement on a history; `judge_batch_lethality` if left out.

    Returns
    -------
    tuple or None
        When it is done [s] and the judgement; None where it is not done, or the plan is about over by then: the
        judgement on the whole plan then tells all.
    """
    done = judge_batch(history).doneness.batch.expected_s
    if done is None or leaving_times(history).max() - done < _ABOUT_DONE_S:
        return None
    return done, judge(history.up_to(done))


def _cooking_end(history: History) -> float:
    """Return when cooking ends and drying begins [s]: with the last stage that holds a humidity, else at the end."""
    held = [
        end
        for end, stage in zip(history.stage_end_s, history.batch.stages, strict=True)
        if stage.air.humidity.kind != "room"
    ]
    return float(held[-1] if held else history.time_s[-1])
