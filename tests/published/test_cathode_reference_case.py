"""One whole cathode, all mechanisms on, computed beforehand by another method.

Inputs: L 0.4 mm, κ 2, σ 50 S/m, D_g 2e-6 m²/s, air 8.56 mol/m³, no air film, H 0.0265,
R_ag 2 µm (sphere), D_ag 5e-10 m²/s, f_ag 0.4, k_f 50 1/s, a·i0 50 A/m³ at 0.22684 mol/m³,
b 0.05138558 V, n 4.
Expected: currents at four overpotentials, the four parts of the loss at 0.50 V, the ratio of
rates front to back and the oxygen left, as below.
Tolerance: 0.1 %, as stated with the case; 0.002 mV for the parts (last printed digit).
Source: equations of Newman & Tobias (1962) and Perry, Newman & Cairns (1998) (status: unverified,
from memory) solved in potential control with a general boundary-value collocation (tolerance 1e-7)
before this program was written. It shares no code with it.
"""

from __future__ import annotations

import pytest

from aerode.physics.cathode import CathodeParameters, OperatingPoint, operating_point

PRINTED = {0.10: 0.0139985, 0.20: 0.0978494, 0.40: 4.42009, 0.50: 22.2154}  # V → mA/cm²


def solved(current: float) -> OperatingPoint:
    """The reference cathode at a current in mA/cm²."""
    cathode = CathodeParameters(
        thickness=4e-4,
        ionic_conductivity=2.0,
        electronic_conductivity=50.0,
        gas_diffusivity=2e-6,
        oxygen_air=8.56,
        air_film=0.0,
        henry_liquid_per_gas=0.0265,
        agglomerate_radius=2e-6,
        agglomerate_diffusivity=5e-10,
        agglomerate_fraction=0.4,
        film_transfer=50.0,
        exchange_current=50.0,
        reference_oxygen=0.22684,
        tafel_slope=0.05138558,
        electrons=4.0,
    )
    return operating_point(cathode, 10.0 * current)


@pytest.mark.parametrize("overpotential", list(PRINTED))
def test_face_overpotential(overpotential: float) -> None:
    """At the printed current the face stands at the printed overpotential (0.1 % of it)."""
    point = solved(PRINTED[overpotential])
    assert point.face_overpotential == pytest.approx(overpotential, rel=1e-3)
    # A current to 0.1 % is an overpotential to 0.1 % of the Tafel slope: the sharper form.
    assert point.face_overpotential == pytest.approx(overpotential, abs=1e-3 * 0.05138558)


def test_parts_and_profile() -> None:
    """The parts of the loss at 0.50 V, the rate front to back and the oxygen that is left."""
    point = solved(PRINTED[0.50])
    parts = point.losses
    millivolts = [1e3 * v for v in (parts.ionic, parts.electronic, parts.kinetic, parts.oxygen)]
    assert millivolts == pytest.approx([13.515, 0.639, 478.934, 7.850], abs=2e-3)
    assert 1e3 * point.loss == pytest.approx(500.938, abs=2e-3)
    inside = point.profile
    assert inside.local_rate[-1] / inside.local_rate[0] == pytest.approx(1.386, rel=1e-3)
    assert inside.oxygen[-1] / 8.56 == pytest.approx(0.99290, rel=1e-4)
