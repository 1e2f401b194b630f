"""Cells as moments: dates in any order, times of day, elapsed times, counts since an epoch.

Every moment is a whole number of microseconds, so that differences come out as they were typed.
A date without a zone counts from 1970-01-01 0 h of its own clock; a time without a date from 0 h.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from itertools import pairwise

__all__ = [
    "COUNTS",
    "DAY",
    "ORDERS",
    "SECOND",
    "SERIAL_OF_1970",
    "Moment",
    "count_form",
    "is_moment",
    "iso",
    "micros_of_count",
    "read_moment",
]

SECOND = 1_000_000
DAY = 86_400 * SECOND
ORDERS = ("d/m/y", "m/d/y", "y/m/d")
"""The orders of day, month and year that a person can name."""

_EPOCH = date(1970, 1, 1).toordinal()
_TIME = (
    r"(?P<h>\d{1,4}):(?P<min>\d{2})(?::(?P<s>\d{2}))?(?:[.,:](?P<part>\d{1,9}))?"
    r"\s*(?P<half>[AaPp]\.?\s?[Mm]\.?)?\s*(?P<zone>Z|UTC|GMT|[+\-−]\d{2}:?\d{2})?"
)
_CLOCK = re.compile(rf"^{_TIME}$")
_BEHIND = rf"(?:(?:[ T,;_]|\s)+{_TIME})?$"
_YMD = re.compile(rf"^(?P<y>\d{{4}})[-/.](?P<m>\d{{1,2}})[-/.](?P<d>\d{{1,2}}){_BEHIND}")
_DOTTED = re.compile(rf"^(?P<d>\d{{1,2}})\.\s?(?P<m>\d{{1,2}})\.\s?(?P<y>\d{{4}}|\d{{2}}){_BEHIND}")
_EITHER = re.compile(rf"^(?P<a>\d{{1,2}})[/\-](?P<b>\d{{1,2}})[/\-](?P<y>\d{{4}}|\d{{2}}){_BEHIND}")
_NAMED = re.compile(
    rf"^(?P<d>\d{{1,2}})[.\- ]+(?P<name>[^\W\d]{{3,9}})\.?[\- ,]+(?P<y>\d{{4}}|\d{{2}}){_BEHIND}"
)
_NAME_FIRST = re.compile(
    rf"^(?P<name>[^\W\d]{{3,9}})\.?[\- ]+(?P<d>\d{{1,2}}),?[\- ]+(?P<y>\d{{4}}){_BEHIND}"
)
_COMPACT = re.compile(
    r"^(?P<y>20\d{2})(?P<m>\d{2})(?P<d>\d{2})(?:[T _\-]?(?P<h>\d{2})(?P<min>\d{2})(?P<s>\d{2})?)?"
    r"(?P<part>(?!))?(?P<half>(?!))?(?P<zone>Z)?$"
)
_WEEKDAY = re.compile(
    r"^(?:mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so)[a-z]*[.,]*\s+(?=\d|[a-z]{3})", re.I
)
# The first three letters of a month in English, German, French, Spanish and Dutch.
_MONTHS = {
    word: place
    for place, words in enumerate(
        ("jan ene", "feb fév fev", "mar mär mrt maa mrz", "apr avr abr", "may mai mei", "jun jui",
         "jul", "aug aoû aou ago", "sep", "oct okt", "nov", "dec dez déc dic"), 1,
    )
    for word in words.split()
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment.

    `micros` [µs]; `dated` is false for a time of day or an elapsed time; `zone` is the offset
    from UTC where one was written. `other` is the same with day and month exchanged, where that
    is a date as well and nothing in the cell tells.
    """

    micros: int
    dated: bool
    zone: str = ""
    other: int | None = None
    form: str = ""


def is_moment(cell: str) -> bool:
    """True for a date, a date with time, a time of day or an elapsed time, in any form read here.

    Eight digits without a mark are a number first: only a heading makes them a date.

    >>> is_moment("03/05/2025 2:22 PM"), is_moment("0,742")
    (True, False)
    """
    moment = read_moment(cell)
    return moment is not None and moment.form != "yyyymmdd"


