"""A proposal that covers a density: from its summits where that is enough, from walkers where it is not."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from aerode.stats.peak import LogDensity
from aerode.stats.proposals import TMixture, fit_t_mixture
from aerode.stats.walkers import walk
from aerode.stats.weighted import (
    drawn_rows,
    effective_sample_size,
    normalised_weights,
    weighted_covariance,
    weighted_mean,
)

__all__ = ["Pool", "Proposal", "ProposalSearch"]

Floats = NDArray[np.float64]

_ROUND = 800
_STAGES = 3
_SWEEPS = 20
_FLATTER = 0.7
"""Walkers see the density to this power: they reach further out, so the weights stay bounded there."""
_MOST_COMPONENTS = 16
_GOOD_EFFICIENCY = 0.55


class Proposal(Protocol):
    """What samples can be drawn from and weighted against."""

    def draw(self, count: int, rng: Generator) -> Floats:
        """Samples, (count, d) [any]."""
        ...

    def log_density(self, points: Floats) -> Floats:
        """ln of the density at points, (n,) [1]; minus infinity where it never draws."""
        ...


class Pool:
    """Samples of one or several proposals, each weighted against all of them together.

    Parameters
    ----------
    size : int [1]
        Number of coordinates d.
    """

    def __init__(self, size: int) -> None:
        self.points: Floats = np.empty((0, size))
        self.heights: Floats = np.empty(0)
        self._parts: list[tuple[Proposal, int]] = []

    def add(self, proposal: Proposal, points: Floats, heights: Floats) -> None:
        """Take in the samples of one proposal.

        Parameters
        ----------
        proposal : Proposal
        points : array (n, d) [any]
        heights : array (n,) [1]
            Log densities of the target there.
        """
        self.points = np.concatenate([self.points, points])
        self.heights = np.concatenate([self.heights, heights])
        self._parts.append((proposal, points.shape[0]))

    def log_weights(self) -> Floats:
        """ln of the target over the mixture of all proposals, each by its number of samples.

        Returns
        -------
        array (n,) [1]
        """
        shares = [
            part.log_density(self.points) + np.log(count / self.points.shape[0])
            for part, count in self._parts
        ]
        return self.heights - np.logaddexp.reduce(shares)


class ProposalSearch:
    """Looks for a proposal: first from the summits, then refitted once, then from walkers.

    Parameters
    ----------
    target : callable, array (n, d) -> array (n,) [1]
        Log density in unlimited coordinates.
    first : TMixture
        Where to begin.
    rng : numpy.random.Generator
    """

    def __init__(self, target: LogDensity, first: TMixture, rng: Generator) -> None:
        self._target = target
        self._rng = rng
        self.best = first
        self._components = 4

    def start(self) -> None:
        """Try the first proposal and one refit; where both are poor, set walkers out."""
        pool = Pool(self.best.centres.shape[1])
        for _ in range(2):
            log_weights = self._add(pool)
            if _efficiency(log_weights) >= _GOOD_EFFICIENCY:
                return
            weights = _tempered(pool.log_weights(), 25.0 * pool.points.shape[1])
            self.best = _refit(pool.points, weights, 1, self._rng)
        for stage in range(_STAGES):
            if stage > 0:
                self._add(pool)
            self.learn(pool.points, pool.heights, pool.log_weights())

    def _add(self, pool: Pool) -> Floats:
        fresh = self.best.draw(_ROUND, self._rng)
        heights = self._target(fresh)
        pool.add(self.best, fresh, heights)
        return heights - self.best.log_density(fresh)

    def learn(self, points: Floats, heights: Floats, log_weights: Floats) -> None:
        """Set walkers out where the weight lies and fit a richer mixture to where they went.

        Parameters
        ----------
        points : array (n, d) [any]
        heights, log_weights : array (n,) [1]
        """
        weights = _tempered(log_weights, 25.0 * points.shape[1])
        count = 40 * max(points.shape[1], 4)
        rows = drawn_rows(weights, count, self._rng)
        path = walk(self._flattened, points[rows], _FLATTER * heights[rows], _SWEEPS, self._rng)
        settled = path[_SWEEPS // 2 :].reshape(-1, points.shape[1])
        even = np.full(settled.shape[0], 1.0 / settled.shape[0])
        self._components = min(self._components + 3, _MOST_COMPONENTS)
        self.best = _refit(settled, even, self._components, self._rng)

    def _flattened(self, coordinates: Floats) -> Floats:
        return _FLATTER * self._target(coordinates)


def _efficiency(log_weights: Floats) -> float:
    if not np.isfinite(log_weights).any():
        return 0.0
    weights, _ = normalised_weights(log_weights)
    return effective_sample_size(weights) / weights.size


def _refit(points: Floats, weights: Floats, components: int, rng: Generator) -> TMixture:
    """A mixture fitted to weighted points, a little widened, and a tenth of it three times wider."""
    fitted = fit_t_mixture(points, weights, components, rng)
    wide = weighted_covariance(points, weights)
    wide += 1e-9 * np.diag(np.diagonal(wide)) + 1e-300 * np.eye(wide.shape[0])
    centre = weighted_mean(points, weights)
    return fitted.widened(1.1).beside(TMixture.around(centre, wide, np.array([3.0])), 0.1)


def _tempered(log_weights: Floats, enough: float) -> Floats:
    """Weights raised to the largest power ≤ 1 that leaves `enough` effective samples to fit to."""
    power = 1.0
    weights, _ = normalised_weights(log_weights)
    while effective_sample_size(weights) < enough and power > 1e-3:
        power *= 0.7
        weights, _ = normalised_weights(power * log_weights)
    return weights
