"""Samples of a posterior whose coordinates are standard normal before the data: from the prior onward.

Most coordinates of a physical model keep their prior, so the prior itself is the first proposal; each
next one is fitted to all samples so far. Where the target may have a thin bent ridge as well (a limit
that was nearly reached), it gets proposals of its own, fitted in coordinates in which it is straight.
Every sample is weighted against all proposals together.
"""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.quantities import Reason
from aerode.stats.peak import LogDensity
from aerode.stats.proposals import TMixture
from aerode.stats.sampling import REQUIRED_EFFECTIVE_SIZE, WeightedSample
from aerode.stats.weighted import (
    effective_sample_size,
    normalised_weights,
    pareto_tail_shape,
)

__all__ = ["Ridge", "sample_from_prior"]

Floats = NDArray[np.float64]

_FIRST = 500  # numerical: samples of the prior
_SHORT, _SHORT_ROUNDS = 300, 1  # numerical: samples of the first proposals fitted, and their number
_NEXT = 500  # numerical: samples of each further one
_MOST_ROUNDS = 18  # numerical
_LEARN = 80.0  # numerical: effective samples that a proposal is fitted to
_FREEDOM = 7.0  # numerical: tails heavier than the target's
_OPEN = 0.1  # numerical: share of the prior in every proposal, which keeps the weights bounded
_WIDER = 1.15  # numerical
_RIDGE = 0.02  # numerical: of the prior's variance
_BESIDE = 200  # numerical: the fewest samples of a proposal along a ridge
_MOST_ALONG = 0.8  # numerical: largest share of a round's samples along a ridge
_WORTH_IT = 5e-3  # judgement: a ridge with less of the weight is left alone
_ON_IT = (
    20.0  # judgement: effective samples that a ridge needs at least, and its share of all wanted
)
_HEAVIEST, _HOPELESS = 0.02, 0.7
"""Judgement, as in `aerode.stats.sampling`: largest share of one sample, heaviest tail."""


class Ridge(Protocol):
    """Where a target may have a thin ridge: one coordinate, given the others, is told by a limit."""

    @property
    def first(self) -> TMixture:
        """Where to look first, in straight coordinates."""
        ...

    def straight(self, points: Floats) -> tuple[Floats, Floats]:
        """Straight coordinates of points, (n, d), and ln of the volume that a unit of them takes there, (n,)."""
        ...

    def bent(self, straight: Floats) -> Floats:
        """Points of straight coordinates, (n, d); far away where there are none."""
        ...

    def on_it(self, straight: Floats) -> NDArray[np.bool_]:
        """Which straight coordinates lie along the ridge, (n,)."""
        ...


class _Pool:
    """Samples of several proposals, each weighted against all of them together.

    What is known of a point is kept, so a new proposal costs its own points and one look at the old ones.
    """

    def __init__(self, log_density: LogDensity, size: int, ridge: Ridge | None) -> None:
        self.log_density, self.ridge = log_density, ridge
        self.points: Floats = np.empty((0, size))
        self.straight: Floats = np.empty((0, size))
        self.heights: Floats = np.empty(0)
        self.volume: Floats = np.empty(0)
        self.sums: Floats = np.empty(0)
        self.parts: list[tuple[TMixture, bool, float]] = []

    def take(self, mixture: TMixture, along: bool, count: int, rng: Generator) -> None:
        """Draw from one more proposal, which lives in the straight coordinates if `along` a ridge."""
        points = mixture.draw(count, rng)
        if along and self.ridge is not None:
            points = self.ridge.bent(points)
        straight, volume = points, np.full(count, -np.inf)
        if self.ridge is not None:
            straight, volume = self.ridge.straight(points)
        part = (mixture, along, math.log(count))
        self.sums = np.logaddexp(self.sums, _density(part, self.points, self.straight, self.volume))
        self.parts.append(part)
        theirs = [_density(one, points, straight, volume) for one in self.parts]
        self.sums = np.concatenate([self.sums, np.logaddexp.reduce(theirs)])
        self.heights = np.concatenate([self.heights, self.log_density(points)])
        self.points = np.concatenate([self.points, points])
        self.straight = np.concatenate([self.straight, straight])
        self.volume = np.concatenate([self.volume, volume])

    def log_weights(self) -> Floats:
        """ln of the target over the mixture of all proposals, (n,)."""
        logs = self.heights - self.sums + math.log(self.heights.size)
        return np.where(np.isfinite(logs), logs, -np.inf)

    def on_ridge(self) -> NDArray[np.bool_]:
        """Which points lie along the ridge, (n,)."""
        there = np.isfinite(self.volume) & np.isfinite(self.heights)
        if self.ridge is not None:
            there[there] = self.ridge.on_it(self.straight[there])
        return there


def _density(
    part: tuple[TMixture, bool, float], points: Floats, straight: Floats, volume: Floats
) -> Floats:
    """ln of the number of samples that a proposal puts about points, (n,)."""
    mixture, along, count = part
    if not along:
        return mixture.log_density(points) + count
    found = np.full(points.shape[0], -np.inf)
    known = np.isfinite(volume)
    found[known] = mixture.log_density(straight[known]) + volume[known] + count
    return found


