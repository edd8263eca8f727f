r"""Two tests of an empty appliance with a kitchen scale, a thermometer and a clock.

*Pan test*: a shallow pan of water on a tray, in steady conditions; the weight it loses gives the film coefficient at
the tray, written as the air speed at which the slices' own correlations give it. The loss alone cannot tell how much
fresh air comes in: a film and an air's moisture together make the loss. The moisture is then that which the described
fresh air leaves, over its whole range. With the air's wet bulb, or the mean power drawn, fresh air is found as well:

.. math:: \dot m = G (w - w_{room}),\qquad
          P + P_{fan} = U(T_{shell} - T_{room}) + G c (T - T_{room}) + \dot m\,(h_v(T) - h_l(T_{pan}))

*Warm-up and cool-down*: air temperatures at known times, with the heater at its full known power from cold, then with
the heater off from a long-held temperature. Two unknowns are fitted by least squares, one factor on the capacities of
shell and floor and the loss of the shell. Air and walls exchange heat as in `model.chamber`, the air storing none; what
is known to a range only (film, fresh air, power, ...) may move within it, at a price. A warm-up gives both unknowns
once it bends; a cool-down alone gives only their ratio.

Ranges: readings are known to error limits, parameters not measured to the range of their description. What these do
to the answer is added as squares; if errors lie evenly within their limits, it then holds the truth 9 times in 10.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.appliance_description import Description
from dryingsim.batch.schema import Room
from dryingsim.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.model.air import slice_film
from dryingsim.model.build import EMISSIVITY
from dryingsim.model.chamber import WALL_EMISSIVITY
from dryingsim.model.faces import AirAtSlabs, Film, film_coefficient
from dryingsim.properties import films, moist_air, water
from dryingsim.typing import Array

_Range = tuple[float, float, float]  # value, lowest, highest
FASTEST_M_S = 10.0  # above any speed in an appliance
_PAN_METAL = (0.5, 0.1, 0.9)  # emissivity of the pan's underside, bright sheet to enamel; from memory
_HYGROMETER = 0.05  # error limit of a household hygrometer, as relative humidity; estimate
_STEP_S = 30.0  # of the warm-up; the walls answer in minutes
_ROUNDS = 60  # of fixed-point iterations, each closing the miss by more than half
_NUDGE, _ENOUGH = 1e-4, 1e-5  # difference quotients of the fit, and where it ends
_FARTHEST = 20.0  # factor between the described and the fitted walls at most
_VAGUE = np.log(3.0)  # a parameter known to worse than a factor of three is not measured


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingErrors:
    """Error limits of the instruments: of one weighing [kg], one temperature [K], a power (as a share)."""

    scale_kg: float = 1e-3
    thermometer_K: float = 1.0
    power_share: float = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PanTest:
    """Readings of a pan test, taken once the water has reached its own steady temperature."""

    length_m: float  # of the water's surface, along the air flow
    width_m: float  # across it
    lost_kg: float  # the difference of two weighings
    duration_s: float  # between them
    air_K: float  # at the tray
    wet_bulb_K: float | None = None  # of the air at the tray
    power_W: float | None = None  # mean electric power of the whole appliance; not along with a wet bulb


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpTest:
    """Readings of the air in the empty, shut appliance: pairs of time [s] and temperature [K].

    `heating` counts from switching on, cold, and ends before the thermostat first switches off. `cooling` counts from
    turning the heat off, the fan left on, with the first reading at that moment (time 0), after the temperature had
    been held for half an hour or more.
    """

    heating: tuple[tuple[float, float], ...] = ()
    cooling: tuple[tuple[float, float], ...] = ()
    power_W: float | None = None  # of the heater; None: as described


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value and the range it is known to, in SI."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Findings:
    """What a test tells, and what it could not tell."""

    test: str
    parameters: dict[str, Measured]  # by the key of the appliance's description
    film: Measured | None  # over the pan [W/(m2 K)]
    misfit_K: float | None  # root mean square of the temperatures' distance from the fitted ones
    notes: tuple[str, ...]

    def described(self, base: Description) -> Description:
        """Return the description with what was measured in it."""
        values = {key: (m.value, m.low, m.high) for key, m in self.parameters.items()}
        return base.measured(self.test, values)


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

    def air(self, shell: Array, floor: Array, power: Array, fresh_W_K: Array) -> Array:
        """Temperature of the air between the walls for a heater's power [W] and a fresh-air conductance [W/K]."""
        by_walls = self.to_shell_W_K * shell + self.to_floor_W_K * floor
        return ((1.0 - self.radiant_share) * power + self.fan_W + by_walls) / (
            self.to_shell_W_K + self.to_floor_W_K + fresh_W_K
        )

    def steady(self, air: Array, taken_W: Array, power: Array | None = None) -> tuple[Array, Array, Array]:
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


