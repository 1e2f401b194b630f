"""The best of many looks better than it is: pull it back towards the rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import RangeError

__all__ = ["ShrunkenBest", "best_after_shrinkage", "shrink"]

Floats = NDArray[np.float64]


def shrink(
    estimates: ArrayLike, error_variances: ArrayLike, recipe_variance: float
) -> tuple[Floats, Floats]:
    """The best linear unbiased predictions of recipes drawn from one population.

    Parameters
    ----------
    estimates : array (k,) [any]
        Estimated log responses, at least two.
    error_variances : float or array (k,) [estimates²]
        Variance of each estimate, build spread included.
    recipe_variance : float [estimates²]
        Variance between the recipes' true values; 0 pulls all of them to the common mean.

    Returns
    -------
    predictions : array (k,) [any]
    standard_errors : array (k,) [same]
        The uncertainty of the common mean included.

    Raises
    ------
    RangeError
        If a variance is negative, or there are fewer than two estimates.

    Notes
    -----
    m + λ(y − m) with λ = τ²/(τ² + σ²) and m the mean weighted by 1/(τ² + σ²)
    (Robinson, Statist. Sci. 6 (1991) 15). Unbiased for the selected best only if both variances
    are right and the recipes' values are near normal.

    Examples
    --------
    >>> shrink([0.0, 0.2], 0.01, 0.01)[0].round(3).tolist()
    [0.05, 0.15]
    """
    y = np.asarray(estimates, dtype=np.float64)
    error = np.broadcast_to(np.asarray(error_variances, dtype=np.float64), y.shape)
    if y.ndim != 1 or y.size < 2:
        raise RangeError(f"{y.size} estimates", where="estimates", allowed="two or more")
    if np.any(error <= 0) or not recipe_variance >= 0:
        raise RangeError("a variance is not positive", where="error_variances, recipe_variance")
    weight = 1 / (recipe_variance + error)
    mean = float(weight @ y / weight.sum())
    pull = recipe_variance * weight
    variance = pull * error + np.square(1 - pull) / weight.sum()
    return mean + pull * (y - mean), np.sqrt(variance)


@dataclass(frozen=True, slots=True)
class ShrunkenBest:
    """The best of several recipes as it was estimated, and between what it is likely to be.

    Parameters
    ----------
    index : int [1]
        Which one.
    raw : float [any]
        As estimated: too good by selection.
    low, high : float [same]
        After shrinkage with the smallest and with the largest stated ratio.
    low_standard_error, high_standard_error : float [same]
    """

    index: int
    raw: float
    low: float
    high: float
    low_standard_error: float
    high_standard_error: float


def best_after_shrinkage(
    estimates: ArrayLike, error_variance: float, ratio_range: tuple[float, float]
) -> ShrunkenBest:
    """The highest estimate, pulled back for both ends of a stated range of variance ratios.

    Parameters
    ----------
    estimates : array (k,) [any]
        Estimated log responses with equal error variances.
    error_variance : float [estimates²]
    ratio_range : (float, float) [1]
        Smallest and largest ratio of the variance between recipes to the error variance that one
        is ready to believe. With single builds the data cannot tell it: state it and print both.

    Returns
    -------
    ShrunkenBest

    Raises
    ------
    RangeError
        If the range is not 0 <= low <= high, or the estimates cannot be taken.

    Examples
    --------
    >>> best = best_after_shrinkage([0.0, 0.1, 0.2], 0.01, (0.25, 1.0))
    >>> best.index, round(best.low, 3), round(best.high, 3)
    (2, 0.12, 0.15)
    """
    low, high = ratio_range
    if not 0 <= low <= high:
        raise RangeError(
            f"a ratio range of {ratio_range}", where="ratio_range", allowed="0 <= low <= high"
        )
    y = np.asarray(estimates, dtype=np.float64)
    ends = [shrink(y, error_variance, ratio * error_variance) for ratio in (low, high)]
    index = int(np.argmax(y))
    return ShrunkenBest(
        index=index,
        raw=float(y[index]),
        low=float(ends[0][0][index]),
        high=float(ends[1][0][index]),
        low_standard_error=float(ends[0][1][index]),
        high_standard_error=float(ends[1][1][index]),
    )
