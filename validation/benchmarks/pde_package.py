"""One slice by a general PDE package, FiPy: the same nodes, fluxes and faces, put together and stepped by the package.

FiPy has no enthalpy state and no banded or linearly implicit steps. So: unknowns are moisture and temperature, one
equation each; the heat that moving water carries and the change of a cell's heat with its water are sources, lagged
within a step; implicit Euler steps, every step swept twice. Conductances and what passes the faces come from this
package, and the faces' own slopes are taken implicitly. The first ten minutes get steps that grow from a second.
"""

from importlib.util import find_spec
from typing import Any

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.kernels.grid import control_volumes
from dryingsim.model.air import given_air
from dryingsim.model.build import build_slabs
from dryingsim.model.faces import CARRIED, CONVECTED, RADIATED, VAPOUR, AirAtSlabs, FaceExchange
from dryingsim.model.slab import Interior, Slabs
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT, liquid_enthalpy

NAME = "FiPy"


def installed() -> bool:
    return find_spec("fipy") is not None


class _Slice:
    """A slice in FiPy's hands."""

    def __init__(self, batch: Batch, nodes: int) -> None:
        from validation.numerics.general_pde import fipy

        package = fipy()
        self.slabs: Slabs = build_slabs(batch, nodes)
        one, stage = np.ones(1), batch.stages[0]
        size = batch.meat.length_m * one, batch.meat.width_m * one
        self.air: AirAtSlabs = given_air(stage.air, None, batch.room, 0.0, 1.0, *size).start
        self.interior = Interior(self.slabs)
        self.mass = control_volumes(self.slabs.nodes) * self.slabs.dry_mass_kg_m2[0]
        self.apart = 0.5 * (self.mass[1:] + self.mass[:-1])  # of FiPy's cell centres
        mesh = package.Grid1D(dx=self.mass)
        start = self.slabs.initial_moisture_db[0], batch.meat.temperature_K
        self.x, self.t = (package.CellVariable(mesh=mesh, value=value, hasOld=True) for value in start)
        self._of_x, self._of_t = (self._terms(package, mesh) for _ in range(2))
        self._capacity = package.CellVariable(mesh=mesh, value=1.0)
        transient = package.TransientTerm(), package.TransientTerm(coeff=self._capacity)
        self._equations = [
            term == package.DiffusionTerm(coeff=flux) + source + package.ImplicitSourceTerm(coeff=implicit)
            for term, (flux, source, implicit) in zip(transient, (self._of_x, self._of_t), strict=True)
        ]

    @staticmethod
    def _terms(package: Any, mesh: Any) -> tuple[Any, Any, Any]:
        cells = (package.CellVariable(mesh=mesh, value=0.0) for _ in range(2))
        return package.FaceVariable(mesh=mesh, value=0.0), *cells

    def step(self, dt: float) -> None:
        self.x.updateOld()
        self.t.updateOld()
        for _ in range(2):
            self._water()
            self._equations[0].sweep(var=self.x, dt=dt)
            self._heat()
            self._equations[1].sweep(var=self.t, dt=dt)

    def _state(self) -> tuple[np.ndarray, np.ndarray, FaceExchange, np.ndarray]:
        x, t = np.array(self.x.value)[:, None], np.array(self.t.value)[:, None]
        faces = FaceExchange(self.slabs, self.air, x[[0, -1]], t[[0, -1]])
        return x, t, faces, faces.slopes()

    def _set(
        self, terms: tuple[Any, Any, Any], conductance: np.ndarray, source: np.ndarray, ends: np.ndarray
    ) -> None:
        flux, explicit, implicit = terms
        flux.setValue(np.concatenate([[0.0], conductance[:, 0] * self.apart, [0.0]]))
        explicit.setValue(source / self.mass)
        own = np.zeros_like(self.mass)
        own[[0, -1]] = ends
        implicit.setValue(own / self.mass)

    def _water(self) -> None:
        x, t, faces, slopes = self._state()
        source, slope = np.zeros_like(self.mass), slopes[VAPOUR, 0, :, 0]
        source[[0, -1]] = -faces.boundary_flux[VAPOUR, :, 0] + slope * x[[0, -1], 0]
        self._set(self._of_x, self.interior.between(x, t).moisture_conductance, source, -slope)

    def _heat(self) -> None:
        x, t, faces, slopes = self._state()
        self._capacity.setValue(self.slabs.heat_capacity(x)[:, 0])
        at = self.interior.between(x, t)
        carried = (at.water * LIQUID_SPECIFIC_HEAT)[:, 0] * 0.5 * (t[:-1] - t[1:])[:, 0]
        source = np.zeros_like(self.mass)
        source[:-1] += carried
        source[1:] += carried
        boundary_flux, ends = faces.boundary_flux[..., 0], t[[0, -1], 0]
        gain = boundary_flux[CONVECTED] + boundary_flux[RADIATED] - boundary_flux[CARRIED]
        gain += liquid_enthalpy(ends) * boundary_flux[VAPOUR]
        slope = (slopes[CONVECTED] + slopes[RADIATED] - slopes[CARRIED])[1, :, 0]
        slope = slope + (liquid_enthalpy(ends) * slopes[VAPOUR, 1, :, 0])
        source[[0, -1]] += gain - slope * ends
        self._set(self._of_t, at.heat_conductance, source, slope)


def mean_moisture(batch: Batch, nodes: int, times: np.ndarray, steps: int) -> np.ndarray:
    """Mean moisture at even times [kg/kg], with so many steps between two of them."""
    one = _Slice(batch, nodes)
    means = [float(one.mass @ one.x.value / one.mass.sum())]
    grown = np.geomspace(1.0, times[1], 4 * steps)
    for k in range(1, times.size):
        ends = grown if k == 1 else np.linspace(times[k - 1], times[k], steps + 1)[1:]
        now = float(times[k - 1])
        for end in ends.tolist():
            one.step(end - now)
            now = end
        means.append(float(one.mass @ one.x.value / one.mass.sum()))
    return np.array(means)
