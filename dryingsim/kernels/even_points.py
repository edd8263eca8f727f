"""Points that fill a box evenly: Sobol's sequence, scrambled by a seed.

Scipy's are the same to the last bit, but its statistics take longer to import than most of what the points are for.
"""

import numpy as np

# For each dimension after the first: coefficients of its primitive polynomial between the first and the last, as bits,
# and the initial direction numbers. Joe & Kuo (2008), SIAM J. Sci. Comput. 30, 2635-2654: their table new-joe-kuo-6.21201.
_DIRECTIONS = (
    (0, (1,)),
    (1, (1, 3)),
    (1, (1, 3, 1)),
    (2, (1, 1, 1)),
    (1, (1, 1, 3, 3)),
    (4, (1, 3, 5, 13)),
    (2, (1, 1, 5, 5, 17)),
    (4, (1, 1, 5, 5, 5)),
    (7, (1, 1, 7, 11, 19)),
    (11, (1, 1, 5, 1, 1)),
    (13, (1, 1, 1, 3, 11)),
    (14, (1, 3, 5, 5, 31)),
    (1, (1, 3, 3, 9, 7, 49)),
    (13, (1, 1, 1, 15, 21, 21)),
    (16, (1, 3, 1, 13, 27, 49)),
    (19, (1, 1, 1, 15, 7, 5)),
    (22, (1, 3, 1, 15, 13, 25)),
    (25, (1, 1, 5, 5, 19, 61)),
    (1, (1, 3, 7, 11, 23, 15, 103)),
    (4, (1, 3, 7, 13, 13, 15, 69)),
    (7, (1, 1, 3, 13, 7, 35, 63)),
    (8, (1, 3, 5, 9, 1, 25, 53)),
    (14, (1, 3, 1, 13, 9, 35, 107)),
    (19, (1, 3, 1, 5, 27, 61, 31)),
    (21, (1, 1, 5, 11, 19, 41, 61)),
    (28, (1, 3, 5, 3, 3, 13, 69)),
    (31, (1, 1, 7, 13, 1, 19, 1)),
    (32, (1, 3, 7, 5, 13, 19, 59)),
    (37, (1, 1, 3, 9, 25, 29, 41)),
    (41, (1, 3, 5, 13, 23, 1, 55)),
    (42, (1, 3, 7, 3, 13, 59, 17)),
)
MOST_DIMENSIONS = len(_DIRECTIONS) + 1
_BITS = 30  # of a coordinate


def sobol_points(dimensions: int, points: int, seed: int) -> np.ndarray:
    """Return scrambled Sobol points.

    Parameters
    ----------
    dimensions : int
        At most `MOST_DIMENSIONS`.
    points : int
        A power of two of them is the most even.
    seed : int
        Of the scrambling: the same seed gives the same points.

    Returns
    -------
    ndarray, shape (points, dimensions)
        In [0, 1) [-]; the first of so many as a power of two.

    Notes
    -----
    Scrambled as Matousek (1998, J. Complexity 14, 527-556) proposes: the bits of a coordinate times a random lower
    triangular matrix, and a random shift.

    Examples
    --------
    >>> sobol_points(2, 3, seed=1).shape
    (3, 2)
    """
    if not 1 <= dimensions <= MOST_DIMENSIONS:
        raise ValueError(f"{dimensions} dimensions: 1 to {MOST_DIMENSIONS} are expected")
    rng = np.random.default_rng(seed)
    value = 1 << np.arange(_BITS)[::-1]  # of each bit of a coordinate, from the first
    shift = rng.integers(0, 2, (dimensions, _BITS), dtype=np.uint32) @ value[::-1]
    below = np.tril(rng.integers(0, 2, (dimensions, _BITS, _BITS), dtype=np.uint32), -1)
    directions = np.array([_directions(dimension) for dimension in range(dimensions)])
    bits = directions[:, None] // value[:, None] % 2  # (dimension, bit of the coordinate, bit of the number)
    mixed = value @ ((below + np.eye(_BITS, dtype=int)) @ bits % 2)
    drawn = np.empty((1 << max(points - 1, 0).bit_length(), dimensions), dtype=np.uint32)
    drawn[0], count = shift, 1
    for step in mixed.T.astype(np.uint32):
        if count >= points:
            break
        drawn[count : 2 * count] = drawn[:count][::-1] ^ step  # in the order of a Gray code
        count *= 2
    return np.asarray(drawn[:points] / 2.0**_BITS)


def _directions(dimension: int) -> list[int]:
    """Return by what each bit of a point's number moves it, in units of the last bit of a coordinate."""
    if dimension == 0:
        return [1 << (_BITS - 1 - k) for k in range(_BITS)]
    polynomial, initial = _DIRECTIONS[dimension - 1]
    m, degree = list(initial), len(initial)
    for _ in range(_BITS - degree):
        new = m[-degree] ^ (m[-degree] << degree)
        for k in range(1, degree):
            new ^= (polynomial >> (degree - 1 - k) & 1) * m[-k] << k
        m.append(new)
    return [number << (_BITS - 1 - k) for k, number in enumerate(m)]
