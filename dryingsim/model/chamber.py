r"""The air and the walls of an appliance: balances of energy and water for every air cell, and what drives them.

Cells: the *supply* (all the chamber air before the trays, where heater, vents, door and walls act) and one cell for
each tray, holding the air that leaves it. The states are amounts - energy [J] and water [kg] of each cell, energy of
shell and floor - so the sum of all of them with the running totals is a linear invariant, kept to round-off.

A tray is an exchanger: its slices meet the air that enters, through films limited by what the passing air can carry
(`faces.exchanged`). A tray loaded beyond its air therefore saturates it and can never overshoot.

Signs: everything positive into the chamber air unless the name says otherwise. Arrays of states may carry trailing
axes (trial states), and broadcast. Several appliances of one build go side by side on a last axis of `copies`: their
numbers are then arrays of that shape in place of floats (`load.side_by_side`), and the slabs' areas are (m, copies).
"""

from typing import Annotated

import numpy as np

from dryingsim.batch.appliance_schema import Appliance
from dryingsim.constants import COLDEST_K, STANDARD_PRESSURE, STEFAN_BOLTZMANN, ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.model.chamber_rows import TOTALS, ChamberRows
from dryingsim.model.door import door_flow
from dryingsim.model.faces import CARRIED, CONVECTED, VAPOUR
from dryingsim.model.load import BOTTOM_TRAY, Load, Setting
from dryingsim.model.system import FROM_ABOVE, FROM_BELOW
from dryingsim.model.thermostat import following_time, heater_power, humidity_share, shortfall
from dryingsim.properties import films, moist_air, water

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
WALL_EMISSIVITY: Annotated[
    float,
    Evidence("-", "estimate", "enamelled or plastic walls; bright sheet metal would be 0.1-0.3"),
] = 0.9
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
_PAN_CONTACT: Annotated[
    float,
    Evidence("-", "estimate", "contact with the floor, in films of the pan: within some kelvin of its floor"),
] = 4.0


