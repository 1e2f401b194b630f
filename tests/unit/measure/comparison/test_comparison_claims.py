"""Claims and reach: what so many builds can show, said before; and when a claim does not count."""

from __future__ import annotations

import math

import pytest

from aerode.errors import RangeError, UnitError
from aerode.measure.comparison.claims import claim_note, claim_outlook, matching_claim
from aerode.measure.comparison.reaching import builds_that_settle, chances, reach_of
from aerode.measure.comparison.typed import (
    coefficient_from_text,
    margin_from_text,
    point_from_text,
    share_from_text,
)
from aerode.measure.comparison.wording import (
    headline_many,
    headline_of,
    ratio_text,
    shortened,
)
from aerode.records.comparisons import Verdict
from aerode.records.places import Claim
from aerode.records.results import Level
from aerode.records.runs import Run

MARGIN = math.log(1.10)


def claim(**changes) -> Claim:
    """Less binder, 10 %, eight builds in all."""
    return Claim(
        **{"name": "less binder", "question": "?", "factor": "binder", "at": 0.45, "builds": 8}
        | changes
    )


def test_equivalence_is_out_of_reach_of_eight_builds_at_the_spreads_to_assume():
    """10 and 20 % with 4 + 4: no "equivalent", and some twenty a side to get it."""
    plan = claim_outlook(claim())
    assert [row.equivalence_reachable for row in plan.reach] == [False, False]
    assert plan.builds_to_equal[0] == 20
    assert '"equivalent" is out of reach' in plan.headline
    assert any("no proof of equality" in text for text in plan.warnings)
    assert len(plan.headline) <= 100


def test_a_good_hand_brings_equivalence_into_reach():
    """At 5 % the same eight builds find equals equivalent more often than not."""
    (row,) = claim_outlook(claim(), assumed=(0.05,)).reach
    assert row.equivalence_reachable
    assert row.detectable_ratio == pytest.approx(1.13, abs=0.01)


def test_headline_and_builds_say_the_same_of_equality():
    """In reach is said where the builds are as many as equality asks for four times in five."""
    for builds, spread in ((6, 0.20), (22, 0.20), (6, 0.05), (8, 0.10)):
        plan = claim_outlook(claim(margin=1.3, builds=builds), assumed=(spread,))
        needed = plan.builds_to_equal[0]
        assert needed is not None
        assert ("is in reach" in plan.headline) == (builds // 2 >= needed)


def test_the_detectable_ratio_is_the_one_that_is_shown_four_times_in_five():
    """At that true ratio the exact chance is 0.8, at half of it less."""
    row = reach_of((4, 4), 0.10, MARGIN, basis="")
    at = chances(math.log(row.detectable_ratio or 1.0), 0.10, 4, MARGIN)
    assert at[Verdict.SHOWN] + at[Verdict.SHOWN_SMALL] == pytest.approx(0.8, abs=1e-6)
    half = chances(0.5 * math.log(row.detectable_ratio or 1.0), 0.10, 4, MARGIN)
    assert half[Verdict.SHOWN] < 0.5


def test_one_build_a_side_reaches_nothing_without_a_spread_from_elsewhere():
    """1 + 1 shows nothing; with six degrees of freedom from other recipes it can."""
    bare = reach_of((1, 1), 0.10, MARGIN, basis="")
    assert bare.detectable_ratio is None
    assert "nothing can be shown" in bare.detail
    pooled = reach_of((1, 1), 0.10, MARGIN, basis="", degrees_of_freedom=6.0)
    assert (pooled.detectable_ratio or 0) > 1.3


def test_more_builds_settle_it_and_the_number_is_the_smallest():
    """One build fewer leaves "not shown" more often than one time in five."""
    for ratio in (1.0, 1.03, 1.2, 1.5):
        n = builds_that_settle(math.log(ratio), 0.08, MARGIN)
        assert n is not None
        assert chances(math.log(ratio), 0.08, n, MARGIN)[Verdict.NOT_SHOWN] <= 0.2
        if n > 2:
            assert chances(math.log(ratio), 0.08, n - 1, MARGIN)[Verdict.NOT_SHOWN] > 0.2
    assert builds_that_settle(math.log(1.08), 1.0, MARGIN) is None


def test_more_looks_make_a_claim_blunter():
    """Three looks need a larger ratio than one, and it says so."""
    one, three = claim_outlook(claim()), claim_outlook(claim(looks=3))
    assert (three.reach[0].detectable_ratio or 0) > (one.reach[0].detectable_ratio or 0)
    assert any("3 looks" in text for text in three.warnings)
    assert three.look_level == pytest.approx(0.0188)


def test_the_benchs_own_spread_takes_the_place_of_the_assumed_ones():
    """One line instead of two, and in plain words how well it is known."""
    plan = claim_outlook(claim(), own_spread=(0.055, 3.0))
    assert len(plan.reach) == 1
    assert plan.reach[0].spread_basis == "found on this bench, from few repeat builds"
    known = claim_outlook(claim(), own_spread=(0.055, 8.0))
    assert known.reach[0].spread_basis == "found on this bench"
    with pytest.raises(RangeError):
        claim_outlook(claim(), own_spread=(0.0, 3.0))


def test_an_odd_number_of_builds_is_shared_as_evenly_as_it_goes():
    """Seven are 4 + 3; without a number 2 + 2 stand in; one alone shows nothing."""
    assert claim_outlook(claim(builds=7)).reach[0].builds == "4 + 3 builds"
    assert "none named" in claim_outlook(claim(builds=None)).headline
    assert "nothing" in claim_outlook(claim(builds=2)).headline


def test_a_claim_is_found_by_factor_and_point():
    """Same factor, same kind of point, same point; two that fit are none."""
    known = [
        claim(),
        claim(name="wax", factor="wax"),
        claim(name="volts", factor="gap", response="voltage at a current density", at=20.0),
    ]
    assert matching_claim(known, by="binder") == known[0]
    assert matching_claim(known, by="binder", at_voltage=0.45) == known[0]
    assert matching_claim(known, by="binder", at_voltage=0.40) is None
    assert matching_claim(known, by="binder", at_current_density=20.0) is None
    assert matching_claim(known, by="gap", at_current_density=20.0) == known[2]
    assert matching_claim(known, by="") is None
    assert matching_claim([*known, claim(name="again")], by="binder") is None


def test_a_claim_written_after_the_first_run_does_not_count():
    """Dates are compared by day; the same day or an unknown one stands."""
    runs = [Run(name="a", started="2026-05-09T10:00"), Run(name="b")]
    assert "after the first run (2026-05-09)" in claim_note(claim(made="2026-05-10"), runs)
    assert claim_note(claim(made="2026-05-09"), runs) == ""
    assert claim_note(claim(made="2026-04-20"), runs) == ""
    assert claim_note(claim(made=""), runs) == ""


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("0.45 V", (0.45, None)),
        ("450mV", (0.45, None)),
        ("2 mA/cm^2", (None, 20.0)),
        ("20 A/m^2", (None, 20.0)),
    ],
)
def test_a_point_is_read_with_its_unit(text, point):
    """Volts or a current density."""
    assert point_from_text(text) == pytest.approx(point)


