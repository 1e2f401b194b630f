"""JCGM 101:2008, 9.2: the sum of four inputs, normal, rectangular, and one ten times wider.

Source, place and how it was read:
9.2.2 (normal, sd 1): u 2.00, 95 % ±3.92. 9.2.3 (rectangular, sd 1): u 2.00, ±3.88, exactly
2√3 (2 − (3/5)^(1/4)) = 3.8794 (annex E; the constant is recomputed here). 9.2.4 (one input with
sd 10): u 10.1, ±17.0.
How read: 9.2.2 and 9.2.3 quoted in a public test-reference file of an uncertainty library; 9.2.4
from the project's notes (recomputed, not seen in print).
Tolerance: half the last digit, plus four standard errors of 10⁶ trials (about 0.02 for an end).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.random import Generator

from aerode.stats.monte_carlo import adaptive_propagation, propagate_distributions

TRIALS = 1_000_000


def total(x: np.ndarray) -> np.ndarray:
    """The additive model."""
    return x.sum(axis=1)


def rectangular(count: int, rng: Generator, widths: np.ndarray) -> np.ndarray:
    """Rectangular inputs with these standard deviations."""
    return rng.uniform(-1, 1, (count, 4)) * math.sqrt(3) * widths


def test_normal_inputs() -> None:
    """9.2.2."""
    found = propagate_distributions(
        total, lambda n, rng: rng.standard_normal((n, 4)), np.random.default_rng(1), trials=TRIALS
    )
    assert found.standard_uncertainty == pytest.approx(2.00, abs=0.01)
    assert found.symmetric == pytest.approx((-3.92, 3.92), abs=0.025)


def test_rectangular_inputs() -> None:
    """9.2.3, against the printed and the exact interval; symmetric and shortest agree."""
    found = propagate_distributions(
        total,
        lambda n, rng: rectangular(n, rng, np.ones(4)),
        np.random.default_rng(2),
        trials=TRIALS,
    )
    exact = 2 * math.sqrt(3) * (2 - 0.6**0.25)
    assert exact == pytest.approx(3.88, abs=0.005)
    assert found.standard_uncertainty == pytest.approx(2.00, abs=0.01)
    assert found.symmetric == pytest.approx((-exact, exact), abs=0.02)
    assert found.shortest[1] - found.shortest[0] == pytest.approx(2 * exact, abs=0.03)
    assert found.trials == TRIALS


def test_one_input_ten_times_wider() -> None:
    """9.2.4: the result is nearly rectangular, ±17.0 where the normal law would give ±19.9."""
    found = propagate_distributions(
        total,
        lambda n, rng: rectangular(n, rng, np.array([1, 1, 1, 10])),
        np.random.default_rng(3),
        trials=TRIALS,
    )
    assert found.standard_uncertainty == pytest.approx(math.sqrt(103), abs=0.03)
    assert found.symmetric == pytest.approx((-17.0, 17.0), abs=0.06)


def test_adaptive_run_reaches_its_digits() -> None:
    """7.9: to one significant digit of u = 2, the tolerance is 0.5."""
    found = adaptive_propagation(
        total,
        lambda n, rng: rng.standard_normal((n, 4)),
        np.random.default_rng(4),
        significant_digits=1,
    )
    assert found.standard_uncertainty == pytest.approx(2.0, abs=0.05)
    assert found.symmetric == pytest.approx((-3.92, 3.92), abs=0.5)
