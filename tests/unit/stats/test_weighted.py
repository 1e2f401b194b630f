"""Weighted samples: quantiles, sizes, tails."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.stats.weighted import (
    effective_sample_size,
    normalised_weights,
    pareto_tail_shape,
    weighted_covariance,
    weighted_mean,
    weighted_quantile,
)


def test_whole_weights_are_repeats() -> None:
    """A weight of three is the same row three times, for means and covariances."""
    x = np.array([[1.0, 2.0], [3.0, -1.0], [0.0, 5.0]])
    w = [1, 3, 2]
    repeated = np.repeat(x, w, axis=0)
    assert weighted_mean(x, w) == pytest.approx(repeated.mean(axis=0))
    assert weighted_covariance(x, w) == pytest.approx(np.cov(repeated.T, bias=True))


def test_quantiles_of_a_large_weighted_sample() -> None:
    """Uniform draws weighted to a triangle: quantiles √p, whatever the order of the rows."""
    x = np.random.default_rng(1).random(200_000)
    levels = np.array([0.05, 0.5, 0.95])
    assert weighted_quantile(x, x, levels) == pytest.approx(np.sqrt(levels), abs=0.005)
    assert weighted_quantile(x[::-1], x[::-1], levels) == pytest.approx(
        weighted_quantile(x, x, levels)
    )


def test_rows_without_weight_do_not_count() -> None:
    """A zero weight far outside moves no quantile."""
    assert float(weighted_quantile([1.0, 2.0, 99.0], [1, 1, 0], 1.0)) == 2.0


def test_mean_weight_survives_huge_logarithms() -> None:
    """exp(−2000) neither under- nor overflows."""
    weights, log_mean = normalised_weights([-2000.0, -2000.0 + math.log(3), -math.inf])
    assert weights == pytest.approx([0.25, 0.75, 0.0])
    assert log_mean == pytest.approx(-2000 + math.log(4 / 3))


def test_sizes() -> None:
    """Equal weights count in full, one dominating weight counts as one."""
    assert effective_sample_size(np.ones(50)) == pytest.approx(50)
    assert effective_sample_size([1.0] + [1e-9] * 99) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("shape", [0.2, 0.5, 0.9])
def test_tail_shape_of_pareto_weights(shape: float) -> None:
    """Mean of 40 estimates from generalised Pareto weights, ±0.1 (pull towards 0.5 included)."""
    rng = np.random.default_rng(2)
    found = [pareto_tail_shape((rng.random(4000) ** -shape - 1) / shape + 1) for _ in range(40)]
    assert float(np.mean(found)) == pytest.approx(shape, abs=0.1)


def test_short_or_flat_tails_have_no_shape() -> None:
    """Fewer than 25 weights, or all the same: minus infinity, never NaN."""
    assert pareto_tail_shape(np.ones(10)) == -math.inf
    assert pareto_tail_shape(np.ones(1000)) == -math.inf


def test_bad_weights_are_refused() -> None:
    """No weight at all, NaN, infinite, a probability above one."""
    for bad in ([-math.inf, -math.inf], [0.0, math.nan], [math.inf], []):
        with pytest.raises(RangeError):
            normalised_weights(bad)
    with pytest.raises(RangeError, match="probability"):
        weighted_quantile([1.0], [1.0], 1.5)
