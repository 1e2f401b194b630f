"""Mixtures of multivariate t distributions: draw from one, evaluate it, fit one to weighted samples."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.special import logsumexp

from aerode.stats.weighted import weighted_covariance, weighted_mean

__all__ = ["TMixture", "fit_t_mixture"]

Floats = NDArray[np.float64]

DEGREES_OF_FREEDOM = 5.0
"""Heavier than normal tails, yet a finite covariance; the usual choice of the trade lies at 3 to 10."""


@dataclass(frozen=True, slots=True)
class TMixture:
    """A weighted sum of multivariate t distributions with common degrees of freedom.

    Parameters
    ----------
    shares : array (k,) [1]
        Positive, summing to one.
    centres : array (k, d) [any]
    factors : array (k, d, d) [any]
        Lower Cholesky factors of the scale matrices.
    degrees_of_freedom : float [1]
    """

    shares: Floats
    centres: Floats
    factors: Floats
    degrees_of_freedom: float = DEGREES_OF_FREEDOM

    @classmethod
    def around(cls, centre: Floats, covariance: Floats, widenings: Floats) -> TMixture:
        """Concentric components with scale matrices `widening`² × covariance, in equal shares.

        Parameters
        ----------
        centre : array (d,) [any]
        covariance : array (d, d) [any]
        widenings : array (k,) [1]

        Returns
        -------
        TMixture
        """
        factor = np.linalg.cholesky(covariance)
        k = widenings.size
        return cls(
            np.full(k, 1.0 / k),
            np.repeat(centre[None, :], k, axis=0),
            widenings[:, None, None] * factor,
        )

    def draw(self, count: int, rng: Generator) -> Floats:
        """Independent samples.

        Parameters
        ----------
        count : int [1]
        rng : numpy.random.Generator

        Returns
        -------
        array (count, d) [any]
        """
        size = self.centres.shape[1]
        which = rng.choice(self.shares.size, size=count, p=self.shares)
        normal = rng.standard_normal((count, size))
        stretch = np.sqrt(self.degrees_of_freedom / rng.chisquare(self.degrees_of_freedom, count))
        samples = np.empty((count, size))
        for k in range(self.shares.size):
            rows = which == k
            samples[rows] = self.centres[k] + stretch[rows, None] * (
                normal[rows] @ self.factors[k].T
            )
        return samples

    def log_parts(self, points: Floats) -> tuple[Floats, Floats]:
        """ln(share × density) and squared scaled distance, component by component.

        Parameters
        ----------
        points : array (n, d) [any]

        Returns
        -------
        logs, distances : array (k, n) [1]
        """
        size, nu = self.centres.shape[1], self.degrees_of_freedom
        constant = math.lgamma((nu + size) / 2) - math.lgamma(nu / 2)
        constant -= 0.5 * size * math.log(nu * math.pi)
        logs = np.empty((self.shares.size, points.shape[0]))
        distances = np.empty_like(logs)
        for k in range(self.shares.size):
            centred = (points - self.centres[k]).T
            factor: Floats = self.factors[k]
            distances[k] = np.square(np.linalg.inv(factor) @ centred).sum(axis=0)
            volume = np.log(np.diagonal(self.factors[k])).sum()
            kernel = -0.5 * (nu + size) * np.log1p(distances[k] / nu)
            logs[k] = np.log(self.shares[k]) + constant - volume + kernel
        return logs, distances

    def log_density(self, points: Floats) -> Floats:
        """ln of the density.

        Parameters
        ----------
        points : array (n, d) [any]

        Returns
        -------
        array (n,) [1]
        """
        return np.asarray(logsumexp(self.log_parts(points)[0], axis=0), dtype=np.float64)

    def widened(self, factor: float) -> TMixture:
        """The same centres and shares with every component `factor` times wider.

        Parameters
        ----------
        factor : float [1]

        Returns
        -------
        TMixture
        """
        return TMixture(self.shares, self.centres, factor * self.factors, self.degrees_of_freedom)

    def beside(self, other: TMixture, share: float) -> TMixture:
        """This mixture with `share` of the draws handed to another one.

        Parameters
        ----------
        other : TMixture
        share : float [1]
            In (0, 1).

        Returns
        -------
        TMixture
        """
        return TMixture(
            np.concatenate([(1 - share) * self.shares, share * other.shares]),
            np.concatenate([self.centres, other.centres]),
            np.concatenate([self.factors, other.factors]),
            self.degrees_of_freedom,
        )


def fit_t_mixture(
    samples: Floats, weights: Floats, components: int, rng: Generator, *, sweeps: int = 12
) -> TMixture:
    """The mixture that describes weighted samples, by expectation and maximisation.

    Parameters
    ----------
    samples : array (n, d) [any]
    weights : array (n,) [1]
        Summing to one.
    components : int [1]
        How many t distributions.
    rng : numpy.random.Generator
        Picks the first centres among the samples by weight.
    sweeps : int [1]
        Rounds of expectation and maximisation.

    Returns
    -------
    TMixture
        Components that die out on the way are dropped.

    Notes
    -----
    Peel & McLachlan, Statistics and Computing 10 (2000) 339: each sample carries the latent
    precision (ν + d)/(ν + δ²), with ν held fixed.
    """
    size = samples.shape[1]
    overall = weighted_covariance(samples, weights)
    ridge = 1e-9 * np.diag(np.diagonal(overall)) + 1e-300 * np.eye(size)
    if components == 1:
        first = weighted_mean(samples, weights)[None, :]
        spread = overall
    else:
        first = samples[rng.choice(weights.size, size=components, p=weights)]
        spread = overall / components ** (2.0 / size)
    factor = np.asarray(np.linalg.cholesky(spread + ridge), dtype=np.float64)
    mixture = TMixture(
        np.full(components, 1.0 / components), first, np.repeat(factor[None], components, axis=0)
    )
    for _ in range(sweeps):
        mixture = _improve(mixture, samples, weights, ridge)
    return mixture


def _improve(mixture: TMixture, samples: Floats, weights: Floats, ridge: Floats) -> TMixture:
    size, nu = samples.shape[1], mixture.degrees_of_freedom
    logs, distances = mixture.log_parts(samples)
    belonging = np.exp(logs - logsumexp(logs, axis=0)) * weights
    precision = belonging * (nu + size) / (nu + distances)
    shares = belonging.sum(axis=1)
    # A component that rests on fewer than about 2d effective samples has no covariance of its own.
    worth = shares**2 / np.maximum(np.square(belonging).sum(axis=1), 1e-300)
    kept = np.flatnonzero((shares > 1e-3) & (worth > 2 * size))
    if kept.size == 0:
        return mixture
    centres = (precision[kept] @ samples) / precision[kept].sum(axis=1)[:, None]
    factors = np.empty((kept.size, size, size))
    for row, k in enumerate(kept):
        centred = samples - centres[row]
        scatter = (centred.T * precision[k]) @ centred / shares[k]
        factors[row] = np.linalg.cholesky(scatter + ridge)
    kept_shares = np.asarray(shares[kept] / shares[kept].sum(), dtype=np.float64)
    return TMixture(kept_shares, np.asarray(centres, dtype=np.float64), factors, nu)
