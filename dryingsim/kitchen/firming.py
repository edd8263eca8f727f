r"""Firming a piece of meat in the freezer, so that it can be sliced thin: when to take it out.

A slab by the enthalpy method: each node stores enthalpy, and temperature follows from it without a moving boundary,

.. math:: \rho\,\frac{\partial h}{\partial t} = \frac{\partial^2 \varphi}{\partial x^2}, \qquad
          \varphi(h) = \int k\,dT

with Kirchhoff's potential so that the steep rise of the conductivity where ice forms costs no accuracy. At both faces
heat passes a film to the freezer's air. T(h) and phi(h) are tabulated once per case. All cases (expected, soonest,
latest) advance together, with the stiff stepper of the package; the heat given off is integrated along with the
enthalpies, so that the energy balance closes to rounding.

A *brick* gives off heat through six faces. Its times are the slab's, divided by the equivalent dimensionality

.. math:: E = 1 + \frac{1 + 2/Bi}{\beta_1^2 + 2\beta_1/Bi} + \frac{1 + 2/Bi}{\beta_2^2 + 2\beta_2/Bi}

with Bi = h R/k on the half thickness R, and the other two sides beta times as long: conductances of the three
directions added (the form of Hossain, Cleland & Cleland 1992, from memory). At small Bi, as in a household freezer, it
is the ratio of the surfaces. Against runs in three dimensions the times come out 1 to 5 % long (tests).

Not in it: expansion on freezing (5 %), evaporation from the face, a wrapping that holds air, undercooling.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from scipy.linalg.lapack import dgttrf, dgttrs

from dryingsim.batch.schema import Composition
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.kernels.grid import clustered_nodes, control_volumes, middle_weights
from dryingsim.kernels.rosenbrock import Stepper
from dryingsim.properties import freezing
from dryingsim.properties.freezing import FreezingMeat
from dryingsim.typing import Array

NODES = 31
_PIECES = 4000  # of the tables over enthalpy: 0.1 kJ/kg each
_ALLOWED_J_KG = 20.0  # error of an enthalpy per step; what separates raw from frozen is 200 000
_RECORDS = 600  # even times, by which the events are interpolated
_LONGEST_S = 96 * 3600.0
_OUTER = 0.25  # share of the thickness, at either face, that counts as outer layer

# Tempered meat is cut by machine at -5 to -2 degC (read in a text on meat technology). For slicing by hand a mean of
# -3 to -2 degC is aimed at, where about half of the water is ice (derived from the enthalpy; estimate). These hold for
# fresh meat; in salted meat it takes a lower temperature to freeze as much of the water.
FIRM_K = ZERO_CELSIUS - 2.0
BEST_K = ZERO_CELSIUS - 2.5
HARD_K = ZERO_CELSIUS - 3.0
OUTER_HARD_K = ZERO_CELSIUS - 5.0

# Film with the radiation in it [W/(m2 K)]: value, lowest, highest. From memory; 5 read in an exercise on a cold room.
FILMS = {"still": (8.0, 5.0, 10.0), "fan": (20.0, 15.0, 25.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of meat in the freezer.

    Attributes
    ----------
    composition : Composition
        Of the raw meat.
    thickness_m, width_m, length_m : float
        The thickness is the smallest; the other two infinite for a slab.
    start_K, freezer_K : float
        Temperatures of the piece at the start and of the freezer's air.
    film : tuple of float
        Film coefficient with radiation, value, lowest and highest [W/(m2 K)].
    salt_kg_kg, sugar_kg_kg : float
        In the piece, per raw weight.
    """

    composition: Composition
    thickness_m: float
    width_m: float = np.inf
    length_m: float = np.inf
    start_K: float = ZERO_CELSIUS + 4.0
    freezer_K: float = ZERO_CELSIUS - 18.0
    film: tuple[float, float, float] = FILMS["still"]
    salt_kg_kg: float = 0.0
    sugar_kg_kg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezingHistory:
    """What happens in the piece over time; arrays over time, for one case. Temperatures in K.

    `mean_K` is the temperature at which the piece would even out; shares are those of all water that is ice.
    """

    time_s: np.ndarray
    face_K: np.ndarray
    outer_K: np.ndarray  # the outer quarters, evened out
    middle_K: np.ndarray
    mean_K: np.ndarray
    ice_mean: np.ndarray
    ice_outer: np.ndarray
    ice_middle: np.ndarray
    heat_J_kg: np.ndarray  # given off

    def row(self, time_s: float) -> dict[str, float]:
        """Return all values at a time, by name."""
        names = [name for name in FreezingHistory.__slots__ if name != "time_s"]
        return {"time_s": time_s} | {
            name: float(np.interp(time_s, self.time_s, getattr(self, name))) for name in names
        }


