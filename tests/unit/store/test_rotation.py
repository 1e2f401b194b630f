"""The keeping rule of backups, against a plain twin that walks through the calendar."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from aerode.store.rotation import NEWEST, kept_by_rule

START = datetime(2024, 1, 1, tzinfo=UTC)
MOMENTS = st.lists(
    st.integers(0, 3 * 365 * 24).map(lambda hours: START + timedelta(hours=hours)), max_size=80
)


def _last_of(moments: set[datetime], shape: str, count: int) -> set[datetime]:
    """The last moment of each of the newest periods, told apart by how they are written."""
    words = sorted({moment.strftime(shape) for moment in moments})[-count:]
    return {max(m for m in moments if m.strftime(shape) == word) for word in words}


@given(MOMENTS)
def test_against_the_plain_twin(moments: list[datetime]) -> None:
    """The newest five, and the last of each day, week, month and year, written out one by one."""
    every = set(moments)
    wanted = set(sorted(every)[-NEWEST:])
    for shape, count in (("%Y-%m-%d", 7), ("%G-%V", 5), ("%Y-%m", 12), ("%Y", 1000)):
        wanted |= _last_of(every, shape, count)

    assert kept_by_rule(moments) == wanted


@given(MOMENTS)
def test_it_settles(moments: list[datetime]) -> None:
    """What is kept is kept again: nothing goes that the rule has once left, until newer ones come."""
    kept = kept_by_rule(moments)

    assert kept_by_rule(kept) == kept


def test_a_year_of_daily_backups() -> None:
    """Few stay, and the newest and the oldest year are among them."""
    moments = [START + timedelta(days=n) for n in range(800)]
    kept = kept_by_rule(moments)

    assert max(moments) in kept
    assert datetime(2024, 12, 31, tzinfo=UTC) in kept
    # 5 to 11 March 2026; three Sundays before; eleven month ends; the end of 2024
    assert len(kept) == 7 + 3 + 11 + 1
