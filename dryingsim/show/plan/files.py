"""A plan as files: a batch file to run, a summary in SI, a picture."""

from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from dryingsim.history.provenance import attributes, inputs_of, versions
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.plan.outcome import Plan
from dryingsim.plan.relaxing import Relaxed
from dryingsim.plan.settings import written
from dryingsim.plan.trial import Trial
from dryingsim.show.core.document import Block, Document, screen
from dryingsim.show.core.quantities import spoken
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.core.writing import json_text, write_result
from dryingsim.show.kitchen.loading_text import loads_data
from dryingsim.show.lethality.brief import VERDICTS
from dryingsim.show.lethality.federal_text import check_values
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.plan.setting_text import left_out, stood, unmeasured
from dryingsim.show.plan.tables import trade_off_tables
from dryingsim.show.plan.text import AIMS, NOT_SHOWN, added_words, plan_answers, plan_details


def planned_toml(plan: Plan, into: Path) -> str:
    """Return the planned batch as the text of a batch file that will lie in a folder."""
    gone = plan.template.dropped(plan.values)
    remarks = {}
    for variable in plan.template.variables:
        parts = variable.key.split(".")
        if parts[0] == "stage":
            index = int(parts[1]) - 1
            if index in gone:
                continue
            parts[1] = str(index + 1 - sum(one < index for one in gone))
        typed = stood(plan, variable.key)
        remarks[".".join(parts)] = f"planned; the file had {typed}" if typed else "planned"
    head = [
        f"Written by 'dryingsim plan' from {plan.template.name}: {AIMS[plan.requirements.aim]}, {spoken(plan.trial.end_s)}.",
        "A line that was planned says so."
        if plan.reached and plan.shown
        else f"{VERDICTS[plan.answer.lethality.grade]}: {NOT_SHOWN}."
        if plan.reached
        else "NOT ENOUGH: within the bounds nothing was found that reaches all that is asked for; this comes nearest.",
        *added_words(plan),
        *(f"Left out: {name}." for name in left_out(plan)),
        *unmeasured(plan),
        *(["The end of drying by water activity was added."] if plan.template.given_end else []),
        "A simulation validates no process: measure the meat itself.",
    ]
    return written(plan.document, plan.template.folder, into, head, remarks)


def _trial(trial: Trial) -> dict[str, Any]:
    def known(value: float) -> float | None:
        return float(value) if np.isfinite(value) else None

    return {
        "end_s": known(trial.end_s),
        "energy_J": known(trial.energy_J),
        "water_activity": known(trial.water_activity),
        "lower_log10": {key: min(value, COUNTABLE) for key, value in trial.log_reductions.items()},
        "target_log10": dict(trial.targets),
        "reduction_reached": trial.reached,
        "problem": trial.problem or None,
    }


