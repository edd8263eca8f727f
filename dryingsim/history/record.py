"""What happened in a batch: arrays with named axes, and what follows from them without judgement."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.kernels.grid import middle_weights, node_shares
from dryingsim.kernels.rosenbrock import Statistics
from dryingsim.lazy_import import from_above
from dryingsim.model.build import recipe_of
from dryingsim.model.slab import Slabs
from dryingsim.properties import moist_air
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

if TYPE_CHECKING:
    import pandas
    import xarray
    from matplotlib.axes import Axes


@dataclass(frozen=True, slots=True)
class ChamberHistory:
    """The appliance over the recorded times t of a `History`.

    Attributes
    ----------
    cell_temperature_K, cell_humidity_ratio : ndarray, shape (t, 1 + trays)
        Air before the trays (0) and leaving each place (1, 2, ... in the direction of the flow) [K], [kg/kg dry air].
    shell_K, floor_K : ndarray, shape (t,)
        Walls and floor [K].
    totals : dict of ndarray, shape (t,)
        Since the start: heat of the heater and the fan, loss through the walls, energy and water that left with
        exchanged air, steam let in, water condensed on the walls and its energy [J], [kg]; names with units.
    energy_closure, water_closure : float
        Miss of the whole appliance's balances, relative to the energy supplied and to the water the meat lost.
    """

    cell_temperature_K: np.ndarray
    cell_humidity_ratio: np.ndarray
    shell_K: np.ndarray
    floor_K: np.ndarray
    totals: dict[str, np.ndarray]
    energy_closure: float
    water_closure: float


@dataclass(frozen=True)
class History:
    """States of a batch over time.

    Axes: t recorded times, n nodes from the lower to the upper face, m slabs: every thickness class on every tray, tray
    by tray.

    Attributes
    ----------
    batch : Batch
    slabs : Slabs
        What the slabs are made of; `slabs.nodes` (n,) are the node positions over the dry mass.
    kind, tray : ndarray of int, shape (m,)
        Thickness class and tray of each slab. In given air there is one tray.
    place : ndarray of int, shape (t, m)
        Place of each slab's tray in the flow, 0 first; changes when trays are rotated.
    area_m2 : ndarray, shape (m,)
        Area of one face of all slices of a slab's class on its tray [m2].
    time_s : ndarray, shape (t,)
        Since the first stage began [s]; even steps, and the end of each stage. Before and just after drying begins, and
        after slices are turned over, also within the steps of the solver, as slices change fast then.
    stage : ndarray of int, shape (t,)
        Index in `batch.stages` of the stage that led to each time, so from 0. Everything exported counts stages from 1,
        as people do: `history.csv`, `to_pandas`, `to_xarray`.
    stage_end_s : ndarray, shape (number of stages,)
    moisture_db, temperature_K : ndarray, shape (t, n, m)
        Moisture [kg water/kg dry solid] and temperature [K] at the nodes.
    vapour_kg_m2, heat_J_m2 : ndarray, shape (t, m)
        Vapour given off and heat received (convection and radiation) since the start, per area of one face.
    air_temperature_K, air_vapour_pressure_Pa : ndarray, shape (t, m)
        The air at the slabs; or the liquid, the steam or what is under the cover.
    drip_kg_m2 : ndarray, shape (t, m), or None
        Juice that dripped off since the start, per area of one face [kg/m2]; None: no stage is in other than drying air.
    water_closure, energy_closure : float
        Largest miss of a slab's water balance, relative to the vapour given off, and of its energy balance,
        relative to the heat received.
    statistics : Statistics
        Work of the solver.
    chamber : ChamberHistory or None
        The appliance, if there is one.
    """

    batch: Batch
    slabs: Slabs
    kind: np.ndarray
    tray: np.ndarray
    place: np.ndarray
    area_m2: np.ndarray
    time_s: np.ndarray
    stage: np.ndarray
    stage_end_s: np.ndarray
    moisture_db: np.ndarray
    temperature_K: np.ndarray
    vapour_kg_m2: np.ndarray
    heat_J_m2: np.ndarray
    air_temperature_K: np.ndarray
    air_vapour_pressure_Pa: np.ndarray
    water_closure: float
    energy_closure: float
    statistics: Statistics
    chamber: ChamberHistory | None
    drip_kg_m2: np.ndarray | None = None

    def with_chamber(self, chamber: ChamberHistory) -> "History":
        """Return the same history with its chamber's."""
        return replace(self, chamber=chamber)

    def up_to(self, time_s: float) -> "History":
        """Return the recorded part up to a time [s]; balances, work and chamber stay those of the whole run."""
        n = max(int(np.searchsorted(self.time_s, time_s, side="right")), 1)
        return replace(
            self,
            time_s=self.time_s[:n],
            stage=self.stage[:n],
            place=self.place[:n],
            moisture_db=self.moisture_db[:n],
            temperature_K=self.temperature_K[:n],
            vapour_kg_m2=self.vapour_kg_m2[:n],
            heat_J_m2=self.heat_J_m2[:n],
            drip_kg_m2=None if self.drip_kg_m2 is None else self.drip_kg_m2[:n],
            air_temperature_K=self.air_temperature_K[:n],
            air_vapour_pressure_Pa=self.air_vapour_pressure_Pa[:n],
        )

    @cached_property
    def mean_moisture_db(self) -> np.ndarray:
        """Mean moisture of each slab [kg/kg], shape (t, m)."""
        return np.einsum("n,tnm->tm", node_shares(self.slabs.nodes), self.moisture_db)

    @cached_property
    def dry_mass_kg(self) -> np.ndarray:
        """Dry solid of each slab [kg], shape (m,)."""
        return self.area_m2 * self.slabs.dry_mass_kg_m2

    @cached_property
    def weight_kg(self) -> np.ndarray:
        """Weight of each slab on the trays [kg], shape (t, m)."""
        return self.dry_mass_kg * (1.0 + self.mean_moisture_db)

    @cached_property
    def weight_loss(self) -> np.ndarray:
        """Share of the laid-on weight of the whole batch that is gone, with salt that water takes, shape (t,)."""
        total = self.weight_kg.sum(axis=1)
        return 1.0 - total / (total[0] * self.batch.washing)

    def by_stage(self, values: Sequence[Any] | np.ndarray) -> np.ndarray:
        """Return what holds of each stage of the batch at each recorded time, shape (t,).

        Parameters
        ----------
        values : sequence
            One of each stage.
        """
        return np.asarray(values)[np.minimum(self.stage, len(values) - 1)]

    @cached_property
    def batch_moisture_db(self) -> np.ndarray:
        """Mean moisture of the whole batch [kg/kg], shape (t,)."""
        return self.mean_moisture_db @ self.dry_mass_kg / self.dry_mass_kg.sum()

    @cached_property
    def moisture_protein_ratio(self) -> np.ndarray:
        """Water over protein of the whole batch, by mass, shape (t,)."""
        return self.batch_moisture_db / recipe_of(self.batch)[0].protein

    @cached_property
    def water_activity(self) -> np.ndarray:
        """Water activity at the nodes and their present temperature, shape (t, n, m)."""
        return np.exp(
            self.slabs.sorption.log_activity(self.moisture_db, self.temperature_K, self.slabs.recipe)
        )

    @cached_property
    def equalised_water_activity(self) -> np.ndarray:
        """Water activity each slab will have once its moisture has evened out at 25 degC, shape (t, m)."""
        return self.evened_out(self.mean_moisture_db)

    def evened_out(self, moisture_db: np.ndarray) -> np.ndarray:
        """Return the water activity of the slabs at some mean moisture, once it has evened out at 25 degC [-].

        Parameters
        ----------
        moisture_db : ndarray, shape (..., m)
            Mean moisture of each slab [kg/kg].
        """
        even = np.full_like(moisture_db, REFERENCE_TEMPERATURE)
        activity: np.ndarray = np.exp(self.slabs.sorption.log_activity(moisture_db, even, self.slabs.recipe))
        return activity

    @cached_property
    def surface_temperature_K(self) -> np.ndarray:
        """Temperature of the lower and the upper face [K], shape (t, 2, m)."""
        return self.temperature_K[:, :: self.slabs.nodes.size - 1]

    @cached_property
    def surface_water_activity(self) -> np.ndarray:
        """Water activity of the lower and the upper face, shape (t, 2, m)."""
        return self.water_activity[:, :: self.slabs.nodes.size - 1]

    @cached_property
    def core_temperature_K(self) -> np.ndarray:
        """Temperature of the core of each slab [K], shape (t, m), see `Slabs.core`."""
        middle = np.einsum("n,tnm->tm", middle_weights(self.slabs.nodes), self.temperature_K)
        return self.slabs.core(middle, self.temperature_K[:, 0])

    @cached_property
    def air_wet_bulb_K(self) -> np.ndarray:
        """Wet-bulb temperature of the air at the slabs [K], shape (t, m)."""
        return moist_air.wet_bulb(
            self.air_temperature_K, self.air_vapour_pressure_Pa, self.batch.room.pressure_Pa
        )

    @cached_property
    def thickness_m(self) -> np.ndarray:
        """Thickness of each slab [m], shape (t, m)."""
        if self.slabs.shrinkage is None:
            return self.slabs.thickness(self.mean_moisture_db)
        volume = self.slabs.volume(self.moisture_db)  # a law may be bent: its mean is not that of the mean
        return self.slabs.dry_mass_kg_m2 * np.einsum("n,tnm->tm", node_shares(self.slabs.nodes), volume)

    def to_xarray(self) -> "xarray.Dataset":
        """Return the arrays with their axes named; needs xarray. See `dryingsim.history.labelled`."""
        arrays: xarray.Dataset = from_above("History.to_xarray")(self)
        return arrays

    def to_pandas(self) -> "pandas.DataFrame":
        """Return one row per recorded time; needs pandas. See `dryingsim.history.labelled`."""
        table: pandas.DataFrame = from_above("History.to_pandas")(self)
        return table

    def plot(self, axes: "Axes | None" = None, units: str | None = None) -> "Axes":
        """Draw the temperatures of the slowest slices and their air.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            To draw on; a new figure if left out.
        units : str, optional
            "metric" or "us"; as the batch file says if left out.
        """
        drawn: Axes = from_above("History.plot")(self, axes, units)
        return drawn

    def plot_moisture(self, axes: "Axes | None" = None, units: str | None = None) -> "Axes":
        """Draw the moisture across the slowest slices at several times; parameters as of `plot`."""
        drawn: Axes = from_above("History.plot_moisture")(self, axes, units)
        return drawn

    def _repr_html_(self) -> str:
        page: str = from_above("History._repr_html_")(self)
        return page

    def __repr__(self) -> str:
        hours = self.time_s[-1] / 3600.0
        return (
            f"<History of {self.batch.name!r}: {self.time_s.size} times to {hours:.2f} h, "
            f"{self.slabs.nodes.size} nodes, {self.area_m2.size} slabs>"
        )
