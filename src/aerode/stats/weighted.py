"""Weighted samples: means, quantiles, how many plain samples they are worth, and how heavy the tail of the weights is."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from aerode.errors import RangeError

__all__ = [
    "drawn_rows",
    "effective_sample_size",
    "normalised_weights",
    "pareto_tail_shape",
    "weighted_covariance",
    "weighted_mean",
    "weighted_quantile",
]

Floats = NDArray[np.float64]


def normalised_weights(log_weights: ArrayLike) -> tuple[Floats, float]:
    """Weights that sum to one, and the logarithm of the mean weight.

    Parameters
    ----------
    log_weights : array (n,) [1]
        Logarithms of unnormalised weights; minus infinity is a weight of zero.

    Returns
    -------
    weights : array (n,) [1]
        Non-negative, summing to one.
    log_mean : float [1]
        ln of the arithmetic mean of exp(log_weights): the importance-sampling estimate of ln ∫p.

    Raises
    ------
    RangeError
        If there is no weight above zero, or one is NaN or plus infinity.

    Examples
    --------
    >>> weights, log_mean = normalised_weights([0.0, 0.0])
    >>> weights.tolist(), log_mean
    ([0.5, 0.5], 0.0)
    """
    logs = np.asarray(log_weights, dtype=np.float64)
    peak = float(np.max(logs)) if logs.size else -np.inf
    if not np.isfinite(peak) or np.isnan(logs).any():
        raise RangeError(
            "no sample has a weight above zero, or a weight is not a number",
            where="log_weights",
            allowed="finite numbers or minus infinity, at least one finite",
        )
    raw = np.exp(logs - peak)
    total = float(raw.sum())
    return raw / total, peak + float(np.log(total / logs.size))


def effective_sample_size(weights: ArrayLike) -> float:
    """How many equally weighted independent samples would give means as precise as these.

    Kish's ratio (Σw)²/Σw². It sees uneven weights only: not a region that no sample reached,
    and not a grid that is too coarse.

    Parameters
    ----------
    weights : array (n,) [1]
        Non-negative weights on any scale.

    Returns
    -------
    float [1]
        Between 1 and n.

    Examples
    --------
    >>> effective_sample_size([1.0, 1.0, 1.0, 0.0])
    3.0
    """
    w = np.asarray(weights, dtype=np.float64)
    return float(w.sum() ** 2 / np.square(w).sum())


def weighted_mean(samples: ArrayLike, weights: ArrayLike) -> Floats:
    """The weighted mean of each column.

    Parameters
    ----------
    samples : array (n,) or (n, d) [any]
        One row per sample.
    weights : array (n,) [1]
        Non-negative, on any scale.

    Returns
    -------
    array () or (d,) [same as samples]

    Examples
    --------
    >>> weighted_mean([[0.0], [10.0]], [3.0, 1.0]).tolist()
    [2.5]
    """
    w = np.asarray(weights, dtype=np.float64)
    return np.asarray(np.asarray(samples, dtype=np.float64).T @ (w / w.sum()), dtype=np.float64)


def weighted_covariance(samples: ArrayLike, weights: ArrayLike) -> Floats:
    """The weighted covariance matrix of the columns (divisor: the sum of the weights).

    Parameters
    ----------
    samples : array (n, d) [any]
        One row per sample.
    weights : array (n,) [1]
        Non-negative, on any scale.

    Returns
    -------
    array (d, d) [product of the columns' units]

    Examples
    --------
    >>> weighted_covariance([[0.0], [2.0]], [1.0, 1.0]).tolist()
    [[1.0]]
    """
    x = np.asarray(samples, dtype=np.float64)
    w = np.asarray(weights, dtype=np.float64)
    centred = x - weighted_mean(x, w)
    return np.asarray((centred.T * (w / w.sum())) @ centred, dtype=np.float64)


def weighted_quantile(values: ArrayLike, weights: ArrayLike, probabilities: ArrayLike) -> Floats:
    """Quantiles of a weighted sample, interpolated between the samples' mid-points.

    Parameters
    ----------
    values : array (n,) [any]
        The samples of one quantity.
    weights : array (n,) [1]
        Non-negative, on any scale.
    probabilities : float or array (m,) [1]
        In [0, 1].

    Returns
    -------
    array () or (m,) [same as values]

    Examples
    --------
    >>> float(weighted_quantile([3.0, 1.0, 2.0], [1.0, 1.0, 1.0], 0.5))
    2.0
    """
    asked = np.asarray(probabilities, dtype=np.float64)
    if np.any((asked < 0) | (asked > 1) | np.isnan(asked)):
        raise RangeError(
            "a probability lies outside 0 to 1", where="probabilities", allowed="[0, 1]"
        )
    x = np.asarray(values, dtype=np.float64)
    w = np.asarray(weights, dtype=np.float64)
    kept = w > 0
    order = np.argsort(x[kept], kind="stable")
    x, w = x[kept][order], w[kept][order]
    middle = (np.cumsum(w) - 0.5 * w) / w.sum()
    return np.asarray(np.interp(asked, middle, x), dtype=np.float64)


def drawn_rows(weights: Floats, count: int, rng: Generator) -> NDArray[np.intp]:
    """Row numbers in proportion to weights that sum to one, in random order.

    Parameters
    ----------
    weights : array (n,) [1]
        Summing to one.
    count : int [1]
    rng : numpy.random.Generator

    Returns
    -------
    array (count,) of int [1]
        Each row ⌊count × weight⌋ or ⌈count × weight⌉ times (systematic resampling).

    Examples
    --------
    >>> import numpy as np
    >>> sorted(drawn_rows(np.array([0.75, 0.25]), 4, np.random.default_rng(1)).tolist())
    [0, 0, 0, 1]
    """
    places: Floats = (np.arange(count) + rng.random()) / count
    rows: NDArray[np.intp] = np.searchsorted(np.cumsum(weights), places)
    return rng.permutation(np.minimum(rows, weights.size - 1))


def pareto_tail_shape(weights: ArrayLike) -> float:
    """The shape k of a generalised Pareto tail fitted to the largest weights.

    Below 0.5 the weights have a finite variance; above 0.7 importance sampling cannot be relied
    on at practical sample sizes, whatever the effective sample size says.
    Tail length min(n/5, 3√n); the estimator of Zhang & Stephens, Technometrics 51 (2009) 316,
    with the weak pull towards 0.5 of Vehtari et al., J. Mach. Learn. Res. 25 (2024) 72.

    Parameters
    ----------
    weights : array (n,) [1]
        Non-negative weights on any scale.

    Returns
    -------
    float [1]
        k; minus infinity where the tail is flat (all its weights equal) or has under 5 members.

    Examples
    --------
    >>> pareto_tail_shape([1.0] * 100)
    -inf
    """
    w = np.sort(np.asarray(weights, dtype=np.float64))
    length = int(min(w.size / 5, 3 * np.sqrt(w.size)))
    if length < 5:
        return -np.inf
    excess = w[-length:] - w[-length - 1]
    excess = excess[excess > 1e-12 * w[-1]]
    if excess.size < 5:
        return -np.inf
    return _pareto_shape(excess)


def _pareto_shape(excess: Floats) -> float:
    n = excess.size
    candidates = 30 + int(np.sqrt(n))
    quartile = excess[int(n / 4 + 0.5) - 1]
    index = np.arange(1, candidates + 1)
    theta = 1 / excess[-1] + (1 - np.sqrt(candidates / (index - 0.5))) / (3 * quartile)
    shape = np.log1p(-theta[:, None] * excess).mean(axis=1)
    profile = n * (np.log(-theta / shape) - shape - 1)
    posterior = np.exp(profile - profile.max())
    best = float(np.sum(theta * posterior) / posterior.sum())
    k = float(np.log1p(-best * excess).mean())
    return (n * k + 5.0) / (n + 10.0)
