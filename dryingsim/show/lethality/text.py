"""The judgement on log reductions in plain sentences, and what the remedies would do."""

from collections.abc import Sequence

from dryingsim.judge.decline import STUDIED_K
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Grade, Lethality, OrganismLethality
from dryingsim.judge.growth import BELOW_M, OrganismGrowth
from dryingsim.judge.remedies import Remedy
from dryingsim.show.core.quantities import Units, capital, lasting, logs, percent, slices_name, spoken
from dryingsim.show.lethality.federal_text import checks_line, table_line
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.words import CHANGES, DRY_AIR, WITHOUT_HEAT, home_advice, places

HEADLINES: dict[Grade, str] = {
    "far below": "The log reduction is far below what is required",
    "below target": "The log reduction is below what is required",
    "not shown": "It is not shown that the required log reduction is met",
    "met only if measured": "The required log reduction is met only if what it counts on is measured and holds",
    "met": "By this estimate the required log reduction is met",
}
_DRYING = 0.5  # share of the drying term from which dry air is spoken of
_TOLD = 0.05  # log10: what does not round to nothing


def lines(lethality: Lethality, units: Units) -> list[str]:
    """Return the judgement as sentences: warnings, verdict, why, each organism, growth, table, home advice, limits."""
    worst, told = lethality.worst, units.temperature.text
    table = [table_line(lethality.table, units.temperature)] if lethality.table is not None else []
    advice = [home_advice(lethality.advice, told)] if lethality.advice is not None else []
    return [
        *warning_lines(lethality, units),
        f"{HEADLINES[lethality.grade]}; {worst.name} limits. {_reason(lethality, worst, units)}",
        *_flags(lethality, units, beyond_counting=True),
        *map(_estimates, lethality.organisms),
        f"{capital(places(lethality.form))}. The best estimate is the median of new studies; 19 of 20 exceed the lower bound, "
        "which decides. 5 log = one in 100,000 left.",
        *_dry_air(lethality),
        *growth_lines(lethality, units),
        *without_heat_lines(lethality, units),
        *table,
        *advice,
        *(f"{capital(sentence(one, told))}." for one in (*lethality.beside, *lethality.parasites)),
        *_flags(lethality, units, beyond_counting=False),
    ]


def joined_warnings(whole: Lethality, early: Lethality) -> tuple[Finding, ...]:
    """Return the warnings of a whole plan and of meat taken out before its end, each kind once, as its worse case says it."""
    joined = {warning.key: warning for warning in whole.warnings}
    for warning in early.warnings:
        # less time asks for a higher wet bulb; everything else is worse the longer it lasts
        if warning.key not in joined or warning.key == "humidity_decides":
            joined[warning.key] = warning
    return tuple(joined.values())


