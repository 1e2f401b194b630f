"""Grains that work at their skin only double the Tafel slope; with a front on top it is fourfold.

Inputs: grains of 0.1 mm so that the Thiele modulus is above 30 everywhere; no film, oxygen
everywhere.
Expected: the Tafel solution with b → 2b and the exchange current of the skin,
Q = nF H c √(k f D)/ℓ; slope 2b when even, tending to 4b with ionic control.
Tolerance: 1e-6 of b from the next term 1/(3φ) of the sphere, left out by using slabs, for which
the skin form is exact to e^{−2φ}.
Source: Perry, Newman & Cairns (1998), J. Electrochem. Soc. 145:5 (status: unverified, from
memory; follows from the Tafel front with 2b).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.physics.cathode import CathodeParameters, polarization
from aerode.physics.effectiveness import Shape
from aerode.physics.electrode_limits import tafel_rails

F = 96485.33212
B, LENGTH, DIFFUSIVITY, SHARE, HENRY, OXYGEN = 0.05, 1e-4, 5e-10, 0.4, 0.025, 8.0


def grainy() -> CathodeParameters:
    """Large slab-shaped grains, everything else wide open."""
    return CathodeParameters(
        thickness=4e-4,
        ionic_conductivity=2.0,
        electronic_conductivity=math.inf,
        gas_diffusivity=1e9,
        oxygen_air=OXYGEN,
        air_film=0.0,
        henry_liquid_per_gas=HENRY,
        agglomerate_radius=LENGTH,
        agglomerate_diffusivity=DIFFUSIVITY,
        agglomerate_fraction=SHARE,
        film_transfer=math.inf,
        exchange_current=1e5,
        reference_oxygen=0.2,
        tafel_slope=B,
        electrons=4.0,
        agglomerate_shape=Shape.SLAB,
    )


def test_double_and_fourfold() -> None:
    """The solver equals the Tafel front with twice the slope, and its slope climbs from 2b to 4b."""
    k0 = 1e5 / (4 * F * 0.2)
    skin = 4 * F * HENRY * OXYGEN * math.sqrt(k0 * SHARE * DIFFUSIVITY) / LENGTH
    currents = np.array([20.0, 20.02, 2e5, 2.002e5])
    exact = [tafel_rails(i, 4e-4, 2.0, math.inf, skin, 2 * B) for i in currents]
    losses = polarization(grainy(), currents, tolerance=1e-10).complete()
    assert losses == pytest.approx([state.face_overpotential for state in exact], abs=1e-8)
    slopes = np.diff(losses)[[0, 2]] / math.log(1.001) / B
    assert slopes == pytest.approx([2.0, 4.0], abs=0.03)
