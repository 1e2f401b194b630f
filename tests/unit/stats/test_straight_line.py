"""The straight line: against a general library, its inverse use and its refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from aerode.errors import CannotTellError, RangeError
from aerode.stats.straight_line import fit_straight_line


def test_agrees_with_a_general_library() -> None:
    """Slope, intercept, their deviations and R² of scipy's linregress."""
    rng = np.random.default_rng(1)
    x = rng.uniform(0, 10, 12)
    y = 3 - 0.7 * x + rng.normal(0, 0.2, 12)
    line, other = fit_straight_line(x, y), stats.linregress(x, y)
    assert line.slope == pytest.approx(other.slope)
    assert line.intercept == pytest.approx(other.intercept)
    assert line.standard_uncertainties == pytest.approx((other.intercept_stderr, other.stderr))
    assert line.squared_correlation == pytest.approx(other.rvalue**2)


def test_uncertainty_of_the_line_is_smallest_in_the_middle() -> None:
    """At the mean of x it is s/√n, and grows to both sides."""
    x = np.array([1.0, 2.0, 4.0, 9.0])
    line = fit_straight_line(x, [1.1, 2.0, 3.7, 9.3])
    middle = line.at(4.0)[1]
    assert middle == pytest.approx(line.residual_standard_deviation / 2)
    assert line.at(0.0)[1] > middle < line.at(9.0)[1]


def test_solving_undoes_reading() -> None:
    """x → y → x, with the reading's own uncertainty added in squares."""
    line = fit_straight_line([0.0, 1.0, 2.0, 3.0], [0.02, 0.98, 2.01, 3.0], reference=1.0)
    value, uncertainty = line.at(1.7)
    x, u = line.solve(value)
    assert x == pytest.approx(1.7)
    assert u == pytest.approx(uncertainty / line.slope)
    assert line.solve(value, 0.05)[1] == pytest.approx(np.hypot(uncertainty, 0.05) / line.slope)


def test_inverse_use_covers() -> None:
    """Over 2,000 calibrations of 8 points the x found for a new reading is within 2u in 92 to 97 %."""
    rng = np.random.default_rng(2)
    x, hits = np.linspace(0, 1, 8), 0
    for _ in range(2000):
        line = fit_straight_line(x, 2 * x + rng.normal(0, 0.05, 8))
        found, u = line.solve(1.2 + rng.normal(0, 0.05), 0.05)
        hits += abs(found - 0.6) < 2 * u
    assert 0.92 < hits / 2000 < 0.97


def test_a_level_line_tells_no_x() -> None:
    """A slope that may be zero is refused in inverse use."""
    line = fit_straight_line([0.0, 1.0, 2.0, 3.0], [1.0, 1.3, 0.8, 1.1])
    with pytest.raises(CannotTellError, match="level"):
        line.solve(1.0)


def test_a_perfect_line_has_no_scatter() -> None:
    """Exact points: zero uncertainty, R² = 1, correlation defined."""
    line = fit_straight_line([0.0, 1.0, 2.0], [1.0, 1.0, 1.0])
    assert line.standard_uncertainties == (0.0, 0.0)
    assert line.squared_correlation == 1.0
    assert line.correlation == 0.0


def test_bad_points_are_refused() -> None:
    """Two points, one x, NaN."""
    with pytest.raises(CannotTellError, match="too few"):
        fit_straight_line([0.0, 1.0], [0.0, 1.0])
    with pytest.raises(CannotTellError):
        fit_straight_line([1.0, 1.0, 1.0], [0.0, 1.0, 2.0])
    with pytest.raises(RangeError, match="shapes"):
        fit_straight_line([0.0, 1.0, np.nan], [0.0, 1.0, 2.0])
