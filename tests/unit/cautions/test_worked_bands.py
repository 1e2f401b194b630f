"""The bands behind the vapour and dust lines, against sums written out beside them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from aerode.cautions import lookup
from aerode.cautions.breathing import Source, at_centre, breathed, sources_of
from aerode.cautions.comparing import plain
from aerode.cautions.engine import assess
from aerode.cautions.limits import governing, limit_kinds
from aerode.cautions.rooms import flows_of, room_at_centre
from aerode.cautions.situation import (
    Air,
    OpenLiquid,
    Powder,
    SheetFigures,
    Situation,
    Span,
    WeighLoss,
)
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.hazards import exposure_limits

HOUR = 3600.0
ROOM = Air(name="shop", volume=50.0, air_changes=2 / HOUR)
TOLUENE = 0.09214  # kg/mol
LIMIT = 20e-6 * TOLUENE * 101325.0 / (8.314462618 * 298.15)  # 20 ppm, kg/m3
NEAR = 2.0 * math.pi * 0.5**3 / 3.0  # half sphere of arm's length, m3


def poured(*liquids: tuple[str, float | None], **more: object) -> Situation:
    """Liquids and their masses in the shop."""
    pots = tuple(OpenLiquid(name=n, substance=n, mass=m) for n, m in liquids)
    return Situation(**{"air": ROOM, "liquids": pots, **more})  # pyright: ignore[reportArgumentType]


def line(situation: Situation, key: str) -> Caution:
    """One caution by its key."""
    return next(c for c in assess(situation) if c.key == key)


# -- advice ------------------------------------------------------------------------------------


def test_the_fresh_air_that_is_advised_names_its_limit_and_what_it_assumes() -> None:
    """m / (share x limit x time): 100 g of toluene in 15 min to half of 100 ppm, over 8 h to half of 20 ppm.

    2100 and 330 m3/h; the short one, 42 changes of 50 m3, leads. 0.1 kg/900 s against half of 300 ppm: a third of it.
    """
    short = 0.1 / (0.5 * 5 * LIMIT * 0.25 * HOUR) * HOUR
    day = 0.1 / (0.5 * LIMIT * 8 * HOUR) * HOUR
    found = line(poured(("toluene", 0.1)), "vapour.breathed")
    assert (
        f"Fresh air for the room: {plain(short)} m³/h ({plain(short / 50)} air changes an hour) if all of it "
        "evaporates within 15 min, for 50 % of the advised limit of 100 ppm over 15 min (EU IOELV): this "
        "short-term limit governs. Right over the wet thing there is more than in the room. "
        in found.do
    )
    assert (
        f"Evaporating no faster than 6.7 g a minute it would be {plain(short / 3)} m³/h, for 50 % of the legal limit "
        f"of 300 ppm (OSHA PEL, at any moment). Spread over 8 h it would be {plain(day)} m³/h, for 50 % of the legal "
        "limit of 20 ppm over 8 h (Ontario). " in found.further
    )
    assert found.do.index("Fresh air for") < found.do.index("Once it is dry stay out")
    hood = line(poured(("toluene", 0.1), air=replace(ROOM, exhaust="good")), "vapour.breathed")
    assert f"{plain(0.2 * short)} m³/h" in hood.do
    outside = line(poured(("toluene", 50.0), air=Air(airing="open air")), "vapour.breathed")
    assert "Fresh air" not in outside.do


def test_two_liquids_add_their_air() -> None:
    """50 g each of toluene and ethanol: the sum of what each takes alone, over each time."""
    for kind, hours in (("day", 8.0), ("quarter hour", 0.25)):
        toluene, ethanol = (
            governing("toluene", kind).strictest,
            governing("ethanol", kind).strictest,
        )
        assert toluene is not None
        assert ethanol is not None
        need = (0.05 / toluene.value + 0.05 / ethanol.value) / (0.5 * hours)
        found = line(poured(("toluene", 0.05), ("ethanol", 0.05)), "vapour.breathed")
        assert f" {plain(need)} m³/h" in (found.further if kind == "day" else found.do)
    assert "for 50 % of the limits together, advised limit of 100 ppm" in found.do
    assert "of the mixture" in found.headline
    assert found.headline.startswith("50 g of toluene, 50 g of ethanol: ")


def test_waiting_follows_from_the_peak_and_the_airing() -> None:
    """V/Q ln(peak over target), from the high end of the peak in the room, with the least airing."""
    pot = poured(("toluene", 0.1))
    (source,) = sources_of(pot)
    peak = breathed(source, ROOM, pot.stay).far_peak.high
    hours = 0.5 * math.log(peak / (0.5 * LIMIT))
    assert (
        f"Once it is dry stay out for {plain(hours)} h of airing at 2 air changes an hour, until the room is down "
        "to 50 % of the legal limit of 20 ppm over 8 h (Ontario)."
        in line(pot, "vapour.breathed").do
    )
    shut = poured(("toluene", 0.1), air=Air(volume=50.0, air_changes=0.0))
    assert "stay out" not in line(shut, "vapour.breathed").do
    closed = poured(("toluene", 0.1), air=Air(volume=50.0, airing="closed room"))
    assert "at 1 air change an hour" in line(closed, "vapour.breathed").do


def test_two_liquids_air_out_together() -> None:
    """Shares of their limits add up: the room is down only when the sum is."""
    pot = poured(("toluene", 0.05), ("acetone", 0.5))
    shares = [
        breathed(s, ROOM, pot.stay).far_peak.high / limit.value
        for s in sources_of(pot)
        if (limit := governing(s.substance, "day").strictest)
    ]
    assert len(shares) == 2
    hours = 0.5 * math.log(sum(shares) / 0.5)
    assert f"stay out for {plain(hours)} h" in line(pot, "vapour.breathed").do
    assert plain(hours) != plain(0.5 * math.log(max(shares) / 0.5))


def test_a_note_brings_no_advice_and_no_mask() -> None:
    """Below the limit: keep the airing; above it or not known: what to do, and what a mask does not do."""
    drop = line(poured(("ethanol", 0.0005)), "vapour.breathed")
    assert drop.level is CautionLevel.NOTE
    assert (drop.do, drop.further) == ("Keep the airing as it is stated.", "")
    assert drop.missing == ()
    much = line(poured(("toluene", 5.0)), "vapour.breathed")
    assert much.level is CautionLevel.STOP
    assert much.do.startswith("Do not do this here.")
    assert much.do.endswith(" A mask with a cartridge does not make it fit to go on with.")
    assert " An organic-vapour cartridge" in much.further
    assert much.missing == ()
    asked = line(poured(("toluene", 0.02)), "vapour.breathed")
    assert asked.level is CautionLevel.FIRST
    assert asked.do.startswith("Before it is opened")
    assert ". After drying" not in asked.do


def test_what_would_change_it_knows_whether_a_scale_was_used() -> None:
    """With a weigh-loss it no longer asks for one."""
    models = line(poured(("toluene", 0.02)), "vapour.breathed")
    weighed = line(
        poured(("toluene", 0.02), weigh_loss=WeighLoss(lost=1e-3, over=600.0)), "vapour.breathed"
    )
    assert models.would_change == "a weigh-loss, the air changes, the amount"
    assert weighed.would_change == "the air changes, the amount"


# -- what is breathed --------------------------------------------------------------------------


def test_the_day_of_a_fast_source_is_its_mass_over_the_fresh_air() -> None:
    """All in a minute: far day m/(Q 8 h), less what is left in the room; near day m/(beta 8 h) more."""
    source = Source("toluene", 0.01, 0.01 / 60, 0.01 / 60, 0.01 / 60, True, "")
    q = 100.0 / HOUR
    far = 0.01 / q * (1 - math.exp(-2 * 8)) / (8 * HOUR)
    near = [0.01 / (beta / 60) / (8 * HOUR) for beta in (3.0, 11.0)]
    found = breathed(source, ROOM, 8 * HOUR)
    assert found.day.low == pytest.approx(0.5 * (far + near[1]), rel=2e-3)
    assert found.day.high == pytest.approx(2.0 * (far + near[0]), rel=2e-3)
    assert found.far_peak.high == pytest.approx(
        2.0 * 0.01 / 50.0 * (1 - math.exp(-2 / 60)) * 30, rel=1e-3
    )


def test_a_steady_source_ends_at_both_zones() -> None:
    """After hours at 1 g/h the peak is G/Q + G/beta, and the worst quarter hour is just as much."""
    rate = 1e-3 / HOUR
    source = Source("toluene", 8e-3, rate, rate, rate, True, "")
    ends = [rate / (100.0 / HOUR) + rate / (beta / 60) for beta in (11.0, 3.0)]
    found = breathed(source, ROOM, 8 * HOUR)
    assert found.instant.low == pytest.approx(0.5 * ends[0], rel=1e-6)
    assert found.instant.high == pytest.approx(2.0 * ends[1], rel=1e-6)
    assert found.quarter_hour.high == pytest.approx(2.0 * ends[1], rel=1e-3)
    assert found.day.high < found.quarter_hour.high


def test_the_open_air_has_no_far_field_and_a_brisker_near_field() -> None:
    """Outdoors the exchange lies between 6 and 22 m3/min and nothing gathers."""
    rate = 1e-3 / HOUR
    source = Source("toluene", 8e-3, rate, rate, rate, True, "")
    found = breathed(source, Air(airing="open air"), 8 * HOUR)
    assert found.instant.low == pytest.approx(0.5 * rate / (22.0 / 60), rel=1e-6)
    assert found.instant.high == pytest.approx(2.0 * rate / (6.0 / 60), rel=1e-6)
    assert found.far_peak.high == 0.0


def test_a_sealed_room_keeps_all_of_it() -> None:
    """No air at all: the room's part is m/V at the end."""
    source = Source("toluene", 1e-3, 1e-3 / 600, 1e-3 / 600, 1e-3 / 600, True, "")
    found = breathed(source, Air(volume=50.0, air_changes=0.0), 8 * HOUR)
    assert found.far_peak.low == pytest.approx(0.5 * 1e-3 / 50.0, rel=1e-9)


