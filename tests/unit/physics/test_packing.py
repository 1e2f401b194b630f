"""Packing of powders: ranges, limits and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import RangeError
from aerode.physics.packing import (
    closest_specific_volume,
    critical_pigment_volume,
    furnas_large_fraction,
    furnas_packing_fraction,
    oil_volume_per_mass,
    packing_coefficient,
    pigment_volume,
    tightest_large_fraction,
    voids_left_by_binder,
    westman_specific_volume,
)


def _plain_root(x: float, large: float, small: float, g: float) -> float:
    """The Westman equation by bisection: slow and plain."""

    def gap(v: float) -> float:
        a = (v - large * x) / small
        b = (v - x - small * (1 - x)) / (large - 1)
        return a * a + 2 * g * a * b + b * b - 1

    low = max(large * x, x + small * (1 - x))
    high = large * x + small * (1 - x) + 1e-9
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if gap(middle) < 0 else (low, middle)
    return 0.5 * (low + high)


@pytest.mark.parametrize("g", [1.0, 1.3, 4.8, 80.0, 1e5])
@pytest.mark.parametrize(("large", "small"), [(1.6667, 1.6667), (1.4, 3.9), (2.8, 1.5)])
def test_closed_root_equals_bisection(g: float, large: float, small: float) -> None:
    """The closed root agrees with a bisection of the equation itself."""
    for x in (0.0, 0.13, 0.5, 0.71, 1.0):
        fast = float(westman_specific_volume(x, large, small, g)[0])
        assert fast == pytest.approx(_plain_root(x, large, small, g), rel=1e-9)


def test_a_wider_gap_of_sizes_packs_closer() -> None:
    """The blend's volume falls as the sizes move apart, and stays between the two limits."""
    share = np.linspace(0.05, 0.95, 19)
    last = np.full_like(share, np.inf)
    for ratio in (1.0, 0.7, 0.4, 0.2, 0.05, 0.01):
        now = westman_specific_volume(share, 1.7, 1.9, float(packing_coefficient(ratio)[0]))
        assert np.all(now <= last + 1e-12)
        assert np.all(now >= np.maximum(1.7 * share, share + 1.9 * (1 - share)) - 1e-12)
        last = now


def test_coefficient_is_one_for_like_grains() -> None:
    """Above a ratio of 0.824 the sizes no longer count."""
    assert packing_coefficient([0.83, 1.0]).tolist() == [1.0, 1.0]
    assert float(packing_coefficient(0.81)[0]) > 1.0


def test_tightest_blend_of_like_grains_is_the_denser_powder() -> None:
    """Without a size effect the closest packing is the better packed powder alone."""
    assert tightest_large_fraction(1.5, 1.9, 1.0) == 1.0
    assert tightest_large_fraction(1.9, 1.5, 1.0) == 0.0


def test_bound_of_three_sizes() -> None:
    """Three sizes far apart, worked by hand: the coarse ones are lumps, the fine ones hide."""
    got = closest_specific_volume([0.5, 0.3, 0.2], [1.6, 1.8, 2.5])
    assert got == pytest.approx(max(0.5 * 1.6, 0.5 + 0.3 * 1.8, 0.8 + 0.2 * 2.5))


def test_one_powder_is_its_own_bound() -> None:
    """A single powder packs as it packs."""
    assert closest_specific_volume([1.0], [2.2]) == pytest.approx(2.2)


def test_no_powder_at_all_has_no_voids() -> None:
    """A film of binder alone is filled."""
    assert voids_left_by_binder(0.0, 0.3).tolist() == [0.0]


def test_voids_start_at_the_critical_volume() -> None:
    """The porosity grows from 0 at CPVC, without a step."""
    just_above = float(voids_left_by_binder(0.3 * (1 + 1e-9), 0.3)[0])
    assert just_above == pytest.approx(1e-9, rel=1e-3)
    assert voids_left_by_binder(0.3, 0.3).tolist() == [0.0]


@pytest.mark.parametrize(
    "call",
    [
        lambda: packing_coefficient(0.0),
        lambda: packing_coefficient(1.2),
        lambda: packing_coefficient(math.nan),
        lambda: westman_specific_volume(0.5, 1.0, 1.5, 2.0),
        lambda: westman_specific_volume(0.5, 1.5, math.nan, 2.0),
        lambda: westman_specific_volume(1.5, 1.5, 1.5, 2.0),
        lambda: westman_specific_volume(0.5, 1.5, 1.5, 0.5),
        lambda: furnas_large_fraction(0.9, 1.5),
        lambda: furnas_packing_fraction(1.0, 0.4),
        lambda: closest_specific_volume([0.5, 0.4], [1.5, 1.5]),
        lambda: closest_specific_volume([], []),
        lambda: oil_volume_per_mass(0.0),
        lambda: oil_volume_per_mass(0.2, -1.0),
        lambda: critical_pigment_volume(-1e-3, 2000.0),
        lambda: critical_pigment_volume(1e-3, 0.0),
        lambda: pigment_volume(0.0, 0.0),
        lambda: pigment_volume(-1.0, 2.0),
        lambda: voids_left_by_binder(1.1, 0.3),
        lambda: voids_left_by_binder(0.5, 0.0),
    ],
)
def test_impossible_numbers_are_refused(call: object) -> None:
    """Every number outside its range is refused with what is allowed."""
    with pytest.raises(RangeError) as refusal:
        call()  # type: ignore[operator]
    assert refusal.value.allowed
