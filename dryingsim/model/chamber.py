r"""The air and the walls of an appliance: balances of energy and water for every air cell, and what drives them.

Cells: the *supply* (all the chamber air before the trays, where heater, vents, door and walls act) and one cell for
each tray, holding the air that leaves it. The states are amounts - energy [J] and water [kg] of each cell, energy of
shell and floor - so the sum of all of them with the running totals is a linear invariant, kept to round-off.

A tray is an exchanger: its slices meet the air that enters, through films limited by what the passing air can carry
(`faces.exchanged`). A tray loaded beyond its air therefore saturates it and can never overshoot.

Signs: everything positive into the chamber air unless the name says otherwise. Arrays of states may carry trailing
axes (trial states), and broadcast. Several appliances of one build go side by side on a last axis of `copies`: their
numbers are then arrays of that shape in place of floats (`side_by_side`), and the slabs' areas are (m, copies).
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Annotated, Any

import numpy as np

from dryingsim.batch.appliance_schema import Appliance, Door
from dryingsim.constants import GRAVITY, MASS_RATIO, STEFAN_BOLTZMANN, ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR
from dryingsim.model.system import FROM_ABOVE, FROM_BELOW
from dryingsim.properties import films, moist_air, water
from dryingsim.properties.moist_air import DRY_AIR_SPECIFIC_HEAT

STEAM_TEMPERATURE_K: Annotated[
    float, Evidence("K", "published", "saturated steam at the standard atmosphere, 100 degC")
] = 373.15
FLOOR_VIEW: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "of what the lowest tray sees below it, the share that is floor; the rest is shell. The view factor of parallel "
        "rectangles of 0.3-0.4 m at 0.05-0.2 m. Their temperatures are mixed linearly, not as fourth powers: of a "
        "floor 100 K hotter than the shell that takes 13 % of the heat",
        (0.3, 0.8),
    ),
] = 0.5
BOTTOM_TRAY = 0  # the first in the flow lies nearest the floor: a base fan blows upward
IDEAL_WIDTH_K: Annotated[
    float,
    Evidence(
        "K",
        "numerical",
        "an ideal thermostat goes from 95 % power to 5 % within three of these around its setting",
    ),
] = 0.1
_FOLLOWING = (
    "an ideal thermostat that senses the return sets the supply air by it: {}. An integral of a delayed signal stands "
    "still from 0.64 times the delay on and dies out without swinging from 2.7 on"
)
FOLLOWING_S: Annotated[float, Evidence("s", "estimate", _FOLLOWING.format("its time constant"))] = 30.0
FOLLOWING_ROUNDS: Annotated[
    float,
    Evidence("-", "estimate", _FOLLOWING.format("how many times as long as the air takes round at least")),
] = 3.0
HUMIDITY_WIDTH: Annotated[
    float,
    Evidence(
        "-", "numerical", "as `IDEAL_WIDTH_K`, of the humidity control: share of the vapour fraction held"
    ),
] = 0.005
WALL_EMISSIVITY: Annotated[
    float,
    Evidence("-", "estimate", "enamelled or plastic walls; bright sheet metal would be 0.1-0.3"),
] = 0.9
_SLIP_K: Annotated[
    float, Evidence("K", "numerical", "rounds off the square root of a vanishing density difference")
] = 1e-3
_SETTLING_S: Annotated[
    float, Evidence("s", "estimate", "in which fog settles; only has to be short against minutes")
] = 1.0
_PAN_FADE_KG: Annotated[
    float, Evidence("kg", "numerical", "a pan's evaporation fades out over its last grams")
] = 2e-3
_PAN_FILM_W_M2K: Annotated[
    float,
    Evidence("W/(m2 K)", "estimate", "still air over a pan on the floor (natural convection)", (5.0, 10.0)),
] = 8.0


def slot_flow(
    width_m: float, height_m: float, discharge: float, density_in: np.ndarray, density_out: np.ndarray
) -> np.ndarray:
    """Mass flow each way through a vertical slot between two airs of different density [kg/s].

    Parameters
    ----------
    width_m, height_m : float
        Of the slot [m].
    discharge : float
        Discharge coefficient [-].
    density_in, density_out : float or ndarray
        Of the air on either side [kg/m3].

    Notes
    -----
    Bernoulli from the neutral level z, which balances the masses: z/H = 1/(1 + (rho_heavy/rho_light)^(1/3)). The
    usual Cd (A/3) sqrt(g H dT/T) (BS 5925; CIBSE) is its limit for small differences and 5-10 % higher in an oven.

    Examples
    --------
    >>> warm, cold = 353.05 / 343.15, 353.05 / 295.15
    >>> round(1e3 * float(slot_flow(0.05, 0.35, 0.6, warm, cold)), 3)  # g/s
    2.792
    """
    heavy, light = np.maximum(density_in, density_out), np.minimum(density_in, density_out)
    difference = heavy - light
    # sqrt(d) with a finite slope at zero, where the flow itself is nil
    root = difference / np.sqrt(difference + _SLIP_K * heavy / 300.0)
    level = height_m / (1.0 + np.cbrt(heavy / light))
    return discharge * width_m * (2.0 / 3.0) * level**1.5 * np.sqrt(2.0 * GRAVITY * heavy) * root


def door_flow(door: Door | None, gap_m: float, density_in: np.ndarray, density_out: np.ndarray) -> np.ndarray:
    """Mass flow each way through a door left ajar [kg/s].

    A side-hinged door opens a slot of its own height; a bottom-hinged one opens a wedge at either side, together as
    large as that slot, and a slot of the gap's height along its top edge. A fan adds its draught over half the area
    each way.
    """
    if door is None or np.max(gap_m) <= 0.0:
        return np.zeros_like(density_in)
    flow = slot_flow(gap_m, door.height_m, door.discharge, density_in, density_out)
    area = gap_m * door.height_m
    if door.hinge == "bottom":
        flow = flow + slot_flow(door.width_m, gap_m, door.discharge, density_in, density_out)
        area += gap_m * door.width_m
    return flow + 0.5 * area * door.draught_m_s * density_in


@dataclass(frozen=True, slots=True)
class Setting:
    """What the appliance is set to in one stage."""

    temperature_K: float
    held_vapour_fraction: float | None  # None: the humidity is not controlled
    gap_m: float


@dataclass(frozen=True, slots=True)
class Load:
    """How the slabs lie in the chamber. `m` slabs on `trays` trays, tray 0 first in the flow.

    Attributes
    ----------
    tray : ndarray of int, shape (m,)
        Tray of each slab.
    trays : int
        Trays in use.
    area_m2 : ndarray, shape (m,) or (m, copies)
        Area of one face of all slices of a slab's kind on its tray [m2].
    cover : float
        Share of a tray's area that slices cover.
    """

    tray: np.ndarray
    trays: int
    area_m2: np.ndarray
    cover: float

    def view(self) -> np.ndarray:
        """Share of what the lower and upper face of each slab see that is floor or shell, shape (2, m[, copies]).

        Between trays a slice faces the slices of the next tray, nearly as warm as itself, and the shell through the
        gaps; only the lowest tray looks at the floor and the highest at the ceiling.
        """
        outward = np.stack([self.tray == BOTTOM_TRAY, self.tray == self.trays - 1])
        return np.where(outward if self.area_m2.ndim == 1 else outward[..., None], 1.0, 1.0 - self.cover)

    def moved_up(self) -> "Load":
        """Return the load with the first tray put last and the others moved one place up."""
        return replace(self, tray=(self.tray - 1) % self.trays)


class Chamber:
    """Air cells, shell and floor of an appliance with a given load and setting.

    States, in this order: energy of each cell (supply, tray 0, tray 1, ...) [J], water of each cell [kg], energy of the
    shell and of the floor [J], temperature of the thermostat's sensor, or the setting of the supply air by an ideal
    thermostat that senses the return [K], water [kg] and energy [J] of the pan, heat stored in the element [J]; then the
    running totals of `TOTALS`.
    """

    TOTALS = ("heater_J", "fan_J", "lost_J", "aired_J", "aired_kg", "steam_kg", "condensed_kg", "condensed_J")

    def __init__(
        self,
        appliance: Appliance,
        load: Load,
        room_temperature_K: float,
        room_vapour_fraction: float,
        pressure_Pa: float,
    ) -> None:
        self.appliance, self.load, self.pressure = appliance, load, pressure_Pa
        self.cells = load.trays + 1
        self._room_t, self.room_vapour_fraction = room_temperature_K, room_vapour_fraction
        self._room_w = humidity_ratio_of_fraction(room_vapour_fraction)
        self._room_e = moist_air.enthalpy(room_temperature_K, self._room_w)
        self._room_density = moist_air.density(
            room_temperature_K, room_vapour_fraction * pressure_Pa, pressure_Pa
        )
        density = moist_air.density(
            333.15, 2000.0, pressure_Pa
        )  # only sets how much air a litre of chamber holds
        trays = 0.5 * appliance.walls.volume_m3 / load.trays
        volume = np.array([0.5 * appliance.walls.volume_m3] + [trays] * load.trays)
        self.dry_air_kg = volume * density  # (cells,), or (cells, copies)
        self.copies = load.area_m2.shape[1:]  # (): one appliance, its states without that axis
        self.size = 2 * self.cells + 6 + len(self.TOTALS)
        self.inlet = (
            np.arange(load.trays) if appliance.trays.flow == "series" else np.zeros(load.trays, dtype=np.intp)
        )
        self.heater_on = True  # of a switching thermostat; changed only between steps
        self.floor_area_m2 = appliance.trays.length_m * appliance.trays.width_m

    def set(self, setting: Setting, load: Load) -> None:
        """Begin a stage or change the places of the trays."""
        self.setting, self.load = setting, load
        self.view = load.view()
        density = self._density_at(setting.temperature_K)
        self.circulation_kg_s = self.appliance.trays.circulation_m3_s * density
        around = self.dry_air_kg.sum(axis=0) / self.circulation_kg_s
        self.following_s = np.maximum(FOLLOWING_S, FOLLOWING_ROUNDS * around)
        self.deposit = self._deposit()

    def _density_at(self, temperature_K: float) -> float:
        density = moist_air.density(temperature_K, self.room_vapour_fraction * self.pressure, self.pressure)
        return density if self.copies else float(density)

    @property
    def tray_flow_kg_s(self) -> float:
        """Dry air past one tray [kg/s]."""
        trays = 1 if self.appliance.trays.flow == "series" else self.load.trays
        return self.circulation_kg_s / trays

    # --- states ------------------------------------------------------------------------------------------------
    def initial(self, temperature_K: float | np.ndarray) -> np.ndarray:
        """State with room air's humidity in every cell and walls and air at a temperature [K]."""
        c = np.zeros((self.size, *self.copies))
        n, walls, humid = self.cells, self.appliance.walls, self.appliance.moisture
        air = self.air_like(c)
        c[:n] = air * moist_air.enthalpy(temperature_K, self._room_w)
        c[n : 2 * n] = air * self._room_w
        c[2 * n] = walls.capacity_J_K * (temperature_K - ZERO_CELSIUS)
        c[2 * n + 1] = walls.floor_capacity_J_K * (temperature_K - ZERO_CELSIUS)
        c[2 * n + 2] = temperature_K
        c[2 * n + 3] = humid.pan_water_kg
        c[2 * n + 4] = humid.pan_water_kg * water.liquid_enthalpy(self._room_t)
        return c

    def cell_states(self, c: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Temperature [K], humidity ratio [kg/kg] and enthalpy [J/kg dry air] of the cells, first axis `cells`."""
        n = self.cells
        mass = self.air_like(c)
        e, w = c[:n] / mass, c[n : 2 * n] / mass
        t = ZERO_CELSIUS + (e - w * water.VAPOUR_ENTHALPY_0C) / (
            DRY_AIR_SPECIFIC_HEAT + w * water.VAPOUR_SPECIFIC_HEAT
        )
        return t, w, e

    def air_like(self, c: np.ndarray) -> np.ndarray:
        """Dry air of the cells [kg] in as many dimensions as the states have."""
        between = [1] * (c.ndim - self.dry_air_kg.ndim)
        return self.dry_air_kg.reshape(self.cells, *between, *self.dry_air_kg.shape[1:])

    def sensor_K(self, c: np.ndarray) -> np.ndarray:
        """Temperature of the thermostat's sensor [K]."""
        return c[2 * self.cells + 2]

    def wall_temperatures(self, c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Temperature of shell and floor [K]."""
        n, walls = 2 * self.cells, self.appliance.walls
        return ZERO_CELSIUS + c[n] / walls.capacity_J_K, ZERO_CELSIUS + c[n + 1] / walls.floor_capacity_J_K

    def inputs(self, c: np.ndarray) -> np.ndarray:
        """What the slabs feel: air temperature, vapour fraction, lower wall, upper wall; shape (4, m, ...)."""
        t, w, _ = self.cell_states(c)
        shell, floor = self.wall_temperatures(c)
        feeding = self.inlet[self.load.tray]
        lowest = (self.load.tray == BOTTOM_TRAY).reshape(-1, *([1] * (c.ndim - 1)))
        below = np.where(lowest, FLOOR_VIEW * floor + (1.0 - FLOOR_VIEW) * shell, shell)
        return np.stack([t[feeding], vapour_fraction(w[feeding]), below, np.broadcast_to(shell, below.shape)])

    # --- balances ----------------------------------------------------------------------------------------------
    def rates(self, c: np.ndarray) -> np.ndarray:
        """Time derivative of the states, without what the slabs add (`deposit`)."""
        n = self.cells
        t, w, e = self.cell_states(c)
        shell, floor = self.wall_temperatures(c)
        out = np.zeros_like(c)
        energy, vapour, total = out[:n], out[n : 2 * n], out[2 * n + 6 :]
        e_return, w_return = self._carry(e, w, energy, vapour)
        self._ventilate(t[0], w[0], e[0], e_return, w_return, energy, vapour, total)
        self._control(c, t, w, e_return, w_return, out, total)
        self._wall_exchange(t[0], w[0], shell, floor, out, total)
        self._settle_fog(t, w, energy, vapour, total)
        if np.max(self.appliance.moisture.pan_area_m2) > 0.0:
            self._evaporate_pan(c, t[0], w[0], floor, out)
        total[1] = self.appliance.heater.fan_W
        energy[0] += self.appliance.heater.fan_W
        return out

    def _carry(
        self, e: np.ndarray, w: np.ndarray, energy: np.ndarray, vapour: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Air from supply over the trays and back; returns enthalpy and humidity of the returning air."""
        for amount, rate in ((e, energy), (w, vapour)):
            rate[1:] = self.tray_flow_kg_s * (amount[self.inlet] - amount[1:])
        last = slice(-1, None) if self.appliance.trays.flow == "series" else slice(1, None)
        e_return, w_return = e[last].mean(axis=0), w[last].mean(axis=0)
        energy[0] = self.circulation_kg_s * (e_return - e[0])
        vapour[0] = self.circulation_kg_s * (w_return - w[0])
        return e_return, w_return

    def exchange_kg_s(self, t: np.ndarray, w: np.ndarray) -> np.ndarray:
        """Dry air exchanged with the room through door and leaks [kg/s] for chamber air of temperature and humidity."""
        density = moist_air.density(t, vapour_fraction(w) * self.pressure, self.pressure)
        mixed = door_flow(self.appliance.door, self.setting.gap_m, density, self._room_density)
        return (mixed + self.appliance.ventilation.leakage_m3_s * self._room_density) / (1.0 + self._room_w)

    @property
    def vent_kg_s(self) -> float:
        """Dry room air drawn in before the trays [kg/s]; not more than passes them."""
        drawn = self.appliance.ventilation.vents_m3_s * self._room_density / (1.0 + self._room_w)
        return drawn if np.all(drawn <= self.circulation_kg_s) else np.minimum(drawn, self.circulation_kg_s)

    def _ventilate(
        self,
        t: np.ndarray,
        w: np.ndarray,
        e: np.ndarray,
        e_return: np.ndarray,
        w_return: np.ndarray,
        energy: np.ndarray,
        vapour: np.ndarray,
        total: np.ndarray,
    ) -> None:
        """Exchange with the room: vents take the returning air's place, door and leaks mix into the chamber."""
        mixed, vent = self.exchange_kg_s(t, w), self.vent_kg_s
        mixed = mixed + self._purge(t, w)
        gain_e = vent * (self._room_e - e_return) + mixed * (self._room_e - e)
        gain_w = vent * (self._room_w - w_return) + mixed * (self._room_w - w)
        energy[0] += gain_e
        vapour[0] += gain_w
        total[3], total[4] = -gain_e, -gain_w

    def _purge(self, t: np.ndarray, w: np.ndarray) -> np.ndarray:
        """Extra exchange that a humidity control calls for [kg/s]."""
        held = self.setting.held_vapour_fraction
        if held is None:
            return np.zeros_like(t)
        over = vapour_fraction(w) / held - 1.0
        return (
            self.appliance.moisture.purge_m3_s * self._room_density * _share_on(over / HUMIDITY_WIDTH - 5.0)
        )

    def _heat(self, short: np.ndarray, stored_J: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Power taken by the heater and power it gives off [W], for what the air is short of its setting [K]."""
        heater = self.appliance.heater
        if heater.control == "switching":
            taken = np.full_like(short, heater.power_W if self.heater_on else 0.0)
            return taken, stored_J / np.maximum(heater.element_lag_s, 1.0)
        power = heater.power_W * _share_on(short / IDEAL_WIDTH_K)
        return power, power

    def _thermostat(
        self, held: np.ndarray, supply: np.ndarray, sensed: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """What the air is short of its setting, and the rate of the thermostat's own state `held` [K].

        Sensing the return, the supply air is kept at `held`, which tends to what the supply is and the return lacks. So
        it comes to rest where the heater works by what the return lacks, and cannot run away while the heater is full on.
        """
        heater, short = self.appliance.heater, self.setting.temperature_K - sensed
        if heater.control == "ideal" and heater.sensor == "return":
            return held - supply, (supply + short - held) / self.following_s
        return short, (sensed - held) / np.maximum(heater.sensor_lag_s, 1.0)

    def sensed_K(self, t: np.ndarray, e_return: np.ndarray, w_return: np.ndarray) -> np.ndarray:
        """Air temperature where the thermostat's sensor sits [K]."""
        if self.appliance.heater.sensor == "supply":
            return t[0]
        return ZERO_CELSIUS + (e_return - w_return * water.VAPOUR_ENTHALPY_0C) / (
            DRY_AIR_SPECIFIC_HEAT + w_return * water.VAPOUR_SPECIFIC_HEAT
        )

    def _control(
        self,
        c: np.ndarray,
        t: np.ndarray,
        w: np.ndarray,
        e_return: np.ndarray,
        w_return: np.ndarray,
        out: np.ndarray,
        total: np.ndarray,
    ) -> None:
        """Heater, its sensor, and steam."""
        n, heater = self.cells, self.appliance.heater
        sensed = self.sensed_K(t, e_return, w_return)
        short, out[2 * n + 2] = self._thermostat(c[2 * n + 2], t[0], sensed)
        taken, power = self._heat(short, c[2 * n + 5])
        out[0] += (1.0 - heater.radiant_share) * power
        out[2 * n + 1] += heater.radiant_share * power
        out[2 * n + 5] = taken - power
        total[0] = taken
        held = self.setting.held_vapour_fraction
        if held is not None:
            short = 1.0 - vapour_fraction(w[0]) / held
            steam = self.appliance.moisture.steam_kg_s * _share_on(short / HUMIDITY_WIDTH - 5.0)
            out[n] += steam
            out[0] += steam * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
            total[5] = steam

    def _wall_exchange(
        self,
        t: np.ndarray,
        w: np.ndarray,
        shell: np.ndarray,
        floor: np.ndarray,
        out: np.ndarray,
        total: np.ndarray,
    ) -> None:
        """Films on shell and floor, loss to the room, radiation between them, dew on a cold shell (it runs off)."""
        n, walls = self.cells, self.appliance.walls
        to_shell = walls.film_W_m2K * walls.area_m2 * (t - shell)
        to_floor = walls.film_W_m2K * self.floor_area_m2 * (t - floor)
        radiated = WALL_EMISSIVITY * STEFAN_BOLTZMANN * self.floor_area_m2 * (floor**4 - shell**4)
        lost = walls.loss_W_K * (shell - self._room_t)
        saturated = water.saturation_pressure_liquid(shell) / self.pressure
        excess = films.log_dry(vapour_fraction(w)) - films.log_dry(np.minimum(saturated, 0.99))
        dew = _dew_film(walls.film_W_m2K) * walls.area_m2 * np.maximum(excess, 0.0)
        latent = dew * water.vapour_enthalpy(t)
        drained = dew * water.liquid_enthalpy(shell)
        out[0] -= to_shell + to_floor + latent
        out[n] -= dew
        out[2 * n] += to_shell + radiated - lost + latent - drained
        out[2 * n + 1] += to_floor - radiated
        total[2], total[6], total[7] = lost, dew, drained

    def _settle_fog(
        self, t: np.ndarray, w: np.ndarray, energy: np.ndarray, vapour: np.ndarray, total: np.ndarray
    ) -> None:
        """Vapour beyond saturation condenses in the air and settles: its latent heat stays, the water runs off."""
        saturated = np.minimum(water.saturation_pressure_liquid(t) / self.pressure, 0.99)
        excess = np.maximum(w - MASS_RATIO * saturated / (1.0 - saturated), 0.0)
        fog = excess * self.air_like(t) * (1.0 / _SETTLING_S)
        drained = fog * water.liquid_enthalpy(t)
        vapour -= fog
        energy -= drained
        total[6] += fog.sum(axis=0)
        total[7] += drained.sum(axis=0)

    def _evaporate_pan(
        self, c: np.ndarray, t: np.ndarray, w: np.ndarray, floor: np.ndarray, out: np.ndarray
    ) -> None:
        """An open pan on the floor: evaporation, convection, contact with the floor."""
        n, area = self.cells, self.appliance.moisture.pan_area_m2
        mass = np.maximum(c[2 * n + 3], 1e-6)
        temperature = ZERO_CELSIUS + c[2 * n + 4] / (mass * water.LIQUID_SPECIFIC_HEAT)
        left = mass / (mass + _PAN_FADE_KG)
        saturated = water.saturation_pressure_liquid(np.minimum(temperature, 400.0)) / self.pressure
        film = _PAN_FILM_W_M2K * area * left
        steam = films.stefan_flux(_dew_film(film), vapour_fraction(w), saturated)
        from_air = film * (t - temperature)
        from_floor = (
            4.0 * film * (floor - temperature)
        )  # contact; estimate, a pan is within some kelvin of its floor
        carried = steam * water.vapour_enthalpy(temperature)
        out[n] += steam
        out[0] += carried - from_air
        out[2 * n + 1] -= from_floor
        out[2 * n + 3] -= steam
        out[2 * n + 4] += from_air + from_floor - carried

    def _deposit(self) -> np.ndarray:
        """How what passes each slab per area [kg/(m2 s), W/m2] enters the balances: (size, 5 * m[, copies])."""
        n, m = self.cells, self.load.tray.size
        out = np.zeros((self.size, 5, m, *self.copies))
        slab, cell, area = np.arange(m), 1 + self.load.tray, self.load.area_m2
        shell, floor = 2 * n, 2 * n + 1
        out[cell, CARRIED, slab] = area
        out[cell, CONVECTED, slab] = -area
        out[n + cell, VAPOUR, slab] = area
        from_floor = np.where(self.load.tray == BOTTOM_TRAY, FLOOR_VIEW, 0.0)
        from_floor = from_floor[:, None] if self.copies else from_floor
        out[floor, FROM_BELOW, slab] = -area * from_floor
        out[shell, FROM_BELOW, slab] = -area * (1.0 - from_floor)
        out[shell, FROM_ABOVE, slab] = -area
        return out.reshape(self.size, 5 * m, *self.copies)

    def totals(self, c: np.ndarray) -> dict[str, np.ndarray]:
        """Running totals of states (size, ...), by their names in `TOTALS`."""
        return dict(zip(self.TOTALS, c[-len(self.TOTALS) :], strict=True))

    def supplied_J(self, c: np.ndarray) -> np.ndarray:
        """Energy supplied since the start [J]: by the heater, the fan and as steam."""
        total = self.totals(c)
        steam = total["steam_kg"] * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
        return total["heater_J"] + total["fan_J"] + steam

    def content(self, c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Energy [J] and water [kg] held, less what came in and plus what left by other ways than the slabs.

        Constant but for what the slabs give and take.
        """
        n = self.cells
        total = self.totals(c)
        energy = c[:n].sum(axis=0) + c[2 * n] + c[2 * n + 1] + c[2 * n + 4] + c[2 * n + 5]
        energy = energy - total["heater_J"] - total["fan_J"] + total["lost_J"] + total["aired_J"]
        energy = (
            energy + total["condensed_J"] - total["steam_kg"] * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
        )
        moisture = c[n : 2 * n].sum(axis=0) + c[2 * n + 3]
        return energy, moisture - total["steam_kg"] + total["aired_kg"] + total["condensed_kg"]


def side_by_side(ones: Sequence[Any]) -> Any:
    """Return one description in place of several of one build: numbers that differ become arrays.

    Examples
    --------
    >>> side_by_side([Setting(340.0, None, 0.0), Setting(350.0, None, 0.0)])
    Setting(temperature_K=array([340., 350.]), held_vapour_fraction=None, gap_m=0.0)
    """
    first = ones[0]
    if all(one == first for one in ones):
        return first
    if isinstance(first, tuple):
        return tuple(map(side_by_side, zip(*ones, strict=True)))
    if is_dataclass(first) and not isinstance(first, type):
        parts = {field.name: [getattr(one, field.name) for one in ones] for field in fields(first)}
        return replace(first, **{name: side_by_side(part) for name, part in parts.items()})
    return np.array(ones, dtype=float)


def _share_on(demand: np.ndarray) -> np.ndarray:
    """Smooth switch from 0 to 1 around zero: a control without corners, which a solver would stumble over."""
    return 0.5 * (1.0 + np.tanh(0.5 * demand))


def _dew_film(film_W_m2K: float | np.ndarray) -> float | np.ndarray:
    """Vapour film [kg/(m2 s)] that goes with a heat film, at a film of 320 K."""
    return film_W_m2K * float(films.mass_film_factor(320.0, 2000.0, 101325.0))


def vapour_fraction(humidity_ratio_of_fraction: np.ndarray) -> np.ndarray:
    """Mole fraction of vapour for a humidity ratio [kg/kg]."""
    return humidity_ratio_of_fraction / (MASS_RATIO + humidity_ratio_of_fraction)


def humidity_ratio_of_fraction(vapour_fraction: float) -> float:
    """Humidity ratio [kg/kg] for a mole fraction of vapour."""
    return MASS_RATIO * vapour_fraction / (1.0 - vapour_fraction)