def test_the_centre_fixes_both_ends() -> None:
    """Low and high become the centre; a vague room becomes what is stated of it."""
    fixed = at_centre(Source("toluene", 1.0, 1e-6, 2e-6, 9e-6, False, "x"))
    assert (fixed.low, fixed.centre, fixed.high) == (2e-6, 2e-6, 2e-6)
    vague = replace(ROOM, volume_uncertainty=5.0, air_changes_uncertainty=1e-4)
    assert room_at_centre(vague) == ROOM


def test_a_mixture_evaporates_by_its_mole_shares() -> None:
    """Raoult at the low end and the centre, as if it were pure at the high end."""
    pair = poured(("toluene", 0.09214), ("ethanol", 0.04607), open_area=0.01)  # a mole each
    alone = poured(("toluene", 0.09214), open_area=0.01)
    both, one = sources_of(pair)[0], sources_of(alone)[0]
    assert both.substance == one.substance == "toluene"
    assert both.low == pytest.approx(0.5 * one.low, rel=1e-3)
    assert both.centre == pytest.approx(0.5 * one.centre, rel=1e-3)
    assert both.high == pytest.approx(one.high, rel=1e-12)
    assert both.how == "five evaporation models over 100 cm²"
    assert not both.measured
    thinned = poured(
        ("toluene", 0.09214), ("toluene", 0.09214), ("ethanol", 0.04607), open_area=0.01
    )
    assert sources_of(thinned)[0].centre == pytest.approx(2 / 3 * one.centre, rel=1e-3)
    strange = poured(("toluene", 0.09214), ("mystery", 0.1), open_area=0.01)
    assert sources_of(strange)[0].centre == pytest.approx(one.centre, rel=1e-12)
    unweighed = poured(("toluene", 0.09214), ("ethanol", None), open_area=0.01)
    assert sources_of(unweighed)[0].centre == pytest.approx(one.centre, rel=1e-12)


