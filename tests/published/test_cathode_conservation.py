"""What no cathode can break: oxygen in is current out, currents add up, the loss rises, ceilings hold.

Inputs: forty random cathodes a bench could have made (seed 20260101), currents from 0.01 mA/cm2 to 0.9
of the limit; oxygen in pores of 100 nm and 1 um at 298 K.
Expected: nF N(0) = I and the integral of the rate = I; four parts of the loss = the loss; loss rising
with the current; loss at least that of kinetics alone; current below the gas ceiling nF D c/L' with the
still air in series; Knudsen 1.480e-5 and 1.480e-4 m2/s.
Tolerance: 1e-6 relative for the flux, 2 % for a trapezium over 16 places, 2e-7 V for the parts,
half a unit of the last printed digit for Knudsen.
Source: Faraday's law and conservation of charge and mass; Knudsen (1909) as in any text.
How read: laws; Knudsen's number worked out from (d/3) sqrt(8RT/(pi M)) outside this program.
"""

from __future__ import annotations

import importlib.util
import math
import sys
from pathlib import Path

import numpy as np
import pytest

from aerode.physics.cathode import (
    CathodeParameters,
    limiting_current,
    operating_point,
    polarization,
)
from aerode.physics.constants import FARADAY
from aerode.physics.transport import knudsen_diffusivity

CASES = Path(__file__).parents[1] / "unit" / "physics" / "cathode" / "cases.py"


def cathodes() -> list[CathodeParameters]:
    """Forty of them."""
    spec = importlib.util.spec_from_file_location("cathode_cases_for_conservation", CASES)
    assert spec is not None
    assert spec.loader is not None
    cases = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = cases
    spec.loader.exec_module(cases)
    dice = np.random.default_rng(20260101)
    return [cases.ordinary_case(dice) for _ in range(40)]


def test_oxygen_charge_and_parts() -> None:
    """Flux at the air face, integral of the rate, and the sum of the parts."""
    for cathode in cathodes()[:12]:
        current = min(300.0, 0.5 * limiting_current(cathode))
        point = operating_point(cathode, current)
        inside = point.profile
        supplied = cathode.electrons * FARADAY * cathode.air_diffusivity
        supplied *= (cathode.oxygen_air - inside.oxygen[0]) / cathode.air_film
        made = float(np.trapezoid(inside.local_rate, inside.depth))

        assert supplied == pytest.approx(current, rel=1e-6)
        assert inside.ionic_current[-1] == pytest.approx(current, rel=1e-8)
        assert made == pytest.approx(current, rel=2e-2)  # the trapezium's own error on 16 places
        assert abs(point.losses.gap) < 2e-7


def test_rising_and_above_kinetics_and_below_every_ceiling() -> None:
    """Loss against current; kinetics alone; the gas ceiling."""
    for cathode in cathodes():
        limit = limiting_current(cathode)
        currents = np.geomspace(0.1, 0.9 * limit, 12)
        loss = polarization(cathode, currents).complete()
        henry = cathode.henry_liquid_per_gas * cathode.oxygen_air / cathode.reference_oxygen
        strength = cathode.exchange_current * cathode.thickness * henry
        kinetics = cathode.tafel_slope * np.log(currents / strength)
        ceiling = cathode.electrons * FARADAY * cathode.air_diffusivity * cathode.oxygen_air

        assert bool((np.diff(loss) > 0.0).all())
        assert bool((loss > kinetics - 2e-7).all())
        assert limit < ceiling / cathode.air_film


@pytest.mark.parametrize(("pore", "printed"), [(1e-7, 1.480e-5), (1e-6, 1.480e-4)])
def test_knudsen_of_oxygen(pore: float, printed: float) -> None:
    """Oxygen at 298 K in two pores."""
    found = float(knudsen_diffusivity(pore, 298.0, 31.998e-3))

    assert math.floor(math.log10(found)) == math.floor(math.log10(printed))
    assert found == pytest.approx(printed, rel=3.5e-4)
