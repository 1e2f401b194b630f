"""Solids of a solution from dried dishes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aerode.errors import InputError, RangeError
from aerode.measure.mix.solids import dish_solids
from aerode.measure.mix.weighing import Scale
from aerode.records.materials import Dish

GRAM = 1e-3


def _dish(empty: float, wet: float, dried: float) -> Dish:
    return Dish(empty=empty * GRAM, wet=wet * GRAM, dried=dried * GRAM)


def test_three_dishes_by_hand(scale: Scale) -> None:
    """12.1, 12.6 and 12.5 %: mean 12.4, standard deviation 0.2646, over √3."""
    found = dish_solids([_dish(2, 12, 3.21), _dish(2, 12, 3.26), _dish(2, 12, 3.25)], scale)
    assert found.solids.value == pytest.approx(0.124, rel=1e-12)
    assert found.solids.standard_uncertainty == pytest.approx(0.0026458 / math.sqrt(3), rel=1e-4)
    assert found.each == pytest.approx((0.121, 0.126, 0.125))


def test_dishes_that_agree_by_luck_keep_the_scales_share(scale: Scale) -> None:
    """Two equal dishes do not make a perfect solids fraction."""
    found = dish_solids([_dish(2, 7, 2.6), _dish(2, 7, 2.6)], scale)
    assert found.solids.standard_uncertainty is not None
    assert found.solids.standard_uncertainty > 1e-3


def test_scale_share_equals_a_draw(scale: Scale) -> None:
    """The scale's share of one dish against 200,000 draws of its three readings (JCGM 101)."""
    dice = np.random.default_rng(3)
    spread = math.hypot(scale.reading_uncertainty, scale.limit_uncertainty)
    empty, wet, dried = (dice.normal(m * GRAM, spread, 200_000) for m in (2.0, 7.0, 2.6))
    drawn = float(np.std((dried - empty) / (wet - empty)))
    two = dish_solids([_dish(2, 7, 2.6), _dish(2, 7, 2.6)], scale).solids.standard_uncertainty
    assert two == pytest.approx(drawn / math.sqrt(2), rel=0.01)


def test_one_dish_says_that_its_spread_is_assumed(scale: Scale) -> None:
    """One dish gives a wider uncertainty than three like it, and says so."""
    one = dish_solids([_dish(2, 12, 3.24)], scale)
    three = dish_solids([_dish(2, 12, 3.24)] * 3, scale)
    assert one.notes
    assert "one dish" in one.notes[0]
    assert not three.notes
    assert (one.solids.standard_uncertainty or 0) > (three.solids.standard_uncertainty or 0)


@pytest.mark.parametrize(
    "dish",
    [_dish(2, 2, 2.0), _dish(2, 12, 12.5), _dish(2, 12, 1.9), _dish(2, 12, 2.0), _dish(5, 4, 4.5)],
)
def test_impossible_dishes_are_refused(scale: Scale, dish: Dish) -> None:
    """Nothing in it, gained on drying, lighter than empty, or nothing left."""
    with pytest.raises(RangeError) as refusal:
        dish_solids([_dish(2, 12, 3.2), dish], scale, name="PVB solution")
    assert refusal.value.where == "PVB solution, dish 2"


def test_no_dishes_are_refused(scale: Scale) -> None:
    """Nothing dried, nothing known."""
    with pytest.raises(InputError, match="no dried dishes"):
        dish_solids([], scale)
