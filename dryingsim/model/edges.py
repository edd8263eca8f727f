r"""Narrow strips dry through their long edges too: Newman's product rule as a loss at every node.

For diffusion with a constant coefficient the moisture ratio of a bar is the product of those of two slabs (Newman
1936). Differentiated, the second slab becomes a loss of every node in proportion to its own moisture, at the rate
:math:`r = (D/b^2)\,g(D t/b^2)` with b the half width and g = -d ln MR/dFo of the slab series. So a one-dimensional
slab with that loss obeys the rule exactly. Two corrections keep it physical in a real strip: the loss cannot be
faster than the film at the edge lets pass (both resistances in series), and the vapour takes its heat from the node
while convection and radiation at the edge bring some.

For wide slices the edges are left out (they matter by less than 5 % when the width is over about 20 thicknesses): they
count in full up to 6 thicknesses of width, where the extra area is a sixth, then ever less, and from 8 on not at all.
"""

import numpy as np

from dryingsim.constants import MOLAR_MASS_WATER, STEFAN_BOLTZMANN
from dryingsim.model.faces import CARRIED, CONVECTED, RADIATED, VAPOUR, AirAtSlabs
from dryingsim.model.slab import Slabs
from dryingsim.properties import films
from dryingsim.properties.water import (
    VAPOUR_SPECIFIC_HEAT,
    log_saturation_pressure,
    log_saturation_pressure_slope,
    vapour_enthalpy,
)


def decay_rate(fourier: np.ndarray) -> np.ndarray:
    """-d ln(MR)/dFo of a slab with fixed surfaces: g [-] for Fo = D t/b^2.

    Notes
    -----
    Short-time solution MR = 1 - 2 sqrt(Fo/pi) below Fo = 0.1, two terms of the series above; they agree to 0.3 %.
    """
    short = np.minimum(fourier, 0.1)
    early = 1.0 / (np.sqrt(np.pi * short) - 2.0 * short)
    first, second = 0.25 * np.pi**2, 2.25 * np.pi**2
    ratio = np.exp((first - second) * np.maximum(fourier, 0.1)) / 9.0
    late = (first + second * ratio) / (1.0 + ratio)
    return np.where(fourier < 0.1, early, late)


class EdgeExchange:
    """What passes the long edges, per dry mass of each node.

    Parameters
    ----------
    slabs : Slabs
    air : AirAtSlabs
    film : ndarray, shape (m,)
        Film coefficient at the edges [W/(m2 K)].
    t : float
        Time since the slices were laid on the trays [s].
    x, temperature : ndarray, shape (n, m)
        Moisture [kg/kg] and temperature [K] of the nodes.

    Attributes
    ----------
    boundary_flux : ndarray, shape (4, n, m)
        As `FaceExchange.boundary_flux`, per kg of dry solid: [1/s] and [W/kg].
    """

    def __init__(
        self,
        slabs: Slabs,
        air: AirAtSlabs,
        film: np.ndarray,
        t: float,
        x: np.ndarray,
        temperature: np.ndarray,
    ) -> None:
        self._x, self._t = x, temperature
        self._area = 1.0 / (slabs.edge_length_m * slabs.initial_dry_density)  # edge area per dry mass
        self._slabs = slabs
        log_activity, sorption = slabs.sorption.at(x, temperature, slabs.recipe)
        self._y = np.exp(log_activity + log_saturation_pressure(temperature)) * (1.0 / air.pressure_Pa)
        self._mass = air.film.mass_factor * film
        self._outside = films.stefan_flux(self._mass, air.vapour_fraction, self._y)
        d = slabs.diffusivity.value(temperature, x) * slabs.diffusivity_factor
        fourier = np.maximum(d * t / slabs.edge_length_m**2, 1e-9)
        self._inside = d * decay_rate(fourier) * x * slabs.initial_dry_density / slabs.edge_length_m
        drawn = np.maximum(self._outside, 0.0)
        self._share = self._inside / (self._inside + drawn + 1e-300)  # a wide slice has no inside flow: 0/0
        vapour = self._area * self._outside * self._share
        self._enthalpy = vapour_enthalpy(temperature) + sorption * (1.0 / MOLAR_MASS_WATER)
        self._film, self._radiation = film, STEFAN_BOLTZMANN * slabs.emissivity * air.view.mean(axis=0)
        wall = np.mean(air.wall_K, axis=0)
        convected = self._area * film * (air.temperature_K - temperature)
        radiated = self._area * self._radiation * (wall**4 - temperature**4)
        self.boundary_flux = np.stack([vapour, vapour * self._enthalpy, convected, radiated])

    def slopes(self) -> np.ndarray:
        """Derivatives of `boundary_flux` by the node's moisture and temperature, shape (4, 2, n, m).

        Left out: the change of the diffusivity and of the heat of sorption.
        """
        by_x, by_t = self._slabs.sorption.slopes(self._x, self._t, self._slabs.recipe)
        out = np.zeros((4, 2, *self._t.shape))
        vapour = self.boundary_flux[VAPOUR]
        steep = self._area * self._mass * films.log_dry_slope(self._y) * self._y * self._share**2
        out[VAPOUR, 0] = steep * by_x + vapour * (1.0 - self._share) / self._x
        out[VAPOUR, 1] = steep * (by_t + log_saturation_pressure_slope(self._t))
        out[CARRIED] = out[VAPOUR] * self._enthalpy
        out[CARRIED, 1] += vapour * VAPOUR_SPECIFIC_HEAT
        out[CONVECTED, 1] = -self._area * self._film
        out[RADIATED, 1] = -4.0 * self._area * self._radiation * self._t**3
        return out
