"""Clamp forces against worked examples of statics and of the bolting trade.

Sources: R. C. Hibbeler, Statics, 14th ed., problem 8-76 (solution on prepscholar.com, read): couple of
35 N on 250 mm, mean radius 6 mm, lead 8 mm, friction 0.27: 2851.06 N. It rounds both angles to
0.01 degree, so 0.05 %. aionlinecalculator.com, bolt torque: M12 at 82 N m: about 34 kN at K = 0.2,
toward 45 kN at 0.15, about 23 kN at 0.3; two printed digits, so 1.5 %. Shigley, Mechanical
Engineering Design, example 8-1: square thread 32 mm, pitch 4 mm, double, f = f_c = 0.08, collar 40 mm,
6.4 kN: 26.18 N m (from memory, unverified; the formula gives it to the last digit).
"""

from __future__ import annotations

import math

import pytest

from aerode.physics.pressing import (  # fmt: skip
    clamp_force,
    gauge_force,
    mean_pressure,
    screw_force,
    weight_force,
)


def test_vice_of_the_statics_text() -> None:
    """2851.06 N."""
    found = screw_force(35.0 * 0.250, mean_diameter=0.012, lead=0.008, friction=0.27)

    assert found == pytest.approx(2851.06, rel=5e-4)


@pytest.mark.parametrize(("nut_factor", "kilonewton"), [(0.2, 34.0), (0.15, 45.0), (0.3, 23.0)])
def test_bolt_of_the_trade(nut_factor: float, kilonewton: float) -> None:
    """One torque, three frictions: from 23 to 45 kN, a factor of two."""
    assert clamp_force(82.0, nut_factor, 0.012) / 1e3 == pytest.approx(kilonewton, rel=0.015)


def test_jack_of_the_machine_design_text() -> None:
    """26.18 N m lift 6.4 kN, collar included."""
    found = screw_force(
        26.18, mean_diameter=0.030, lead=0.008, friction=0.08,
        collar_diameter=0.040, collar_friction=0.08,
    )  # fmt: skip

    assert found == pytest.approx(6400.0, rel=5e-4)


def test_metric_thread_gives_a_nut_factor_near_the_trades() -> None:
    """Friction 0.15 in an M12 thread and under its head is a nut factor of 0.2 within a tenth.

    Thread M12 x 1.75: mean diameter 10.86 mm, flanks of 30 degrees, head 1.25 to 1.4 times the thread
    (every text on machine elements); tolerance is that spread.
    """
    force = screw_force(
        82.0, mean_diameter=0.01086, lead=0.00175, friction=0.15, half_angle=math.radians(30.0),
        collar_diameter=0.0155, collar_friction=0.15,
    )  # fmt: skip

    assert 82.0 / (force * 0.012) == pytest.approx(0.2, rel=0.1)


def test_weights_and_dials_are_plain() -> None:
    """20 kg are 196 N; 600 psi on 5 cm2 are 2.07 kN; two of them on 36 cm2 are 1.15 MPa."""
    ram = gauge_force(600 * 6894.757, 5e-4)

    assert weight_force(20.0) == pytest.approx(196.133)
    assert ram == pytest.approx(2068.4, rel=1e-4)
    assert mean_pressure(ram, 36e-4, 2) == pytest.approx(1.149e6, rel=1e-3)
