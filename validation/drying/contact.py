"""Slices that lie on one another: the slab whose contact is sealed, against the pair as one slab and against custom."""

from dataclasses import replace
from functools import cache

import numpy as np

from dryingsim.batch.laying import laid
from dryingsim.batch.schema import Lies
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.model.air import GivenAir, given_air
from dryingsim.model.build import build_slabs
from dryingsim.model.system import SlabSystem
from validation.case import Case
from validation.setups import drying_demo

THICKNESS_M, MEAT_K, AIR_K = 0.005, 277.15, 338.15
ENDS_DB = (1.0, 0.45)  # mean moistures whose times are compared: half dry, and about done
SPEEDS = {False: (0.3, 1.5), True: (0.3, 0.6, 1.0, 1.5)}  # m/s, of household dehydrators and ovens


@cache
def times(lies: Lies, thickness_m: float, speed_m_s: float, nodes: int = 24) -> np.ndarray:
    """Times [s] at which slices that all lie in one way have the mean moistures `ENDS_DB`, in one film on all sides."""
    demo = drying_demo()
    flat = replace(demo.meat.classes[0], thickness_m=thickness_m, share=1.0)
    meat = replace(demo.meat, classes=laid([flat], {} if lies == "flat" else {lies: 1.0}))
    slabs = build_slabs(replace(demo, meat=meat), nodes)
    one = np.ones(1)
    warm = replace(demo.stages[demo.first_drying].air, temperature_K=AIR_K, speed_m_s=speed_m_s)
    air = given_air(warm, None, demo.room, 0.0, 1.0, meat.length_m * one, meat.width_m * one).start
    wall = np.full((2, 1), AIR_K)
    air = replace(air, film=replace(air.film, natural=0.0 * one), wall_K=wall, view=np.ones((2, 1)))
    system = SlabSystem(slabs, GivenAir(air, air), 1e-4)
    stepper = Stepper(system, 0.0, system.initial(slabs.initial_moisture_db, MEAT_K), first_step=1.0)
    when, means = [0.0], [float(slabs.initial_moisture_db[0])]
    while means[-1] > ENDS_DB[-1]:
        stepper.step(stepper.t + 240.0)
        when.append(stepper.t)
        means.append(float((system.mass * system.split(stepper.y)[0]).sum() / slabs.dry_mass_kg_m2[0]))
    return np.interp(-np.array(ENDS_DB), -np.array(means), when)


def over_the_pair(full: bool) -> np.ndarray:
    """Times of overlapping slices over those of a flat slice twice as thick."""
    return np.array(
        [
            times("overlapping", THICKNESS_M, v) / times("flat", 2.0 * THICKNESS_M, v, 47 if full else 24)
            for v in SPEEDS[full]
        ]
    )


def over_flat(full: bool) -> np.ndarray:
    """Times of overlapping slices over those of flat ones, until about done."""
    return np.array(
        [(times("overlapping", THICKNESS_M, v) / times("flat", THICKNESS_M, v))[-1] for v in SPEEDS[full]]
    )


CASES = [
    Case(
        name="slices that overlap: one with its contact sealed, against the pair as one slab",
        kind=1,
        source="symmetry: nothing passes where two slices alike touch",
        status="derived",
        inputs="5 mm against 10 mm, 50 mm wide, air of 65 degC at 0.3 to 1.5 m/s; times to 1.0 and 0.45 kg/kg, as ratios",
        expected=1.0,
        tolerance=0.01,
        reason="the pair has 24 nodes over 10 mm, each slice over 5 mm: grids of 24 nodes are good for 0.5 % of the time",
        compute=over_the_pair,
    ),
    Case(
        name="slices that overlap take three times as long",
        kind=6,
        source="common practice, no source",
        status="rule of thumb",
        inputs="5 mm, 50 mm wide, air of 65 degC at 0.3 to 1.5 m/s, until 0.45 kg/kg",
        expected=3.0,
        tolerance=0.5,
        reason="the rule is a whole number; by theory it lies between 2 (the air alone decides) and 4 (the meat alone)",
        compute=over_flat,
    ),
]
