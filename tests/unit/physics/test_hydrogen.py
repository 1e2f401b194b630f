"""Hydrogen rates from three kinds of evidence, air and pressure: inverses, edges, refusals."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError
from aerode.physics.hydrogen import (
    aluminium_charge,
    corrosion_current,
    current_from_gas,
    current_from_mass_loss,
    dilution_flow,
    hydrogen_volume,
    pressure_rise,
    safety_factor_flow,
    steady_share,
    time_to_share_closed,
)


def test_mass_loss_and_gas_tell_the_same_current() -> None:
    """A gram of aluminium lost, and the gas it makes, give one current."""
    charge = aluminium_charge(1e-3)
    by_gas = current_from_gas(hydrogen_volume(charge), 3600.0)
    assert current_from_mass_loss(1e-3, 3600.0) == pytest.approx(by_gas)


def test_water_vapour_in_the_gas_counts_off() -> None:
    """3.17 kPa of vapour take 3.1 % off."""
    dry = current_from_gas(1e-4, 60.0)
    assert current_from_gas(1e-4, 60.0, water_vapour_pressure=3170.0) == pytest.approx(
        dry * (1 - 3170.0 / 101325.0)
    )


def test_what_was_drawn_is_not_hydrogen() -> None:
    """Charge delivered counts off the loss, and more than the loss is refused."""
    charge = aluminium_charge(1e-3)
    assert current_from_mass_loss(1e-3, 100.0, discharge=charge) == 0.0
    with pytest.raises(RangeError, match="more charge"):
        current_from_mass_loss(1e-3, 100.0, discharge=1.01 * charge)


def test_flow_and_share_are_inverses() -> None:
    """The flow for 1 % ends at 1 %; no source is no hydrogen; no air is all hydrogen."""
    assert steady_share(2.0, dilution_flow(2.0, 0.01)) == pytest.approx(0.01)
    assert steady_share(0.0, 0.0) == 0.0
    assert steady_share(1.0, 0.0) == 1.0


def test_a_closed_box_takes_longer_the_larger_it_is() -> None:
    """Time is proportional to volume, and short shares fill as gas over volume."""
    small = time_to_share_closed(0.1, 0.01, 0.001)
    assert time_to_share_closed(0.1, 0.01, 0.002) == pytest.approx(2 * small)
    assert small == pytest.approx(0.01 * 0.001 / hydrogen_volume(0.1), rel=0.01)


@pytest.mark.parametrize(
    "call",
    [
        lambda: hydrogen_volume(-1.0),
        lambda: aluminium_charge(-1.0),
        lambda: corrosion_current(-1.0, 0.1),
        lambda: corrosion_current(1.0, 0.1, 0),
        lambda: current_from_gas(1e-4, 60.0, water_vapour_pressure=2e5),
        lambda: dilution_flow(1.0, 0.0),
        lambda: safety_factor_flow(1.0, volume_per_charge=1e-7, dilution=0.0, safety_factor=5.0),
        lambda: time_to_share_closed(0.0, 0.01, 0.001),
        lambda: time_to_share_closed(1.0, 1.0, 0.001),
        lambda: pressure_rise(1.0, 0.0),
        lambda: steady_share(1.0, -1.0),
    ],
)
def test_impossible_inputs_are_refused(call: object) -> None:
    """Each with a range error."""
    with pytest.raises(RangeError):
        call()  # type: ignore[operator]
