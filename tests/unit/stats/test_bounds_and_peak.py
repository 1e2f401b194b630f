"""The box map and the climb to the summit."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.stats.bounds import Box
from aerode.stats.peak import climb

BOX = Box.of(4, [0.0, 1.0, -np.inf, -np.inf], [2.0, np.inf, 3.0, np.inf])


def test_stretch_is_the_logarithm_of_the_derivatives() -> None:
    """Against central differences of the map itself."""
    u = np.random.default_rng(1).normal(0, 2, (20, 4))
    h = 1e-6
    logs = sum(
        np.log((BOX.inside(u + h * e)[:, k] - BOX.inside(u - h * e)[:, k]) / (2 * h))
        for k, e in enumerate(np.eye(4))
    )
    assert BOX.log_stretch(u) == pytest.approx(logs, abs=1e-5)


def test_far_coordinates_stay_finite() -> None:
    """A wild coordinate neither overflows nor leaves the box."""
    x = BOX.inside(np.array([[1e4] * 4, [-1e4] * 4]))
    assert np.isfinite(x).all()
    assert ((x >= BOX.lower) & (x <= BOX.upper)).all()


def test_limits_upside_down_are_refused() -> None:
    """Lower above upper."""
    with pytest.raises(RangeError, match="limit"):
        Box.of(1, 2.0, 1.0)


@pytest.mark.parametrize("scale", [1e-3, 0.1, 30.0])
def test_climb_finds_mode_and_covariance_of_a_normal(scale: float) -> None:
    """Exact for a quadratic, whatever the guessed step."""
    covariance = np.array([[4.0, 1.8], [1.8, 1.0]])
    precision = np.linalg.inv(covariance)

    def log_density(x: np.ndarray) -> np.ndarray:
        z = x - np.array([7.0, -3.0])
        return -0.5 * np.einsum("ni,ij,nj->n", z, precision, z)

    summit, found = climb(log_density, np.zeros(2), np.full(2, scale), np.random.default_rng(2))
    assert summit == pytest.approx([7.0, -3.0], abs=0.05)
    assert found == pytest.approx(covariance, rel=1e-3)


def test_climb_steps_back_from_an_edge() -> None:
    """Half the space is impossible; the mode lies close to the edge."""

    def log_density(x: np.ndarray) -> np.ndarray:
        inside = x[:, 0] > 0
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(inside, 3 * np.log(np.abs(x[:, 0])) - 30 * x[:, 0], -np.inf)

    summit, _ = climb(log_density, np.array([2.0]), np.array([0.5]), np.random.default_rng(3))
    assert summit[0] == pytest.approx(0.1, abs=0.02)


def test_climb_without_a_possible_place_is_refused() -> None:
    """Minus infinity all over."""
    with pytest.raises(CannotTellError, match="no place"):
        climb(lambda x: np.full(len(x), -np.inf), np.zeros(1), np.ones(1), np.random.default_rng(4))
