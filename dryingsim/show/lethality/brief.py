"""What a judgement on log reductions comes to on a first screen: the verdict, what to do, why, warnings; a line each."""

from collections.abc import Iterable, Mapping
from typing import Any

from dryingsim.batch.schema import Batch
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Grade, HomeAdvice, Lethality
from dryingsim.judge.remedies import BOIL_S, RemedyName, allowed
from dryingsim.show.core.document import Spare
from dryingsim.show.core.quantities import Degrees, Units, Words, at_least, capital, logs, spoken
from dryingsim.show.lethality.finding_words import printed
from dryingsim.show.lethality.text import warning_lines
from dryingsim.show.lethality.words import BOILING, IN_WATER

_DRY = 0.90  # water activity below which bacteria are spoken of as dry: common practice, no source
_THIN_M = 0.004  # slices as hot inside as advice asks before heat has done enough
_HOTTER_K = 2.0  # what heats has to be hotter than what it heats to
_MUCH = 0.5  # of the time that meat stands warm and moist, from where a rest is what to change
VERDICTS: dict[Grade, str] = {
    "far below": "FAR BELOW what is required",
    "below target": "BELOW what is required",
    "not shown": "NOT SHOWN to suffice",
    "met only if measured": "MET ONLY IF MEASURED",
    "met": "MET by this estimate",
}


def _hot_once_dry(values: Mapping[str, Any], degrees: Degrees) -> str:
    """Say that it was dry before it was hot, or not hot for long enough while it was wet."""
    floor, first = degrees(values["floor_K"]), values["first_activity"]
    if round(first, 2) < _DRY:
        return f"passes {floor} only at water activity {first:.2f}; dry bacteria survive"
    return (
        f"hot for too short a time while wet: passes {floor} at water activity {first:.2f}, and reaches "
        f"{degrees(values['hottest_K'])} at {values['activity_then']:.2f}"
    )


BRIEF: dict[str, Words] = {
    "species_unknown": "say which meat it is (species): until then the strictest target counts",
    "species_other": 'species = "other": the strictest target counts; if it is not, say which',
    "slices_overlap": "surfaces that touch stay wet and warm: part the slices that overlap",
    "covered_counts_as_open": "a covered surface counts as if it had dried like the open one",
    "cover_decides": "a sheet or another slice decides: lay the slices apart on mesh",
    "humidity_within_error": "the air that was measured is too near to what is needed: hold it hotter, more humid, or longer",
    "species_fish": "fish: little is known of its bacteria; parasites are another check",
    "bacteria_grow": "bacteria may grow{warm_h:? (warm and moist for {warm_h:.1f} h)}; some toxins survive heat",
    "humidity_measured": "counts on temperature and humidity said to be measured at the slices",
    "humidity_decides": "measure at the slices: wet bulb {wet_bulb_K:at_least} at least, {begin_s:.0f/min}-"
    "{end_s:.0f/min} min; else {relied_log10:log} log",
    "setting_below_limit": "the setting makes {planned_K:at_most} at most: raise humidity or temperature",
    "humidity_decides_unfound": "the humid air decides and was not measured: measure the wet bulb at the slices",
    "liquid_taken_to_stay": "keep {washed:?the water hot: few slices, stirred. Taken to leave no salt in|{kept:?marinade hot: "
    "few slices, stirred. In water? Say so: dry further|the liquid hot: few slices at a time, stirred; measure it after}}",
    "marinade_too_little": "heat {at_a_time_kg:weight} at a time in the {marinade_kg:weight} of marinade left, or in water "
    "({all_at_once_kg:weight} for all; say so). Stir; measure it after",
    "started_hot": "the meat goes in hot: nothing is credited until it has been cooler",
    "learned_counted": "what earlier batches taught is counted in",
    "learned_decides": "learned values decide: measure the temperature of the meat itself",
    "no_water_activity": "no water activity was logged, and dry meat protects bacteria",
    "water_activity_estimated": "the water activity decides and was not measured: log the air beside the slices too",
    "few_nodes": "computed on {nodes} points across a slice only: run it with nodes = {fewest} or more",
    "never_hot": "the meat never gets hotter than {hottest_K:degrees}",
    "hot_while_wet": "too little heat while wet: above {floor_K:degrees} for {wet_s:lasting}, {wet_hottest_K:degrees} at most",
    "heated_before": "{longer_may_do:?too short a heat first: above {floor_K:degrees} for {hotter_s:lasting}, "
    "{hottest_K:degrees} at most|a few bacteria may survive any heating that has been counted}",
    "hot_once_dry": _hot_once_dry,
}


OF_THE_LIQUID = (
    "liquid_taken_to_stay",
    "marinade_too_little",
)  # of how to heat in it
SAID_ELSEWHERE = ("learned_counted", "covered_counts_as_open")  # in the title, in what decides


def brief(finding: Finding, degrees: Degrees) -> str:
    """Return what was found in half a line; what has no short words is told in full."""
    return printed(finding, degrees, BRIEF)


