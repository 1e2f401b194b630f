"""The fresh air for each kind of limit, against m / (share x limit x time) and G / (share x limit) by hand.

Limits in ppm at 25 degC and 1 atm: ethanol 1000 over 8 h (OSHA) and over 15 min (Ontario); toluene 20 over 8 h
(Ontario), 100 over 15 min (EU), 300 at any moment (OSHA); 2-butanone 75 and 150 from memory; styrene 200 at
any moment (OSHA). As the table of limits holds them.
"""

from __future__ import annotations

import pytest

from aerode.cautions.breathing import Source, all_at_once, sources_of
from aerode.cautions.fresh_air import airing_words, fresh_air_words, needs_of
from aerode.cautions.situation import Air, OpenLiquid, SheetFigures, Situation
from aerode.physics.exposure import mass_concentration

HOUR = 3600.0
G = 1e-3  # kg
MOLAR = {
    "ethanol": 0.04607,
    "toluene": 0.09214,
    "2-butanone": 0.07211,
    "styrene": 0.10415,
}  # kg/mol


def slow(name: str, grams: float, rate: float) -> Source:
    """A liquid that goes no faster than a rate [g/min]."""
    each = rate * G / 60.0
    return Source(name, grams * G, each, each, each, True, "seen")


def fast(name: str, grams: float) -> Source:
    """A liquid of which nothing bounds how fast it goes."""
    (found,) = sources_of(
        Situation(liquids=(OpenLiquid(name=name, substance=name, mass=grams * G),))
    )
    return found


def ppm(name: str, value: float) -> float:
    """A limit [kg/m3]."""
    return mass_concentration(1e-6 * value, MOLAR[name])


def flows(*sources: Source, share: float = 0.5) -> dict[str, float]:
    """The fresh air of each kind [m3/h]."""
    needs = needs_of(Situation(target_share=share), list(sources))
    return {need.kind: need.flow * HOUR for need in needs}


def test_only_a_rate_that_nobody_bounds_lets_all_go_at_once() -> None:
    """A minute for all of it is the fastest of the models."""
    assert all_at_once(fast("ethanol", 9.0))
    assert all_at_once(slow("ethanol", 9.0, 9.0))
    assert not all_at_once(slow("ethanol", 9.0, 8.9))


def test_what_is_gone_in_the_time_of_a_limit_is_held_against_it() -> None:
    """60 g at 0.1 g/min: 1.5 g in 15 min, 48 g in 8 h."""
    found = flows(slow("ethanol", 60.0, 0.1))

    assert found == {
        "day": pytest.approx(48.0 * G / (0.5 * ppm("ethanol", 1000) * 8.0), rel=1e-3),
        "quarter hour": pytest.approx(1.5 * G / (0.5 * ppm("ethanol", 1000) * 0.25), rel=1e-3),
    }


def test_the_largest_need_leads_whichever_it_is() -> None:
    """A slow source asks most over the day, since its limit over 8 h is a fifth of that over 15 min."""
    air = Air(volume=50.0, air_changes=1 / HOUR)
    words, others = fresh_air_words(Situation(air=air), [slow("toluene", 60.0, 0.1)])

    assert next(iter(flows(slow("toluene", 60.0, 0.1)))) == "day"
    assert next(iter(flows(fast("toluene", 60.0)))) == "quarter hour"
    assert words.startswith("Fresh air for the room: 160 m³/h (3.2 air changes an hour) with ")
    assert "with at most 48 g of it evaporating in 8 h, for 50 % of the legal limit of 20 ppm over 8 h (Ontario): the limit over the day governs." in words  # fmt: skip
    assert others.startswith("With at most 1.5 g of it evaporating in any 15 min it would be ")


def test_several_liquids_add_up_over_every_time() -> None:
    """Each by its own limit; the grams and the rates are those of all together."""
    pair = [slow("toluene", 6.0, 0.2), slow("styrene", 4.0, 0.3)]
    needs = {need.kind: need for need in needs_of(Situation(), pair)}
    instant = (0.2 / ppm("toluene", 300) + 0.3 / ppm("styrene", 200)) * G / 60.0 / 0.5

    assert needs["instant"].flow == pytest.approx(instant, rel=1e-3)
    assert needs["instant"].assumed == "evaporating no faster than 0.5 g a minute"
    assert needs["quarter hour"].assumed == "with at most 7 g of it evaporating in any 15 min"
    assert needs["day"].assumed == "spread over 8 h"
    assert len(needs["day"].limits) == 2


def test_a_rate_that_nobody_bounds_is_spread_over_a_quarter_hour_for_the_limit_at_any_moment() -> (
    None
):
    """9 g and 18 g in 15 min: 0.6 and 1.2 g a minute."""
    found = needs_of(Situation(), [fast("toluene", 9.0), fast("styrene", 18.0)])
    instant = next(need for need in found if need.kind == "instant")

    assert instant.assumed == "evaporating no faster than 1.8 g a minute"
    assert instant.flow == pytest.approx(
        (9.0 / ppm("toluene", 300) + 18.0 / ppm("styrene", 200)) * G / 900.0 / 0.5, rel=1e-3
    )


