"""The judgement on log reductions: every organism at its least-reduced place, against what guidelines require.

The *best estimate* is the median of new studies; the *lower bound* is what 19 of 20 of them exceed, and it decides
whether a target counts as met. Both count heat and, in dry hot air, what drying itself was seen to take; heat is counted
at the drier side of the water activity's error, by the kind of product. A federal
time-temperature table is a second, separate check, and home advice a third.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.drying_evidence import activity_error_of
from dryingsim.batch.catalog.growth_limits import shelf_stable
from dryingsim.batch.laying import share_lying
from dryingsim.batch.learned import may_gain
from dryingsim.batch.schema import Species
from dryingsim.errors import InputError, SolverError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.exposed import Exposed, drier_side
from dryingsim.judge.federal_table import (
    HUMID_AIR,
    IN_LIQUID,
    TableCompliance,
    best_compliance,
    column_of,
    table_compliance,
)
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import HomeAdvice, Lethality, OrganismLethality
from dryingsim.judge.growth_places import NodeHeights
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.hot_liquid import HeatedFirst, InLiquid
from dryingsim.judge.reductions import judge_computed
from dryingsim.judge.relied_air import (
    BULB_ERROR_K,
    air_unshown,
    critical_limits,
    measured,
    relied_humidity,
    run_relied_on,
)
from dryingsim.typing import Array

_MEAT_K: Annotated[float, Evidence("K", "published", "USDA home advice: 160 degF before drying starts")] = (
    344.26
)
_POULTRY_K: Annotated[
    float, Evidence("K", "published", "USDA home advice for poultry: 165 degF before drying starts")
] = 347.04
HOME_ADVICE_K: dict[Species, float] = {
    "beef": _MEAT_K,
    "pork": _MEAT_K,
    "poultry": _POULTRY_K,
    "game": _MEAT_K,
    "fish": _POULTRY_K,
    "other": _MEAT_K,
    "unknown": _POULTRY_K,
}
_ABOUT_DONE_S: Annotated[
    float,
    Evidence("s", "estimate", "a plan that goes on for less than this after the meat is done is one with it"),
] = 15 * 60.0


def judge_batch_lethality(history: History, heated: HeatedFirst | None = None) -> Lethality:
    """Judge what a batch does to three kinds of bacteria.

    Parameters
    ----------
    history : History
        The batch from when it was laid on the trays.
    heated : HeatedFirst, optional
        What was done in hot liquid before.

    Returns
    -------
    Lethality
        The least-reduced place of all slabs, over all trays and thicknesses, decides. What holds only in air that was not
        measured to be so humid is met only if measured; what holds only by what was learned from other batches is not shown.

    Examples
    --------
    >>> from dryingsim import demo_batch, run
    >>> judge_batch_lethality(run(demo_batch())).grade == "met"
    False
    """
    if not isinstance(history, History):
        raise InputError(f"a History is expected, as run(batch) returns it, not {type(history).__name__}")
    computed = judge_as_computed(history, heated)
    if all(entry.grade != "met" for entry in computed.organisms) and not _table_learned(computed, history):
        return computed
    try:
        again = run_relied_on(history)
        relied = computed if again is None else judge_as_computed(again, heated)
    except (InputError, SolverError):  # then nothing is shown
        relied = None
    by_key = {} if relied is None else {entry.organism: entry for entry in relied.organisms}
    if _table_learned(computed, history):
        computed = replace(computed, table=None if relied is None else relied.table)
    unshown = [entry for entry in computed.organisms if not _holds(entry, by_key.get(entry.organism))]
    if not unshown:
        return computed
    learned, open_to_measure = may_gain(history.batch), air_unshown(history.batch)

    def held_back(entry: OrganismLethality) -> OrganismLethality:
        return entry.only_if_measured() if open_to_measure and not learned else entry.not_shown()

    return replace(
        computed,
        organisms=tuple(held_back(entry) if entry in unshown else entry for entry in computed.organisms),
        warnings=(*computed.warnings, *_needed(history, heated, unshown, by_key)),
    )


def _holds(computed: OrganismLethality, relied: OrganismLethality | None) -> bool:
    return computed.grade != "met" or (relied is not None and relied.grade == "met")


def _table_learned(computed: Lethality, history: History) -> bool:
    """Whether the federal table is fulfilled in air that may be as hot only by what was learned."""
    return computed.table is not None and computed.table.fulfilled and may_gain(history.batch)


def _needed(
    history: History,
    heated: HeatedFirst | None,
    unshown: list[OrganismLethality],
    relied: dict[str, OrganismLethality],
) -> list[Finding]:
    """Return what was not shown and what to measure, for the organism that falls farthest short without it."""
    short = {
        entry.organism: relied[entry.organism].counted if entry.organism in relied else 0.0
        for entry in unshown
    }
    worst = min(unshown, key=lambda entry: short[entry.organism] - entry.target)
    without = {"organism": worst.name, "relied_log10": short[worst.organism]}
    reasons = [Finding("learned_decides", without)] if may_gain(history.batch) else []
    if not air_unshown(history.batch):
        if measured(history).any():
            reasons.append(Finding("humidity_within_error", {**without, "bulb_error_K": BULB_ERROR_K}))
        return reasons
    targets = {entry.organism: entry.target for entry in unshown}
    limits = critical_limits(history, lambda run: _exposed(run, heated).samples_to(targets))
    if limits is None:
        return [*reasons, Finding("humidity_decides_unfound", without)]
    wet_bulb, begin, end = limits
    needed = {"wet_bulb_K": wet_bulb, "begin_s": begin, "end_s": end, **without}
    return [*reasons, Finding("humidity_decides", needed)]


def _exposed(history: History, heated: HeatedFirst | None) -> Exposed:
    a = np.minimum(history.water_activity, 1.0)
    arrays = (
        history.time_s,
        history.temperature_K,
        a,
        drier_side(a, activity_error_of(history.batch).half_width),
    )
    return Exposed.of(
        arrays,
        history.batch.meat.form,
        drying=True,
        in_liquid=_in_liquid(history, heated),
        from_cold=heated is None,
    )


def judge_as_computed(history: History, heated: HeatedFirst | None = None) -> Lethality:
    """Judge a batch as if its air were as humid as computed.

    Parameters
    ----------
    history, heated
        As for `judge_batch_lethality`.
    """
    meat = history.batch.meat
    time, t, a = history.time_s, history.temperature_K, np.minimum(history.water_activity, 1.0)
    in_liquid = _in_liquid(history, heated)
    judged = judge_computed(
        time,
        t,
        a,
        meat.form,
        meat.species,
        drying=True,
        drier_water_activity=drier_side(a, activity_error_of(history.batch).half_width),
        in_liquid=in_liquid,
        from_cold=heated is None,
        heights=_heights(history),
    )
    if in_liquid is not None:
        time, t, _ = in_liquid.before(time, t, t)
    coldest = history.temperature_K.min(axis=(1, 2))
    learned = history.batch.learned
    said = (Finding("humidity_measured"),) if measured(history).any() else ()
    corrected = learned is not None and learned.corrections
    taught = (Finding("learned_counted", {"learned": learned}),) if corrected else ()
    overlapping = share_lying(meat.classes, "overlapping")
    stuck = (Finding("slices_overlap", {"share": overlapping}),) if overlapping else ()
    begun = float(history.temperature_K[0].max())
    hot = heated is None and begun >= heat_resistance().coolest_K
    started = (Finding("started_hot", {"start_K": begun}),) if hot else ()
    return replace(
        judged,
        warnings=(*judged.warnings, *said, *taught, *started, *stuck),
        table=_table(history, time, t, heated),
        advice=_home_advice(history, HOME_ADVICE_K[meat.species], coldest, heated),
        slab_tray=tuple(history.tray.tolist()),
        slab_thickness_m=tuple(meat.classes[k].thickness_m for k in history.kind),
        slab_lies=tuple(meat.classes[k].lies for k in history.kind),
    )


def _in_liquid(history: History, heated: HeatedFirst | None) -> InLiquid | None:
    """Return what was done to every slab in hot liquid before."""
    if heated is None:
        return None
    slices = tuple(each.thickness_m for each in history.batch.meat.classes)
    nodes = history.temperature_K.shape[1]
    if heated.thickness_m != slices or heated.temperature_K.shape[1] != nodes:
        raise InputError(
            f"what was heated first were other slices, or at other nodes: {heated.temperature_K.shape[1]} nodes across slices "
            f"of {heated.thickness_m} m, and here {nodes} across {slices} m"
        )
    start = np.minimum(history.water_activity[0], 1.0)
    return InLiquid(
        time_s=heated.time_s,
        temperature_K=heated.temperature_K[:, :, history.kind],  # every tray holds the same slices
        water_activity=start,
        drier_water_activity=drier_side(start, activity_error_of(history.batch).half_width),
        thickness_m=np.array(slices)[history.kind],
    )


def _heights(history: History) -> NodeHeights:
    """Return where the nodes of the raw slices are."""
    slabs = history.slabs
    return NodeHeights(
        height_m=slabs.nodes[:, None] * history.thickness_m[0], lower_open=slabs.vapour_open[0] > 0.0
    )


def _table(
    history: History, time: Array, temperature: Array, heated: HeatedFirst | None
) -> TableCompliance | None:
    """Return how far the federal table is fulfilled, in humidity that can be relied on, or in liquid before."""
    meat = history.batch.meat
    sure = shelf_stable()[0] - activity_error_of(history.batch).half_width
    keeps = bool(history.equalised_water_activity[-1].max() <= sure)
    column = column_of(meat.species, fat=meat.composition.fat, shelf_stable=keeps)
    if column is None:
        return None
    coldest, warmest = temperature.min(axis=(1, 2)), temperature.max(axis=(1, 2))
    before = time.size - history.time_s.size  # what was recorded in liquid
    humidity = np.concatenate([np.zeros(before), relied_humidity(history)])
    end = float(time[before]) + _cooking_end(history)
    liquid = np.arange(time.size) < before
    return best_compliance(
        [
            table_compliance(
                time, coldest, humidity, column, rule, warmest_K=warmest, cooking_end_s=end, switch=liquid
            )
            for rule in (HUMID_AIR if heated is None else (*HUMID_AIR, IN_LIQUID))
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
    if done is None or history.time_s[-1] - done < _ABOUT_DONE_S:
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


def _home_advice(history: History, asked: float, coldest: Array, heated: HeatedFirst | None) -> HomeAdvice:
    hot = np.flatnonzero(coldest >= asked)
    first = int(hot[0]) if hot.size else None
    before = heated is not None and heated.coldest_K >= asked
    return HomeAdvice(
        asked_K=asked,
        hottest_K=max(float(coldest.max()), heated.coldest_K if heated else 0.0),
        reached_s=None if first is None else float(history.time_s[first]),
        face_water_activity=None if first is None else float(history.surface_water_activity[first].min()),
        before_drying=before,
    )
