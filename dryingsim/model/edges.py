r"""Narrow strips dry through their long edges too: Newman's product rule as a loss at every node.

For diffusion with a constant coefficient the moisture ratio of a bar is the product of those of two slabs (Newman
1936). Differentiated, the second slab becomes a loss of every node in proportion to its own moisture, at the rate
:math:`r = (D/b^2)\,g(D t/b^2)` with b the half width and g = -d ln MR/dFo of the slab series. So a one-dimensional
slab with that loss obeys the rule exactly. Two corrections keep it physical in a real strip: the loss cannot be
faster than the film at the edge lets pass (the slower decides; the two are joined by squares, 1/N^2 = 1/N_in^2 + 1/N_out^2,
the power that solutions in two dimensions ask for: meat at the edge stays wet while the film is the slower), and the vapour
takes its heat from the node while convection and radiation at the edge bring some.

What warms edges without drying them is left out: in liquid or steam, and where vapour condenses, heat comes so fast that it
stays near the edge, far from the middle of the slice, which a loss of every node would warm at once; the coldest place
counts.

The edges count in full at any width: of a slice 10 thicknesses wide they are a tenth of the area. Their fluxes are
worked out at some of the nodes, with straight lines between (`Edges`): a third of the work.
"""

from itertools import pairwise
from typing import Annotated, NamedTuple

import numpy as np

from dryingsim.constants import STEFAN_BOLTZMANN
from dryingsim.evidence import Evidence
from dryingsim.kernels.grid import node_shares
from dryingsim.model.faces import CONVECTED, RADIATED, AirAtSlabs, FaceExchange, fourth_power, vapour_over
from dryingsim.model.slab import Slabs
from dryingsim.properties import films
from dryingsim.properties.water import vapour_enthalpy

_PLACES: Annotated[
    tuple[float, ...],
    Evidence("-", "numerical", "of the lower half of the dry mass, where the edges are worked out"),
] = (0.0, 0.03, 0.15, 0.5)
_DRY: Annotated[
    float,
    Evidence("kg/kg", "numerical", "moisture below which what the edges draw is no longer taken over it"),
] = 1e-4
_DRIES: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "potential of vapour above the air's over which edges set in; a fraction of a kelvin above the dew point",
    ),
] = 0.003
_FEW: Annotated[
    int,
    Evidence(
        "-",
        "numerical",
        "slabs up to which nodes are picked out at once, a fifth of the time; more go in slices",
    ),
] = 200


