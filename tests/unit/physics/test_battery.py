"""Whole sums of a battery: against the theoretical capacity of aluminium and the gas of a charge."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError
from aerode.physics.aluminium import capacity, charge_balance
from aerode.physics.battery import (
    cells_in_series,
    corrosion_balance,
    current_of_each_cell,
    smoothing_capacitance,
)
from aerode.physics.hydrogen import hydrogen_volume

MOLAR = {"aluminium": 26.9815e-3, "water": 18.015e-3, "hydroxide": 78.004e-3}


def test_a_gram_that_corrodes_gives_the_gas_of_its_charge() -> None:
    """2.980 Ah/g (CRC Handbook, molar mass 26.98, three electrons) at 0.42 L/Ah at 0 degC (IEC 62485-2): 1.25 L."""
    gone = corrosion_balance(1e-3, **MOLAR)
    assert gone.charge / 3600.0 == pytest.approx(2.980, rel=1e-3)
    assert 1e3 * hydrogen_volume(gone.charge, 273.15) == pytest.approx(2.980 * 0.42, rel=0.005)


def test_corrosion_makes_the_solid_of_discharge_and_takes_twice_the_water() -> None:
    """2 Al + 6 H2O against 4 Al + 6 H2O: masses of the elements balance, hydrogen leaves."""
    gone = corrosion_balance(2e-3, **MOLAR)
    drawn = charge_balance(capacity(MOLAR["aluminium"]) * 2e-3, oxygen=31.998e-3, **MOLAR)
    assert gone.hydroxide == pytest.approx(drawn.hydroxide)
    assert gone.water == pytest.approx(2.0 * drawn.water)
    hydrogen = gone.charge / (2 * 96485.33212) * 2.016e-3
    assert 2e-3 + gone.water == pytest.approx(gone.hydroxide + hydrogen, rel=1e-4)


@pytest.mark.parametrize(("voltage", "cell", "cells"), [(0.9, 0.45, 2), (0.9001, 0.45, 3), (1.5, 0.5, 3), (0.1, 0.5, 1)])  # fmt: skip
def test_cells_in_a_row_reach_the_voltage_and_one_less_does_not(voltage: float, cell: float, cells: int) -> None:  # fmt: skip
    """The whole number just enough; a voltage reached exactly needs no further cell."""
    assert cells_in_series(voltage, cell) == cells
    assert cells * cell >= voltage - 1e-9
    assert cells == 1 or (cells - 1) * cell < voltage


def test_power_and_charge_come_out_again() -> None:
    """Cells times voltage times current is the power; current over capacitance is the fall."""
    assert 3 * 0.4 * current_of_each_cell(0.06, 3, 0.4) == pytest.approx(0.06)
    assert 0.06 * 0.1 / smoothing_capacitance(0.06, 0.1, 0.3) == pytest.approx(0.3)


def test_what_cannot_be_is_refused() -> None:
    """Nothing below zero, and no drop of zero."""
    for wrong in (
        lambda: cells_in_series(0.0, 0.4),
        lambda: current_of_each_cell(-1.0, 1, 0.4),
        lambda: corrosion_balance(-1.0, **MOLAR),
        lambda: smoothing_capacitance(0.1, 0.1, 0.0),
    ):
        with pytest.raises(RangeError):
            wrong()
