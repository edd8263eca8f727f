"""What binds a plan and what more would cost: the search gone through again with one thing asked for changed."""

import copy
import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dryingsim.batch.reading.batch_file import parse_document
from dryingsim.batch.units import to_si
from dryingsim.errors import InputError
from dryingsim.kitchen.loads import loads_of
from dryingsim.plan.needs import Needs, numbers_of
from dryingsim.plan.requirements import Requirements, Variable, drying_stage
from dryingsim.plan.schedules import Values
from dryingsim.plan.search import Search
from dryingsim.plan.settings import Template
from dryingsim.plan.surrogate import best_point, evenly
from dryingsim.plan.trial import Trial, tried

LESS_REDUCTION, WETTER, LESS_SHARE, WIDER = (
    1.0,
    0.02,
    0.10,
    0.2,
)  # log10; water activity; share; of a variable's range
_TRIES = 2  # rounds of full runs for each
_AT_BOUND = 0.02  # of its range
_BEYOND = (-2.0, -1.0, 0.0, 1.0, 2.0, 3.0)  # log10 against the target
_REACHED = 0.02  # of what counts as one in `Needs.missed`: a curve's schedule may promise to miss so much
_LEVELS = (0.75, 0.5, 0.25, 0.0)  # between the plan's evenness and the best there is


@dataclass(frozen=True)
class Relaxed:
    """The best schedule with one thing asked for changed by a stated step.

    Attributes
    ----------
    what : str
        "reduction", "dry", "window"; the place of a variable whose bound is moved; "longer": the limit of the stage that dries;
        "load": the weight of the batch.
    step : float
        By how much: log10, water activity, share, in the variable's unit; a factor for the last two.
    variable : Variable or None
    values : tuple of float
        Empty where there is none.
    trial : Trial or None
        None where it cannot be had.
    gain_s : float
        Time saved against the plan [s].
    cost_gain : float
        Share of what is to be least that is saved [-] (of evenness: the difference itself).
    missed, missed_before : float
        What is missed in all, then and by the plan.
    problem : str
        Why it cannot be had.
    """

    what: str
    step: float
    variable: Variable | None
    values: Values = ()
    trial: Trial | None = None
    gain_s: float = math.nan
    cost_gain: float = math.nan
    missed: float = math.nan
    missed_before: float = math.nan
    problem: str = ""


@dataclass(frozen=True)
class TradeOff:
    """A schedule on the curve of least time over the log reduction, or over evenness.

    Attributes
    ----------
    over : str
        "reduction" or "evenness".
    values : tuple of float
    trial : Trial
        By the full model.
    apart : float
        Difference in water activity between the wettest and the driest twentieth, by the quick model.
    """

    over: str
    values: Values
    trial: Trial
    apart: float


def relaxed(
    search: Search, values: Values, bare: Needs, needs: Needs, requirements: Requirements, *, feasible: bool
) -> tuple[Relaxed, ...]:
    """Search again with each need and each bound that may bind relaxed.

    Parameters
    ----------
    search : Search
    values : tuple of float
        The plan.
    bare, needs : Needs
        Without and with what is kept on top.
    requirements : Requirements
    feasible : bool
        Whether the plan misses nothing; if it does, only bounds are moved.
    """
    results = []
    if feasible:
        results.append(
            _need(
                search,
                values,
                needs,
                requirements,
                "reduction",
                replace(needs, beyond=needs.beyond - LESS_REDUCTION),
            )
        )
        if needs.in_window:
            less = max(needs.in_window - LESS_SHARE, 0.01)
            results.append(
                _need(search, values, needs, requirements, "window", replace(needs, in_window=less))
            )
        results.append(_wetter(search, values, bare, requirements))
    results += _bounds(search, values, needs, requirements)
    if not feasible:
        results += _ways_out(search, values, needs)
    return tuple(results)