def test_without_a_room_the_liquid_is_at_25_degrees() -> None:
    """The same as in a room of 25 degC, and slower in the cold."""
    pot = poured(("toluene", 0.01), open_area=0.01)
    nowhere, cold = replace(pot, air=None), replace(pot, air=replace(ROOM, temperature=283.15))
    assert sources_of(nowhere)[0].centre == sources_of(pot)[0].centre
    assert sources_of(cold)[0].centre < 0.7 * sources_of(pot)[0].centre


def test_a_stated_air_speed_is_never_taken_below_the_lowest() -> None:
    """0.05 m/s at least, whatever was said."""
    slow = poured(("toluene", 0.01), open_area=0.01, air_speed=Span(low=0.0, high=0.01))
    floor = poured(("toluene", 0.01), open_area=0.01, air_speed=Span(low=0.05, high=0.05))
    assert sources_of(slow)[0].low == sources_of(floor)[0].low


# -- fire in the room ---------------------------------------------------------------------------


def test_the_share_of_what_can_burn_by_the_mixture_rule() -> None:
    """Le Chatelier over the high ends; a part of unknown limit makes the whole unknown."""
    pot = poured(("toluene", 0.5), ("acetone", 0.5))
    fire = line(pot, "vapour.fire")
    airs = {s.substance: breathed(s, ROOM, pot.stay).instant for s in sources_of(pot)}
    masses, limits = {"toluene": TOLUENE, "acetone": 0.05808}, {"toluene": 0.010, "acetone": 0.025}
    volume = 8.314462618 * 298.15 / 101325.0
    high = {n: band.high * volume / masses[n] for n, band in airs.items()}
    low = {n: band.low * volume / masses[n] for n, band in airs.items()}
    mixed = sum(high.values()) / sum(high[n] / limits[n] for n in high)
    ends = [100 * sum(part.values()) / mixed for part in (low, high)]
    shown = " to ".join(plain(end) for end in ends)
    assert fire.figure == f"{shown} % of the lower flammable limit"
    assert fire.limit == "10 % alarm, 25 % stop, of 1 %"
    assert (
        fire.headline
        == f"500 g of toluene, 500 g of acetone: {shown} % of the lower flammable limit near the wet thing"
    )
    assert (fire.level, fire.finding) == (CautionLevel.FIRST, Finding.STRADDLES)
    assert fire.missing[0] == "a weigh-loss of the wet piece (grams lost over minutes)"
    strange = replace(pot, liquids=(*pot.liquids, OpenLiquid(name="x", substance="", mass=0.1)),
                      sheets=(SheetFigures(of="x", said="sheet, 2024", day=1e-3),))  # fmt: skip
    assert "vapour.fire" not in {c.key for c in assess(strange)}
    assert "no flammable limit on file" in line(strange, "vapour.breathed").figure


