"""The limit of a day held over 15 min where there is none: stricter than any published one, and marked so."""

from __future__ import annotations

from aerode.cautions.limits import governing, held_over_a_quarter, limit_words
from aerode.cautions.sheets import short_limits_of
from aerode.cautions.situation import SheetFigures, Situation
from aerode.reference.rows import Status


def test_it_counts_as_from_memory_with_its_value_and_its_source() -> None:
    """Toluene, 20 ppm over 8 h (Ontario): nobody published it over 15 min, so it can ask for a FIRST alone."""
    day = governing("toluene", "day")
    held = held_over_a_quarter(day)

    assert day.published is not None
    assert held.memory is not None
    assert (held.substance, held.kind, held.published) == ("toluene", "quarter hour", None)
    assert held.memory.value == day.published.value
    assert held.memory.source == day.published.source
    assert held.memory.status is Status.UNVERIFIED
    assert not held.memory.published
    assert held.memory.shown == "20 ppm over 8 h held over 15 min, Ontario"
    assert held.strictest is held.memory


def test_without_a_limit_of_the_day_there_is_none_to_hold() -> None:
    """Nothing on file stays nothing."""
    held = held_over_a_quarter(governing("paraffin wax", "instant"))

    assert (held.kind, held.strictest) == ("quarter hour", None)


def test_a_limit_over_a_quarter_hour_stands_before_that_of_the_day() -> None:
    """Toluene has one of its own; a thinner whose sheet gives the day alone has not."""
    pot = Situation(sheets=(SheetFigures(of="thinner", said="maker 2024", day=1e-4),))
    own, stands_in = short_limits_of(pot, "toluene"), short_limits_of(pot, "thinner")

    assert own.strictest is not None
    assert own.strictest.shown == "100 ppm over 15 min, EU IOELV"
    assert stands_in.strictest is not None
    assert stands_in.strictest.shown == "100 mg/m³ over 8 h held over 15 min, data sheet"
    assert (stands_in.substance, stands_in.published) == ("thinner", None)
    assert short_limits_of(pot, "glue").strictest is None


def test_a_limit_is_worded_with_what_stands_behind_its_body() -> None:
    """The body is what stands behind the last comma."""
    assert limit_words("1000 ppm over 8 h, OSHA PEL", "from memory") == (
        "legal limit of 1000 ppm over 8 h (OSHA PEL, from memory)"
    )
    assert limit_words("1,5 mg/m³ over 8 h, sheet") == "limit of 1,5 mg/m³ over 8 h (sheet)"
    assert limit_words("30 ppm over 8 h, AIHA WEEL").startswith("advised limit of 30 ppm")