def _ways_out(search: Search, values: Values, needs: Needs) -> list[Relaxed]:
    """The same settings with what no bound is about: a longer limit for the stage that dries, half the meat."""
    template, own = search.template, search.trials[values]
    short = {
        key for key, by in needs.bare().shortfalls(search.measured(values, needs)).items() if float(by) > 0.0
    }
    document = template.at(values)
    changes: list[tuple[str, float, dict[str, Any]]] = []
    if "dry" in short:
        dries = drying_stage(parse_document(document, template.name, template.folder))
        longer = copy.deepcopy(document)
        if "duration" in longer["stage"][dries]:
            limit = to_si(template.name, longer["stage"][dries]["duration"], "duration")
            longer["stage"][dries]["duration"] = f"{2.0 * limit:.0f} s"
            changes.append(("longer", 2.0, longer))
    whole = loads_of(template.batch(values)).count == 1  # else half the meat is fewer loads, each as large
    if short & {"dry", "setting"} and "appliance" in document and whole:
        less = copy.deepcopy(document)
        weight = to_si(template.name, less["meat"]["weight"], "mass")
        less["meat"]["weight"] = f"{0.5 * weight:.6g} kg"
        changes.append(("load", 0.5, less))
    results = []
    for what, step, changed in changes:
        trial = tried(parse_document(changed, template.name, template.folder))
        frame = Relaxed(what, step, None, values, problem=trial.problem)
        if not trial.problem:
            known = search.measured(values, needs) | {
                name: np.array(value) for name, value in numbers_of(trial, needs).items()
            }
            frame = replace(
                frame,
                trial=trial,
                gain_s=own.end_s - trial.end_s,
                missed=float(needs.bare().missed(known)),
                missed_before=search.missed(values, needs.bare()),
            )
        results.append(frame)
    return results


def _need(
    search: Search, values: Values, needs: Needs, requirements: Requirements, what: str, less: Needs
) -> Relaxed:
    step = LESS_REDUCTION if what == "reduction" else needs.in_window - less.in_window
    best = search.refined(less.bare(), requirements.aim, tries=_TRIES)
    return _against(search, values, best, less, requirements, Relaxed(what, step, None), needs)


def _against(
    search: Search,
    values: Values,
    best: Values | None,
    less: Needs,
    requirements: Requirements,
    frame: Relaxed,
    needs: Needs,
) -> Relaxed:
    if best is None:
        return replace(frame, problem="nothing could be simulated")
    trial, own = search.trials[best], search.trials[values]
    saved = search.cost(values, needs, requirements.aim) - search.cost(best, needs, requirements.aim)
    return replace(
        frame,
        values=best,
        trial=trial,
        gain_s=own.end_s - trial.end_s,
        cost_gain=saved if requirements.aim == "evenness" else 1.0 - math.exp(-saved),
        missed=search.missed(best, less.bare()),
        missed_before=search.missed(values, needs.bare()),
    )


def _wetter(search: Search, values: Values, bare: Needs, requirements: Requirements) -> Relaxed:
    """The same settings, the meat taken out a little less dry."""
    frame, template = Relaxed("dry", WETTER, None), search.template
    document, target = template.at(values), bare.water_activity
    document.setdefault("targets", {})["water_activity"] = round(target + WETTER, 4)
    for stage in document["stage"]:
        until = stage.get("until")
        if until and "water_activity" in until and abs(float(until["water_activity"]) - target) < 1e-6:
            until["water_activity"] = round(target + WETTER, 4)
    try:
        trial = tried(parse_document(document, template.name, template.folder))
    except InputError as problem:
        return replace(frame, problem=str(problem))
    if trial.problem:
        return replace(frame, problem=trial.problem)
    own = search.trials[values]
    short = max(bare.beyond - trial.beyond, 0.0)
    return replace(
        frame,
        values=values,
        trial=trial,
        gain_s=own.end_s - trial.end_s,
        cost_gain=1.0 - trial.end_s / own.end_s,
        missed=short,
        missed_before=0.0,
    )


