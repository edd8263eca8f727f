"""A batch in given air that is off in known ways, and the log a person would type of it: what tests of learning share."""

from dataclasses import replace
from functools import cache

import numpy as np
from made_batch import warm_air_text

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.reading.weigh_in_log import parse_weigh_ins
from dryingsim.batch.schema import ThicknessClass
from dryingsim.batch.uncertainties import default_uncertainties
from dryingsim.learn.fit import fit
from dryingsim.learn.fitted_run import clocked_batch_of, simulate_runs, times_of
from dryingsim.learn.parameters import priors_of
from dryingsim.learn.problem import logged_batch_of

DEMO = parse_batch(warm_air_text(), "demo")
BATCH = replace(
    DEMO,
    name="one thickness",
    meat=replace(DEMO.meat, classes=(ThicknessClass(thickness_m=5e-3, share=1.0),)),
    stages=(replace(DEMO.stages[0], until=None, duration_s=8 * 3600.0),),
)
KEYS = ("diffusivity", "film", "setpoint", "moisture")
TRUE = np.array([-0.35, 0.08, -2.0, 0.004])  # what the batch is off by
HOURS = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0)
PRIORS = priors_of(BATCH, default_uncertainties())


@cache
def true_course(end_h=12.0):
    plan = clocked_batch_of(BATCH, end_h * 3600.0)
    times = times_of(plan, 3600.0 * np.array(HOURS), end_h * 3600.0)
    return simulate_runs(plan.batch, KEYS, TRUE[None], times)[0]


def log_text(hours=HOURS, seed=4, clock=True):
    """Weights to the gram and the air to the kelvin, with the errors of a kitchen."""
    fitted_run, rng = true_course(), np.random.default_rng(seed)
    lines = ["time, weight [g], air [degC]"]
    for one in hours:
        at = 3600.0 * one
        weight = 1e3 * np.interp(
            at, fitted_run.time_s, fitted_run.weight_kg(np.ones(1, dtype=bool))
        ) + rng.normal(0.0, 1.0)
        air = np.interp(at, fitted_run.time_s, fitted_run.air_K[:, 0]) - 273.15 + rng.normal(0.0, 1.0)
        time = 10.0 + one if clock else one
        lines.append(f"{int(time)}:{round(60 * (time % 1)):02d}, {weight:.0f}, {air:.0f}")
    return "\n".join([*lines, ""])


def fitted(text, priors=PRIORS, batch=BATCH):
    return fit([logged_batch_of(batch, parse_weigh_ins(text))], priors)
