"""The nodes across a slab: at both faces, closer together near them."""

from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence

_CLUSTERING: Annotated[
    float,
    Evidence(
        "-", "numerical", "0: even, 1: cosine; 0.8 puts the second node of 24 at 1.2 % of the thickness"
    ),
] = 0.8


def clustered_nodes(n: int) -> np.ndarray:
    """Positions of `n` nodes on 0..1, symmetric, refined toward both ends.

    Parameters
    ----------
    n : int
        Number of nodes, at least 3.

    Returns
    -------
    ndarray, shape (n,)
        Increasing, first 0 and last 1. A smooth map of an even grid, so second-order schemes stay second order.

    Examples
    --------
    >>> clustered_nodes(5).round(3)
    array([0.   , 0.167, 0.5  , 0.833, 1.   ])
    """
    s = np.linspace(0.0, 1.0, n)
    cosine = 0.5 * (1.0 - np.cos(np.pi * s))
    nodes = _CLUSTERING * cosine + (1.0 - _CLUSTERING) * s
    return 0.5 * (nodes + 1.0 - nodes[::-1])  # symmetric to the last bit: a turned slab is the same slab


def control_volumes(nodes: np.ndarray) -> np.ndarray:
    """Share of the whole that each node stands for: half-way to its neighbours, half cells at the ends.

    Parameters
    ----------
    nodes : ndarray, shape (n,)
        Positions on 0..1 [-].

    Returns
    -------
    ndarray, shape (n,)
        Sums to one.

    Examples
    --------
    >>> control_volumes(np.array([0.0, 0.25, 1.0]))
    array([0.125, 0.5  , 0.375])
    """
    middles = 0.5 * (nodes[1:] + nodes[:-1])
    return np.diff(np.concatenate([[0.0], middles, [1.0]]))


def middle_weights(nodes: np.ndarray) -> np.ndarray:
    """Weights whose sum with nodal values is the (linearly interpolated) value in the middle of the slab.

    Parameters
    ----------
    nodes : ndarray, shape (n,)
        Positions on 0..1 [-].

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> middle_weights(np.array([0.0, 0.25, 1.0])).round(3)
    array([0.   , 0.667, 0.333])
    """
    weights = np.zeros_like(nodes)
    right = int(np.searchsorted(nodes, 0.5 - 1e-12))
    if abs(nodes[right] - 0.5) < 1e-12:
        weights[right] = 1.0
        return weights
    share = (0.5 - nodes[right - 1]) / (nodes[right] - nodes[right - 1])
    weights[right - 1], weights[right] = 1.0 - share, share
    return weights
