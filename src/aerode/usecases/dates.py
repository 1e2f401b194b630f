"""Dates as people type them, read to ISO 8601: `12.3.2025`, `13/4/25`, `3 May 2025`.

Where nothing tells the day from the month (`3/4/25`), the text is refused with both readings.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from aerode.devices.table_moments import DAY, iso, read_moment
from aerode.errors import UnitError

__all__ = ["TypedDate", "date_or_name", "read_date"]

_ISO = re.compile(
    r"\d{4}(-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01])([T ]\d{2}:\d{2}(:\d{2}([.,]\d+)?)?(Z|[+\-]\d{2}:?\d{2})?)?)?)?"
)
_ALLOWED = "year-month-day as in 2025-03-12, or day.month.year as in 12.3.2025; a time may follow, as in 14:22"


@dataclass(frozen=True, slots=True)
class TypedDate:
    """A date as typed and as it was understood.

    `iso` is what is stored; `understood` is the sentence to show, "" where the text was ISO already.
    """

    iso: str
    understood: str
    text: str


def read_date(text: str, *, field: str = "") -> TypedDate:
    """A typed date, or date with time, in ISO 8601.

    Parameters
    ----------
    text : str
        "2025-03-12", "2025-03", "12.3.2025 14:22", "13/4/25", "3 May 2025"; "" stays "".
    field : str
        The name of the field, for the refusal.

    Returns
    -------
    TypedDate
        Without a time where none was typed.

    Raises
    ------
    UnitError
        It is no date; or day and month can be meant either way, and both readings are named.

    Examples
    --------
    >>> read_date("12.3.2025").iso, read_date("13/4/25").iso, read_date("3 May 2025 14:22").iso
    ('2025-03-12', '2025-04-13', '2025-05-03T14:22')
    >>> read_date("12.3.2025").understood
    '12.3.2025 taken as 2025-03-12'
    """
    plain = text.strip()
    moment = read_moment(plain) if plain else None
    if not plain or (_ISO.fullmatch(plain) and (moment is not None or len(plain) <= 7)):
        return TypedDate(plain.replace(" ", "T"), "", text)
    if moment is None or not moment.dated:
        raise UnitError(
            f"{text!r} is no date of the calendar",
            where=field,
            allowed=_ALLOWED,
            next_step="type it so, or leave it empty if it was not noted",
        )
    if moment.other is not None:
        either = " or ".join(
            _written(m, plain, moment.zone) for m in sorted({moment.micros, moment.other})
        )
        raise UnitError(
            f"{text!r} can be read in two ways: which number is the day?",
            where=field,
            allowed=either,
            next_step="type the one that is meant, year first",
        )
    written = _written(moment.micros, plain, moment.zone)
    return TypedDate(written, f"{plain} taken as {written}", text)


def date_or_name(text: str, *, field: str = "") -> str:
    """The name of a day or sitting: a date in ISO 8601, anything else as it was typed.

    Raises
    ------
    UnitError
        A date in which day and month can be meant either way.

    Examples
    --------
    >>> date_or_name("9.5.2026"), date_or_name("day 1")
    ('2026-05-09', 'day 1')
    """
    moment = read_moment(text.strip())
    return read_date(text, field=field).iso if moment is not None and moment.dated else text


def _written(micros: int, text: str, zone: str) -> str:
    """ISO 8601 with as much of the time as was typed."""
    if ":" not in text and micros % DAY == 0:
        return iso(micros)[:10]
    seconds = re.search(r":\d{2}:\d{2}", text)
    whole = iso(micros, zone)
    return whole if seconds else re.sub(r"(T\d{2}:\d{2}):00", r"\1", whole)
