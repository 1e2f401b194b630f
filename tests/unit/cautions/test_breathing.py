"""The bands of what is breathed: the decoupled zones against the coupled closed form, and edges."""

from __future__ import annotations

import math

import pytest

from aerode.cautions import lookup
from aerode.cautions.breathing import Source, breathed, flows_of, sources_of
from aerode.cautions.policy import NEAR_FIELD_RADIUS
from aerode.cautions.situation import Air, OpenLiquid, Situation, Span, WeighLoss
from aerode.physics.near_field import near_field_volume, two_zone_average, two_zone_history
from aerode.physics.room_air import Stage

HOUR = 3600.0
DAY = 8 * HOUR


@pytest.mark.parametrize(("rate", "mass"), [(1e-6, 1e-3), (5e-6, 2e-2), (2e-7, 1e-2)])
def test_the_decoupled_zones_agree_with_the_coupled_ones(rate: float, mass: float) -> None:
    """Each end of the band within 3 % of the two-zone closed form at its own corner."""
    air = Air(volume=50.0, air_changes=2.0 / HOUR)
    found = breathed(Source("toluene", mass, rate, rate, rate, True, ""), air, DAY)
    near = near_field_volume(NEAR_FIELD_RADIUS)
    flow, emitting = 100.0 / HOUR, min(DAY, mass / rate)
    stages = [Stage(emitting, rate, flow), Stage(DAY - emitting, 0.0, flow)]
    kept = [s for s in stages if s.duration > 0]
    slow = lookup.rule_span("exposure_model_figure", "near-field exchange, low")
    fast = lookup.rule_span("exposure_model_figure", "near-field exchange, moderate")
    agreement = lookup.rule_span("exposure_model_figure", "modelled over measured")
    assert slow is not None
    assert fast is not None
    assert agreement is not None
    for exchange, end, factor in (
        (slow[0].value, found.day.high, 1 / agreement[0].value),
        (fast[1].value, found.day.low, 1 / agreement[1].value),
    ):
        coupled = two_zone_average(kept, exchange, near, 50.0 - near, DAY)[0]
        assert end == pytest.approx(coupled * factor, rel=0.03)
    peak = two_zone_history(kept[:1], slow[0].value, near, 50.0 - near)[0][0]
    assert found.instant.high == pytest.approx(peak / agreement[0].value, rel=0.03)


def test_no_room_has_no_upper_end() -> None:
    """Without a volume the high ends are infinite, and the low ends are those of the open air."""
    found = breathed(Source("toluene", 1e-3, 1e-7, 1e-6, 1e-5, False, ""), None, DAY)
    assert math.isinf(found.day.high)
    assert found.day.low < 1e-6


@pytest.mark.parametrize(
    ("air", "low", "high"),
    [
        (Air(volume=36.0, air_changes=1 / HOUR), 0.01, 0.01),
        (Air(volume=36.0, airing="closed room"), 0.0, 0.01),
        (Air(volume=36.0, airing="window ajar"), 0.01, math.inf),
        (Air(volume=36.0), 0.0, math.inf),
        (Air(airing="open air"), math.inf, math.inf),
        (None, 0.0, math.inf),
    ],
)
def test_words_for_a_room_become_spans(air: Air | None, low: float, high: float) -> None:
    """Known air changes are taken; words span what is published; nothing known spans everything."""
    flows = flows_of(air)
    assert flows.low == pytest.approx(low)
    assert flows.high == pytest.approx(high)


def test_a_weigh_loss_beats_the_models_and_carries_its_scale() -> None:
    """Low and high from the rounding of the scale, the high end with the published early peak."""
    situation = Situation(
        liquids=(OpenLiquid(name="t", substance="toluene", mass=0.01),), open_area=0.01,
        weigh_loss=WeighLoss(lost=1e-3, over=600.0, resolution=1e-5),
    )  # fmt: skip
    (found,) = sources_of(situation)
    assert found.measured
    assert found.centre == pytest.approx(1e-3 / 600)
    assert found.low < found.centre < 2 * found.centre < found.high


def test_without_an_area_the_whole_range_is_open() -> None:
    """All at once or over 8 h, also for a shorter stay: who stays longer is not told of less."""
    (found,) = sources_of(
        Situation(liquids=(OpenLiquid(name="t", substance="toluene", mass=0.01),))
    )
    assert found.low == pytest.approx(0.01 / DAY)
    assert found.high > 1000 * found.low / 10
    (short,) = sources_of(
        Situation(liquids=(OpenLiquid(name="t", substance="toluene", mass=0.01),), stay=1800.0)
    )
    assert short == found


def test_faster_air_widens_the_band_upwards() -> None:
    """An air speed that was entered counts, never below the lowest used."""
    slow = Situation(
        liquids=(OpenLiquid(name="t", substance="toluene", mass=0.01),), open_area=0.01
    )
    fast = Situation(
        liquids=slow.liquids, open_area=0.01, air_speed=Span(low=0.0, high=0.5, how="fan")
    )
    assert sources_of(fast)[0].high > sources_of(slow)[0].high
    assert sources_of(fast)[0].low == pytest.approx(sources_of(slow)[0].low)


def test_a_half_of_the_pot_evaporates_slower_than_all_of_it() -> None:
    """Raoult at the low end and the centre; the high end stays that of the pure liquid."""
    mixed = Situation(
        liquids=(
            OpenLiquid(name="t", substance="toluene", mass=0.00921),
            OpenLiquid(name="x", substance="acetone", mass=0.00581),
        ),
        open_area=0.01,
    )
    pure = Situation(liquids=mixed.liquids[:1], open_area=0.01)
    half, whole = sources_of(mixed)[0], sources_of(pure)[0]
    assert half.centre == pytest.approx(0.5 * whole.centre, rel=0.01)
    assert half.high == pytest.approx(whole.high)
