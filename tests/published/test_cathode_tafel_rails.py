"""A Tafel electrode with resistance in liquid and solid, oxygen everywhere.

Inputs: L 0.4 mm, κ 2, σ 50 S/m, a·i0 50 A/m³ at the prevailing oxygen, b 0.05138558 V.
Expected: 4.54013 mA/cm² at 0.4 V (θ 0.29907), 25.14755 at 0.5 V (θ 0.66435).
Tolerance: one unit of the last printed digit; the solver 2e-7 V.
Source: Newman & Tobias (1962), J. Electrochem. Soc. 109:1183 (status: unverified, from memory;
the two-rail form θ = atan(δ₁/2θ) + atan(δ₂/2θ) was derived). How read: evaluated outside this
program.
"""

from __future__ import annotations

import math

import pytest

from aerode.physics.cathode import CathodeParameters, operating_point
from aerode.physics.electrode_limits import tafel_rails

B = 0.05138558


@pytest.mark.parametrize(
    ("current", "overpotential", "theta"), [(45.4013, 0.4, 0.29907), (251.4755, 0.5, 0.66435)]
)
def test_closed_form(current: float, overpotential: float, theta: float) -> None:
    """The printed currents belong to the printed overpotentials."""
    state = tafel_rails(current, 4e-4, 2.0, 50.0, 50.0, B)
    assert state.face_overpotential == pytest.approx(overpotential, abs=2e-7)
    assert state.theta == pytest.approx(theta, abs=1e-5)


@pytest.mark.parametrize("sigma", [50.0, 2.0, 0.2])
@pytest.mark.parametrize("current", [45.4013, 2000.0])
def test_solver(sigma: float, current: float) -> None:
    """The solver finds the same overpotential at the electrolyte face, whichever rail is poor."""
    cathode = CathodeParameters(
        thickness=4e-4,
        ionic_conductivity=2.0,
        electronic_conductivity=sigma,
        gas_diffusivity=1e9,
        oxygen_air=8.56,
        air_film=0.0,
        henry_liquid_per_gas=0.0265,
        agglomerate_radius=0.0,
        agglomerate_diffusivity=1e-9,
        agglomerate_fraction=0.4,
        film_transfer=math.inf,
        exchange_current=50.0,
        reference_oxygen=0.22684,
        tafel_slope=B,
        electrons=4.0,
    )
    exact = tafel_rails(current, 4e-4, 2.0, sigma, 50.0, B).face_overpotential
    point = operating_point(cathode, current)
    assert point.face_overpotential == pytest.approx(exact, abs=2e-7)