def brief_sentences(findings: Iterable[Finding], degrees: Degrees) -> list[str]:
    """Return what was found in brief, a sentence each."""
    told = [(finding.key, f"{capital(brief(finding, degrees))}.") for finding in findings]
    return [Spare(sentence) if key in SAID_ELSEWHERE else sentence for key, sentence in told]


def verdict(lethality: Lethality, *, relied: bool = True, head: str = "") -> str:
    """Return the grade and the numbers it stands on.

    Where what it was judged from is not `relied` on, no best estimate is told; `head` stands in place of the words for its
    grade.
    """
    worst = lethality.worst
    best = f" (best estimate {logs(worst.best)})" if relied else ""
    return f"{head or VERDICTS[lethality.grade]}: {worst.name} {logs(worst.counted)} of {worst.target:g} log{best}."


def _checks(lethality: Lethality, units: Units) -> str:
    """Return the other ways to show it; one that is done first, as planned, is told there."""
    table, advice = lethality.table, lethality.advice
    told = "none" if table is None else "met" if table.fulfilled else "NOT met"
    if advice is None or (advice.before_drying and lethality.grade.startswith("met")):
        return Spare(f"Federal cooking table, a separate test: {told}.")
    followed = "met" if advice.before_drying else "NOT met"
    return Spare(
        f"Other ways to show it: federal table {told}; {units.temperature.text(advice.asked_K)} first {followed}."
    )


def _heat_first(asked: str, lethality: Lethality, batch: Batch | None) -> str:
    """Return that the slices have to be heated first, and how to have that in the batch, where one is to be dried."""
    ground = lethality.form == "minced"
    if batch is None:
        return f"Do first: heat the slices to {asked} throughout, as in {'steam' if ground else 'boiling water'}."
    # thin slices are as hot as that within seconds, and where bacteria sit inside it is the last to get hot
    long = lethality.form != "sliced" or min(one.thickness_m for one in batch.meat.classes) < _THIN_M
    do = f"Do first: heat the slices {f'for {spoken(BOIL_S)}, ' if long else ''}to {asked} throughout"
    change: RemedyName = "boiled first" if long else "heated first"
    if not allowed(batch, change):
        return f"{do}, before they dry; ways: --remedies."
    return f"{do} in {'steam' if ground else BOILING} (--apply '{change}' -o safer.toml; ways: --remedies)."


def heating_as_planned(advice: HomeAdvice, degrees: Degrees) -> str:
    """Return the heating before drying as the batch has it, and what to check of it."""
    asked = degrees(advice.asked_K)
    if advice.timed_s is None or advice.timed_in_K is None:
        which = "each portion's thickest" if advice.in_portions else "the thickest slice"
        lasting = "" if advice.least_s is None else f"{at_least(advice.least_s)} or more, "
        cooler = "" if advice.least_s or advice.before_drying else "; the plan stops cooler"
        return (
            f"Do first: heat {lasting}to {degrees(advice.until_K or advice.asked_K)} inside {which}{cooler}."
        )
    planned = f"heat the slices for {at_least(advice.timed_s)} at {degrees(advice.timed_in_K)}"
    if not advice.before_drying:
        return f"Do first, as planned: {planned}; home advice asks for more, {asked} inside."
    portion = " of every portion" if advice.in_portions else ""
    return f"Do first, as planned: {planned}; check for {asked} or more inside the thickest slice{portion}."


def kept_verdict(lethality: Lethality, units: Units) -> list[str]:
    """Return the verdict on meat that was dried, and, where it is met, all that it rests on; its heating is over."""
    if not lethality.grade.startswith("met"):
        return [verdict(lethality)]
    advice, head = lethality.advice, ""
    planned = _as_planned(lethality, units)
    if planned and advice is not None and lethality.grade == "met":
        told = units.temperature.text
        if advice.timed_s is None or advice.timed_in_K is None:
            how = f"to {told(advice.until_K or advice.asked_K)}"
        else:
            how = f"for {at_least(advice.timed_s)} at {told(advice.timed_in_K)}"
        head, planned = f"MET if heated {how} first{', as planned' if advice.before_drying else ''}", []
    still_told = (warning for warning in lethality.warnings if warning.key not in OF_THE_LIQUID)
    return [
        verdict(lethality, relied=not head, head=head),
        *planned,
        *brief_sentences(still_told, units.temperature.text),
    ]


def _as_planned(lethality: Lethality, units: Units) -> list[str]:
    """Return what has to be done first where a verdict that is met counts on it."""
    advice = lethality.advice
    if advice is None or not (advice.before_drying or advice.heated_first):
        return []
    return [heating_as_planned(advice, units.temperature.text)]


