"""The critical pigment volume from oil absorption.

Sources: concept Asbeck & Van Loo (1949), Ind. Eng. Chem. 41:1470 (cited on several pages, paper
not seen). Formula CPVC = 1/(1 + OA·ρ/93.5), OA in g linseed oil/100 g, 93.5 = 100 × oil density:
read on stevenabbott.co.uk, Practical Coatings, page "CPVC", and, with the worked inputs rutile
titanium dioxide OA 20 and 4.2 g/cm³, in R. Lewarchik, "Pigment volume concentration, part II",
UL Prospector, 15 August 2014 (stored copy). The page's own result was not legible: the expected
values are the formula worked by hand.
"""

from __future__ import annotations

import pytest

from aerode.physics.packing import (
    critical_pigment_volume,
    oil_volume_per_mass,
    pigment_volume,
    voids_left_by_binder,
)

CARBON, PTFE = 1800.0, 2200.0


def test_rutile() -> None:
    """OA 20 g/100 g at 4.2 g/cm³: 1/(1 + 20·4.2/93.5) = 0.5268, to the fourth digit."""
    got = critical_pigment_volume(oil_volume_per_mass(0.20), 4200.0)[0]
    assert got == pytest.approx(1.0 / (1.0 + 20.0 * 4.2 / 93.5), rel=1e-12)
    assert got == pytest.approx(0.5268, abs=5e-5)


@pytest.mark.parametrize(
    ("millilitres_per_100_g", "critical", "binder_share"),
    [(100.0, 0.3571, 0.687), (178.0, 0.2379, 0.797)],
)
def test_carbon_black(millilitres_per_100_g: float, critical: float, binder_share: float) -> None:
    """By volume, 1/(1 + OAN·ρ/100); and the PTFE mass share that just fills the voids."""
    got = float(critical_pigment_volume(millilitres_per_100_g * 1e-5, CARBON)[0])
    assert got == pytest.approx(critical, abs=5e-5)
    binder, powder = (1.0 - got) * PTFE, got * CARBON
    assert binder / (binder + powder) == pytest.approx(binder_share, abs=5e-4)


@pytest.mark.parametrize(
    ("share", "volume", "voids"),
    [(0.10, 0.917, 0.74), (0.20, 0.830, 0.713), (0.30, 0.740, 0.679), (0.50, 0.550, 0.567)],
)
def test_voids_of_carbon_black_and_ptfe(share: float, volume: float, voids: float) -> None:
    """PTFE 10 to 50 % by mass on a black of 178 mL/100 g: PVC and voids, worked by hand."""
    critical = critical_pigment_volume(178e-5, CARBON)
    got = pigment_volume((1.0 - share) / CARBON, share / PTFE)
    assert got == pytest.approx(volume, abs=6e-4)
    left = float(voids_left_by_binder(got, critical)[0])
    assert left == pytest.approx(voids, abs=1.1e-3)  # 0.74 is given to two digits
