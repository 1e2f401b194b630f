"""Hydrogen by Faraday's law against handbook and code figures.

Sources: CODATA 2018 constants, standard atomic weights; battery room standard EN 50272-2 (public
formula pages, read): 0.42e-3 m3/Ah at 0 degC; service page (read): 0.46 L/Ah at room temperature.
The other figures follow by hand from F = 96485.332 C/mol and R = 8.314463 J/(mol K): 0.037608
g/Ah, 0.41815 L/Ah (0 degC), 0.45642 L/Ah (25 degC), 0.33556 g/Ah of aluminium, 1.2461 and 1.3601 L
for each gram of it, 275.6 kPa for 1 g in half a litre.
Tolerances: last digit printed; two digits for the code figures.
"""

from __future__ import annotations

import pytest

from aerode.physics.hydrogen import (
    aluminium_charge,
    corrosion_current,
    dilution_flow,
    hydrogen_mass,
    hydrogen_volume,
    pressure_rise,
)

HOUR = 3600.0


def test_one_ampere_hour() -> None:
    """Mass and dry volumes of hydrogen."""
    assert hydrogen_mass(HOUR) * 1e3 == pytest.approx(0.037608, rel=1e-3)
    assert hydrogen_volume(HOUR, 273.15) * 1e3 == pytest.approx(0.41815, rel=1e-4)
    assert hydrogen_volume(HOUR, 298.15) * 1e3 == pytest.approx(0.45642, rel=1e-4)


def test_the_code_figures() -> None:
    """0.42 L/Ah of the standard is ours at 0 degC, 0.46 of the service page at room temperature."""
    assert hydrogen_volume(HOUR, 273.15) * 1e3 == pytest.approx(0.42, abs=0.005)
    assert hydrogen_volume(HOUR, 298.15) * 1e3 == pytest.approx(0.46, abs=0.005)


def test_one_gram_of_aluminium() -> None:
    """2.980 Ah, 1.2461 L at 0 degC and 1.3601 L at 25 degC."""
    charge = aluminium_charge(1e-3)
    assert charge / HOUR == pytest.approx(2.980, abs=5e-4)
    assert hydrogen_volume(charge, 273.15) * 1e3 == pytest.approx(1.2461, abs=1e-4)
    assert hydrogen_volume(charge, 298.15) * 1e3 == pytest.approx(1.3601, abs=1e-4)


def test_a_capped_half_litre() -> None:
    """1 g of aluminium adds 275.6 kPa."""
    assert pressure_rise(aluminium_charge(1e-3), 0.5e-3) / 1e3 == pytest.approx(275.6, abs=0.1)


def test_six_cells() -> None:
    """6 x 50 cm2 at 10 mA/cm2: 3.0 A, 1.3693 L/h, 0.13556 m3/h of air for 1 %."""
    current = corrosion_current(100.0, 50e-4, 6)
    assert current == pytest.approx(3.0, rel=1e-12)
    assert hydrogen_volume(current) * HOUR * 1e3 == pytest.approx(1.3693, abs=1e-4)
    assert dilution_flow(current, 0.01) * HOUR == pytest.approx(0.13556, abs=1e-5)
