"""Dates as typed: to ISO where only one day can be meant, refused with both readings where two can."""

from __future__ import annotations

import pytest

from aerode.errors import UnitError
from aerode.usecases.dates import date_or_name, read_date


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2025-03-12", "2025-03-12"),
        ("2025-03-12T14:22:01+02:00", "2025-03-12T14:22:01+02:00"),
        ("2025-03-12 14:22", "2025-03-12T14:22"),
        ("2025-03", "2025-03"),
        ("2025", "2025"),
        ("12.3.2025", "2025-03-12"),
        ("12.03.25", "2025-03-12"),
        ("12.3.2025 9:05", "2025-03-12T09:05"),
        ("13/4/25", "2025-04-13"),
        ("4/13/2025", "2025-04-13"),
        ("5/5/25", "2025-05-05"),
        ("3 May 2025", "2025-05-03"),
        ("May 3, 2025", "2025-05-03"),
        ("2025/3/12", "2025-03-12"),
        ("20250312", "2025-03-12"),
        ("", ""),
    ],
)
def test_one_meaning_is_taken(text: str, iso: str) -> None:
    """Every form in which only one day can be meant."""
    assert read_date(text).iso == iso
    assert read_date(text).text == text


def test_what_was_changed_is_said() -> None:
    """A date that was typed otherwise is shown as it was understood; an ISO one needs no word."""
    assert read_date("12.3.2025").understood == "12.3.2025 taken as 2025-03-12"
    assert read_date("2025-03-12").understood == ""


def test_two_meanings_are_refused_with_both() -> None:
    """3/4/25 is 3 April or 4 March: the refusal names both, year first."""
    with pytest.raises(UnitError) as refusal:
        read_date("3/4/25", field="--date")
    assert refusal.value.allowed == "2025-03-04 or 2025-04-03"
    assert refusal.value.where == "--date"


@pytest.mark.parametrize(
    "text", ["yesterday", "31.2.2025", "2025-13-01", "14:22", "0.742", "2025-02-30"]
)
def test_what_is_no_day_is_refused(text: str) -> None:
    """A word, a time of day, a number, and days that no calendar has."""
    with pytest.raises(UnitError, match="no date"):
        read_date(text)


def test_the_name_of_a_sitting_may_be_a_date_or_words() -> None:
    """So that a session typed otherwise is the same as the one the runs carry."""
    assert [date_or_name(t) for t in ("9.5.2026", "2026-05-09", "day 1", "")] == [
        "2026-05-09", "2026-05-09", "day 1", "",
    ]  # fmt: skip
    with pytest.raises(UnitError, match="two ways"):
        date_or_name("3/4/25")
