r"""Two tests of an empty appliance with a kitchen scale, a thermometer and a clock.

*Pan test*: a shallow pan of water on a tray, in steady conditions; the weight it loses gives the film coefficient at
the tray, written as the air speed at which the slices' own correlations give it. The loss alone cannot tell how much
fresh air comes in: a film and an air's moisture together make the loss. The moisture is then that which the described
fresh air leaves, over its whole range. With the air's wet bulb, or the mean power drawn, the fresh air is found as well:

.. math:: \dot m = G (w - w_{room}),\qquad
          P + P_{fan} = U(T_{shell} - T_{room}) + G c (T - T_{room}) + \dot m\,(h_v(T) - h_l(T_{pan}))

*Warm-up and cool-down*: air temperatures at known times, with the heater at its full known power from cold, then with
the heater off from a long-held temperature. Two parameters are fitted by least squares, one factor on the capacities of
shell and floor and the loss of the shell; air and walls exchange heat as in `model.chamber`, the air storing none.
A warm-up gives both once it bends; a cool-down alone only gives their ratio.

Ranges: each reading is known to an error limit and each parameter not measured to the range of its description. The
changes they make, one at a time, are added as squares. For errors spread evenly within their limits such a range holds
the true value at least nine times in ten.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from dryingsim.batch.appliance_file import Description
from dryingsim.batch.schema import Room
from dryingsim.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.model.air import slice_film
from dryingsim.model.build import EMISSIVITY
from dryingsim.model.chamber import WALL_EMISSIVITY
from dryingsim.model.faces import AirAtSlabs, film_coefficient
from dryingsim.properties import films, moist_air, water
from dryingsim.typing import Array

FASTEST_M_S = 10.0  # above any speed in an appliance
_PAN_METAL = (0.5, 0.1, 0.9)  # emissivity of the pan's underside, bright sheet to enamel; from memory
_HYGROMETER = 0.05  # error limit of a household hygrometer, as relative humidity; estimate
_STEP_S = 10.0  # of the warm-up; the walls answer in minutes
_ROUNDS = 60  # of fixed-point iterations, each closing the miss by more than half
_FIT_ROUNDS, _LONGEST_STEP = 40, 0.5  # of the fit, in logarithms
_CONVERGED = 1e-6
_VAGUE = np.log(3.0)  # a parameter known to worse than a factor of three is not measured


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingErrors:
    """Error limits of the instruments: of one weighing [kg], one temperature [K], a power (as a share)."""

    scale_kg: float = 1e-3
    thermometer_K: float = 1.0
    power_share: float = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PanTest:
    """Readings of a pan test, taken once the water has reached its own steady temperature.

    Attributes
    ----------
    length_m, width_m : float
        Of the water's surface, along and across the air flow [m].
    lost_kg, duration_s : float
        Water lost [kg] in a time [s], the difference of two weighings.
    air_K : float
        The air at the tray [K].
    wet_bulb_K, power_W : float or None
        Of the air at the tray [K]; mean electric power of the whole appliance [W]. At most one of them.
    """

    length_m: float
    width_m: float
    lost_kg: float
    duration_s: float
    air_K: float
    wet_bulb_K: float | None = None
    power_W: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpTest:
    """Readings of the air in the empty, shut appliance: pairs of time [s] and temperature [K].

    Attributes
    ----------
    heating : tuple
        Since it was switched on, cold, and before the thermostat first switches off.
    cooling : tuple
        Since the heat was turned off with the fan left on, the first reading at that moment (time 0), after the
        temperature had been held for half an hour or more.
    power_W : float or None
        Of the heater [W]; None: as described.
    """

    heating: tuple[tuple[float, float], ...] = ()
    cooling: tuple[tuple[float, float], ...] = ()
    power_W: float | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value and the range it is known to, in SI."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Findings:
    """What a test tells.

    Attributes
    ----------
    test : str
        Its name.
    parameters : dict
        What was measured, by the key of the appliance's description.
    film : Measured or None
        Film coefficient over the pan [W/(m2 K)].
    misfit_K : float or None
        Root mean square of the temperatures' distance from the fitted ones [K].
    notes : tuple of str
        What the test could not tell.
    """

    test: str
    parameters: dict[str, Measured]
    film: Measured | None
    misfit_K: float | None
    notes: tuple[str, ...]

    def described(self, base: Description) -> Description:
        """Return the description with what was measured in it."""
        values = {key: (m.value, m.low, m.high) for key, m in self.parameters.items()}
        return base.measured(self.test, values)


_Inputs = Mapping[str, tuple[float, float, float]]  # value, lowest, highest


@dataclass(frozen=True, slots=True)
class _Box:
    """Shell, floor and air of the empty appliance. Temperatures are above the room's [K]; fields may be arrays."""

    room_K: Array
    to_shell_W_K: Array
    to_floor_W_K: Array
    floor_m2: float
    loss_W_K: Array
    radiant_share: Array
    fan_W: float

    def radiated(self, floor: Array, shell: Array) -> Array:
        """Radiation from floor to shell per kelvin between them [W/K]."""
        f, s = self.room_K + floor, self.room_K + shell
        return WALL_EMISSIVITY * STEFAN_BOLTZMANN * self.floor_m2 * (f * f + s * s) * (f + s)

    def air(
        self, shell: Array, floor: Array, power: Array, fresh_W_K: Array
    ) -> Array:
        """Temperature of the air between the walls for a heater's power [W] and a fresh-air conductance [W/K]."""
        heat = (1.0 - self.radiant_share) * power + self.fan_W
        heat = heat + self.to_shell_W_K * shell + self.to_floor_W_K * floor
        return heat / (self.to_shell_W_K + self.to_floor_W_K + fresh_W_K)

    def steady(
        self, air: Array, taken_W: Array, power: Array | None = None
    ) -> tuple[Array, Array, Array]:
        """Shell, floor and heater power when the air is held; `taken_W` is what fresh air and water take."""
        p, shell, floor = power if power is not None else 0.0 * air, 0.5 * air, air
        for _ in range(_ROUNDS):
            r = self.radiated(floor, shell)
            a, b = self.to_floor_W_K + r, self.to_shell_W_K + r + self.loss_W_K
            into_floor = self.radiant_share * p + self.to_floor_W_K * air
            into_shell = self.to_shell_W_K * air
            floor = (into_floor * b + into_shell * r) / (a * b - r * r)
            shell = (into_shell + r * floor) / b
            if power is None:
                p = self.loss_W_K * shell + taken_W - self.fan_W
        return shell, floor, p


