"""*Warm-up and cool-down* of an empty appliance: the heat capacity of its walls, their film and their loss.

Air temperatures at known times, with the heater at its full known power from cold, then with the heater off from a
long-held temperature. Two unknowns are fitted by least squares, one factor on the capacities of shell and floor and
the loss of the shell. Air and walls exchange heat as in `model.chamber`, the air storing none; what is known to a
range only (film, fresh air, power, ...) may move within it, at a price. A warm-up gives both unknowns once it bends; a
cool-down alone gives only their ratio.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.appliance_description import Description
from dryingsim.batch.schema import Room
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.kitchen.home_tests import (
    EmptyChamber,
    Findings,
    Measured,
    ReadingErrors,
    around,
    chamber_of,
    described_ranges,
    room_air,
)
from dryingsim.typing import Array

_STEP_S: Annotated[float, Evidence("s", "numerical", "of the warm-up; the walls answer in minutes")] = 30.0
_NUDGE: Annotated[float, Evidence("-", "numerical", "of the fit's difference quotients, in logarithms")] = (
    1e-4
)
_ENOUGH: Annotated[float, Evidence("-", "numerical", "step of the fit at which it ends, in logarithms")] = (
    1e-5
)
_FARTHEST: Annotated[
    float, Evidence("-", "estimate", "factor between the described and the fitted walls at most")
] = 20.0
_VAGUE: Annotated[
    float,
    Evidence("-", "estimate", "logarithm of three: a parameter known to a worse factor is not measured"),
] = np.log(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpTest:
    """Readings of the air in the empty, shut appliance: pairs of time [s] and temperature [K].

    `heating` counts from switching on, cold, and ends before the thermostat first switches off. `cooling` counts from
    turning the heat off, the fan left on, with the first reading at that moment (time 0), after the temperature had
    been held for half an hour or more.

    Attributes
    ----------
    power_W : float or None
        Of the heater; None: as described.
    """

    heating: tuple[tuple[float, float], ...] = ()
    cooling: tuple[tuple[float, float], ...] = ()
    power_W: float | None = None


def warm_up_test(
    base: Description, room: Room, test: WarmUpTest, errors: ReadingErrors | None = None
) -> Findings:
    """Heat capacity of the walls, their film and their loss.

    Parameters
    ----------
    base : Description
        The appliance as known so far.
    room : Room
    test : WarmUpTest
        The readings.
    errors : ReadingErrors, optional
        Of the instruments; those of a household if left out.

    Raises
    ------
    InputError
        If the readings are out of order, or tell nothing.

    Examples
    --------
    Half an hour of warming up: how the heat capacity [kJ/K] comes out, lowest and highest.

    >>> from dryingsim.batch.catalog.appliances import find_appliance
    >>> room = Room(temperature_K=294.15, relative_humidity=0.45)
    >>> test = WarmUpTest(heating=((300.0, 318.15), (600.0, 325.15), (1200.0, 333.15), (1800.0, 337.15)))
    >>> found = warm_up_test(find_appliance("", "stacked dehydrator"), room, test)
    >>> capacity = found.parameters["walls.capacity"]
    >>> round(capacity.value / 1e3, 1), round(capacity.low / 1e3, 1), round(capacity.high / 1e3, 1)
    (3.9, 2.2, 7.1)
    """
    from scipy.optimize import least_squares

    _check_readings(test)
    fit = _Fit(base, room, test, errors or ReadingErrors())
    edge = np.array([np.log(_FARTHEST)] * 2 + [1.0] * len(fit.names))
    solution = least_squares(
        fit.misses, 0.0 * edge, fit.slopes, bounds=(-edge, edge), xtol=_ENOUGH, ftol=_ENOUGH
    )
    spread = np.sqrt(np.diag(np.linalg.inv(solution.jac.T @ solution.jac + 1e-9 * np.eye(edge.size))))
    logs = {"walls.capacity": 0, "walls.floor_capacity": 0, "walls.loss": 1}
    parameters = {
        key: Measured(
            *(float(base.si(key) * np.exp(solution.x[i] + side * spread[i])) for side in (0.0, -1.0, 1.0))
        )
        for key, i in logs.items()
        if spread[i] < _VAGUE
    }
    if not parameters:
        raise InputError(_VAGUE_READINGS)
    notes = [note for key, note in _UNTOLD.items() if key not in parameters]
    if "walls.film" in fit.names:
        i = 2 + fit.names.index("walls.film")
        ends = np.clip([solution.x[i], solution.x[i] - spread[i], solution.x[i] + spread[i]], -1.0, 1.0)
        parameters["walls.film"] = Measured(*(float(fit.place("walls.film", z)) for z in ends))
    misfit = float(np.sqrt(np.mean((solution.fun[: fit.readings.size] * fit.limit_K) ** 2)))
    if misfit > 2.0 * fit.limit_K:
        notes.append(_MISFIT.format(misfit))
    return Findings("warm-up test", parameters, None, misfit, tuple(notes))


_VAGUE_READINGS = "warm-up test: these readings tell neither capacity nor loss; read on, or add a cool-down"
_UNTOLD = {
    "walls.capacity": "The heat capacity of the walls is not known from this to better than a factor of three.",
    "walls.loss": "The loss of the walls is not known from this to better than a factor of three: fresh air takes "
    "heat too. Close the vents for this test, or measure the fresh air first.",
}
_MISFIT = (
    "The readings lie {:.2g} K off the fit: the thermostat may have switched off, or the power is another."
)


def _check_readings(test: WarmUpTest) -> None:
    if not test.heating:
        raise InputError("warm-up test: a cool-down tells only capacity over loss; heating is needed as well")
    if test.cooling and test.cooling[0][0] != 0.0:
        raise InputError("warm-up test: the cool-down's first reading is expected at 0 min, as heat goes off")
    if len(test.heating) + max(len(test.cooling) - 1, 0) < 2:
        raise InputError("warm-up test: at least two readings are needed for two unknowns")
    for name, readings in (("warm-up", test.heating), ("cool-down", test.cooling)):
        times = [time for time, _ in readings]
        if times != sorted(set(times)) or (name == "warm-up" and times[0] <= 0.0):
            raise InputError(f"warm-up test: the times of the {name} do not increase from the beginning on")


class _Fit:
    """The least-squares problem: readings and known ranges.

    Unknown: the logarithms of the factors on capacity and loss, and where each parameter known to a range lies in it.
    A miss is the distance of a reading or of such a parameter from its value, over its limit.
    """

    def __init__(self, base: Description, room: Room, test: WarmUpTest, errors: ReadingErrors) -> None:
        self.base, self.room, self.test = base, room, test
        self.limit_K = errors.thermometer_K
        self.readings = np.array([kelvin for _, kelvin in (*test.heating, *test.cooling[1:])])
        known = {
            "room": around(room.temperature_K, errors.thermometer_K),
            **described_ranges(
                base, "heater.power", "walls.film", "heater.radiant_share", "air.vents", "air.leak"
            ),
        }
        if test.power_W is not None:
            known["heater.power"] = around(test.power_W, errors.power_share * test.power_W)
        if base.si("heater.control") == "switching":
            known |= described_ranges(base, "heater.element_lag")
        if test.cooling:
            known["held"] = around(test.cooling[0][1], errors.thermometer_K)
        self.known = known
        self.names = [key for key, (_, low, high) in known.items() if low < high]

    def place(self, key: str, z: Array) -> Array:
        """Value of a known parameter at a place in its range, -1 for its lowest to 1 for its highest."""
        value, low, high = self.known[key]
        return value + z * np.where(z > 0.0, high - value, value - low)

    def misses(self, z: np.ndarray) -> np.ndarray:
        """All misses over their limits."""
        return np.concatenate([(self._temperatures(z[:, None])[:, 0] - self.readings) / self.limit_K, z[2:]])

    def slopes(self, z: np.ndarray) -> np.ndarray:
        """Derivatives of `misses`, by one integration for all unknowns together."""
        kelvins = self._temperatures(z[:, None] + _NUDGE * np.hstack([np.zeros((z.size, 1)), np.eye(z.size)]))
        by_reading = (kelvins[:, 1:] - kelvins[:, :1]) / (_NUDGE * self.limit_K)
        return np.concatenate([by_reading, np.eye(z.size)[2:]])

    def _temperatures(self, z: np.ndarray) -> np.ndarray:
        """Air temperatures at the readings' times [K], shape (readings, cases)."""
        base, room = self.base, self.room
        values = {key: np.full(z.shape[1], value) for key, (value, _, _) in self.known.items()}
        for i, key in enumerate(self.names, start=2):
            values[key] = self.place(key, z[i])
        chamber = chamber_of(
            base, values["room"], values | {"walls.loss": base.si("walls.loss") * np.exp(z[1])}
        )
        capacity = np.exp(z[0]) * np.array([[base.si("walls.capacity")], [base.si("walls.floor_capacity")]])
        fresh = (values["air.vents"] + values["air.leak"]) * room_air(room, room.relative_humidity)[1]
        heating, cooling = ([t for t, _ in part] for part in (self.test.heating, self.test.cooling))
        lag = values.get("heater.element_lag", 1.0)  # at once, for such a slow test
        power = values["heater.power"]
        out = [
            _air_above_room(
                chamber, capacity, fresh, 0.0 * capacity, lambda t: -power * np.expm1(-t / lag), heating
            )
        ]
        if len(cooling) > 1:
            held = values["held"] - values["room"]
            shell, floor, keeping = chamber.steady(held, fresh * held)
            start = np.stack([shell, floor])
            out.append(
                _air_above_room(
                    chamber, capacity, fresh, start, lambda t: keeping * np.exp(-t / lag), cooling[1:]
                )
            )
        return values["room"] + np.concatenate(out)