def decay_rate(fourier: np.ndarray) -> np.ndarray:
    """-d ln(MR)/dFo of a slab with fixed surfaces: g [-] for Fo = D t/b^2.

    Notes
    -----
    Short-time solution MR = 1 - 2 sqrt(Fo/pi) below Fo = 0.1, two terms of the series above; they agree to 0.3 %.
    """
    short = np.minimum(fourier, 0.1)
    early = 1.0 / (np.sqrt(np.pi * short) - 2.0 * short)
    if not (fourier >= 0.1).any():  # wide slices never come so far
        return early
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
    film, vapour_film : ndarray, shape (m,)
        Film coefficient at the edges [W/(m2 K)], for heat and, in the same measure, for vapour.
    t : float or ndarray, shape (m,)
        Time since the slices were laid on the trays [s].
    x, temperature : ndarray, shape (n, m)
        Moisture [kg/kg] and temperature [K] of the nodes.
    over : ndarray, shape (n, m), optional
        `vapour_over` them, where it is known.

    Attributes
    ----------
    passing : ndarray, shape (4, n, m)
        As `FaceExchange.boundary_flux`, per kg of dry solid; vapour [1/s] and the enthalpy it carries [W/kg] for each
        kg/kg of the node's moisture, as that changes them least; heat by convection and by radiation [W/kg].
    """

    def __init__(
        self,
        slabs: Slabs,
        air: AirAtSlabs,
        film: np.ndarray,
        vapour_film: np.ndarray,
        t: float | np.ndarray,
        x: np.ndarray,
        temperature: np.ndarray,
        over: np.ndarray | None = None,
    ) -> None:
        self._x = x
        area = slabs.edge_area_per_dry_mass
        if over is None:
            over = vapour_over(slabs, air.pressure_Pa, x, temperature)
        outside = films.log_dry(over) - air.dryness  # films.stefan_flux
        dries = np.minimum(np.maximum(outside / _DRIES, 0.0), 1.0)
        outside *= area * air.film.mass_factor * vapour_film
        outside /= np.maximum(x, _DRY)
        rate = slabs.own_diffusivity.value(temperature, np.maximum(x, _DRY))
        rate *= slabs.diffusivity_factor / slabs.edge_length_m**2
        inside = rate * decay_rate(np.maximum(rate * t, 1e-9))
        np.maximum(
            outside, 0.0, out=outside
        )  # what condenses there warms the edges alone, not the middle of a slice
        # a slab without edges has no inside flow: 0/0
        both = np.sqrt(inside * inside + outside * outside) + 1e-300
        radiation = area * (STEFAN_BOLTZMANN * slabs.emissivity) * air.mean_view
        self.passing = np.empty((4, *x.shape))
        vapour, carried, convected, radiated = self.passing
        np.multiply(outside, inside / both, out=vapour)
        np.multiply(vapour, vapour_enthalpy(temperature), out=carried)
        np.multiply(area * film * dries, air.temperature_K - temperature, out=convected)
        np.multiply(radiation * dries, air.mean_wall_fourth - fourth_power(temperature), out=radiated)

    @property
    def boundary_flux(self) -> np.ndarray:
        """As `FaceExchange.boundary_flux`, per kg of dry solid: [1/s] and [W/kg]; shape (4, n, m)."""
        return np.concatenate([self.passing[:CONVECTED] * self._x, self.passing[CONVECTED:]])


class EdgeNodes(NamedTuple):
    """Nodes at which edges are worked out: moisture [kg/kg], temperature [K] and the vapour over them [-], shape (k, m)."""

    x: np.ndarray
    temperature: np.ndarray
    over: np.ndarray


class Edges:
    """The long edges of a set of slabs, worked out at seven or eight of the nodes, with straight lines between.

    What is drawn over the moisture there changes least from node to node; of the time that slices 3 to 20 thicknesses
    wide take to dry, all nodes make less than 0.1 % of difference.

    Parameters
    ----------
    slabs : Slabs
    mass : ndarray, shape (n, m)
        Dry solid of the nodes [kg/m2].

    Attributes
    ----------
    at : ndarray of int, shape (k,)
        The nodes, both faces among them.
    """

    def __init__(self, slabs: Slabs, mass: np.ndarray) -> None:
        self._slabs, self._mass = slabs, mass
        nodes = slabs.nodes
        lower = [int(np.argmin(np.abs(nodes - place))) for place in _PLACES]
        self.at = np.array(sorted({*lower, *(nodes.size - 1 - i for i in lower)}))
        # which of `at` stands at or below each node, below the last, and how far the node is on the way to the next
        self._below = np.searchsorted(self.at, np.arange(nodes.size), side="right") - 1
        self._below[-1] -= 1
        low, high = nodes[self.at[self._below]], nodes[self.at[self._below + 1]]
        self._place = ((nodes - low) / (high - low))[:, None]
        self._spans = [
            (k, slice(at, end)) for k, (at, end) in enumerate(pairwise([*self.at[:-1], nodes.size]))
        ]
        units = self._everywhere(np.eye(self.at.size)[..., None])[..., 0]  # (k, n)
        # of what all nodes take together, by the values at some
        self._some_mass = (units * node_shares(nodes)).sum(axis=1)[:, None] * slabs.dry_mass_kg_m2

    def _everywhere(self, values: np.ndarray) -> np.ndarray:
        """Values (..., n, m) from those (..., k, m) at some nodes; element by element: no slab minds another."""
        rise = values[..., 1:, :] - values[..., :-1, :]
        if values.shape[-1] <= _FEW:
            out = rise.take(self._below, axis=-2)
            out *= self._place
            out += values.take(self._below, axis=-2)
            return out
        out = np.empty((*values.shape[:-2], self._slabs.nodes.size, values.shape[-1]))
        for k, nodes in self._spans:
            np.multiply(rise[..., k : k + 1, :], self._place[nodes], out=out[..., nodes, :])
            out[..., nodes, :] += values[..., k : k + 1, :]
        return out

    def nodes(
        self, pressure_Pa: float | np.ndarray, x: np.ndarray, temperature: np.ndarray, over: np.ndarray | None
    ) -> EdgeNodes:
        """Pick the nodes `at` of all.

        Parameters
        ----------
        pressure_Pa : float or ndarray, shape (m,)
            Of the air [Pa].
        x, temperature : ndarray, shape (n, m)
            Moisture [kg/kg] and temperature [K].
        over : ndarray, shape (n, m), or None
            `vapour_over` all, where it is known.
        """
        x, temperature = x[self.at], temperature[self.at]
        if over is None:
            return EdgeNodes(x, temperature, vapour_over(self._slabs, pressure_Pa, x, temperature))
        return EdgeNodes(x, temperature, over[self.at])

    def gain(
        self,
        totals: np.ndarray,
        air: AirAtSlabs,
        faces: FaceExchange,
        t: float | np.ndarray,
        x: np.ndarray,
        seen: EdgeNodes,
    ) -> np.ndarray:
        """Add what passes the edges to the rates of what passes each slab; return what the nodes gain.

        Parameters
        ----------
        totals : ndarray, shape (5, m)
            See `dryingsim.model.system`.
        air : AirAtSlabs
        faces : FaceExchange
            Whose films the edges take.
        t : float or ndarray, shape (m,)
            Time since the slices were laid on the trays [s].
        x : ndarray, shape (n, m)
            Moisture of the nodes [kg/kg].
        seen : EdgeNodes
            The nodes `at`.

        Returns
        -------
        ndarray, shape (2, n, m)
            Of moisture [1/s] and enthalpy [W/kg]; less than nothing where they lose.
        """
        film, vapour_film = (0.5 * (both[0] + both[1]) for both in (faces.film, faces.vapour_film))
        exchange = EdgeExchange(self._slabs, air, film, vapour_film, t, seen.x, seen.temperature, seen.over)
        passing = exchange.passing
        received = (self._some_mass * passing[CONVECTED:]).sum(axis=1)
        totals[CONVECTED] += received[0]
        totals[CONVECTED + 1 :] += 0.5 * received[1]  # from below and from above alike
        passing[CONVECTED] += passing[RADIATED]
        everywhere = self._everywhere(passing[:RADIATED])
        lost = everywhere[:CONVECTED]
        lost *= x
        totals[:CONVECTED] += (self._mass * lost).sum(axis=1)
        np.negative(lost, out=lost)
        lost[1] += everywhere[CONVECTED]
        return lost
