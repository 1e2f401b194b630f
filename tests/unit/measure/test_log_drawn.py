"""The charge of a long log: what the definition gives, and what a lead that came off does not."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.measure.log_drawn import log_drawn


def _chunks(time: np.ndarray, volts: np.ndarray, *more: np.ndarray, of: int = 100):
    """The rows in chunks, as a bench holds them."""
    names = ("time", "voltage", "current")
    return [
        {
            name: column[k : k + of]
            for name, column in zip(names, (time, volts, *more), strict=False)
        }
        for k in range(0, time.size, of)
    ]


def test_charge_and_energy_are_their_integrals() -> None:
    """0.58 V falling to 0.50 V in 33 h at 33 ohm: Q = mean V / R times t = 0.54 Ah; E = t / R times the mean square, exact to 1e-4."""
    time = np.linspace(0.0, 33 * 3600.0, 2001)
    volts = 0.58 - 0.08 * time / time[-1]
    drawn = log_drawn(_chunks(time, volts), resistance=33.0, load_uncertainty=0.03, meter_uncertainty=0.004)  # fmt: skip
    square = (0.58**2 + 0.58 * 0.50 + 0.50**2) / 3.0

    assert drawn.charge == pytest.approx(0.54 / 33.0 * time[-1], rel=1e-6)
    assert drawn.energy == pytest.approx(square / 33.0 * time[-1], rel=1e-4)
    assert drawn.charge_uncertainty == pytest.approx(np.hypot(0.03, 0.004) * drawn.charge)
    assert drawn.energy_uncertainty == pytest.approx(np.hypot(0.03, 0.008) * drawn.energy)
    assert (drawn.duration, drawn.doubtful) == (time[-1], 0)


def test_a_lead_that_came_off_is_doubted_and_bridged() -> None:
    """20 mV among 580 mV, over the edge of two chunks, is left out; an end that stays near nothing is none."""
    time = np.arange(0.0, 3000.0, 10.0)
    volts = np.full(time.size, 0.58)
    whole = log_drawn(_chunks(time, volts), resistance=33.0)
    volts[98:102] = 0.02
    dipped = log_drawn(_chunks(time, volts), resistance=33.0)
    volts[250:] = 0.02
    ended = log_drawn(_chunks(time, volts), resistance=33.0)

    assert (dipped.doubtful, dipped.doubtful_at, dipped.usual) == (4, 980.0, 0.58)
    assert dipped.charge == pytest.approx(whole.charge)
    assert ended.doubtful == 4


def test_a_current_that_was_logged_goes_before_the_load() -> None:
    """With a current in every row the load is not asked; without either the charge is not known."""
    time = np.arange(0.0, 3601.0, 60.0)
    volts = np.full(time.size, 0.6)
    logged = log_drawn(_chunks(time, volts, np.full(time.size, 0.02)), resistance=15.0)

    assert logged.charge == pytest.approx(72.0)
    assert log_drawn(_chunks(time, volts)).charge is None


def test_a_cell_that_is_run_down_has_no_slips() -> None:
    """The last digit of a dead cell jumps between 0 and 1 mV: nothing fell, whatever the length of the log."""
    alive, dead = np.full(500, 0.6), np.tile([0.001, 0.0], 50_000)
    volts = np.concatenate((alive, dead))
    volts[100:300] = 0.02  # a lead that came off for longer than one window
    drawn = log_drawn([{"time": np.arange(volts.size) * 10.0, "voltage": volts}], resistance=33.0)

    assert (drawn.doubtful, drawn.doubtful_at) == (200, 1000.0)
