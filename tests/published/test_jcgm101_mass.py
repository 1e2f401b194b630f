"""JCGM 101:2008, 9.3: mass calibration: the product of two wide inputs that first order does not see.

Source, place and how it was read:
δm = (m_R + δm_R) [1 + (ρ_a − 1.2)(1/ρ_W − 1/ρ_R)] − 100 000 mg, with m_R normal (100 000.000, 0.050),
δm_R normal (1.234, 0.020), ρ_a rectangular 1.10 to 1.30, ρ_W 7 000 to 9 000, ρ_R 7 950 to 8 050 kg/m³.
Results: Monte Carlo 1.234 mg, u 0.0754, shortest 95 % [1.083, 1.383]; first order 0.0539.
How read: inputs and results from memory, status unverified; therefore the standard uncertainty is
checked against its own closed form as well, computed here from the moments of the inputs.
Tolerance: half the last digit plus four standard errors of 4 × 10⁵ trials.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.random import Generator

from aerode.stats.monte_carlo import propagate_distributions
from aerode.stats.propagation import propagate


def deviation(x: np.ndarray) -> np.ndarray:
    """δm in milligrams for rows of inputs."""
    m, dm, air, weight, reference = x.T
    return (m + dm) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000.0


def draw(count: int, rng: Generator) -> np.ndarray:
    """Table 5."""
    return np.column_stack(
        [
            rng.normal(100_000.0, 0.050, count),
            rng.normal(1.234, 0.020, count),
            rng.uniform(1.10, 1.30, count),
            rng.uniform(7000, 9000, count),
            rng.uniform(7950, 8050, count),
        ]
    )


def closed_form() -> float:
    """√(0.05² + 0.02² + m² Var(ρ_a) E[(1/ρ_W − 1/ρ_R)²]): the inputs are independent, E ρ_a = 1.2."""

    def moments(low: float, high: float) -> tuple[float, float]:
        return math.log(high / low) / (high - low), 1 / (low * high)

    w1, w2 = moments(7000, 9000)
    r1, r2 = moments(7950, 8050)
    square = w2 - 2 * w1 * r1 + r2
    return math.sqrt(0.05**2 + 0.02**2 + 100_001.234**2 * (0.2**2 / 12) * square)


def test_by_drawing() -> None:
    """1.234 mg with 0.0754 mg, shortest interval [1.083, 1.383] mg."""
    found = propagate_distributions(deviation, draw, np.random.default_rng(5), trials=400_000)
    assert found.mean == pytest.approx(1.2340, abs=6e-4)
    assert found.standard_uncertainty == pytest.approx(0.0754, abs=4e-4)
    assert found.standard_uncertainty == pytest.approx(closed_form(), abs=4e-4)
    assert found.shortest == pytest.approx((1.083, 1.383), abs=0.004)


def test_first_order_misses_the_buoyancy() -> None:
    """The law of propagation gives 0.0539 mg: why products of wide inputs are drawn."""
    found = propagate(
        lambda x: float(deviation(x[None, :])[0]),
        [100_000.0, 1.234, 1.20, 8000.0, 8000.0],
        np.diag(
            np.square([0.050, 0.020, 0.1 / math.sqrt(3), 1000 / math.sqrt(3), 50 / math.sqrt(3)])
        ),
    )
    assert found.values[0] == pytest.approx(1.234, abs=1e-6)
    assert found.standard_uncertainties[0] == pytest.approx(0.0539, abs=5e-5)