def test_fire_is_a_stop_from_a_quarter_up_and_a_first_from_a_tenth() -> None:
    """A measured source in a small shut room: the low end decides the STOP, the high end the FIRST."""

    def at(grams_an_hour: float) -> Caution | None:
        loss = WeighLoss(lost=grams_an_hour * 1e-3, over=HOUR)
        pot = poured(
            ("ethanol", 5.0), weigh_loss=loss, air=Air(volume=10.0, air_changes=0.1 / HOUR)
        )
        return next((c for c in assess(pot) if c.key == "vapour.fire"), None)

    stopped, first, silent = at(1000.0), at(20.0), at(1.0)
    assert stopped is not None
    assert (stopped.level, stopped.finding, stopped.missing) == (
        CautionLevel.STOP,
        Finding.ABOVE,
        (),
    )
    assert first is not None
    assert first.level is CautionLevel.FIRST
    assert silent is None
    low = at(3.0)
    assert low is not None
    assert (low.level, low.finding, low.missing) == (CautionLevel.FIRST, Finding.BELOW, ())


def test_colder_vapour_is_a_smaller_share() -> None:
    """The same mass in a colder room takes less room: by the ratio of the temperatures."""
    loss = WeighLoss(lost=0.5, over=HOUR)
    shares: list[float] = []
    for kelvin in (298.15, 283.15):
        air = Air(volume=10.0, air_changes=0.1 / HOUR, temperature=kelvin)
        figure = line(poured(("ethanol", 5.0), weigh_loss=loss, air=air), "vapour.fire").figure
        shares.append(float(figure.split(" to ")[1].split(" ")[0]))
    assert shares[1] / shares[0] == pytest.approx(283.15 / 298.15, rel=0.03)


# -- figures ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("substance", "kind", "averaging", "expected"),
    [
        ("toluene", "TWA", "", "day"), ("toluene", "STEL", "", "quarter hour"),
        ("toluene", "ceiling", "instant", "instant"), ("toluene", "peak", "10 min", "instant"),
        ("toluene", "IDLH", "", "escape"), ("acrylonitrile", "ceiling", "15 min", "quarter hour"),
    ],
)  # fmt: skip
def test_each_kind_of_limit_is_compared_over_its_own_time(
    substance: str, kind: str, averaging: str, expected: str
) -> None:
    """A day, a quarter of an hour, at once, or the level that is dangerous at once."""
    found = [x for x in exposure_limits(substance, kind=kind) if averaging in ("", x.averaging)]
    assert found
    assert {limit_kinds(x) for x in found} == {expected}


