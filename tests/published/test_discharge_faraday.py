"""What an ampere-hour and a gram of corrosion take and make, read off whole discharge runs.

Inputs: one hour at 1 A without corrosion; one hour of corrosion alone; 25 degC.
Expected: 2.97998 Ah/g (0.335573 g/Ah); water 1.0015 g/g discharged and 2.0030 g/g corroded; oxygen
9.3278 mmol/Ah = 1.089 L of air; hydrogen 0.4564 mL/h for each mA (0.4181 at 0 degC), 1360 mL/g;
1 mg/(cm2 min) = 178.80 mA/cm2.
Tolerance: half a unit of the last printed digit (atomic masses rounded to 1e-6 relative lie below).
Source: Faraday's law with CODATA 2018 constants, ideal gas, IUPAC standard atomic weights; reactions
4 Al + 3 O2 + 6 H2O -> 4 Al(OH)3 and 2 Al + 6 H2O -> 2 Al(OH)3 + 3 H2 (any electrochemistry text).
How read: computed by hand from those constants outside this program; no table was copied.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.physics.aluminium import corrosion_current_density
from aerode.physics.discharge import (
    ConstantCurrent,
    Discharge,
    EndConditions,
    discharge,
)
from aerode.physics.discharge.example import beacon_cell

ENDS = EndConditions(cutoff_voltage=-50.0, least_water_share=0.01, greatest_solids_share=0.99)
ALUMINIUM, WATER = 26.9815385, 18.015  # g/mol
RT = 8.314462618 * 298.15


def _hour(current: float, corrosion: float) -> Discharge:
    cell = beacon_cell()
    anode = replace(cell.cell.anode, corrosion_at_rest=corrosion / cell.cathode_area)
    plain = replace(cell, cell=replace(cell.cell, anode=anode))
    return discharge(plain, ConstantCurrent(current=current), times=[3600.0], ends=ENDS)


def test_one_ampere_hour() -> None:
    """Aluminium, water and oxygen for one ampere-hour."""
    run = _hour(1.0, 0.0)
    grams = (3.0 / 26.9815385 - run.aluminium[-1]) * ALUMINIUM
    assert grams == pytest.approx(0.335573, abs=5.1e-7)
    assert 1.0 / grams == pytest.approx(2.97998, abs=6e-6)
    water = (5.46 - run.water[-1]) * WATER
    assert water / grams == pytest.approx(1.0015, abs=5.1e-5)
    assert run.oxygen_taken[-1] * 1e3 == pytest.approx(9.3278, abs=5.1e-5)
    air = run.oxygen_taken[-1] / 0.2095 * RT / 101325.0
    assert air * 1e3 == pytest.approx(1.089, abs=5.1e-4)
    assert run.hydrogen_made[-1] == 0.0


def test_one_hour_of_corrosion() -> None:
    """Hydrogen and water of corrosion alone."""
    run = _hour(0.0, 1e-3)
    volume = run.hydrogen_made[-1] * RT / 101325.0 * 1e6
    assert volume == pytest.approx(0.4564, abs=5.1e-5)
    assert volume * 273.15 / 298.15 == pytest.approx(0.4181, abs=5.1e-5)
    grams = (3.0 / 26.9815385 - run.aluminium[-1]) * ALUMINIUM
    assert volume / grams == pytest.approx(1360.0, abs=0.51)
    assert (5.46 - run.water[-1]) * WATER / grams == pytest.approx(2.0030, abs=5.1e-5)


def test_mass_loss_as_current() -> None:
    """1 mg/(cm2 min) and 1 mg/(cm2 h) as current densities."""
    equivalent = ALUMINIUM * 1e-3 / 3.0
    fast = float(corrosion_current_density(1e-2 / 60.0, equivalent)) / 10.0
    slow = float(corrosion_current_density(1e-2 / 3600.0, equivalent)) / 10.0
    assert fast == pytest.approx(178.80, abs=5.1e-3)
    assert slow == pytest.approx(2.980, abs=5.1e-4)


def test_what_the_scale_shows() -> None:
    """A cell that is closed but for air gains the oxygen and loses the hydrogen, nothing else."""
    run = _hour(1.0, 0.1)
    expected = run.oxygen_taken[-1] * 2 * 15.999e-3 - run.hydrogen_made[-1] * 2 * 1.008e-3
    assert run.mass_change[-1] == pytest.approx(expected, rel=1e-9)
