"""The law of propagation: derivatives, covariances, type B shapes, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from aerode.errors import RangeError
from aerode.stats.propagation import (
    correlation_matrix,
    covariance_matrix,
    effective_degrees_of_freedom,
    expanded_uncertainty,
    half_width_uncertainty,
    propagate,
    repeated_observations,
    sensitivities,
)


def test_sensitivities_of_known_functions() -> None:
    """Products, logarithms and exponentials: derivatives to eight digits."""
    x = np.array([2.0, 0.5])
    found = sensitivities(lambda v: [v[0] * v[1], math.log(v[0]), math.exp(v[1])], x, 0.01 * x)
    expected = [[0.5, 2.0], [0.5, 0.0], [0.0, math.exp(0.5)]]
    assert found == pytest.approx(np.array(expected), abs=5e-9)


def test_a_linear_model_is_exact() -> None:
    """U(y) = A U A' for y = A x."""
    rng = np.random.default_rng(1)
    a, root = rng.standard_normal((2, 3)), rng.standard_normal((3, 3))
    u = root @ root.T
    found = propagate(lambda v: a @ v, [1.0, 2.0, 3.0], u)
    assert found.covariance == pytest.approx(a @ u @ a.T, rel=1e-9)
    assert found.sensitivities == pytest.approx(a, rel=1e-9)


def test_a_shared_gain_cancels_in_a_ratio() -> None:
    """One gain for both readings is one input: it leaves nothing in the ratio."""
    found = propagate(
        lambda v: (v[0] * v[2]) / (v[1] * v[2]), [0.7, 0.35, 1.0], np.diag([0.0, 0.0, 0.03**2])
    )
    assert found.standard_uncertainties[0] == pytest.approx(0.0, abs=1e-12)
    same = covariance_matrix([0.01, 0.01], [[1.0, 1.0], [1.0, 1.0]])
    assert propagate(lambda v: v[0] - v[1], [1.0, 1.0], same).covariance[0, 0] == pytest.approx(0)


def test_inputs_without_uncertainty_still_have_a_derivative() -> None:
    """A constant contributes nothing but its sensitivity is reported."""
    found = propagate(lambda v: v[0] * v[1], [3.0, 0.0], np.diag([0.01, 0.0]))
    assert found.sensitivities[0] == pytest.approx([0.0, 3.0], abs=1e-6)
    assert found.contributions[0, 1] == 0.0


@pytest.mark.parametrize(
    ("shape", "law"),
    [
        ("rectangular", stats.uniform(-1, 2)),
        ("triangular", stats.triang(0.5, -1, 2)),
        ("arcsine", stats.arcsine(-1, 2)),
        ("normal 95 %", stats.norm(0, 1 / stats.norm.ppf(0.975))),
        ("normal 99.73 %", stats.norm(0, 1 / 3)),
    ],
)
def test_half_widths_have_the_standard_deviation_of_their_law(shape: str, law: object) -> None:
    """Each shape against the law itself."""
    assert half_width_uncertainty(1.0, shape) == pytest.approx(law.std(), rel=1e-9)  # type: ignore[attr-defined]


def test_means_have_the_covariance_numpy_gives() -> None:
    """Covariance of means = sample covariance / n."""
    x = np.random.default_rng(2).standard_normal((7, 3))
    means, covariance = repeated_observations(x)
    assert means == pytest.approx(x.mean(axis=0))
    assert covariance == pytest.approx(np.cov(x.T) / 7)


def test_correlations_round_trip() -> None:
    """From correlations to covariance and back; nothing correlates with a constant."""
    r = np.array([[1.0, -0.4], [-0.4, 1.0]])
    assert correlation_matrix(covariance_matrix([0.2, 3.0], r)) == pytest.approx(r)
    assert correlation_matrix([[1.0, 0.0], [0.0, 0.0]]).tolist() == [[1.0, 0.0], [0.0, 1.0]]


def test_degrees_of_freedom_at_the_ends() -> None:
    """All known: infinite; one estimated part alone: its own; whole degrees in the expansion."""
    assert math.isinf(effective_degrees_of_freedom([1.0, 2.0], [math.inf, math.inf]))
    assert effective_degrees_of_freedom([1.0, 0.0], [7.0, 3.0]) == pytest.approx(7.0)
    assert expanded_uncertainty(1.0, 4.9) == expanded_uncertainty(1.0, 4.0)
    assert expanded_uncertainty(2.0) == pytest.approx(3.9199, abs=1e-4)


def test_bad_input_is_refused() -> None:
    """Shapes, steps, shapes of laws, impossible correlations, models without a value."""
    with pytest.raises(RangeError, match="belong together"):
        propagate(lambda v: v[0], [1.0, 2.0], np.eye(3))
    with pytest.raises(RangeError, match="finite"):
        propagate(lambda v: math.nan * v[0], [1.0], [[1.0]])
    with pytest.raises(RangeError, match="sensitivities"):
        propagate(lambda v: v[0], [1.0], [[1.0]], derivatives=lambda v: [1.0, 2.0])
    with pytest.raises(RangeError, match="step"):
        sensitivities(lambda v: v[0], [1.0], [0.0])
    with pytest.raises(RangeError, match="shape"):
        half_width_uncertainty(1.0, "round")
    with pytest.raises(RangeError, match="half-width"):
        half_width_uncertainty(-1.0)
    with pytest.raises(RangeError, match="correlations"):
        covariance_matrix([1.0, 1.0, 1.0], -0.9 * np.ones((3, 3)) + 1.9 * np.eye(3))
    with pytest.raises(RangeError, match="negative"):
        covariance_matrix([-1.0])
    with pytest.raises(RangeError, match="observations"):
        repeated_observations([[1.0, 2.0]])
    with pytest.raises(RangeError, match="degrees"):
        effective_degrees_of_freedom([1.0], [0.0])
