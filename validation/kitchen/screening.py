"""Which parameter decides? Elementary effects (Morris 1991, design of Campolongo 2007) on the appliances of the catalog.

Each parameter runs over its published or estimated range. Along a trajectory one parameter after the other jumps by
half its range; the mean of the absolute changes of a result ranks the parameters, the standard deviation shows how
much an effect depends on the others.
"""

from functools import cache

import numpy as np

from validation.case import Case, Listing, Plot, Result
from validation.kitchen.kitchen_runs import FAN, STACK, Changes, at_hours, hours_to, kitchen

# name: place in the batch file (None: factor on the diffusivity), low, high, unit
COMMON = (
    ("diffusivity (laboratories)", None, -1.0, 1.0, ""),  # log2 of the factor
    ("thickness, +-10 %", "meat.thickness", 4.5, 5.5, "mm"),
    ("salt", "marinade.salt", 5.0, 30.0, "g/kg"),
    ("load", "meat.weight", 0.4, 0.8, "kg"),
    ("room humidity", "room.humidity", 20.0, 80.0, "%"),
)
FACTORS = {
    STACK: (
        *COMMON,
        ("air speed", "appliance.air.speed", 0.15, 0.85, "m/s"),
        ("circulation", "appliance.air.circulation", 34.0, 102.0, "m3/h"),
        ("vents", "appliance.air.vents", 4.0, 15.0, "m3/h"),
        ("setting, +-3 K", "stage.air", 65.3, 71.1, "degC"),
    ),
    FAN: (
        *COMMON,
        ("air speed", "appliance.air.speed", 0.5, 2.0, "m/s"),
        ("circulation", "appliance.air.circulation", 54.0, 216.0, "m3/h"),
        ("door gap", "appliance.door.gap", 20.0, 100.0, "mm"),
        ("draught", "appliance.door.draught", 0.0, 0.4, "m/s"),
        ("setting, +-8 K", "stage.air", 85.3, 93.3, "degC"),
    ),
}
LEVELS = np.array([0.0, 1.0, 2.0, 3.0]) / 3.0
JUMP = 2.0 / 3.0
FIXED_H = {STACK: 4.0, FAN: 2.0}  # when the water activity is looked at
TRAJECTORIES = {False: 1, True: 4}


def outcome(appliance: str, point: np.ndarray, full: bool) -> np.ndarray:
    """Log2 of the hours until done, and the water activity at a fixed time, for a point of the unit cube."""
    changes: list[tuple[str, object]] = []
    diffusivity = 1.0
    for (_, place, low, high, unit), share in zip(FACTORS[appliance], point, strict=True):
        value = low + share * (high - low)
        if place is None:
            diffusivity = 2.0**value
        else:
            changes.append((place, f"{value:.6g} {unit}"))
    kept: Changes = tuple(changes)
    history = kitchen(appliance, False, kept, diffusivity)
    return np.array([np.log2(hours_to(history)), at_hours(history, FIXED_H[appliance])])


@cache
def effects(appliance: str, full: bool) -> tuple[np.ndarray, np.ndarray]:
    """Mean of absolute effects and their standard deviation, shape (factors, 2), per whole range."""
    rng = np.random.default_rng(20)
    k = len(FACTORS[appliance])
    found = np.zeros((TRAJECTORIES[full], k, 2))
    for r in range(TRAJECTORIES[full]):
        point = rng.choice(LEVELS[:2], size=k)
        before = outcome(appliance, point, full)
        for i in rng.permutation(k):
            point = point.copy()
            point[i] += JUMP
            after = outcome(appliance, point, full)
            found[r, i] = (after - before) / JUMP
            before = after
    return np.abs(found).mean(axis=0), found.std(axis=0)


def leading(appliance: str, full: bool) -> Result:
    """Share of all effects on the drying time that diffusivity, thickness and salt hold together."""
    mean, spread = effects(appliance, full)
    names = [factor[0] for factor in FACTORS[appliance]]
    order = np.argsort(-mean[:, 0])
    head = (
        "parameter",
        "done time, doublings",
        "its spread",
        f"a_w at {FIXED_H[appliance]:g} h",
        "its spread",
    )
    rows = [
        (names[i], f"{mean[i, 0]:.2f}", f"{spread[i, 0]:.2f}", f"{mean[i, 1]:.3f}", f"{spread[i, 1]:.3f}")
        for i in order
    ]
    plot = Plot(
        title=f"{appliance}: what decides the drying time",
        x_label="mean effect over the whole range, doublings of time",
        y_label="its standard deviation",
        points=tuple((names[i], mean[i : i + 1, 0], spread[i : i + 1, 0]) for i in order),
    )
    listing = Listing(f"{appliance}: elementary effects over whole ranges", (head, *rows))
    of_meat = sum(mean[i, 0] for i in range(len(names)) if i < 3)
    return Result(of_meat / mean[:, 0].sum(), (plot,), (listing,))


CASES = [
    Case(
        name=f"{appliance}: the meat decides, then the appliance",
        kind=6,
        source="common practice, no source; design of elementary effects: Morris (1991), from memory",
        status="not a source",
        inputs="ranges of the catalog, laboratories' diffusivity x 0.5 to x 2; share of all effects on the drying time "
        "held by diffusivity, thickness and salt",
        expected=0.5,
        tolerance=0.0,
        bound="at least",
        reason="more than half: 'thickness and diffusivity decide first'",
        compute=lambda full, a=appliance: leading(a, full),
        slow=True,
    )
    for appliance in (STACK, FAN)
]
