"""The crowd of walkers: it must leave a density unchanged and find one it was not set out on."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.stats.walkers import walk

COVARIANCE = np.array([[1.0, 0.99 * 3], [0.99 * 3, 9.0]])
PRECISION = np.linalg.inv(COVARIANCE)


def normal(x: np.ndarray) -> np.ndarray:
    """A narrow tilted ridge."""
    return -0.5 * np.einsum("ni,ij,nj->n", x, PRECISION, x)


def test_a_settled_crowd_stays_settled() -> None:
    """Set out from exact samples, the moments after 30 sweeps are still those of the density."""
    rng = np.random.default_rng(1)
    start = rng.multivariate_normal(np.zeros(2), COVARIANCE, 4000)
    path = walk(normal, start, normal(start), 30, rng)
    assert path.shape == (30, 4000, 2)
    assert path[-1].mean(axis=0) == pytest.approx([0, 0], abs=0.2)
    assert np.cov(path[-1].T) == pytest.approx(COVARIANCE, rel=0.1)


def test_a_lost_crowd_finds_the_density() -> None:
    """Set out on a spot far outside, the second half of 200 sweeps has the moments."""
    rng = np.random.default_rng(2)
    start = np.array([8.0, -4.0]) + 0.01 * rng.standard_normal((300, 2))
    path = walk(normal, start, normal(start), 200, rng)[100:].reshape(-1, 2)
    assert path.mean(axis=0) == pytest.approx([0, 0], abs=0.35)
    assert np.cov(path.T) == pytest.approx(COVARIANCE, rel=0.2)


def test_nobody_steps_where_it_is_impossible() -> None:
    """Minus infinity outside the unit square; inside, the crowd becomes uniform."""

    def square(x: np.ndarray) -> np.ndarray:
        return np.where(np.all((x > 0) & (x < 1), axis=1), 0.0, -np.inf)

    rng = np.random.default_rng(3)
    start = 0.5 + 0.1 * rng.random((2000, 2))
    path = walk(square, start, square(start), 60, rng)
    assert path.min() > 0
    assert path.max() < 1
    assert path[-1].mean(axis=0) == pytest.approx([0.5, 0.5], abs=0.04)
    assert path[-1].var(axis=0) == pytest.approx([1 / 12, 1 / 12], rel=0.12)
