"""Slices dipped in hot liquid before they are dried: conduction through the slab, without loss of water, exact in time.

The slab is a stack of control volumes on the nodes of the drying model, wet as it goes in, its two faces behind a
film of the liquid. The system is linear, so its solution is exact in time: with C the heat capacities and K the
conductances, C dT/dt = -K T is solved by the eigenvectors of C^-1/2 K C^-1/2.

For meat that was only dipped, as in published trials, and as an independent check of the package's stages in liquid.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.checks import check_range
from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError
from dryingsim.kernels.grid import clustered_nodes, control_volumes
from dryingsim.model.build import build_slabs
from dryingsim.model.medium import LIQUID_W_M2K
from dryingsim.model.slab import WATER_CONDUCTIVITY, WATER_VOLUME

LONGEST_S = 3600.0  # nothing is followed for longer
_STEP_S = 1.0  # between the states that are noted
_LIQUID_K = (273.15, 383.15)  # strong brine boils at 109 degC; what lies beyond is a slip


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatedFirst:
    """What the slices went through in the liquid.

    Attributes
    ----------
    thickness_m : tuple of float
        Of each thickness class [m].
    liquid_K : float
    time_s : ndarray, shape (t,)
        Since the slices went in [s].
    temperature_K : ndarray, shape (t, n, m)
        At the nodes of each thickness class.
    coldest_K : float
        Coldest place when the slices are taken out.
    mean_K : float
        Mean over all slices then: the temperature they are laid on the trays with.
    """

    thickness_m: tuple[float, ...]
    liquid_K: float
    time_s: np.ndarray
    temperature_K: np.ndarray
    coldest_K: float
    mean_K: float


def heat_in_liquid(
    batch: Batch,
    target_K: float,
    *,
    liquid_K: float,
    least_s: float = 0.0,
    nodes: int = 24,
    film_W_m2K: float = LIQUID_W_M2K,
) -> HeatedFirst:
    """Heat a batch's slices in liquid until the coldest place of the thickest ones reaches a target.

    Parameters
    ----------
    batch : Batch
    target_K : float
        For the coldest place [K].
    liquid_K : float
        Temperature of the liquid [K].
    least_s : float
        Shortest time in the liquid [s].
    nodes : int
        Nodes across a slice.
    film_W_m2K : float
        Film coefficient at the faces [W/(m2 K)].

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> heated = heat_in_liquid(demo_batch(), 344.26, liquid_K=373.15, nodes=8)
    >>> float(heated.time_s[-1]), round(heated.mean_K - 273.15)  # s, degC
    (49.0, 87)
    """
    check_range(
        "liquid_K", liquid_K, liquid_K, *_LIQUID_K, f"{_LIQUID_K[0]:g} to {_LIQUID_K[1]:g}, in kelvin"
    )
    if not liquid_K > target_K:
        raise InputError("the liquid must be hotter than the temperature the meat is to reach")
    times = np.arange(0.0, LONGEST_S + _STEP_S, _STEP_S)
    temperature = temperatures_in_liquid(batch, times, liquid_K, nodes=nodes, film_W_m2K=film_W_m2K)
    done = np.flatnonzero((temperature.min(axis=(1, 2)) >= target_K) & (times >= least_s))
    if not done.size:
        raise InputError(
            f"{batch.name}: the slices do not reach the temperature asked for in {LONGEST_S / 60:.0f} min in the liquid"
        )
    kept = temperature[: done[0] + 1]
    share = np.array([each.share for each in batch.meat.classes])
    return HeatedFirst(
        thickness_m=tuple(each.thickness_m for each in batch.meat.classes),
        liquid_K=liquid_K,
        time_s=times[: done[0] + 1],
        temperature_K=kept,
        coldest_K=float(kept[-1].min()),
        mean_K=float(control_volumes(clustered_nodes(nodes)) @ kept[-1] @ share),
    )


def temperatures_in_liquid(
    batch: Batch, time_s: np.ndarray, liquid_K: float, *, nodes: int = 24, film_W_m2K: float = LIQUID_W_M2K
) -> np.ndarray:
    """Return the temperature [K] of a batch's slices in liquid, shape (t, n, m).

    Parameters
    ----------
    batch : Batch
    time_s : ndarray, shape (t,)
        Since the slices went in [s].
    liquid_K : float
        Temperature of the liquid [K].
    nodes : int
        Nodes across a slice.
    film_W_m2K : float
        Film coefficient at the faces [W/(m2 K)].

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> heated = temperatures_in_liquid(demo_batch(), np.array([0.0, 60.0]), 373.15, nodes=8)
    >>> heated.shape, (heated[:, 4, 0] - 273.15).round(0).tolist()  # degC in the middle of the thinnest
    ((2, 8, 3), [4.0, 96.0])
    """
    slabs = build_slabs(batch, nodes)
    moisture = slabs.initial_moisture_db
    volume = slabs.solid_volume + WATER_VOLUME * moisture
    conducting = slabs.solid_volume * slabs.solid_conductivity + WATER_VOLUME * WATER_CONDUCTIVITY * moisture
    capacity = slabs.heat_capacity(moisture) * slabs.dry_mass_kg_m2
    columns = [
        _profile(time_s, slabs.nodes, *slab, film_W_m2K)
        for slab in zip(slabs.thickness(moisture), conducting / volume, capacity, strict=True)
    ]
    start = batch.meat.temperature_K
    return start + (liquid_K - start) * np.stack(columns, axis=2)


def _profile(
    times: np.ndarray, nodes: np.ndarray, thickness: float, conductivity: float, capacity: float, film: float
) -> np.ndarray:
    """Return how far each node has come from its start towards the liquid, 0 to 1, shape (t, n)."""
    n = nodes.size
    between = conductivity / (np.diff(nodes) * thickness)
    k = np.zeros((n, n))
    for i, g in enumerate(between):
        k[i : i + 2, i : i + 2] += g * np.array([[1.0, -1.0], [-1.0, 1.0]])
    k[0, 0] += film
    k[-1, -1] += film
    root = np.sqrt(capacity * control_volumes(nodes))
    rates, vectors = np.linalg.eigh(k / np.outer(root, root))
    decay = np.exp(-np.outer(times, rates)) * (vectors.T @ root)
    return 1.0 - (decay @ vectors.T) / root
