"""The whole coupled nonlinear problem: the package's run against scipy's Radau on the same equations."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from dryingsim.batch.schema import (
    Air,
    Batch,
    Composition,
    Humidity,
    Marinade,
    Meat,
    Room,
    Stage,
    Support,
    ThicknessClass,
)
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.model.surroundings import surroundings_of
from dryingsim.properties.atmosphere import standard_pressure
from dryingsim.simulate import run
from validation.case import Case, Plot, Result

HOUR = 3600.0
NODES = {False: 20, True: 24}  # reduced, full
RADAU = {
    False: 1e-5,
    True: 1e-8,
}  # relative error of its steps: even the first moves nothing by more than 5e-4 K, 4e-5 kg/kg
INTERVAL = 300.0  # between the compared times [s]


def lean_batch(
    *stages: Stage,
    thickness_mm: float,
    support: Support = "mesh",
    width_mm: float = 60.0,
    start_C: float = 4.0,
    altitude_m: float = 0.0,
) -> Batch:
    """Eye of round (USDA SR28, 23360, scaled to 100 %) with 15 g salt and 12 g sugar per kg."""
    total = 73.43 + 23.37 + 3.04 + 1.10
    return Batch(
        name="validation",
        meat=Meat(
            name="beef eye of round",
            composition=Composition(
                water=73.43 / total,
                protein=23.37 / total,
                fat=3.04 / total,
                carbohydrate=0.0,
                ash=1.10 / total,
            ),
            form="sliced",
            classes=(ThicknessClass(thickness_m=1e-3 * thickness_mm, share=1.0),),
            length_m=0.12,
            width_m=1e-3 * width_mm,
            weight_kg=0.5,
            temperature_K=start_C + ZERO_CELSIUS,
        ),
        marinade=Marinade(salt_kg_kg=0.015, sugar_kg_kg=0.012),
        room=Room(
            temperature_K=294.15, relative_humidity=0.45, pressure_Pa=float(standard_pressure(altitude_m))
        ),
        stages=stages,
        support=support,
    )


ROOM_AIR = Humidity(kind="room")


def stage(
    celsius: float,
    hours: float,
    humidity: Humidity = ROOM_AIR,
    speed: float = 1.0,
    *,
    turn: bool = False,
    to_celsius: float | None = None,
) -> Stage:
    def air(t: float) -> Air:
        return Air(temperature_K=t + ZERO_CELSIUS, humidity=humidity, speed_m_s=speed)

    return Stage(
        name=f"{celsius:g} degC",
        air=air(celsius),
        air_end=None if to_celsius is None else air(to_celsius),
        duration_s=hours * HOUR,
        turn=turn,
    )


@dataclass(frozen=True)
class Problem:
    """A batch with a name and a line that says what is hard about it."""

    name: str
    inputs: str
    batch: Batch


PROBLEMS = (
    Problem("thin", "2 mm, both faces, 68 degC, 3 h", lean_batch(stage(68, 3), thickness_mm=2.0)),
    Problem("thick", "12 mm, both faces, 60 degC, 10 h", lean_batch(stage(60, 10), thickness_mm=12.0)),
    Problem(
        "one face sealed",
        "5 mm on a sheet, 68 degC, 6 h",
        lean_batch(stage(68, 6), thickness_mm=5.0, support="sheet"),
    ),
    Problem(
        "hot finish",
        "5 mm, 68 degC for 4 h, then 135 degC for 10 min",
        lean_batch(stage(68, 4), stage(135, 1 / 6), thickness_mm=5.0),
    ),
    Problem(
        "condensation",
        "6 mm at 2 degC into air of 70 degC and 80 % RH for 30 min, then dry air for 3 h",
        lean_batch(
            stage(70, 0.5, Humidity(kind="relative", value=0.8)), stage(70, 3), thickness_mm=6.0, start_C=2.0
        ),
    ),
    Problem(
        "altitude 3000 m",
        "5 mm, 68 degC, 6 h at 70.1 kPa",
        lean_batch(stage(68, 6), thickness_mm=5.0, altitude_m=3000.0),
    ),
    Problem(
        "alternating stages with turning",
        "5 mm on a sheet: 60 degC, turned at 75 degC, a ramp to 50 degC, turned at 70 degC, 1 h each, slow to fast air",
        lean_batch(
            stage(60, 1, speed=0.5),
            stage(75, 1, speed=2.0, turn=True),
            stage(75, 1, to_celsius=50),
            stage(70, 1, speed=1.0, turn=True),
            thickness_mm=5.0,
            support="sheet",
        ),
    ),
    Problem(
        "narrow strip",
        "6 mm thick, 15 mm wide, edges drying too, 68 degC, 5 h",
        lean_batch(stage(68, 5), thickness_mm=6.0, width_mm=15.0),
    ),
)


@cache
def own(problem: Problem, full: bool) -> History:
    """Run of the package with its default tolerance."""
    return run(problem.batch, nodes=NODES[full], interval_s=INTERVAL)


@cache
def radau(problem: Problem, full: bool) -> tuple[np.ndarray, np.ndarray]:
    """Moisture and temperature of every node at the times of `own`, shape (t, n), by scipy."""
    from scipy.integrate import solve_ivp

    history = own(problem, full)
    surroundings = surroundings_of(problem.batch, NODES[full], 1.0)
    system = surroundings.slabs
    y, start = surroundings.initial(), 0.0
    nodes, rest = 2 * system.n, np.zeros(y.size - 2 * system.n)  # the running totals are left out
    scale = RADAU[full] * np.repeat([0.1, 1e5], system.n)  # kg/kg, J/kg

    def rates(t: float, z: np.ndarray) -> np.ndarray:
        return system.derivative(t, np.concatenate([z, rest]))[:nodes]

    def weighed(t: float, z: np.ndarray) -> np.ndarray:
        return system.rhs(t, np.concatenate([z, rest]))[:nodes]

    def jacobian(t: float, z: np.ndarray) -> np.ndarray:
        near = neighbour_jacobian(weighed, t, z, system.n)
        return system.hats.solve(near.reshape(2, system.n, nodes)).reshape(nodes, nodes)

    states = [y[:nodes]]
    for index, part in enumerate(problem.batch.stages):
        surroundings.begin(part, start)
        times = history.time_s[1:][history.stage[1:] == index]
        first = system.turned(np.concatenate([states[-1], rest]))[:nodes] if part.turn else states[-1]
        with np.errstate(
            invalid="ignore"
        ):  # a trial state too wild to be a temperature: the step is taken again, shorter
            done = solve_ivp(
                rates,
                (start, times[-1]),
                first,
                method="Radau",
                t_eval=times,
                rtol=RADAU[full],
                atol=scale,
                jac=jacobian,
            )
        if not done.success:
            raise RuntimeError(f"Radau gave up on {problem.name}: {done.message}")
        states.extend(done.y.T)
        start = float(times[-1])
    moisture, enthalpy = np.split(np.stack(states), 2, axis=1)
    return moisture, system.slabs.temperature(moisture[..., None], enthalpy[..., None])[..., 0]


def neighbour_jacobian(
    rates: Callable[[float, np.ndarray], np.ndarray], t: float, z: np.ndarray, n: int
) -> np.ndarray:
    """Jacobian by central differences, all nodes three apart at once, since a node feels its neighbours only."""
    place = np.arange(2 * n) % n
    near = np.abs(place[:, None] - place) <= 1
    size = np.repeat(
        [1e-4, 100.0], n
    )  # coarse: the film has a small jump where a face's buoyancy changes sign
    out = np.zeros((2 * n, 2 * n))
    for unknown in range(2):
        for colour in range(3):
            columns = np.arange(colour, n, 3) + unknown * n
            step = np.zeros(2 * n)
            step[columns] = size[columns]
            change = rates(t, z + step) - rates(t, z - step)
            for column in columns:
                out[near[:, column], column] = change[near[:, column]] / (2.0 * size[column])
    return out


AFTER_TURNS = (
    "slices are recorded closely for ten minutes after they are turned, while the faces change fastest: between the ends "
    "of steps, where records are interpolated, up to 0.085 K"
)


def compared(
    problem: Problem, name: str, unit: str, allowed: float, ours: Callable[[History], np.ndarray], which: int
) -> Case:
    def compute(full: bool) -> Result:
        history = own(problem, full)
        values, reference = ours(history), radau(problem, full)[which]
        hours = history.time_s / HOUR
        shift = ZERO_CELSIUS if unit == "K" else 0.0
        places = ((0, "lower face"), (NODES[full] // 2, "middle"), (-1, "upper face"))
        plot = Plot(
            title=f"{problem.name}: {name}",
            x_label="hours",
            y_label=f"{name}, {'degC' if unit == 'K' else unit}",
            points=tuple((f"Radau, {p}", hours[::3], reference[::3, k] - shift) for k, p in places),
            lines=tuple((p, hours, values[:, k] - shift) for k, p in places),
        )
        return Result(values, (plot,))

    return Case(
        name=f"{problem.name}: {name}",
        kind=4,
        source="scipy, solve_ivp, method Radau, rtol 1e-8 (reduced 1e-5)",
        status="derived",
        inputs=f"{problem.inputs}; all nodes (20 reduced, 24 full) every {INTERVAL / 60:g} min",
        expected=lambda full: radau(problem, full)[which],
        tolerance=allowed,
        unit=unit,
        reason="errors of stepping must stay far below those of any property: 0.05 K, 0.002 kg/kg",
        compute=compute,
        slow=True,
        known_failure=AFTER_TURNS if "turning" in problem.name and unit == "K" else "",
    )


CASES = [
    case
    for problem in PROBLEMS
    for case in (
        compared(problem, "temperature", "K", 0.05, lambda h: h.temperature_K[..., 0], 1),
        compared(problem, "moisture", "kg/kg", 0.002, lambda h: h.moisture_db[..., 0], 0),
    )
]
