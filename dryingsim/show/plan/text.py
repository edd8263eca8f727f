"""A plan as text and as files: what to set, what it reaches, what binds, what more would cost."""

from collections.abc import Callable
from functools import partial

from dryingsim.batch.catalog.organisms import organisms
from dryingsim.batch.units import to_si
from dryingsim.plan.outcome import Plan
from dryingsim.plan.relaxing import Relaxed
from dryingsim.plan.requirements import Variable
from dryingsim.plan.trial import Trial
from dryingsim.show.core.document import Block, labelled, sentences
from dryingsim.show.core.quantities import (
    Units,
    about,
    capital,
    logs,
    percent,
    place_words,
    spoken,
)
from dryingsim.show.core.tables import SPREAD
from dryingsim.show.kitchen.loading_text import loads_brief, loads_sentences
from dryingsim.show.lethality.brief import safety_lines
from dryingsim.show.lethality.text import HEADLINES, remedy_lines, verdict_line
from dryingsim.show.lethality.words import CHANGES
from dryingsim.show.plan.setting_text import degrees_to_set, percent_to_set, steps, stood, time_to_set
from dryingsim.show.plan.weighing import surely_dry_brief, weigh_brief, weigh_sentence
from dryingsim.show.run.text import window_sentences
from dryingsim.show.spread.text import causes, safety_of_all

AIMS = {"time": "least time", "energy": "least energy", "evenness": "most even slices"}
_ALL_REACHED = "all that is asked for is reached"
NOT_SHOWN = "the log reduction is reached as computed, but hangs on what was not shown; the warnings of its verdict say on what"
_MISSED = {
    "reduction": "the log reduction",
    "dry": "the water activity",
    "window": "the share that is ready and pliable",
    "setting": "the setting of the air",
}
_NO_CHANGE_S, _NO_SHARE, _NO_APART = 60.0, 0.005, 0.005


def plan_answers(plan: Plan, units: str | None = None) -> list[Block]:
    """Return in brief what to set, what that is worth, and what to weigh."""
    shown, slices = Units(plan.planned, units), plan.with_uncertainties
    lethality = plan.answer.lethality
    safety = safety_lines(lethality, shown)
    if lethality.grade == "met":  # else the verdict has said it
        safety = safety_of_all(slices, safety)
    return labelled(
        {
            "LOADS": loads_brief(plan.answer, units or plan.planned.display),
            "PLAN": [_brief(plan, shown), *added_words(plan)],
            "SET": steps(plan, shown),
            "SAFETY": safety,
            "WEIGH": weigh_brief(plan, shown),
        }
    )


def plan_details(plan: Plan, units: str | None = None) -> dict[str, list[Block]]:
    """Return what is told of a plan on request, by title."""
    shown = Units(plan.planned, units)
    loads = loads_sentences(plan.answer, units or plan.planned.display)
    return {
        "the plan": sentences(_headline(plan, shown), *_added(plan), *loads, *_settings(plan, shown)),
        "what it reaches": sentences(*_reached(plan, shown), _checked(plan)),
        "limiting constraints": sentences(*_binding(plan, shown)),
        "ways out": sentences(*_ways_out(plan, shown)),
        "uncertainty": sentences(_uncertainties(plan), SPREAD),
    }


def _brief(plan: Plan, shown: Units) -> str:
    takes = _takes(plan, shown)
    surely = surely_dry_brief(plan, shown)
    before = "" if plan.before.problem else f" As the file stands: {about(plan.before.end_s)}."
    if not plan.reached:
        missed = " and ".join(dict.fromkeys(_MISSED[need] for need in plan.missed))
        return (
            f"Nothing within the bounds reaches all that is required. The nearest, {takes}, misses {missed}."
        )
    ready = f"ready as computed after {_until_ready(plan, takes)}"
    if not plan.shown:  # the verdict follows
        return f"{capital(ready)}{surely}."
    return f"{capital(AIMS[plan.requirements.aim])}: {ready}{surely}.{before}"


