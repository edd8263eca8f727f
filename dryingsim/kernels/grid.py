"""The nodes across a slab: at both faces, closer together near them."""

from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence

CLUSTERING: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "of a hyperbolic tangent over an even grid: the second node of 28 stands at 0.3 % of the thickness, so that what a "
        "face dries in its first seconds out of hot liquid is seen; more makes the middle coarse",
    ),
] = 2.5
_STEEPEST: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "the same per gap, at most, for few nodes: a gap is then twice its neighbour at most; much beyond it the mass matrix "
        "spoils the steps",
    ),
] = 0.18


NODES: Annotated[
    int,
    Evidence(
        "-",
        "numerical",
        "mean moisture of the shipped examples within 3e-4 kg/kg of 120 nodes (in a hot finish 1e-3, 2 s), faces within 0.02 K "
        "after a minute; a lower bound within 0.01 log, out of boiling liquid into air of 40 degC too (of 12 mm 0.1)",
    ),
] = 28
NODES_OF_MANY: Annotated[
    int,
    Evidence(
        "-",
        "numerical",
        "as NODES, for many slices: mean moisture within 1e-3 kg/kg, faces within 0.07 K, a lower bound within 0.01 log (out of "
        "boiling liquid into air of 40 degC 0.03 at 5 mm, 0.04 at 8 mm)",
    ),
] = 16


FEWEST_GRADED: Annotated[
    int,
    Evidence(
        "-",
        "numerical",
        "nodes below which a grade is given with a warning: with 12 a lower bound comes out up to 0.2 log too high where slices "
        "come out of boiling liquid into cool air",
    ),
] = NODES_OF_MANY
_NOTHING: Annotated[
    float, Evidence("-", "numerical", "weights below it are what rounding leaves of none at all")
] = 1e-12


def clustered_nodes(n: int, clustering: float = CLUSTERING) -> np.ndarray:
    """Positions of `n` nodes on 0..1, symmetric, refined toward both ends.

    Parameters
    ----------
    n : int
        Number of nodes, at least 3.
    clustering : float
        Of the hyperbolic tangent [-]; less where nodes are few.

    Returns
    -------
    ndarray, shape (n,)
        Increasing, first 0 and last 1. A smooth map of an even grid, so second-order schemes stay second order.

    Examples
    --------
    >>> clustered_nodes(5).round(3)
    array([0.  , 0.22, 0.5 , 0.78, 1.  ])
    """
    strength = min(clustering, _STEEPEST * (n - 1))
    nodes = 0.5 + 0.5 * np.tanh(strength * np.linspace(-1.0, 1.0, n)) / np.tanh(strength)
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


def weights_at(nodes: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Weights whose sums with nodal values are the values at places between: of the cubic through the four nodes around.

    A straight line between the two beside it would make the middle of a slab that is being heated too hot: by 0.2 K in
    boiling liquid, with 16 nodes.

    Parameters
    ----------
    nodes : ndarray, shape (n,)
        Positions on 0..1 [-].
    places : ndarray, shape (p,)
        On 0..1 [-].

    Returns
    -------
    ndarray, shape (n, p)
        Where there are fewer than four nodes, of the parabola through them.

    Examples
    --------
    >>> weights_at(np.linspace(0.0, 1.0, 4), np.array([0.5, 1.0])).round(4).T
    array([[-0.0625,  0.5625,  0.5625, -0.0625],
           [ 0.    ,  0.    ,  0.    ,  1.    ]])
    """
    few = min(nodes.size, 4)
    first = np.clip(np.searchsorted(nodes, places) - 2, 0, nodes.size - few)
    around = nodes[first + np.arange(few)[:, None]]
    weights = np.zeros((nodes.size, places.size))
    for i, node in enumerate(around):
        others = np.delete(around, i, axis=0)
        weights[first + i, np.arange(places.size)] = np.prod((places - others) / (node - others), axis=0)
    weights[np.abs(weights) < _NOTHING] = 0.0
    return weights


def middle_weights(nodes: np.ndarray) -> np.ndarray:
    """Weights of the value in the middle of the slab, see `weights_at`.

    Parameters
    ----------
    nodes : ndarray, shape (n,)
        Positions on 0..1 [-].

    Returns
    -------
    ndarray, shape (n,)

    Examples
    --------
    >>> middle_weights(np.linspace(0.0, 1.0, 5))
    array([0., 0., 1., 0., 0.])
    """
    return weights_at(nodes, np.array([0.5]))[:, 0]
