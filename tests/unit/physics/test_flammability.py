"""Flammable bands, warm limits, closed spaces: edges and refusals."""

from __future__ import annotations

import pytest

from aerode.errors import RangeError
from aerode.physics.flammability import (
    Headspace,
    air_volume_at_share,
    flash_share,
    headspace,
    lower_limit_at,
    mixture_lower_limit,
    saturated_share,
    source_flow,
    vapour_volume,
)


@pytest.mark.parametrize(
    ("share", "expected"),
    [
        (0.005, Headspace.BELOW),
        (0.01, Headspace.INSIDE),
        (0.078, Headspace.INSIDE),
        (0.2, Headspace.ABOVE),
    ],
)
def test_where_the_air_over_a_jar_stands(share: float, expected: Headspace) -> None:
    """The ends of the band count as inside."""
    assert headspace(share, 0.01, 0.078) is expected


def test_a_cold_space_keeps_the_limit_of_25_degrees() -> None:
    """The limit is not raised below 25 degC, and falls above."""
    assert lower_limit_at(0.011, 273.15, 0.00114) == 0.011
    assert lower_limit_at(0.011, 373.15, 0.00114) < 0.011


def test_a_mixture_lies_between_its_parts() -> None:
    """Le Chatelier's limit lies between the lowest and the highest, whatever the scale of the shares."""
    limit = mixture_lower_limit([2.0, 6.0], [0.011, 0.025])
    assert 0.011 < limit < 0.025
    assert limit == pytest.approx(mixture_lower_limit([0.25, 0.75], [0.011, 0.025]))


def test_the_fire_flow_is_the_vapour_over_the_share() -> None:
    """1 L/min of vapour at a quarter of 1 % is 400 L/min of air; a hot factor asks for more."""
    emission = 1e-3 / 60 / vapour_volume(1.0, 0.1)
    assert source_flow(emission, 0.1, 0.01, 0.25) * 60e3 == pytest.approx(400.0)
    assert source_flow(emission, 0.1, 0.01, 0.25, heat_factor=0.7) * 60e3 == pytest.approx(
        400 / 0.7
    )


def test_boiling_air_is_all_vapour() -> None:
    """Over a boiling liquid the share is 1, and never more."""
    assert saturated_share(2e5) == 1.0


def test_nothing_retained_is_no_vapour() -> None:
    """Zero mass, zero share."""
    assert flash_share(0.0, 0.09214, 373.15, 0.02) == 0.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: vapour_volume(-1.0, 0.1),
        lambda: vapour_volume(1.0, 0.0),
        lambda: air_volume_at_share(1.0, 0.0),
        lambda: flash_share(0.003, 0.1, 373.15, 0.0),
        lambda: lower_limit_at(0.011, 2000.0, 0.00114),
        lambda: lower_limit_at(0.011, 373.15, -0.1),
        lambda: lower_limit_at(1.1, 373.15, 0.001),
        lambda: mixture_lower_limit([0.0, 0.0], [0.01, 0.02]),
        lambda: mixture_lower_limit([1.0], [0.01, 0.02]),
        lambda: mixture_lower_limit([-1.0, 2.0], [0.01, 0.02]),
        lambda: saturated_share(0.0),
        lambda: headspace(0.1, 0.2, 0.1),
        lambda: headspace(1.1, 0.1, 0.2),
        lambda: source_flow(1e-6, 0.1, 0.01, 1.5),
    ],
)
def test_impossible_inputs_are_refused(call: object) -> None:
    """Each with a range error."""
    with pytest.raises(RangeError):
        call()  # type: ignore[operator]
