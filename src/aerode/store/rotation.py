"""Which backups are kept: a rule that looks at nothing but their moments."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["NEWEST", "RULE", "kept_by_rule"]

NEWEST = 5
_DAYS, _WEEKS, _MONTHS = 7, 5, 12

RULE = (
    "the newest 5; the last one of each of the newest 7 days, 5 weeks and 12 months that have one; "
    "the last one of each year"
)
"""The keeping rule in words, as it is printed."""

Period = Callable[[datetime], tuple[int, ...]]

_PERIODS: tuple[tuple[int | None, Period], ...] = (
    (_DAYS, lambda at: (at.year, at.month, at.day)),
    (_WEEKS, lambda at: tuple(at.isocalendar()[:2])),
    (_MONTHS, lambda at: (at.year, at.month)),
    (None, lambda at: (at.year,)),
)


def kept_by_rule(moments: Iterable[datetime]) -> set[datetime]:
    """The moments of the backups that stay.

    Periods without a backup do not count, so a bench that rests for a year loses nothing by it.

    Parameters
    ----------
    moments : iterable of datetime
        Of all backups, in UTC.

    Returns
    -------
    set of datetime

    Examples
    --------
    >>> days = [datetime(2025, 5, day) for day in range(1, 32)]
    >>> sorted(moment.day for moment in kept_by_rule(days))
    [4, 11, 18, 25, 26, 27, 28, 29, 30, 31]
    """
    newest_first = sorted(set(moments), reverse=True)
    kept = set(newest_first[:NEWEST])
    for count, period in _PERIODS:
        last: dict[tuple[int, ...], datetime] = {}
        for moment in newest_first:
            last.setdefault(period(moment), moment)
        kept.update(list(last.values())[:count])
    return kept
