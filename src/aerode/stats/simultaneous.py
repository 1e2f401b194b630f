"""Several differences looked at together: critical values that keep the chance of any false "shown" at its level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import betainc, gammainc, ndtri

from aerode.errors import RangeError
from aerode.stats.comparison import LinearFit
from aerode.stats.contrasts import t_quantile
from aerode.stats.studentized import studentized_range_probability

__all__ = [
    "against_control",
    "all_pairs",
    "critical_bonferroni",
    "critical_multivariate_t",
    "critical_tukey",
    "holm",
    "simultaneous_intervals",
]

Floats = NDArray[np.float64]

_DIRECTIONS = 32768


def all_pairs(columns: Sequence[int], size: int) -> Floats:
    """Contrasts of every pair, later minus earlier.

    Parameters
    ----------
    columns : sequence of int [1]
        The coefficients to compare.
    size : int [1]
        Number of coefficients p.

    Returns
    -------
    array (m, p) [1]

    Examples
    --------
    >>> all_pairs([0, 1, 2], 3).tolist()
    [[-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0], [0.0, -1.0, 1.0]]
    """
    unit = np.eye(size)
    return np.array([unit[b] - unit[a] for i, a in enumerate(columns) for b in columns[i + 1 :]])


def against_control(control: int, others: Sequence[int], size: int) -> Floats:
    """Contrasts of each of the others minus the control.

    Parameters
    ----------
    control : int [1]
        The coefficient of the control.
    others : sequence of int [1]
    size : int [1]
        Number of coefficients p.

    Returns
    -------
    array (m, p) [1]

    Examples
    --------
    >>> against_control(0, [1, 2], 3).tolist()
    [[-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0]]
    """
    unit = np.eye(size)
    return np.array([unit[other] - unit[control] for other in others])


def critical_tukey(groups: int, degrees_of_freedom: float, level: float = 0.95) -> float:
    """What multiplies the standard error of a difference when all pairs of means are looked at.

    Parameters
    ----------
    groups : int [1]
        Number of means.
    degrees_of_freedom : float [1]
    level : float [1]
        Simultaneous level.

    Returns
    -------
    float [1]
        q/√2, q the studentized range. With unequal numbers (Tukey–Kramer) it errs on the wide side.

    Notes
    -----
    Kramer, Biometrics 12 (1956) 307; conservative: Hayter, Ann. Statist. 12 (1984) 61. For means
    that do not share a variance or are correlated use `critical_multivariate_t`.

    Examples
    --------
    >>> round(critical_tukey(4, 20) * 2 ** 0.5, 3)
    3.958
    """
    _check_level(level)

    def miss(q: float) -> float:
        return studentized_range_probability(q, groups, degrees_of_freedom) - level

    return float(brentq(miss, 1e-6, 1e4, xtol=1e-10)) / math.sqrt(2)


def critical_multivariate_t(
    correlation: ArrayLike, degrees_of_freedom: float, level: float = 0.95
) -> float:
    """What multiplies every standard error when several correlated differences are looked at.

    Parameters
    ----------
    correlation : array (m, m) [1]
        Correlation matrix of the estimates; may be singular (all pairs of a few means).
    degrees_of_freedom : float [1]
        Common to all; infinite where the covariance is known.
    level : float [1]
        Simultaneous two-sided level.

    Returns
    -------
    float [1]
        c with P(max |T| ≤ c) = level. Dunnett's value where the correlations are those of
        comparisons with one control; Tukey's for all pairs.

    Notes
    -----
    Radius and direction are independent: given a direction u the largest |T| is a radius times
    max |a·u|, and the radius² over r has an F distribution with r and ν degrees of freedom. The
    mean over 32,768 directions of a fixed Kronecker sequence is smooth in c; the result is good to
    about 0.001 and has no dice in it.

    Examples
    --------
    >>> round(critical_multivariate_t([[1.0, 0.5], [0.5, 1.0]], 20), 2)
    2.38
    """
    _check_level(level)
    r = np.atleast_2d(np.asarray(correlation, dtype=np.float64))
    if not np.allclose(np.diagonal(r), 1.0) or not np.allclose(r, r.T):
        raise RangeError("this is no correlation matrix", where="correlation")
    values, vectors = np.linalg.eigh(r)
    kept = values > 1e-10 * values[-1]
    root = vectors[:, kept] * np.sqrt(values[kept])
    rank = int(kept.sum())
    longest = np.sort(np.abs(_directions(rank) @ root.T).max(axis=1))
    # Averaging 64 neighbours changes the mean of a smooth function by less than 1e-5.
    reach: Floats = longest.reshape(-1, min(64, longest.size)).mean(axis=1)

    def miss(c: float) -> float:
        squares: Floats = np.square(c / reach)
        if math.isinf(degrees_of_freedom):
            inside = np.asarray(gammainc(rank / 2, squares / 2))
        else:
            share: Floats = squares / (squares + degrees_of_freedom)
            inside = np.asarray(betainc(rank / 2, degrees_of_freedom / 2, share))
        return float(np.mean(inside)) - level

    widest = critical_bonferroni(r.shape[0], degrees_of_freedom, level)
    return float(brentq(miss, 0.5 * t_quantile(0.5 + level / 2, math.inf), 1.05 * widest))


@lru_cache(maxsize=16)
def _directions(rank: int) -> Floats:
    """Evenly spread unit vectors: a Kronecker sequence through the normal quantile, normalised."""
    if rank == 1:
        return np.ones((1, 1))
    root = 2.0
    for _ in range(60):  # the positive root of x^(rank+1) = x + 1
        root = (1 + root) ** (1 / (rank + 1))
    steps = root ** -np.arange(1.0, rank + 1)
    points = (0.5 + np.arange(1, _DIRECTIONS + 1)[:, None] * steps) % 1.0
    normal = ndtri(np.clip(points, 1e-12, 1 - 1e-12))
    return np.asarray(normal / np.linalg.norm(normal, axis=1)[:, None], dtype=np.float64)


def critical_bonferroni(count: int, degrees_of_freedom: float, level: float = 0.95) -> float:
    """What multiplies every standard error of `count` differences, whatever their correlation.

    Parameters
    ----------
    count : int [1]
    degrees_of_freedom : float [1]
    level : float [1]

    Returns
    -------
    float [1]

    Examples
    --------
    >>> round(critical_bonferroni(6, 4), 3)
    4.851
    """
    _check_level(level)
    return t_quantile(1 - (1 - level) / (2 * count), degrees_of_freedom)


def holm(p_values: ArrayLike) -> Floats:
    """p values adjusted for looking at all of them (step-down; whatever their correlation).

    Parameters
    ----------
    p_values : array (m,) [1]

    Returns
    -------
    array (m,) [1]
        In the order given; below 0.05 is shown with a familywise error of 5 %.

    Notes
    -----
    Holm, Scand. J. Statist. 6 (1979) 65.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).round(3).tolist()
    [0.03, 0.06, 0.06]
    """
    p = np.asarray(p_values, dtype=np.float64)
    if np.any((p < 0) | (p > 1) | np.isnan(p)):
        raise RangeError("a p value outside 0 to 1", where="p_values", allowed="[0, 1]")
    order = np.argsort(p, kind="stable")
    stepped = np.maximum.accumulate(p[order] * np.arange(p.size, 0, -1))
    adjusted = np.empty_like(p)
    adjusted[order] = np.minimum(stepped, 1.0)
    return adjusted


def simultaneous_intervals(
    fit: LinearFit, contrasts: ArrayLike, level: float = 0.95
) -> list[tuple[float, float]]:
    """Intervals that all hold together with the stated long-run frequency.

    Parameters
    ----------
    fit : LinearFit
    contrasts : array (m, p) [1]
        From `all_pairs`, `against_control`, or any.
    level : float [1]

    Returns
    -------
    list of (low, high), one for each contrast [response]

    Notes
    -----
    One critical value from the multivariate t distribution with the contrasts' own correlations;
    of their degrees of freedom the smallest counts for all.

    Examples
    --------
    >>> import numpy as np
    >>> from aerode.stats.comparison import generalised_least_squares
    >>> fit = generalised_least_squares([0.0, 0.1, 0.9], np.eye(3), 0.01 * np.eye(3))
    >>> [low > 0 for low, high in simultaneous_intervals(fit, all_pairs([0, 1, 2], 3))]
    [False, True, True]
    """
    rows = np.atleast_2d(np.asarray(contrasts, dtype=np.float64))
    parts = [fit.contrast(row) for row in rows]
    df = min(part.degrees_of_freedom for part in parts)
    critical_t = critical_multivariate_t(_correlation(rows, fit.covariance), df, level)
    critical_z = 0.0
    if all(part.known_standard_error > 0 for part in parts):
        known = _correlation(rows, fit.known_part)
        critical_z = critical_multivariate_t(known, math.inf, level)
    halves = [part.half_width(critical_t, critical_z) for part in parts]
    return [
        (part.estimate - half, part.estimate + half)
        for part, half in zip(parts, halves, strict=True)
    ]


def _correlation(rows: Floats, covariance: Floats) -> Floats:
    products = rows @ covariance @ rows.T
    scale = np.sqrt(np.diagonal(products))
    return np.asarray(products / np.outer(scale, scale), dtype=np.float64)


def _check_level(level: float) -> None:
    if not 0 < level < 1:
        raise RangeError(f"a level of {level}", where="level", allowed="between 0 and 1")
