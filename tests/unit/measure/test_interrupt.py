"""A current interrupt against simulated electrodes whose resistances are known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from aerode.errors import CannotTellError, RangeError
from aerode.measure.interrupt import (
    activation_gone,
    missed_in_pores,
    order_of_resistances,
    read_interrupt,
)
from aerode.quantities import Quantity, Reason


def chain_after_cut(
    ionic: float,
    electronic: float,
    charge_transfer: float,
    capacitance: float,
    times: NDArray[np.float64],
) -> tuple[float, NDArray[np.float64]]:
    """Loss before the cut and after it, for 1 A/m2 through a chain of 240 cells with two rails.

    Unknowns: the double-layer voltages; the chain's own eigenvectors carry them through time.
    """
    n = 240
    rail = (ionic + electronic) / n
    # Current into cell k from its neighbours: second difference of its voltage over the rails.
    spread = (np.diag(np.full(n, -2.0)) + np.eye(n, k=1) + np.eye(n, k=-1)) / rail
    spread[0, 0] = spread[-1, -1] = -1.0 / rail
    each = capacitance / n
    matrix = (spread - np.eye(n) / (charge_transfer * n)) / each
    # Under load: all current enters from the liquid at the last cell and leaves by the solid at the first.
    entering = np.zeros(n)
    entering[-1] += ionic / (ionic + electronic)
    entering[0] += electronic / (ionic + electronic)
    steady = np.linalg.solve(-matrix, entering / each)
    side_by_side = ionic * electronic / (ionic + electronic)
    rates, vectors = np.linalg.eigh(matrix)
    weights = vectors.T @ steady
    # Loss: liquid potential at its face less solid at the collector, rails sharing 1 A/m2 or nothing.
    share = ionic / (ionic + electronic)

    def loss(voltages: NDArray[np.float64], load: float) -> float:
        return float(load * side_by_side + share * voltages[-1] + (1.0 - share) * voltages[0])

    after = [loss(vectors @ (weights * np.exp(rates * t)), 0.0) for t in times]
    return loss(steady, 1.0), np.array(after)


TIMES = np.array([1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 14.0, 20.0]) * 1e-5


@pytest.mark.parametrize("electronic", [1e-4, 3e-4])
def test_pores_show_their_rails_side_by_side(electronic: float) -> None:
    """The extrapolation finds the two rails side by side; the rest of the steady loss is missed."""
    before, after = chain_after_cut(3e-4, electronic, 2e-3, 100.0, TIMES)
    seen = read_interrupt(
        TIMES,
        1.0 - 100.0 * after,
        voltage_before=1.0 - 100.0 * before,
        current_density=100.0,
        voltage_uncertainty=1e-5,
    )
    instant = 3e-4 * electronic / (3e-4 + electronic)
    assert seen.porous.value == pytest.approx(instant, rel=0.03)
    assert seen.first_reading.value is not None
    assert seen.porous.value is not None
    assert seen.first_reading.value > seen.porous.value
    missed = before - 2e-3 - instant
    assert missed == pytest.approx(missed_in_pores(3e-4, electronic), rel=0.05)


def test_a_flat_electrode_is_lumped_in() -> None:
    """Read late, a flat electrode's activation counts as resistance; read early, the law takes it out."""
    resistance = 2e-4
    metal = {"tafel_slope": 0.05, "capacitance": 0.4, "current_density": 100.0}
    early = np.geomspace(2e-5, 2e-3, 8)
    rise = 100.0 * resistance + activation_gone(early, **metal)
    seen = read_interrupt(
        early, 0.9 + rise, voltage_before=0.9, current_density=100.0, voltage_uncertainty=1e-5
    )
    assert seen.flat.value == pytest.approx(resistance, rel=0.02)
    assert seen.first_reading.value is not None
    assert seen.first_reading.value > resistance * 1.1
    late = np.arange(1, 9) * 0.1
    rise = 100.0 * resistance + activation_gone(late, **metal)
    blind = read_interrupt(
        late, 0.9 + rise, voltage_before=0.9, current_density=100.0, voltage_uncertainty=1e-3
    )
    assert blind.first_reading.value is not None
    assert blind.first_reading.value > 10.0 * resistance
    assert any("anode's kinetics" in words for words in blind.words)


def test_every_reading_says_what_it_misses() -> None:
    """The ionic third is named in every answer, and a flat law that is not held has its reason."""
    late = np.arange(1, 9) * 0.1
    rise = 0.02 + activation_gone(late, tafel_slope=0.05, capacitance=0.4, current_density=100.0)
    seen = read_interrupt(
        late, 0.9 + rise, voltage_before=0.9, current_density=100.0, voltage_uncertainty=1e-3
    )
    assert any("ionic" in words for words in seen.words)
    assert seen.flat.value is None
    assert seen.flat.reason == Reason.PRIOR_KEPT
    assert any("no flat-electrode extrapolation" in words for words in seen.words)


def test_nothing_relaxes() -> None:
    """A plain resistor jumps and stays: all readings of it agree."""
    seen = read_interrupt(
        TIMES,
        np.full(TIMES.size, 0.92),
        voltage_before=0.9,
        current_density=100.0,
        voltage_uncertainty=1e-4,
    )
    assert seen.porous.value == pytest.approx(2e-4)
    assert seen.first_reading.value == pytest.approx(2e-4)


def ohm(value: float | None) -> Quantity:
    """A resistance with 1e-5 of uncertainty, or none."""
    if value is None:
        return Quantity.missing("ohm m^2", Reason.NOT_MEASURED)
    return Quantity(value=value, unit="ohm m^2", standard_uncertainty=1e-5)


def test_order() -> None:
    """Only an order broken beyond its uncertainty is named, and what is not known is left out."""
    good = order_of_resistances(steady=ohm(5e-4), interrupt=ohm(3e-4), high_frequency=ohm(3.1e-4))
    assert good == ()
    broken = order_of_resistances(steady=ohm(2e-4), interrupt=ohm(3e-4), high_frequency=ohm(None))
    assert len(broken) == 1
    assert "steady curve" in broken[0]


def test_refusals() -> None:
    """Too few readings and times that do not rise are refused."""
    with pytest.raises(CannotTellError, match="readings"):
        read_interrupt(
            [1.0, 2.0],
            [1.0, 1.0],
            voltage_before=0.9,
            current_density=1.0,
            voltage_uncertainty=1e-3,
        )
    with pytest.raises(RangeError, match="rise"):
        read_interrupt(
            np.zeros(6),
            np.ones(6),
            voltage_before=0.9,
            current_density=1.0,
            voltage_uncertainty=1e-3,
        )
    with pytest.raises(RangeError, match="time"):
        activation_gone(-1.0, tafel_slope=0.05, capacitance=1.0, current_density=1.0)