def read_moment(cell: str, order: str = "") -> Moment | None:
    """A moment, or None where the cell is none.

    Parameters
    ----------
    cell : str
        As it stands.
    order : str
        One of `ORDERS`, where a person says in which order a date with slashes stands.

    Examples
    --------
    >>> read_moment("03.05.2025 14:22").form
    'day.month.year'
    >>> read_moment("13/05/2025").form, read_moment("05/13/2025").form
    ('day/month/year', 'month/day/year')
    >>> read_moment("0:01:30.5").micros
    90500000
    """
    text = cell.strip()
    if not text or not (text[0].isalnum()):
        return None
    clock = _CLOCK.match(text)
    if clock:
        return _clock(clock)
    if text[0].isalpha():
        text = _WEEKDAY.sub("", text)
    for pattern, form in _PATTERNS:
        match = pattern.match(text)
        if match:
            return _dated(match, form, order)
    return None


_PATTERNS = (
    (_YMD, "year-month-day"),
    (_DOTTED, "day.month.year"),
    (_EITHER, ""),
    (_NAMED, "day month year"),
    (_NAME_FIRST, "month day year"),
    (_COMPACT, "yyyymmdd"),
)


def layout(cell: str, order: str = "") -> dict[str, tuple[int, int]] | None:
    """Where year, month, day, hours, minutes, seconds and parts of a second stand in a cell.

    Only for cells of digits and marks; None where the cell is no moment, or needs more than that.

    >>> layout("03.05.2025 14:22")
    {'d': (0, 2), 'm': (3, 5), 'y': (6, 10), 'h': (11, 13), 'min': (14, 16)}
    """
    moment = read_moment(cell, order)
    if moment is None or cell != cell.strip():
        return None
    for pattern in (_CLOCK, _YMD, _DOTTED, _EITHER, _COMPACT):
        match = pattern.match(cell)
        if match:
            spans = {name: match.span(name) for name, text in match.groupdict().items() if text}
            if pattern is _EITHER:
                first, second = spans.pop("a"), spans.pop("b")
                if moment.form == "year/month/day":
                    return None
                month_first = moment.form == "month/day/year"
                spans |= {"m": first, "d": second} if month_first else {"d": first, "m": second}
            return spans
    return None