def _bounds(search: Search, values: Values, needs: Needs, requirements: Requirements) -> list[Relaxed]:
    """Move outward each bound that the plan lies at."""
    at = search.unit(values)
    frames: list[tuple[Relaxed, np.ndarray, np.ndarray]] = []
    refused: list[Relaxed] = []
    points: list[np.ndarray] = []
    for i, variable in enumerate(search.variables):
        side = 1 if at[i] > 1.0 - _AT_BOUND else -1 if at[i] < _AT_BOUND else 0
        step = max(
            variable.step, variable.step * round(WIDER * (variable.high - variable.low) / variable.step)
        )
        if not side or (side < 0 and variable.low - step < 0.0):
            continue
        frame = Relaxed(variable.key, side * step, variable)
        low, high = np.zeros(at.size), np.ones(at.size)
        reach = step / (variable.high - variable.low)
        if side > 0:
            high[i] += reach
        else:
            low[i] -= reach
        end = at.copy()
        end[i] = high[i] if side > 0 else low[i]
        problem = _refusal(search.template, search.values(end))
        if problem:
            refused.append(replace(frame, problem=problem))
            continue
        frames.append((frame, low, high))
        scatter = evenly(at.size, 8, search.seed + 11 * (i + 1))[:6]
        box = np.clip(at + 0.6 * (scatter - 0.5), 0.0, 1.0)
        box[:, i] = end[i] - side * reach * scatter[:, i]
        points += [end, *box]
    if points:
        search.screen(points)
    results = []
    for frame, low, high in frames:
        best = search.refined(needs.bare(), requirements.aim, tries=_TRIES, low=low, high=high)
        results.append(_against(search, values, best, needs, requirements, frame, needs))
    return refused + results


def _refusal(template: Template, values: Values) -> str:
    try:
        template.batch(values)
    except InputError as problem:
        return str(problem).removeprefix(f"{template.name}: ")
    return ""


def trade_offs(search: Search, values: Values, needs: Needs) -> tuple[TradeOff, ...]:
    """Return the schedules of least time for other log reductions, and for other evenness.

    Parameters
    ----------
    search : Search
    values : tuple of float
        The plan: each variable in its unit.
    needs : Needs
        With what is kept on top.
    """
    wanted: list[tuple[str, Values]] = [("reduction", values), ("evenness", values)]
    for beyond in _BEYOND:
        other = replace(needs, beyond=beyond, spare_reduction=0.0)
        best = search.best(other, "time")
        if float(other.missed(search.promised(best[None], other, "time"))[0]) < _REACHED:
            wanted.append(("reduction", search.snapped(best)))
    floor = search.best(needs, "evenness")
    own, least = search.apart(values), search.apart(search.snapped(floor))
    for share in _LEVELS:
        level = least + share * max(own - least, 0.0)
        wanted.append(("evenness", search.snapped(_as_even(search, needs, level, floor))))
    search.simulate([settings for _, settings in wanted])
    able = [
        TradeOff(over, settings, search.trials[settings], search.apart(settings))
        for over, settings in dict.fromkeys(wanted)
        if not search.trials[settings].problem
    ]
    kept = {"reduction": replace(needs.bare(), beyond=-needs.target_log10), "evenness": needs.bare()}
    fair = [option for option in able if search.missed(option.values, kept[option.over]) < 0.05]
    return tuple(_front(fair, "reduction") + _front(fair, "evenness"))


def _as_even(search: Search, needs: Needs, level: float, floor: np.ndarray) -> np.ndarray:
    """Return the point of least time among those as even as a level."""

    def merit(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        promised = search.promised(points, needs, "time")
        uneven = np.maximum(promised["apart"] - level - 1e-3, 0.0) / 0.1
        return needs.missed(promised) + uneven, promised["log_time"]

    n = len(search.variables)
    return best_point(merit, np.zeros(n), np.ones(n), search.seed, (floor,))


def _front(options: list[TradeOff], over: str) -> list[TradeOff]:
    """Return those that no other beats in both, the shortest first."""
    own = sorted((option for option in options if option.over == over), key=lambda option: option.trial.end_s)
    kept: list[TradeOff] = []
    for option in own:
        worth = option.trial.beyond if over == "reduction" else -option.apart
        best = max(((k.trial.beyond if over == "reduction" else -k.apart) for k in kept), default=-math.inf)
        if worth > best + 1e-6:
            kept.append(option)
    return kept