def _takes(plan: Plan, shown: Units) -> str:
    loads = f" for all {plan.answer.loads.count} loads" if plan.answer.loads.count > 1 else ""
    return f"{about(plan.trial.end_s)}{_energy(plan, shown)}{loads}"


def _until_ready(plan: Plan, takes: str) -> str:
    """Return after what time it is ready, as a run of the planned batch says, and what the plan takes where that is more."""
    ready_s = plan.answer.doneness.batch.expected_s
    if ready_s is None or (plan.answer.loads.count == 1 and about(ready_s) == about(plan.trial.end_s)):
        return takes
    each = " in each load" if plan.answer.loads.count > 1 else ""
    return f"{about(ready_s)}{each}, the whole plan takes {takes}"


def added_words(plan: Plan) -> list[str]:
    """Return which heating was put before the drying of the file, and why; nothing where none was."""
    if plan.added is None or plan.without is None:
        return []
    without = plan.without
    reduction, asked = logs(without.log_reductions[without.decides]), without.targets[without.decides]
    unshown = ", as computed but not shown" if without.beyond >= plan.needs.beyond else ""
    return [
        f"Added: {plan.added}. Without it no air within the bounds shows enough: {reduction} of "
        f"{asked + plan.needs.beyond:g} log{unshown}."
    ]


# --- what to do ------------------------------------------------------------------------------------------------------
def _headline(plan: Plan, shown: Units) -> str:
    trial, before = plan.trial, plan.before
    assumed = (
        " [plan.between] names nothing, so only the usual was varied: the air of the stage that dries, and a finish."
        if plan.requirements.assumed
        else ""
    )
    tried = f"{plan.simulated} schedules were tried.{assumed}"
    if not plan.reached:
        return (
            f"No schedule within the bounds was found that reaches all that is asked for. The nearest misses this: "
            f"{'; '.join(_misses(plan, shown))}. It takes {spoken(trial.end_s)}{_energy(plan, shown)}. {tried}"
        )
    as_is = _as_it_is(before)
    if not plan.shown:
        return (
            f"This is no plan to rely on yet: {NOT_SHOWN}. Until then it would be, for the {AIMS[plan.requirements.aim]}, "
            f"{spoken(trial.end_s)}{_energy(plan, shown)}; {as_is}. {tried}"
        )
    return f"Plan for the {AIMS[plan.requirements.aim]}: {spoken(trial.end_s)}{_energy(plan, shown)}; {as_is}. {tried}"


def _added(plan: Plan) -> list[str]:
    return [] if plan.added is None else [f"Put into the file: {CHANGES[plan.added]} {added_words(plan)[0]}"]


def _energy(plan: Plan, shown: Units) -> str:
    return "" if plan.planned.appliance is None else f" and {shown.energy.text(plan.trial.energy_J)}"


def _as_it_is(before: Trial) -> str:
    if before.problem:
        return "as the file stands it cannot be simulated"
    text = f"as the file stands it takes {spoken(before.end_s)}"
    return text if before.reached else f"{text} and does not reach the log reduction required"


def _misses(plan: Plan, shown: Units) -> list[str]:
    told = []
    for need, by in plan.missed.items():
        trial = plan.trial if plan.trial.beyond <= plan.tight.beyond else plan.tight
        if need == "reduction":
            name, reduction = organisms()[trial.decides], trial.log_reductions[trial.decides]
            asked = trial.targets[trial.decides] + plan.needs.beyond
            told.append(
                f"the log reduction: {name} comes to {logs(reduction)} log by the lower bound, {asked:.1f} log required"
            )
        elif need == "dry":
            told.append(
                f"the water activity: the wettest slices end at {trial.water_activity:.2f}, "
                f"{plan.needs.water_activity:.2f} asked for"
            )
        elif need == "window":
            told.append(
                f"the window: {percent(plan.in_window)} of the slices are dry and pliable when drying ends, "
                f"{percent(plan.needs.in_window)} required"
            )
        elif need == "setting":
            told.append(
                f"the appliance: the air stays up to {shown.temperature.difference(-trial.setting_K)} below its setting; "
                "its heater does not keep up"
            )
        else:
            told.append(f"the checking run came to nothing ({plan.tight.problem}), exceeding by {by:g}")
    return told


