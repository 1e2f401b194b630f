"""Pure water and water activity against IAPWS-95, IAPWS viscosity and Robinson and Stokes.

Sources: Wagner and Pruss 2002 (IAPWS-95) and the IAPWS viscosity, values computed with the open library
chemicals 1.5.2 (verified); Robinson and Stokes, osmotic coefficients of NaCl (from memory, unverified);
pyEQL 1.7.0, mean activity coefficients (verified, they are also the table on file).
"""

from __future__ import annotations

import pytest

from aerode.properties import (
    activity_coefficient,
    lookup,
    solution,
    water_activity,
    water_vapour_pressure,
)

IAPWS = (
    # degC, kg/m3, Pa, mPa s
    (5, 999.9666, 872.5751, 1.518173), (15, 999.1026, 1705.793, 1.137568), (20, 998.2072, 2339.318, 1.001596),
    (25, 997.0476, 3169.929, 0.890022), (40, 992.2164, 7384.938, 0.652729), (60, 983.1958, 19946.43, 0.466035),
)  # fmt: skip


@pytest.mark.parametrize(("celsius", "density", "pressure", "viscosity"), IAPWS)
def test_water_against_iapws(
    celsius: float, density: float, pressure: float, viscosity: float
) -> None:
    """Density to 0.005 kg/m3, vapour pressure to 0.01 %, viscosity to 0.15 %, as stated in the table."""
    at = 273.15 + celsius

    assert lookup("water", "density", temperature=at).value == pytest.approx(density, abs=0.005)
    assert lookup("water", "vapour_pressure", temperature=at).value == pytest.approx(
        pressure, rel=1e-4
    )
    assert lookup("water", "viscosity", temperature=at).value * 1e3 == pytest.approx(
        viscosity, rel=1.5e-3
    )


@pytest.mark.parametrize(
    ("molality", "expected"), [(1.0, 0.9669), (3.0, 0.8932), (5.0, 0.8068), (6.0, 0.7598)]
)
def test_sodium_chloride_against_robinson_and_stokes(molality: float, expected: float) -> None:
    """Within 0.0005 of the osmotic tables."""
    found = water_activity(solution("NaCl", 298.15, molality=molality)).value

    assert found == pytest.approx(expected, abs=5e-4)


def test_a_seven_per_cent_potassium_hydroxide_molality() -> None:
    """4.21 mol/kg: activity 0.81 and coefficient 1.4, as used for the 4 mol/L voltage."""
    lye = solution("KOH", 298.15, molality=4.21)

    assert water_activity(lye).value == pytest.approx(0.81, abs=0.01)
    assert activity_coefficient(lye).value == pytest.approx(1.42, rel=0.01)


def test_vapour_over_brine() -> None:
    """3.5 % NaCl at 25 degC: activity 0.9795, so 3104.9 Pa over 3169.9 Pa of water."""
    brine = solution("NaCl", 298.15, mass_fraction=0.035)

    assert water_activity(brine).value == pytest.approx(0.9795, abs=2e-4)
    assert water_vapour_pressure(brine).value == pytest.approx(3104.9, abs=0.7)