class Chamber:
    """Air cells, shell and floor of an appliance with a given load and setting.

    What stands where in its state, `rows` says.
    """

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
        self.rows = ChamberRows(self.cells)
        self._room_t, self.room_vapour_fraction = room_temperature_K, room_vapour_fraction
        self._room_w = moist_air.humidity_ratio(room_vapour_fraction, 1.0)
        self._room_e = moist_air.enthalpy(room_temperature_K, self._room_w)
        self._room_density = moist_air.density(
            room_temperature_K, room_vapour_fraction * pressure_Pa, pressure_Pa
        )
        # only sets how much air a litre of chamber holds
        density = moist_air.density(333.15, 2000.0, pressure_Pa)
        trays = 0.5 * appliance.walls.volume_m3 / load.trays
        volume = np.array([0.5 * appliance.walls.volume_m3] + [trays] * load.trays)
        self.dry_air_kg = volume * density  # (cells,), or (cells, copies)
        self.copies = load.area_m2.shape[1:]  # (): one appliance, its states without that axis
        self.inlet = (
            np.arange(load.trays) if appliance.trays.flow == "series" else np.zeros(load.trays, dtype=np.intp)
        )
        self.heater_share = 1.0  # of its power, as a switching thermostat has it; changed only between steps
        # vapour film over heat film [kg K/J], of walls and pan
        self._mass_film = float(films.mass_film_factor(320.0, 2000.0, STANDARD_PRESSURE))
        self.floor_area_m2 = appliance.trays.length_m * appliance.trays.width_m

    def set(self, setting: Setting, load: Load) -> None:
        """Begin a stage or change the places of the trays."""
        self.setting, self.load = setting, load
        self.view = load.view()
        density = self._density_at(setting.temperature_K)
        self.circulation_kg_s = self.appliance.trays.circulation_m3_s * density
        around = self.dry_air_kg.sum(axis=0) / self.circulation_kg_s
        self.following_s = following_time(around)
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
        rows, walls, humid = self.rows, self.appliance.walls, self.appliance.moisture
        c = np.zeros((rows.size, *self.copies))
        air = self.air_like(c)
        c[rows.energy] = air * moist_air.enthalpy(temperature_K, self._room_w)
        c[rows.water] = air * self._room_w
        c[rows.shell_J] = walls.capacity_J_K * (temperature_K - ZERO_CELSIUS)
        c[rows.floor_J] = walls.floor_capacity_J_K * (temperature_K - ZERO_CELSIUS)
        c[rows.thermostat_K] = temperature_K
        c[rows.pan_kg] = humid.pan_water_kg
        c[rows.pan_J] = humid.pan_water_kg * water.liquid_enthalpy(self._room_t)
        return c

    def cell_states(self, c: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Temperature [K], humidity ratio [kg/kg] and enthalpy [J/kg dry air] of the cells, first axis `cells`.

        None is colder than `COLDEST_K`, nor are the walls: a solver's trial state may be anything, and the step is refused.
        """
        mass = self.air_like(c)
        e, w = c[self.rows.energy] / mass, c[self.rows.water] / mass
        return np.maximum(moist_air.temperature_from_enthalpy(e, w), COLDEST_K), w, e

    def air_like(self, c: np.ndarray) -> np.ndarray:
        """Dry air of the cells [kg] in as many dimensions as the states have."""
        between = [1] * (c.ndim - self.dry_air_kg.ndim)
        return self.dry_air_kg.reshape(self.cells, *between, *self.dry_air_kg.shape[1:])

    def sensor_K(self, c: np.ndarray) -> np.ndarray:
        """Temperature of the thermostat's sensor [K]."""
        return c[self.rows.thermostat_K]

    def wall_temperatures(self, c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Temperature of shell and floor [K]."""
        rows, walls = self.rows, self.appliance.walls
        shell = ZERO_CELSIUS + c[rows.shell_J] / walls.capacity_J_K
        floor = ZERO_CELSIUS + c[rows.floor_J] / walls.floor_capacity_J_K
        return np.maximum(shell, COLDEST_K), np.maximum(floor, COLDEST_K)

    def inputs(self, c: np.ndarray) -> np.ndarray:
        """What the slabs feel: air temperature, vapour fraction, lower wall, upper wall; shape (4, m, ...)."""
        t, w, _ = self.cell_states(c)
        shell, floor = self.wall_temperatures(c)
        feeding = self.inlet[self.load.tray]
        lowest = (self.load.tray == BOTTOM_TRAY).reshape(-1, *([1] * (c.ndim - 1)))
        below = np.where(lowest, FLOOR_VIEW * floor + (1.0 - FLOOR_VIEW) * shell, shell)
        return np.stack(
            [t[feeding], moist_air.vapour_fraction(w[feeding]), below, np.broadcast_to(shell, below.shape)]
        )

    # --- balances ----------------------------------------------------------------------------------------------
    def rates(self, c: np.ndarray) -> np.ndarray:
        """Time derivative of the states, without what the slabs add (`deposit`)."""
        rows = self.rows
        t, w, e = self.cell_states(c)
        shell, floor = self.wall_temperatures(c)
        out = np.zeros_like(c)
        e_return, w_return = self._carry(e, w, out)
        self._ventilate(t[0], w[0], e[0], e_return, w_return, out)
        self._heat(c, t[0], self.sensed_K(t, e_return, w_return), out)
        self._let_in_steam(w[0], out)
        self._wall_exchange(t[0], w[0], shell, floor, out)
        self._settle_fog(t, w, out)
        if np.max(self.appliance.moisture.pan_area_m2) > 0.0:
            self._evaporate_pan(c, t[0], w[0], floor, out)
        out[rows.fan_J] = self.appliance.heater.fan_W
        out[rows.supply_J] += self.appliance.heater.fan_W
        return out

    def _carry(self, e: np.ndarray, w: np.ndarray, out: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Air from supply over the trays and back; returns enthalpy and humidity of the returning air."""
        energy, vapour = out[self.rows.energy], out[self.rows.water]
        for amount, rate in ((e, energy), (w, vapour)):
            rate[1:] = self.tray_flow_kg_s * (amount[self.inlet] - amount[1:])
        last = slice(-1, None) if self.appliance.trays.flow == "series" else slice(1, None)
        e_return, w_return = e[last].mean(axis=0), w[last].mean(axis=0)
        energy[0] = self.circulation_kg_s * (e_return - e[0])
        vapour[0] = self.circulation_kg_s * (w_return - w[0])
        return e_return, w_return

    def exchange_kg_s(self, t: np.ndarray, w: np.ndarray) -> np.ndarray:
        """Dry air exchanged with the room through door and leaks [kg/s] for chamber air of temperature and humidity."""
        density = moist_air.density(t, moist_air.vapour_fraction(w) * self.pressure, self.pressure)
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
        out: np.ndarray,
    ) -> None:
        """Exchange with the room: vents take the returning air's place, door and leaks mix into the chamber."""
        mixed, vent = self.exchange_kg_s(t, w), self.vent_kg_s
        mixed = mixed + self._purge(t, w)
        gain_e = vent * (self._room_e - e_return) + mixed * (self._room_e - e)
        gain_w = vent * (self._room_w - w_return) + mixed * (self._room_w - w)
        rows = self.rows
        out[rows.supply_J] += gain_e
        out[rows.supply_kg] += gain_w
        out[rows.aired_J], out[rows.aired_kg] = -gain_e, -gain_w

    def _purge(self, t: np.ndarray, w: np.ndarray) -> np.ndarray:
        """Extra exchange that a humidity control calls for [kg/s]."""
        held = self.setting.held_vapour_fraction
        if held is None:
            return np.zeros_like(t)
        over = moist_air.vapour_fraction(w) / held - 1.0
        return self.appliance.moisture.purge_m3_s * self._room_density * humidity_share(over)

    def sensed_K(self, t: np.ndarray, e_return: np.ndarray, w_return: np.ndarray) -> np.ndarray:
        """Air temperature where the thermostat's sensor sits [K]."""
        if self.appliance.heater.sensor == "supply":
            return t[0]
        return moist_air.temperature_from_enthalpy(e_return, w_return)

    def _heat(self, c: np.ndarray, supply: np.ndarray, sensed: np.ndarray, out: np.ndarray) -> None:
        """Heater and its thermostat."""
        rows, heater = self.rows, self.appliance.heater
        short, out[rows.thermostat_K] = shortfall(
            heater, self.setting.temperature_K, sensed, c[rows.thermostat_K], supply, self.following_s
        )
        taken, power = heater_power(heater, self.heater_share, short, c[rows.element_J])
        out[rows.supply_J] += (1.0 - heater.radiant_share) * power
        out[rows.floor_J] += heater.radiant_share * power
        out[rows.element_J] = taken - power
        out[rows.heater_J] = taken

    def _let_in_steam(self, w: np.ndarray, out: np.ndarray) -> None:
        """Steam that a humidity control calls for."""
        rows, held = self.rows, self.setting.held_vapour_fraction
        if held is None:
            return
        short = 1.0 - moist_air.vapour_fraction(w) / held
        steam = self.appliance.moisture.steam_kg_s * humidity_share(short)
        out[rows.supply_kg] += steam
        out[rows.supply_J] += steam * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
        out[rows.steam_kg] = steam

    def _wall_exchange(
        self,
        t: np.ndarray,
        w: np.ndarray,
        shell: np.ndarray,
        floor: np.ndarray,
        out: np.ndarray,
    ) -> None:
        """Films on shell and floor, loss to the room, radiation between them, dew on a cold shell (it runs off)."""
        rows, walls = self.rows, self.appliance.walls
        to_shell = walls.film_W_m2K * walls.area_m2 * (t - shell)
        to_floor = walls.film_W_m2K * self.floor_area_m2 * (t - floor)
        radiated = WALL_EMISSIVITY * STEFAN_BOLTZMANN * self.floor_area_m2 * (floor**4 - shell**4)
        lost = walls.loss_W_K * (shell - self._room_t)
        saturated = water.saturation_pressure_liquid(shell) / self.pressure
        excess = films.log_dry(moist_air.vapour_fraction(w)) - films.log_dry(np.minimum(saturated, 0.99))
        dew = walls.film_W_m2K * self._mass_film * walls.area_m2 * np.maximum(excess, 0.0)
        latent = dew * water.vapour_enthalpy(t)
        drained = dew * water.liquid_enthalpy(shell)
        out[rows.supply_J] -= to_shell + to_floor + latent
        out[rows.supply_kg] -= dew
        out[rows.shell_J] += to_shell + radiated - lost + latent - drained
        out[rows.floor_J] += to_floor - radiated
        out[rows.lost_J], out[rows.condensed_kg], out[rows.condensed_J] = lost, dew, drained

    def _settle_fog(self, t: np.ndarray, w: np.ndarray, out: np.ndarray) -> None:
        """Vapour beyond saturation condenses in the air and settles: its latent heat stays, the water runs off."""
        saturated = np.minimum(water.saturation_pressure_liquid(t) / self.pressure, 0.99)
        excess = np.maximum(w - moist_air.humidity_ratio(saturated, 1.0), 0.0)
        fog = excess * self.air_like(t) * (1.0 / _SETTLING_S)
        drained = fog * water.liquid_enthalpy(t)
        rows = self.rows
        out[rows.water] -= fog
        out[rows.energy] -= drained
        out[rows.condensed_kg] += fog.sum(axis=0)
        out[rows.condensed_J] += drained.sum(axis=0)

    def _evaporate_pan(
        self, c: np.ndarray, t: np.ndarray, w: np.ndarray, floor: np.ndarray, out: np.ndarray
    ) -> None:
        """An open pan on the floor: evaporation, convection, contact with the floor."""
        rows, area = self.rows, self.appliance.moisture.pan_area_m2
        mass = np.maximum(c[rows.pan_kg], 1e-6)
        temperature = ZERO_CELSIUS + c[rows.pan_J] / (mass * water.LIQUID_SPECIFIC_HEAT)
        left = mass / (mass + _PAN_FADE_KG)
        saturated = water.saturation_pressure_liquid(np.minimum(temperature, 400.0)) / self.pressure
        film = _PAN_FILM_W_M2K * area * left
        steam = films.stefan_flux(film * self._mass_film, moist_air.vapour_fraction(w), saturated)
        from_air = film * (t - temperature)
        from_floor = _PAN_CONTACT * film * (floor - temperature)
        carried = steam * water.vapour_enthalpy(temperature)
        out[rows.supply_kg] += steam
        out[rows.supply_J] += carried - from_air
        out[rows.floor_J] -= from_floor
        out[rows.pan_kg] -= steam
        out[rows.pan_J] += from_air + from_floor - carried

    def _deposit(self) -> np.ndarray:
        """How what passes each slab per area [kg/(m2 s), W/m2] enters the balances: (size, 5 * m[, copies])."""
        rows, m = self.rows, self.load.tray.size
        out = np.zeros((rows.size, 5, m, *self.copies))
        slab, cell, area = np.arange(m), 1 + self.load.tray, self.load.area_m2
        out[cell, CARRIED, slab] = area
        out[cell, CONVECTED, slab] = -area
        out[rows.supply_kg + cell, VAPOUR, slab] = area
        from_floor = np.where(self.load.tray == BOTTOM_TRAY, FLOOR_VIEW, 0.0)
        from_floor = from_floor[:, None] if self.copies else from_floor
        out[rows.floor_J, FROM_BELOW, slab] = -area * from_floor
        out[rows.shell_J, FROM_BELOW, slab] = -area * (1.0 - from_floor)
        out[rows.shell_J, FROM_ABOVE, slab] = -area
        return out.reshape(rows.size, 5 * m, *self.copies)

    def totals(self, c: np.ndarray) -> dict[str, np.ndarray]:
        """Running totals of states (size, ...), by their names in `TOTALS`."""
        return dict(zip(TOTALS, c[self.rows.totals], strict=True))

    def supplied_J(self, c: np.ndarray) -> np.ndarray:
        """Energy supplied since the start [J]: by the heater, the fan and as steam."""
        total = self.totals(c)
        steam = total["steam_kg"] * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
        return total["heater_J"] + total["fan_J"] + steam

    def content(self, c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Energy [J] and water [kg] held, less what came in and plus what left by other ways than the slabs.

        Constant but for what the slabs give and take.
        """
        rows, total = self.rows, self.totals(c)
        walls = c[rows.shell_J] + c[rows.floor_J]
        energy = c[rows.energy].sum(axis=0) + walls + c[rows.pan_J] + c[rows.element_J]
        energy = energy - total["heater_J"] - total["fan_J"] + total["lost_J"] + total["aired_J"]
        energy = (
            energy + total["condensed_J"] - total["steam_kg"] * water.vapour_enthalpy(STEAM_TEMPERATURE_K)
        )
        moisture = c[rows.water].sum(axis=0) + c[rows.pan_kg]
        return energy, moisture - total["steam_kg"] + total["aired_kg"] + total["condensed_kg"]
