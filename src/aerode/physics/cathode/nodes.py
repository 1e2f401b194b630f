"""Gauss–Legendre nodes on (0, 1) and the exact integrals of the polynomials through them.

A function is known by its values at N nodes; through them goes one polynomial ℓ of degree N − 1.
Every matrix here integrates that polynomial exactly, so no further error enters.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Nodes", "interpolation", "nodes"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Nodes:
    """Nodes and integral matrices for one count N, on 0 ≤ t ≤ 1.

    Parameters
    ----------
    position, weight : ndarray, shape (N,)
        Nodes and quadrature weights.
    from_left : ndarray, shape (N, N)
        ∫ from 0 to t_i of ℓ_j.
    from_right : ndarray, shape (N, N)
        ∫ from t_i to 1 of ℓ_j.
    left_left : ndarray, shape (N, N)
        ∫ from 0 to t_i of ∫ from 0 to τ of ℓ_j.
    right_left : ndarray, shape (N, N)
        ∫ from t_i to 1 of ∫ from 0 to τ of ℓ_j.
    right_right : ndarray, shape (N, N)
        ∫ from t_i to 1 of ∫ from τ to 1 of ℓ_j.
    first_moment, last_moment : ndarray, shape (N,)
        ∫ t ℓ_j and ∫ (1 − t) ℓ_j over the whole.
    legendre : ndarray, shape (N, N)
        Row k gives the coefficient of the shifted Legendre polynomial P_k.

    Examples
    --------
    >>> nodes(4).weight.sum().round(12)
    np.float64(1.0)
    """

    position: Floats
    weight: Floats
    from_left: Floats
    from_right: Floats
    left_left: Floats
    right_left: Floats
    right_right: Floats
    first_moment: Floats
    last_moment: Floats
    legendre: Floats


# judgement: so many counts are remembered
@lru_cache(maxsize=32)
def nodes(count: int) -> Nodes:
    """Give the nodes and integral matrices for one count.

    Parameters
    ----------
    count : int
        Number of nodes, at least 2.

    Returns
    -------
    Nodes
        Read-only arrays.

    Notes
    -----
    Values are turned into Legendre coefficients by the quadrature itself (exact, because P_k ℓ_j
    has degree at most 2N − 2), and each Legendre polynomial is integrated in closed form:
    ∫ P_k = (P_{k+1} − P_{k−1})/(2k + 1) on (−1, 1). Source: Abramowitz & Stegun, ch. 22 and 25.4
    (status: unverified, cited from memory; the tests integrate powers).

    Examples
    --------
    >>> float((nodes(6).weight * nodes(6).position**2).sum().round(12))
    0.333333333333
    """
    raw_position, raw_weight = np.polynomial.legendre.leggauss(count)
    position, weight = 0.5 * (raw_position + 1.0), 0.5 * raw_weight
    legendre = _coefficients(raw_position, weight)
    once, twice = _integrals(raw_position, count)
    from_left, left_left = once @ legendre, twice @ legendre
    first_moment = weight * position
    last_moment = weight * (1.0 - position)
    right_left = last_moment - left_left
    # ∫_t^1 (τ − t) ℓ = ∫ (τ − t) ℓ + ∫_0^t (t − τ) ℓ
    right_right = first_moment - np.outer(position, weight) + left_left
    made = Nodes(
        position,
        weight,
        from_left,
        weight - from_left,
        left_left,
        right_left,
        right_right,
        first_moment,
        last_moment,
        legendre,
    )
    for name in Nodes.__slots__:
        getattr(made, name).setflags(write=False)
    return made


def _coefficients(raw_position: Floats, weight: Floats) -> Floats:
    count = raw_position.size
    values = np.polynomial.legendre.legvander(raw_position, count - 1)
    degrees = 2.0 * np.arange(count) + 1.0
    return np.asarray(degrees[:, None] * (values * weight[:, None]).T)


def _integrals(raw_position: Floats, count: int) -> tuple[Floats, Floats]:
    """∫_0^t P_k and ∫_0^t ∫_0^τ P_k at the nodes, shifted Legendre, shape (N, N) each."""
    once, twice = np.empty((count, count)), np.empty((count, count))
    for degree in range(count):
        series = np.polynomial.legendre.Legendre.basis(degree)
        first = series.integ(lbnd=-1.0)
        once[:, degree] = 0.5 * first(raw_position)
        twice[:, degree] = 0.25 * first.integ(lbnd=-1.0)(raw_position)
    return once, twice


def interpolation(count: int, targets: Floats) -> Floats:
    """Give the matrix that carries values at N nodes to other places in (or near) 0 to 1.

    Parameters
    ----------
    count : int
        Number of nodes.
    targets : ndarray, shape (M,)
        Where the polynomial is wanted [1].

    Returns
    -------
    ndarray, shape (M, N)
        Multiply it with the values at the nodes.

    Examples
    --------
    >>> matrix = interpolation(5, np.array([0.25]))
    >>> (matrix @ nodes(5).position**3).round(9)
    array([0.015625])
    """
    values = np.polynomial.legendre.legvander(2.0 * np.asarray(targets) - 1.0, count - 1)
    return np.asarray(values @ nodes(count).legendre)
