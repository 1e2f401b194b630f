"""Two small closed forms: the current after a potential step, and a tall electrode with one tab.

Inputs: n 4, c 0.25 mol/m³, D 2e-9 m²/s, t 1 s; and a fin of modulus 1.
Expected: 2.4345 A/m²; tanh(1)/1 = 0.76159, and R_s H²/3 for a good collector.
Tolerance: half a unit of the last printed digit; for the series its next term, 2/15 of its square.
Source: Cottrell (1903), Z. phys. Chem. 42:385; the fin equation of any heat-transfer text (status:
unverified, from memory). How read: evaluated from the forms outside this program.
"""

from __future__ import annotations

import pytest

from aerode.physics.electrode_limits import cottrell_current, tab_effectiveness


def test_cottrell() -> None:
    """The printed current, and its fall with the root of time."""
    assert float(cottrell_current(4.0, 0.25, 2e-9, 1.0)) == pytest.approx(2.4345, abs=5e-5)
    early, late = cottrell_current(4.0, 0.25, 2e-9, [1.0, 100.0])
    assert early / late == pytest.approx(10.0, rel=1e-12)


def test_tab() -> None:
    """Modulus one, and a good collector that adds R_s H²/3 to the area resistance."""
    assert tab_effectiveness(0.05, 0.4, 1e-3) == pytest.approx(0.76159, abs=5e-6)
    sheet, height, cell = 0.01, 0.02, 1e-3
    added = cell / tab_effectiveness(height, sheet, cell) - cell
    assert added == pytest.approx(sheet * height**2 / 3.0, rel=1e-3)
