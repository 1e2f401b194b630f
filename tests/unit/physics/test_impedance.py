"""Spectra of electrodes and cells: limits, diffusion, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.physics.impedance import (
    CellSpectrum,
    FlatElectrode,
    PorousElectrode,
    cell_impedance,
    charge_transfer_resistance,
    diffusion_impedance,
    electrode_impedance,
    porous_direct_resistance,
    surface_impedance,
)

SHEET = FlatElectrode(charge_transfer=1e-3, capacitance=0.4)
LAYER = PorousElectrode(ionic_resistance=2e-4, charge_transfer=1e-3, capacitance=1e3)


def test_semicircle() -> None:
    """A flat electrode draws a half circle with its top at 1/(R C)."""
    top = 1.0 / (2.0 * math.pi * 1e-3 * 0.4)
    z = complex(electrode_impedance(top, SHEET))
    assert z == pytest.approx(0.5e-3 - 0.5e-3j)


def test_no_frequency_too_high_or_low() -> None:
    """No overflow over thirty decades, and the real part falls with frequency."""
    f = np.geomspace(1e-15, 1e15, 61)
    two = PorousElectrode(
        ionic_resistance=2e-4, charge_transfer=1e-3, capacitance=1e3, electronic_resistance=1e-5
    )
    for electrode in (SHEET, LAYER, two):
        z = electrode_impedance(f, electrode)
        assert np.isfinite(z).all()
        assert np.all(np.diff(z.real) <= 1e-18)
        assert np.all(z.imag <= 0.0)


def test_low_frequency_is_direct_current() -> None:
    """The porous electrode settles at its direct-current resistance."""
    z = float(electrode_impedance(1e-12, LAYER).real)
    assert z == pytest.approx(porous_direct_resistance(2e-4, 1e-3), rel=1e-9)


def test_diffusion_adds_its_resistance() -> None:
    """Diffusion adds its resistance at low frequency and nothing at high."""
    slow = FlatElectrode(
        charge_transfer=1e-3, capacitance=0.4, diffusion_resistance=2e-3, diffusion_time=10.0
    )
    low = electrode_impedance(1e-7, slow).real - electrode_impedance(1e-7, SHEET).real
    assert float(low) == pytest.approx(2e-3, rel=1e-6)
    high = electrode_impedance(1e6, slow) - electrode_impedance(1e6, SHEET)
    assert abs(complex(high)) < 1e-8
    line = complex(diffusion_impedance(1e3, resistance=2e-3, time=10.0))
    assert line.imag == pytest.approx(-line.real, rel=1e-9)


def test_diffusion_in_the_pores() -> None:
    """In a porous electrode diffusion raises the charge-transfer part of the direct current."""
    slow = PorousElectrode(
        ionic_resistance=2e-4,
        charge_transfer=1e-3,
        capacitance=1e3,
        diffusion_resistance=2e-3,
        diffusion_time=10.0,
    )
    z = float(electrode_impedance(1e-9, slow).real)
    assert z == pytest.approx(porous_direct_resistance(2e-4, 3e-3), rel=1e-5)


def test_a_cell_adds_up() -> None:
    """Series resistance, leads and both electrodes stand in line."""
    cell = CellSpectrum(series_resistance=5e-5, cathode=LAYER, anode=SHEET, inductance=1e-10)
    f = np.array([0.1, 10.0, 1e4])
    parts = electrode_impedance(f, LAYER) + electrode_impedance(f, SHEET)
    leads = 2j * np.pi * f * 1e-10
    np.testing.assert_allclose(cell_impedance(f, cell), 5e-5 + leads + parts, rtol=1e-14)


def test_charge_transfer_is_the_slope_of_the_curve() -> None:
    """b/i is the slope of a Tafel line."""
    step = 0.05 * math.log(100.01 / 99.99) / 0.02
    assert charge_transfer_resistance(0.05, 100.0) == pytest.approx(step, rel=1e-6)


def test_refusals() -> None:
    """Values of the wrong sign and half-given diffusion are refused."""
    with pytest.raises(RangeError, match="exponent"):
        surface_impedance(1.0, charge_transfer=1.0, capacitance=1.0, exponent=0.2)
    with pytest.raises(RangeError, match="charge transfer"):
        surface_impedance(1.0, charge_transfer=-1.0, capacitance=1.0)
    with pytest.raises(RangeError, match="frequency"):
        electrode_impedance(0.0, SHEET)
    with pytest.raises(RangeError, match="diffusion"):
        FlatElectrode(charge_transfer=1.0, capacitance=1.0, diffusion_time=1.0)
    with pytest.raises(RangeError, match="diffusion"):
        PorousElectrode(
            ionic_resistance=1.0, charge_transfer=1.0, capacitance=1.0, diffusion_time=1.0
        )