def test_a_limit_is_shown_as_its_body_set_it() -> None:
    """With its time, but for one that is never to be passed; the note apart."""
    day, instant = governing("toluene", "day"), governing("toluene", "instant")
    assert (day.substance, day.kind) == ("toluene", "day")
    assert day.published is not None
    assert day.published.shown == "20 ppm over 8 h, Ontario"
    assert day.published.value == pytest.approx(LIMIT, rel=1e-3)
    assert day.memory is None
    assert instant.published is not None
    assert instant.published.shown.startswith("300 ppm, ")
    manganese = governing("manganese compounds", "day").strictest
    assert manganese is not None
    assert manganese.note == "(as Mn)" or "Mn" in manganese.note
    assert governing("activated carbon", "day").published is None


def test_vapour_pressure_by_its_equation_else_at_25_degrees() -> None:
    """Antoine within its range, drawn on below it, else the value at 25 degC; above 28 degC nothing."""
    at_20 = lookup.vapour_pressure("toluene", 293.15)
    assert at_20 is not None
    # poling_2001: log10 p = 9.05043 - 1327.62/(T - 55.525)
    expected = 10 ** (9.05043 - 1327.62 / (293.15 - 55.525))
    assert at_20.value == pytest.approx(expected, rel=1e-6)
    assert at_20.shown == "2.91 kPa"
    assert at_20.source
    assert at_20.published
    # drawn on below 286.44 K, a tenth higher, as far as 30 K; then the value at 25 degC
    drawn, frozen = (lookup.vapour_pressure("toluene", t) for t in (276.15, 250.0))
    assert drawn is not None
    assert frozen is not None
    assert drawn.value == pytest.approx(
        1.1 * 10 ** (9.05043 - 1327.62 / (276.15 - 55.525)), rel=1e-6
    )
    assert frozen.value == pytest.approx(3800.0, rel=0.01)
    # N-methylpyrrolidone: its equation starts at 336 K, so the value at 25 degC serves up to 28 degC
    room, warm = (lookup.vapour_pressure("1-methyl-2-pyrrolidone", t) for t in (301.15, 302.15))
    assert room is not None
    assert warm is None
    styrene = lookup.vapour_pressure("styrene", 298.15)
    assert styrene is not None
    assert lookup.vapour_pressure("mystery", 298.15) is None


def test_diffusivity_counts_atoms_and_rings() -> None:
    """Fuller's volumes: ethanol C2H6O without a ring, toluene C7H8 with one; nothing for a mixture."""
    ethanol, toluene = (lookup.diffusivity_in_air(n, 298.15) for n in ("ethanol", "toluene"))

    def fuller(volume: float, mass: float) -> float:
        # D = 0.00143 T^1.75 / (p M^0.5 (V1^(1/3) + V2^(1/3))^2), cm2/s, bar, g/mol
        both = 2.0 / (1 / mass + 1 / 28.97)
        return (
            1e-4
            * 0.00143
            * 298.15**1.75
            / (1.01325 * both**0.5 * (volume ** (1 / 3) + 19.7 ** (1 / 3)) ** 2)
        )

    assert ethanol == pytest.approx(fuller(2 * 15.9 + 6 * 2.31 + 6.11, 46.07), rel=0.02)
    assert toluene == pytest.approx(fuller(7 * 15.9 + 8 * 2.31 - 18.3, 92.14), rel=0.02)
    assert lookup.diffusivity_in_air("mystery", 298.15) is None


# -- dust ---------------------------------------------------------------------------------------


def dust(*powders: Powder, air: Air | None = ROOM, **more: object) -> Caution:
    """The line on dust."""
    return line(Situation(powders=powders, air=air, **more), "powder.dust")  # pyright: ignore[reportArgumentType]


def test_a_day_of_dust_by_hand() -> None:
    """1e-5 to 1e-2 of it over 50 m3 at least and 2 x 50 x 8 m3 at most, against 3 and 0.1 mg/m3 of manganese."""
    carbon = dust(Powder(name="c", substance="carbon black", mass=0.001))
    limit = governing("carbon black", "day").strictest
    assert limit is not None
    ends = [s * 0.001 / limit.value / 800.0 * 100 for s in (1e-5, 1e-2)]
    assert f"{plain(ends[0])} to {plain(ends[1])} % of the limit over a day" == carbon.figure
    manganese = governing("manganese compounds", "day").strictest
    assert manganese is not None
    share = 54.938 / 86.937
    both = dust(Powder(name="c", substance="carbon black", mass=0.001),
                Powder(name="m", substance="manganese dioxide", mass=0.002))  # fmt: skip
    loads = 0.001 / limit.value + share * 0.002 / manganese.value
    ends = [s * loads / 800.0 * 100 for s in (1e-5, 1e-2)]
    assert f"{plain(ends[0])} to {plain(ends[1])} % of the limit over a day" == both.figure
    assert manganese.shown in both.limit