def _clock(match: re.Match[str]) -> Moment | None:
    micros = _micros_of_day(match)
    if micros is None:
        return None
    form = "time of day"
    if match["half"]:
        form = "time of day with AM and PM"
    elif match["s"] is None and match["part"]:
        return Moment(micros // 60, False, form="minutes:seconds")  # 01:30.5 is no time of day
    elif int(match["h"]) > 23:
        form = "elapsed time"
    return Moment(micros, False, match["zone"] or "", form=form)


def _micros_of_day(match: re.Match[str]) -> int | None:
    """Microseconds since 0 h; None for minutes, seconds or hours that no clock shows."""
    if match["h"] is None:
        return 0
    hours, minutes, seconds = int(match["h"]), int(match["min"]), int(match["s"] or 0)
    if minutes > 59 or seconds > 60:
        return None
    if match["half"]:
        if not 1 <= hours <= 12:
            return None
        hours = hours % 12 + (12 if match["half"][0] in "pP" else 0)
    micros = ((hours * 60 + minutes) * 60 + seconds) * SECOND
    digits = match["part"]
    if not digits:
        return micros
    part = int(digits.ljust(6, "0")[:6])
    # "01:30.5": what stands behind the point are parts of a second, so 01:30 are minutes.
    return micros + (part * 60 if match["s"] is None else part)


def _dated(match: re.Match[str], form: str, order: str) -> Moment | None:
    time = _micros_of_day(match)
    if time is None or time >= DAY + SECOND:
        return None
    if match["h"] and not match["s"] and match["part"]:
        return None  # a date with minutes and a part of one
    year = int(match["y"]) if len(match["y"]) == 4 else 2000 + int(match["y"])
    offset = _offset(match["zone"])
    other: int | None = None
    if form:
        name = match.groupdict().get("name")
        month = _MONTHS.get(name.casefold()[:3]) if name else int(match["m"])
        days = _days(year, month, int(match["d"]))
    else:
        days, other_days, form = _either(match, year, order)
        other = None if other_days is None else other_days * DAY + time - offset
    if days is None:
        return None
    return Moment(days * DAY + time - offset, True, match["zone"] or "", other, form)


def _either(match: re.Match[str], year: int, order: str) -> tuple[int | None, int | None, str]:
    """Day and month in the order told; else as only one order gives a date; else both."""
    first, second = int(match["a"]), int(match["b"])
    day_first, month_first = _days(year, second, first), _days(year, first, second)
    if order == "y/m/d":
        short = int(match["y"])
        return _days(2000 + first, second, short), None, "year/month/day"
    if order == "m/d/y" or (not order and day_first is None):
        return month_first, None, "month/day/year"
    if order == "d/m/y" or month_first is None:
        return day_first, None, "day/month/year"
    return day_first, None if first == second else month_first, "day/month/year"


def _days(year: int, month: int | None, day: int) -> int | None:
    try:
        return date(year, month or 0, day).toordinal() - _EPOCH
    except ValueError:
        return None


def _offset(zone: str | None) -> int:
    if not zone or zone in {"Z", "UTC", "GMT"}:
        return 0
    digits = re.sub(r"\D", "", zone)
    seconds = (int(digits[:2]) * 60 + int(digits[2:])) * 60
    return seconds * SECOND * (1 if zone[0] == "+" else -1)


def iso(micros: int, zone: str = "") -> str:
    """A moment in ISO 8601; without a zone where none was written.

    >>> iso(1746282120 * SECOND), iso(1746282120 * SECOND, "+02:00")
    ('2025-05-03T14:22:00', '2025-05-03T16:22:00+02:00')
    """
    at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=micros)
    if not zone:
        return at.replace(tzinfo=None).isoformat()
    return at.astimezone(timezone(timedelta(microseconds=_offset(zone)))).isoformat()


# -- numbers that count from an epoch -------------------------------------------------------------

# 2000-01-01 to 2100-01-01 in seconds since 1970, and in days since 1899-12-30, the day from which
# spreadsheets count (ECMA-376 part 1, 18.17.4.1: serial values of the 1900 date base system).
_SECONDS = (946_684_800, 4_102_444_800)
_SERIAL = (36_526, 73_050)
SERIAL_OF_1970 = 25_569
"""The serial day of 1970-01-01."""
COUNTS = {"epoch s": 1.0, "epoch ms": 1e-3, "epoch us": 1e-6}
"""What bare numbers may count since 1970, and each step in seconds."""


def count_form(numbers: list[float], *, has_unit: bool, says_date: bool) -> str:
    """What a column of bare numbers under a time heading counts; "" for seconds since the start.

    Parameters
    ----------
    numbers : list of float
        All of them.
    has_unit : bool
        The heading gives a unit: then it is no serial day.
    says_date : bool
        The heading speaks of a date.

    Examples
    --------
    >>> count_form([1746282120.0, 1746282121.0], has_unit=False, says_date=False)
    'epoch s'
    >>> count_form([45780.598611, 45780.598623], has_unit=False, says_date=False)
    'serial day'
    """
    if not numbers:
        return ""
    low, high = min(numbers), max(numbers)
    for form, factor in COUNTS.items():
        if _SECONDS[0] <= low * factor and high * factor < _SECONDS[1]:
            return form
    if has_unit or not (_SERIAL[0] <= low and high < _SERIAL[1]):
        return ""
    small_steps = len(numbers) > 1 and all(abs(b - a) < 0.5 for a, b in pairwise(numbers))
    return "serial day" if says_date or small_steps else ""


def micros_of_count(number: float, form: str) -> int:
    """The moment of a number of `count_form`, to the microsecond (serial days to the millisecond)."""
    if form == "serial day":
        return round((number - SERIAL_OF_1970) * 86_400_000) * 1000
    return round(number * COUNTS[form] * SECOND)
