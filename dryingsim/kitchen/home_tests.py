"""Tests of an empty appliance with a kitchen scale, a thermometer and a clock: what `pan` and `warm_up` share.

Ranges: readings are known to error limits, parameters not measured to the range of their description. What these do
to the answer is added as squares; if errors lie evenly within their limits, it then holds the truth 9 times in 10.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from dryingsim.batch.appliance_description import Description
from dryingsim.batch.schema import Room
from dryingsim.constants import STEFAN_BOLTZMANN
from dryingsim.evidence import Evidence
from dryingsim.model.chamber import WALL_EMISSIVITY
from dryingsim.properties import moist_air, water
from dryingsim.typing import Array

Range = tuple[float, float, float]  # value, lowest, highest
_ROUNDS: Annotated[
    int, Evidence("-", "numerical", "of fixed-point iterations, each closing the miss by more than half")
] = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingErrors:
    """Error limits of the instruments: of one weighing [kg], one temperature [K], a power (as a share).

    Attributes
    ----------
    scale_kg : float
        [kg].
    thermometer_K : float
        [K].
    power_share : float
        [-].
    """

    scale_kg: float = 1e-3
    thermometer_K: float = 1.0
    power_share: float = 0.05


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value and the range it is known to, in SI.

    Attributes
    ----------
    low : float
        End of the range.
    high : float
        End of the range.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Findings:
    """What a test tells, and what it could not tell.

    Attributes
    ----------
    parameters : dict[str, Measured]
        By the key of the appliance's description.
    film : Measured or None
        Over the pan [W/(m2 K)].
    misfit_K : float or None
        Root mean square of the temperatures' distance from the fitted ones.
    notes : tuple[str, ...]
        What it could not tell, and why.
    """

    test: str
    parameters: dict[str, Measured]
    film: Measured | None
    misfit_K: float | None
    notes: tuple[str, ...]

    def described(self, base: Description) -> Description:
        """Return the description with what was measured in it.

        Parameters
        ----------
        base : Description
            The appliance as known before the test.
        """
        values = {key: (m.value, m.low, m.high) for key, m in self.parameters.items()}
        return base.measured(self.test, values)


@dataclass(frozen=True, slots=True)
class EmptyChamber:
    """Shell, floor and air of the empty appliance. Temperatures are above the room's [K]; fields may be arrays.

    Attributes
    ----------
    room_K : Array
        [K].
    to_shell_W_K : Array
        From the air to the shell [W/K].
    to_floor_W_K : Array
        From the air to the floor [W/K].
    floor_m2 : float
        [m2].
    loss_W_K : Array
        From the shell to the room [W/K].
    radiant_share : Array
        Of the heater's power, to the floor [-].
    fan_W : float
        Power of the fan [W].
    """

    room_K: Array
    to_shell_W_K: Array
    to_floor_W_K: Array
    floor_m2: float
    loss_W_K: Array
    radiant_share: Array
    fan_W: float

    def radiated(self, floor: Array, shell: Array) -> Array:
        """Radiation from floor to shell per kelvin between them [W/K].

        Parameters
        ----------
        floor, shell : float or ndarray
            Temperatures above the room's [K].
        """
        f, s = self.room_K + floor, self.room_K + shell
        return WALL_EMISSIVITY * STEFAN_BOLTZMANN * self.floor_m2 * (f * f + s * s) * (f + s)

    def air(self, shell: Array, floor: Array, power: Array, fresh_W_K: Array) -> Array:
        """Temperature of the air between the walls, above the room's [K].

        Parameters
        ----------
        shell, floor : float or ndarray
            Temperatures above the room's [K].
        power : float or ndarray
            Of the heater [W].
        fresh_W_K : float or ndarray
            What the fresh air takes per kelvin that it is warmed [W/K].
        """
        by_walls = self.to_shell_W_K * shell + self.to_floor_W_K * floor
        return ((1.0 - self.radiant_share) * power + self.fan_W + by_walls) / (
            self.to_shell_W_K + self.to_floor_W_K + fresh_W_K
        )

    def steady(self, air: Array, taken_W: Array, power: Array | None = None) -> tuple[Array, Array, Array]:
        """Shell and floor above the room [K] and the heater's power [W] when the air is held.

        Parameters
        ----------
        air : float or ndarray
            Temperature of the air above the room's [K].
        taken_W : float or ndarray
            What fresh air and water take [W].
        power : float or ndarray, optional
            Of the heater [W]; what holds the air if left out.
        """
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


def chamber_of(base: Description, room_K: Array, values: Mapping[str, Array]) -> EmptyChamber:
    """Return the empty chamber of an appliance.

    Parameters
    ----------
    base : Description
        The appliance as known so far.
    room_K : float or ndarray
        Temperature of the room [K].
    values : mapping of str to float or ndarray
        What is known to a range only, in SI, by its key of the description: `walls.film` [W/(m2 K)], `walls.loss` [W/K]
        and `heater.radiant_share` [-].

    Examples
    --------
    What the walls of a small dehydrator take when its air is held 40 K above the room [W]:

    >>> from dryingsim.batch.catalog.appliances import find_appliance
    >>> base = find_appliance("", "stacked dehydrator")
    >>> ranges = described_ranges(base, "walls.film", "walls.loss", "heater.radiant_share")
    >>> chamber = chamber_of(base, 294.15, {key: value for key, (value, _, _) in ranges.items()})
    >>> shell, _, _ = chamber.steady(40.0, 0.0)
    >>> round(float(chamber.loss_W_K * shell))
    58
    """
    floor = base.si("trays.length") * base.si("trays.width")
    return EmptyChamber(
        room_K=room_K,
        to_shell_W_K=values["walls.film"] * base.si("walls.area"),
        to_floor_W_K=values["walls.film"] * floor,
        floor_m2=floor,
        loss_W_K=values["walls.loss"],
        radiant_share=values["heater.radiant_share"],
        fan_W=base.si("heater.fan_power"),
    )


def described_ranges(base: Description, *keys: str) -> dict[str, Range]:
    """Return parameters that a test has to take from the description, with their ranges in SI.

    Parameters
    ----------
    base : Description
    keys : str
        Of the description.

    Examples
    --------
    >>> from dryingsim.batch.catalog.appliances import find_appliance
    >>> value, low, high = described_ranges(find_appliance("", "stacked dehydrator"), "walls.loss")["walls.loss"]
    >>> low < value < high
    True
    """
    return {key: (base.si(key), *base.limits(key)) for key in keys}


def around(value: float, limit: float) -> Range:
    """Return a reading and how low and how high the quantity may be.

    Parameters
    ----------
    value, limit : float
        The reading and its error limit, both in the unit of the range [any].

    Examples
    --------
    >>> around(300.0, 1.0)
    (300.0, 299.0, 301.0)
    """
    return value, value - limit, value + limit


def room_air(room: Room, relative_humidity: float) -> tuple[float, float]:
    """Dry air [kg/m3] in the room's air, and its heat capacity with the vapour in it [J/(m3 K)].

    Parameters
    ----------
    room : Room
        Its own humidity is not looked at.
    relative_humidity : float
        Of the room's air [-].

    Examples
    --------
    >>> dry, heat = room_air(Room(temperature_K=294.15, relative_humidity=0.5), 0.45)
    >>> round(dry, 3), round(heat)
    (1.187, 1209)
    """
    vapour = relative_humidity * float(water.saturation_pressure(room.temperature_K))
    w = float(moist_air.humidity_ratio(vapour, room.pressure_Pa))
    dry = float(moist_air.density(room.temperature_K, vapour, room.pressure_Pa)) / (1.0 + w)
    return dry, dry * (moist_air.DRY_AIR_SPECIFIC_HEAT + w * water.VAPOUR_SPECIFIC_HEAT)