def _known(base: Description, *keys: str) -> dict[str, _Range]:
    """Return parameters that a test has to take from the description, with their ranges."""
    return {key: (base.si(key), *base.limits(key)) for key in keys}


def _around(value: float, limit: float) -> _Range:
    return value, value - limit, value + limit


def _fresh_heat(room: Room, relative_humidity: float) -> tuple[float, float]:
    """Dry air [kg/m3] in the room's air, and its heat capacity with the vapour in it [J/(m3 K)]."""
    vapour = relative_humidity * float(water.saturation_pressure(room.temperature_K))
    w = float(moist_air.humidity_ratio(vapour, room.pressure_Pa))
    dry = float(moist_air.density(room.temperature_K, vapour, room.pressure_Pa)) / (1.0 + w)
    return dry, dry * (moist_air.DRY_AIR_SPECIFIC_HEAT + w * water.VAPOUR_SPECIFIC_HEAT)


# --- pan test ------------------------------------------------------------------------------------------------------


def pan_test(base: Description, room: Room, test: PanTest, errors: ReadingErrors | None = None) -> Findings:
    """Air speed at the tray, and fresh air where a second figure is given; `base` is the appliance as known so far."""
    inputs = _pan_inputs(base, room, test, errors or ReadingErrors())
    best, low, high = _spread(lambda x: _pan_answer(base, room, test, x), inputs)
    if best[2] <= 0.0:
        raise InputError(
            f"pan test: {test.power_W:.4g} W is less than walls and water take; check it, or walls.loss"
        )
    if not np.isfinite(best[0]):
        raise InputError(
            f"pan test: {1e3 * test.lost_kg:.4g} g in {test.duration_s / 3600:.3g} h is more than a pan of this size "
            f"can lose in such air at {FASTEST_M_S:g} m/s; check the figures"
        )
    speed, film = (Measured(float(best[i]), max(float(low[i]), 0.0), float(high[i])) for i in (0, 1))
    parameters = {"air.speed": Measured(speed.value, speed.low, min(speed.high, FASTEST_M_S))}
    notes = [] if speed.value > 0.0 else [_STILL]
    fresh = Measured(float(best[2]), max(float(low[2]), 0.0), float(high[2]))
    if test.wet_bulb_K is None and test.power_W is None:
        notes.append(_ONE_FIGURE.format(3600.0 * fresh.low, 3600.0 * fresh.high))
    elif not np.isfinite(fresh.low):
        raise InputError(
            "pan test: by its wet bulb the air is no moister than the room's, though water goes into it; check --wet-bulb, "
            "--room and --room-humidity"
        )
    elif not np.isfinite(fresh.high):
        notes.append(_TOO_MUCH_AIR.format(3600.0 * fresh.low))
    else:
        parameters.update(_fresh_air(base, fresh))
    return Findings("pan test", parameters, film, None, tuple(notes))


_STILL = "The air moves too little to tell from its own buoyancy: the speed is taken as nil."
_ONE_FIGURE = (
    "One loss of weight tells how strongly the air sweeps the tray, not how much fresh air comes in: that was taken "
    "from the description, {:.3g} to {:.3g} m3/h. The wet bulb or the mean power tells it as well."
)
_TOO_MUCH_AIR = "The air is too nearly as dry as the room's to tell how much comes in: {:.3g} m3/h or more."


def _fresh_air(base: Description, fresh: Measured) -> dict[str, Measured]:
    """Fresh air as the parameters hold it: by the vents where there are some, else by the leak."""
    if not base.si("air.vents") > 0.0:
        return {"air.leak": fresh}
    leak = base.si("air.leak")
    return {"air.vents": Measured(*(max(v - leak, 0.0) for v in (fresh.value, fresh.low, fresh.high)))}


