"""Readings that cannot be are named, with the slip that would explain them."""

from __future__ import annotations

import pytest

from aerode.measure.impossible import (
    contradictions,
    current_and_load_disagree,
    impossible_current,
    impossible_voltage,
)


@pytest.mark.parametrize(
    ("voltage", "word"),
    [
        (-0.4, "leads swapped"),
        (0.0, "short"),
        (742.0, "742 mV"),
        (5000.0, "column"),
        (2.71, "2.7 V"),
    ],
)
def test_voltages_that_cannot_be(voltage: float, word: str) -> None:
    """Negative, zero, millivolts typed as volts, nonsense, just above the limit."""
    assert word in impossible_voltage(voltage)


@pytest.mark.parametrize("voltage", [0.0005, 0.742, 2.69])
def test_voltages_that_can_be(voltage: float) -> None:
    """Small, usual, and just below the limit."""
    assert impossible_voltage(voltage) == ""


def test_an_overload_is_no_reading() -> None:
    """2 V on a range of 2 V."""
    assert "overload" in impossible_voltage(2.0, full_scale=2.0)


def test_amperes_for_milliamperes() -> None:
    """Seen by the socket, by the area, or by plain size."""
    assert "A for mA" in impossible_current(69.4)
    assert "A for mA" in impossible_current(26.0, full_scale=0.2)
    assert "A for mA" in impossible_current(26.0, area=9e-4)
    assert impossible_current(0.0694, full_scale=0.2, area=9e-4) == ""
    assert "overload" in impossible_current(0.21, full_scale=0.2)
    assert "fuse" in impossible_current(0.0)


@pytest.mark.parametrize(
    ("current", "word"),
    [(0.0267, ""), (26.7, "A for mA"), (2.67e-5, "kohm"), (0.040, "another resistor")],
)
def test_current_against_voltage_over_load(current: float, word: str) -> None:
    """0.400 V over 15 ohm are 26.7 mA."""
    said = current_and_load_disagree(0.400, current, 15.0, 0.01)
    assert (said == "") if not word else (word in said)


def test_a_wide_tolerance_is_let_pass() -> None:
    """12 % apart with 5 % uncertainty is no contradiction."""
    assert current_and_load_disagree(0.400, 0.0300, 15.0, 0.05) == ""


def test_one_point_off_the_falling_curve_is_found() -> None:
    """A kohm read as ohm: its current is a thousand times too large."""
    volts = [0.72, 0.66, 0.61, 0.55, 0.47]
    amperes = [0.00072, 1.4, 0.0028, 0.0055, 0.010]
    found = contradictions(volts, amperes)
    assert list(found) == [1]
    assert "1000 times too much" in found[1]


def test_a_current_far_too_small_is_found() -> None:
    """Microamperes among milliamperes."""
    found = contradictions([0.7, 0.6, 0.5, 0.4, 0.3], [0.001, 0.004, 0.01, 2e-5, 0.03])
    assert list(found) == [3]
    assert "too little" in found[3]


def test_a_falling_curve_with_scatter_is_left_alone() -> None:
    """Hysteresis of some millivolts is no slip; nor are two points that disagree with each other."""
    assert contradictions([0.600, 0.604, 0.500], [0.005, 0.0055, 0.010]) == {}
    assert contradictions([0.60, 0.50], [0.02, 0.01]) == {}
    assert contradictions([], []) == {}
