"""What is breathed never reads as milder where more of it is: mass, wet area, time, room and airing."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.cautions.breathing import breathed, sources_of
from aerode.cautions.engine import RANK
from aerode.cautions.sheets import limits_of
from aerode.cautions.situation import Air, OpenLiquid, SheetFigures, Situation
from aerode.cautions.vapour import vapour_cautions
from aerode.cautions.vapour_limits import standing
from aerode.records.cautions import Caution

QUICK = settings(max_examples=20, deadline=None)
HOUR = 3600.0
SOLVENTS = ["ethanol", "acetone", "toluene", "isopropyl alcohol", "MEK", "ethyl acetate", "xylene",
            "limonene", "n-methyl-2-pyrrolidone"]  # fmt: skip
SHEET = SheetFigures(of="thinner", said="maker 2024", day=1e-4)

rooms = st.none() | st.builds(
    Air,
    volume=st.floats(3.0, 300.0),
    air_changes=st.none() | st.floats(0.05 / HOUR, 20.0 / HOUR),
    airing=st.sampled_from(["", "closed room", "window ajar"]),
    exhaust=st.sampled_from(["", "fair"]),
)
pots = st.builds(
    lambda names, mass, **more: Situation(
        about=("A",), sheets=(SHEET,),
        liquids=tuple(OpenLiquid(name=n, substance=n, mass=mass) for n in names), **more,
    ),
    names=st.lists(st.sampled_from([*SOLVENTS, "thinner"]), min_size=1, max_size=2, unique=True),
    mass=st.floats(1e-4, 0.2) | st.floats(0.2, 10.0),
    open_area=st.none() | st.floats(5e-4, 0.5),
    air=rooms,
    stay=st.floats(0.1 * HOUR, 8.0 * HOUR),
)  # fmt: skip
more = st.floats(1.0, 20.0)


def _told(pot: Situation) -> dict[str, Caution]:
    found = (one for one in vapour_cautions(pot) if one.key in {"vapour.breathed", "vapour.fire"})
    return {one.key: one for one in found}


def _reached(one: Caution) -> float:
    return math.inf if one.share is None else one.share


def _no_milder(less: Situation, harder: Situation) -> None:
    """No milder level, no smaller share of the same limits, nothing hidden that was named."""
    before, after = _told(less), _told(harder)
    assert before.keys() <= after.keys()
    for key, one in before.items():
        assert RANK[after[key].level] <= RANK[one.level], (one.headline, after[key].headline)
        if one.level is after[key].level or one.limit == after[key].limit:
            least = _reached(one) * (1.0 - 1e-9)  # numerical
            assert _reached(after[key]) >= least, (one.headline, after[key].headline)
    if "vapour.breathed" not in before:
        return
    one, other = before["vapour.breathed"], after["vapour.breathed"]
    if " at once of " in one.headline and (one.share or 2.0) > 1.0:
        assert " at once of " in other.headline, (one.headline, other.headline)


@QUICK
@given(pots, more)
def test_more_of_it_is_no_milder(pot: Situation, times: float) -> None:
    """More solvent in the same proportions."""
    liquids = tuple(replace(one, mass=times * (one.mass or 0.0)) for one in pot.liquids)
    _no_milder(pot, replace(pot, liquids=liquids))


@QUICK
@given(pots, more)
def test_a_larger_wet_area_is_no_milder(pot: Situation, times: float) -> None:
    """The same amount over a larger area dries faster."""
    wet = replace(pot, open_area=pot.open_area or 20e-4)
    _no_milder(wet, replace(wet, open_area=times * (wet.open_area or 0.0)))


@QUICK
@given(pots, st.floats(0.0, 1.0))
def test_a_longer_stay_is_no_milder(pot: Situation, share: float) -> None:
    """Up to the 8 h of a day."""
    shorter = 0.1 * HOUR + share * (pot.stay - 0.1 * HOUR)
    _no_milder(replace(pot, stay=shorter), pot)


@QUICK
@given(pots, rooms.filter(lambda air: air is not None), more)
def test_a_smaller_room_is_no_milder(pot: Situation, air: Air, times: float) -> None:
    """The same air changes in a smaller room."""
    large = replace(air, volume=times * (air.volume or 0.0))
    _no_milder(replace(pot, air=large), replace(pot, air=air))


@QUICK
@given(pots, rooms.filter(lambda air: air is not None), st.floats(0.05, 20.0), more)
def test_fewer_air_changes_are_no_milder(
    pot: Situation, air: Air, changes: float, times: float
) -> None:
    """Less fresh air in the same room."""
    aired = replace(air, air_changes=times * changes / HOUR)
    _no_milder(replace(pot, air=aired), replace(pot, air=replace(air, air_changes=changes / HOUR)))


@QUICK
@given(pots)
def test_the_level_dangerous_at_once_is_named_first_wherever_the_peak_may_pass_it(
    pot: Situation,
) -> None:
    """Held against the peak of the model itself; no other limit stands before it."""
    told = _told(pot).get("vapour.breathed")
    peaks = [
        breathed(source, pot.air, pot.stay).instant.high / limit.value
        for source in sources_of(pot)
        if (limit := limits_of(pot, source.substance, "escape").strictest)
    ]
    if told is None or pot.air is None or not sum(peaks) > 1.0:
        return
    first = told.headline.index("level dangerous at once of")
    assert "limit of" not in told.headline[:first].replace("the limit of the mixture", "")


@pytest.mark.parametrize("grams", [11.0, 16.0, 21.0, 60.0])
def test_the_share_told_is_the_worst_of_all_limits(grams: float) -> None:
    """Ethanol in a shed: each mean over the limit of its own time, the peak over 3300 ppm; the largest is told."""
    liquid = OpenLiquid(name="spirit", substance="ethanol", mass=1e-3 * grams)
    pot = Situation(liquids=(liquid,), air=Air(volume=30.0, airing="window ajar"))
    (source,) = sources_of(pot)
    air = breathed(source, pot.air, pot.stay)
    ratios = {
        kind: band.high / limit.value
        for kind, band in (("day", air.day), ("quarter hour", air.quarter_hour), ("escape", air.instant))
        if (limit := limits_of(pot, "ethanol", kind).strictest)
    }  # fmt: skip
    stands = standing(pot, {"ethanol": air})

    assert stands is not None
    assert max(ratios, key=lambda kind: ratios[kind]) == stands.worst.kind == "escape"
    assert _told(pot)["vapour.breathed"].share == pytest.approx(ratios["escape"])
