r"""*Pan test* of an empty appliance: how strongly its air sweeps a tray, and how much fresh air comes in.

A shallow pan of water stands on a tray, in steady conditions; the weight it loses gives the film coefficient at the
tray, written as the air speed at which the slices' own correlations give it. The loss alone cannot tell how much
fresh air comes in: a film and an air's moisture together make the loss. The moisture is then that which the described
fresh air leaves, over its whole range. With the air's wet bulb, or the mean power drawn, fresh air is found as well:

.. math:: \dot m = G (w - w_{room}),\qquad
          P + P_{fan} = U(T_{shell} - T_{room}) + G c (T - T_{room}) + \dot m\,(h_v(T) - h_l(T_{pan}))
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.batch.appliance_description import Description
from dryingsim.batch.schema import Room
from dryingsim.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.kitchen.home_tests import (
    Findings,
    Measured,
    Range,
    ReadingErrors,
    around,
    chamber_of,
    described_ranges,
    room_air,
)
from dryingsim.model.air import slice_film
from dryingsim.model.build import EMISSIVITY
from dryingsim.model.faces import AirAtSlabs, Film, film_coefficient
from dryingsim.properties import films, moist_air, water

FASTEST_M_S: Annotated[float, Evidence("m/s", "estimate", "above any speed in an appliance")] = 10.0
_PAN_METAL: Annotated[
    tuple[float, float, float],
    Evidence(
        "-",
        "from memory",
        "emissivity of the pan's underside, likely, least and most: bright sheet to enamel",
    ),
] = (0.5, 0.1, 0.9)
_HYGROMETER: Annotated[
    float, Evidence("-", "estimate", "error limit of a household hygrometer, as relative humidity")
] = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PanTest:
    """Readings of a pan test, taken once the water has reached its own steady temperature.

    Attributes
    ----------
    length_m : float
        Of the water's surface, along the air flow.
    width_m : float
        Across it.
    lost_kg : float
        The difference of two weighings.
    duration_s : float
        Between them.
    air_K : float
        At the tray.
    wet_bulb_K : float or None
        Of the air at the tray.
    power_W : float or None
        Mean electric power of the whole appliance; not along with a wet bulb.
    """

    length_m: float
    width_m: float
    lost_kg: float
    duration_s: float
    air_K: float
    wet_bulb_K: float | None = None
    power_W: float | None = None


def pan_test(base: Description, room: Room, test: PanTest, errors: ReadingErrors | None = None) -> Findings:
    """Air speed at the tray, and fresh air where a second figure is given.

    Parameters
    ----------
    base : Description
        The appliance as known so far.
    room : Room
    test : PanTest
        The readings.
    errors : ReadingErrors, optional
        Of the instruments; those of a household if left out.

    Raises
    ------
    InputError
        If no air can do what was read.

    Examples
    --------
    A pan of 0.2 by 0.15 m that loses 30 g in an hour at 60 degC: the air speed [m/s] and its range.

    >>> from dryingsim.batch.catalog.appliances import find_appliance
    >>> room = Room(temperature_K=294.15, relative_humidity=0.45)
    >>> test = PanTest(length_m=0.2, width_m=0.15, lost_kg=0.03, duration_s=3600.0, air_K=333.15)
    >>> speed = pan_test(find_appliance("", "stacked dehydrator"), room, test).parameters["air.speed"]
    >>> round(speed.value, 2), round(speed.low, 2), round(speed.high, 2)
    (1.22, 0.94, 1.56)
    """
    inputs = _inputs(base, room, test, errors or ReadingErrors())
    best, low, high = _with_range(lambda values: _answer(base, room, test, values), inputs)
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
        parameters.update(_vents_or_leak(base, fresh))
    return Findings("pan test", parameters, film, None, tuple(notes))


_STILL = "The air moves too little to tell from its own buoyancy: the speed is taken as nil."
_ONE_FIGURE = (
    "One loss of weight tells how strongly the air sweeps the tray, not how much fresh air comes in: that was taken "
    "from the description, {:.3g} to {:.3g} m3/h. The wet bulb or the mean power tells it as well."
)
_TOO_MUCH_AIR = "The air is too nearly as dry as the room's to tell how much comes in: {:.3g} m3/h or more."


def _vents_or_leak(base: Description, fresh: Measured) -> dict[str, Measured]:
    """Fresh air as the parameters hold it: by the vents where there are some, else by the leak."""
    if not base.si("air.vents") > 0.0:
        return {"air.leak": fresh}
    leak = base.si("air.leak")
    return {"air.vents": Measured(*(max(v - leak, 0.0) for v in (fresh.value, fresh.low, fresh.high)))}


def _inputs(base: Description, room: Room, test: PanTest, errors: ReadingErrors) -> Mapping[str, Range]:
    scale, humidity = np.sqrt(2.0) * errors.scale_kg, room.relative_humidity  # two weighings
    inputs = {
        "lost": (test.lost_kg, max(test.lost_kg - scale, 1e-6), test.lost_kg + scale),
        "air": around(test.air_K, errors.thermometer_K),
        "room": around(room.temperature_K, errors.thermometer_K),
        "humidity": (humidity, max(humidity - _HYGROMETER, 0.0), min(humidity + _HYGROMETER, 1.0)),
        "metal": _PAN_METAL,
        **described_ranges(base, "walls.film", "walls.loss", "heater.radiant_share"),
    }
    if test.wet_bulb_K is not None:
        inputs["wet_bulb"] = around(test.wet_bulb_K, errors.thermometer_K)
    elif test.power_W is not None:
        inputs["power"] = around(test.power_W, errors.power_share * test.power_W)
    else:
        inputs.update(described_ranges(base, "air.vents", "air.leak"))
    return inputs


def _answer(base: Description, room: Room, test: PanTest, x: Mapping[str, float]) -> np.ndarray:
    """Speed [m/s], film [W/(m2 K)] and fresh air [m3/s] for one set of inputs; infinite where there is none."""
    p, rate = room.pressure_Pa, x["lost"] / test.duration_s
    above, chamber = x["air"] - x["room"], chamber_of(base, x["room"], x)
    w_room = float(moist_air.humidity_ratio(x["humidity"] * water.saturation_pressure(x["room"]), p))
    dry, heat = room_air(room, x["humidity"])
    cool = 0.5 * (x["air"] + x["room"])  # about that of the water
    taken = rate * (water.vapour_enthalpy(x["air"]) - water.liquid_enthalpy(cool))
    w = None
    if "power" in x:
        shell, _, _ = chamber.steady(above, taken, x["power"] - chamber.fan_W)
        flow = max((x["power"] - chamber.loss_W_K * shell - taken) / (heat * above), 0.0)
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
        shell, _, _ = chamber.steady(above, taken + drawn * heat * above)
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
        air, vapour, speed, length, width = np.array(
            [[self.air_K], [self.vapour_Pa], [1.0], [self.test.length_m], [self.test.width_m]]
        )
        film = slice_film(air, vapour, self.pressure_Pa, speed, length, width)

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
        surroundings = AirAtSlabs(air, np.array([y]), walls, np.ones((2, 1)), self.pressure_Pa, film)

        def at(t: float) -> tuple[float, float, float]:
            """Heat into the water, vapour out of it, and the film on it."""
            y_water = float(water.saturation_pressure_liquid(t)) / self.pressure_Pa
            h = film_coefficient(surroundings, np.full((2, 1), t), np.array([[y], [y_water]]))[:, 0]
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


def _with_range(
    answer: Callable[[dict[str, float]], np.ndarray], inputs: Mapping[str, Range]
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
