"""Mixtures of multivariate t: density, draws, fitting."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from aerode.stats.proposals import TMixture, fit_t_mixture

RNG = np.random.default_rng(1)
COVARIANCE = np.array([[2.0, 0.8], [0.8, 1.0]])


def two() -> TMixture:
    """Two components three apart."""
    factor = np.linalg.cholesky(COVARIANCE)
    return TMixture(
        np.array([0.3, 0.7]),
        np.array([[0.0, 0.0], [6.0, -3.0]]),
        np.stack([factor, 0.5 * factor]),
    )


def test_density_agrees_with_a_general_library() -> None:
    """Against scipy's multivariate t, component by component."""
    x = RNG.normal(0, 4, (50, 2))
    first = stats.multivariate_t([0, 0], COVARIANCE, df=5).pdf(x)
    second = stats.multivariate_t([6, -3], 0.25 * COVARIANCE, df=5).pdf(x)
    assert np.exp(two().log_density(x)) == pytest.approx(0.3 * first + 0.7 * second, rel=1e-9)


def test_draws_have_the_moments() -> None:
    """Means and covariance Σν/(ν − 2) of 200,000 draws."""
    one = TMixture.around(np.array([1.0, 2.0]), COVARIANCE, np.array([1.0]))
    x = one.draw(200_000, np.random.default_rng(2))
    assert x.mean(axis=0) == pytest.approx([1.0, 2.0], abs=0.02)
    assert np.cov(x.T) == pytest.approx(COVARIANCE * 5 / 3, rel=0.05)


def test_draws_follow_their_own_density() -> None:
    """Importance weights of a mixture against itself widened integrate to one."""
    wide = two().widened(1.5)
    x = wide.draw(100_000, np.random.default_rng(3))
    weights = np.exp(two().log_density(x) - wide.log_density(x))
    assert weights.mean() == pytest.approx(1.0, abs=0.02)


def test_fit_finds_the_components() -> None:
    """From 20,000 equally weighted draws: centres within 0.2, shares within 0.03."""
    x = two().draw(20_000, np.random.default_rng(4))
    found = fit_t_mixture(x, np.full(20_000, 1 / 20_000), 2, np.random.default_rng(5), sweeps=60)
    order = np.argsort(found.centres[:, 0])
    assert found.centres[order] == pytest.approx(np.array([[0, 0], [6, -3]]), abs=0.2)
    assert found.shares[order] == pytest.approx([0.3, 0.7], abs=0.03)


def test_one_component_is_weighted() -> None:
    """Weights move the centre."""
    x = np.random.default_rng(6).normal(0, 1, (4000, 1))
    weights = np.exp(2 * x[:, 0])
    found = fit_t_mixture(x, weights / weights.sum(), 1, np.random.default_rng(7))
    assert found.centres[0, 0] == pytest.approx(2.0, abs=0.25)


def test_beside_keeps_the_total_share() -> None:
    """A tenth handed over."""
    both = two().beside(two().widened(3.0), 0.1)
    assert both.shares == pytest.approx([0.27, 0.63, 0.03, 0.07])
