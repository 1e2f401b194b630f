"""Dates of records as people read them."""

from __future__ import annotations

import re

__all__ = ["dated"]

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_ISO = re.compile(
    r"(?<![\w-])(\d{4})-(\d{2})-(\d{2})(?:[T ](\d{2}:\d{2})(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?)?(?![\w-])"
)


def dated(text: object) -> str:
    """A text in which each date of ISO 8601 reads as day, month, year, never parted by a line's end.

    >>> dated("made 2026-05-09").replace("\\u00a0", " ")
    'made 9 May 2026'
    >>> dated("2026-11-29T23:10:05+00:00 by Ida").replace("\\u00a0", " ")
    '29 Nov 2026, 23:10 by Ida'
    """

    def said(found: re.Match[str]) -> str:
        year, month, day, clock = found.groups()
        if not 1 <= int(month) <= 12 or not 1 <= int(day) <= 31:
            return found[0]
        date = f"{int(day)}\u00a0{_MONTHS[int(month) - 1]}\u00a0{year}"
        return f"{date}, {clock}" if clock else date

    return _ISO.sub(said, str(text))