@dataclass(frozen=True, slots=True)
class FirmnessLimits:
    """Temperatures [K] at which a piece counts as firm, best to slice, or hard."""

    firm: float = FIRM_K  # outer layer
    best: float = BEST_K  # evened out
    middle_hard: float = HARD_K
    outer_hard: float = OUTER_HARD_K

    def salted(self, fresh: FreezingMeat, food: FreezingMeat) -> "FirmnessLimits":
        """Return the temperatures at which as much of the water is frozen in salted meat as in fresh meat."""

        def same_ice(kelvin: float) -> float:
            share = float(freezing.ice_fraction(fresh, kelvin) / fresh.water)
            below = float(food.freezing_K) - ZERO_CELSIUS
            return ZERO_CELSIUS + below / (1.0 - share * float(food.water / food.freezable))

        return FirmnessLimits(*map(same_ice, (self.firm, self.best, self.middle_hard, self.outer_hard)))


@dataclass(frozen=True, slots=True)
class SlicingWindow:
    """When to slice [s]: None where a state is not reached within the time simulated."""

    firm_s: float | None  # the outer layer is firm
    best_s: float | None  # evened out it would be in the middle of the range for slicing
    hard_s: float | None  # the middle is frozen hard, or the outer layer too hard for a knife


@dataclass(frozen=True, slots=True, kw_only=True)
class Firming:
    """The answer for a piece: the expected course, and how far off the window may be."""

    piece: Piece
    food: FreezingMeat  # of the expected case
    limits: FirmnessLimits  # likewise
    dimensionality: float
    freezing_history: FreezingHistory
    expected: SlicingWindow
    soonest: SlicingWindow
    latest: SlicingWindow
    closure: float  # relative miss of the energy balance, largest of the cases


@dataclass(frozen=True, slots=True)
class Material:
    """What a slab that freezes is made of: functions of arrays, and a density [kg/m3]."""

    enthalpy: Callable[[Array], Array]  # [J/kg] of a temperature [K]
    temperature: Callable[[Array], Array]  # the way back
    conductivity: Callable[[Array], Array]  # [W/(m K)] of a temperature
    density: float


