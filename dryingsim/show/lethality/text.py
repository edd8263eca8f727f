"""The judgement on log reductions in plain sentences, and what the remedies would do."""

from collections.abc import Callable, Sequence

from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import Grade, Lethality, OrganismLethality
from dryingsim.judge.remedies import Remedy
from dryingsim.show.core.quantities import Units, capital, logs, percent, slices_name, spoken
from dryingsim.show.lethality.federal_text import checks_line, table_line
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.growth_text import growth_lines, without_heat_lines
from dryingsim.show.lethality.remedy_words import CHANGES
from dryingsim.show.lethality.words import DRY_AIR, home_advice, places

HEADLINES: dict[Grade, str] = {
    "far below": "The log reduction is far below what is required",
    "below target": "The log reduction is below what is required",
    "not shown": "It is not shown that the required log reduction is met",
    "met only if measured": "The required log reduction is met only if what it counts on is measured and holds",
    "met": "By this estimate the required log reduction is met",
}
_DRYING = 0.5  # share of the drying term from which dry air is spoken of
_TOLD = 0.05  # log10: what does not round to nothing
_BEYOND_COUNTING = "beyond_counting"


def lines(lethality: Lethality, units: Units) -> list[str]:
    """Return the judgement as sentences: warnings, verdict, why, each organism, growth, table, home advice, limits.

    Parameters
    ----------
    lethality : Lethality
    units : Units
        What temperatures and thicknesses are printed in.
    """
    worst, told = lethality.worst, _degrees(units)
    table = [table_line(lethality.table, units.temperature)] if lethality.table is not None else []
    advice = [home_advice(lethality.advice, told)] if lethality.advice is not None else []
    return [
        *warning_lines(lethality, units),
        f"{HEADLINES[lethality.grade]}; {worst.name} limits. {_reason(lethality, worst, units)}",
        *_beyond_counting(lethality, units),
        *map(_estimates, lethality.organisms),
        f"{capital(places(lethality.form))}. The best estimate is the median of new studies; 19 of 20 exceed the lower bound, "
        "which decides. 5 log = one in 100,000 left.",
        *_dry_air(lethality),
        *growth_lines(lethality, units),
        *without_heat_lines(lethality, units),
        *table,
        *advice,
        *(f"{capital(sentence(one, told))}." for one in (*lethality.beside, *lethality.parasites)),
        *_beyond_measured(lethality, units),
    ]


def joined_warnings(whole: Lethality, early: Lethality) -> tuple[Finding, ...]:
    """Return the warnings of a whole plan and of meat taken out before its end, each kind once, as its worse case says it.

    Parameters
    ----------
    whole, early : Lethality
    """
    joined = {warning.key: warning for warning in whole.warnings}
    for (
        warning
    ) in early.warnings:  # less time asks for a higher wet bulb; everything else is worse the longer it lasts
        if warning.key not in joined or warning.key == "humidity_decides":
            joined[warning.key] = warning
    return tuple(joined.values())


def warning_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what is to be read before the verdict, a sentence each."""
    return [f"Warning: {sentence(one, _degrees(units))}." for one in lethality.warnings]


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
    told = lethality.grade in ("met", "met only if measured") or _beyond_counting(lethality, units)
    return f" {checks_line(lethality, units.temperature)}" if told else ""


def remedy_lines(found: Sequence[Remedy], units: Units) -> list[str]:
    """Return one sentence per remedy: what it does to the log reductions, the time it adds, and when the batch is dry.

    Parameters
    ----------
    found : sequence of Remedy
        As `dryingsim.judge.remedies.remedies` gives them, the batch itself first.
    units : Units
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
    added = "no step" if not extra else spoken(extra) if extra >= 60.0 else f"{extra:.0f} s"
    parts = [f"It adds {added}"]
    if one.done_shift_s is None:
        dry = (
            "the batch is not dry when the run ends"
            if one.done_s is None
            else f"the batch is dry after {spoken(one.done_s)}"
        )
        parts.append(dry)
    elif abs(one.done_shift_s) < 60.0:
        parts.append("the batch is dry at the same time")
    else:
        way = "later" if one.done_shift_s > 0.0 else "earlier"
        parts.append(f"the batch is dry {spoken(abs(one.done_shift_s))} {way}")
    return " and ".join(parts) + "."


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
    return f"{where}, {sentence(entry.circumstances, _degrees(units))}."


def _place(lethality: Lethality, entry: OrganismLethality) -> str:
    upper = lethality.form == "sliced" or entry.node == lethality.node_count - 1
    if lethality.turned and (entry.node == 0 or upper):
        return f"the surface that lay {'below' if entry.node == 0 else 'on top'} at first"
    if entry.node == 0:
        lies = lethality.slab_lies[entry.slab]
        return "the lower surface" if lies == "flat" else "the covered surface"
    return "the upper surface" if upper else "inside"


def _beyond_counting(lethality: Lethality, units: Units) -> list[str]:
    """Say what to do where more is required than can be counted."""
    flags = (flag for entry in lethality.organisms for flag in entry.flags if flag.key == _BEYOND_COUNTING)
    return [f"{capital(text)}." for text in dict.fromkeys(sentence(flag, _degrees(units)) for flag in flags)]


def _beyond_measured(lethality: Lethality, units: Units) -> list[str]:
    """Return the other flags of all organisms, each once."""
    flags = (flag for entry in lethality.organisms for flag in entry.flags if flag.key != _BEYOND_COUNTING)
    told = dict.fromkeys(sentence(flag, _degrees(units)) for flag in flags)
    return [f"Beyond what was measured: {text}." for text in told]


def _degrees(units: Units) -> Callable[[float], str]:
    return units.temperature.text
