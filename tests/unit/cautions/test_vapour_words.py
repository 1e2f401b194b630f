"""What a vapour caution says where the room is not known, and what its numbers are taken over."""

from __future__ import annotations

import itertools
import re

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


def _told(grams: float, area: float | None = None) -> dict[str, tuple[float, float]]:
    """The two amounts of a headline, each with its ends in ppm."""
    liquid = OpenLiquid(name="spirit", substance="ethanol", mass=1e-3 * grams)
    air = Air(name="shed", volume=30.0, airing="window ajar")
    told = one(
        Situation(about=("A",), liquids=(liquid,), air=air, open_area=area), "vapour breathed"
    )
    ends = re.findall(r"([\d.]+) to ([\d.]+) ppm (as the mean of the worst 15 min|at its peak)", told.headline)  # fmt: skip
    assert [over for *_, over in ends] == ["as the mean of the worst 15 min", "at its peak"]
    return {over: (float(low), float(high)) for low, high, over in ends}


@pytest.mark.parametrize("area", [None, 36e-4])
def test_more_solvent_never_reads_as_less_vapour(area: float | None) -> None:
    """Whichever limit leads, the quarter hour and the peak stand in one order, and both grow with the amount."""
    rows = [_told(grams, area) for grams in (0.5, 1.0, 3.8, 6.0, 11.0, 12.0, 16.0, 21.0, 60.0)]

    for less, more in itertools.pairwise(rows):
        for over in less:
            assert less[over][0] <= more[over][0]
            assert less[over][1] < more[over][1]


def test_the_limit_of_the_peak_says_what_it_is_held_against() -> None:
    """12 g: the limit to escape by leads, 3300 ppm; 21 g: the one of the quarter hour."""
    for grams, limit in ((12.0, "limit of 3300 ppm over 30 min (NIOSH), against the peak"),
                         (21.0, "legal limit of 1000 ppm over 15 min (Ontario)")):  # fmt: skip
        liquid = OpenLiquid(name="spirit", substance="ethanol", mass=1e-3 * grams)
        air = Air(name="shed", volume=30.0, airing="window ajar")
        told = one(Situation(about=("A",), liquids=(liquid,), air=air), "vapour breathed")
        assert told.headline.endswith(f"; {limit}; the open area is not known")


def test_the_figure_of_a_sheet_names_the_area_it_is_for() -> None:
    """The same grams over a known area are another situation, and the line says which."""
    liquid = OpenLiquid(name="spirit", substance="ethanol", mass=3.8e-3)
    air = Air(name="shed", volume=30.0, airing="window ajar")
    told = one(Situation(about=("A",), liquids=(liquid,), air=air, open_area=36e-4), "vapour breathed")  # fmt: skip

    assert told.headline.startswith("3.8 g of ethanol over 36 cm²: ")
    assert "not known" not in told.headline


def test_a_mixture_tells_both_as_shares_of_their_limits() -> None:
    """Two vapours have no ppm in common: the share of the limit stands for each time."""
    liquids = tuple(OpenLiquid(name=n, substance=n, mass=6e-3) for n in ("ethanol", "acetone"))
    air = Air(name="shed", volume=30.0, airing="window ajar")
    told = one(Situation(about=("A",), liquids=liquids, air=air), "vapour breathed")

    assert re.search(r"% of the mixture as the mean of the worst 15 min, .+ % of the mixture at its peak", told.headline)  # fmt: skip
