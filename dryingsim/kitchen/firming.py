r"""Firming a piece of meat in the freezer, so that it can be sliced thin: when to take it out.

There are two marks. A knife needs a stiff outside (`freezing_slab.SKIN_M`), the middle may still be soft; a machine needs a
piece that is tempered through. The first comes sooner.

All cases (expected, soonest, latest) freeze side by side, as slabs (`freezing_slab`, which says what is not in it).

A *brick* gives off heat through six faces. Its times are the slab's, divided by the equivalent dimensionality

.. math:: E = 1 + \frac{1 + 2/Bi}{\beta_1^2 + 2\beta_1/Bi} + \frac{1 + 2/Bi}{\beta_2^2 + 2\beta_2/Bi}

with Bi = h R/k on the half thickness R, and the other two sides beta times as long: conductances of the three
directions added (the form of Hossain, Cleland & Cleland 1992, from memory). At small Bi, as in a household freezer, it
is the ratio of the surfaces. Against runs in three dimensions the times come out 1 to 5 % long (tests).
"""

from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from dryingsim.batch.schema import Composition
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.kitchen.freezing_slab import (
    FreezingHistory,
    SlabFreezer,
    freeze,
    freezing_histories,
    material_of,
)
from dryingsim.kitchen.loading import density_of
from dryingsim.properties import freezing
from dryingsim.properties.freezing import FreezingMeat
from dryingsim.typing import Array

_RECORDS: Annotated[int, Evidence("-", "numerical", "even times, by which the events are interpolated")] = 600
_LONGEST_S: Annotated[float, Evidence("s", "numerical", "nothing is followed for longer")] = 96 * 3600.0

_TEMPERED = (
    "tempered meat is cut by machine at -5 to -2 degC (read in a text on meat technology). For slicing by hand a mean of "
    "-3 to -2 degC is aimed at, where about half of the water is ice (derived from the enthalpy). These hold for fresh "
    "meat; in salted meat it takes a lower temperature to freeze as much of the water"
)
FIRM_K: Annotated[float, Evidence("K", "estimate", _TEMPERED)] = ZERO_CELSIUS - 2.0
BEST_K: Annotated[float, Evidence("K", "estimate", _TEMPERED)] = ZERO_CELSIUS - 2.5
HARD_K: Annotated[float, Evidence("K", "estimate", _TEMPERED)] = ZERO_CELSIUS - 3.0
OUTER_HARD_K: Annotated[float, Evidence("K", "estimate", _TEMPERED)] = ZERO_CELSIUS - 5.0

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

    @property
    def weight_kg(self) -> float | None:
        """Of the piece [kg]; None where a side is endless."""
        volume = self.thickness_m * self.width_m * self.length_m
        return volume * density_of(self.composition) if np.isfinite(volume) else None


def sides_of(
    composition: Composition, weight_kg: float, first_m: float, second_m: float
) -> tuple[float, float, float]:
    """Return the sides of a brick, the smallest first, of which two and the weight are known [m].

    Parameters
    ----------
    composition : Composition
        Of the raw meat.
    weight_kg : float
        [kg]
    first_m, second_m : float
        Two sides [m].

    Examples
    --------
    A piece of 863 g, 60 by 90 mm:

    >>> from dryingsim.batch.catalog.cuts import find_cut
    >>> beef = find_cut("cut", "beef eye of round").composition
    >>> [round(1e3 * side) for side in sides_of(beef, 0.863, 0.06, 0.09)]
    [60, 90, 150]
    """
    third = weight_kg / (density_of(composition) * first_m * second_m)
    smallest, middle, largest = sorted((first_m, second_m, third))
    return smallest, middle, largest


@dataclass(frozen=True, slots=True)
class FirmnessLimits:
    """Temperatures [K] at which a piece counts as firm, best to slice, or hard.

    Attributes
    ----------
    middle_hard : float
        Of the middle: from here on it is frozen hard.
    outer_hard : float
        Of the outer layer: from here on too hard for a knife.
    """

    firm: float = FIRM_K  # outer layer
    best: float = BEST_K  # evened out
    middle_hard: float = HARD_K
    outer_hard: float = OUTER_HARD_K

    def salted(self, fresh: FreezingMeat, food: FreezingMeat) -> "FirmnessLimits":
        """Return the temperatures at which as much of the water is frozen in salted meat as in fresh meat.

        Parameters
        ----------
        fresh, food : FreezingMeat
            Before and after salting.

        Examples
        --------
        2 % of salt: firm no longer at -2 degC, but at

        >>> raw = (0.73, 0.21, 0.05, 0.0, 0.01)
        >>> fresh, salted = freezing.freezing_meat(*raw), freezing.freezing_meat(*raw, salt=0.02)
        >>> round(FirmnessLimits().salted(fresh, salted).firm - 273.15, 1)
        -6.1
        """

        def same_ice(kelvin: float) -> float:
            share = float(freezing.ice_fraction(fresh, kelvin) / fresh.water)
            below = float(food.freezing_K) - ZERO_CELSIUS
            return ZERO_CELSIUS + below / (1.0 - share * float(food.water / food.freezable))

        return FirmnessLimits(*map(same_ice, (self.firm, self.best, self.middle_hard, self.outer_hard)))