def sample_from_prior(
    log_density: LogDensity,
    size: int,
    rng: Generator,
    *,
    required: float = REQUIRED_EFFECTIVE_SIZE,
    ridge: Ridge | None = None,
) -> WeightedSample:
    """Weighted samples of a posterior in units of its prior.

    Parameters
    ----------
    log_density : callable, array (n, d) [1] -> array (n,) [1]
        ln of likelihood times the standard normal prior, for n rows at once.
    size : int [1]
        Coordinates d.
    rng : numpy.random.Generator
        The dice.
    required : float [1]
        Effective samples wanted; looked for in at most 18 rounds.
    ridge : Ridge, optional
        Where the target may have a thin ridge besides.

    Returns
    -------
    WeightedSample
        With `reason` = SAMPLER_POOR where they were not reached.

    Notes
    -----
    Adaptive importance sampling with deterministic-mixture weights (Cornuet et al. 2012, Scand. J.
    Stat. 39:798), each proposal a multivariate t fitted to the samples so far with their weights
    flattened until they are worth 80, beside a tenth of the prior. One summit is assumed, and a ridge where one is named.

    Examples
    --------
    >>> def log_density(z):
    ...     return -0.5 * (z**2).sum(axis=1) - 0.5 * ((z[:, 0] - 1.0) / 0.1) ** 2
    >>> found = sample_from_prior(log_density, 3, np.random.default_rng(1))
    >>> found.reason is None, bool(abs(found.mean()[0] - 0.99) < 0.02)
    (True, True)
    """
    plain = _normal(np.zeros(size), np.eye(size))
    pool = _Pool(log_density, size, ridge)
    pool.take(plain, False, _FIRST, rng)
    if ridge is not None:
        pool.take(ridge.first, True, _BESIDE, rng)
    logs = pool.log_weights()
    found = _weighed(pool, logs, required)
    for number in range(_MOST_ROUNDS):
        count = _SHORT if number < _SHORT_ROUNDS else _NEXT
        there = pool.on_ridge()
        share = _share(logs, there)
        along = round(count * min(share, _MOST_ALONG)) if share > _WORTH_IT else 0
        off = ~there if along else np.isfinite(logs)
        pool.take(_fitted(pool.points, logs, off, plain), False, count - along, rng)
        if along and ridge is not None:
            fitted = _fitted(pool.straight[: logs.size], logs, there, ridge.first)
            pool.take(fitted, True, max(along, _BESIDE), rng)
        logs = pool.log_weights()
        found = _weighed(pool, logs, required)
        if found.reason is None and not _ridge_lacks(found, pool.on_ridge(), required):
            break
    return found


def _share(logs: Floats, there: NDArray[np.bool_]) -> float:
    """Of the weight, of some samples."""
    return float(normalised_weights(logs)[0][there].sum())


def _ridge_lacks(found: WeightedSample, there: NDArray[np.bool_], required: float) -> bool:
    """Whether what lies along a ridge has weight and too few samples."""
    weights = found.weights[there]
    share = float(weights.sum())
    if share < _WORTH_IT or int((weights > 0.0).sum()) <= 2 * found.samples.shape[1]:
        return False
    return effective_sample_size(weights) < max(_ON_IT, share * required)


def _weighed(pool: _Pool, logs: Floats, required: float) -> WeightedSample:
    weights, evidence = normalised_weights(logs)
    worth, tail = effective_sample_size(weights), pareto_tail_shape(weights)
    usable = worth >= required and tail <= _HOPELESS and float(weights.max()) <= _HEAVIEST
    return WeightedSample(
        samples=pool.points,
        weights=weights,
        log_evidence=evidence,
        log_evidence_standard_error=float(np.sqrt(max(1 / worth - 1 / weights.size, 0.0))),
        effective_sample_size=worth,
        tail_shape=tail,
        mode=pool.points[int(np.argmax(pool.heights))].copy(),
        evaluations=weights.size,
        reason=None if usable else Reason.SAMPLER_POOR,
    )


def _normal(centre: Floats, covariance: Floats) -> TMixture:
    factor: Floats = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64)
    return TMixture(np.ones(1), centre[None, :], factor[None, :, :], _FREEDOM)


def _fitted(points: Floats, logs: Floats, there: NDArray[np.bool_], plain: TMixture) -> TMixture:
    """A t distribution about some of the samples, with a plain one beside it."""
    some = np.flatnonzero(there & np.isfinite(logs))
    if some.size <= 2 * points.shape[1]:
        return plain
    weights = _flattened(logs[some] - logs[some].max())
    return _around(points[some], weights).beside(plain, _OPEN)


def _around(points: Floats, weights: Floats) -> TMixture:
    """A t distribution about weighted points, a little wider than they are."""
    mean = weights @ points
    off = points - mean
    covariance: Floats = np.asarray((weights[:, None] * off).T @ off * _WIDER**2)
    covariance += _RIDGE**2 * np.eye(mean.size)
    return _normal(mean, covariance)


def _flattened(logs: Floats) -> Floats:
    """Weights to a power at which they are worth enough to fit to; the power 1 where they are already."""
    low, high = 0.0, 1.0
    weights, _ = normalised_weights(logs)
    if effective_sample_size(weights) >= _LEARN:
        return weights
    for _ in range(30):  # numerical: bisection
        power = 0.5 * (low + high)
        weights, _ = normalised_weights(power * logs)
        low, high = (power, high) if effective_sample_size(weights) >= _LEARN else (low, power)
    return normalised_weights(low * logs)[0]
