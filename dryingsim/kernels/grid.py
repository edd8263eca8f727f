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


NODES: Annotated[
    int,
    Evidence(
        "-",
        "numerical",
        "mean moisture within 2e-4 kg/kg, faces within 0.04 K of 250 nodes (validation.benchmarks)",
    ),
] = 20
NODES_OF_MANY: Annotated[
    int,
    Evidence("-", "numerical", "as NODES, for many slices: mean moisture within 3e-4 kg/kg of a fine grid"),
] = 16


FEWEST_GRADED: Annotated[
    int,
    Evidence(
        "-",
        "numerical",
        "nodes below which a grade is given with a warning: on the shipped examples a lower bound comes out up to 0.25 log too "
        "high with 3 nodes, 0.03 with 6, 0.02 with 12",
    ),
] = 12


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


class MassMatrix:
    """What stands under d/dt in balances over the nodes: tridiagonal, as sharp as the fluxes between the nodes.

    Balances weighted with the hat function of each node (1 there, falling to 0 at its neighbours) hold the *mean* flux
    between two nodes, which is the difference of Kirchhoff's potential over their distance: no error of spacing at all.
    What they balance is the integral over the hat, of a parabola through the node and its neighbours. On an even grid
    that is the compact scheme of fourth order (1/12, 10/12, 1/12). At the ends a straight line stands for the parabola,
    which would need a third node. The price of the sharpness: where a state jumps, it overshoots by some 1e-3 of the jump.

    Parameters
    ----------
    nodes : ndarray, shape (n,)
        Positions on 0..1 [-].

    Attributes
    ----------
    bands : ndarray, shape (3, n)
        Weight of the node before, of the node, of the node after; nil where there is none. All together make 1.
    shares : ndarray, shape (n,)
        Share of the whole that each node stands for (sums of the columns).

    Examples
    --------
    >>> mass = MassMatrix(np.linspace(0.0, 1.0, 5))
    >>> (mass.bands[:, 2] * 48).round(12)
    array([ 1., 10.,  1.])
    """

    def __init__(self, nodes: np.ndarray) -> None:
        gap = np.diff(nodes)
        before, after = gap[:-1], gap[1:]
        first, second = (after**2 - before**2) / 6.0, (after**3 + before**3) / 12.0  # moments of the hat
        self.bands = np.zeros((3, nodes.size))
        self.bands[0, 1:-1] = (second - first * after) / (before * (before + after))
        self.bands[2, 1:-1] = (second + first * before) / (after * (before + after))
        self.bands[1, 1:-1] = 0.5 * (before + after) - self.bands[0, 1:-1] - self.bands[2, 1:-1]
        self.bands[1, [0, -1]] = gap[[0, -1]] / 3.0
        self.bands[2, 0], self.bands[0, -1] = gap[0] / 6.0, gap[-1] / 6.0
        self.shares = self.bands[1].copy()
        self.shares[:-1] += self.bands[0, 1:]
        self.shares[1:] += self.bands[2, :-1]
        self._before, self._at, self._after = (
            self.bands[0, 1:, None],
            self.bands[1, :, None],
            self.bands[2, :-1, None],
        )

    def times(self, values: np.ndarray) -> np.ndarray:
        """Product with values (..., n, m) at the nodes, element by element: no column minds another."""
        out = values * self._at
        out[..., 1:, :] += self._before * values[..., :-1, :]
        out[..., :-1, :] += self._after * values[..., 1:, :]
        return out

    def solve(self, values: np.ndarray) -> np.ndarray:
        """Inverse of `times`."""
        columns = np.moveaxis(values, -2, 0)
        full = self.times(np.eye(len(columns)))
        found = np.linalg.solve(full, columns.reshape(len(columns), -1))
        return np.moveaxis(found.reshape(columns.shape), 0, -2)


def node_shares(nodes: np.ndarray) -> np.ndarray:
    """Share of the whole that each node stands for, by `MassMatrix`: weights of a mean over the slab.

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
    >>> (node_shares(np.linspace(0.0, 1.0, 5)) * 48).round(6)
    array([ 5., 13., 12., 13.,  5.])
    """
    return MassMatrix(nodes).shares


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
