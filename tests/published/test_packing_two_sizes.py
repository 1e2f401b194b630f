"""Two sizes of round grains: the Westman blend and Furnas' perfect filling.

Sources: Westman (1936), J. Am. Ceram. Soc. 19:127; Yu, Standish & McLean (1993), J. Am. Ceram. Soc.
76:2813 (the coefficient); Furnas (1931), Ind. Eng. Chem. 23:1052.
How read: the forms and the coefficient are from memory (status: unverified); several searches of
public text found no copy. The figures below were computed from those forms elsewhere, by hand-made
code that shares nothing with this package. What is firm without any paper: the two limits, which
follow from geometry alone and are checked as identities.
"""

from __future__ import annotations

import numpy as np
import pytest

from aerode.physics.packing import (
    closest_specific_volume,
    furnas_large_fraction,
    furnas_packing_fraction,
    packing_coefficient,
    tightest_large_fraction,
    westman_specific_volume,
)

ALONE = 1.0 / 0.60
"""Both sizes alone pack to a solid share of 0.60."""

# size ratio, G, share of large grains at the closest packing, porosity there, porosity at X_L = 0.7
CASES = [
    (0.5, 2.185, 0.545, 0.3622, 0.3668),
    (0.3, 4.863, 0.590, 0.3191, 0.3257),
    (0.2, 9.176, 0.620, 0.2865, 0.2928),
    (0.1, 27.17, 0.655, 0.2409, 0.2448),
    (0.05, 80.4, 0.680, 0.2096, 0.2111),
]


@pytest.mark.parametrize(("ratio", "coefficient", "share", "least", "at_seven_tenths"), CASES)
def test_westman_blend(
    ratio: float, coefficient: float, share: float, least: float, at_seven_tenths: float
) -> None:
    """G to its printed digits; porosities to half a unit of the last; the share to its 0.005 grid."""
    g = float(packing_coefficient(ratio)[0])
    assert g == pytest.approx(coefficient, rel=6e-4)
    best = tightest_large_fraction(ALONE, ALONE, g)
    assert best == pytest.approx(share, abs=0.005)  # the table was read off a grid of that step
    volume = westman_specific_volume([best, 0.7], ALONE, ALONE, g)
    porosity = 1.0 - 1.0 / volume
    assert porosity[0] == pytest.approx(least, abs=6e-5)
    assert porosity[1] == pytest.approx(at_seven_tenths, abs=6e-5)


@pytest.mark.parametrize(
    ("solid", "share", "packing"), [(0.60, 0.7143, 0.84), (0.64, 0.7353, 0.8704)]
)
def test_furnas_ideal(solid: float, share: float, packing: float) -> None:
    """Fine grains fill every void: share of coarse and packing, to the printed digits."""
    volume = 1.0 / solid
    assert furnas_large_fraction(volume, volume) == pytest.approx(share, abs=5e-5)
    assert furnas_packing_fraction(1 - solid, 1 - solid) == pytest.approx(packing, abs=5e-5)
    at_best = closest_specific_volume([share, 1.0 - share], [volume, volume])
    assert 1.0 / at_best == pytest.approx(packing, rel=1e-4)  # `share` is rounded to four digits


def test_like_grains_blend_linearly() -> None:
    """G = 1 gives V = V_L X_L + V_S X_S exactly: mixing like grains changes nothing."""
    share = np.linspace(0.0, 1.0, 101)
    for large, small in ((1.7, 1.7), (1.5, 2.9), (4.2, 1.3)):
        got = westman_specific_volume(share, large, small, 1.0)
        np.testing.assert_allclose(got, large * share + small * (1 - share), rtol=1e-13)


def test_far_apart_sizes_reach_furnas() -> None:
    """G → ∞ gives max(V_L X_L, X_L + V_S X_S), the filling of voids by geometry alone."""
    share = np.linspace(0.0, 1.0, 101)
    for large, small in ((1.7, 1.7), (1.5, 2.9), (4.2, 1.3)):
        got = westman_specific_volume(share, large, small, 1e12)
        limit = np.maximum(large * share, share + small * (1 - share))
        np.testing.assert_allclose(got, limit, rtol=3e-6)  # the gap closes as 1/√G
