"""Knudsen diffusivity against the form with numbers of the textbooks.

Source: D_K = 4850 d sqrt(T/M) [cm2/s], d in cm, M in g/mol, as printed on "Knudsen diffusion",
scientificlib.com, and in texts on mass transfer. How read: public page, and the same number follows
from (1/3) sqrt(8 R/pi). Tolerance 0.05 %: 4850 is rounded from 4850.3.
"""

from __future__ import annotations

import math

import pytest

from aerode.physics.transport import bosanquet, knudsen_diffusivity


@pytest.mark.parametrize("diameter", [1e-8, 1e-7, 1e-6])
@pytest.mark.parametrize(("molar_mass", "temperature"), [(31.998, 298.0), (2.016, 373.0), (28.014, 273.15)])  # fmt: skip
def test_the_number_of_the_texts(diameter: float, molar_mass: float, temperature: float) -> None:
    """Oxygen, hydrogen and nitrogen in three pores."""
    expected = 4850.0 * (100.0 * diameter) * math.sqrt(temperature / molar_mass) * 1e-4

    found = float(knudsen_diffusivity(diameter, temperature, molar_mass * 1e-3))

    assert found == pytest.approx(expected, rel=5e-4)


def test_both_resistances_add_up() -> None:
    """Wide pores give the open gas, narrow ones the wall; equal ones half."""
    assert float(bosanquet(2e-5, 2e-5)) == pytest.approx(1e-5)
    assert float(bosanquet(2e-5, 2.0)) == pytest.approx(2e-5, rel=1e-4)
    assert float(bosanquet(2e-5, 2e-10)) == pytest.approx(2e-10, rel=1e-4)
