"""Laws that the room models keep whatever the numbers."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.physics.exposure import (
    mass_concentration,
    mixture_index,
    mole_fraction,
    time_weighted_average,
)
from aerode.physics.hydrogen import hydrogen_volume
from aerode.physics.near_field import two_zone, two_zone_average, two_zone_history
from aerode.physics.room_air import (
    Stage,
    flow_needed,
    flow_needed_for_dose,
    purge_time,
    well_mixed,
    well_mixed_average,
    well_mixed_history,
)

emissions = st.floats(1e-9, 1e-3)
flows = st.floats(1e-4, 1.0)
exchanges = st.floats(1e-3, 1.0)
volumes = st.floats(5.0, 500.0)
near_volumes = st.floats(0.05, 4.0)
times = st.floats(1.0, 1e5)
mixings = st.floats(1.0, 10.0)


@given(emissions, flows, volumes)
def test_doubling_the_air_halves_the_steady_state(g: float, q: float, v: float) -> None:
    """Css is proportional to 1/Q."""
    forever = 1e3 * v / q
    assert well_mixed(g, 2 * q, v, forever) == pytest.approx(0.5 * well_mixed(g, q, v, forever))


@given(emissions, flows, volumes, mixings)
def test_mixing_scales_the_steady_state(g: float, q: float, v: float, k: float) -> None:
    """Css is proportional to K."""
    forever = 1e4 * v / q
    assert well_mixed(g, q, v, forever, mixing=k) == pytest.approx(
        k * well_mixed(g, q, v, forever), rel=1e-9
    )


@given(emissions, flows, volumes, times)
def test_a_room_never_passes_its_steady_state_or_a_sealed_room(
    g: float, q: float, v: float, t: float
) -> None:
    """C <= G/Q and C <= G t / V."""
    c = well_mixed(g, q, v, t)
    assert c <= g / q * (1 + 1e-9)
    assert c <= well_mixed(g, 0.0, v, t) * (1 + 1e-9)


@given(emissions, flows, volumes, times, times)
def test_two_stages_are_one(g: float, q: float, v: float, a: float, b: float) -> None:
    """Cutting a stage in two changes nothing."""
    whole = well_mixed_history([Stage(a + b, g, q)], v)[-1]
    halves = well_mixed_history([Stage(a, g, q), Stage(b, g, q)], v)[-1]
    assert halves == pytest.approx(whole, rel=1e-9)


@given(emissions, flows, volumes, times)
def test_the_dose_is_bounded_by_what_evaporated(g: float, q: float, v: float, t: float) -> None:
    """The integral over source and airing is m/Q once the room is clear, never more before."""
    window = t + 60 * v / q
    average = well_mixed_average([Stage(t, g, q), Stage(60 * v / q, 0.0, q)], v, window)
    assert average * window == pytest.approx(g * t / q, rel=1e-6)
    early = well_mixed_average([Stage(t, g, q)], v, window)
    assert early <= average * (1 + 1e-9)


@given(st.floats(1e-6, 1e-1), st.floats(1e-6, 1e-2), st.floats(0.05, 1.0), volumes)
def test_the_flow_for_a_dose_keeps_the_day_below(
    mass: float, limit: float, share: float, v: float
) -> None:
    """However fast it dries, the average with that flow stays at or below the share of the limit."""
    day = 28800.0
    q = flow_needed_for_dose(mass, limit, day, share=share)
    for drying in (60.0, 3600.0, 28800.0):
        stages = [Stage(drying, mass / drying, q), Stage(day - drying, 0.0, q)]
        kept = [s for s in stages if s.duration > 0]
        assert well_mixed_average(kept, v, day) <= share * limit * (1 + 1e-6)


@given(emissions, flows, st.floats(0.05, 1.0))
def test_the_flow_for_a_source_is_the_inverse(g: float, q: float, share: float) -> None:
    """The flow needed for the steady state of a flow is that flow."""
    assert flow_needed(g, g / q / share, share=share) == pytest.approx(q)


@given(st.floats(1e-6, 1.0), st.floats(1e-9, 1.0), flows, volumes)
def test_purging_for_the_purge_time_reaches_the_target(
    c0: float, c1: float, q: float, v: float
) -> None:
    """After that time the concentration is the target, or it was below from the start."""
    t = purge_time(c0, c1, q, v)
    reached = well_mixed(0.0, q, v, t, initial=c0)
    assert reached == pytest.approx(min(c0, c1), rel=1e-6)


@given(emissions, flows, near_volumes, volumes, st.floats(10.0, 1e4))
def test_a_great_exchange_gives_the_well_mixed_room(
    g: float, q: float, near: float, far: float, t: float
) -> None:
    """beta -> infinity: near equals far equals one zone."""
    n, f = two_zone(g, q, 1e6, near, far, t)
    one = well_mixed(g, q, near + far, t)
    assert n == pytest.approx(one, rel=1e-3)
    assert f == pytest.approx(one, rel=1e-3)


@given(emissions, flows, exchanges, near_volumes, volumes, times)
def test_the_near_field_is_never_cleaner_than_the_far_field(
    g: float, q: float, beta: float, near: float, far: float, t: float
) -> None:
    """With the source in the near field: CF <= CN <= G/Q + G/beta, and mass is not made."""
    n, f = two_zone(g, q, beta, near, far, t)
    assert f <= n * (1 + 1e-6) + 1e-30
    assert n <= (g / q + g / beta) * (1 + 1e-9)
    assert n * near + f * far <= g * t * (1 + 1e-6)


@given(emissions, flows, exchanges, near_volumes, volumes, st.floats(1.0, 2e4))
def test_the_closed_form_and_the_staged_form_agree(
    g: float, q: float, beta: float, near: float, far: float, t: float
) -> None:
    """Two ways of writing the same solution, from clean air and cut in two stages."""
    closed = two_zone(g, q, beta, near, far, t)
    staged = two_zone_history([Stage(0.3 * t, g, q), Stage(0.7 * t, g, q)], beta, near, far)[-1]
    scale = g / q + g / beta
    for mine, theirs in zip(staged, closed, strict=True):
        assert math.isclose(mine, theirs, rel_tol=1e-6, abs_tol=1e-9 * scale)


@given(emissions, flows, exchanges, near_volumes, volumes, st.floats(60.0, 2e4))
def test_the_average_lies_between_nothing_and_the_end(
    g: float, q: float, beta: float, near: float, far: float, t: float
) -> None:
    """A steady source from clean air only rises, so its mean lies below its end."""
    ends = two_zone_history([Stage(t, g, q)], beta, near, far)[-1]
    means = two_zone_average([Stage(t, g, q)], beta, near, far, t)
    scale = 1e-7 * (g / q + g / beta)
    for mean, end in zip(means, ends, strict=True):
        assert 0.0 <= mean <= end + scale


@given(st.floats(0.0, 0.5), st.floats(0.016, 0.4), st.floats(250.0, 400.0))
def test_ppm_and_milligrams_go_round_trip(y: float, m: float, t: float) -> None:
    """Share by volume -> mass per volume -> share by volume."""
    assert mole_fraction(mass_concentration(y, m, t), m, t) == pytest.approx(y, abs=1e-15)


@given(st.lists(st.tuples(st.floats(0, 1e3), st.floats(0.1, 1e3)), min_size=2, max_size=6))
def test_the_mixture_rule_is_additive(parts: list[tuple[float, float]]) -> None:
    """The index of all is the sum of the index of each, in any order."""
    c, limits = [p[0] for p in parts], [p[1] for p in parts]
    each = sum(mixture_index([a], [b]) for a, b in parts)
    assert mixture_index(c, limits) == pytest.approx(each)
    assert mixture_index(c[::-1], limits[::-1]) == pytest.approx(each)


@given(st.floats(0.0, 1e3), st.floats(1.0, 28800.0))
def test_a_steady_day_averages_to_its_share(c: float, t: float) -> None:
    """One stretch counts with its share of the day."""
    assert time_weighted_average([c], [t]) == pytest.approx(c * t / 28800.0)


@given(st.floats(0.0, 1e6))
def test_warm_hydrogen_takes_more_room(charge: float) -> None:
    """25 degC over 0 degC is 1.0915, whatever the charge."""
    cold, warm = hydrogen_volume(charge, 273.15), hydrogen_volume(charge, 298.15)
    assert warm == pytest.approx(cold * 1.0915, rel=1e-4)
