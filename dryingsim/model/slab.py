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

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Annotated, Any, Protocol

import numpy as np

from dryingsim.batch.components import Surface
from dryingsim.constants import GAS_CONSTANT, ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.properties.diffusivity import Diffusivity, DiffusivityLaw, activation_energy
from dryingsim.properties.shrinkage import WATER_VOLUME, ShrinkageLaw, volume_of
from dryingsim.properties.sorption import Sorption
from dryingsim.properties.water import LIQUID_SPECIFIC_HEAT, liquid_enthalpy

WATER_CONDUCTIVITY: Annotated[
    float, Evidence("W/(m K)", "published", "Choi & Okos water at 50 degC; range on 0-80 degC", (0.57, 0.67))
] = 0.642
LEAST_MOISTURE: Annotated[
    float, Evidence("kg/kg", "numerical", "laws of diffusivity are asked for no drier states than this")
] = 1e-4


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
    diffusivity : DiffusivityLaw
    diffusivity_factor, half_moisture_factor : ndarray, shape (m,)
        Multiply the diffusivity of each slab, and the half moisture of its fall (of a `Diffusivity`: others have none).
    sorption : Sorption
    recipe : ndarray of int, shape (m,)
        Row of `sorption` for each slab.
    emissivity : float
        Of the meat [-].
    vapour_open, heat_open : ndarray, shape (2, m)
        Share of the lower and the upper face that exchanges vapour and heat, 0..1.
    edge_length_m : ndarray, shape (m,)
        Half the width of the slices, whose long edges dry too (model.edges); infinite: no edges.
    surface : Surface or None
        What the faces do in place of exchanging heat and vapour with the air.
    shrinkage : ShrinkageLaw or None
        None: the volumes of solid and water add.
    """

    nodes: np.ndarray
    dry_mass_kg_m2: np.ndarray
    initial_moisture_db: np.ndarray
    solid_specific_heat: np.ndarray
    solid_volume: np.ndarray
    solid_conductivity: np.ndarray
    diffusivity: DiffusivityLaw
    diffusivity_factor: np.ndarray
    half_moisture_factor: np.ndarray
    sorption: Sorption
    recipe: np.ndarray
    emissivity: float
    vapour_open: np.ndarray
    heat_open: np.ndarray
    edge_length_m: np.ndarray
    surface: Surface | None = None
    shrinkage: ShrinkageLaw | None = None

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
        return 1.0 / self.volume(self.initial_moisture_db)

    @cached_property
    def edge_area_per_dry_mass(self) -> np.ndarray:
        """Area of the two long edges as laid on the tray [m2/kg], shape (m,)."""
        return 1.0 / (self.edge_length_m * self.initial_dry_density)

    @property
    def edge_area(self) -> np.ndarray:
        """Area of the two long edges as laid on the tray, over that of one face [-], shape (m,)."""
        return self.dry_mass_kg_m2 * self.edge_area_per_dry_mass

    @cached_property
    def own_diffusivity(self) -> DiffusivityLaw:
        """The law with the half moisture of each slab, before `diffusivity_factor`."""
        if not isinstance(self.diffusivity, Diffusivity):
            return self.diffusivity
        half = self.diffusivity.half_moisture_db * self.half_moisture_factor
        return replace(self.diffusivity, half_moisture_db=half)

    def core(self, middle_K: np.ndarray, lower_K: np.ndarray) -> np.ndarray:
        """Temperature [K] of the core (..., m): the middle, or where slices touch and no heat gets in if that is colder."""
        return np.where(self.heat_open[0] > 0.0, middle_K, np.minimum(middle_K, lower_K))

    def volume(self, moisture: np.ndarray) -> np.ndarray:
        """Volume per kg of dry solid [m3/kg] at moistures (..., m) [kg/kg]."""
        return volume_of(self.shrinkage, self.solid_volume, moisture)

    def thickness(self, moisture: np.ndarray) -> np.ndarray:
        """Thickness [m] of slabs (..., m) of an even moisture; of the mean one where volumes add."""
        return self.dry_mass_kg_m2 * self.volume(moisture)


OF_SLABS = (
    "dry_mass_kg_m2",
    "initial_moisture_db",
    "solid_specific_heat",
    "solid_volume",
    "solid_conductivity",
    "diffusivity_factor",
    "half_moisture_factor",
    "vapour_open",
    "heat_open",
    "edge_length_m",
)  # what may differ from slab to slab, beside the row in the sorption table


def taken(slabs: Slabs, index: np.ndarray | slice) -> Slabs:
    """Return some of the slabs, or some of them several times.

    Parameters
    ----------
    slabs : Slabs
    index : ndarray of int, or slice
        Of the slabs.

    Returns
    -------
    Slabs
        In the order of the index; the nodes across them are shared.
    """
    m = slabs.dry_mass_kg_m2.size
    arrays: dict[str, Any] = {
        field.name: value[..., index]
        for field in fields(slabs)
        if field.name != "nodes"
        and isinstance(value := getattr(slabs, field.name), np.ndarray)
        and value.shape[-1] == m
    }
    return replace(slabs, **arrays)


class Interior:
    """Fluxes between the nodes for a set of slabs; holds what does not change from call to call."""

    def __init__(self, slabs: Slabs) -> None:
        self._slabs = slabs
        self._per_spacing = 1.0 / (np.diff(slabs.nodes)[:, None] * slabs.dry_mass_kg_m2)
        law = slabs.own_diffusivity
        self._flow: _Flow = (
            _Separable(slabs, law, self._per_spacing)
            if type(law) is Diffusivity  # what is derived from it may depend on both otherwise
            else _AnyLaw(slabs, law, self._per_spacing)
        )
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
            self._kept = _Between(self, self._flow, x, t)
        return self._kept

    def heat_conductance(self, xf: np.ndarray) -> np.ndarray:
        """Conductance k rho_d / dm with k by volume shares (parallel model)."""
        v = self._slabs.volume(xf)
        return (self._solid + (WATER_VOLUME * WATER_CONDUCTIVITY) * xf) * self._per_spacing / (v * v)

    def slopes(self, x: np.ndarray, t: np.ndarray) -> np.ndarray:
        """Derivatives of `fluxes` by the state on either side.

        Returns
        -------
        ndarray, shape (2, 2, 2, n - 1, m)
            [flux: water, heat] by [side: below, above] by [unknown: X, T]. The change of the heat conductance
            with moisture is left out: a W-method does not need it.
        """
        at = self.between(x, t)
        below, above, by_t = self._flow.slopes(at)
        out = np.empty((2, 2, 2, *at.x_face.shape))
        # the flux is the difference of Kirchhoff's potential of the two nodes
        out[0, 0, 0], out[0, 1, 0] = below, -above
        out[0, :, 1] = by_t
        out[1, :, 0] = out[0, :, 0] * at.liquid_enthalpy
        mean = by_t * at.liquid_enthalpy + (0.5 * LIQUID_SPECIFIC_HEAT) * at.water
        out[1, 0, 1], out[1, 1, 1] = mean + at.heat_conductance, mean - at.heat_conductance
        return out


class _Between:
    """State and conductances between nodes; `values` are what the flow wants back for its slopes."""

    def __init__(self, interior: Interior, flow: "_Flow", x: np.ndarray, t: np.ndarray) -> None:
        self.x, self.t = x, t
        self.x_face, self.t_face = 0.5 * (x[1:] + x[:-1]), 0.5 * (t[1:] + t[:-1])
        self.moisture_conductance, self.values = flow.conductance(x, self.x_face, self.t_face)
        self.heat_conductance = interior.heat_conductance(self.x_face)
        self.liquid_enthalpy = liquid_enthalpy(self.t_face)
        self.water = self.moisture_conductance * (x[:-1] - x[1:])


_Pair = tuple[np.ndarray, np.ndarray]


class _Flow(Protocol):
    """How a law of diffusivity conducts water: D rho_d^2 / dm, its mean over the moisture between by Simpson's rule."""

    def conductance(self, x: np.ndarray, x_face: np.ndarray, t_face: np.ndarray) -> tuple[np.ndarray, _Pair]:
        """Conductance between nodes, and what it was worked out from, for the slopes."""

    def slopes(self, at: _Between) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Conductance at the moisture of the node below, and above; half the slope of the flux by temperature."""


class _Separable:
    """Of a `Diffusivity`: a factor of temperature and one of moisture, the latter worked out once for each node."""

    def __init__(self, slabs: Slabs, law: Diffusivity, per_spacing: np.ndarray) -> None:
        self._slabs = slabs
        self._reciprocal = 1.0 / law.temperature_K
        self._energy = law.activation_energy_J_mol / GAS_CONSTANT
        self._half = law.half_moisture_db
        self._falls = bool(np.any(self._half))
        scale = law.reference_m2_s * (1.0 + self._half / law.moisture_db) * slabs.diffusivity_factor
        if law.convention == "dry_mass":
            scale = scale * slabs.initial_dry_density**2
        self._local = law.convention == "local"
        self._scale = scale * per_spacing

    def conductance(self, x: np.ndarray, x_face: np.ndarray, t_face: np.ndarray) -> tuple[np.ndarray, _Pair]:
        arrhenius = np.exp(self._energy * (self._reciprocal - 1.0 / t_face))
        arrhenius *= self._scale
        falling = self._falling(x)
        mean = 4.0 * self._falling(x_face)
        mean += falling[1:]
        mean += falling[:-1]
        mean *= arrhenius
        mean *= 1.0 / 6.0
        return mean, (arrhenius, falling)

    def _falling(self, x: np.ndarray) -> np.ndarray:
        """Dependence of D rho_d^2 on moisture, in the convention of the diffusivity."""
        # of a state below nothing a diffusivity would be less than nothing, too: no step leads out of that
        x = np.maximum(x, LEAST_MOISTURE)
        g = x / (x + self._half) if self._falls else np.ones_like(x)
        if self._local:
            g /= self._slabs.volume(x) ** 2
        return g

    def slopes(self, at: _Between) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        arrhenius, falling = at.values
        by_t = (0.5 * self._energy) * at.water / (at.t_face * at.t_face)
        return arrhenius * falling[:-1], arrhenius * falling[1:], by_t


class _AnyLaw:
    """Of any other law, asked at the mean temperature of the nodes for the moisture of either and for their mean."""

    def __init__(self, slabs: Slabs, law: DiffusivityLaw, per_spacing: np.ndarray) -> None:
        self._slabs, self._law = slabs, law
        self._scale = slabs.diffusivity_factor * per_spacing
        self._local = law.convention == "local"
        if not self._local:
            self._scale = self._scale * slabs.initial_dry_density**2

    def conductance(self, x: np.ndarray, x_face: np.ndarray, t_face: np.ndarray) -> tuple[np.ndarray, _Pair]:
        below, middle, above = (self._at(moisture, t_face) for moisture in (x[:-1], x_face, x[1:]))
        return (below + 4.0 * middle + above) * (1.0 / 6.0), (below, above)

    def _at(self, x: np.ndarray, t_face: np.ndarray) -> np.ndarray:
        x = np.maximum(x, LEAST_MOISTURE)  # a solver's trial state may be anything
        here = self._scale * self._law.value(t_face, x)
        return here / self._slabs.volume(x) ** 2 if self._local else here

    def slopes(self, at: _Between) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        moisture = np.maximum(at.x_face, LEAST_MOISTURE)
        energy = activation_energy(self._law, at.t_face, moisture) * (0.5 / GAS_CONSTANT)
        return *at.values, energy * at.water / (at.t_face * at.t_face)
