r"""Inside the slabs: moisture and enthalpy between the nodes of every slab at once.

The coordinate is the dry mass m [kg dry solid/m2] from the lower face upward, so shrinking needs no moving mesh. The
state of a node is its moisture X [kg/kg] and its enthalpy H [J/kg dry solid] above dry solid and liquid water at
0 degC. Enthalpy rather than temperature, because energy is then a linear invariant that the stepper keeps to
round-off; a temperature state would close the balance only to the tolerance of the steps.

.. math:: \partial X/\partial t = -\partial J/\partial m,\quad J = -D\rho_d^2\,\partial X/\partial m
.. math:: \partial H/\partial t = -\partial Q/\partial m,\quad Q = -k\rho_d\,\partial T/\partial m + J\,h_l(T)

with H = (c_s + X c_w)(T - T_0). All arrays have the node (or the face between nodes) on the first axis and the slab
on the last.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated

import numpy as np

from dryingsim.constants import GAS_CONSTANT, ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.properties.diffusivity import Diffusivity
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT, liquid_enthalpy
from dryingsim.properties.water_activity import SorptionTable

WATER_VOLUME: Annotated[
    float, Evidence("m3/kg", "published", "Choi & Okos water at 50 degC; within 1 % on 0-80 degC")
] = 1.0 / 987.9
WATER_CONDUCTIVITY: Annotated[
    float, Evidence("W/(m K)", "published", "Choi & Okos water at 50 degC; range on 0-80 degC", (0.57, 0.67))
] = 0.642


@dataclass(frozen=True, kw_only=True)
class Slabs:
    """Everything constant about `m` slabs on `n` nodes.

    Attributes
    ----------
    nodes : ndarray, shape (n,)
        Positions over the dry mass, 0..1.
    dry_mass_kg_m2 : ndarray, shape (m,)
        Dry solid per area of one face.
    initial_moisture_db : ndarray, shape (m,)
        Moisture when laid on the tray [kg/kg]; it fixes the density that fitted diffusivities refer to.
    solid_specific_heat, solid_volume, solid_conductivity : ndarray, shape (m,)
        Of the bone-dry solid [J/(kg K)], [m3/kg], [W/(m K)].
    diffusivity : Diffusivity
    diffusivity_factor, half_moisture_factor : ndarray, shape (m,)
        Multiply the diffusivity of each slab, and the half moisture of its fall.
    sorption : SorptionTable
    recipe : ndarray of int, shape (m,)
        Row of `sorption` for each slab.
    emissivity : float
        Of the meat [-].
    vapour_open, heat_open : ndarray, shape (2, m)
        Share of the lower and the upper face that exchanges vapour and heat, 0..1.
    edge_length_m : ndarray, shape (m,)
        Half the width of the slices, whose long edges dry too (model.edges); infinite: no edges.
    """

    nodes: np.ndarray
    dry_mass_kg_m2: np.ndarray
    initial_moisture_db: np.ndarray
    solid_specific_heat: np.ndarray
    solid_volume: np.ndarray
    solid_conductivity: np.ndarray
    diffusivity: Diffusivity
    diffusivity_factor: np.ndarray
    half_moisture_factor: np.ndarray
    sorption: SorptionTable
    recipe: np.ndarray
    emissivity: float
    vapour_open: np.ndarray
    heat_open: np.ndarray
    edge_length_m: np.ndarray

    def temperature(self, moisture: np.ndarray, enthalpy: np.ndarray) -> np.ndarray:
        """Temperature [K] of nodes (..., m) from moisture [kg/kg] and enthalpy [J/kg dry solid]."""
        return ZERO_CELSIUS + enthalpy / self.heat_capacity(moisture)

    def enthalpy(self, moisture: np.ndarray, temperature: np.ndarray) -> np.ndarray:
        """Enthalpy [J/kg dry solid] of nodes (..., m) from moisture [kg/kg] and temperature [K]."""
        return self.heat_capacity(moisture) * (temperature - ZERO_CELSIUS)

    def heat_capacity(self, moisture: np.ndarray) -> np.ndarray:
        """Heat capacity per kg of dry solid [J/(kg K)]."""
        return self.solid_specific_heat + LIQUID_SPECIFIC_HEAT * moisture

    @property
    def covered(self) -> np.ndarray:
        """Whether no vapour leaves the lower face, shape (m,): it lies on a closed sheet or on another slice."""
        return self.vapour_open[0] == 0.0

    @cached_property
    def initial_dry_density(self) -> np.ndarray:
        """Dry solid per volume when laid on the tray [kg/m3], shape (m,)."""
        return 1.0 / (self.solid_volume + WATER_VOLUME * self.initial_moisture_db)

    @cached_property
    def edge_area_per_dry_mass(self) -> np.ndarray:
        """Area of the two long edges as laid on the tray [m2/kg], shape (m,)."""
        return 1.0 / (self.edge_length_m * self.initial_dry_density)

    @property
    def edge_area(self) -> np.ndarray:
        """Area of the two long edges as laid on the tray, over that of one face [-], shape (m,)."""
        return self.dry_mass_kg_m2 * self.edge_area_per_dry_mass

    @cached_property
    def own_diffusivity(self) -> Diffusivity:
        """The law with the half moisture of each slab, before `diffusivity_factor`."""
        half = self.diffusivity.half_moisture_db * self.half_moisture_factor
        return replace(self.diffusivity, half_moisture_db=half)

    def core(self, middle_K: np.ndarray, lower_K: np.ndarray) -> np.ndarray:
        """Temperature [K] of the core (..., m): the middle, or where slices touch and no heat gets in if that is colder."""
        return np.where(self.heat_open[0] > 0.0, middle_K, np.minimum(middle_K, lower_K))

    def thickness(self, mean_moisture: np.ndarray) -> np.ndarray:
        """Thickness [m] of slabs (..., m) of the given mean moisture: volumes of solid and water add."""
        return self.dry_mass_kg_m2 * (self.solid_volume + WATER_VOLUME * mean_moisture)


class Interior:
    """Fluxes between the nodes for a set of slabs; holds what does not change from call to call."""

    def __init__(self, slabs: Slabs) -> None:
        self._slabs = slabs
        self._per_spacing = 1.0 / (np.diff(slabs.nodes)[:, None] * slabs.dry_mass_kg_m2)
        law = slabs.diffusivity
        self._reciprocal = 1.0 / law.temperature_K
        self._energy = law.activation_energy_J_mol / GAS_CONSTANT
        self._half = law.half_moisture_db * slabs.half_moisture_factor
        self._falls = bool(np.any(self._half))
        scale = law.reference_m2_s * (1.0 + self._half / law.moisture_db) * slabs.diffusivity_factor
        if law.convention == "dry_mass":
            scale = scale * slabs.initial_dry_density**2
        self._local = law.convention == "local"
        self._scale = scale * self._per_spacing
        self._solid = slabs.solid_volume * slabs.solid_conductivity
        self._kept: _Between | None = None

    def fluxes(self, x: np.ndarray, t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Upward fluxes through the faces between nodes.

        Parameters
        ----------
        x, t : ndarray, shape (n, m)
            Moisture [kg/kg] and temperature [K].

        Returns
        -------
        tuple of ndarray, shape (n - 1, m)
            Water [kg/(m2 s)] and heat [W/m2], the latter with the enthalpy of the water that moves.
        """
        between = self.between(x, t)
        heat = between.heat_conductance * (t[:-1] - t[1:])
        heat += between.water * between.liquid_enthalpy
        return between.water, heat

    def between(self, x: np.ndarray, t: np.ndarray) -> "_Between":
        """What holds at the faces between nodes; the last answer is kept for the slopes at the same state."""
        if self._kept is None or self._kept.x is not x or self._kept.t is not t:
            self._kept = _Between(self, x, t)
        return self._kept

    def arrhenius(self, tf: np.ndarray) -> np.ndarray:
        """D rho_d^2 / dm at the temperature of the faces, without its dependence on moisture."""
        g = np.exp(self._energy * (self._reciprocal - 1.0 / tf))
        g *= self._scale
        return g

    def falling(self, x: np.ndarray) -> np.ndarray:
        """Dependence of D rho_d^2 on moisture, in the convention of the diffusivity."""
        g = x / (x + self._half) if self._falls else np.ones_like(x)
        if self._local:
            g /= self._volume(x) ** 2
        return g

    def heat_conductance(self, xf: np.ndarray) -> np.ndarray:
        """Conductance k rho_d / dm with k by volume shares (parallel model)."""
        v = self._volume(xf)
        return (self._solid + (WATER_VOLUME * WATER_CONDUCTIVITY) * xf) * self._per_spacing / (v * v)

    def _volume(self, xf: np.ndarray) -> np.ndarray:
        return self._slabs.solid_volume + WATER_VOLUME * xf

    def slopes(self, x: np.ndarray, t: np.ndarray) -> np.ndarray:
        """Derivatives of `fluxes` by the state on either side.

        Returns
        -------
        ndarray, shape (2, 2, 2, n - 1, m)
            [flux: water, heat] by [side: below, above] by [unknown: X, T]. The change of the heat conductance
            with moisture is left out: a W-method does not need it.
        """
        at = self.between(x, t)
        by_t = (0.5 * self._energy) * at.water / (at.t_face * at.t_face)
        out = np.empty((2, 2, 2, *at.x_face.shape))
        # the flux is the difference of Kirchhoff's potential of the two nodes
        out[0, 0, 0], out[0, 1, 0] = at.arrhenius * at.falling[:-1], -at.arrhenius * at.falling[1:]
        out[0, :, 1] = by_t
        out[1, :, 0] = out[0, :, 0] * at.liquid_enthalpy
        mean = by_t * at.liquid_enthalpy + (0.5 * LIQUID_SPECIFIC_HEAT) * at.water
        out[1, 0, 1], out[1, 1, 1] = mean + at.heat_conductance, mean - at.heat_conductance
        return out


class _Between:
    """State and conductances between nodes; the diffusivity is its mean over the moisture there, by Simpson's rule."""

    def __init__(self, interior: Interior, x: np.ndarray, t: np.ndarray) -> None:
        self.x, self.t = x, t
        self.x_face, self.t_face = 0.5 * (x[1:] + x[:-1]), 0.5 * (t[1:] + t[:-1])
        self.arrhenius = interior.arrhenius(self.t_face)
        self.falling = interior.falling(x)
        self.moisture_conductance = 4.0 * interior.falling(self.x_face)
        self.moisture_conductance += self.falling[1:]
        self.moisture_conductance += self.falling[:-1]
        self.moisture_conductance *= self.arrhenius
        self.moisture_conductance *= 1.0 / 6.0
        self.heat_conductance = interior.heat_conductance(self.x_face)
        self.liquid_enthalpy = liquid_enthalpy(self.t_face)
        self.water = self.moisture_conductance * (x[:-1] - x[1:])