def material_of(food: FreezingMeat) -> Material:
    """Return meat as a material."""
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
        for one in materials:
            lowest, highest = float(one.enthalpy(coldest_K)), float(one.enthalpy(warmest_K))
            start.append(lowest)
            width.append((highest - lowest) / _PIECES)
            t.append(one.temperature(lowest + width[-1] * np.arange(_PIECES + 1)))
            k = one.conductivity(t[-1])
            phi.append(np.concatenate([[0.0], np.cumsum(0.5 * (k[1:] + k[:-1]) * np.diff(t[-1]))]))
        self._t, self._phi = np.concatenate(t), np.concatenate(phi)
        self._start, self._width = np.array(start), np.array(width)
        self._row = np.arange(len(materials)) * (_PIECES + 1)

    def at(self, h: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Return T, dT/dh, phi, dphi/dh for enthalpies of shape (..., m)."""
        place = (h - self._start) / self._width
        piece = np.clip(place, 0, _PIECES - 1).astype(np.intp)
        within, index = place - piece, piece + self._row
        found = []
        for table in (self._t, self._phi):
            low = table.take(index)
            rise = table.take(index + 1) - low
            found += [low + within * rise, rise / self._width]
        return found[0], found[1], found[2], found[3]


class SlabFreezer:
    """Slabs that freeze, as a system for the stepper: enthalpies (node, slab), then heat given off (slab).

    Parameters
    ----------
    materials : list of Material
        One per slab.
    thickness_m, film_W_m2K, freezer_K : ndarray, shape (m,)
    start_K : float
    nodes : int
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
        self.nodes, self._film, self._air = clustered_nodes(nodes), film_W_m2K, freezer_K
        self.shares = control_volumes(self.nodes)
        self.mass_kg_m2 = np.array([one.density for one in materials]) * thickness_m
        self._per_mass = 1.0 / (self.shares[:, None] * self.mass_kg_m2)
        self._gap = np.diff(self.nodes)[:, None] * thickness_m
        self._tables = _Tables(materials, float(freezer_K.min()) - 1.0, start_K + 1.0)
        self._slabs, self.size = len(materials), nodes * len(materials)
        begin = np.array([float(one.enthalpy(start_K)) for one in materials])
        self.initial = np.concatenate([np.tile(begin, nodes), np.zeros(self._slabs)])

    def split(self, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return enthalpies (..., n, m) [J/kg] and heat given off (..., m) [J/m2]."""
        shape = (*y.shape[:-1], self.nodes.size, self._slabs)
        return y[..., : self.size].reshape(shape), y[..., self.size :]

    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Time derivative; `t` is not used."""
        h, _ = self.split(y)
        temperature, _, phi, _ = self._tables.at(h)
        inner = np.diff(phi, axis=0) / self._gap  # towards the lower node
        into = np.zeros_like(h)
        into[:-1] += inner
        into[1:] -= inner
        faces = self._film * (self._air - temperature[[0, -1]])
        into[[0, -1]] += faces
        return np.concatenate([(into * self._per_mass).ravel(), -faces.sum(axis=0)])

    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the exact Jacobian."""
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
        """Largest mean square error of a slab's enthalpies against what is allowed."""
        h, _ = self.split(error)
        return float(np.sqrt(np.mean((h / _ALLOWED_J_KG) ** 2, axis=0).max()))

    def closure(self, y: np.ndarray) -> float:
        """Largest relative miss of the energy balance."""
        h, heat = self.split(y)
        start, _ = self.split(self.initial)
        lost = ((start - h) * self.shares[:, None]).sum(axis=0) * self.mass_kg_m2
        return float(np.max(np.abs(lost - heat) / np.maximum(np.abs(heat), 1.0)))


def freeze(system: SlabFreezer, until_s: float, records: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Run to a time; return even times, states (time, ...) and the closure of the energy balance."""
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


def freezing_histories(
    system: SlabFreezer, foods: list[FreezingMeat], times: np.ndarray, states: np.ndarray
) -> list[FreezingHistory]:
    """Return the course of each slab from the states of a run."""
    h, heat = system.split(states)
    outer = _outer_weights(system.nodes, system.shares)
    middle = middle_weights(system.nodes)
    found = []
    for j, food in enumerate(foods):
        one = h[:, :, j]
        t_nodes = freezing.temperature(food, one)
        levels = {"mean": one @ system.shares, "outer": one @ outer, "middle": one @ middle}
        kelvin = {name: freezing.temperature(food, level) for name, level in levels.items()}
        ice = {name: freezing.ice_fraction(food, t) / food.water for name, t in kelvin.items()}
        found.append(
            FreezingHistory(
                time_s=times,
                face_K=t_nodes[:, 0],
                outer_K=kelvin["outer"],
                middle_K=kelvin["middle"],
                mean_K=kelvin["mean"],
                ice_mean=(freezing.ice_fraction(food, t_nodes) / food.water) @ system.shares,
                ice_outer=ice["outer"],
                ice_middle=ice["middle"],
                heat_J_kg=heat[:, j] / system.mass_kg_m2[j],
            )
        )
    return found


def _outer_weights(nodes: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Weights of the nodes whose sum is the mean over the outer layer: their cells cut at its inner edge."""
    edges = np.concatenate([[0.0], np.cumsum(shares)])
    inside = np.minimum(edges[1:], _OUTER) - np.minimum(edges[:-1], _OUTER)
    return (inside + inside[::-1]) / (2.0 * _OUTER)


def brick_dimensionality(piece: Piece, film_W_m2K: Array, conductivity: Array) -> Array:
    """Equivalent dimensionality E of a brick (1 for a slab): by it a slab's times are divided; see the module."""
    half = 0.5 * piece.thickness_m
    two_per_biot = 2.0 * conductivity / (film_W_m2K * half)
    total = 1.0
    for side in (piece.width_m, piece.length_m):
        beta = side / piece.thickness_m
        if np.isfinite(beta):
            total = total + (1.0 + two_per_biot) / (beta * beta + beta * two_per_biot)
    return total


def firm(piece: Piece) -> Firming:
    """Work out when a piece can be sliced.

    The expected case takes the film as it is thought to be and the freezing point of fresh meat. The soonest takes
    the strongest film and the handbook's lower freezing point, at which less heat has to go before the piece is at
    -2.5 degC; the latest the weakest film.
    """
    if piece.freezer_K >= HARD_K:
        raise InputError(
            f"a freezer at {piece.freezer_K - ZERO_CELSIUS:.3g} degC firms no meat; -3 degC or colder is expected"
        )
    food, limits = _case(piece, None)
    lower = _case(piece, freezing.HANDBOOK_FREEZING_K)
    foods = [food, lower[0], food]
    value, low, high = piece.film
    films = np.array([value, high, low])
    ones = np.ones(3)
    frozen_k = np.array([float(freezing.conductivity(f, BEST_K)) for f in foods])
    sides = np.asarray(brick_dimensionality(piece, films, frozen_k)) * ones
    # In the slab's own time a brick is `sides` times as long in the freezer.
    materials = [material_of(food) for food in foods]
    system = SlabFreezer(materials, piece.thickness_m * ones, films, piece.freezer_K * ones, piece.start_K)
    span = _span(piece, food, limits, low) * float(sides.max())
    times, states, closure = freeze(system, span, _RECORDS)
    found = [
        replace(freezing_history, time_s=freezing_history.time_s / side)
        for freezing_history, side in zip(
            freezing_histories(system, foods, times, states), sides, strict=True
        )
    ]
    windows = [_window(*one) for one in zip(found, (limits, lower[1], limits), strict=True)]
    return Firming(
        piece=piece,
        food=food,
        limits=limits,
        dimensionality=float(sides[0]),
        freezing_history=found[0],
        expected=windows[0],
        soonest=windows[1],
        latest=windows[2],
        closure=closure,
    )


def _case(piece: Piece, fresh_K: float | None) -> tuple[FreezingMeat, FirmnessLimits]:
    """Return the meat of a piece, and its limits, for a freezing point of the fresh meat."""
    c = piece.composition
    raw = (c.water, c.protein, c.fat, c.carbohydrate, c.ash)
    fresh = freezing.freezing_meat(*raw, fresh_K=fresh_K)
    if not (piece.salt_kg_kg or piece.sugar_kg_kg):
        return fresh, FirmnessLimits()
    food = freezing.freezing_meat(*raw, salt=piece.salt_kg_kg, sugar=piece.sugar_kg_kg, fresh_K=fresh_K)
    return food, FirmnessLimits().salted(fresh, food)


def _span(piece: Piece, food: FreezingMeat, limits: FirmnessLimits, film: float) -> float:
    """Time enough for the latest case to be hard, by Plank's formula with a margin [s]."""
    heat = float(freezing.enthalpy(food, piece.start_K) - freezing.enthalpy(food, limits.outer_hard))
    drive = max(float(food.freezing_K) - piece.freezer_K - 2.0, 1.0)
    d, k = piece.thickness_m, 0.9
    plank = float(freezing.density(food)) * heat / drive * (d / (2.0 * film) + d * d / (8.0 * k))
    return min(1.5 * plank, _LONGEST_S)


def _window(freezing_history: FreezingHistory, limits: FirmnessLimits) -> SlicingWindow:
    middle = _first(freezing_history, freezing_history.middle_K, limits.middle_hard)
    outer = _first(freezing_history, freezing_history.outer_K, limits.outer_hard)
    reached = [time for time in (middle, outer) if time is not None]
    return SlicingWindow(
        firm_s=_first(freezing_history, freezing_history.outer_K, limits.firm),
        best_s=_first(freezing_history, freezing_history.mean_K, limits.best),
        hard_s=min(reached) if reached else None,
    )


def _first(freezing_history: FreezingHistory, values: np.ndarray, level_K: float) -> float | None:
    """Time at which a falling temperature reaches a level."""
    if values[-1] > level_K:
        return None
    return float(np.interp(-level_K, -values, freezing_history.time_s))
