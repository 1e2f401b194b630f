"""What a vapour caution says where the room is not known, and what its numbers are taken over."""

from __future__ import annotations

import itertools
import re

import pytest
from tests.unit.cautions.asking import one

from aerode.cautions.breathing import sources_of
from aerode.cautions.finding_out import (
    AIR_ITSELF,
    OPEN_AREA,
    WEIGH_LOSS,
    find_out,
    how_to_find_out,
)
from aerode.cautions.fresh_air import needs_of
from aerode.cautions.rooms import room_deciders
from aerode.cautions.situation import Air, OpenLiquid, SheetFigures, Situation, WeighLoss
from aerode.records.cautions import CautionLevel, Finding

HOUR = 3600.0


def _acetone(grams: float, air: Air | None) -> Situation:
    liquid = OpenLiquid(name="remover", substance="acetone", mass=1e-3 * grams)
    return Situation(about=("mix:T5",), liquids=(liquid,), air=air)


@pytest.mark.parametrize("grams", [2.1, 14.0])
def test_without_a_room_no_lower_end_reads_as_safe(grams: float) -> None:
    """Nobody can tell, and what a small shut room would hold stands there, not the low end."""
    told = one(_acetone(grams, None), "vapour breathed")

    assert told.finding is Finding.STRADDLES
    assert told.level is CautionLevel.FIRST
    assert (
        f"{grams:g} g of acetone: what is breathed cannot be told, as the room is not entered; "
        "in a shut room of 20 m³ it may be up to " in told.headline
    )
    dangerous = (
        "the level dangerous at once of 2500 ppm over 30 min (NIOSH, held against the peak) and "
    )
    named = dangerous if grams > 10.0 else ""
    assert told.headline.endswith(
        f", beside {named}the advised limit of 250 ppm over 10 h (NIOSH REL)"
        "; wet area unknown: all at once is counted"
    )
    assert f" in a shut room of 20 m³ from {grams:g} g of acetone, up to " in told.figure
    assert "or more" not in told.headline + told.figure
    assert told.missing[0] == "the room: its volume and its air changes"


def test_what_a_small_shut_room_may_hold_is_reckoned_like_a_room_that_is_entered() -> None:
    """The high ends without a room are those of a room of 20 m3 without any fresh air."""
    nowhere, shut = (
        one(_acetone(14.0, air), "vapour breathed")
        for air in (None, Air(name="box room", volume=20.0, air_changes=0.0))
    )
    ends = re.findall(r"([\d.]+) (?:ppm|%)", nowhere.figure)

    assert len(ends) == 6
    assert ends == re.findall(r"([\d.]+) (?:ppm|%)", shut.figure)
    assert nowhere.limit == shut.limit


@pytest.mark.parametrize("grams", [2.1, 14.0, 60.0])
def test_whether_it_may_burn_is_told_alike(grams: float) -> None:
    """Of what may burn, too, the low end is left out where the room is not known."""
    fire = one(_acetone(grams, None), "flammable vapour")

    assert fire.level is CautionLevel.FIRST
    assert "whether its vapour can burn near the wet thing cannot be told, as the room is not entered" in fire.headline  # fmt: skip
    assert re.search(r"; up to [\d.]+ % of the lower flammable limit in a shut room of 20 m³$", fire.headline)  # fmt: skip
    assert "or more" not in fire.headline + fire.figure


@pytest.mark.parametrize(("grams", "short", "day"), [(9.0, 38, 1.2), (18.0, 76, 2.4)])
def test_a_burst_and_a_day_are_held_against_their_own_limits(
    grams: float, short: float, day: float
) -> None:
    """Half of 1000 ppm: 9 g of ethanol in 15 min take 38 m3/h, over 8 h 1.2; by hand, 1000 ppm = 1884 mg/m3.

    9 g / (0.5 x 1.884 g/m3 x 0.25 h) = 38.2 m3/h; over 8 h a 32nd of it.
    """
    liquid = OpenLiquid(name="spirit", substance="ethanol", mass=1e-3 * grams)
    told = one(Situation(about=("A",), liquids=(liquid,)), "vapour breathed")
    leads = (
        f"Fresh air for the room: {short:g} m³/h if all of it evaporates within 15 min, for 50 % of the legal limit of "
        "1000 ppm over 15 min (Ontario): this short-term limit governs."
    )
    follows = f"Spread over 8 h it would be {day:g} m³/h, for 50 % of the legal limit of 1000 ppm over 8 h (OSHA PEL)."  # fmt: skip

    assert f"{leads} Right over the wet thing there is more than in the room." in told.do
    assert told.do.count("m³/h") == 1
    assert told.do.endswith(" A mask with a cartridge does not make it fit to go on with.")
    assert follows in told.further


