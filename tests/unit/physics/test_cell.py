"""The whole cell: voltages, searches, power, and cathode curves from each source."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.physics.anode import AnodeParameters, CorrosionWithCurrent
from aerode.physics.cathode import CathodeParameters, polarization
from aerode.physics.cell import (
    CellParameters,
    cell_curve,
    cell_voltage,
    current_at_load,
    current_at_voltage,
    gap_resistance,
    greatest_power,
    voltage_parts,
)
from aerode.physics.cell_cathode import (
    CathodeCurve,
    lumped_cathode,
    solved_cathode,
    tabulated_cathode,
)
from aerode.quantities import Reason

ANODE = AnodeParameters(
    rest_potential=-1.45,
    resistance=5e-5,
    corrosion_at_rest=100.0,
    under_load=CorrosionWithCurrent(change_per_current=-0.05),
)
LUMPED = lumped_cathode(
    open_circuit=0.05, tafel_slope=0.036, mixed_current=0.5, resistance=3e-4, limit=800.0
)
CELL = CellParameters(
    cathode=LUMPED, anode=ANODE, gap=3e-3, conductivity=57.0, contact_resistance=2e-5
)
POROUS = CathodeParameters(
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


def test_parts_add_up() -> None:
    """The parts make the voltage, and every drop is counted against it."""
    parts = voltage_parts(replace(CELL, product_resistance=1e-5), np.array([0.0, 10.0, 300.0]))
    total = parts.cathode - parts.anode - parts.gap - parts.contacts - parts.product
    np.testing.assert_allclose(total, parts.voltage, rtol=0, atol=1e-15)
    assert parts.voltage[0] == pytest.approx(1.5)
    assert np.all(np.diff(parts.voltage) < 0.0)


def test_bubbles_and_solids_cost() -> None:
    """Both shares raise the resistance with power 1.5."""
    clear = gap_resistance(3e-3, 57.0)
    murky = gap_resistance(3e-3, 57.0, bubble_share=0.1, solids_share=0.2)
    assert murky / clear == pytest.approx(0.72**-1.5)


def test_searches_invert_the_curve() -> None:
    """Current at a voltage and through a resistor bring back that voltage."""
    i = current_at_voltage(CELL, 1.0)
    assert float(cell_voltage(CELL, i)) == pytest.approx(1.0, abs=1e-12)
    i = current_at_load(CELL, 4e-3)
    assert float(cell_voltage(CELL, i)) == pytest.approx(4e-3 * i, abs=1e-12)


def test_greatest_power_beats_its_neighbours() -> None:
    """No current of a fine scan gives more power."""
    best = greatest_power(CELL)
    curve = cell_curve(CELL, np.linspace(0.0, 799.0, 5001))
    assert best.power_density >= curve.power_density.max() - 1e-9
    assert not best.at_the_end


def test_power_at_the_end_of_a_short_table() -> None:
    """Where readings end before the power falls, the answer says it is a lower bound."""
    table = tabulated_cathode([0.0, 5.0, 20.0], [0.05, 0.0, -0.05])
    assert greatest_power(replace(CELL, cathode=table)).at_the_end


def test_beyond_the_limit() -> None:
    """Beyond the limit a curve has a reason and a single voltage is refused."""
    curve = cell_curve(CELL, [10.0, 900.0])
    assert curve.reasons == (None, Reason.BEYOND_LIMIT)
    assert np.isfinite(curve.voltage[0])
    with pytest.raises(CannotTellError, match="limiting current"):
        cell_voltage(CELL, 900.0)
    with pytest.raises(CannotTellError, match="outside the range"):
        current_at_voltage(CELL, 2.0)


def test_less_anode_less_voltage() -> None:
    """A smaller anode polarizes more; the open circuit stays."""
    small = replace(CELL, anode_per_cathode_area=0.25)
    assert float(cell_voltage(small, 0.0)) == float(cell_voltage(CELL, 0.0))
    gained = float(cell_voltage(CELL, 100.0) - cell_voltage(small, 100.0))
    assert gained == pytest.approx(100.0 * 3.0 * 5e-5)


def test_solved_curve_is_the_solver() -> None:
    """Between its points the curve of the porous model agrees with the model itself."""
    curve = solved_cathode(POROUS, equilibrium=0.39, open_circuit=0.15, greatest=240.0)
    side = 39.0  # more than the side current: far enough from the bend to compare at given sums
    assert float(curve.potential(np.asarray(0.0))) == pytest.approx(0.15, abs=1e-6)
    asked = np.array([7.0, 44.0, 133.0])
    from_curve = 0.39 - curve.potential(asked)
    solved = polarization(POROUS, np.concatenate([asked, asked + side])).complete()
    assert np.all(from_curve >= solved[:3] - 1e-9)
    assert np.all(from_curve <= solved[3:])


def test_curve_between_points() -> None:
    """With a side current of nearly nothing the curve is the model's own to a tenth of a millivolt."""
    curve = solved_cathode(POROUS, equilibrium=0.39, open_circuit=0.29, greatest=240.0)
    asked = np.array([7.0, 44.0, 133.0])
    side = 0.139985  # reference case: what a loss of 0.10 V carries
    solved = polarization(POROUS, asked + side).complete()
    np.testing.assert_allclose(0.39 - curve.potential(asked), solved, rtol=0, atol=1e-4)


def test_refusals() -> None:
    """Tables that are not curves, and impossible cells, are refused."""
    with pytest.raises(RangeError, match="cathode curve"):
        tabulated_cathode([1.0, 2.0], [0.1, 0.0])
    with pytest.raises(RangeError, match="does not fall"):
        tabulated_cathode([0.0, 1.0, 2.0], [0.1, 0.0, 0.0])
    with pytest.raises(RangeError, match="limit"):
        CathodeCurve(potential=lambda i: i, limit=0.0)
    with pytest.raises(RangeError, match="open circuit"):
        solved_cathode(POROUS, equilibrium=0.1, open_circuit=0.2, greatest=10.0)
    with pytest.raises(RangeError, match="bubble share"):
        replace(CELL, bubble_share=1.0)
    dead = replace(CELL, cathode=CathodeCurve(potential=lambda i: -2.0 - i, limit=math.inf))
    with pytest.raises(CannotTellError):
        greatest_power(dead)


@pytest.mark.parametrize(
    "worse",
    [
        {"gap": 6e-3},
        {"conductivity": 30.0},
        {"contact_resistance": 2e-4},
        {"product_resistance": 1e-4},
        {"bubble_share": 0.2},
        {"solids_share": 0.3},
        {"anode_per_cathode_area": 0.5},
    ],
)
def test_everything_that_resists_costs_power(worse: dict[str, float]) -> None:
    """Each resistance lowers the greatest power and the short-circuit current."""
    poorer = replace(CELL, **worse)
    assert greatest_power(poorer).power_density < greatest_power(CELL).power_density
    assert current_at_voltage(poorer, 0.5) < current_at_voltage(CELL, 0.5)