def _settings(plan: Plan, shown: Units) -> list[str]:
    return ["What to set:", *steps(plan, shown), *_changed(plan), weigh_sentence(plan, shown)]


def _changed(plan: Plan) -> list[str]:
    typed = {variable.key: stood(plan, variable.key) for variable in plan.template.variables}
    told = [f"{place_words(key, plan.batch)} {text}" for key, text in typed.items() if text]
    return [f"The file has: {'; '.join(told)}."] if told else []


# --- what it reaches -------------------------------------------------------------------------------------------------
def _reached(plan: Plan, shown: Units) -> list[str]:
    answer = plan.answer
    told = [
        verdict_line(answer.lethality, shown),
        " ".join(window_sentences(answer, shown)),
    ]
    early = answer.taken_out
    if early is not None and early[1].grade != "met" and plan.reached:
        told.append(
            f"That counts every stage: taken out when dry, after {spoken(early[0])}, it would be another verdict - "
            f"{HEADLINES[early[1].grade].lower()}. Leave no stage out."
        )
    told.append(
        f"Of slices that differ as those of one batch do, {percent(plan.in_window)} are dry and pliable when drying ends; "
        f"the wettest and the driest 5 % are {plan.apart:.2f} apart in water activity."
    )
    return told


def _checked(plan: Plan) -> str:
    tight = plan.tight
    if tight.problem:
        return f"A second, finer run came to nothing: {tight.problem}."
    kept = "misses nothing either" if plan.reached else "comes to the same"
    return (
        f"A second run, of finer layers and steps, {kept}: {spoken(tight.end_s)}; nearest to its target comes "
        f"{organisms()[tight.decides]}, {logs(tight.log_reductions[tight.decides])} of "
        f"{tight.targets[tight.decides]:.1f} log by the lower bound."
    )


def _uncertainties(plan: Plan) -> str:
    slices = plan.with_uncertainties
    name = organisms()[slices.organism]
    strongest = causes(slices, slices.reduction_influences(), 2)
    goes = (
        f" That reduction goes most with this (rank correlation): {strongest}. Measure it, and "
        "where it is better known say so in [spread]; 'reserve = 1' in [plan] asks for 1 log more than the target."
    )
    return (
        "With all that is uncertain ([spread]), of the slices and of the whole batch: the chance that the slowest slice is not "
        f"done when the plan ends is {percent(slices.slowest_misses().value)}; the chance that some slice stays below "
        f"{slices.target_log10:g} log of {name}, by the lower bound, is {percent(slices.reduction_misses().value)}.{goes}"
    )


# --- what binds ------------------------------------------------------------------------------------------------------
def _binding(plan: Plan, shown: Units) -> list[str]:
    if not plan.reached:
        return []
    told = [_relaxed(plan, one, shown) for one in plan.relaxed]
    binds = [text for strength, text in told if strength]
    rest = [text for strength, text in told if not strength]
    return ["Limiting constraints, each searched again with it relaxed:", *binds, *rest] if told else []


def _relaxed(plan: Plan, one: Relaxed, shown: Units) -> tuple[bool, str]:
    """Return whether something binds, and the sentence."""
    name, with_what = _asked(plan, one, shown)
    if one.problem:
        return True, f"- {name}: it can go no further ({one.problem})."
    saved, binds = _saved(plan, one)
    if not binds:
        return False, f"- {name} is not limiting: {with_what} saves nothing."
    text = f"- {name}: {with_what} saves {saved}"
    if one.what == "reduction":
        return True, f"{text}. That is what this log costs, no proposal."
    if one.trial is not None and one.trial.beyond < plan.needs.beyond - 1e-9:
        text += ", but the log reduction required would then be missed"
    elif one.variable is not None and one.values:
        others = [
            f"{place_words(variable.key, plan.batch)} {value_text(variable, value, shown)}"
            for variable, value, own in zip(plan.template.variables, one.values, plan.values, strict=True)
            if variable is not one.variable and abs(value - own) > 1e-9
        ]
        text += f" ({'; '.join(others)})" if others else ""
    return True, text + "."


