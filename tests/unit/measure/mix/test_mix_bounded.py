"""Intervals that stay where a share or an amount can be."""

from __future__ import annotations

import math

import pytest

from aerode.measure.mix.bounded import above_nothing, inside_the_whole
from aerode.measure.mix.solids import dish_solids
from aerode.measure.mix.weighing import Scale
from aerode.records.materials import Dish


@pytest.mark.parametrize(("share", "spread"), [(0.85, 0.53), (0.15, 0.53), (1e-4, 3e-4), (0.999, 0.9), (1.0, 0.2), (0.0, 0.2)])  # fmt: skip
def test_a_share_stays_in_the_whole(share: float, spread: float) -> None:
    """However wide the doubt: between 0 and 1, the value inside."""
    found = inside_the_whole(share, spread)
    assert found is not None
    low, high = found
    assert 0.0 <= low <= share <= high <= 1.0


def test_the_logit_interval_by_hand() -> None:
    """0.41 ± 0.25: logit -0.364, its width 1.96·0.25/(0.41·0.59) = 2.026; ends 0.084 and 0.840 (by hand)."""
    found = inside_the_whole(0.41, 0.25)
    assert found == pytest.approx((0.0839, 0.8404), abs=5e-3)


def test_an_amount_stays_above_nothing() -> None:
    """The log-normal of mean 2200 and deviation 1400: s² = ln(1 + 0.405), middle ln 2200 - s²/2."""
    found = above_nothing(2200.0, 1400.0)
    s = math.sqrt(math.log(1 + (1400 / 2200) ** 2))
    assert found is not None
    assert found[0] == pytest.approx(2200 * math.exp(-s * s / 2 - 1.96 * s))
    assert found[1] == pytest.approx(2200 * math.exp(-s * s / 2 + 1.96 * s))
    assert above_nothing(2200.0, 1000.0) is None


def test_a_scale_too_coarse_for_its_dishes_is_named() -> None:
    """Steps of 1 g against 3 g of solution: said with both; on 0.01 g nothing is said."""
    dishes = [Dish(empty=5e-3, wet=8e-3, dried=6e-3), Dish(empty=5e-3, wet=8e-3, dried=6e-3)]
    coarse = dish_solids(dishes, Scale.from_text("1 g"), name="jar").notes
    assert any(
        "the scale's step of 1 g is too coarse for dishes that hold 3 g" in n for n in coarse
    )
    fine = dish_solids(dishes, Scale.from_text("0.01 g"), name="jar").notes
    assert not any("too coarse" in note for note in fine)