def _to_do(lethality: Lethality, advice: HomeAdvice, units: Units, batch: Batch | None) -> list[str]:
    """Return what to do first, or better, where a verdict is not met."""
    asked = units.temperature.text(advice.asked_K)
    if not advice.heated_first:
        return [_heat_first(asked, lethality, batch)]
    if any(warning.key == "slices_overlap" for warning in lethality.warnings):
        return [f"Do first: part the slices while they heat, until all are at {asked}."]
    if not advice.before_drying:
        if advice.timed_in_K is not None and advice.timed_in_K <= advice.asked_K + _HOTTER_K:
            return [f"Do first: heat the slices in what is hotter, at the boil, until all are at {asked}."]
        return [f"Do first: heat the slices for longer, until all are at {asked}."]
    return _dry_sooner(lethality, batch) if lethality.worst.held_back else _heat_on(lethality, units, batch)


def _longer(advice: HomeAdvice | None, units: Units) -> str:
    """Return for how long slices are to be heated where that was too little."""
    if advice is not None and advice.heated_s >= BOIL_S:
        return f"until they have been at {units.temperature.text(advice.asked_K)} inside for {spoken(BOIL_S)}"
    return f"for {spoken(BOIL_S)}"


def _heat_on(lethality: Lethality, units: Units, batch: Batch | None) -> list[str]:
    """Return what to do where the slices are heated as home advice asks, and that is too little."""
    longer = _longer(lethality.advice, units)
    if batch is None:
        return [f"Do first: heat the slices for longer, {longer}."]
    if lethality.advice is None or lethality.advice.heated_s >= BOIL_S:
        return [f"Do first: heat for longer, {longer}; ways: --remedies."]
    return [f"Do first: heat for longer, {longer} (--apply 'boiled first' -o longer.toml)."]


def _dry_sooner(lethality: Lethality, batch: Batch | None) -> list[str]:
    """Return what to do where bacteria may grow while the slices rest warm before they dry."""
    growth = next((warning for warning in lethality.warnings if warning.key == "bacteria_grow"), None)
    if growth is None or batch is None:
        return []
    rests = (stage for stage in batch.stages[: batch.first_drying] if stage.kind == "rest")
    warm_s = sum(
        stage.duration_s or 0.0 for stage in rests if stage.air.temperature_K > growth.values["low_K"]
    )
    decides = warm_s > _MUCH * 3600.0 * growth.values["warm_h"] > 0.0
    return ["Do first: dry right after heating, or rest the slices in the cold."] if decides else []


def _by_the_table(lethality: Lethality, units: Units) -> list[str]:
    """Return what to do where more is required than any counting shows."""
    table, advice = lethality.table, lethality.advice
    by_table = "Counting cannot show so much: go by the federal table"
    if advice is None or not advice.heated_first:
        return [f"{by_table}, or heat it first."]
    if lethality.form == "minced":
        in_air = (
            f"{by_table}, in air measured to be as humid as it asks: steam does not count, and ground meat"
        )
        return [f"{in_air} falls apart in liquid.", *_as_planned(lethality, units)]
    if advice.before_drying and table is not None and table.fulfilled:
        return [f"{by_table}.", *_as_planned(lethality, units)]
    asked = units.temperature.text(advice.asked_K)
    boil = f"in boiling marinade or water, not steam, to {asked} inside and for {spoken(BOIL_S)} or more"
    return [f"{by_table}.", f"Do first: heat them {boil}."]


def safety_lines(
    lethality: Lethality,
    units: Units,
    batch: Batch | None = None,
    *,
    relied: bool = True,
    in_full: bool = False,
) -> list[str]:
    """Return what to do for safety: the verdict, what to do first, why it is so, and what warns.

    Of a `batch` that is to be dried, what changes it is named as options of `run`; `in_full`, where there is room,
    warnings are told in full, and what comes of advice.
    """
    why, do, advice = list[str](), list[str](), lethality.advice
    if (
        lethality.grade != "not shown" or not lethality.worst.held_back
    ):  # else what warns tells why it does not count
        why = [Spare(f"Why: {brief(lethality.worst.circumstances, units.temperature.text)}.")]
    if lethality.grade.startswith("met"):  # what it rests on is what warns
        why = [_checks(lethality, units)]
        do = _as_planned(lethality, units)
        if do and lethality.grade == "met only if measured":  # air hardly dry yet makes up the rest
            do.append(f"Or heat for longer, {_longer(advice, units)}; ways: --remedies.")
    elif any(flag.key == "beyond_counting" for flag in lethality.worst.flags):
        do = _by_the_table(lethality, units)
        why = [_checks(lethality, units), *why]
    elif advice is not None:
        do = _to_do(lethality, advice, units, batch)
        do += [IN_WATER] if in_full and not advice.heated_first and lethality.form != "minced" else []
        if lethality.table is not None and lethality.table.fulfilled:
            why.append(Spare("Federal cooking table, a separate test: met as computed."))
    warned = (
        warning_lines(lethality, units)
        if in_full
        else brief_sentences(lethality.warnings, units.temperature.text)
    )
    return [verdict(lethality, relied=relied), *do, *why, *warned]
