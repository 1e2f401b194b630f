"""A posterior from a log density: mode, curvature, then adaptive importance sampling with multivariate t mixtures.

The log density is called with many parameter rows at once, never row by row. The answer carries
its own gate: below the required effective sample size it has a reason and gives no intervals.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.bounds import Box
from aerode.stats.peak import LogDensity, climb
from aerode.stats.proposal_search import Pool, ProposalSearch
from aerode.stats.proposals import TMixture
from aerode.stats.weighted import (
    drawn_rows,
    effective_sample_size,
    normalised_weights,
    pareto_tail_shape,
    weighted_covariance,
    weighted_mean,
    weighted_quantile,
)

__all__ = ["REQUIRED_EFFECTIVE_SIZE", "WeightedSample", "sample_posterior"]

Floats = NDArray[np.float64]

REQUIRED_EFFECTIVE_SIZE = 400
"""At 400 the Monte Carlo part of a mean is 5 % of its standard deviation: small beside the rest."""

_HOPELESS_TAIL = 0.7
_HEAVIEST = 0.02
"""No single sample may hold more than this: with one that does, an outer quantile is that sample."""

_UNRESOLVED = 1e9
"""Rounding of a log density beyond this (1e-7 and up) starts to blur the weights."""


@dataclass(frozen=True, slots=True)
class WeightedSample:
    """Weighted samples of a posterior, and whether they can be used.

    Parameters
    ----------
    samples : array (n, d) [any]
        Parameter rows, in the units of the log density's argument.
    weights : array (n,) [1]
        Non-negative, summing to one.
    log_evidence : float [1]
        ln ∫ exp(log_density).
    log_evidence_standard_error : float [1]
        Its Monte Carlo standard error.
    effective_sample_size : float [1]
        Kish's (Σw)²/Σw².
    tail_shape : float [1]
        Pareto shape of the largest weights; above 0.7 is unusable.
    mode : array (d,) [any]
        The sample with the highest log density that was met.
    evaluations : int [1]
        Parameter rows spent in all.
    reason : Reason or None
        Why there are no intervals; None when the sample is usable.
    """

    samples: Floats
    weights: Floats
    log_evidence: float
    log_evidence_standard_error: float
    effective_sample_size: float
    tail_shape: float
    mode: Floats
    evaluations: int
    reason: Reason | None

    def _must_be_usable(self) -> None:
        if self.reason is not None:
            raise CannotTellError(
                str(self.reason),
                where=f"posterior sample, worth {self.effective_sample_size:.0f} plain samples, "
                f"tail shape {self.tail_shape:.2f}",
            )

    def mean(self, of: ArrayLike | None = None) -> Floats:
        """The posterior mean of each parameter, or of quantities computed from the samples.

        Parameters
        ----------
        of : array (n,) or (n, m), optional [any]
            One row per sample; the samples themselves when left out.

        Returns
        -------
        array (d,), () or (m,) [same as of]

        Raises
        ------
        CannotTellError
            If the sample carries a reason.
        """
        self._must_be_usable()
        return weighted_mean(self.samples if of is None else of, self.weights)

    def mean_standard_error(self, of: ArrayLike | None = None) -> Floats:
        """How far chance in the sampling may have moved each mean: one standard error.

        Parameters
        ----------
        of : array (n,) or (n, m), optional [any]

        Returns
        -------
        array (d,), () or (m,) [same as of]

        Raises
        ------
        CannotTellError
            If the sample carries a reason.

        Notes
        -----
        √Σ w² (x − mean)². Unlike the effective sample size it sees how the weights go with this
        very quantity: it is the larger for one that the far tails rule.
        """
        self._must_be_usable()
        values = np.asarray(self.samples if of is None else of, dtype=np.float64)
        centred = values - weighted_mean(values, self.weights)
        return np.sqrt(np.square(centred).T @ np.square(self.weights))

    def standard_deviation(self, of: ArrayLike | None = None) -> Floats:
        """The posterior standard deviation of each parameter, or of computed quantities.

        Parameters
        ----------
        of : array (n,) or (n, m), optional [any]

        Returns
        -------
        array (d,), () or (m,) [same as of]

        Raises
        ------
        CannotTellError
            If the sample carries a reason.
        """
        self._must_be_usable()
        values = np.asarray(self.samples if of is None else of, dtype=np.float64)
        centred = values - weighted_mean(values, self.weights)
        return np.sqrt(weighted_mean(np.square(centred), self.weights))

    def covariance(self) -> Floats:
        """The posterior covariance matrix of the parameters.

        Returns
        -------
        array (d, d) [product of the parameters' units]

        Raises
        ------
        CannotTellError
            If the sample carries a reason.
        """
        self._must_be_usable()
        return weighted_covariance(self.samples, self.weights)

    def quantile(self, probabilities: ArrayLike, of: ArrayLike | None = None) -> Floats:
        """Posterior quantiles.

        Parameters
        ----------
        probabilities : float or array (m,) [1]
        of : array (n,) or (n, d), optional [any]
            The samples themselves when left out.

        Returns
        -------
        array (..., ) [same as of]
            Shape of `probabilities` for a single quantity; (m, d) or (d,) for columns.

        Raises
        ------
        CannotTellError
            If the sample carries a reason.
        """
        self._must_be_usable()
        values = np.asarray(self.samples if of is None else of, dtype=np.float64)
        if values.ndim == 1:
            return weighted_quantile(values, self.weights, probabilities)
        columns = [weighted_quantile(column, self.weights, probabilities) for column in values.T]
        return np.stack(columns, axis=-1)

    def interval(self, level: float = 0.95, of: ArrayLike | None = None) -> tuple[Floats, Floats]:
        """The credible interval with equal tails.

        Parameters
        ----------
        level : float [1]
            Probability inside.
        of : array (n,) or (n, d), optional [any]

        Returns
        -------
        low, high : array () or (d,) [same as of]

        Raises
        ------
        CannotTellError
            If the sample carries a reason.
        """
        tail = (1 - level) / 2
        return self.quantile(tail, of), self.quantile(1 - tail, of)

    def resample(self, count: int, rng: Generator) -> Floats:
        """Equally weighted samples, drawn with replacement (systematic resampling).

        Parameters
        ----------
        count : int [1]
        rng : numpy.random.Generator

        Returns
        -------
        array (count, d) [any]

        Raises
        ------
        CannotTellError
            If the sample carries a reason.
        """
        self._must_be_usable()
        return self.samples[drawn_rows(self.weights, count, rng)]


def sample_posterior(
    log_density: LogDensity,
    start: ArrayLike,
    rng: Generator,
    *,
    scale: ArrayLike | None = None,
    lower: ArrayLike | None = None,
    upper: ArrayLike | None = None,
    draws: int = 2000,
    most_evaluations: int = 50000,
    required_effective_size: float = REQUIRED_EFFECTIVE_SIZE,
) -> WeightedSample:
    """Weighted samples of the density exp(log_density), its integral, and a gate on both.

    Parameters
    ----------
    log_density : callable, array (n, d) [any] -> array (n,) [1]
        Logarithm of prior × likelihood for n rows at once; minus infinity where impossible.
    start : array (d,) or (k, d) [any]
        One or several places from where the summit is looked for.
    rng : numpy.random.Generator
        The dice.
    scale : array (d,), optional [any]
        Rough size of a step in each parameter; a tenth of the start (at least 0.1) otherwise.
        Counted in the mapped coordinate where there are limits (a logarithm, or a normal quantile
        between two); there 0.3 by default.
    lower, upper : array (d,), optional [any]
        Limits; infinite where there is none. The density may be cut off at them.
    draws : int [1]
        Samples of the proposal that was found; as many again each time the gate is not passed.
    most_evaluations : int [1]
        Where the gate is not passed the search goes on, up to about this many rows in all.
    required_effective_size : float [1]
        The gate.

    Returns
    -------
    WeightedSample
        With `reason` = SAMPLER_POOR where the effective size stays below the gate, the weights'
        tail is too heavy (shape above 0.7) or one sample holds over 2 %; its interval methods
        then raise.

    Raises
    ------
    RangeError
        If a start lies outside the limits, or the log density gives NaN or plus infinity.
    CannotTellError
        If no place with a finite log density is found.

    Notes
    -----
    Mode by damped Newton steps from batched differences; first proposal: multivariate t about the
    mode (5 degrees of freedom). Where 800 samples of it, or of one refit (deterministic-mixture
    weights: Cornuet et al., Scand. J. Stat. 39 (2012) 798), are efficient, nothing more is done.
    Otherwise walkers set out from them, over the density to the power 0.7, and a mixture of
    multivariate t distributions is fitted to their ways; three times over. What is returned are importance samples of these proposals, never the walkers, which
    therefore need not have settled. Where they fail the gate, walkers set out anew from them and
    samples of the next proposal join. A tenth of every fitted proposal is three times wider than
    the whole, which keeps the weights bounded.

    Assumes a continuous density with up to about ten parameters. On a strongly bent ridge (a
    banana reaching three standard deviations) the outer quantiles scatter up to 1.5 times as much as
    the effective sample size promises; on skewed, cut-off or tilted densities they keep it. Do not use it where separate
    summits are likely and `start` does not hold a place near each: the effective sample size
    cannot see a summit that was never met.

    Examples
    --------
    >>> import numpy as np
    >>> def log_density(theta):
    ...     return -0.5 * ((theta - 3.0) ** 2).sum(axis=1)
    >>> sample = sample_posterior(log_density, [0.0, 0.0], np.random.default_rng(1))
    >>> sample.reason is None, np.allclose(sample.mean(), 3.0, atol=0.1)
    (True, True)
    >>> bool(abs(sample.log_evidence - np.log(2 * np.pi)) < 0.06)
    True
    """
    starts = np.atleast_2d(np.asarray(start, dtype=np.float64))
    box = Box.of(starts.shape[1], lower, upper)
    if not box.contains(starts):
        raise RangeError("a start lies on or outside the limits", where="start")
    target = _Target(log_density, box)
    places = box.outside(starts)
    steps = _steps(places, box, scale)
    search = ProposalSearch(target, _about_summits(target, places, steps, rng), rng)
    search.start()
    pool = Pool(target.box.lower.size)
    while True:
        points = search.best.draw(draws, rng)
        pool.add(search.best, points, target(points))
        log_weights = pool.log_weights()
        sample = _weigh(target, pool.points, log_weights, required_effective_size)
        if sample.reason is None or target.evaluations >= most_evaluations:
            return sample
        search.learn(pool.points, pool.heights, log_weights)


class _Target:
    """The log density in unlimited coordinates, counting its rows and remembering the best one."""

    def __init__(self, log_density: LogDensity, box: Box) -> None:
        self._log_density = log_density
        self.box = box
        self.evaluations = 0
        self.best = -np.inf
        self.mode = np.zeros(box.lower.size)

    def __call__(self, coordinates: Floats) -> Floats:
        values = self.box.inside(coordinates)
        raw = np.asarray(self._log_density(values), dtype=np.float64)
        if raw.shape != (values.shape[0],):
            raise RangeError(
                f"the log density gave shape {raw.shape} for {values.shape[0]} rows",
                where="log_density",
                allowed="one number per row",
            )
        if np.isnan(raw).any() or np.isposinf(raw).any():
            raise RangeError(
                "the log density gave NaN or plus infinity",
                where=f"log_density at {values[np.argmax(np.isnan(raw) | np.isposinf(raw))]}",
                allowed="finite numbers, or minus infinity where impossible",
            )
        self.evaluations += raw.size
        best = int(np.argmax(raw))
        if raw[best] > self.best:
            self.best, self.mode = float(raw[best]), values[best].copy()
        return raw + self.box.log_stretch(coordinates)


def _steps(places: Floats, box: Box, scale: ArrayLike | None) -> Floats:
    if scale is not None:
        given = np.broadcast_to(np.asarray(scale, dtype=np.float64), (places.shape[1],))
        if not np.all(np.isfinite(given) & (given > 0)):
            raise RangeError("a scale is not positive", where="scale", allowed="> 0")
        return given.astype(np.float64)
    limited = np.isfinite(box.lower) | np.isfinite(box.upper)
    return np.where(limited, 0.3, np.maximum(0.1 * np.abs(places).max(axis=0), 0.1))


def _about_summits(target: _Target, places: Floats, steps: Floats, rng: Generator) -> TMixture:
    """Climb from every start; one pair of t distributions about each, in equal shares."""
    widenings = np.array([1.0, 2.0])
    mixture = TMixture.around(*climb(target, places[0], steps, rng), widenings)
    for count, place in enumerate(places[1:], start=2):
        other = TMixture.around(*climb(target, place, steps, rng), widenings)
        mixture = mixture.beside(other, 1.0 / count)
    if abs(target.best) > _UNRESOLVED:
        raise CannotTellError(
            f"the highest log density found is {target.best:.3g}: nothing fits",
            where="log_density",
            next_step="give a start nearer to the answer, or look for a slip in the readings",
        )
    return mixture


def _weigh(target: _Target, points: Floats, log_weights: Floats, required: float) -> WeightedSample:
    weights, log_evidence = normalised_weights(log_weights)
    worth = effective_sample_size(weights)
    tail = pareto_tail_shape(weights)
    heaviest = float(weights.max())
    usable = worth >= required and tail <= _HOPELESS_TAIL and heaviest <= _HEAVIEST
    return WeightedSample(
        samples=target.box.inside(points),
        weights=weights,
        log_evidence=log_evidence,
        log_evidence_standard_error=float(np.sqrt(max(1 / worth - 1 / weights.size, 0.0))),
        effective_sample_size=worth,
        tail_shape=tail,
        mode=target.mode,
        evaluations=target.evaluations,
        reason=None if usable else Reason.SAMPLER_POOR,
    )
