"""JCGM 101:2008, 9.4: comparison loss X1² + X2², near and away from zero.

Source, place and how it was read:
u(x1) = u(x2) = 0.005, independent, x2 = 0. Results (×10⁻⁶): x1 = 0: y 50, u 50, shortest 95 %
[0, 150]; x1 = 0.010: 150, 112, [0, 367]; x1 = 0.050: 2 551, 503, [1 590, 3 543].
How read: from the project's notes (50/50/[0, 150], 150/112/[0, 366], 2550/503/[1590, 3548], there
recomputed) and from memory for the printed third digits, status unverified. So each is also checked
against the exact law: Y/u² is noncentral chi-square with two degrees of freedom, and the shortest
interval is found on its quantile function by a search that shares nothing with the program.
Tolerance: four standard errors of 4 × 10⁵ trials; an end of a shortest interval wanders most (±1 %).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.random import Generator
from scipy import stats
from scipy.optimize import minimize_scalar

from aerode.stats.monte_carlo import propagate_distributions
from aerode.stats.propagation import propagate

U = 0.005
PRINTED = {
    0.000: (50.0, 50.0, 0.0, 150.0),
    0.010: (150.0, 112.0, 0.0, 367.0),
    0.050: (2551.0, 503.0, 1590.0, 3543.0),
}


def loss(x: np.ndarray) -> np.ndarray:
    """X1² + X2²."""
    return np.square(x).sum(axis=1)


@pytest.mark.parametrize("x1", sorted(PRINTED))
def test_by_drawing(x1: float) -> None:
    """Mean, uncertainty and shortest interval, against the printed and the exact ones."""

    def draw(count: int, rng: Generator) -> np.ndarray:
        return rng.normal((x1, 0.0), U, (count, 2))

    found = propagate_distributions(loss, draw, np.random.default_rng(6), trials=400_000)
    mean, u, low, high = (1e-6 * v for v in PRINTED[x1])
    assert found.mean == pytest.approx(mean, rel=0.008)
    assert found.standard_uncertainty == pytest.approx(u, rel=0.012)
    assert found.shortest[0] == pytest.approx(low, abs=0.05 * u)
    assert found.shortest[1] == pytest.approx(high, abs=0.05 * u)
    exact_low, exact_high = exact_shortest(x1)
    assert found.shortest[1] - found.shortest[0] == pytest.approx(exact_high - exact_low, rel=0.012)


def exact_shortest(x1: float) -> tuple[float, float]:
    """The shortest 95 % interval of u² × noncentral χ²(2, (x1/u)²)."""
    shift = (x1 / U) ** 2
    law = stats.ncx2(2, shift) if shift > 0 else stats.chi2(2)
    found = minimize_scalar(
        lambda p: law.ppf(p + 0.95) - law.ppf(p), bounds=(0.0, 0.0499), method="bounded"
    )
    p = float(found.x) if found.x > 1e-4 else 0.0
    return U**2 * float(law.ppf(p)), U**2 * float(law.ppf(p + 0.95))


def test_first_order_says_nothing_at_zero() -> None:
    """At x1 = x2 = 0 both sensitivities vanish: the law of propagation gives u = 0 (9.4.2.2)."""
    found = propagate(lambda x: float(x @ x), [0.0, 0.0], U**2 * np.eye(2))
    assert found.standard_uncertainties[0] == pytest.approx(0.0, abs=1e-12)
    away = propagate(lambda x: float(x @ x), [0.050, 0.0], U**2 * np.eye(2))
    assert away.standard_uncertainties[0] == pytest.approx(500e-6, rel=1e-9)
    assert math.isclose(float(away.values[0]), 2500e-6, rel_tol=1e-12)
