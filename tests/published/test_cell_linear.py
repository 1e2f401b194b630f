"""A straight cell: matched load, and the two gaps of the trade.

Inputs: E = 1.5 V, R = 5 ohm cm2 in every share of cathode, anode, gap and contact; gaps of 3 mm in
3.5 % NaCl (5.61 S/m) and in 4 mol/L KOH (57.0 S/m) at 25 degC.
Expected: greatest power E²/(4R) at E/2 (matched load: maximum power transfer, any circuit text);
gap resistances 5.35 and 0.53 ohm cm2.
Tolerance: 1e-9 relative for the closed form (a search for a flat top leaves the current half the
digits of the power, so 1e-6 there); half a unit of the last digit for the gaps.
Source: matched load: common practice, no source needed beyond the algebra in the test; KOH
conductivity: Gilliam et al. (2007), Int. J. Hydrogen Energy 32:359; NaCl: fit to CRC Handbook p. 5-71.
How read: values from the project's chemistry notes; status of the conductivities as marked there.
"""

from __future__ import annotations

import math

import pytest

from aerode.physics.anode import AnodeParameters, CorrosionWithCurrent
from aerode.physics.cell import (
    CellParameters,
    current_at_load,
    gap_resistance,
    greatest_power,
    linear_greatest_power,
)
from aerode.physics.cell_cathode import CathodeCurve


@pytest.mark.parametrize(
    ("cathode", "anode", "contact"),
    [(5e-4, 0.0, 0.0), (0.0, 5e-4, 0.0), (0.0, 0.0, 5e-4), (2e-4, 2e-4, 5e-5)],
)
def test_matched_load(cathode: float, anode: float, contact: float) -> None:
    """Whatever share holds the resistance, the top is E²/4R at half the open circuit."""
    gap = 5e-4 - cathode - anode - contact
    metal = AnodeParameters(
        rest_potential=-1.4,
        resistance=anode,
        corrosion_at_rest=0.0,
        under_load=CorrosionWithCurrent(change_per_current=0.0),
    )
    cell = CellParameters(
        cathode=CathodeCurve(potential=lambda i: 0.1 - cathode * i, limit=math.inf),
        anode=metal,
        gap=max(gap, 0.0),
        conductivity=1.0,
        contact_resistance=contact,
    )
    best = greatest_power(cell)
    assert best.power_density == pytest.approx(1.5**2 / (4 * 5e-4), rel=1e-9)
    assert best.power_density == pytest.approx(linear_greatest_power(1.5, 5e-4), rel=1e-9)
    assert best.voltage == pytest.approx(0.75, rel=1e-6)
    assert current_at_load(cell, 5e-4) == pytest.approx(1500.0, rel=1e-12)


@pytest.mark.parametrize(("conductivity", "printed"), [(5.61, 5.35), (57.0, 0.53)])
def test_gaps(conductivity: float, printed: float) -> None:
    """Three millimetres of brine and of lye, in ohm cm2."""
    assert gap_resistance(3e-3, conductivity) * 1e4 == pytest.approx(printed, abs=5.1e-3)