def _pan_inputs(base: Description, room: Room, test: PanTest, errors: ReadingErrors) -> Mapping[str, _Range]:
    scale, humidity = np.sqrt(2.0) * errors.scale_kg, room.relative_humidity  # two weighings
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
    p, rate = room.pressure_Pa, x["lost"] / test.duration_s
    above, box = x["air"] - x["room"], _box(base, x["room"], x)
    w_room = float(moist_air.humidity_ratio(x["humidity"] * water.saturation_pressure(x["room"]), p))
    dry, heat = _fresh_heat(room, x["humidity"])
    cool = 0.5 * (x["air"] + x["room"])  # about that of the water
    taken = rate * (water.vapour_enthalpy(x["air"]) - water.liquid_enthalpy(cool))
    w = None
    if "power" in x:
        shell, _, _ = box.steady(above, taken, x["power"] - box.fan_W)
        flow = max((x["power"] - box.loss_W_K * shell - taken) / (heat * above), 0.0)
    elif "wet_bulb" in x:
        vapour = moist_air.vapour_pressure_from_wet_bulb(x["air"], min(x["wet_bulb"], x["air"]), p)
        w = float(moist_air.humidity_ratio(max(float(vapour), 0.0), p))
        flow = rate / (dry * (w - w_room)) if w > w_room else np.inf
    else:
        flow = x["air.vents"] + x["air.leak"]
    if w is None:
        w = w_room + rate / (dry * max(flow, 1e-9))
    if "power" not in x:
        drawn = flow if np.isfinite(flow) else base.si("air.vents") + base.si("air.leak")
        shell, _, _ = box.steady(above, taken + drawn * heat * above)
    vapour = float(moist_air.vapour_pressure(w, p))
    pan = _Pan(test, x["air"], vapour, p, x["room"] + float(shell), x["metal"])
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
        air, vapour, one, length, width = np.array(
            [[self.air_K], [self.vapour_Pa], [1.0], [self.test.length_m], [self.test.width_m]]
        )
        film = slice_film(air, vapour, self.pressure_Pa, one, length, width)

        def lost(root: float) -> tuple[float, float]:
            # laminar over any pan (Re below 5e5): the forced film grows with the square root of the speed
            return self.flux(replace(film, forced=film.forced * root))

        if lost(FASTEST_M_S**0.5)[0] < flux:
            return np.inf, np.inf
        still, film_still = lost(0.0)
        if still >= flux:
            return 0.0, film_still
        root = float(brentq(lambda root: lost(root)[0] - flux, 0.0, FASTEST_M_S**0.5, rtol=1e-6))
        return root * root, lost(root)[1]

    def flux(self, film: Film) -> tuple[float, float]:
        """Vapour flux [kg/(m2 s)] of the pan and the film on it [W/(m2 K)], in steady state."""
        from scipy.optimize import brentq

        air, y, walls = (
            np.array([self.air_K]),
            self.vapour_Pa / self.pressure_Pa,
            np.full((2, 1), self.wall_K),
        )
        around = AirAtSlabs(air, np.array([y]), walls, np.ones((2, 1)), self.pressure_Pa, film)

        def at(t: float) -> tuple[float, float, float]:
            """Heat into the water, vapour out of it, and the film on it."""
            y_water = float(water.saturation_pressure_liquid(t)) / self.pressure_Pa
            h = film_coefficient(around, np.full((2, 1), t), np.array([[y], [y_water]]))[:, 0]
            lost = float(films.stefan_flux(film.mass_factor[0] * h[1], y, y_water))
            corrected = h[1] * float(films.ackermann(lost * water.VAPOUR_SPECIFIC_HEAT / h[1]))
            radiated = (EMISSIVITY + self.metal) * STEFAN_BOLTZMANN * (self.wall_K**4 - t**4)
            return (corrected + h[0]) * (self.air_K - t) + radiated, lost, float(h[1])

        def balance(t: float) -> float:
            heat, lost, _ = at(t)
            return heat - lost * float(water.vapour_enthalpy(t) - water.liquid_enthalpy(t))

        vapour = max(
            self.vapour_Pa, 1.0
        )  # bone-dry air has no dew point; this one is below where the search begins
        coldest = min(float(moist_air.dew_point(vapour)), self.wall_K) - 1.0
        return at(float(brentq(balance, max(coldest, ZERO_CELSIUS - 20.0), self.air_K + 1.0, rtol=1e-9)))[1:]