def summary(plan: Plan) -> dict[str, Any]:
    """Return a plan as plain values in SI.

    Keys
    ----
    batch, caution, aim, seed, simulated : as they say.
    reached : whether all that is asked for is, by both runs, and the log reduction is shown; `reached_as_computed` : it need not
        be shown; `grade`, `warnings` : of the verdict on the planned batch; `grade_of_all_slices` : of other kitchens too;
        `missed` by how much not, by need.
    settings : of each variable its place, the value as typed in the planned file, its bounds.
    loads : see `summary` of dryingsim.show.run.data: how many the planned batch takes where the trays do not hold it.
    plan, checked, before : the planned batch by the full model and by the finer run, and the file as it stands; times and energy
        are of all loads.
    added, without : the heating before drying that was put into the file, and the nearest without it; else null.
    done, stop : when the planned batch is done, nine times in ten (`Window`, see dryingsim.judge.done_window), and the weight to
        stop at (`Stop`, see dryingsim.judge.stop_weight).
    in_window, apart : share of slices when drying ends; difference in water activity.
    asked : what is asked for.
    uncertainties : chances with all uncertainties.
    relaxed : what was relaxed by which step, what that saves.
    trade_offs : over "reduction" and over "evenness".
    remedies : names and grades; null unless the log reduction is missed or not shown.
    inputs, versions : the file as it stands, and the programs that computed this.
    """
    slices, done = plan.with_uncertainties, plan.answer.doneness
    variables = plan.template.variables
    judged = plan.answer.lethality
    return {
        "batch": plan.batch.name,
        "caution": CAUTION,
        "aim": plan.requirements.aim,
        "seed": plan.seed,
        "simulated": plan.simulated,
        "reached": plan.reached and plan.shown,
        "reached_as_computed": plan.reached,
        "grade": judged.grade,
        "grade_of_all_slices": plan.with_uncertainties.grade,
        **check_values(judged),
        "warnings": [sentence(one) for one in judged.warnings],
        "missed": {key: min(value, 1e9) for key, value in plan.missed.items()},
        "asked": {
            "reduction_beyond_target_log10": plan.needs.beyond,
            "water_activity": plan.needs.water_activity,
            "in_window": plan.requirements.in_window,
        },
        "settings": [
            {"place": k.key, "value": k.typed(v), "least": k.typed(k.low), "most": k.typed(k.high)}
            for k, v in zip(variables, plan.values, strict=True)
        ],
        "loads": loads_data(plan.answer),
        "plan": _trial(plan.trial),
        "checked": _trial(plan.tight),
        "before": _trial(plan.before),
        "added": plan.added,
        "without": _trial(plan.without) if plan.without else None,
        "done": asdict(done.batch),
        "stop": None if done.stop is None else asdict(done.stop),
        "in_window": plan.in_window,
        "apart": plan.apart,
        "uncertainties": {
            "slowest_not_done": slices.slowest_misses().value,
            "reduction_misses_lower": slices.reduction_misses().value,
            "organism": slices.organism,
        },
        "relaxed": [_relaxed_values(one) for one in plan.relaxed],
        "trade_offs": _trade_offs(plan),
        "remedies": _remedies(plan) or None,
        "inputs": inputs_of(plan.file),
        "versions": versions(),
    }


def _trade_offs(plan: Plan) -> list[dict[str, Any]]:
    return [
        {
            "over": point.over,
            "settings": [
                variable.typed(value)
                for variable, value in zip(plan.template.variables, point.values, strict=True)
            ],
            "apart": point.apart,
            **_trial(point.trial),
        }
        for point in plan.trade_offs
    ]


def _remedies(plan: Plan) -> list[dict[str, Any]]:
    return [
        {
            "name": remedy.name,
            "grade": remedy.lethality.grade if remedy.lethality else None,
            "problem": remedy.problem or None,
        }
        for remedy in plan.remedies[1:]
    ]


def _relaxed_values(one: Relaxed) -> dict[str, Any]:
    saved = one.gain_s if np.isfinite(one.gain_s) else None
    return {
        "what": one.what,
        "step": one.step,
        "unit": one.variable.unit if one.variable else None,
        "saves_s": saved,
        "then": _trial(one.trial) if one.trial else None,
        "problem": one.problem or None,
    }


def plan_document(plan: Plan, units: str | None = None) -> Document:
    """Return what is told of a plan.

    Parameters
    ----------
    plan : Plan
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    details: dict[str, list[Block]] = {
        **plan_details(plan, units),
        "what more would cost": [*trade_off_tables(plan, units)],
    }
    return screen(plan.batch.name, plan_answers(plan, units), details, lambda: summary(plan))


def write_plan(plan: Plan, directory: Path, units: str | None = None, *, pictures: str = "png") -> list[Path]:
    """Write the planned batch file, the summary and the picture, all or none; files of the same names are replaced.

    Parameters
    ----------
    plan : Plan
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the picture; as the batch says if left out.
    pictures : str, optional
        Kind of the picture: "png" or "svg".
    """
    from dryingsim.show.plan.pictures import plan_figure  # slow to import

    directory = Path(directory)
    data = {
        "planned.toml": planned_toml(plan, directory).encode(),
        "plan.json": json_text(summary(plan)).encode(),
    }
    made = attributes(plan.file, plan.batch.name, seed=plan.seed)
    return write_result(directory, data, {"plan": lambda: plan_figure(plan, units)}, made, pictures)