def _saved(plan: Plan, one: Relaxed) -> tuple[str, bool]:
    if plan.requirements.aim == "evenness" and one.what != "dry":
        return f"{one.cost_gain:.2f} of the difference between the slices", one.cost_gain > _NO_APART
    if plan.requirements.aim == "energy" and one.what != "dry":
        return f"{percent(one.cost_gain)} of the energy", one.cost_gain > _NO_SHARE
    return spoken(one.gain_s), one.gain_s > _NO_CHANGE_S


def _asked(plan: Plan, one: Relaxed, shown: Units) -> tuple[str, str]:
    """Return what is asked for, and with what instead."""
    needs = plan.needs
    if one.what == "reduction":
        return "The log reduction required", f"asking for {one.step:g} log less"
    if one.what == "window":
        return "The share in the window", f"asking for {percent(needs.in_window - one.step)} of the slices"
    if one.what == "dry":
        return (
            f"The water activity of {needs.water_activity:g}",
            f"taking it out at {needs.water_activity + one.step:g}, with the same settings,",
        )
    assert one.variable is not None
    bound = one.variable.high if one.step > 0.0 else one.variable.low
    name = f"{capital(place_words(one.variable.key, plan.batch))} at its bound, {value_text(one.variable, bound, shown)}"
    return name, f"allowing {value_text(one.variable, bound + one.step, shown)}"


# --- ways out --------------------------------------------------------------------------------------------------------
def _ways_out(plan: Plan, shown: Units) -> list[str]:
    if plan.reached and plan.shown:
        return []
    told = ["What would change that, each simulated:"]
    ways = [_way_out(plan, one, shown) for one in (() if plan.reached else plan.relaxed)]
    told += ways
    if any(_ALL_REACHED in way for way in ways):
        told.append(
            "The federal table and the home advice were not looked at there: run such a batch by itself."
        )
    told += [
        f"- {words}, same settings: {percent(share)} of them in the window." for words, share in plan.evener
    ]
    told += [f"- {line}" for line in remedy_lines(plan.remedies, shown)] if plan.remedies else []
    if plan.remedies:
        names = [one.name for one in plan.remedies[1:] if one.lethality and one.lethality.grade == "met"]
        told.append(
            f"By this estimate the required log reduction is met with: {', '.join(names)}."
            if names
            else "None of these changes meets the required log reduction by itself."
        )
    return told


def _way_out(plan: Plan, one: Relaxed, shown: Units) -> str:
    if one.what == "longer":
        frame = "- Twice the time allowed for drying"
    elif one.what == "load":
        frame = "- Half the meat at a time, same settings"
    else:
        name, with_what = _asked(plan, one, shown)
        frame = f"- {name}, {with_what}"
    if one.problem or one.trial is None:
        return f"{frame}: it can go no further ({one.problem})."
    trial = one.trial
    reduction, target = logs(trial.log_reductions[trial.decides]), trial.targets[trial.decides]
    end = f"{spoken(trial.end_s)}, water activity {trial.water_activity:.2f}, "
    end += f"{organisms()[trial.decides]} {reduction} of {target:.1f} log"
    verdict = _ALL_REACHED if one.missed <= 1e-4 and trial.reached else "still not enough"
    if verdict == "still not enough" and one.missed > one.missed_before - 1e-3:
        verdict = "gains nothing"
    return f"{frame}: {verdict} ({end})."


# --- words -----------------------------------------------------------------------------------------------------------
def value_text(variable: Variable, value: float, shown: Units) -> str:
    """Return a value of a variable in the units asked for."""
    if not variable.dimension:
        return f"{value:g}"
    si = to_si(variable.key, str(variable.typed(value)), variable.dimension)
    tell: dict[str, Callable[[float], str]] = {
        "temperature": partial(degrees_to_set, shown.temperature),
        "length": shown.length.text,
        "duration": lambda s: time_to_set(s) if s >= 30.0 else "none",
        "fraction": percent_to_set,
    }
    return tell[variable.dimension](si)