@pytest.mark.parametrize("text", ["0.45", "3 ohm", "45 V", "0 V"])
def test_a_point_without_unit_or_beyond_belief_is_refused(text):
    """The refusal is a refusal of the family, with what is allowed."""
    with pytest.raises((UnitError, RangeError)) as refusal:
        point_from_text(text)
    assert refusal.value.allowed


def test_margins_shares_and_coefficients_are_read_as_people_write_them():
    """Per cent or ratio; a coefficient only with its uncertainty."""
    assert margin_from_text("10%") == pytest.approx(1.10)
    assert margin_from_text("1.1") == pytest.approx(1.10)
    assert margin_from_text("0.1") == pytest.approx(1.10)
    assert margin_from_text("15") == pytest.approx(1.15)
    assert share_from_text("6 %", "spread") == pytest.approx(0.06)
    assert coefficient_from_text("1.5 ± 0.5 %/K") == pytest.approx((0.015, 0.005))
    for bad in ("1.0", "700 %"):
        with pytest.raises(RangeError):
            margin_from_text(bad)
    with pytest.raises(UnitError):
        coefficient_from_text("2 %/K")


def test_headlines_fit_on_a_hundred_characters_whatever_the_names():
    """Long names lose the tail, then the point, never the verdict."""
    long = "a very long recipe name with everything in it, and more of it"
    for verdict in Verdict:
        for what in ("A over B", f"{long} over {long}"):
            line = headline_of(
                verdict,
                Level.RECIPES,
                what,
                1.18,
                (1.04, 1.34),
                response="in current density at 0.45 V",
                tail="x" * 60,
            )
            assert len(line) <= 100
            assert line.lower().startswith(verdict.value[:5])
        for name in ("A", long):
            assert len(headline_many(verdict, name, name, 1.04, (0.9, 1.2), 5)) <= 100


def test_a_ratio_is_written_to_the_digits_of_its_interval():
    """Two decimals as a rule, more where the interval is narrow, fewer where it is hopeless."""
    assert ratio_text(1.2345, (1.1, 1.4)) == "1.23 [1.10, 1.40]"
    assert ratio_text(1.23456, (1.2335, 1.2356)) == "1.235 [1.234, 1.236]"
    assert ratio_text(1.2, (0.2, 7.1)) == "1.2 [0.2, 7.1]"
    assert ratio_text(1.2345, None) == "1.23"
    assert shortened("short") == "short"
