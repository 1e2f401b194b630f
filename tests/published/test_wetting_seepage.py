"""Darcy flow by constant and by falling head, and Washburn against its differential equation.

Sources: Darcy's law and the falling-head formula as in every text on soils; the numbers are worked
by hand: K = 1e-14 m2, 0.5 mm, 8.9e-4 Pa s, 997 kg/m3, 9.81 m/s2, 20 cm of water: 4.396e-5 m/s, which is
63.3 mL/h on 4 cm2; tube 1 cm2 over 4 cm2: the level halves in 788 s. E. W. Washburn (1921), Phys. Rev.
17:273: dl/dt = P r^2/(8 mu l) with P = 2 sigma cos(theta)/r (abstract read; slip left out).
Tolerances: printed digits, and 0.04 % between 9.81 and the standard acceleration of gravity.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp

from aerode.physics.seepage import (
    darcy_velocity,
    falling_head_time,
    wicking_distance,
    wicking_time,
)


def test_constant_head() -> None:
    """4.396e-5 m/s and 63.3 mL/h."""
    flow = darcy_velocity(1e-14, 8.9e-4, 997.0 * 9.81 * 0.2, 5e-4)

    assert flow == pytest.approx(4.396e-5, rel=1e-4)
    assert flow * 4e-4 * 3600.0 * 1e6 == pytest.approx(63.3, abs=0.05)


def test_falling_head() -> None:
    """788 s to half."""
    found = falling_head_time(
        1e-14, 8.9e-4, 5e-4, density=997.0, tube_area=1e-4, layer_area=4e-4, head_ratio=2.0
    )

    assert found == pytest.approx(788.0, rel=1e-3)


def test_falling_head_is_constant_head_integrated() -> None:
    """The level falls as Darcy says at every moment."""

    def fall(_: float, head: list[float]) -> list[float]:
        return [-4.0 * darcy_velocity(1e-14, 8.9e-4, 997.0 * 9.80665 * head[0], 5e-4)]

    seconds = falling_head_time(
        1e-14, 8.9e-4, 5e-4, density=997.0, tube_area=1e-4, layer_area=4e-4, head_ratio=3.0
    )
    done = solve_ivp(fall, (0.0, seconds), [0.3], rtol=1e-9, atol=1e-12)

    assert done.y[0, -1] == pytest.approx(0.1, rel=1e-6)


def test_washburn_is_the_solution_of_his_equation() -> None:
    """Integrated from a start already wet, the numbers agree to 1e-6."""
    sigma, angle, radius, mu = 0.072, math.radians(40.0), 2e-6, 8.9e-4
    pull = 2.0 * sigma * math.cos(angle) / radius
    start = wicking_time(1e-3, sigma, angle, radius, mu)

    def creep(_: float, length: list[float]) -> list[float]:
        return [pull * radius**2 / (8.0 * mu * length[0])]

    done = solve_ivp(creep, (start, 60.0), [1e-3], rtol=1e-9, atol=1e-12)

    assert wicking_distance(60.0, sigma, angle, radius, mu) == pytest.approx(
        done.y[0, -1], rel=1e-6
    )