def test_what_a_scale_saw_bounds_a_burst() -> None:
    """1 g in 10 min, at most 3 times that at first: 4.5 g in any 15 min take half the air of 9 g."""
    liquid = OpenLiquid(name="spirit", substance="ethanol", mass=60e-3)
    loss = WeighLoss(lost=1e-3, over=600.0, resolution=1e-6)
    air = Air(name="shed", volume=30.0, air_changes=0.2 / HOUR)
    (need, other) = needs_of(
        Situation(liquids=(liquid,), weigh_loss=loss, air=air),
        sources_of(Situation(liquids=(liquid,), weigh_loss=loss, air=air)),
    )

    assert (need.kind, other.kind) == ("quarter hour", "day")
    assert need.flow * HOUR == pytest.approx(19.1, rel=0.01)
    assert need.assumed == "with at most 4.5 g of it evaporating in any 15 min"
    assert other.flow * HOUR == pytest.approx(60 / (0.5 * 1.884 * 8), rel=0.01)
    assert other.assumed == "spread over 8 h"


def test_without_a_short_term_limit_that_of_the_day_stands_in_and_says_so() -> None:
    """A data sheet with 100 mg/m3 over 8 h and none over 15 min: 1 g in 15 min to half of it, 80 m3/h."""
    sheet = SheetFigures(of="thinner", said="maker 2024", day=1e-4)
    pot = Situation(
        liquids=(OpenLiquid(name="thinner", substance="thinner", mass=1e-3),), sheets=(sheet,),
        air=Air(name="shed", volume=30.0, airing="window ajar"),
    )  # fmt: skip
    told = one(pot, "vapour breathed")

    assert (told.level, told.finding, told.unverified) == (
        CautionLevel.FIRST,
        Finding.STRADDLES,
        True,
    )
    assert told.limit == "100 mg/m³ over 8 h held over 15 min, data sheet"
    assert "Fresh air for the room: 80 m³/h (2.7 air changes an hour) if all of it evaporates within 15 min, for 50 % of the limit of 100 mg/m³ over 8 h held over 15 min (data sheet): this short-term limit governs." in told.do  # fmt: skip
    assert "Spread over 8 h it would be 2.5 m³/h, for 50 % of the limit of 100 mg/m³ over 8 h (data sheet)." in told.further  # fmt: skip
    assert "No limit over 15 min is on file for thinner: its limit of the day is held over 15 min instead." in told.further  # fmt: skip


def test_a_limit_at_any_moment_asks_for_air_by_the_rate() -> None:
    """Toluene over 40 cm2: its ceiling of 300 ppm (OSHA) against the highest rate of the models."""
    liquid = OpenLiquid(name="t", substance="toluene", mass=9e-3)
    pot = Situation(liquids=(liquid,), air=Air(volume=30.0, airing="window ajar"), open_area=40e-4)
    (source,) = sources_of(pot)
    needs = {need.kind: need for need in needs_of(pot, [source])}
    ceiling = 300e-6 * 0.09214 * 101325.0 / (8.314462618 * 298.15)

    assert [need.kind for need in needs_of(pot, [source])] == ["quarter hour", "day", "instant"]
    assert needs["instant"].flow == pytest.approx(source.high / (0.5 * ceiling), rel=1e-3)
    assert needs["instant"].limits == ("legal limit of 300 ppm (OSHA PEL, at any moment)",)
    assert needs["instant"].assumed.startswith("evaporating no faster than 0.16 g a minute")
    assert needs["quarter hour"].assumed == "with at most 2.4 g of it evaporating in any 15 min"


