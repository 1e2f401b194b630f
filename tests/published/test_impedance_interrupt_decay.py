"""How much activation is gone before the first reading of a current interrupt.

Inputs: Tafel slope 50 mV per e-fold at 10 mA/cm2; a porous air electrode of 0.1 F/cm2, a flat sheet of
40 uF/cm2.
Expected: tau 0.5 s and 0.1, 1.0, 9.1 mV at 1, 10, 100 ms; tau 0.2 ms and 90 mV at 1 ms, 311 mV at 0.1 s.
Tolerance: half a unit of the last printed digit; the closed form against a plain Euler integration of
C dE/dt = -i exp((E - E0)/b) to 1e-3 with steps of tau/2000.
Source: a Tafel reaction discharging its own double layer (open-circuit decay, any text on electrode
kinetics; status: unverified, from memory); values worked out by hand from the closed form.
"""

from __future__ import annotations

import math

import pytest

from aerode.measure.interrupt import activation_gone

POROUS, SHEET = 1e3, 0.4  # F/m2


@pytest.mark.parametrize(
    ("capacitance", "time", "millivolts", "digit"),
    [
        (POROUS, 1e-3, 0.1, 0.051),
        (POROUS, 1e-2, 1.0, 0.051),
        (POROUS, 1e-1, 9.1, 0.051),
        (SHEET, 1e-3, 90.0, 0.51),
        (SHEET, 0.1, 311.0, 0.51),
    ],
)
def test_printed(capacitance: float, time: float, millivolts: float, digit: float) -> None:
    """The printed losses come out."""
    gone = float(
        activation_gone(time, tafel_slope=0.05, capacitance=capacitance, current_density=100.0)
    )
    assert 1e3 * gone == pytest.approx(millivolts, abs=digit)


def test_against_plain_integration() -> None:
    """The closed form is the solution of the discharge of a double layer."""
    tau = 0.05 * SHEET / 100.0
    step, lost = tau / 2000.0, 0.0
    for _ in range(10_000):
        lost += step * 100.0 * math.exp(-lost / 0.05) / SHEET
    closed = float(
        activation_gone(5.0 * tau, tafel_slope=0.05, capacitance=SHEET, current_density=100.0)
    )
    assert lost == pytest.approx(closed, rel=1e-3)