def _box(base: Description, room_K: Array, x: Mapping[str, Array]) -> _Box:
    floor = base.si("trays.length") * base.si("trays.width")
    return _Box(
        room_K=room_K,
        to_shell_W_K=x["walls.film"] * base.si("walls.area"),
        to_floor_W_K=x["walls.film"] * floor,
        floor_m2=floor,
        loss_W_K=x["walls.loss"],
        radiant_share=x["heater.radiant_share"],
        fan_W=base.si("heater.fan_power"),
    )


def _known(base: Description, *keys: str) -> dict[str, tuple[float, float, float]]:
    """Return parameters that a test has to take from the description, with their ranges."""
    return {key: (base.si(key), *base.limits(key)) for key in keys}


def _around(value: float, limit: float) -> tuple[float, float, float]:
    return value, value - limit, value + limit


def _dry_air(flow_m3_s: Array, room: Room, humidity: Array) -> Array:
    """Dry air [kg/s] in a flow of room air [m3/s] of a humidity ratio."""
    vapour = moist_air.vapour_pressure(humidity, room.pressure_Pa)
    return flow_m3_s * moist_air.density(room.temperature_K, vapour, room.pressure_Pa) / (1.0 + humidity)


# --- pan test ------------------------------------------------------------------------------------------------------


