"""NIST StRD linear regression: Norris, the calibration of an ozone monitor.

Source, place and how it was read:
Certified values are read from the published file in `data/`. Tolerance: 12 digits of the estimates,
10 of the deviations, of the 15 that are certified.
"""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest

from aerode.stats.comparison import generalised_least_squares
from aerode.stats.straight_line import fit_straight_line

read = runpy.run_path(str(Path(__file__).parent / "data" / "strd.py"))["read"]


def test_certified_line() -> None:
    """Intercept, slope, their standard deviations, the residual one and R²."""
    published = read("Norris")
    y, x = published.table.T
    line = fit_straight_line(x, y)
    intercept, slope = published.numbers("B0"), published.numbers("B1")
    assert line.intercept == pytest.approx(intercept[0], rel=1e-12)
    assert line.slope == pytest.approx(slope[0], rel=1e-12)
    assert line.standard_uncertainties == pytest.approx((intercept[1], slope[1]), rel=1e-10)
    assert line.residual_standard_deviation == pytest.approx(
        published.numbers("Standard Deviation")[0], rel=1e-12
    )
    assert line.squared_correlation == pytest.approx(published.numbers("R-Squared")[0], rel=1e-14)
    assert line.degrees_of_freedom == 34


def test_generalised_least_squares_gives_the_same_line() -> None:
    """With the certified residual variance as known covariance: the same numbers, another road."""
    published = read("Norris")
    y, x = published.table.T
    variance = published.numbers("Standard Deviation")[0] ** 2
    fit = generalised_least_squares(
        y, np.column_stack([np.ones(x.size), x]), variance * np.eye(x.size)
    )
    intercept, slope = published.numbers("B0"), published.numbers("B1")
    assert fit.coefficients == pytest.approx([intercept[0], slope[0]], rel=1e-10)
    assert fit.contrast([0, 1]).standard_error == pytest.approx(slope[1], rel=1e-9)
    assert fit.contrast([1, 0]).standard_error == pytest.approx(intercept[1], rel=1e-9)
