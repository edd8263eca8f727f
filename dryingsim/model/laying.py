"""How slices lie: which of their faces air reaches, how many make a slab, and how much of a tray they cover.

Of two slices on one another, or one that is folded, on mesh, only the outer faces dry. By symmetry nothing passes where
they touch: one of them is a slab whose lower face, the contact, is sealed to vapour and to heat. It stays wet, where bacteria
may grow; heat counts there as if it had dried like the open face (`judge.sides`). On a closed tray a pair dries from the top
alone: a slab of twice the thickness, whose lower face stays wetter than the contact inside it and stands for both.

Slices lapped by part of their width have a part in each class; what moves sideways between the parts is left out, over
centimetres it is slow. The two faces of a pair are taken as the upper one; films below and above differ little. Slices that
are turned over are turned each in its place: what touched then lies outside. In liquid or steam before drying slices are taken
to touch as well; loose ones get hot sooner, so heat is counted on the cautious side.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.schema import Batch, Lies, Support


@dataclass(frozen=True, slots=True)
class Lying:
    """How the slices of each class lie, arrays of shape (m,).

    Attributes
    ----------
    slices : ndarray
        On one another in a slab.
    vapour_below, heat_below : ndarray
        Share of the lower face that exchanges vapour and heat, 0..1.
    cover : ndarray
        Area of tray covered, over the area of one face of the slabs.
    """

    slices: np.ndarray
    vapour_below: np.ndarray
    heat_below: np.ndarray
    cover: np.ndarray


# by what the slices lie on and how: slices in a slab, its lower face open to vapour, to heat, tray it covers
_WAYS: dict[tuple[Support, Lies], tuple[float, float, float, float]] = {
    ("mesh", "flat"): (1.0, 1.0, 1.0, 1.0),
    ("mesh", "sheet"): (1.0, 0.0, 1.0, 1.0),
    ("mesh", "overlapping"): (1.0, 0.0, 0.0, 0.5),
    ("sheet", "flat"): (1.0, 0.0, 1.0, 1.0),
    ("sheet", "sheet"): (1.0, 0.0, 1.0, 1.0),
    ("sheet", "overlapping"): (2.0, 0.0, 1.0, 1.0),
}


def lying(batch: Batch) -> Lying:
    """Return how the slices of each class of a batch lie.

    Parameters
    ----------
    batch : Batch

    Returns
    -------
    Lying
    """
    return Lying(*np.array([_WAYS[batch.support, one.lies] for one in batch.meat.classes]).T)


def slab_thickness(batch: Batch) -> np.ndarray:
    """Thickness of the slabs that slices of each class make, as laid on the tray.

    Parameters
    ----------
    batch : Batch

    Returns
    -------
    ndarray, shape (m,)
        [m].
    """
    return np.array([one.thickness_m for one in batch.meat.classes]) * lying(batch).slices


def tray_area(batch: Batch, area_m2: np.ndarray, kind: np.ndarray | slice = slice(None)) -> np.ndarray:
    """Area of tray that slabs cover.

    Parameters
    ----------
    batch : Batch
    area_m2 : ndarray, shape (m,) or (m, copies)
        Of one face of the slabs [m2].
    kind : ndarray of int, shape (m,), optional
        Class of each slab; one slab a class if left out.

    Returns
    -------
    ndarray, shape of `area_m2`
        [m2].
    """
    covered: np.ndarray = area_m2 * lying(batch).cover[kind].reshape(-1, *(1,) * (area_m2.ndim - 1))
    return covered


def face_area(batch: Batch, area_m2: np.ndarray, kind: np.ndarray | slice = slice(None)) -> np.ndarray:
    """Area of one face of all slices in slabs.

    Parameters
    ----------
    batch : Batch
    area_m2 : ndarray, shape (m,)
        Of one face of the slabs [m2].
    kind : ndarray of int, shape (m,), optional
        Class of each slab; one slab a class if left out.

    Returns
    -------
    ndarray, shape (m,)
        [m2].
    """
    faces: np.ndarray = area_m2 * lying(batch).slices[kind]
    return faces
