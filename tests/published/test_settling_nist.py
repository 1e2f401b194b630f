"""The end of an exponential approach against NIST StRD's certified saturation curves.

Source: NIST Statistical Reference Datasets, nonlinear regression, Misra1a (lower difficulty) and
BoxBOD (higher difficulty); the published files stand in `data/` and are read byte for byte. Both
have the curve b1 (1 - exp(-b2 x)), that of a voltage on its way to its final value b1.

The certified figures are those of least squares, with a linearised standard deviation; ours is the
mean over every rate that the data allow, so they must agree only as far as the problem is linear:

- Misra1a (14 points, 1 % precise): value within 0.1 certified standard deviations; standard
  uncertainty √(12/10) times the certified one, because it is that of a t distribution with 12
  degrees of freedom; ±3 % for the bend.
- BoxBOD (6 points): the data hardly end the curve. The certified value must lie inside, and the
  uncertainty must not be smaller than the certified one times √(4/2).
"""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest

from aerode.measure.settling import approach

read = runpy.run_path(str(Path(__file__).parent / "data" / "strd.py"))["read"]


def published(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """x, y, certified values and certified standard deviations."""
    data = read(name)
    y, x = data.table.T
    _, values, deviations = data.parameters()
    return x, y, values, deviations


def test_misra1a_end_and_uncertainty() -> None:
    """A precise data set: least squares and the average over all rates agree."""
    x, y, values, deviations = published("Misra1a")
    end = approach(x, y, offset=False)
    assert end.final == pytest.approx(values[0], abs=0.1 * deviations[0])
    assert end.standard_uncertainty == pytest.approx(np.sqrt(12 / 10) * deviations[0], rel=0.03)
    assert 1.0 / end.time_constant == pytest.approx(values[1], abs=0.1 * deviations[1])


def test_boxbod_is_not_claimed_to_be_known() -> None:
    """Six points that hardly bend: the certified value inside, no narrower than certified."""
    x, y, values, deviations = published("BoxBOD")
    end = approach(x, y, offset=False)
    assert abs(end.final - values[0]) < end.standard_uncertainty
    assert end.standard_uncertainty > np.sqrt(4 / 2) * deviations[0]
