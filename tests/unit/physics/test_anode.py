"""The anode: potential, corrosion with either sign, efficiency, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.physics.anode import (
    AnodeParameters,
    CorrosionWithCurrent,
    CorrosionWithPotential,
    anode_potential,
    corrosion_current,
    faradaic_efficiency,
    potential_of,
    rest_corrosion,
)

PLAIN = AnodeParameters(
    rest_potential=-1.45,
    resistance=1e-4,
    corrosion_at_rest=100.0,
    under_load=CorrosionWithCurrent(change_per_current=0.0),
)


def test_rest_and_slope() -> None:
    """At no current the rest potential stands; the slope there is R + b/(2 i0)."""
    anode = replace(PLAIN, tafel_slope=0.05, exchange_current=10.0)
    assert float(anode_potential(anode, 0.0)) == -1.45
    slope = (float(anode_potential(anode, 1e-4)) + 1.45) / 1e-4
    assert slope == pytest.approx(1e-4 + 0.05 / 20.0, rel=1e-6)


def test_tafel_far_from_rest() -> None:
    """Far from rest a decade of current costs b ln 10."""
    anode = replace(PLAIN, resistance=0.0, tafel_slope=0.05, exchange_current=0.01)
    step = float(anode_potential(anode, 1000.0) - anode_potential(anode, 100.0))
    assert step == pytest.approx(0.05 * np.log(10.0), rel=1e-6)
    assert potential_of(anode, 100.0) == pytest.approx(float(anode_potential(anode, 100.0)))


@pytest.mark.parametrize(("beta", "way"), [(0.1, 1.0), (-0.05, -1.0)])
def test_the_sign_is_left_to_data(beta: float, way: float) -> None:
    """Corrosion rises or falls with load as the data say, and never passes below zero."""
    anode = replace(PLAIN, under_load=CorrosionWithCurrent(change_per_current=beta))
    lost = corrosion_current(anode, np.array([0.0, 500.0, 1e5]))
    assert np.sign(lost[1] - lost[0]) == way
    assert lost[1] == pytest.approx(100.0 + beta * 500.0)
    assert lost[2] >= 0.0


def test_mixed_potential_protects() -> None:
    """With a hydrogen branch, one slope of polarization costs a factor e of corrosion."""
    anode = replace(PLAIN, under_load=CorrosionWithPotential(hydrogen_slope=0.05))
    assert float(corrosion_current(anode, 500.0)) == pytest.approx(100.0 / np.e)
    assert float(faradaic_efficiency(anode, 500.0)) > float(faradaic_efficiency(PLAIN, 500.0))


def test_state_moves_corrosion() -> None:
    """Strength and temperature act by power law and Arrhenius; 50 kJ/mol doubles within 10 to 12 K."""
    anode = replace(
        PLAIN,
        hydroxide_order=0.5,
        reference_hydroxide=4000.0,
        activation_energy=50e3,
        reference_temperature=298.15,
    )
    assert rest_corrosion(anode, hydroxide=4000.0, temperature=298.15) == pytest.approx(100.0)
    warm = rest_corrosion(anode, hydroxide=4000.0, temperature=308.65)
    assert warm == pytest.approx(200.0, rel=0.03)


def test_refusals() -> None:
    """A half-given pair, a missing state and a wrong sign are refused by name."""
    with pytest.raises(RangeError, match="tafel_slope"):
        replace(PLAIN, tafel_slope=0.05)
    with pytest.raises(RangeError, match="hydroxide order"):
        replace(PLAIN, hydroxide_order=1.0)
    with pytest.raises(RangeError, match="resistance"):
        replace(PLAIN, resistance=-1.0)
    needing = replace(PLAIN, hydroxide_order=1.0, reference_hydroxide=1000.0)
    with pytest.raises(RangeError, match="needed"):
        corrosion_current(needing, 1.0)
    with pytest.raises(RangeError, match="change per current"):
        CorrosionWithCurrent(change_per_current=-2.0)
    with pytest.raises(RangeError, match="current density"):
        anode_potential(PLAIN, -1.0)
