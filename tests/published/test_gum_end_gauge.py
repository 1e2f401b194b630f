"""GUM, JCGM 100:2008, annex H.1: calibration of an end gauge.

Source, place and how it was read:
Inputs and results: H.1.3, table H.1, H.1.4 to H.1.6 (uc = 32 nm; ν_eff = 16; U99 = 93 nm). The
contributions are printed as 25, 9.7, 0, 0, 2.9 and 16.6 or 16.7 nm.
How read: quoted number by number in a public test-reference file of an uncertainty library
(H.1.3 inputs, contributions, uc 31.71 unrounded, ν_eff 16.66, U99 93), not in the guide itself.
Tolerance: half a unit of the last digit given there.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.stats.propagation import (
    effective_degrees_of_freedom,
    expanded_uncertainty,
    propagate,
)

ESTIMATES = [50_000_623.0, 215.0, 11.5e-6, -0.1, 0.0, 0.0]
UNCERTAINTIES = [25.0, 9.7, 1.2e-6, 0.41, 0.58e-6, 0.029]
DEGREES = [18.0, 25.6, math.inf, math.inf, 50.0, 2.0]


def length(x: np.ndarray) -> float:
    """l = l_S + d − l_S (δα θ + α_S δθ), in nanometres (H.3)."""
    standard, difference, expansion, deviation, expansion_gap, temperature_gap = x
    return float(
        standard + difference - standard * (expansion_gap * deviation + expansion * temperature_gap)
    )


def test_length_and_combined_uncertainty() -> None:
    """50 000 838 nm with 31.71 nm, printed as 32 nm."""
    found = propagate(length, ESTIMATES, np.diag(np.square(UNCERTAINTIES)))
    assert found.values[0] == pytest.approx(50_000_838, abs=0.5)
    assert found.standard_uncertainties[0] == pytest.approx(31.71, abs=0.005)


def test_contributions() -> None:
    """25, 9.7, 0, 0, 2.9 and 16.7 nm: two inputs have no first-order effect at all."""
    found = propagate(length, ESTIMATES, np.diag(np.square(UNCERTAINTIES)))
    assert found.contributions[0] == pytest.approx([25, 9.7, 0, 0, 2.9, 16.7], abs=0.05)


def test_degrees_of_freedom_and_expanded_uncertainty() -> None:
    """ν_eff 16.7, cut to 16; t₀.₉₉(16) = 2.92; U99 = 93 nm."""
    found = propagate(length, ESTIMATES, np.diag(np.square(UNCERTAINTIES)))
    df = effective_degrees_of_freedom(found.contributions[0], DEGREES)
    assert df == pytest.approx(16.66, abs=0.05)
    assert math.floor(df) == 16
    u = float(found.standard_uncertainties[0])
    assert expanded_uncertainty(1.0, df, 0.99) == pytest.approx(2.92, abs=0.005)
    assert expanded_uncertainty(u, df, 0.99) == pytest.approx(93, abs=0.5)


def test_equal_contributions_add_their_degrees() -> None:
    """GUM G.4: four equal contributions of 10 degrees each have 40."""
    assert effective_degrees_of_freedom([1.0] * 4, [10.0] * 4) == pytest.approx(40.0)