def pan_test(base: Description, room: Room, test: PanTest, errors: ReadingErrors | None = None) -> Findings:
    """Air speed at the tray, and fresh air where a second figure is given.

    Parameters
    ----------
    base : Description
        The appliance as known so far.
    room : Room
    test : PanTest
    errors : ReadingErrors, optional

    Raises
    ------
    InputError
        If no air speed gives such a loss.
    """
    limits = errors or ReadingErrors()
    inputs = _pan_inputs(base, room, test, limits)
    best, low, high = _spread(lambda x: _pan_answer(base, room, test, x), inputs)
    if not np.isfinite(best[0]):
        raise InputError(
            f"pan test: {1e3 * test.lost_kg:.4g} g in {test.duration_s / 3600:.3g} h is more than "
            f"a pan of this size can lose in such air at {FASTEST_M_S:g} m/s; check the figures"
        )
    speed, film = (Measured(float(best[i]), max(float(low[i]), 0.0), float(high[i])) for i in (0, 1))
    parameters = {"air.speed": Measured(speed.value, speed.low, min(speed.high, FASTEST_M_S))}
    notes = [] if speed.value > 0.0 else [_STILL]
    fresh = Measured(float(best[2]), max(float(low[2]), 0.0), float(high[2]))
    if test.wet_bulb_K is None and test.power_W is None:
        notes.append(_ONE_FIGURE.format(3600.0 * fresh.low, 3600.0 * fresh.high))
    elif not np.isfinite(fresh.high):
        notes.append(_TOO_MUCH_AIR.format(3600.0 * fresh.low))
    elif fresh.value <= 0.0:
        notes.append(_NO_POWER_LEFT.format(3600.0 * fresh.high))
    else:
        parameters.update(_fresh_air(base, fresh))
    return Findings("pan test", parameters, film, None, tuple(notes))


_STILL = "The air moves too little to tell from its own buoyancy: the speed is taken as nil."
_ONE_FIGURE = (
    "One loss of weight tells how strongly the air sweeps the tray, not how much fresh air comes in: that was "
    "taken from the description, {:.3g} to {:.3g} m3/h. The wet bulb or the mean power tells it as well."
)
_TOO_MUCH_AIR = (
    "The air is too nearly as dry as the room's to tell how much fresh air comes in: {:.3g} m3/h or more. "
    "A larger pan or the mean power may tell."
)
_NO_POWER_LEFT = (
    "Walls and water take all the power there is, so it does not tell how much fresh air comes in: "
    "{:.3g} m3/h at most. A warm-up test tells the loss of the walls better."
)


def _fresh_air(base: Description, fresh: Measured) -> dict[str, Measured]:
    """Fresh air as the parameters hold it: by the vents where there are some, else by the leak."""
    if not base.si("air.vents") > 0.0:
        return {"air.leak": fresh}
    leak = base.si("air.leak")
    if fresh.value <= leak:
        return {"air.vents": Measured(0.0, 0.0, max(fresh.high - leak, 0.0))}
    return {"air.vents": Measured(fresh.value - leak, max(fresh.low - leak, 0.0), fresh.high - leak)}


def _pan_inputs(base: Description, room: Room, test: PanTest, errors: ReadingErrors) -> _Inputs:
    scale = np.sqrt(2.0) * errors.scale_kg  # two weighings
    humidity = room.relative_humidity
    inputs = {
        "lost": (test.lost_kg, max(test.lost_kg - scale, 1e-6), test.lost_kg + scale),
        "air": _around(test.air_K, errors.thermometer_K),
        "room": _around(room.temperature_K, errors.thermometer_K),
        "humidity": (humidity, max(humidity - _HYGROMETER, 0.0), min(humidity + _HYGROMETER, 1.0)),
        "metal": _PAN_METAL,
        **_known(base, "walls.film", "walls.loss", "heater.radiant_share"),
    }
    if test.wet_bulb_K is not None:
        inputs["wet_bulb"] = _around(test.wet_bulb_K, errors.thermometer_K)
    elif test.power_W is not None:
        inputs["power"] = _around(test.power_W, errors.power_share * test.power_W)
    else:
        inputs.update(_known(base, "air.vents", "air.leak"))
    return inputs