def _air_above_room(
    chamber: EmptyChamber,
    capacity: np.ndarray,
    fresh_W_K: np.ndarray,
    start: np.ndarray,
    power: Callable[[float], np.ndarray],
    times: list[float],
) -> np.ndarray:
    """Air temperature above the room's at the times [K], walls by the classical Runge-Kutta method."""

    def rate(t: float, walls: np.ndarray) -> np.ndarray:
        shell, floor = walls
        heat = power(t)
        air = chamber.air(shell, floor, heat, fresh_W_K)
        exchanged = chamber.radiated(floor, shell) * (floor - shell)
        to_shell = chamber.to_shell_W_K * (air - shell) + exchanged - chamber.loss_W_K * shell
        to_floor = chamber.to_floor_W_K * (air - floor) - exchanged + chamber.radiant_share * heat
        return np.stack([to_shell, to_floor]) / capacity

    t, walls, out = 0.0, start, []
    for until in times:
        steps = max(int(np.ceil((until - t) / _STEP_S)), 1)
        h = (until - t) / steps
        for _ in range(steps):
            k1 = rate(t, walls)
            k2 = rate(t + 0.5 * h, walls + 0.5 * h * k1)
            k3 = rate(t + 0.5 * h, walls + 0.5 * h * k2)
            k4 = rate(t + h, walls + h * k3)
            walls, t = walls + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4), t + h
        out.append(chamber.air(walls[0], walls[1], power(t), fresh_W_K))
    return np.array(out)