def test_the_limit_that_counts_most_is_named_whichever_powder_comes_first() -> None:
    """Manganese beside carbon, in either order."""
    c = Powder(name="c", substance="carbon black", mass=0.001)
    m = Powder(name="m", substance="manganese dioxide", mass=0.002)
    assert dust(c, m).limit == dust(m, c).limit


def test_a_shut_room_dilutes_with_itself() -> None:
    """No air changes: the room is both ends; outdoors there is nothing to compare with."""
    limit = governing("carbon black", "day").strictest
    assert limit is not None
    powder = Powder(name="c", substance="carbon black", mass=0.001)
    shut = dust(powder, air=Air(volume=50.0, air_changes=0.0))
    ends = [s * 0.001 / limit.value / 50.0 * 100 for s in (1e-5, 1e-2)]
    assert f"{plain(ends[0])} to {plain(ends[1])} % of the limit over a day" == shut.figure
    outside = dust(powder, air=Air(airing="open air"))
    assert (outside.finding, outside.level, outside.figure) == (
        Finding.PLAIN, CautionLevel.NOTE, "not worked out",
    )  # fmt: skip


@pytest.mark.parametrize(("sheet", "governs"), [(1e-9, True), (1.0, False)])
def test_a_sheet_for_manganese_counts_the_whole_powder(sheet: float, governs: bool) -> None:
    """The stricter of the two, with all of the powder against a sheet and its manganese against the law."""
    powder = Powder(name="m", substance="manganese dioxide", mass=0.002)
    found = dust(
        powder, sheets=(SheetFigures(of="manganese dioxide", said="sheet, 2024", day=sheet),)
    )
    law = governing("manganese compounds", "day").strictest
    assert law is not None
    load = 0.002 / sheet if governs else 54.938 / 86.937 * 0.002 / law.value
    ends = [s * load / 800.0 * 100 for s in (1e-5, 1e-2)]
    assert f"{plain(ends[0])} to {plain(ends[1])} % of the limit over a day" == found.figure
    assert ("sheet, 2024" in found.source) is governs


def test_a_powder_of_unlisted_kind_has_the_limit_of_dust() -> None:
    """Particulates not otherwise regulated."""
    unlisted = governing("particulates not otherwise regulated", "day").strictest
    assert unlisted is not None
    assert unlisted.shown in dust(Powder(name="x", substance="mystery", mass=0.001)).limit


# -- words for the room -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("air", "low", "high", "missing", "how"),
    [
        (Air(volume=40.0), 0.0, math.inf, True, "40 m³, airing not known"),
        (Air(volume=40.0, airing="closed room"), 0.0, 40.0, True, "40 m³, closed room: none to 1 air change an hour"),
        (Air(volume=40.0, airing="window ajar"), 40.0, math.inf, True,
         "40 m³, window ajar: 1 air change an hour or more"),
        (Air(volume=40.0, air_changes=2 / HOUR), 80.0, 80.0, False, "40 m³ with 2 air changes an hour"),
        (Air(volume=40.0, air_changes=1 / HOUR, volume_uncertainty=2.0), 36.0, 44.0, False,
         "40 ± 4 m³ with 1 air change an hour"),
    ],
)  # fmt: skip
def test_the_room_in_words_and_in_numbers(
    air: Air, low: float, high: float, missing: bool, how: str
) -> None:
    """Fresh air an hour, both ends; what is missing; how it is told."""
    found = flows_of(air)
    assert found.low * HOUR == pytest.approx(low)
    assert found.high * HOUR == pytest.approx(high)
    assert found.missing == (("the air changes of the room",) if missing else ())
    assert found.how == how


# -- lines on what is not known ------------------------------------------------------------------


def test_an_unknown_liquid_and_an_unknown_amount_each_have_their_line() -> None:
    """Key, figure, finding and what is missing."""
    unknown = line(poured(("mystery", 0.01)), "vapour.no-limit.mystery")
    assert (unknown.figure, unknown.finding) == ("vapour of unknown harm", Finding.NO_LIMIT)
    assert unknown.missing == ("what is in mystery, and its exposure limit",)
    amount = line(poured(("ethanol", None)), "vapour.no-amount.ethanol")
    assert (amount.figure, amount.finding) == ("amount not known", Finding.STRADDLES)
    assert amount.missing == ("the amount of ethanol",)