def _pan_answer(base: Description, room: Room, test: PanTest, x: Mapping[str, float]) -> np.ndarray:
    """Speed [m/s], film [W/(m2 K)] and fresh air [m3/s] for one set of inputs; infinite where there is none."""
    p, air, outside = room.pressure_Pa, x["air"], x["room"]
    w_room = float(moist_air.humidity_ratio(x["humidity"] * water.saturation_pressure(outside), p))
    rate, box = x["lost"] / test.duration_s, _box(base, np.float64(outside), x)
    per_flow = float(_dry_air(1.0, room, w_room))
    heat_per_flow = per_flow * (moist_air.DRY_AIR_SPECIFIC_HEAT + w_room * water.VAPOUR_SPECIFIC_HEAT)
    above = np.float64(air - outside)
    taken = rate * (water.vapour_enthalpy(air) - water.liquid_enthalpy(0.5 * (air + outside)))
    if "power" in x:
        heater = np.float64(x["power"] - box.fan_W)
        shell = box.steady(above, taken, heater)[0]
        left = x["power"] - box.loss_W_K * shell - taken
        flow = max(float(left / (heat_per_flow * above)), 0.0)
    elif "wet_bulb" in x:
        wet = moist_air.vapour_pressure_from_wet_bulb(air, min(x["wet_bulb"], air), p)
        gain = float(moist_air.humidity_ratio(max(float(wet), 0.0), p)) - w_room
        flow = rate / (per_flow * gain) if gain > 0.0 else np.inf
    else:
        flow = x["air.vents"] + x["air.leak"]
    w = w_room + rate / (per_flow * flow) if flow > 0.0 else np.inf
    vapour = float(moist_air.vapour_pressure(w, p)) if np.isfinite(w) else p
    if "power" not in x:
        drawn = flow if np.isfinite(flow) else base.si("air.vents") + base.si("air.leak")
        shell = box.steady(above, taken + drawn * heat_per_flow * above)[0]
    pan = _Pan(test, air, vapour, p, float(outside + shell), x["metal"])
    return np.array([*pan.speed(rate / (test.length_m * test.width_m)), flow])


@dataclass(frozen=True, slots=True)
class _Pan:
    """A pan of water in air of a temperature, vapour pressure and pressure, between walls of a temperature."""

    test: PanTest
    air_K: float
    vapour_Pa: float
    pressure_Pa: float
    wall_K: float
    metal: float

    def speed(self, flux: float) -> tuple[float, float]:
        """Speed at which the pan loses a flux [kg/(m2 s)], and the film on the water."""
        from scipy.optimize import brentq

        if self.vapour_Pa >= water.saturation_pressure_liquid(self.air_K):
            return np.inf, np.inf
        if self.flux(FASTEST_M_S)[0] < flux:
            return np.inf, np.inf
        still, film = self.flux(0.0)
        if still >= flux:
            return 0.0, film
        root = float(brentq(lambda root: self.flux(root * root)[0] - flux, 0.0, FASTEST_M_S**0.5))
        return root * root, self.flux(root * root)[1]

    def flux(self, speed: float) -> tuple[float, float]:
        """Vapour flux [kg/(m2 s)] of the pan and the film on it [W/(m2 K)], in steady state at a speed [m/s]."""
        from scipy.optimize import brentq

        one = np.ones(1)
        film = slice_film(
            self.air_K * one,
            self.vapour_Pa * one,
            self.pressure_Pa,
            speed * one,
            self.test.length_m * one,
            self.test.width_m * one,
        )
        y, walls = self.vapour_Pa / self.pressure_Pa, np.full((2, 1), self.wall_K)
        around = AirAtSlabs(self.air_K * one, y * one, walls, np.ones((2, 1)), self.pressure_Pa, film)

        def at(t: float) -> tuple[float, float, float]:
            """Heat into the water, vapour out of it, and the film on it."""
            y_water = float(water.saturation_pressure_liquid(t)) / self.pressure_Pa
            h = film_coefficient(around, np.full((2, 1), t), np.array([[y], [y_water]]))[:, 0]
            vapour = float(films.stefan_flux(film.mass_factor[0] * h[1], y, y_water))
            correction = float(films.ackermann(vapour * water.VAPOUR_SPECIFIC_HEAT / h[1]))
            radiated = (EMISSIVITY + self.metal) * STEFAN_BOLTZMANN * (self.wall_K**4 - t**4)
            heat = (correction * h[1] + h[0]) * (self.air_K - t) + radiated
            return heat, vapour, float(h[1])

        def balance(t: float) -> float:
            heat, vapour, _ = at(t)
            return heat - vapour * float(water.vapour_enthalpy(t) - water.liquid_enthalpy(t))

        coldest = min(float(moist_air.dew_point(self.vapour_Pa)), self.wall_K) - 1.0
        _, vapour, h = at(float(brentq(balance, max(coldest, ZERO_CELSIUS - 20.0), self.air_K + 1.0)))
        return vapour, h


