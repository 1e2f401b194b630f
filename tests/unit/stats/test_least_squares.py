"""Curve fits: covariance, weights, limits, and above all refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.stats.comparison import generalised_least_squares
from aerode.stats.least_squares import fit_curve

TIMES = np.array([0.0, 60, 120, 240, 480, 900, 1500])


def settling(b: np.ndarray) -> np.ndarray:
    """b0 − b1 exp(−t/b2)."""
    return b[0] - b[1] * np.exp(-TIMES / b[2])


def test_a_linear_curve_is_the_closed_form() -> None:
    """Weighted by a full covariance it is generalised least squares."""
    rng = np.random.default_rng(1)
    x = np.column_stack([np.ones(6), np.arange(6.0), np.arange(6.0) ** 2])
    root = rng.standard_normal((6, 6))
    v = 0.01 * (root @ root.T + np.eye(6))
    y = x @ [1.0, -0.3, 0.05] + rng.multivariate_normal(np.zeros(6), v)
    fit = fit_curve(lambda b: x @ b, y, [1.0, -1.0, 0.1], covariance=v)
    closed = generalised_least_squares(y, x, v)
    assert fit.values == pytest.approx(closed.coefficients, rel=1e-8)
    assert fit.covariance == pytest.approx(closed.covariance, rel=1e-8)


def test_variances_alone_are_a_diagonal_covariance() -> None:
    """(n,) and its diagonal matrix give the same."""
    y = settling(np.array([0.74, 0.13, 540.0])) + 1e-3 * (-1.0) ** np.arange(7)
    variances = np.full(7, 1e-6)
    one = fit_curve(settling, y, [0.7, 0.1, 300.0], covariance=variances)
    two = fit_curve(settling, y, [0.7, 0.1, 300.0], covariance=np.diag(variances))
    assert one.values == pytest.approx(two.values, rel=1e-10)
    assert one.standard_deviations == pytest.approx(two.standard_deviations, rel=1e-10)


def test_extrapolated_voltage_covers() -> None:
    """60 settling curves: the final value's 95 % t interval holds the truth in 85 % at least.

    Wald intervals of a nonlinear fit are approximate; 60 studies have a standard error of 3 %.
    """
    rng = np.random.default_rng(2)
    truth, hits = np.array([0.74, 0.13, 540.0]), 0
    for _ in range(60):
        fit = fit_curve(settling, settling(truth) + rng.normal(0, 5e-4, 7), [0.7, 0.1, 300.0])
        hits += abs(fit.values[0] - 0.74) < 2.776 * fit.standard_deviations[0]
    assert hits / 60 >= 0.85


def test_a_perfect_curve_gives_back_its_parameters() -> None:
    """No noise at all: values to nine digits, residuals nought."""
    fit = fit_curve(settling, settling(np.array([0.74, 0.13, 540.0])), [1.0, 1.0, 1.0])
    assert fit.values == pytest.approx([0.74, 0.13, 540.0], rel=1e-9)
    assert fit.residual_sum < 1e-20
    assert np.abs(fit.residuals).max() < 1e-9
    assert fit.starts_agreeing >= 1


def test_limits_are_kept_and_hitting_one_is_refused() -> None:
    """Inside the limits the answer is the free one; a best value on a limit is no answer."""
    y = settling(np.array([0.74, 0.13, 540.0])) + 5e-4 * (-1.0) ** np.arange(7)
    free = fit_curve(settling, y, [0.7, 0.1, 300.0])
    kept = fit_curve(settling, y, [0.7, 0.1, 300.0], lower=[0, 0, 1], upper=[2, 2, 5000])
    assert kept.values == pytest.approx(free.values, rel=1e-6)
    with pytest.raises(CannotTellError, match="limit"):
        fit_curve(settling, y, [0.7, 0.1, 300.0], lower=[0, 0, 1], upper=[2, 2, 400])


def test_parameters_that_act_alike_are_refused() -> None:
    """Only a product is determined."""
    x = np.arange(1.0, 8.0)
    y = 6 * x + 0.01 * (-1.0) ** np.arange(7)
    with pytest.raises(CannotTellError, match="apart"):
        fit_curve(lambda b: b[0] * b[1] * x, y, [2.0, 3.0])


def test_a_parameter_without_effect_is_refused() -> None:
    """A column of zeros in the tangent."""
    x = np.arange(1.0, 8.0)
    with pytest.raises(CannotTellError, match="apart"):
        fit_curve(lambda b: b[0] * x + 0 * b[1], 2 * x + 0.1 * np.sin(x), [1.0, 1.0])


def test_a_curve_that_runs_away_is_refused() -> None:
    """y falls towards −∞ of the parameter: there is no minimum to converge to."""
    x = np.arange(1.0, 6.0)
    with pytest.raises(CannotTellError):
        fit_curve(lambda b: np.exp(b[0]) * np.ones(5), -np.ones(5) - 0.01 * x, [1.0])


def test_a_curve_that_cannot_be_computed_is_refused() -> None:
    """NaN everywhere: no start ends in a minimum."""
    with pytest.raises(CannotTellError, match="start"):
        fit_curve(lambda b: np.full(5, math.nan), np.ones(5), [1.0])


def test_a_curve_undefined_in_places_is_fitted() -> None:
    """Logarithms of negative numbers on the way are not fatal."""
    x = np.arange(1.0, 9.0)
    y = np.log(2.0 + 0.5 * x) + 1e-3 * np.cos(3 * x)
    fit = fit_curve(lambda b: np.log(b[0] + b[1] * x), y, [1.0, 1.0])
    assert fit.values == pytest.approx([2.0, 0.5], abs=0.02)


def test_bad_input_is_refused() -> None:
    """Too few readings, start outside, NaN, covariance not positive, wrong shape of the curve."""
    with pytest.raises(CannotTellError, match="too few"):
        fit_curve(lambda b: b[:2], [1.0, 2.0], [1.0, 1.0])
    with pytest.raises(RangeError, match="limits"):
        fit_curve(settling, np.ones(7), [1.0, 1.0, 1.0], lower=2.0)
    with pytest.raises(RangeError, match="finite"):
        fit_curve(settling, np.full(7, math.nan), [1.0, 1.0, 1.0])
    with pytest.raises(RangeError, match="positive definite"):
        fit_curve(settling, np.ones(7), [1.0, 1.0, 1.0], covariance=np.ones((7, 7)))
    with pytest.raises(RangeError, match="covariance"):
        fit_curve(settling, np.ones(7), [1.0, 1.0, 1.0], covariance=np.eye(3))
    with pytest.raises(RangeError, match="shape"):
        fit_curve(lambda b: b, np.ones(7), [1.0, 1.0, 1.0])
