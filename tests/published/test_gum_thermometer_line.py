"""GUM, JCGM 100:2008, annex H.3: calibration of a thermometer by a straight line.

Source, place and how it was read:
The case for calibrating a meter or a sensor against a better one. Data: table H.6; results: H.3.3:
y1 = −0.1712 (0.0029), y2 = 0.00218 (0.00067), r = −0.930, s = 0.0035, b(30 °C) = −0.1494 (0.0041).
How read: data and all results on a public documentation page of an uncertainty library.
Tolerance: half a unit of the last printed digit.
"""

from __future__ import annotations

import pytest

from aerode.stats.straight_line import fit_straight_line

READINGS = [
    21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
]  # fmt: skip
CORRECTIONS = [
    -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
]  # fmt: skip


def test_intercept_slope_and_correlation() -> None:
    """The line about 20 °C."""
    line = fit_straight_line(READINGS, CORRECTIONS, reference=20.0)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    u_intercept, u_slope = line.standard_uncertainties
    assert u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert u_slope == pytest.approx(0.00067, abs=5e-6)
    assert line.correlation == pytest.approx(-0.930, abs=5e-4)
    assert line.residual_standard_deviation == pytest.approx(0.0035, abs=5e-5)
    assert line.degrees_of_freedom == 9


def test_correction_at_30_degrees() -> None:
    """Outside the calibrated range the covariance matters: 0.0041, not the 0.0073 without it."""
    line = fit_straight_line(READINGS, CORRECTIONS, reference=20.0)
    value, uncertainty = line.at(30.0)
    assert value == pytest.approx(-0.1494, abs=5e-5)
    assert uncertainty == pytest.approx(0.0041, abs=5e-5)


def test_reference_point_does_not_matter() -> None:
    """The line and its uncertainty at 30 °C are the same whatever the reference."""
    at_zero = fit_straight_line(READINGS, CORRECTIONS).at(30.0)
    at_mean = fit_straight_line(READINGS, CORRECTIONS, reference=24.0085).at(30.0)
    assert at_zero == pytest.approx(at_mean, rel=1e-9)
