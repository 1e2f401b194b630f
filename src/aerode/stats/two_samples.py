"""Two lists of readings: pooled, unpooled (Welch) and paired differences."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.contrasts import Contrast

__all__ = ["paired_difference", "pooled_difference", "welch_difference"]

Floats = NDArray[np.float64]


def welch_difference(first: ArrayLike, second: ArrayLike) -> Contrast:
    """The mean of the second list minus that of the first, each with a spread of its own.

    Parameters
    ----------
    first, second : array (n,) and (m,) [any]
        At least two independent readings each.

    Returns
    -------
    Contrast

    Raises
    ------
    CannotTellError
        With fewer than two readings in a list, or no spread in either.

    Notes
    -----
    Welch, Biometrika 34 (1947) 28; degrees of freedom after Satterthwaite.

    Examples
    --------
    >>> round(welch_difference([1.0, 2.0, 3.0], [2.0, 4.0, 6.0]).degrees_of_freedom, 3)
    2.941
    """
    a, b = _checked(first), _checked(second)
    parts = np.array([a.var(ddof=1) / a.size, b.var(ddof=1) / b.size])
    degrees = np.array([a.size - 1, b.size - 1])
    return _contrast(
        float(b.mean() - a.mean()),
        float(parts.sum()),
        float(parts.sum() ** 2 / max(float(np.sum(parts**2 / degrees)), 1e-300)),
    )


def pooled_difference(first: ArrayLike, second: ArrayLike) -> Contrast:
    """The mean of the second list minus that of the first, with one spread common to both.

    Parameters
    ----------
    first, second : array (n,) and (m,) [any]
        Independent readings; one of the lists may hold a single one.

    Returns
    -------
    Contrast

    Raises
    ------
    CannotTellError
        With fewer than three readings in all, or no spread.

    Examples
    --------
    >>> pooled_difference([1.0, 2.0, 3.0], [2.0, 4.0, 6.0]).degrees_of_freedom
    4.0
    """
    a, b = _checked(first, 1), _checked(second, 1)
    df = a.size + b.size - 2
    if df < 1:
        raise CannotTellError(str(Reason.TOO_FEW_BUILDS), where="first, second")
    pooled = (a.var() * a.size + b.var() * b.size) / df
    return _contrast(
        float(b.mean() - a.mean()), float(pooled * (1 / a.size + 1 / b.size)), float(df)
    )


def paired_difference(first: ArrayLike, second: ArrayLike) -> Contrast:
    """The mean of second minus first where each pair shares its day, sheet or cell.

    Parameters
    ----------
    first, second : array (n,) [any]
        Same length, at least two; row i of both belongs together.

    Returns
    -------
    Contrast

    Raises
    ------
    RangeError
        If the lists differ in length.
    CannotTellError
        With fewer than two pairs, or differences that are all the same.

    Examples
    --------
    >>> paired_difference([1.0, 2.0, 3.0], [2.0, 3.5, 4.0]).degrees_of_freedom
    2.0
    """
    a, b = _checked(first), _checked(second)
    if a.size != b.size:
        raise RangeError(f"{a.size} and {b.size} readings make no pairs", where="first, second")
    d = b - a
    return _contrast(float(d.mean()), float(d.var(ddof=1) / d.size), float(d.size - 1))


def _checked(values: ArrayLike, least: int = 2) -> Floats:
    x = np.asarray(values, dtype=np.float64)
    if x.ndim != 1 or not np.isfinite(x).all():
        raise RangeError("a reading is not finite", where="first, second")
    if x.size < least:
        raise CannotTellError(str(Reason.TOO_FEW_BUILDS), where="first, second")
    return x


def _contrast(estimate: float, variance: float, df: float) -> Contrast:
    if variance <= 0:
        raise CannotTellError(
            "the readings do not differ at all, so there is no spread to go by",
            where="first, second",
            next_step="read one digit more",
        )
    error = math.sqrt(variance)
    return Contrast(estimate, error, df, 0.0, error)
