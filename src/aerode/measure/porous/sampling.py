"""Samples of a posterior whose coordinates are standard normal before the data: from the prior onward.

Most coordinates of a physical model keep their prior, so the prior itself is the first proposal; each
next one is fitted to all samples so far. Every sample is weighted against all proposals together.
"""

from __future__ import annotations

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.quantities import Reason
from aerode.stats.peak import LogDensity
from aerode.stats.proposal_search import Pool
from aerode.stats.proposals import TMixture
from aerode.stats.sampling import REQUIRED_EFFECTIVE_SIZE, WeightedSample
from aerode.stats.weighted import effective_sample_size, normalised_weights, pareto_tail_shape

__all__ = ["sample_from_prior"]

Floats = NDArray[np.float64]

_FIRST, _NEXT = 600, 600  # numerical: samples of the prior, and of each further proposal
_MOST_ROUNDS = 14  # numerical
_LEARN = 80.0  # numerical: effective samples that a proposal is fitted to
_FREEDOM = 7.0  # numerical: tails heavier than the target's
_OPEN = 0.1  # numerical: share of the prior in every proposal, which keeps the weights bounded
_WIDER = 1.15  # numerical
_RIDGE = 0.02  # numerical: of the prior's variance
_HEAVIEST, _HOPELESS = 0.02, 0.7
"""Judgement, as in `aerode.stats.sampling`: largest share of one sample, heaviest tail."""


def sample_from_prior(
    log_density: LogDensity,
    size: int,
    rng: Generator,
    *,
    required: float = REQUIRED_EFFECTIVE_SIZE,
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

    Returns
    -------
    WeightedSample
        With `reason` = SAMPLER_POOR where they were not reached.

    Notes
    -----
    Adaptive importance sampling with deterministic-mixture weights (Cornuet et al. 2012, Scand. J.
    Stat. 39:798), each proposal a multivariate t fitted to the samples so far with their weights
    flattened until they are worth 80, beside a tenth of the prior. One summit is assumed.

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
    found = _weighed(pool, required)
    for _ in range(_MOST_ROUNDS):
        _take(pool, _fitted(pool, plain), log_density, _NEXT, rng)
        found = _weighed(pool, required)
        if found.reason is None:
            break
    return found


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
    pool: Pool, proposal: TMixture, log_density: LogDensity, count: int, rng: Generator
) -> None:
    points = proposal.draw(count, rng)
    pool.add(proposal, points, log_density(points))


def _fitted(pool: Pool, plain: TMixture) -> TMixture:
    """A t distribution about the samples so far, with the prior beside it."""
    logs = pool.log_weights()
    logs = np.where(np.isfinite(logs), logs, -np.inf) - logs.max()
    weights = _flattened(logs)
    mean = weights @ pool.points
    off = pool.points - mean
    covariance: Floats = np.asarray((weights[:, None] * off).T @ off * _WIDER**2)
    covariance += _RIDGE**2 * np.eye(mean.size)
    return _normal(mean, covariance).beside(plain, _OPEN)


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
