"""Alkaline faces in salt water and sea water, and cathodes that slowly fill."""

from __future__ import annotations

import math

import pytest

from aerode.errors import RangeError
from aerode.physics.cathode import (
    CathodeParameters,
    polarization,
    saturation_at,
    scale_growth,
    surface_hydroxide,
    with_saturation,
)
from aerode.physics.cathode.surface_ph import magnesium_capacity

F = 96485.33212
SEA = {"magnesium": 53.0, "magnesium_diffusivity": 0.706e-9, "solubility_product": 5.6e-3}


def test_plain_salt_water() -> None:
    """1 mA/cm² across 1 mm: near 20 mol/m³, pH near 12.3, 0.31 V below the value at pH 7."""
    face = surface_hydroxide(10.0, 1e-3, 1e-4, 5.27e-9)
    assert face.hydroxide == pytest.approx(1e-4 + 10.0 * 1e-3 / (F * 5.27e-9), rel=1e-12)
    assert 14.0 + math.log10(face.hydroxide / 1000.0) == pytest.approx(12.3, abs=0.02)
    assert face.potential_fall == pytest.approx(0.31, abs=0.005)
    assert face.precipitating == 0.0


def test_no_current_no_change() -> None:
    """Without current the face is the bulk."""
    face = surface_hydroxide(0.0, 1e-3, 1e-3, 5e-9, **SEA)
    assert face.hydroxide == pytest.approx(1e-3)
    assert face.potential_fall == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_sea_water_holds_the_face(share: float) -> None:
    """Below the capacity nearly all settles, the face is saturated and balances are kept."""
    capacity = magnesium_capacity(53.0, 0.706e-9, 1e-3)
    assert 0.1 * capacity == pytest.approx(0.72, abs=0.005)
    current = share * capacity
    face = surface_hydroxide(current, 1e-3, 1.6e-3, 5.27e-9, **SEA)
    left = 53.0 * (1.0 - face.precipitating * share)
    assert face.hydroxide**2 * left == pytest.approx(5.6e-3, rel=1e-6)
    carried = F * 5.27e-9 * (face.hydroxide - 1.6e-3) / 1e-3
    assert carried == pytest.approx(current * (1.0 - face.precipitating), rel=1e-6)
    assert 9.0 < 14.0 + math.log10(face.hydroxide / 1000.0) < 9.6


def test_sea_water_beyond_its_magnesium() -> None:
    """Above the capacity only the excess turns the face alkaline."""
    capacity = magnesium_capacity(53.0, 0.706e-9, 1e-3)
    face = surface_hydroxide(3.0 * capacity, 1e-3, 1.6e-3, 5.27e-9, **SEA)
    assert face.precipitating == pytest.approx(1.0 / 3.0, abs=1e-3)
    excess = 1.6e-3 + 2.0 * capacity * 1e-3 / (F * 5.27e-9)
    assert face.hydroxide == pytest.approx(excess, rel=1e-3)


def test_scale() -> None:
    """At the capacity of 1 mm of sea water: up to 3.3 µm an hour of dense solid."""
    assert scale_growth(7.2, 1.0, 24.6e-6) * 3.6e9 == pytest.approx(3.3, abs=0.05)
    assert scale_growth(7.2, 1.0, 24.6e-6, 0.5) == pytest.approx(
        2 * scale_growth(7.2, 1.0, 24.6e-6)
    )


def test_surface_refusals() -> None:
    """Negative currents, no bulk hydroxide, and magnesium without its other values."""
    with pytest.raises(RangeError):
        surface_hydroxide(-1.0, 1e-3, 1e-4, 5e-9)
    with pytest.raises(RangeError):
        surface_hydroxide(1.0, 1e-3, 0.0, 5e-9)
    with pytest.raises(RangeError):
        surface_hydroxide(1.0, 1e-3, 1e-4, 5e-9, magnesium=53.0)


def test_filling(reference: CathodeParameters) -> None:
    """Saturation runs from start to end; a fuller cathode conducts ions better and gas worse."""
    assert saturation_at(0.0, 0.3, 0.9, 1e5) == pytest.approx(0.3)
    assert saturation_at(1e7, 0.3, 0.9, 1e5) == pytest.approx(0.9)
    fuller = with_saturation(reference, 0.4, 0.8)
    assert fuller.ionic_conductivity == pytest.approx(reference.ionic_conductivity * 2**1.5)
    assert fuller.gas_diffusivity == pytest.approx(reference.gas_diffusivity / 9.0)
    assert with_saturation(fuller, 0.8, 0.4).gas_diffusivity == pytest.approx(
        reference.gas_diffusivity
    )
    assert polarization(fuller, [100.0]).reasons == (None,)
    with pytest.raises(RangeError):
        with_saturation(reference, 0.4, 1.0)
    with pytest.raises(RangeError):
        saturation_at(-1.0, 0.3, 0.9, 1e5)
