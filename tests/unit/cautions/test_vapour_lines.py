"""The whole line on vapour, its amounts worked out beside it from the bands of what is breathed."""

from __future__ import annotations

import math

import pytest
from tests.unit.cautions.asking import one

from aerode.cautions.breathing import Breathed, breathed, sources_of
from aerode.cautions.comparing import Band, plain
from aerode.cautions.situation import Air, OpenLiquid, Situation, WeighLoss
from aerode.physics.exposure import mole_fraction
from aerode.records.cautions import CautionLevel, Finding

HOUR = 3600.0
G = 1e-3  # kg
ETHANOL = 0.04607  # kg/mol
AJAR = Air(name="shed", volume=30.0, airing="window ajar")
SHUT = Air(volume=20.0, air_changes=0.0)


def poured(*grams: tuple[str, float], air: Air | None, **more: object) -> Situation:
    """Liquids in a room."""
    liquids = tuple(OpenLiquid(name=n, substance=n, mass=m * G) for n, m in grams)
    return Situation(liquids=liquids, air=air, **more)  # pyright: ignore[reportArgumentType]


def airs(situation: Situation, air: Air | None) -> list[Breathed]:
    """What is breathed of each liquid in another room."""
    return [breathed(s, air, situation.stay) for s in sources_of(situation)]


def ppm(value: float) -> str:
    """A concentration of ethanol [kg/m3]."""
    return plain(1e6 * mole_fraction(value, ETHANOL))


def between(band: Band) -> str:
    """Both ends of ethanol."""
    return f"{ppm(band.low)} to {ppm(band.high)} ppm"


@pytest.mark.parametrize("grams", [2.0, 18.0, 70.0])
def test_without_a_room_the_high_ends_of_a_small_shut_one_stand_there(grams: float) -> None:
    """18 g of ethanol in 20 m3 without any fresh air: both high ends, and the limit that they stand hardest against."""
    pot = poured(("ethanol", grams), air=None)
    (air,) = airs(pot, SHUT)
    told = one(pot, "vapour breathed")
    amount = f"up to {ppm(air.quarter_hour.high)} ppm over 15 min, {ppm(air.instant.high)} ppm at its peak"

    assert told.headline.startswith(
        f"{grams:g} g of ethanol: what is breathed cannot be told, as the room is not entered; in a shut room of 20 m³ it "
        f"may be {amount}, beside the "
    )
    assert told.figure.startswith(
        f"{amount} in a shut room of 20 m³ from {grams:g} g of ethanol, up to "
    )
    assert (told.level, told.finding) == (CautionLevel.FIRST, Finding.STRADDLES)


def test_with_a_room_both_ends_stand_there_and_the_open_area_is_missed() -> None:
    """9 g of ethanol, window ajar: the same words whether it can be told or not."""
    pot = poured(("ethanol", 9.0), air=AJAR)
    (air,) = airs(pot, AJAR)
    told = one(pot, "vapour breathed")

    assert told.headline == (
        "9 g of ethanol: whether its vapour stays below the level dangerous at once of 3300 ppm over 30 min (NIOSH, held "
        f"against the peak) cannot be told, with {between(air.quarter_hour)} as the mean of the worst 15 min, "
        f"{between(air.instant)} at its peak; wet area unknown: all at once is counted"
    )


def test_a_measured_loss_needs_no_area_and_names_none() -> None:
    """What a scale saw stands for the whole: no word of an open area."""
    loss = WeighLoss(lost=1 * G, over=600.0, resolution=1e-5)
    air = Air(name="shed", volume=30.0, air_changes=2 / HOUR)
    pot = poured(("ethanol", 9.0), air=air, weigh_loss=loss, open_area=36e-4)
    (band,) = airs(pot, air)
    told = one(pot, "vapour breathed")

    share = 100 * mole_fraction(band.quarter_hour.high, ETHANOL) / 1000e-6

    assert told.headline == (
        "9 g of ethanol: its vapour is reckoned below every limit on file, with "
        f"{between(band.quarter_hour)} as the mean of the worst 15 min, {between(band.instant)} at its peak; the nearest, "
        f"reached to {plain(share)} % at most, is the legal limit of 1000 ppm over 15 min (Ontario)"
    )
    assert told.missing == ()
    assert told.level is CautionLevel.NOTE


def test_far_too_much_is_above_and_says_so() -> None:
    """3 kg of ethanol in a shut room: a STOP, with both ends."""
    pot = poured(("ethanol", 3000.0), air=SHUT)
    (air,) = airs(pot, SHUT)
    told = one(pot, "vapour breathed")

    assert told.level is CautionLevel.STOP
    assert told.headline.startswith(
        "3000 g of ethanol: its vapour is above the level dangerous at once of 3300 ppm over 30 min (NIOSH"
    )
    assert f"with {between(air.quarter_hour)} as the mean of the worst 15 min" in told.headline
    assert told.do.startswith("Do not do this here.")


def test_a_mixture_is_held_against_its_limits_together() -> None:
    """Without a room, too: each vapour over its own limit, summed."""
    pot = poured(("ethanol", 6.0), ("acetone", 6.0), air=None)
    first, second = airs(pot, SHUT)
    told = one(pot, "vapour breathed")
    ratio = sum(
        mole_fraction(a.quarter_hour.high, m) / limit
        for a, m, limit in ((first, ETHANOL, 1000e-6), (second, 0.05808, 500e-6))
    )

    assert (
        f"it may be up to {plain(100 * ratio)} % of the limit of the mixture over 15 min, "
        in told.headline
    )
    assert ", beside the limits together, " in told.headline
    assert " + " in told.headline


@pytest.mark.parametrize(
    ("air", "told"), [(None, True), (AJAR, False), (SHUT, False), (Air(volume=30.0), False)]
)
def test_only_a_room_that_nobody_entered_is_not_entered(air: Air | None, told: bool) -> None:
    """A volume alone is a room: its airing is what is missing."""
    found = one(poured(("ethanol", 18.0), air=air), "vapour breathed")

    assert ("the room is not entered" in found.headline) is told
    assert math.isfinite(float(found.figure.split(" ppm")[0].rsplit(" ", 1)[-1]))


def test_what_would_decide_is_asked_and_nothing_else() -> None:
    """With an area or a weigh-loss given neither is asked for again."""
    named = [
        one(poured(("ethanol", 300.0), air=air, **more), "vapour breathed").missing
        for air, more in (
            (AJAR, {}),
            (AJAR, {"open_area": 0.5}),
            (Air(volume=30.0), {"weigh_loss": WeighLoss(lost=20 * G, over=600.0, resolution=1e-5)}),
        )
    ]

    assert any("open area" in name for name in named[0])
    assert not any("open area" in name for name in named[1])
    assert not any("weigh-loss" in name or "open area" in name for name in named[2])
    assert named[2] == ("the air changes of the room",)