@dataclass(frozen=True, slots=True)
class SlicingWindow:
    """When to slice [s]: None where a state is not reached within the time simulated.

    Attributes
    ----------
    stiff_s : float or None
        The outer few millimetres are firm, enough for slicing by hand.
    firm_s : float or None
        The outer layer is firm.
    best_s : float or None
        Evened out it would be in the middle of the range for slicing.
    hard_s : float or None
        The middle is frozen hard, or the outer layer too hard for a knife.
    """

    stiff_s: float | None
    firm_s: float | None
    best_s: float | None
    hard_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Firming:
    """The answer for a piece: the expected history, and how far off the window may be.

    Attributes
    ----------
    food : FreezingMeat
        Of the expected case.
    limits : FirmnessLimits
        Likewise.
    dimensionality : float
        By how many faces the piece freezes, in slabs' worth [-].
    freezing_history : FreezingHistory
        As expected.
    soonest : SlicingWindow
        With the strongest film and the lowest freezing point.
    latest : SlicingWindow
        With the weakest film.
    closure : float
        Relative miss of the energy balance, largest of the cases.
    """

    piece: Piece
    food: FreezingMeat
    limits: FirmnessLimits
    dimensionality: float
    freezing_history: FreezingHistory
    expected: SlicingWindow
    soonest: SlicingWindow
    latest: SlicingWindow
    closure: float


def brick_dimensionality(piece: Piece, film_W_m2K: Array, conductivity: Array) -> Array:
    """Equivalent dimensionality E of a brick (1 for a slab): by it a slab's times are divided; see the module.

    Parameters
    ----------
    piece : Piece
    film_W_m2K : float or ndarray
        Film with radiation [W/(m2 K)].
    conductivity : float or ndarray
        Of the frozen meat [W/(m K)].

    Examples
    --------
    A piece of 50 mm, twice as wide and three times as long, in still air:

    >>> from dryingsim.batch.catalog.cuts import find_cut
    >>> beef = find_cut("cut", "beef eye of round").composition
    >>> piece = Piece(composition=beef, thickness_m=0.05, width_m=0.1, length_m=0.15)
    >>> round(float(brick_dimensionality(piece, 8.0, 1.4)), 2)
    1.76
    """
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

    Parameters
    ----------
    piece : Piece

    Raises
    ------
    InputError
        If the freezer is too warm to firm meat.

    Examples
    --------
    A slab of 50 mm in still air of -18 degC: the best time [min], the soonest and the latest.

    >>> from dryingsim.batch.catalog.cuts import find_cut
    >>> slab = firm(Piece(composition=find_cut("cut", "beef eye of round").composition, thickness_m=0.05))
    >>> [round(window.best_s / 60) for window in (slab.expected, slab.soonest, slab.latest)]
    [563, 265, 876]
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
    slabs = freezing_histories(system, foods, times, states)
    histories = [replace(slab, time_s=slab.time_s / side) for slab, side in zip(slabs, sides, strict=True)]
    windows = [_window(*case) for case in zip(histories, (limits, lower[1], limits), strict=True)]
    return Firming(
        piece=piece,
        food=food,
        limits=limits,
        dimensionality=float(sides[0]),
        freezing_history=histories[0],
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


def _window(history: FreezingHistory, limits: FirmnessLimits) -> SlicingWindow:
    middle = _first(history, history.middle_K, limits.middle_hard)
    outer = _first(history, history.outer_K, limits.outer_hard)
    reached = [time for time in (middle, outer) if time is not None]
    return SlicingWindow(
        stiff_s=_first(history, history.skin_K, limits.firm),
        firm_s=_first(history, history.outer_K, limits.firm),
        best_s=_first(history, history.mean_K, limits.best),
        hard_s=min(reached) if reached else None,
    )


def _first(history: FreezingHistory, values: np.ndarray, level_K: float) -> float | None:
    """Time at which a falling temperature reaches a level."""
    if values[-1] > level_K:
        return None
    return float(np.interp(-level_K, -values, history.time_s))
