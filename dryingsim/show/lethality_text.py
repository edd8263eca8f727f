"""The judgement on kill in plain sentences, and what the remedies would do."""

from collections.abc import Callable, Sequence

from dryingsim.judge.grades import SCATTER, Grade, Lethality, OrganismLethality
from dryingsim.judge.remedies import Remedy
from dryingsim.show.federal_text import checks_line, table_line
from dryingsim.show.finding_words import sentence
from dryingsim.show.growth_text import growth_lines
from dryingsim.show.lethality_words import home_advice, places
from dryingsim.show.quantities import Units, capital, logs, spoken
from dryingsim.show.remedy_words import CHANGES

HEADLINES: dict[Grade, str] = {
    "hardly any": "Hardly any bacteria are killed",
    "short": "The kill is short of what is asked for",
    "not shown": "It is not shown that enough bacteria are killed",
    "reached": "By this estimate the kill asked for is reached",
}


def lines(lethality: Lethality, units: Units) -> list[str]:
    """Return the judgement as sentences: warnings, verdict, why, each organism, growth, table, home advice, doubts.

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
        f"{HEADLINES[lethality.grade]}; {worst.name} decides. {_reason(lethality, worst, units)}",
        *map(_estimates, lethality.organisms),
        f"{capital(places(lethality.form))}. The cautious estimate counts heat alone and decides; published counts lie "
        f"within about {SCATTER:.0f} log of the central one. One log is tenfold: 5 log leave one in 100 000.",
        *growth_lines(lethality, units),
        *table,
        *advice,
        *_doubts(lethality, units),
    ]


def warning_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what is to be read before the verdict, a sentence each."""
    return [f"Warning: {sentence(one, _degrees(units))}." for one in lethality.warnings]


def verdict_line(lethality: Lethality, units: Units) -> str:
    """Return the verdict in two sentences, for comparing batches; its warnings stand before it, the other checks after it."""
    worst = lethality.worst
    warned = "".join(f"{one} " for one in warning_lines(lethality, units))
    return (
        f"{warned}{HEADLINES[lethality.grade]}: {worst.name} {logs(worst.counted)} log (cautious), "
        f"{logs(worst.central)} log (central), {worst.target:.1f} log asked for. "
        f"{_reason(lethality, worst, units)}{beside_reached(lethality, units)}"
    )


def beside_reached(lethality: Lethality, units: Units) -> str:
    """Return what the federal table and the home advice say, to stand behind a verdict that is "reached"; else nothing."""
    return f" {checks_line(lethality, units.temperature)}" if lethality.grade == "reached" else ""


def remedy_lines(found: Sequence[Remedy], units: Units) -> list[str]:
    """Return one sentence per remedy: what it does to the kill, the time it adds, and when the batch is dry.

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
        heat = ""
        if one.heated is not None:
            heat = f" The slices come out at {units.temperature.text(one.heated.mean_K)} on average."
        told.append(
            f"{capital(one.name)}: {CHANGES[one.name]}{heat} {worst.name} then {logs(worst.counted)} log (cautious) and "
            f"{logs(worst.central)} log (central) of {worst.target:.1f}: {HEADLINES[one.lethality.grade].lower()}. "
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
    by_drying = f", {entry.central_drying:.1f} of it by drying itself" if entry.central_drying >= 0.05 else ""
    return (
        f"{entry.name}: {logs(entry.counted)} log by the cautious, {logs(entry.central)} log by the central estimate"
        f"{by_drying}; {entry.target:.1f} log asked for ({entry.guideline})."
    )


def _reason(lethality: Lethality, entry: OrganismLethality, units: Units) -> str:
    """Say where the worst place is and what happened there."""
    where = "At the worst place"
    if lethality.slab_thickness_m:
        where += f", {_place(lethality, entry)} of the "
        where += f"{units.length.text(lethality.slab_thickness_m[entry.slab])} slices"
        if max(lethality.slab_tray):
            where += f" on tray {lethality.slab_tray[entry.slab] + 1}"
    return f"{where}, {sentence(entry.circumstances, _degrees(units))}."


def _place(lethality: Lethality, entry: OrganismLethality) -> str:
    if entry.node == 0:
        return "the lower face"
    if lethality.form == "sliced" or entry.node == lethality.node_count - 1:
        return "the upper face"
    return "inside"


def _doubts(lethality: Lethality, units: Units) -> list[str]:
    """Return the flags of all organisms, each once."""
    told = (sentence(flag, _degrees(units)) for entry in lethality.organisms for flag in entry.flags)
    return [f"Beyond what was measured: {text}." for text in dict.fromkeys(told)]


def _degrees(units: Units) -> Callable[[float], str]:
    return units.temperature.text
