"""A spectrum: what hangs together, what a model holds of it, and what it does not hold."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError
from aerode.measure.spectrum import (
    Spectrum,
    SpectrumModel,
    fit_spectrum,
    kramers_kronig,
    model_impedance,
    same_at_both_amplitudes,
)
from aerode.quantities import Reason

F = np.geomspace(0.01, 1e4, 43)
VALUES: dict[SpectrumModel, dict[str, float]] = {
    SpectrumModel.FLAT: {
        "series_resistance": 5e-5,
        "charge_transfer": 1e-3,
        "capacitance": 0.4,
        "exponent": 0.9,
    },
    SpectrumModel.FLAT_WITH_DIFFUSION: {
        "series_resistance": 5e-5,
        "charge_transfer": 1e-3,
        "capacitance": 0.4,
        "exponent": 0.95,
        "diffusion_resistance": 5e-4,
        "diffusion_time": 5.0,
    },
    SpectrumModel.PORES_THAT_ONLY_CHARGE: {
        "series_resistance": 5e-5,
        "ionic_resistance": 3e-4,
        "capacitance": 1e3,
        "exponent": 0.95,
    },
    SpectrumModel.POROUS: {
        "series_resistance": 5e-5,
        "ionic_resistance": 3e-4,
        "charge_transfer": 1e-3,
        "capacitance": 1e3,
        "exponent": 0.95,
    },
    SpectrumModel.POROUS_AND_FLAT: {
        "series_resistance": 5e-5,
        "ionic_resistance": 3e-4,
        "charge_transfer": 1e-3,
        "capacitance": 1e3,
        "exponent": 0.95,
        "anode_charge_transfer": 2e-4,
        "anode_capacitance": 0.4,
    },
}


def seen(model: SpectrumModel, values: dict[str, float], seed: int = 1) -> Spectrum:
    """A spectrum with 0.3 % scatter in each part."""
    dice = np.random.default_rng(seed)
    z = model_impedance(model, F, values)
    scatter = dice.standard_normal(F.size) + 1j * dice.standard_normal(F.size)
    return Spectrum(frequency=F, impedance=z + 0.003 * np.abs(z) * scatter)


@pytest.mark.parametrize("model", list(VALUES))
def test_a_fit_finds_what_made_it(model: SpectrumModel) -> None:
    """Each model gives back the values behind it, within four of the uncertainties it states."""
    spectrum = seen(model, VALUES[model])
    assert kramers_kronig(spectrum, limit=0.012).agrees
    fit = fit_spectrum(spectrum, model)
    assert fit.scatter == pytest.approx(0.003, rel=0.25)
    for name, true in VALUES[model].items():
        told = fit.parameters[name]
        assert told.value is not None
        assert told.standard_uncertainty is not None
        assert abs(told.value - true) < 4.0 * told.standard_uncertainty + 1e-12


def test_a_fast_reaction_holds_only_products() -> None:
    """Where the reaction stays near the mouth of the pores, only R_ion x R_ct and its like are held."""
    fast = {
        "series_resistance": 5e-5,
        "ionic_resistance": 3e-3,
        "charge_transfer": 3e-5,
        "capacitance": 1e3,
        "exponent": 1.0,
    }
    fit = fit_spectrum(seen(SpectrumModel.POROUS, fast), SpectrumModel.POROUS)
    assert fit.parameters["ionic_resistance"].value is None
    assert fit.parameters["ionic_resistance"].reason == Reason.PRIOR_KEPT
    assert fit.parameters["charge_transfer"].value is None
    held = {(h.first, h.second, h.times): h.value.value for h in fit.held_together}
    product = held["ionic_resistance", "charge_transfer", True]
    assert product == pytest.approx(9e-8, rel=0.02)
    assert held["charge_transfer", "capacitance", True] == pytest.approx(0.03, rel=0.02)


def test_the_right_model_is_preferred() -> None:
    """Akaike's criterion takes the porous model for a porous spectrum, the flat one for a flat."""
    for truth in (SpectrumModel.POROUS, SpectrumModel.FLAT):
        spectrum = seen(truth, VALUES[truth], seed=3)
        score = {
            m: fit_spectrum(spectrum, m).corrected_information
            for m in (SpectrumModel.POROUS, SpectrumModel.FLAT)
        }
        assert score[truth] == min(score.values())


def test_drift_does_not_hang_together() -> None:
    """A charge-transfer resistance that grows by half through the sweep is caught at low frequency."""
    falling = np.sort(F)[::-1]
    elapsed = np.cumsum(3.0 / falling)
    share = elapsed / elapsed[-1]
    values = VALUES[SpectrumModel.FLAT]
    z = np.array(
        [
            complex(
                model_impedance(
                    SpectrumModel.FLAT, f, {**values, "charge_transfer": 1e-3 * (1 + 0.5 * s)}
                )
            )
            for f, s in zip(falling, share, strict=True)
        ]
    )
    found = kramers_kronig(Spectrum(frequency=falling, impedance=z))
    assert not found.agrees
    assert found.worst_frequency < 1.0
    assert "drifted" in found.words


def test_a_scaled_imaginary_part_is_caught() -> None:
    """Imaginary parts 6 % too large belong to nothing."""
    z = model_impedance(SpectrumModel.FLAT, F, VALUES[SpectrumModel.FLAT])
    assert not kramers_kronig(Spectrum(frequency=F, impedance=z.real + 1.06j * z.imag)).agrees


def test_amplitudes() -> None:
    """A larger amplitude that changes the spectrum is told apart."""
    one = seen(SpectrumModel.FLAT, VALUES[SpectrumModel.FLAT])
    other = Spectrum(frequency=one.frequency, impedance=0.9 * one.impedance)
    assert same_at_both_amplitudes(one, one)
    assert not same_at_both_amplitudes(one, other)
    with pytest.raises(RangeError, match="frequencies"):
        same_at_both_amplitudes(one, Spectrum(frequency=2 * F, impedance=one.impedance))


def test_refusals() -> None:
    """Too few frequencies, wrong shapes and wrong names are refused."""
    z = model_impedance(SpectrumModel.FLAT, F, VALUES[SpectrumModel.FLAT])
    with pytest.raises(CannotTellError, match="frequencies"):
        Spectrum(frequency=F[:4], impedance=z[:4])
    with pytest.raises(RangeError, match="spectrum"):
        Spectrum(frequency=F, impedance=z[:-1])
    with pytest.raises(RangeError, match="spectrum"):
        Spectrum(frequency=F - 1.0, impedance=z)
    with pytest.raises(RangeError, match="twice"):
        Spectrum(frequency=np.ones(8), impedance=z[:8])
    with pytest.raises(RangeError, match="capacitance"):
        model_impedance(SpectrumModel.FLAT, F, {"series_resistance": 1.0})
    with pytest.raises(RangeError, match="limit"):
        kramers_kronig(Spectrum(frequency=F, impedance=z), limit=0.0)
    with pytest.raises(RangeError, match="scatter"):
        fit_spectrum(Spectrum(frequency=F, impedance=z), SpectrumModel.FLAT, scatter=-1.0)
