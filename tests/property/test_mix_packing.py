"""Packing and films for any numbers that can be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.physics.film import film_porosity, film_thickness, solid_thickness
from aerode.physics.packing import (
    closest_specific_volume,
    critical_pigment_volume,
    packing_coefficient,
    pigment_volume,
    voids_left_by_binder,
    westman_specific_volume,
)

volumes = st.floats(1.05, 20.0)
shares = st.floats(0.0, 1.0)


@given(shares, volumes, volumes, st.floats(1e-3, 1.0))
def test_a_blend_lies_between_its_limits(
    x: float, large: float, small: float, ratio: float
) -> None:
    """Never looser than side by side, never closer than perfect filling; V solves its equation."""
    g = float(packing_coefficient(ratio)[0])
    v = float(westman_specific_volume(x, large, small, g)[0])
    assert v <= (large * x + small * (1 - x)) * (1 + 1e-12)
    assert v >= closest_specific_volume([x, 1 - x], [large, small]) * (1 - 1e-12)
    a = (v - large * x) / small
    b = (v - x - small * (1 - x)) / (large - 1)
    assert a * a + 2 * g * a * b + b * b == pytest.approx(1.0, abs=1e-6)


@given(st.lists(st.tuples(st.floats(0.01, 1.0), volumes), min_size=1, max_size=6))
def test_the_bound_is_never_above_side_by_side(parts: list[tuple[float, float]]) -> None:
    """Perfect filling is at least as close as powders that lie side by side, and holds all solid."""
    total = sum(weight for weight, _ in parts)
    fractions = [weight / total for weight, _ in parts]
    alone = [volume for _, volume in parts]
    closest = closest_specific_volume(fractions, alone)
    assert closest >= 1.0
    assert closest <= sum(x * v for x, v in zip(fractions, alone, strict=True)) * (1 + 1e-12)


@given(st.floats(1e-9, 1e-3), st.floats(0.0, 1e-3), st.floats(1e-5, 5e-3), st.floats(500.0, 8000.0))
def test_voids_by_counting_volumes(
    powder: float, binder: float, oil: float, density: float
) -> None:
    """1 - CPVC/PVC equals the packing's voids less the binder, counted in cubic metres."""
    critical = float(critical_pigment_volume(oil, density)[0])
    left = float(voids_left_by_binder(pigment_volume(powder, binder), critical)[0])
    whole = powder / critical
    counted = max(0.0, whole - powder - binder) / whole
    assert left == pytest.approx(counted, abs=1e-9)


@given(
    st.lists(st.tuples(st.floats(1e-3, 2.0), st.floats(500.0, 8000.0)), min_size=1, max_size=5),
    st.floats(0.01, 0.94),
)
def test_film_there_and_back(parts: list[tuple[float, float]], porosity: float) -> None:
    """A film of a porosity has the thickness that gives that porosity back."""
    loadings, densities = [m for m, _ in parts], [d for _, d in parts]
    thickness = film_thickness(loadings, densities, porosity)
    assert thickness > solid_thickness(loadings, densities)
    assert film_porosity(loadings, densities, thickness) == pytest.approx(porosity, abs=1e-12)