def _spread(
    answer: Callable[[dict[str, float]], np.ndarray], inputs: _Inputs
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Answer for the inputs' values, and its range when each input moves to its ends, one at a time."""
    values = {key: value for key, (value, _, _) in inputs.items()}
    best = answer(values)
    down, up = np.zeros_like(best), np.zeros_like(best)
    if not np.isfinite(best[0]):
        return best, best, best
    for key, ends in inputs.items():
        for end in ends[1:]:
            moved = answer({**values, key: end})
            shift = np.where(np.isfinite(best), moved - np.where(np.isfinite(best), best, 0.0), 0.0)
            down += np.minimum(shift, 0.0) ** 2
            up += np.maximum(shift, 0.0) ** 2
    return best, best - np.sqrt(down), best + np.sqrt(up)


# --- warm-up and cool-down -----------------------------------------------------------------------------------------


def warm_up_test(
    base: Description, room: Room, test: WarmUpTest, errors: ReadingErrors | None = None
) -> Findings:
    """Heat capacity of the walls and their loss to the room.

    Parameters
    ----------
    base : Description
        The appliance as known so far.
    room : Room
    test : WarmUpTest
    errors : ReadingErrors, optional

    Raises
    ------
    InputError
        If the readings do not tell both, or no walls at all give them.
    """
    limits = errors or ReadingErrors()
    _check_readings(test)
    cases = _cases(_warm_up_inputs(base, room, test, limits))
    logs, residual, slopes = _fit(base, room, test, cases)
    normal = np.einsum("pr,qr->pq", slopes[:, :, 0], slopes[:, :, 0])
    if np.linalg.cond(normal) > 1e12:
        raise InputError(_VAGUE_READINGS)
    by_reading = limits.thermometer_K * np.sqrt(np.diag(np.linalg.inv(normal)))
    shift = logs[:, 1:] - logs[:, :1]
    down = np.sqrt(by_reading**2 + np.sum(np.minimum(shift, 0.0) ** 2, axis=1))
    up = np.sqrt(by_reading**2 + np.sum(np.maximum(shift, 0.0) ** 2, axis=1))
    if not max(down.max(), up.max()) < _VAGUE:
        raise InputError(_VAGUE_READINGS)
    factor, low, high = (np.exp(v) for v in (logs[:, 0], logs[:, 0] - down, logs[:, 0] + up))
    parameters = {}
    for key, which in (("walls.capacity", 0), ("walls.floor_capacity", 0), ("walls.loss", 1)):
        before = base.si(key)
        parameters[key] = Measured(*(float(before * f[which]) for f in (factor, low, high)))
    misfit = float(np.sqrt(np.mean(residual[:, 0] ** 2)))
    notes = () if misfit <= 2.0 * limits.thermometer_K else (_MISFIT.format(misfit),)
    return Findings("warm-up test", parameters, None, misfit, notes)


_VAGUE_READINGS = (
    "warm-up test: these readings do not tell both the heat capacity and the loss of the walls; read on until the "
    "warming slows down, or add a cool-down"
)
_MISFIT = (
    "The temperatures lie {:.2g} K off the fitted ones, more than the thermometer's error explains: the "
    "thermostat may have switched off, or the power may be another."
)


def _check_readings(test: WarmUpTest) -> None:
    if not test.heating:
        raise InputError(
            "warm-up test: a cool-down alone tells only how the heat capacity of the walls and their loss relate; "
            "readings while heating at full power are needed"
        )
    if test.cooling and test.cooling[0][0] != 0.0:
        raise InputError(
            "warm-up test: the first reading of the cool-down is expected at 0 min, when heat goes off"
        )
    if len(test.heating) + max(len(test.cooling) - 1, 0) < 2:
        raise InputError("warm-up test: at least two readings are needed for two unknowns")
    for name, readings in (("warm-up", test.heating), ("cool-down", test.cooling)):
        times = [time for time, _ in readings]
        if times != sorted(set(times)) or (name == "warm-up" and times[0] <= 0.0):
            raise InputError(f"warm-up test: the times of the {name} do not increase from the beginning on")


def _warm_up_inputs(base: Description, room: Room, test: WarmUpTest, errors: ReadingErrors) -> _Inputs:
    power = test.power_W if test.power_W is not None else base.si("heater.power")
    inputs = {
        "power": _around(power, errors.power_share * power),
        "room": _around(room.temperature_K, errors.thermometer_K),
        **_known(base, "walls.film", "heater.radiant_share", "heater.element_lag", "air.vents", "air.leak"),
    }
    if test.power_W is None:
        inputs["power"] = _known(base, "heater.power")["heater.power"]
    if test.cooling:
        inputs["held"] = _around(test.cooling[0][1], errors.thermometer_K)
    return inputs


def _cases(inputs: _Inputs) -> dict[str, np.ndarray]:
    """Inputs as arrays over cases: all at their values, then each at its lowest and highest."""
    names = [key for key, (value, low, high) in inputs.items() if low < value or value < high]
    cases = {key: np.full(1 + 2 * len(names), value) for key, (value, _, _) in inputs.items()}
    for i, key in enumerate(names):
        cases[key][1 + 2 * i : 3 + 2 * i] = inputs[key][1:]
    return cases


def _fit(
    base: Description, room: Room, test: WarmUpTest, cases: Mapping[str, np.ndarray]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Gauss-Newton on the logarithms of both factors, for all cases at once.

    Returns
    -------
    tuple
        Logarithms (2, cases), residuals (readings, cases) and slopes (2, readings, cases).
    """
    readings = np.array([k for _, k in (*test.heating, *test.cooling[1:])])[:, None]
    count, nudge = cases["power"].size, 1e-4
    trial = {key: np.tile(value, 3) for key, value in cases.items()}
    logs = np.zeros((2, count))
    for _ in range(_FIT_ROUNDS):
        points = np.concatenate([logs, logs + [[nudge], [0.0]], logs + [[0.0], [nudge]]], axis=1)
        told = _temperatures(base, room, test, trial, np.exp(points)).reshape(len(readings), 3, count)
        residual = readings - told[:, 0]
        slopes = np.stack([told[:, 1] - told[:, 0], told[:, 2] - told[:, 0]]) / nudge
        normal = np.einsum("prc,qrc->cpq", slopes, slopes) + 1e-9 * np.eye(2)
        right = np.einsum("prc,rc->cp", slopes, residual)
        step = np.clip(np.linalg.solve(normal, right[..., None])[..., 0].T, -_LONGEST_STEP, _LONGEST_STEP)
        logs = logs + step
        if np.abs(logs).max() > 5.0:  # a factor of 150: no walls are like that
            break
        if np.abs(step).max() < _CONVERGED:
            return logs, residual, slopes
    raise InputError(_VAGUE_READINGS)


def _temperatures(
    base: Description, room: Room, test: WarmUpTest, x: Mapping[str, np.ndarray], factors: np.ndarray
) -> np.ndarray:
    """Air temperatures at the readings' times [K], shape (readings, cases), for factors on capacity and loss."""
    box = _box(base, x["room"], {**x, "walls.loss": base.si("walls.loss") * factors[1]})
    capacity = np.stack(
        [base.si("walls.capacity") * factors[0], base.si("walls.floor_capacity") * factors[0]]
    )
    vapour = room.relative_humidity * water.saturation_pressure(room.temperature_K)
    w = float(moist_air.humidity_ratio(vapour, room.pressure_Pa))
    dry = _dry_air(x["air.vents"] + x["air.leak"], room, w)
    fresh = dry * (moist_air.DRY_AIR_SPECIFIC_HEAT + w * water.VAPOUR_SPECIFIC_HEAT)
    lag = x["heater.element_lag"] if base.si("heater.control") == "switching" else None
    out = []
    if test.heating:

        def warming(t: float) -> np.ndarray:
            return x["power"] * (1.0 if lag is None else -np.expm1(-t / lag))

        out.append(_course(box, capacity, fresh, 0.0 * capacity, warming, [t for t, _ in test.heating]))
    if len(test.cooling) > 1:
        held = x["held"] - x["room"]
        shell, floor, power = box.steady(held, fresh * held)

        def cooling(t: float) -> np.ndarray:
            return 0.0 * power if lag is None else power * np.exp(-t / lag)

        start = np.stack([shell, floor])
        out.append(_course(box, capacity, fresh, start, cooling, [t for t, _ in test.cooling[1:]]))
    return x["room"] + np.concatenate(out)


def _course(
    box: _Box,
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
        air = box.air(shell, floor, heat, fresh_W_K)
        exchanged = box.radiated(floor, shell) * (floor - shell)
        to_shell = box.to_shell_W_K * (air - shell) + exchanged - box.loss_W_K * shell
        to_floor = box.to_floor_W_K * (air - floor) - exchanged + box.radiant_share * heat
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
        out.append(box.air(walls[0], walls[1], power(t), fresh_W_K))
    return np.array(out)
