"""What a vapour caution says where the room is not known, and what its numbers are taken over."""

from __future__ import annotations

import pytest
from tests.unit.cautions.asking import one

from aerode.cautions.situation import Air, OpenLiquid, Situation
from aerode.records.cautions import CautionLevel, Finding

HOUR = 3600.0


def _acetone(grams: float, air: Air | None) -> Situation:
    liquid = OpenLiquid(name="remover", substance="acetone", mass=1e-3 * grams)
    return Situation(about="mix:T5", liquids=(liquid,), air=air)


@pytest.mark.parametrize("grams", [2.1, 14.0])
def test_without_a_room_no_lower_end_reads_as_safe(grams: float) -> None:
    """The headline says what to enter; the bound is left to the figure, and the level stays."""
    told = one(_acetone(grams, None), "vapour breathed")

    assert told.finding is Finding.STRADDLES
    assert told.level is CautionLevel.FIRST
    assert "cannot tell, the room is not entered; advised limit of " in told.headline
    assert "or more" not in told.headline
    assert "ppm or more as the mean of the" in told.figure
    assert "the room: its volume and its air changes" in told.do


def test_a_number_says_over_what_it_is_taken() -> None:
    """A quarter hour and a day are not read beside each other."""
    told = one(_acetone(2.1, Air(name="shed", volume=60.0, air_changes=2.0 / HOUR)), "vapour breathed")  # fmt: skip

    assert "ppm as the mean of the" in told.headline
    assert "limit of " in told.headline
