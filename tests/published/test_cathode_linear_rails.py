"""A porous electrode near equilibrium with liquid and solid resistance.

Inputs: ν and σ/κ as printed; and κ 2, σ 50 S/m, L 0.5 mm, local conductance 1e6 S/m³.
Expected: the bracket of R = L/(κ+σ){1 + [2 + (σ/κ+κ/σ) cosh ν]/(ν sinh ν)}, six digits;
R = 2.0860276e-3 Ω·m²; limits ν → ∞ and ν → 0; and the rate profile.
Tolerance: half a unit of the last digit for the closed form. The solver is asked at a current that
moves the overpotential by 1e-6 b, so the curvature leaves 1e-6 relative.
Source: Euler & Nonnenmacher (1960), Electrochim. Acta 2:268; Newman & Tobias (1962),
J. Electrochem. Soc. 109:1183 (status: unverified, from memory).
How read: derived again, and checked against cell balances, outside this program.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.physics.cathode import CathodeParameters, operating_point, polarization
from aerode.physics.electrode_limits import linear_rails_profile, linear_rails_resistance

BRACKETS = [
    (1.0, 1.0, 5.32791),
    (1.0, 10.0, 15.96349),
    (3.0, 1.0, 1.73653),
    (3.0, 10.0, 4.44995),
    (10.0, 1.0, 1.20002),
]


@pytest.mark.parametrize(("nu", "ratio", "printed"), BRACKETS)
def test_bracket(nu: float, ratio: float, printed: float) -> None:
    """The printed brackets come out."""
    local = nu**2 / (1.0 + 1.0 / ratio)
    bracket = linear_rails_resistance(1.0, 1.0, ratio, local) * (1.0 + ratio)
    assert bracket == pytest.approx(printed, abs=5.1e-6)


def test_number_and_limits() -> None:
    """The printed resistance, the thick and the thin limit."""
    assert linear_rails_resistance(5e-4, 2.0, 50.0, 1e6) == pytest.approx(2.0860276e-3, rel=2e-8)
    thick = 1e-3 / 52.0 * (1.0 + (25.0 + 0.04) / 4000.0)
    g = (4000.0 / 1e-3) ** 2 / (0.5 + 0.02)
    assert linear_rails_resistance(1e-3, 2.0, 50.0, g) == pytest.approx(thick, rel=1e-12)
    thin = 1.0 / (1e3 * 5e-4) + 5e-4 * 52.0 / (3 * 100.0)
    assert linear_rails_resistance(5e-4, 2.0, 50.0, 1e3) == pytest.approx(thin, rel=1e-8)


def balanced(nu: float, kappa: float, sigma: float) -> tuple[CathodeParameters, float]:
    """A Butler–Volmer cathode with oxygen everywhere whose local conductance gives this ν."""
    thickness, b, back = 5e-4, 0.05, 0.08
    local = (nu / thickness) ** 2 / (1.0 / kappa + 1.0 / sigma)
    cathode = CathodeParameters(
        thickness=thickness,
        ionic_conductivity=kappa,
        electronic_conductivity=sigma,
        gas_diffusivity=1e9,
        oxygen_air=8.0,
        air_film=0.0,
        henry_liquid_per_gas=0.025,
        agglomerate_radius=0.0,
        agglomerate_diffusivity=1e-9,
        agglomerate_fraction=0.4,
        film_transfer=math.inf,
        exchange_current=local / (1.0 / b + 1.0 / back),
        reference_oxygen=0.2,
        tafel_slope=b,
        electrons=4.0,
        back_slope=back,
    )
    return cathode, local


@pytest.mark.parametrize(
    ("nu", "kappa", "sigma"), [(0.36, 2.0, 50.0), (3.0, 2.0, 20.0), (8.0, 5.0, 5.0)]
)
def test_solver(nu: float, kappa: float, sigma: float) -> None:
    """Butler–Volmer kinetics at a tiny current has this resistance and this profile."""
    cathode, local = balanced(nu, kappa, sigma)
    resistance = linear_rails_resistance(5e-4, kappa, sigma, local)
    current = 5e-8 / resistance
    curve = polarization(cathode, [current], tolerance=1e-11)
    assert curve.complete()[0] / current == pytest.approx(resistance, rel=2e-6)
    inside = operating_point(cathode, current, tolerance=1e-11).profile
    shape = linear_rails_profile(inside.depth / 5e-4, 5e-4, kappa, sigma, local)
    assert np.abs(inside.local_rate * 5e-4 / current / shape - 1.0).max() < 3e-5
