"""Effectiveness factor of a first-order reaction in slab, cylinder and sphere.

Inputs: Thiele moduli on volume over surface, 0.1 to 10.
Expected: the closed forms tanh φ/φ, I₁(2φ)/(φI₀(2φ)), (coth 3φ − 1/(3φ))/φ.
Tolerance: half a unit of the last printed digit (5 digits).
Source: Thiele (1939), Ind. Eng. Chem. 31:916; Aris (1957), Chem. Eng. Sci. 6:262.
How read: forms cited from memory (status: unverified); digits evaluated from the forms with a
general-purpose calculator, apart from this program.
"""

from __future__ import annotations

import numpy as np
import pytest

from aerode.physics.effectiveness import Shape, effectiveness, effectiveness_with_film

MODULI = [0.1, 0.5, 1.0, 2.0, 5.0, 10.0]
PRINTED = {
    Shape.SLAB: [0.99668, 0.92423, 0.76159, 0.48201, 0.19998, 0.1],
    Shape.CYLINDER: [0.99503, 0.89278, 0.69777, 0.43176, 0.18972, 0.09747],
    Shape.SPHERE: [0.99405, 0.87625, 0.67164, 0.41667, 0.18667, 0.09667],
}
SMALL = {Shape.SLAB: 1.0 / 3.0, Shape.CYLINDER: 0.5, Shape.SPHERE: 0.6}


@pytest.mark.parametrize("shape", list(Shape))
def test_table(shape: Shape) -> None:
    """The five printed digits come out for each shape."""
    assert np.abs(effectiveness(MODULI, shape) - PRINTED[shape]).max() < 5.1e-6


@pytest.mark.parametrize("shape", list(Shape))
@pytest.mark.parametrize("modulus", [1e-6, 9.9e-4, 1.01e-3, 1e-2])
def test_small_modulus_series(shape: Shape, modulus: float) -> None:
    """E = 1 − a φ² for small φ, without a jump where the series takes over (next term: φ⁴)."""
    expected = 1.0 - SMALL[shape] * modulus**2
    assert abs(float(effectiveness(modulus, shape)) - expected) < max(1e-12, modulus**4)


@pytest.mark.parametrize("shape", list(Shape))
def test_large_modulus(shape: Shape) -> None:
    """E tends to 1/φ for every shape when the modulus is volume over surface."""
    assert float(effectiveness(1e5, shape)) * 1e5 == pytest.approx(1.0, abs=1e-5)


def test_film_in_series() -> None:
    """1/E_o = 1/E + φ²/Bi: slab, φ = 1, Bi = 1 gives 1/(1/0.761594 + 1)."""
    assert float(effectiveness_with_film(1.0, 1.0, Shape.SLAB)) == pytest.approx(0.43233, abs=5e-6)


@pytest.mark.parametrize("shape", list(Shape))
@pytest.mark.parametrize("modulus", [4.9e3, 5.1e3, 1e8, 1e9, 1e12, 1e100])
def test_huge_modulus_is_the_skin(shape: Shape, modulus: float) -> None:
    """φE = 1 − (p − 1)/(2pφ) − ... (Hankel's series of I₁/I₀ for the rod) at any modulus, never NaN.

    Source: Abramowitz & Stegun (1964), Handbook of Mathematical Functions, equation 9.7.1 (status:
    unverified, cited from memory; the term checked is derived from y' = 1 − (p − 1)y/x − y²).
    """
    p = {Shape.SLAB: 1, Shape.CYLINDER: 2, Shape.SPHERE: 3}[shape]
    expected = 1.0 - (p - 1) / (2.0 * p * modulus)
    assert float(effectiveness(modulus, shape)) * modulus == pytest.approx(
        expected, abs=0.2 / modulus**2 + 1e-15
    )
