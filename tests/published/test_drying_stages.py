"""Drying: the wet bulb against the psychrometer equation, blends and sheets against plain numerics.

Sources: psychrometer equation as printed on engineersedge.com, "Wet bulb temperature equation" (after
Andreas 1995; Bohren & Albrecht 1998): T - T_w = (L/c_p)(r_sat(T_w) - r), r the mixing ratio; it takes
heat and vapour to spread alike. J. Crank (1975), The Mathematics of Diffusion, section 10.4: half of a
sheet is empty when D t/l^2 = 0.049 (from memory; it follows from equation 4.18). Vapour pressure of water
by IAPWS, on file. Tolerances stand at each test.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from aerode.physics.drying import (
    blend_drying_time,
    blend_left,
    late_drying_time,
    settled_mass,
    solvent_left,
    wet_bulb_temperature,
)
from aerode.properties.pure import water_saturation

AIR = {"air_thermal_diffusivity": 2.141e-5, "air_specific_heat": 1007.0}
LATENT, WATER, DRY_AIR, PRESSURE = 44000.0, 0.018015, 0.028964, 101325.0


def _pressure(kelvin: float) -> float:
    return water_saturation(max(kelvin, 240.0)).value


def _psychrometer(air: float, humidity: float) -> float:
    ambient = humidity * _pressure(air)

    def ratio(vapour: float) -> float:
        return WATER / DRY_AIR * vapour / (PRESSURE - vapour)

    def missing(kelvin: float) -> float:
        return air - kelvin - LATENT / WATER / 1007.0 * (ratio(_pressure(kelvin)) - ratio(ambient))

    return float(brentq(missing, 260.0, air))


def _ours(air: float, humidity: float, diffusivity: float) -> float:
    return wet_bulb_temperature(
        air, WATER, LATENT, _pressure, diffusivity=diffusivity,
        air_density=DRY_AIR * PRESSURE / (8.314462618 * air),
        ambient=humidity * _pressure(air), **AIR,
    )  # fmt: skip


@pytest.mark.parametrize("celsius", [15.0, 20.0, 25.0, 30.0])
@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.8])
def test_wet_bulb_where_heat_and_vapour_spread_alike(celsius: float, humidity: float) -> None:
    """With Le = 1 both are one equation but for the vapour's own share of the air: within 0.5 K."""
    expected = _psychrometer(celsius + 273.15, humidity)

    assert _ours(celsius + 273.15, humidity, 2.141e-5) == pytest.approx(expected, abs=0.5)


def test_water_vapour_spreads_faster_than_heat() -> None:
    """With its own diffusivity, 2.5e-5 m2/s, the wet bulb lies lower, by less than 1 K."""
    alike, own = _ours(298.15, 0.3, 2.141e-5), _ours(298.15, 0.3, 2.5e-5)

    assert 0.2 < alike - own < 1.0


def test_saturated_air_cools_nothing() -> None:
    """At 100 % the wet bulb is the air."""
    assert _ours(298.15, 1.0, 2.5e-5) == pytest.approx(298.15, abs=1e-4)


def test_half_of_a_sheet() -> None:
    """D t/l^2 = 0.049 with both faces open (two printed digits)."""
    found = late_drying_time(1.0, 1.0, 0.5, faces=2)

    assert found == pytest.approx(0.049, abs=0.0005)


@pytest.mark.parametrize("left", [0.5, 0.1, 0.01])
def test_late_time_and_what_is_left_are_inverse(left: float) -> None:
    """There and back, one face and two."""
    for faces in (1, 2):
        seconds = late_drying_time(2e-5, 1e-12, left, faces=faces)
        assert solvent_left(seconds, 2e-5, 1e-12, faces=faces) == pytest.approx(left, rel=1e-6)


MASSES, MOLAR, RATES = [2e-3, 1e-3, 0.5e-3], [0.046, 0.018, 0.092], [3e-6, 8e-7, 1.5e-6]


def _evaporating(_: float, moles: np.ndarray) -> np.ndarray:
    """Raoult: each liquid leaves in proportion to its mole fraction."""
    speeds = np.array(RATES) / np.array(MOLAR)
    return -speeds * moles / moles.sum()


def test_blend_time_against_the_differential_equation() -> None:
    """Integrated until a ten-thousandth is left: within 1e-3 of the closed sum."""
    start = np.array(MASSES) / np.array(MOLAR)

    def nearly_gone(_: float, moles: np.ndarray) -> float:
        return float(moles.sum() - 1e-4 * start.sum())

    nearly_gone.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(_evaporating, (0.0, 1e5), start, rtol=1e-9, atol=1e-14, events=nearly_gone)

    assert done.t[-1] == pytest.approx(blend_drying_time(MASSES, RATES), rel=1e-3)


@pytest.mark.parametrize("left", [0.7, 0.3, 0.05])
def test_blend_composition_against_the_differential_equation(left: float) -> None:
    """What is left consists of what the integration says, to 1e-5."""
    start = np.array(MASSES) / np.array(MOLAR)

    def reached(_: float, moles: np.ndarray) -> float:
        return float(moles @ np.array(MOLAR) - left * sum(MASSES))

    reached.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(_evaporating, (0.0, 1e5), start, rtol=1e-10, atol=1e-15, events=reached)
    parts = done.y[:, -1] * np.array(MOLAR)

    assert np.allclose(blend_left(MASSES, MOLAR, RATES, left), parts / parts.sum(), atol=1e-5)


def test_three_weighings_find_the_end_of_one_exponential() -> None:
    """m = 2 + 0.3 exp(-t/20): exact, whatever the interval (Aitken)."""
    for interval in (5.0, 15.0):
        masses = [2.0 + 0.3 * math.exp(-k * interval / 20.0) for k in range(3)]
        assert settled_mass(*masses) == pytest.approx(2.0, rel=1e-12)
