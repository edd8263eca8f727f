"""Where the slabs lie: in given air or in an appliance. Both offer the same to the run that drives them."""

from dataclasses import replace
from typing import Annotated, Any, Protocol

import numpy as np

from dryingsim.batch.schema import Batch, Stage
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.kernels.rosenbrock import Stepper, System
from dryingsim.model.air import GivenAir, given_air, slice_film, vapour_pressure
from dryingsim.model.build import build_slabs, slice_area
from dryingsim.model.chamber import Chamber
from dryingsim.model.cycles import CyclingStepper
from dryingsim.model.faces import AirAtSlabs, Film
from dryingsim.model.laying import tray_area
from dryingsim.model.load import Load, Setting
from dryingsim.model.loaded import BesideAppliance, LoadedAppliance
from dryingsim.model.medium import medium
from dryingsim.model.slab import Slabs, taken
from dryingsim.model.system import SlabSystem
from dryingsim.properties import air_transport, moist_air, water

PACKING: Annotated[
    float,
    Evidence(
        "-", "estimate", "share of a tray's area that slices with gaps around them can cover", (0.7, 0.9)
    ),
] = 0.8


class Surroundings(Protocol):
    """What a run needs of the surroundings.

    Attributes
    ----------
    system : System
        The whole problem for the stepper.
    slabs : SlabSystem
        The slabs in it.
    """

    system: System
    slabs: SlabSystem
    load: Load

    def initial(self) -> np.ndarray:
        """State when the slices are laid on the trays."""

    def begin(self, stage: Stage, t: float) -> None:
        """Set the surroundings to a stage that starts at time t [s]."""

    def slab_part(self, y: np.ndarray) -> np.ndarray:
        """Slabs' part of states (..., size)."""

    def air(self, times: np.ndarray, states: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Temperature [K] and vapour pressure [Pa] of the air at the slabs, shape (t, m) each."""

    def chamber_part(self, states: np.ndarray) -> np.ndarray | None:
        """Chamber's part of states, or None where there is none."""

    def stepper(self, y: np.ndarray) -> Stepper:
        """Return what advances a state from the beginning of the first stage on."""

    def rotate(self) -> None:
        """Change the places of the trays."""


def stage_air(batch: Batch, stage: Stage, t: float, length_m: np.ndarray, width_m: np.ndarray) -> GivenAir:
    """Return the air of a stage, or what slices lie in instead.

    Parameters
    ----------
    batch : Batch
    stage : Stage
        Of it.
    t : float
        When it begins [s].
    length_m, width_m : ndarray, shape (m,)
        Of the slices [m].

    Returns
    -------
    GivenAir
        Its states at both ends of a stage of given air; in a liquid, steam or rest that medium at both.
    """
    if not stage.dries:
        still = medium(stage.kind, stage.air.temperature_K * np.ones_like(length_m), batch.room.pressure_Pa)
        return GivenAir(still, still)
    film = batch.components.film_W_m2K
    return given_air(
        stage.air, stage.air_end, batch.room, t, stage.duration_s or 1.0, length_m, width_m, film
    )


class GivenSurroundings:
    """Slabs in air that the schedule states."""

    def __init__(self, batch: Batch, nodes: int, tolerance: float) -> None:
        slabs = build_slabs(batch, nodes)
        self._batch = batch
        ones = np.ones_like(slabs.dry_mass_kg_m2)
        self._size = batch.meat.length_m * ones, batch.meat.width_m * ones
        area = slice_area(batch, slabs)
        self.load = Load(tray=np.zeros(area.size, dtype=np.intp), trays=1, area_m2=area, cover=1.0)
        first = batch.stages[0]
        self.slabs = SlabSystem(slabs, stage_air(batch, first, 0.0, *self._size), tolerance)
        self.system: System = self.slabs

    def initial(self) -> np.ndarray:
        """State when the slices are laid on the trays."""
        return self.slabs.initial(self.slabs.slabs.initial_moisture_db, self._batch.meat.temperature_K)

    def begin(self, stage: Stage, t: float) -> None:
        """Set the air of a stage."""
        self.slabs.air = stage_air(self._batch, stage, t, *self._size)

    def slab_part(self, y: np.ndarray) -> np.ndarray:
        """All of the state."""
        return y

    def air(self, times: np.ndarray, states: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Temperature and vapour pressure of the air at the slabs."""
        moments = [self.slabs.air.at(float(t)) for t in times]
        return (
            np.array([a.temperature_K for a in moments]),
            np.array([a.vapour_fraction * a.pressure_Pa for a in moments]),
        )

    def chamber_part(self, states: np.ndarray) -> None:
        """There is no chamber."""

    def stepper(self, y: np.ndarray) -> Stepper:
        """Return what advances a state from the beginning of the first stage on."""
        return Stepper(self.system, 0.0, y)

    def rotate(self) -> None:
        """All trays are alike in given air."""


class ApplianceSurroundings:
    """Slabs on the trays of an appliance: `m` = trays times thickness classes, tray by tray.

    Attributes
    ----------
    loaded : LoadedAppliance
        Slabs and chamber as one system; it is `system`, by its own type.
    """

    def __init__(self, batch: Batch, nodes: int, tolerance: float) -> None:
        kinds = build_slabs(batch, nodes)
        area = slice_area(batch, kinds)
        trays = trays_used(batch, float(tray_area(batch, area).sum()))
        self._set_up(batch, trays, area, SlabSystem(repeat_slabs(kinds, trays), None, tolerance), tolerance)

    def _set_up(
        self, batch: Batch, trays: int, area: np.ndarray, slabs: SlabSystem, tolerance: float
    ) -> None:
        """Lay slices of an area (kinds,) or (kinds, copies) on trays."""
        assert batch.appliance is not None
        self._batch, self._appliance = batch, batch.appliance
        of_tray = self._appliance.trays.length_m * self._appliance.trays.width_m
        self.load = Load(
            tray=np.repeat(np.arange(trays), len(area)),
            trays=trays,
            area_m2=np.concatenate([area / trays] * trays),
            cover=tray_area(batch, area).sum(axis=0) / (trays * of_tray),
        )
        self.slabs = slabs
        room = batch.room
        room_fraction = (
            room.relative_humidity * water.saturation_pressure(room.temperature_K) / room.pressure_Pa
        )
        self.chamber = Chamber(
            self._appliance, self.load, room.temperature_K, room_fraction, room.pressure_Pa
        )
        self.loaded = LoadedAppliance(self.slabs, self.chamber, tolerance)
        self._medium: AirAtSlabs | None = None
        self.system: System = self.loaded

    def initial(self) -> np.ndarray:
        """State when the slices are laid on the trays."""
        start = np.where(
            self._appliance.preheated,
            self._batch.stages[self._batch.first_drying].air.temperature_K,
            self._batch.room.temperature_K,
        )
        temperature = self._flat(self._batch.meat.temperature_K * np.ones_like(self.load.area_m2))
        meat = self.slabs.initial(self.slabs.slabs.initial_moisture_db, temperature)
        return np.concatenate([meat, self.chamber.initial(start).reshape(-1)])

    def _flat(self, values: np.ndarray) -> np.ndarray:
        """Values by slab and copy, in the order of the slabs."""
        return values.reshape(*values.shape[: values.ndim - self.load.area_m2.ndim], -1)

    def begin(self, stage: Stage, t: float) -> None:
        """Set thermostat, humidity control and door; or lay the slices in something else beside the appliance."""
        del t
        self._medium = None
        if not stage.dries:
            self._medium = self._beside(stage)
            self.system = BesideAppliance(self.loaded, self._medium)
            return
        self.system = self.loaded
        room, air = self._batch.room, stage.air
        held = None
        if air.humidity.kind != "room":
            held = vapour_pressure(air, room) / room.pressure_Pa
        gap = stage.door_gap_m
        if gap is None:
            gap = self._appliance.door.gap_m if self._appliance.door else 0.0
        self._setting = Setting(air.temperature_K, held, gap)
        self.chamber.set(self._setting, self.load)
        self.loaded.film = self._film(air.temperature_K, held)

    def _beside(self, stage: Stage) -> AirAtSlabs:
        """What slices are in that are not in drying air."""
        ones = np.ones_like(self.load.area_m2)
        temperature: Any = self._flat(stage.air.temperature_K * ones)
        pressure: Any = self._flat(self._batch.room.pressure_Pa * ones)
        return medium(stage.kind, temperature, pressure)

    def _film(self, temperature_K: float, held: float | None) -> Film:
        """Film over the slices at the set temperature, limited by what the air past each tray can carry."""
        room, meat, trays = self._batch.room, self._batch.meat, self._appliance.trays
        ones = np.ones_like(self.load.area_m2)
        fraction = held if held is not None else self.chamber.room_vapour_fraction
        pressure: Any = self._flat(room.pressure_Pa * ones)
        t, p, speed, length, width = (
            self._flat(value * ones)
            for value in (
                temperature_K,
                fraction * room.pressure_Pa,
                trays.speed_m_s,
                meat.length_m,
                meat.width_m,
            )
        )
        film = slice_film(t, p, pressure, speed, length, width)
        exchanging = np.zeros((self.load.trays, *self.chamber.copies))
        slabs = self.slabs.slabs
        open_area = (slabs.heat_open.sum(axis=0) + slabs.edge_area).reshape(ones.shape) * self.load.area_m2
        np.add.at(exchanging, self.load.tray, open_area)
        carried = self.chamber.tray_flow_kg_s * moist_air.DRY_AIR_SPECIFIC_HEAT
        heat = self._flat(carried / exchanging[self.load.tray])
        lewis = air_transport.lewis_number(t, p, pressure)
        return replace(film, carrying=(heat, heat * np.cbrt(lewis) ** 2))

    def slab_part(self, y: np.ndarray) -> np.ndarray:
        """Slabs' part of states (..., size)."""
        return self.loaded.parts(y)[0]

    def chamber_part(self, states: np.ndarray) -> np.ndarray:
        """Chamber's part of states (..., size)."""
        return self.loaded.parts(states)[1]

    def air(self, times: np.ndarray, states: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Temperature and vapour pressure of the air that enters each slab's tray, or of what the slabs are in."""
        if self._medium is not None:
            shape = (times.size, self._medium.temperature_K.size)
            vapour = self._medium.vapour_fraction * self._medium.pressure_Pa
            return np.broadcast_to(self._medium.temperature_K, shape), np.broadcast_to(vapour, shape)
        inputs = self.chamber.inputs(self.chamber_part(states).T)
        return inputs[0].T, inputs[1].T * self.chamber.pressure

    def stepper(self, y: np.ndarray) -> Stepper:
        """Return what advances a state from the beginning of the first stage on."""
        if self._appliance.heater.control == "switching":
            return CyclingStepper(self.loaded, self.system, y)
        return Stepper(self.system, 0.0, y)

    def rotate(self) -> None:
        """Put the first tray last."""
        self.load = self.load.moved_up()
        self.chamber.set(self._setting, self.load)


def surroundings_of(batch: Batch, nodes: int, tolerance: float) -> Surroundings:
    """Return the surroundings that a batch describes.

    Parameters
    ----------
    batch : Batch
        Given air, or an appliance.
    nodes : int
        Nodes across a slice.
    tolerance : float
        Of the steps [-].

    Returns
    -------
    Surroundings
        With slabs in it.
    """
    kind = GivenSurroundings if batch.appliance is None else ApplianceSurroundings
    return kind(batch, nodes, tolerance)


def trays_used(batch: Batch, area_m2: float) -> int:
    """Trays that slices lie on; raise where they do not fit.

    Parameters
    ----------
    batch : Batch
        With an appliance.
    area_m2 : float
        Of trays that all slices cover [m2], see `laying.tray_area`.

    Returns
    -------
    int
        Trays.
    """
    assert batch.appliance is not None
    stack = batch.appliance.trays
    needed = trays_needed(area_m2, stack.length_m * stack.width_m)
    trays = needed if batch.trays is None else batch.trays
    if trays > stack.slots:
        raise InputError(
            f"{batch.name}: the slices need {trays} trays, the {batch.appliance.name} has {stack.slots}; dry less at a "
            "time ('weight' in [meat]): 'dryingsim run' tells in how many loads"
        )
    if area_m2 > trays * stack.length_m * stack.width_m:
        raise InputError(
            f"{batch.name}: [trays], count = {trays} is too few for the slices; with gaps they need {needed}"
        )
    return trays


def trays_needed(area_m2: float, tray_m2: float) -> int:
    """Trays that slices need, with gaps between them.

    Parameters
    ----------
    area_m2 : float
        Of trays that all slices cover [m2], see `laying.tray_area`.
    tray_m2 : float
        Usable, of one tray [m2].

    Returns
    -------
    int
        Trays.
    """
    return int(np.ceil(area_m2 / (PACKING * tray_m2) - 1e-9))


def repeat_slabs(slabs: Slabs, times: int) -> Slabs:
    """Return the slabs repeated tray by tray.

    Parameters
    ----------
    slabs : Slabs
        Of one tray.
    times : int
        Trays.

    Returns
    -------
    Slabs
        Of all trays, tray by tray.
    """
    return taken(slabs, np.tile(np.arange(slabs.dry_mass_kg_m2.size), times))
