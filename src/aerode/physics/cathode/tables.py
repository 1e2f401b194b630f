"""The constant tables of the fast solver: node matrices per count, and the grain's share."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from aerode.physics.cathode.kernel_equations import TABLE_HIGH, TABLE_LOW, TABLE_STEPS
from aerode.physics.cathode.kernel_mesh import COUNTS
from aerode.physics.cathode.nodes import nodes
from aerode.physics.effectiveness import Shape, effectiveness, effectiveness_slope

__all__ = ["node_tables", "share_table"]

Floats = NDArray[np.float64]


@lru_cache(maxsize=1)
def node_tables() -> tuple[Floats, NDArray[np.int64]]:
    """Give the node matrices of every count, end to end, and where each begins.

    Returns
    -------
    tuple of ndarray
        Flat table and offsets; per count N: position, weight, right_left, right_right, left_left,
        first_moment, last_moment, legendre.

    Examples
    --------
    >>> table, offsets = node_tables()
    >>> int(offsets[-1]) == table.size
    True
    """
    pieces: list[Floats] = []
    offsets = [0]
    for count in COUNTS:
        local = nodes(count)
        parts = (
            local.position,
            local.weight,
            local.right_left.ravel(),
            local.right_right.ravel(),
            local.left_left.ravel(),
            local.first_moment,
            local.last_moment,
            local.legendre.ravel(),
        )
        pieces.extend(parts)
        offsets.append(offsets[-1] + sum(part.size for part in parts))
    return np.concatenate(pieces), np.array(offsets, dtype=np.int64)


@lru_cache(maxsize=4)
def share_table(shape: Shape) -> Floats:
    """Give the cubic pieces of ln E against ln φ for one shape of grain.

    Parameters
    ----------
    shape : Shape
        Ball, rod or film.

    Returns
    -------
    ndarray, shape (1025, 4)
        Coefficients of 1, t, t², t³ on steps of 1/64 from ln φ = −8 to 8; values and slopes are
        exact at the ends of every piece (within 1e-9 between them).

    Examples
    --------
    >>> share_table(Shape.SLAB).shape
    (1025, 4)
    """
    pieces = int((TABLE_HIGH - TABLE_LOW) * TABLE_STEPS)
    logs = TABLE_LOW + np.arange(pieces + 2) / TABLE_STEPS
    value = np.log(effectiveness(np.exp(logs), shape))
    slope = effectiveness_slope(np.exp(logs), shape) / TABLE_STEPS
    rise = value[1:] - value[:-1]
    table = np.empty((pieces + 1, 4))
    table[:, 0], table[:, 1] = value[:-1], slope[:-1]
    table[:, 2] = 3.0 * rise - 2.0 * slope[:-1] - slope[1:]
    table[:, 3] = slope[:-1] + slope[1:] - 2.0 * rise
    return table
