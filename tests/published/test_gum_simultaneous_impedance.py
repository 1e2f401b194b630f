"""GUM, JCGM 100:2008, annex H.2: resistance and reactance from simultaneous V, I and phase.

Source, place and how it was read:
The case for every power or resistance computed from a voltage and a current that were read
together. Observations: table H.2. Results: tables H.3 and H.4: R 127.732 (0.071), X 219.847 (0.295),
|Z| 254.260 (0.236) ohm; correlations −0.588, −0.485, 0.993 between R X, R Z, X Z.
How read: observations, values and uncertainties as quoted in a public test-reference file of an
uncertainty library and on a public documentation page of another one (which gives 127.732(70),
219.85(30), 254.26(24) from the rounded inputs, and −0.59, −0.49); the three-digit correlations
from the project's own notes.
Tolerance: one unit of the last printed digit, as the guide rounds on the way (X: 0.295 there,
0.2956 unrounded).
"""

from __future__ import annotations

import numpy as np
import pytest

from aerode.stats.propagation import (
    correlation_matrix,
    covariance_matrix,
    propagate,
    repeated_observations,
)

OBSERVATIONS = np.array(
    [
        [5.007, 19.663e-3, 1.0456],
        [4.994, 19.639e-3, 1.0438],
        [5.005, 19.640e-3, 1.0468],
        [4.990, 19.685e-3, 1.0428],
        [4.999, 19.678e-3, 1.0433],
    ]
)


def impedance(x: np.ndarray) -> list[float]:
    """R, X and |Z| in ohm."""
    voltage, current, phase = x
    ratio = voltage / current
    return [ratio * np.cos(phase), ratio * np.sin(phase), ratio]


def slopes(x: np.ndarray) -> np.ndarray:
    """The analytic sensitivities of R, X and |Z|."""
    voltage, current, phase = x
    c, s, ratio = np.cos(phase), np.sin(phase), voltage / current
    return np.array(
        [
            [c / current, -ratio * c / current, -ratio * s],
            [s / current, -ratio * s / current, ratio * c],
            [1 / current, -ratio / current, 0.0],
        ]
    )


def test_means_and_their_correlations() -> None:
    """Means 4.9990 V, 19.6610 mA, 1.04446 rad; correlations −0.36, 0.86, −0.65."""
    means, covariance = repeated_observations(OBSERVATIONS)
    assert means == pytest.approx([4.9990, 19.6610e-3, 1.04446], rel=1e-9)
    u = np.sqrt(np.diagonal(covariance))
    assert u[0] == pytest.approx(0.0032, abs=5e-5)
    assert u[1] == pytest.approx(0.0095e-3, abs=5e-8)
    assert u[2] == pytest.approx(0.00075, abs=5e-6)
    r = correlation_matrix(covariance)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.355, 0.858, -0.645], abs=6e-4)


@pytest.mark.parametrize("derivatives", [None, slopes])
def test_three_results_and_their_correlations(derivatives: object) -> None:
    """Values, uncertainties and correlations, by differences and by analytic sensitivities."""
    means, covariance = repeated_observations(OBSERVATIONS)
    found = propagate(impedance, means, covariance, derivatives=derivatives)  # type: ignore[arg-type]
    assert found.values == pytest.approx([127.732, 219.847, 254.260], abs=6e-4)
    assert found.standard_uncertainties == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)
    r = found.correlations
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)


def test_both_routes_agree() -> None:
    """H.2.4: computing R, X and |Z| of each set and averaging gives the same (to first order)."""
    means, covariance = repeated_observations([impedance(row) for row in OBSERVATIONS])
    assert means == pytest.approx([127.732, 219.847, 254.260], abs=1.5e-3)
    assert np.sqrt(np.diagonal(covariance)) == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)


def test_leaving_the_correlation_out_would_be_wrong() -> None:
    """With independent inputs u(R) would come out at 0.195 ohm instead of 0.071."""
    means, covariance = repeated_observations(OBSERVATIONS)
    alone = covariance_matrix(np.sqrt(np.diagonal(covariance)))
    found = propagate(impedance, means, alone)
    assert found.standard_uncertainties[0] > 2.5 * 0.071
