"""Conductivity of NaCl, NaOH and KOH against the handbook, and KCl calibration solutions.

Sources: CRC Handbook of Chemistry and Physics p. 5-71, "Electrical conductivity of aqueous solutions",
20 degC (two public copies agree: verified); Wu, Koch and Pratt 1991, J. Res. NIST 96, 191, KCl
standards as printed in the CRC Handbook (verified); saturated NaCl and molar conductivities at 25 degC
as marked (from memory: unverified). The NaCl fit was made to the p. 5-71 row, so agreement there shows
that coefficients were copied right, not that the fit predicts.
"""

from __future__ import annotations

import pytest

from aerode.properties import (
    calibration_conductivity,
    calibration_factor,
    conductivity,
    second_opinion,
    solution,
    strength_from_conductivity,
)

T20 = 293.15
NACL_20 = ((0.005, 8.2), (0.01, 16.0), (0.02, 30.2), (0.05, 70.1), (0.10, 126.0), (0.15, 171.0), (0.20, 204.0), (0.25, 222.0))  # fmt: skip
NAOH_20 = ((0.005, 24.8), (0.01, 48.6), (0.02, 93.1), (0.05, 206.0))


@pytest.mark.parametrize(("share", "expected"), NACL_20)
def test_sodium_chloride_row_of_the_handbook(share: float, expected: float) -> None:
    """Within 0.6 %: the largest residual of the fit is 0.42 %, plus the last printed digit.

    The 0.5 % row was not fitted and reads 1.8 % lower than the fit: within the +-2 % quoted.
    """
    found = conductivity(solution("NaCl", T20, mass_fraction=share)).value * 10.0

    assert found == pytest.approx(expected, rel=0.006 if share >= 0.01 else 0.02)


@pytest.mark.parametrize(
    ("share", "celsius", "expected"),
    [(0.01, 5, 11.0), (0.05, 25, 77.4), (0.10, 35, 169.0), (0.20, 15, 181.6), (0.26, 40, 332.1)],
)
def test_sodium_chloride_between_5_and_40_degrees(
    share: float, celsius: float, expected: float
) -> None:
    """The worked table of the adopted fit (made by another hand): half of the last printed digit."""
    found = conductivity(solution("NaCl", 273.15 + celsius, mass_fraction=share)).value * 10.0

    assert found == pytest.approx(expected, abs=0.051)


@pytest.mark.parametrize(("molarity", "expected"), [(0.1, 106.74), (0.5, 93.62), (1.0, 85.76)])
def test_molar_conductivity_at_25_degrees(molarity: float, expected: float) -> None:
    """Classic molar conductivities in S cm2/mol, from memory (unverified); within 1 %."""
    brine = solution("NaCl", 298.15, molarity=1000.0 * molarity)
    found = conductivity(brine).value / (1000.0 * molarity) * 1e4

    assert found == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(
    ("share", "miss"),
    [(0.01, 0.003), (0.05, -0.034), (0.10, -0.046), (0.15, -0.039), (0.20, -0.011), (0.25, 0.048)],
)
def test_the_second_opinion_misses_the_handbook_as_published(share: float, miss: float) -> None:
    """Sen and Goode 1992 against CRC p. 5-71: the misses noted when it was read, to 0.4 %."""
    handbook = dict(NACL_20)[share]
    found = second_opinion(solution("NaCl", T20, mass_fraction=share)).value * 10.0

    assert found / handbook - 1.0 == pytest.approx(miss, abs=0.004)


@pytest.mark.parametrize(("share", "expected"), NAOH_20)
def test_sodium_hydroxide_row_of_the_handbook(share: float, expected: float) -> None:
    """Within 3.5 %, the miss stated for McCleskey below 1 mol/kg and for the table above it."""
    found = conductivity(solution("NaOH", T20, mass_fraction=share)).value * 10.0

    assert found == pytest.approx(expected, rel=0.035)


def test_potassium_hydroxide_is_best_near_6_molar() -> None:
    """The handbook maximum lies near 6 mol/L at 25 degC (common practice of the alkaline trade)."""
    values = {
        m: conductivity(solution("KOH", 298.15, molarity=1000.0 * m)).value for m in range(3, 10)
    }
    best = max(values, key=values.__getitem__)

    assert 5 <= best <= 7
    assert values[best] == pytest.approx(62.7, rel=0.07)


@pytest.mark.parametrize(
    ("molality", "celsius", "expected"),
    [
        (0.1, 10, 9.29172), (0.1, 15, 10.4371), (0.1, 20, 11.6159), (0.1, 25, 12.8246), (0.1, 30, 14.0592),
        (0.1, 35, 15.3160), (1.0, 20, 99.170), (1.0, 25, 108.620), (0.01, 25, 1.40823), (0.01, 0, 0.77292),
        (0.1, 0, 7.11685), (1.0, 0, 63.488), (0.01, 50, 2.12343), (0.1, 50, 19.1809), (1.0, 50, 157.670),
    ],
)  # fmt: skip
def test_calibration_solutions_are_exact(molality: float, celsius: float, expected: float) -> None:
    """The KCl standards come back to the printed digit, in mS/cm."""
    found = calibration_conductivity(molality, 273.15 + celsius).value * 10.0

    assert found == pytest.approx(expected, rel=1e-9)


def test_a_calibrated_meter_finds_the_strength_again() -> None:
    """A meter that reads 7 % low, corrected in 0.1 mol/kg KCl, finds 3.5 % NaCl at 20 degC.

    The true conductivity is the interpolated p. 5-71 row (51.0 +- 0.5 mS/cm from 2 and 5 %).
    """
    factor = calibration_factor(1.16159 * 0.93, 0.1, T20)
    found = strength_from_conductivity("NaCl", 5.07 * 0.93, T20, factor=factor)

    assert factor == pytest.approx(1.0 / 0.93)
    assert found.mass_fraction == pytest.approx(0.035, rel=0.02)