def test_one_without_a_limit_of_a_kind_leaves_the_others_theirs() -> None:
    """Ethanol has no limit at any moment on file, toluene has: the order of the jars is nothing."""
    for pair in (
        [fast("ethanol", 9.0), fast("toluene", 9.0)],
        [fast("toluene", 9.0), fast("ethanol", 9.0)],
    ):
        instant = next(need for need in needs_of(Situation(), pair) if need.kind == "instant")
        assert instant.limits == ("legal limit of 300 ppm (OSHA PEL, at any moment)",)
        assert instant.flow == pytest.approx(
            9.0 * G / 900.0 / (0.5 * ppm("toluene", 300)), rel=1e-3
        )


def test_the_share_and_the_exhaust_count() -> None:
    """A quarter of the limit takes twice the air of a half; a fair exhaust leaves 0.7 at its worse end."""
    half, quarter = flows(fast("ethanol", 9.0)), flows(fast("ethanol", 9.0), share=0.25)
    caught = needs_of(Situation(air=Air(volume=50.0, exhaust="fair")), [fast("ethanol", 9.0)])

    assert quarter["day"] == pytest.approx(2.0 * half["day"])
    assert quarter["quarter hour"] == pytest.approx(2.0 * half["quarter hour"])
    assert caught[0].flow * HOUR == pytest.approx(0.7 * half["quarter hour"])


def test_a_limit_from_memory_is_marked_and_a_published_one_is_not() -> None:
    """2-butanone: 150 ppm over 15 min is from memory and the stricter; ethanol's are published."""
    butanone, ethanol = (needs_of(Situation(), [fast(n, 9.0)]) for n in ("2-butanone", "ethanol"))

    assert [need.limits[0] for need in butanone] == [
        "advised limit of 150 ppm over 15 min (ACGIH TLV, from memory)",
        "advised limit of 75 ppm over 8 h (ACGIH TLV, from memory)",
    ]
    assert butanone[0].flow * HOUR == pytest.approx(
        9.0 * G / (0.5 * ppm("2-butanone", 150) * 0.25), rel=1e-3
    )
    assert not any("memory" in need.limits[0] for need in ethanol)
    assert all(need.stands_in == () for need in (*butanone, *ethanol))


def _thinners(**figures: float) -> Situation:
    names = ("thinner", "wash")
    return Situation(
        liquids=tuple(OpenLiquid(name=n, substance=n, mass=1 * G) for n in names),
        sheets=tuple(SheetFigures(of=n, said=f"sheet of {n}", **figures) for n in names),  # pyright: ignore[reportArgumentType]
        air=Air(volume=50.0, air_changes=1 / HOUR),
    )


def test_those_without_a_short_term_limit_are_all_named() -> None:
    """Two with 100 mg/m3 over 8 h: 2 g in 15 min to half of it, 160 m3/h; both limits are held over 15 min."""
    pot = _thinners(day=1e-4)
    needs = needs_of(pot, sources_of(pot))
    lead, others = fresh_air_words(pot, sources_of(pot))

    assert needs[0].stands_in == ("thinner", "wash")
    assert needs[1].stands_in == ()
    assert needs[0].flow * HOUR == pytest.approx(160.0)
    assert needs[1].flow * HOUR == pytest.approx(5.0)
    assert "160 m³/h (3.2 air changes an hour)" in lead
    assert others.endswith("No limit over 15 min is on file for thinner and wash: its limit of the day is held over 15 min instead.")  # fmt: skip


def test_a_short_term_limit_alone_governs_nothing_else() -> None:
    """One limit on file: one figure, and no word of another."""
    pot = _thinners(quarter_hour=1e-4)
    lead, others = fresh_air_words(pot, sources_of(pot))

    assert lead.startswith("Fresh air for the room: 160 m³/h (3.2 air changes an hour) if all of it evaporates within 15 min, for 50 % of the ")  # fmt: skip
    assert "governs" not in lead
    assert others == ""
    assert fresh_air_words(Situation(), []) == ("", "")


def test_one_air_change_is_one() -> None:
    """50 m3/h in 50 m3, and without a room no air changes are told."""
    grams = 50.0 * 0.5 * ppm("ethanol", 1000) * 0.25 / G
    words = [
        fresh_air_words(Situation(air=air), [fast("ethanol", grams)])[0]
        for air in (
            Air(volume=50.0, air_changes=1 / HOUR),
            Air(volume=0.9, air_changes=1 / HOUR),
            None,
        )
    ]

    assert words[0].startswith("Fresh air for the room: 50 m³/h (1 air change an hour) if all")
    assert "(56 air changes an hour)" in words[1]
    assert words[2].startswith("Fresh air for the room: 50 m³/h if all")
    assert airing_words(Situation(), {}) == ""
