"""Activities of dilute and of very strong lye, and of sodium chloride, from 0.001 mol/kg to saturation.

Sources: Hamer and Wu 1972, J. Phys. Chem. Ref. Data 1, 1047, table 16 (sodium chloride; second hand,
from the test data of an open program). Interaction coefficient of sodium and hydroxide ions, 0.04 kg/mol,
specific ion interaction theory, from the data file `sit.dat` of an open program (second hand).
Balej 1985, Int. J. Hydrogen Energy 10, 233: vapour pressures of lye (second hand, one copy; in
the reference tables as a check). Robinson and Stokes 1965, potassium hydroxide at 0.1 mol/kg (from memory,
unverified).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.physics.ion_interaction import ion_interaction_coefficient, ion_interaction_osmotic
from aerode.properties import activity_coefficient, lookup, solution, water_activity
from aerode.reference import published

WATER = 0.0180153  # kg/mol
SODIUM_CHLORIDE = {
    "a_phi": 0.392, "b": 1.2, "alpha": 2.0, "b0": 0.0765, "b1": 0.2664, "c_phi": 0.00127,
}  # fmt: skip
HAMER_WU = (
    (0.001, 0.965), (0.002, 0.952), (0.005, 0.928), (0.01, 0.903), (0.02, 0.872), (0.05, 0.822),
    (0.1, 0.779), (0.2, 0.734), (0.3, 0.709), (0.4, 0.693), (0.5, 0.681), (0.7, 0.667), (1.0, 0.657),
    (1.4, 0.656), (2.0, 0.668), (3.0, 0.714), (4.0, 0.783), (5.0, 0.874), (6.0, 0.986),
)  # fmt: skip
LYES = {"KOH": "potassium hydroxide", "NaOH": "sodium hydroxide"}


@pytest.mark.parametrize(("molality", "expected"), HAMER_WU)
def test_the_equation_against_hamer_and_wu(molality: float, expected: float) -> None:
    """Sodium chloride to 6 mol/kg: within 0.4 % of the evaluated table (three printed digits)."""
    assert float(ion_interaction_coefficient(molality, SODIUM_CHLORIDE)) == pytest.approx(
        expected, rel=4e-3
    )


@pytest.mark.parametrize("molality", [0.001, 0.003, 0.01, 0.03, 0.1, 0.2, 0.3, 0.5])
def test_weak_sodium_hydroxide_against_specific_ion_interaction(molality: float) -> None:
    """log10 gamma = -0.509 sqrt m/(1 + 1.5 sqrt m) + 0.04 m: within 2.1 %, inside the stated 3 %."""
    root = math.sqrt(molality)
    expected = 10.0 ** (-0.509 * root / (1.0 + 1.5 * root) + 0.04 * molality)

    found = activity_coefficient(solution("NaOH", 298.15, molality=molality))

    assert found.value == pytest.approx(expected, rel=0.021)
    assert found.quantity.source == ("pitzer_mayorga_1973" if molality < 0.5 else "pyeql")


def test_a_tenth_molal_potassium_hydroxide() -> None:
    """0.778 (an open library) to 0.798 (Robinson and Stokes, from memory): in between, with 3 %."""
    found = activity_coefficient(solution("KOH", 298.15, molality=0.1))
    limit = math.sqrt(3.0) * (found.quantity.standard_uncertainty or 0.0)

    assert 0.778 < found.value < 0.798
    assert found.value - limit < 0.778
    assert found.value + limit > 0.798


@pytest.mark.parametrize("salt", sorted(LYES))
def test_the_limiting_law(salt: str) -> None:
    """ln gamma goes to -1.176 sqrt m (Debye and Hueckel at 25 degC: 0.511 ln 10) in water itself."""
    found = activity_coefficient(solution(salt, 298.15, molality=1e-6)).value

    assert math.log(found) / 1e-3 == pytest.approx(-0.511 * math.log(10.0), rel=4e-3)


@pytest.mark.parametrize("salt", sorted(LYES))
def test_no_step_where_the_table_begins(salt: str) -> None:
    """Just below and at 0.5 mol/kg the coefficient is the same."""
    below, at = (
        activity_coefficient(solution(salt, 298.15, molality=m)).value for m in (0.5 - 1e-6, 0.5)
    )

    assert below == pytest.approx(at, rel=1e-5)


@pytest.mark.parametrize("salt", sorted(LYES))
@pytest.mark.parametrize("molality", [0.001, 0.01, 0.05, 0.1, 0.2, 0.4])
def test_the_water_of_weak_lye(salt: str, molality: float) -> None:
    """The quotient ln a_w/m, kept below the table, costs less than 0.0001 of the water activity."""
    coefficients = published(LYES[salt], "ion_interaction").coefficient
    osmotic = float(ion_interaction_osmotic(molality, coefficients))

    found = water_activity(solution(salt, 298.15, molality=molality)).value

    assert found == pytest.approx(math.exp(-2.0 * WATER * molality * osmotic), abs=1e-4)


def balej(salt: str, molality: np.ndarray | float) -> np.ndarray:
    """The water activity at 25 degC by the vapour pressures of Balej 1985."""
    a1, a2, a3, b1, b2, b3 = published(LYES[salt], "water_activity", equation="Balej").values
    water = math.log10(lookup("water", "vapour_pressure", temperature=298.15).value / 1e5)
    m = np.asarray(molality, dtype=np.float64)
    return 10.0 ** (a1 * m + a2 * m**2 + a3 * m**3 + (b1 * m + b2 * m**2 + b3 * m**3) * water)


@pytest.mark.parametrize(
    ("salt", "molality"),
    [("KOH", m) for m in (0.001, 0.1, 0.5, 1, 2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18)]
    + [("NaOH", m) for m in (5, 6, 8, 10, 12, 14, 16, 18, 20)],
)
def test_the_water_of_strong_lye_against_vapour_pressures(salt: str, molality: float) -> None:
    """Within the stated limits to 18 and 20 mol/kg; below 5 mol/kg the fit for NaOH is no check."""
    found = water_activity(solution(salt, 298.15, molality=molality))
    limit = math.sqrt(3.0) * (found.quantity.standard_uncertainty or 0.0)

    assert abs(found.value - float(balej(salt, molality))) < limit


@pytest.mark.parametrize("salt", sorted(LYES))
@pytest.mark.parametrize("molality", [8, 10, 12, 14, 16, 18])
def test_the_coefficient_beyond_the_table_against_vapour_pressures(
    salt: str, molality: float
) -> None:
    """From 6 mol/kg on, d ln gamma = d phi + (phi - 1) dm/m (Gibbs and Duhem): within the stated limit."""
    m = np.linspace(6.0, molality, 2001)
    phi = -np.log(balej(salt, m)) / (2.0 * WATER * m)
    rise = phi[-1] - phi[0] + float(np.trapezoid((phi - 1.0) / m, m))
    start = activity_coefficient(solution(salt, 298.15, molality=6.0)).value

    found = activity_coefficient(solution(salt, 298.15, molality=molality))
    limit = math.sqrt(3.0) * (found.quantity.standard_uncertainty or 0.0)

    assert abs(found.value - start * math.exp(rise)) < limit
    assert any("outside" in said for said in found.warnings)
