"""What is done to an appliance: its setting in a stage, and how the slabs lie in it."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np

BOTTOM_TRAY = 0  # the first in the flow lies nearest the floor: a base fan blows upward


@dataclass(frozen=True, slots=True)
class Setting:
    """What the appliance is set to in one stage.

    Attributes
    ----------
    temperature_K : float
        Of the thermostat [K].
    held_vapour_fraction : float or None
        None: the humidity is not controlled.
    gap_m : float
        By which the door is ajar [m].
    """

    temperature_K: float
    held_vapour_fraction: float | None
    gap_m: float


@dataclass(frozen=True, slots=True)
class Load:
    """How the slabs lie in the chamber. `m` slabs on `trays` trays, tray 0 first in the flow.

    Attributes
    ----------
    tray : ndarray of int, shape (m,)
        Tray of each slab.
    trays : int
        Trays in use.
    area_m2 : ndarray, shape (m,) or (m, copies)
        Area of one face of all slices of a slab's kind on its tray [m2].
    cover : float
        Share of a tray's area that slices cover.
    """

    tray: np.ndarray
    trays: int
    area_m2: np.ndarray
    cover: float

    def view(self) -> np.ndarray:
        """Share of what the lower and upper face of each slab see that is floor or shell, shape (2, m[, copies]).

        Between trays a slice faces the slices of the next tray, nearly as warm as itself, and the shell through the
        gaps; only the lowest tray looks at the floor and the highest at the ceiling.
        """
        outward = np.stack([self.tray == BOTTOM_TRAY, self.tray == self.trays - 1])
        return np.where(outward if self.area_m2.ndim == 1 else outward[..., None], 1.0, 1.0 - self.cover)

    def moved_up(self) -> "Load":
        """Return the load with the first tray put last and the others moved one place up."""
        return replace(self, tray=(self.tray - 1) % self.trays)


def side_by_side(ones: Sequence[Any]) -> Any:
    """Return one description in place of several of one build: numbers that differ become arrays.

    Examples
    --------
    >>> side_by_side([Setting(340.0, None, 0.0), Setting(350.0, None, 0.0)])
    Setting(temperature_K=array([340., 350.]), held_vapour_fraction=None, gap_m=0.0)
    """
    first = ones[0]
    if all(one == first for one in ones):
        return first
    if isinstance(first, tuple):
        return tuple(map(side_by_side, zip(*ones, strict=True)))
    if is_dataclass(first) and not isinstance(first, type):
        parts = {field.name: [getattr(one, field.name) for one in ones] for field in fields(first)}
        return replace(first, **{name: side_by_side(part) for name, part in parts.items()})
    return np.array(ones, dtype=float)
