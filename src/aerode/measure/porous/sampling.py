"""Samples of a posterior whose coordinates are standard normal before the data: from the prior onward.

Most coordinates of a physical model keep their prior, so the prior itself is the first proposal; each
next one is fitted to all samples so far. Where the target may have a thin bent ridge as well (a limit
that was nearly reached), it gets proposals of its own, fitted in coordinates in which it is straight.
Every sample is weighted against all proposals together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.quantities import Reason
from aerode.stats.peak import LogDensity
from aerode.stats.proposal_search import Pool, Proposal
from aerode.stats.proposals import TMixture
from aerode.stats.sampling import REQUIRED_EFFECTIVE_SIZE, WeightedSample
from aerode.stats.weighted import effective_sample_size, normalised_weights, pareto_tail_shape

__all__ = ["Ridge", "sample_from_prior"]

Floats = NDArray[np.float64]

_FIRST, _NEXT = 600, 600  # numerical: samples of the prior, and of each further proposal
_MOST_ROUNDS = 14  # numerical
_LEARN = 80.0  # numerical: effective samples that a proposal is fitted to
_FREEDOM = 7.0  # numerical: tails heavier than the target's
_OPEN = 0.1  # numerical: share of the prior in every proposal, which keeps the weights bounded
_WIDER = 1.15  # numerical
_RIDGE = 0.02  # numerical: of the prior's variance
_BESIDE = 300  # numerical: samples of each proposal along a ridge
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


@dataclass(frozen=True, slots=True)
class _Along:
    """A proposal that is a t distribution in the straight coordinates of a ridge."""

    mixture: TMixture
    ridge: Ridge

    def draw(self, count: int, rng: Generator) -> Floats:
        return self.ridge.bent(self.mixture.draw(count, rng))

    def log_density(self, points: Floats) -> Floats:
        straight, volume = self.ridge.straight(points)
        known = np.isfinite(volume)
        found = np.full(points.shape[0], -np.inf)
        found[known] = self.mixture.log_density(straight[known]) + volume[known]
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
        Effective samples wanted; looked for in at most 14 rounds.
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
    pool = Pool(size)
    _take(pool, plain, log_density, _FIRST, rng)
    if ridge is not None:
        _take(pool, _Along(ridge.first, ridge), log_density, _BESIDE, rng)
    found = _weighed(pool, required)
    beside, poor = _along_ridge(found, ridge, required)
    for _ in range(_MOST_ROUNDS):
        _take(pool, _fitted(pool, plain), log_density, _NEXT, rng)
        if ridge is not None and beside is not None:
            _take(pool, _Along(beside, ridge), log_density, _BESIDE, rng)
        found = _weighed(pool, required)
        beside, poor = _along_ridge(found, ridge, required)
        if found.reason is None and not poor:
            break
    return found


def _along_ridge(
    found: WeightedSample, ridge: Ridge | None, required: float
) -> tuple[TMixture | None, bool]:
    """A proposal fitted to what lies along a ridge, None where hardly any weight does; and whether it lacks samples."""
    if ridge is None:
        return None, False
    straight, volume = ridge.straight(found.samples)
    there = np.isfinite(volume) & (found.weights > 0.0)
    there[there] = ridge.on_it(straight[there])
    share = float(found.weights[there].sum())
    if share < _WORTH_IT or int(there.sum()) <= 2 * straight.shape[1]:
        return None, False
    logs: Floats = np.log(found.weights[there])
    worth = effective_sample_size(found.weights[there])
    fitted = _around(straight[there], _flattened(logs - logs.max()))
    return fitted.beside(ridge.first, _OPEN), worth < max(_ON_IT, share * required)


def _weighed(pool: Pool, required: float) -> WeightedSample:
    weights, evidence = normalised_weights(pool.log_weights())
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


def _take(
    pool: Pool, proposal: Proposal, log_density: LogDensity, count: int, rng: Generator
) -> None:
    points = proposal.draw(count, rng)
    pool.add(proposal, points, log_density(points))


def _fitted(pool: Pool, plain: TMixture) -> TMixture:
    """A t distribution about the samples so far, with the prior beside it."""
    logs = pool.log_weights()
    logs = np.where(np.isfinite(logs), logs, -np.inf) - logs.max()
    return _around(pool.points, _flattened(logs)).beside(plain, _OPEN)


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
