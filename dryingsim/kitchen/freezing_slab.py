r"""A slab of meat that freezes, by the enthalpy method.

Each node stores enthalpy, and temperature follows from it without a moving boundary,

.. math:: \rho\,\frac{\partial h}{\partial t} = \frac{\partial^2 \varphi}{\partial x^2}, \qquad
          \varphi(h) = \int k\,dT

with Kirchhoff's potential so that the steep rise of the conductivity where ice forms costs no accuracy. At both faces
heat passes a film to the freezer's air. T(h) and phi(h) are tabulated once per slab. All slabs advance together, with
the stiff stepper of the package; the heat given off is integrated along with the enthalpies, so that the energy
balance closes to rounding.

Not in it: expansion on freezing (5 %), evaporation from the face, a wrapping that holds air, undercooling.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Annotated

import numpy as np
from scipy.linalg.lapack import dgttrf, dgttrs

from dryingsim.evidence import Evidence
from dryingsim.kernels.grid import clustered_nodes, control_volumes, middle_weights
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.properties import freezing
from dryingsim.properties.freezing import FreezingMeat
from dryingsim.typing import Array

NODES: Annotated[int, Evidence("-", "numerical", "across the thickness")] = 31
_CLUSTERING: Annotated[
    float, Evidence("-", "numerical", "of the nodes toward the faces: what freezes goes on to the middle")
] = 1.6
_PIECES: Annotated[int, Evidence("-", "numerical", "of the tables over enthalpy: 0.1 kJ/kg each")] = 4000
_ALLOWED_J_KG: Annotated[
    float,
    Evidence("J/kg", "numerical", "error of an enthalpy per step; what separates raw from frozen is 200 000"),
] = 20.0
SKIN_M: Annotated[
    float, Evidence("m", "estimate", "what has to be stiff to hold under a knife", (3e-3, 5e-3))
] = 4e-3
_OUTER: Annotated[
    float, Evidence("-", "estimate", "share of the thickness, at either face, that counts as outer layer")
] = 0.25


@dataclass(frozen=True, slots=True)
class Material:
    """What a slab that freezes is made of: functions of arrays, and a density [kg/m3].

    Attributes
    ----------
    enthalpy : Callable[[Array], Array]
        [J/kg] of a temperature [K].
    temperature : Callable[[Array], Array]
        The way back.
    conductivity : Callable[[Array], Array]
        [W/(m K)] of a temperature.
    """

    enthalpy: Callable[[Array], Array]
    temperature: Callable[[Array], Array]
    conductivity: Callable[[Array], Array]
    density: float


def material_of(food: FreezingMeat) -> Material:
    """Return meat as a material.

    Parameters
    ----------
    food : FreezingMeat

    Examples
    --------
    Its conductivity [W/(m K)] raw and frozen:

    >>> beef = material_of(freezing.freezing_meat(0.73, 0.21, 0.05, 0.0, 0.01))
    >>> [round(float(beef.conductivity(kelvin)), 2) for kelvin in (277.15, 253.15)]
    [0.46, 1.28]
    """
    return Material(
        partial(freezing.enthalpy, food),
        partial(freezing.temperature, food),
        partial(freezing.conductivity, food),
        float(freezing.density(food)),
    )


class _Tables:
    """Temperature and Kirchhoff's potential over enthalpy, one row per material, with their slopes."""

    def __init__(self, materials: list[Material], coldest_K: float, warmest_K: float) -> None:
        t, phi, start, width = [], [], [], []
        for material in materials:
            lowest, highest = float(material.enthalpy(coldest_K)), float(material.enthalpy(warmest_K))
            start.append(lowest)
            width.append((highest - lowest) / _PIECES)
            t.append(material.temperature(lowest + width[-1] * np.arange(_PIECES + 1)))
            k = material.conductivity(t[-1])
            phi.append(np.concatenate([[0.0], np.cumsum(0.5 * (k[1:] + k[:-1]) * np.diff(t[-1]))]))
        self._t, self._phi = np.concatenate(t), np.concatenate(phi)
        self._start, self._width = np.array(start), np.array(width)
        self._row = np.arange(len(materials)) * (_PIECES + 1)

    def at(self, h: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Return T, dT/dh, phi, dphi/dh for enthalpies of shape (..., m)."""
        place = (h - self._start) / self._width
        piece = np.clip(place, 0, _PIECES - 1).astype(np.intp)
        within, index = place - piece, piece + self._row
        values = []
        for table in (self._t, self._phi):
            low = table.take(index)
            rise = table.take(index + 1) - low
            values += [low + within * rise, rise / self._width]
        return values[0], values[1], values[2], values[3]


class SlabFreezer:
    """Slabs that freeze, as a system for the stepper: enthalpies (node, slab), then heat given off (slab).

    Parameters
    ----------
    materials : list of Material
        One per slab.
    thickness_m, film_W_m2K, freezer_K : ndarray, shape (m,)
        Thickness [m], film at both faces with radiation [W/(m2 K)], the freezer's air [K].
    start_K : float
        Temperature of all slabs at the start [K].
    nodes : int
        Across the thickness.
    """

    def __init__(
        self,
        materials: list[Material],
        thickness_m: np.ndarray,
        film_W_m2K: np.ndarray,
        freezer_K: np.ndarray,
        start_K: float,
        nodes: int = NODES,
    ) -> None:
        self.nodes, self._film, self._air = clustered_nodes(nodes, _CLUSTERING), film_W_m2K, freezer_K
        self.shares = control_volumes(self.nodes)
        self.mass_kg_m2 = np.array([material.density for material in materials]) * thickness_m
        self._per_mass = 1.0 / (self.shares[:, None] * self.mass_kg_m2)
        self._gap = np.diff(self.nodes)[:, None] * thickness_m
        self._tables = _Tables(materials, float(freezer_K.min()) - 1.0, start_K + 1.0)
        self._slabs, self.size = len(materials), nodes * len(materials)
        begin = np.array([float(material.enthalpy(start_K)) for material in materials])
        self.initial = np.concatenate([np.tile(begin, nodes), np.zeros(self._slabs)])

    def split(self, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return enthalpies (..., n, m) [J/kg] and heat given off (..., m) [J/m2]."""
        shape = (*y.shape[:-1], self.nodes.size, self._slabs)
        return y[..., : self.size].reshape(shape), y[..., self.size :]

    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Time derivative.

        Parameters
        ----------
        t : float
            Time [s]; not used.
        y : ndarray
            Enthalpies [J/kg], then heat given off [J/m2].
        """
        h, _ = self.split(y)
        temperature, _, phi, _ = self._tables.at(h)
        inner = np.diff(phi, axis=0) / self._gap  # towards the lower node
        into = np.zeros_like(h)
        into[:-1] += inner
        into[1:] -= inner
        faces = self._film * (self._air - temperature[[0, -1]])
        into[[0, -1]] += faces
        return np.concatenate([(into * self._per_mass).ravel(), -faces.sum(axis=0)])

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """No mass matrix here."""
        return u

    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the exact Jacobian.

        Parameters
        ----------
        t : float
            Time [s]; not used.
        y : ndarray
            Enthalpies [J/kg], then heat given off [J/m2].
        """
        h, _ = self.split(y)
        _, slope, _, by_h = self._tables.at(h)
        lower, upper = by_h[:-1] / self._gap, by_h[1:] / self._gap
        diagonal = np.zeros_like(h)
        diagonal[:-1] -= lower
        diagonal[1:] -= upper
        self._at_faces = self._film * slope[[0, -1]]
        diagonal[[0, -1]] -= self._at_faces
        self._bands = lower * self._per_mass[1:], diagonal * self._per_mass, upper * self._per_mass[:-1]

    def factor(self, shift: float) -> None:
        """Factor shift * I - A, all slabs one behind the other."""
        n, m = self.nodes.size, self._slabs
        lower, diagonal, upper = self._bands
        below, above = np.zeros((m, n)), np.zeros((m, n))
        below[:, :-1], above[:, :-1] = -lower.T, -upper.T
        self._shift = shift
        *self._lu, info = dgttrf(below.ravel()[:-1], (shift - diagonal).T.ravel(), above.ravel()[:-1])
        assert info == 0  # diagonally dominant

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve for one right-hand side."""
        n, m = self.nodes.size, self._slabs
        x, _ = dgttrs(*self._lu, r[: self.size].reshape(n, m).T.ravel())
        h = x.reshape(m, n).T
        heat = (r[self.size :] + (self._at_faces * h[[0, -1]]).sum(axis=0)) / self._shift
        return np.concatenate([h.ravel(), heat])

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Largest mean square error of a slab's enthalpies against what is allowed.

        Parameters
        ----------
        error, y : ndarray
            Estimated error of the state, and the state: enthalpies [J/kg], then heat given off [J/m2].
        """
        h, _ = self.split(error)
        return float(np.sqrt(np.mean((h / _ALLOWED_J_KG) ** 2, axis=0).max()))

    def closure(self, y: np.ndarray) -> float:
        """Largest relative miss of the energy balance."""
        h, heat = self.split(y)
        start, _ = self.split(self.initial)
        lost = ((start - h) * self.shares[:, None]).sum(axis=0) * self.mass_kg_m2
        return float(np.max(np.abs(lost - heat) / np.maximum(np.abs(heat), 1.0)))


def freeze(system: SlabFreezer, until_s: float, records: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Run to a time; return even times, states (time, ...) and the closure of the energy balance.

    Parameters
    ----------
    system : SlabFreezer
    until_s : float
        End of the run [s].
    records : int
        How many even times, the first of them 0.

    Examples
    --------
    25 mm of beef in still air of -18 degC: the heat that it has given off in two hours [MJ/m2], and how well that
    agrees with what it holds less.

    >>> beef = material_of(freezing.freezing_meat(0.73, 0.21, 0.05, 0.0, 0.01))
    >>> slab = SlabFreezer([beef], np.array([0.025]), np.array([8.0]), np.array([255.15]), 277.15)
    >>> times, states, closure = freeze(slab, 7200.0, 3)
    >>> round(float(states[-1, -1]) / 1e6, 2), closure < 1e-9
    (1.94, True)
    """
    times = np.linspace(0.0, until_s, records)
    stepper = Stepper(system, 0.0, system.initial.copy(), first_step=1.0)
    states, filled = np.empty((records, system.initial.size)), 1
    states[0] = system.initial
    while stepper.t < until_s:
        step = stepper.step(until_s)
        end = int(np.searchsorted(times, step.t1, side="right"))
        if end > filled:
            states[filled:end] = step.at(times[filled:end])
            filled = end
    return times, states, system.closure(stepper.y)


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezingHistory:
    """What happens in the piece over time; arrays over time, for one case. Temperatures in K.

    `mean_K` is the temperature at which the piece would even out; shares are those of all water that is ice.

    Attributes
    ----------
    time_s : ndarray
        [s].
    face_K : ndarray
        At the face.
    skin_K : ndarray
        The outer `SKIN_M`, evened out.
    outer_K : ndarray
        The outer quarters, evened out.
    middle_K : ndarray
        In the middle.
    ice_mean : ndarray
        Share of the water that is ice [-].
    ice_outer : ndarray
        The same in the outer quarters.
    ice_middle : ndarray
        The same in the middle.
    heat_J_kg : ndarray
        Given off.
    """

    time_s: np.ndarray
    face_K: np.ndarray
    skin_K: np.ndarray
    outer_K: np.ndarray
    middle_K: np.ndarray
    mean_K: np.ndarray
    ice_mean: np.ndarray
    ice_outer: np.ndarray
    ice_middle: np.ndarray
    heat_J_kg: np.ndarray

    def row(self, time_s: float) -> dict[str, float]:
        """Return all values at a time, by name."""
        names = [name for name in FreezingHistory.__slots__ if name != "time_s"]
        return {"time_s": time_s} | {
            name: float(np.interp(time_s, self.time_s, getattr(self, name))) for name in names
        }


def freezing_histories(
    system: SlabFreezer, foods: list[FreezingMeat], times: np.ndarray, states: np.ndarray
) -> list[FreezingHistory]:
    """Return the history of each slab from the states of a run.

    Parameters
    ----------
    system : SlabFreezer
    foods : list of FreezingMeat
        What the slabs are made of.
    times : ndarray
        As `freeze` returns them [s].
    states : ndarray
        Likewise, one row per time.

    Examples
    --------
    Middle and mean of a slab of beef after two hours [degC]:

    >>> beef = freezing.freezing_meat(0.73, 0.21, 0.05, 0.0, 0.01)
    >>> slab = SlabFreezer([material_of(beef)], np.array([0.025]), np.array([8.0]), np.array([255.15]), 277.15)
    >>> times, states, _ = freeze(slab, 7200.0, 3)
    >>> end = freezing_histories(slab, [beef], times, states)[0].row(7200.0)
    >>> round(end["middle_K"] - 273.15, 1), round(end["mean_K"] - 273.15, 1)
    (-0.9, -1.2)
    """
    h, heat = system.split(states)
    outer = _outer_weights(system.nodes, system.shares, _OUTER)
    middle = middle_weights(system.nodes)
    histories = []
    for j, food in enumerate(foods):
        own = h[:, :, j]
        thickness = float(system.mass_kg_m2[j] / freezing.density(food))
        skin = _outer_weights(system.nodes, system.shares, min(SKIN_M / thickness, _OUTER))
        t_nodes = freezing.temperature(food, own)
        levels = {
            "mean": own @ system.shares,
            "skin": own @ skin,
            "outer": own @ outer,
            "middle": own @ middle,
        }
        kelvin = {name: freezing.temperature(food, level) for name, level in levels.items()}
        ice = {name: freezing.ice_fraction(food, t) / food.water for name, t in kelvin.items()}
        histories.append(
            FreezingHistory(
                time_s=times,
                face_K=t_nodes[:, 0],
                skin_K=kelvin["skin"],
                outer_K=kelvin["outer"],
                middle_K=kelvin["middle"],
                mean_K=kelvin["mean"],
                ice_mean=(freezing.ice_fraction(food, t_nodes) / food.water) @ system.shares,
                ice_outer=ice["outer"],
                ice_middle=ice["middle"],
                heat_J_kg=heat[:, j] / system.mass_kg_m2[j],
            )
        )
    return histories


def _outer_weights(nodes: np.ndarray, shares: np.ndarray, depth: float) -> np.ndarray:
    """Weights of the nodes whose sum is the mean over the outer layer: their cells cut at its inner edge."""
    edges = np.concatenate([[0.0], np.cumsum(shares)])
    inside = np.minimum(edges[1:], depth) - np.minimum(edges[:-1], depth)
    return (inside + inside[::-1]) / (2.0 * depth)