def warning_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what is to be read before the verdict, a sentence each."""
    return [f"Warning: {sentence(one, units.temperature.text)}." for one in lethality.warnings]


def verdict_line(lethality: Lethality, units: Units) -> str:
    """Return the verdict in two sentences, for comparing batches; its warnings stand before it, the other checks after it."""
    worst = lethality.worst
    warned = "".join(f"{one} " for one in warning_lines(lethality, units))
    return (
        f"{warned}{HEADLINES[lethality.grade]}: {worst.name} lower bound (95 %) {logs(worst.counted)} log, "
        f"best estimate {logs(worst.best)} log, {worst.target:.1f} log required. "
        f"{_reason(lethality, worst, units)}{beside_reached(lethality, units)}"
    )


def beside_reached(lethality: Lethality, units: Units) -> str:
    """Return what the federal table and the home advice say, to stand behind a verdict that is "met", or that never can be."""
    told = lethality.grade.startswith("met") or _flags(lethality, units, beyond_counting=True)
    return f" {checks_line(lethality, units.temperature)}" if told else ""


def remedy_lines(found: Sequence[Remedy], units: Units) -> list[str]:
    """Return one sentence per remedy: what it does to the log reductions, the time it adds, and when the batch is dry.

    The batch itself comes first among those that are given.
    """
    told = []
    for one in found[1:]:
        if one.lethality is None:
            told.append(f"{capital(one.name)}: cannot be simulated; {one.problem}.")
            continue
        worst = one.lethality.worst
        told.append(
            f"{capital(one.name)}: {CHANGES[one.name]} {worst.name} then lower bound {logs(worst.counted)} log, "
            f"best estimate {logs(worst.best)} log of {worst.target:.1f}: {HEADLINES[one.lethality.grade].lower()}. "
            f"{_times(one)}{beside_reached(one.lethality, units)}"
        )
    return told


def _times(one: Remedy) -> str:
    extra = one.extra_s or 0.0
    added = "no step" if not extra else lasting(extra)
    if one.done_s is None:
        dry = "not dry when the run ends"
    elif one.done_shift_s is None:
        dry = f"dry after {spoken(one.done_s)}"
    elif abs(one.done_shift_s) < 60.0:
        dry = "dry at the same time"
    else:
        dry = f"dry {spoken(abs(one.done_shift_s))} {'later' if one.done_shift_s > 0.0 else 'earlier'}"
    return f"It adds {added} and the batch is {dry}."


def _estimates(entry: OrganismLethality) -> str:
    return (
        f"{entry.name}: lower bound (95 %) {logs(entry.counted)} log, best estimate {logs(entry.best)} log; "
        f"{entry.target:.1f} log required ({entry.guideline}); a new study would count that with a chance of "
        f"{percent(entry.probability)}."
    )


def _dry_air(lethality: Lethality) -> list[str]:
    """Say what dry air is known to do, where it is what the figures rest on."""
    dried = any(
        entry.drying_share >= _DRYING and entry.heat_lower < entry.lower - _TOLD
        for entry in lethality.organisms
    )
    return [f"{DRY_AIR}."] if dried else []


def _reason(lethality: Lethality, entry: OrganismLethality, units: Units) -> str:
    """Say where the least-reduced place is and what happened there."""
    where = "At the least-reduced place"
    if lethality.slab_thickness_m:
        where += f", {_place(lethality, entry)} of the "
        where += slices_name(units, lethality.slab_thickness_m[entry.slab], lethality.slab_lies[entry.slab])
        if max(lethality.slab_tray):
            where += f" on tray {lethality.slab_tray[entry.slab] + 1}"
    return f"{where}, {sentence(entry.circumstances, units.temperature.text)}."


def _place(lethality: Lethality, entry: OrganismLethality) -> str:
    upper = lethality.form == "sliced" or entry.node == lethality.node_count - 1
    if lethality.turned and (entry.node == 0 or upper):
        return f"the surface that lay {'below' if entry.node == 0 else 'on top'} at first"
    if entry.node == 0:
        lies = lethality.slab_lies[entry.slab]
        return "the lower surface" if lies == "flat" else "the covered surface"
    return "the upper surface" if upper else "inside"


def _flags(lethality: Lethality, units: Units, *, beyond_counting: bool) -> list[str]:
    """Return the flags of all organisms, each once: that more is required than can be counted, or what was not measured."""
    flags = (flag for entry in lethality.organisms for flag in entry.flags)
    asked = (flag for flag in flags if (flag.key == "beyond_counting") == beyond_counting)
    told = dict.fromkeys(sentence(flag, units.temperature.text) for flag in asked)
    return [f"{capital(text)}." if beyond_counting else f"Beyond what was measured: {text}." for text in told]


def growth_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what may grow where bacteria sit and deeper, and what remains after the log reduction, a sentence or two each."""
    grown = lethality.growth
    if not grown:
        return []
    if max(max(one.upper, one.middle, one.below or 0.0) for one in grown) < _TOLD:
        return [
            "Hardly anything grows meanwhile, by published models: less than 0.1 log of each kind of bacteria."
        ]
    return [" ".join([_where_they_sit(grown), *_deeper(lethality, units)]), *_with_reduction(lethality)]


def without_heat_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what may have declined without heat; nothing where it is hardly anything."""
    if lethality.without_heat < _TOLD:
        return []
    most = units.temperature.text(STUDIED_K[1])
    return [WITHOUT_HEAT.format(reduction=logs(lethality.without_heat), most=most) + "."]


def _where_they_sit(grown: tuple[OrganismGrowth, ...]) -> str:
    some = [f"{one.name} {logs(one.upper)}" for one in grown if one.upper >= _TOLD]
    rest = "" if len(some) == len(grown) else "the others less than 0.1" if some else "all less than 0.1"
    limits = "".join(
        f" With a lag {one.name} comes to {logs(one.lagged)}; federal guidance allows it {one.limit:g}, for its toxin."
        for one in grown
        if one.limit is not None
    )
    amounts = ", ".join(filter(None, [*some, rest]))
    return f"May grow meanwhile where bacteria sit (log, published models, no lag): {amounts}.{limits}"


def _deeper(lethality: Lethality, units: Units) -> list[str]:
    """Say what it would be below the surface, of the organism with a limit; intact muscle is nearly free of bacteria there."""
    one = next((one for one in lethality.growth if one.limit is not None), None)
    if one is None or lethality.form != "sliced" or one.below is None:
        return []
    return [
        f"That is the surface of intact muscle; in pounded, needled or minced meat {one.name} would come to "
        f"{logs(one.below)} log at {units.length.text(BELOW_M)} below it and to {logs(one.middle)} in the middle."
    ]


def _with_reduction(lethality: Lethality) -> list[str]:
    """Say what growth and log reduction come to together, where there is any."""
    if max(one.counted for one in lethality.organisms) < _TOLD:
        return []
    parts = [
        f"{one.name} {logs(abs(one.net))} {'more' if one.net > 0.0 else 'fewer'}"
        for one in lethality.growth
        if one.net is not None
    ]
    return [
        f"Growth and log reduction (lower bound) together, at the least-reduced place, log: {', '.join(parts)}."
    ]
