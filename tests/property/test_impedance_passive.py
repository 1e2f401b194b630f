"""Any electrode: it gives no power back, hangs together, and costs more where it resists more."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.measure.spectrum import Spectrum, kramers_kronig
from aerode.physics.impedance import PorousElectrode, electrode_impedance

F = np.geomspace(1e-3, 1e5, 41)
SIZES = st.floats(1e-6, 1e-2)


@st.composite
def electrodes(draw: st.DrawFn) -> PorousElectrode:
    """Porous, one rail or two, reacting or not, with or without diffusion."""
    slow = draw(st.booleans())
    return PorousElectrode(
        ionic_resistance=draw(SIZES),
        charge_transfer=draw(st.one_of(SIZES, st.just(math.inf))),
        capacitance=draw(st.floats(0.1, 1e4)),
        exponent=draw(st.floats(0.5, 1.0)),
        electronic_resistance=draw(st.one_of(st.none(), SIZES)),
        diffusion_resistance=draw(SIZES) if slow else None,
        diffusion_time=draw(st.floats(1e-3, 1e3)) if slow else None,
    )


@given(electrode=electrodes())
def test_passive(electrode: PorousElectrode) -> None:
    """Resistance above zero, never inductive, finite everywhere."""
    z = electrode_impedance(F, electrode)
    assert np.isfinite(z).all()
    assert np.all(z.real > 0.0)
    assert np.all(z.imag <= 1e-12 * np.abs(z))


@given(electrode=electrodes(), factor=st.floats(1.01, 10.0))
def test_more_ionic_resistance_costs_more(electrode: PorousElectrode, factor: float) -> None:
    """The real part rises with the ionic resistance at low frequency."""
    worse = replace(electrode, ionic_resistance=electrode.ionic_resistance * factor)
    low = np.array([1e-9])
    more = electrode_impedance(low, worse).real - electrode_impedance(low, electrode).real
    assert more[0] >= -1e-9 * abs(electrode_impedance(low, electrode)[0])


@settings(max_examples=15, deadline=None)
@given(electrode=electrodes())
def test_every_model_hangs_together(electrode: PorousElectrode) -> None:
    """Real and imaginary parts of any electrode belong to each other, to half a per cent.

    Asked over two more decades at the slow end: a diffusion that has not come to rest inside the
    measured range is a tail that the check rightly calls unfinished.
    """
    whole = np.geomspace(1e-6, 1e5, 56)
    z = electrode_impedance(whole, electrode)
    assert kramers_kronig(Spectrum(frequency=whole, impedance=z), limit=0.005).agrees
