"""A drowned layer without ohmic loss: I = nF c √(Dk) tanh(L √(k/D)).

Inputs: n 4, dissolved oxygen 0.212 mol/m³, D 8e-10 m²/s, L 0.4 mm, a·i0 50 A/m³ at 0.212 mol/m³,
b 0.05138558 V.
Expected: 0.01102386, 0.03945729, 0.10597624, 0.28041070 mA/cm² at 0.1, 0.2, 0.3, 0.4 V.
Tolerance: half a unit of the last printed digit, 5e-9 mA/cm²; 6e-9 for the solver.
Source: Thiele (1939), Ind. Eng. Chem. 31:916, slab (status: unverified, from memory).
How read: evaluated from the closed form outside this program, confirmed there by a general
boundary-value solver.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.physics.cathode import CathodeParameters, current_at_loss, flooded, polarization
from aerode.physics.electrode_limits import flooded_slab_current, flooded_slab_strong_current

PRINTED = {0.1: 0.01102386, 0.2: 0.03945729, 0.3: 0.10597624, 0.4: 0.28041070}
F = 96485.33212
B = 0.05138558


def drowned() -> CathodeParameters:
    """The layer of the inputs; both rails conduct without loss."""
    dry = CathodeParameters(
        thickness=4e-4,
        ionic_conductivity=math.inf,
        electronic_conductivity=math.inf,
        gas_diffusivity=1e-5,
        oxygen_air=8.48,
        air_film=0.0,
        henry_liquid_per_gas=0.025,
        agglomerate_radius=1e-6,
        agglomerate_diffusivity=1e-9,
        agglomerate_fraction=0.4,
        film_transfer=1.0,
        exchange_current=50.0,
        reference_oxygen=0.212,
        tafel_slope=B,
        electrons=4.0,
    )
    return flooded(dry, 8e-10)


@pytest.mark.parametrize("overpotential", list(PRINTED))
def test_closed_form(overpotential: float) -> None:
    """The closed form gives the printed digits."""
    k = 50.0 / (4 * F * 0.212) * math.exp(overpotential / B)
    current = 0.1 * float(flooded_slab_current(4.0, 0.212, 8e-10, 4e-4, k))
    assert current == pytest.approx(PRINTED[overpotential], abs=5.1e-9)


def test_solver() -> None:
    """The solver gives the printed currents at the printed overpotentials."""
    found = current_at_loss(drowned(), list(PRINTED), tolerance=1e-10)
    assert 0.1 * found.current_density == pytest.approx(list(PRINTED.values()), abs=6e-9)


def test_double_slope_and_first_order() -> None:
    """Far up, the slope is exactly twice b and the current proportional to oxygen."""
    k = 50.0 / (4 * F * 0.212) * np.exp(np.array([0.9, 1.0]) / B)
    low, high = flooded_slab_strong_current(4.0, 0.212, 8e-10, k)
    assert 0.1 / math.log(high / low) == pytest.approx(2.0 * B, rel=1e-12)
    curve = polarization(drowned(), [low, high])
    assert curve.complete() == pytest.approx([0.9, 1.0], abs=2e-7)
