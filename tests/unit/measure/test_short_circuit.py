"""The current of a short from load steps, against Ohm's law on a straight source and one that bends."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.measure.short_circuit import shorted


def test_a_straight_source_gives_its_open_circuit_over_its_resistance() -> None:
    """1.2 V behind 0.1 ohm: 12 A into a short, both ends (Ohm's law)."""
    current = np.array([0.5, 2.0, 4.0])
    found = shorted(1.2 - 0.1 * current, current, 1.2)
    assert found == pytest.approx((12.0, 12.0))


def test_a_source_that_drops_at_first_and_is_straight_later_lies_between_its_ends() -> None:
    """A line of 0.9 V behind 0.1 ohm under 1.2 V at rest: 9 A steady lies between the chord and 12 A at the first moment."""
    current = np.array([4.0, 0.5, 2.0])
    low, high = shorted(0.9 - 0.1 * current, current, 1.2) or (0.0, 0.0)
    assert low == pytest.approx(4.0 * 1.2 / 0.7)
    assert high == pytest.approx(12.0)
    assert low < 9.0 < high


def test_too_little_read_gives_nothing() -> None:
    """One load, two that are the same, or a voltage above that at rest."""
    assert shorted(np.array([0.5]), np.array([1.0]), 1.2) is None
    assert shorted(np.array([0.5, 0.5]), np.array([1.0, 1.0]), 1.2) is None
    assert shorted(np.array([1.3, 1.25]), np.array([0.1, 0.2]), 1.2) is None
