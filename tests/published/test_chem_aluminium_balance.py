"""Charge, water, oxygen and corrosion conversions of aluminium.

Sources: Faraday's law with CODATA 2018; ASTM G102, K1 = 3.27e-3 mm g/(uA cm y), K2 = 8.954e-3 g cm2/(uA m2 d)
and K1 = 0.1288 mpy, EW of aluminium 8.99 (constants from memory, re-derived); ASTM G59, B = ba bc/(2.303(ba + bc)).
"""

from __future__ import annotations

import pytest

from aerode.physics import aluminium
from aerode.properties import charge_balance, theoretical_capacity
from aerode.reference import substance

AH = 3600.0
YEAR = 365.25 * 86400.0


def test_capacity_in_the_units_of_the_trade() -> None:
    """2.980 Ah/g, 8.04 Ah/cm3 at 2.70 g/cm3, 8.08 kWh/kg at 2.71 V."""
    per_gram = theoretical_capacity().value / AH / 1000.0

    assert per_gram == pytest.approx(2.9800, abs=1e-4)
    assert per_gram * 2.70 == pytest.approx(8.04, abs=0.01)
    assert per_gram * 2.71 == pytest.approx(8.08, abs=0.01)


def test_what_one_gram_takes_and_makes() -> None:
    """1.0015 g of water, 0.889 g of oxygen, 2.891 g of dry hydroxide for each gram of aluminium."""
    used = charge_balance(theoretical_capacity().value * 1e-3)

    assert used.aluminium * 1e3 == pytest.approx(1.0, rel=1e-9)
    assert used.water * 1e3 == pytest.approx(1.0015, abs=1e-4)
    assert used.oxygen * 1e3 == pytest.approx(0.889, abs=1e-3)
    assert used.hydroxide * 1e3 == pytest.approx(2.891, abs=1e-3)


def test_oxygen_and_air_for_an_ampere_hour() -> None:
    """9.328 mmol of oxygen, 1.089 L of air at 25 degC and 1 atm (20.95 % oxygen)."""
    oxygen = charge_balance(AH).oxygen / (substance("oxygen").molar_mass or 0.0)
    air = oxygen / 0.2095 * 8.314462618 * 298.15 / 101325.0

    assert oxygen * 1e3 == pytest.approx(9.328, abs=1e-3)
    assert air * 1e3 == pytest.approx(1.089, abs=1e-3)


def test_the_constants_of_astm_g102() -> None:
    """K1 in mm/y and K2 in g/m2/d for 1 uA/cm2, EW 1 g/mol and 1 g/cm3, to the printed digits."""
    k1 = float(aluminium.penetration_rate(0.01, 1e-3, 1000.0)) * YEAR * 1e3
    k2 = float(aluminium.mass_loss_rate(0.01, 1e-3)) * 86400.0 * 1e3

    assert k1 == pytest.approx(3.27e-3, rel=5e-4)
    assert k1 / 0.0254 == pytest.approx(0.1288, rel=5e-4)
    assert k2 == pytest.approx(8.954e-3, rel=2e-4)


def test_the_bridge_between_units_of_aluminium_corrosion() -> None:
    """1 mA/cm2 = 10.89 mm/y = 0.33557 mg/cm2/h; 1 mg/cm2/min = 178.8 mA/cm2; 1 mg/cm2/h = 2.980."""
    equivalent = aluminium.equivalent_weight(26.9815e-3, 3)
    milliampere = 10.0

    assert equivalent * 1e3 == pytest.approx(8.9938, abs=1e-4)
    assert float(
        aluminium.penetration_rate(milliampere, equivalent, 2700.0)
    ) * YEAR * 1e3 == pytest.approx(10.89, abs=0.01)
    assert float(
        aluminium.mass_loss_rate(milliampere, equivalent)
    ) * 0.1 * AH * 1e3 == pytest.approx(0.33557e-0, rel=1e-4)
    assert float(aluminium.corrosion_current_density(1e-2 / 60.0, equivalent)) / 10.0 == pytest.approx(178.8, abs=0.1)  # fmt: skip
    assert float(aluminium.corrosion_current_density(1e-2 / 3600.0, equivalent)) / 10.0 == pytest.approx(2.980, abs=1e-3)  # fmt: skip


def test_polarization_resistance_as_astm_g59_defines_it() -> None:
    """ba = bc = 0.12 V: B = 26.05 mV, so 1 kohm cm2 is 26.05 uA/cm2."""
    found = aluminium.polarization_resistance_current(0.1, 0.12, 0.12)

    assert found / 0.01 == pytest.approx(26.05, rel=1e-3)