def _spread(
    answer: Callable[[dict[str, float]], np.ndarray], inputs: Mapping[str, _Range]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Answer for the inputs' values, and its range when each input moves to its ends, one at a time."""
    values = {key: value for key, (value, _, _) in inputs.items()}
    best = answer(values)
    down, up, lowest, finite = np.zeros_like(best), np.zeros_like(best), best, np.isfinite(best)
    for key, ends in inputs.items():
        for end in ends[1:]:
            moved = answer({**values, key: end})
            shift = moved[finite] - best[finite]
            down[finite] += np.minimum(shift, 0.0) ** 2
            up[finite] += np.maximum(shift, 0.0) ** 2
            lowest = np.minimum(lowest, moved)
    return best, np.where(finite, best - np.sqrt(down), lowest), best + np.sqrt(up)


# --- warm-up and cool-down -----------------------------------------------------------------------------------------


def warm_up_test(
    base: Description, room: Room, test: WarmUpTest, errors: ReadingErrors | None = None
) -> Findings:
    """Heat capacity of the walls, their film and their loss; `base` is the appliance as known so far."""
    from scipy.optimize import least_squares

    _check_readings(test)
    fit = _Fit(base, room, test, errors or ReadingErrors())
    edge = np.array([np.log(_FARTHEST)] * 2 + [1.0] * len(fit.names))
    found = least_squares(
        fit.misses, 0.0 * edge, fit.slopes, bounds=(-edge, edge), xtol=_ENOUGH, ftol=_ENOUGH
    )
    spread = np.sqrt(np.diag(np.linalg.inv(found.jac.T @ found.jac + 1e-9 * np.eye(edge.size))))
    logs = {"walls.capacity": 0, "walls.floor_capacity": 0, "walls.loss": 1}
    parameters = {
        key: Measured(*(base.si(key) * np.exp(found.x[i] + side * spread[i]) for side in (0.0, -1.0, 1.0)))
        for key, i in logs.items()
        if spread[i] < _VAGUE
    }
    if not parameters:
        raise InputError(_VAGUE_READINGS)
    notes = [note for key, note in _UNTOLD.items() if key not in parameters]
    if "walls.film" in fit.names:
        i = 2 + fit.names.index("walls.film")
        ends = np.clip([found.x[i], found.x[i] - spread[i], found.x[i] + spread[i]], -1.0, 1.0)
        parameters["walls.film"] = Measured(*(float(fit.place("walls.film", z)) for z in ends))
    misfit = float(np.sqrt(np.mean((found.fun[: fit.readings.size] * fit.limit_K) ** 2)))
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
    """Least squares on readings and known ranges.

    Unknown: the logarithms of the factors on capacity and loss, and where each parameter known to a range lies in it.
    A miss is the distance of a reading or of such a parameter from its value, over its limit.
    """

    def __init__(self, base: Description, room: Room, test: WarmUpTest, errors: ReadingErrors) -> None:
        self.base, self.room, self.test = base, room, test
        self.limit_K = errors.thermometer_K
        self.readings = np.array([kelvin for _, kelvin in (*test.heating, *test.cooling[1:])])
        known = {
            "room": _around(room.temperature_K, errors.thermometer_K),
            **_known(base, "heater.power", "walls.film", "heater.radiant_share", "air.vents", "air.leak"),
        }
        if test.power_W is not None:
            known["heater.power"] = _around(test.power_W, errors.power_share * test.power_W)
        if base.si("heater.control") == "switching":
            known |= _known(base, "heater.element_lag")
        if test.cooling:
            known["held"] = _around(test.cooling[0][1], errors.thermometer_K)
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
        told = self._temperatures(z[:, None] + _NUDGE * np.hstack([np.zeros((z.size, 1)), np.eye(z.size)]))
        by_reading = (told[:, 1:] - told[:, :1]) / (_NUDGE * self.limit_K)
        return np.concatenate([by_reading, np.eye(z.size)[2:]])

    def _temperatures(self, z: np.ndarray) -> np.ndarray:
        """Air temperatures at the readings' times [K], shape (readings, cases)."""
        base, room = self.base, self.room
        x = {key: np.full(z.shape[1], value) for key, (value, _, _) in self.known.items()}
        for i, key in enumerate(self.names, start=2):
            x[key] = self.place(key, z[i])
        box = _box(base, x["room"], {**x, "walls.loss": base.si("walls.loss") * np.exp(z[1])})
        capacity = np.exp(z[0]) * np.array([[base.si("walls.capacity")], [base.si("walls.floor_capacity")]])
        fresh = (x["air.vents"] + x["air.leak"]) * _fresh_heat(room, room.relative_humidity)[1]
        heating, cooling = ([t for t, _ in part] for part in (self.test.heating, self.test.cooling))
        lag = x.get("heater.element_lag", 1.0)  # at once, for such a slow test
        power = x["heater.power"]
        out = [_course(box, capacity, fresh, 0.0 * capacity, lambda t: -power * np.expm1(-t / lag), heating)]
        if len(cooling) > 1:
            held = x["held"] - x["room"]
            shell, floor, keeping = box.steady(held, fresh * held)
            start = np.stack([shell, floor])
            out.append(
                _course(box, capacity, fresh, start, lambda t: keeping * np.exp(-t / lag), cooling[1:])
            )
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