def test_every_input_that_decides_comes_with_how_it_is_found_out() -> None:
    """Each name that the rules give as missing has its way, by tape, scale or plate of a fan."""
    rooms = (None, Air(volume=30.0), Air(volume=30.0, volume_uncertainty=3.0, air_changes=2 / HOUR,
                                         air_changes_uncertainty=0.5 / HOUR, exhaust="good"))  # fmt: skip
    named = {one for air in rooms for one in room_deciders(air)} | {
        WEIGH_LOSS,
        OPEN_AREA,
        AIR_ITSELF,
    }

    assert len(named) == 8
    for name in named:
        said, way = find_out((name,)), how_to_find_out((name,))
        assert said.startswith("Before it is opened, work outdoors or find out ")
        assert len(way.partition(": ")[2]) > 20
        assert way.partition(": ")[0].lower() in said
    assert find_out(("the moon",)) == "Before it is opened, work outdoors or find out the moon."
    assert find_out((WEIGH_LOSS,), outdoors=True).startswith("Before it is opened, take less of it or find out how fast")  # fmt: skip
    assert how_to_find_out(("the moon",)) == ""
    three = find_out((WEIGH_LOSS, OPEN_AREA, AIR_ITSELF))
    assert three.endswith(" or find out how fast it dries, the wet area and the air itself.")
    assert how_to_find_out((OPEN_AREA, WEIGH_LOSS)).startswith("The wet area: the mouth of the pot")
    assert find_out(()) == "Before it is opened, work outdoors, or take less of it."
    assert find_out((), outdoors=True) == "Before it is opened, take less of it."


def test_below_is_said_of_every_limit_and_how_near_the_nearest_is() -> None:
    """9 g of ethyl acetate: a peak of some 1000 ppm is nearer to 2000 ppm at once than its mean to 200 ppm over 8 h."""
    liquid = OpenLiquid(name="e", substance="ethyl acetate", mass=5e-3)
    told = one(
        Situation(liquids=(liquid,), air=Air(volume=30.0, airing="window ajar")), "vapour breathed"
    )

    assert told.finding is Finding.BELOW
    share = re.search(r"([\d.]+) % of the health limit", told.figure)
    assert share is not None
    assert "its vapour is reckoned below every limit on file, with " in told.headline
    assert f"; the nearest, reached to {share[1]} % at most, is the level dangerous at once of 2000 ppm over 30 min (NIOSH, held against the peak)" in told.headline  # fmt: skip


def test_a_number_says_over_what_it_is_taken() -> None:
    """A quarter hour and a day are not read beside each other."""
    told = one(_acetone(2.1, Air(name="shed", volume=60.0, air_changes=2.0 / HOUR)), "vapour breathed")  # fmt: skip

    assert "ppm as the mean of the" in told.headline
    assert "2500 ppm over 30 min (NIOSH, held against the peak)" in told.headline


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
    """The level dangerous at once leads at 12 g and at 21 g, where the limit over 15 min may be passed too."""
    limit = "level dangerous at once of 3300 ppm over 30 min (NIOSH, held against the peak)"
    too = "The vapour may also come to 110 % of the legal limit of 1000 ppm over 15 min (Ontario). "
    for grams, passed in ((12.0, False), (21.0, True)):
        liquid = OpenLiquid(name="spirit", substance="ethanol", mass=1e-3 * grams)
        air = Air(name="shed", volume=30.0, airing="window ajar")
        told = one(Situation(about=("A",), liquids=(liquid,), air=air), "vapour breathed")
        assert (
            f": whether its vapour stays below the {limit} cannot be told, with " in told.headline
        )
        assert told.headline.endswith(" ppm at its peak; wet area unknown: all at once is counted")
        assert (too in told.further) is passed


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

    assert re.search(r"% of the limit of the mixture as the mean of the worst 15 min, .+ % of the limit of the mixture at its peak", told.headline)  # fmt: skip
