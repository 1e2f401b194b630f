"""What must hold of any porous layer: bounds, monotony, limits."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from aerode.physics import pressing, seepage, transport, wetting

SHARE = st.floats(0.0, 1.0)
INNER = st.floats(0.01, 0.99)
POSITIVE = st.floats(1e-6, 1e6)


@given(SHARE, POSITIVE, st.floats(0.0, 1.0))
def test_bounds_do_not_cross_and_stay_between_the_phases(
    share: float, better: float, ratio: float
) -> None:
    """worse <= lower <= upper <= better."""
    low, high = transport.hashin_shtrikman(share, better, ratio * better)
    slack = 1e-9 * better

    assert ratio * better - slack <= low <= high + slack
    assert high <= better + slack


@given(SHARE, st.floats(1.0, 4.0))
def test_any_bruggeman_of_half_power_more_keeps_the_bound(share: float, exponent: float) -> None:
    """Exponent 1.5 or more: never above what any isotropic layer can have."""
    bound = float(transport.hashin_shtrikman(share, 1.0)[1])

    assert float(transport.bruggeman(share, exponent + 0.5)) <= bound + 1e-12


@given(INNER, st.floats(1.0, 6.0), SHARE, SHARE)
def test_percolation_never_falls(threshold: float, power: float, one: float, two: float) -> None:
    """More conductor never conducts less; none below the threshold."""
    low, high = sorted((one, two))
    a, b = transport.percolation([low, high], threshold, power)

    assert a <= b
    if high <= threshold:
        assert b == 0.0


@given(POSITIVE, POSITIVE)
def test_bosanquet_lies_below_both(molecular: float, wall: float) -> None:
    """Below the smaller, at least half of it."""
    both = float(transport.bosanquet(molecular, wall))
    least = min(molecular, wall)

    assert 0.5 * least * (1 - 1e-12) <= both <= least


@given(st.floats(0.0, math.pi), st.floats(0.0, math.pi), SHARE)
def test_a_mixed_angle_lies_between_its_parts(one: float, two: float, share: float) -> None:
    """Between the two angles, whatever the share."""
    mixed = wetting.mixed_contact_angle([share, 1.0 - share], [one, two])

    assert min(one, two) - 1e-7 <= mixed <= max(one, two) + 1e-7


@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6), st.floats(0.1, 3.0), st.floats(0.0, math.pi))
def test_more_pressure_never_empties(one: float, two: float, spread: float, angle: float) -> None:
    """The filled share rises with the pressure of the liquid."""
    low, high = sorted((one, two))
    pores = {
        "median_radius": 1e-6, "spread": spread, "contact_angle": angle, "surface_tension": 0.07,
    }  # fmt: skip

    assert seepage.filled_share(low, **pores) <= seepage.filled_share(high, **pores) + 1e-12


@given(st.floats(0.0, 1e8), st.floats(0.0, 1e8), st.floats(1e-9, 1e-6), st.floats(0.0, 2.0))
def test_pressing_never_opens_a_layer(one: float, two: float, slope: float, start: float) -> None:
    """The share of solid rises with pressure and stays at most 1."""
    low, high = sorted((one, two))
    a = pressing.heckel_density(low, slope, start)
    b = pressing.heckel_density(high, slope, start)

    assert 0.0 <= a <= b <= 1.0
