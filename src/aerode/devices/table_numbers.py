"""Cells as numbers: decimal comma or point, thousands marks, a unit behind the number, moments."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import TableError, UnitError

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Moment",
    "decimal_mark",
    "is_missing",
    "is_moment",
    "is_number",
    "is_open",
    "number_and_unit",
    "read_moment",
]

_MISSING = {"", "-", "--", "---", "–", "—", "n/a", "na", "n.a.", "none", "?", "."}
_OPEN = {"open", "open circuit", "ocv", "oc", "offen", "leerlauf", "∞", "no load", "none (open)"}
_NUMBER = re.compile(r"^[+\-−]?\s*(\d[\d.,'\u00a0\u2009\u202f ]*|[.,]\d+)(\s*[eE][+\-−]?\d+)?")
_COMMA_DECIMAL = re.compile(
    r"^[+\-−]?(\d{1,3}(\.\d{3})+,\d+|0?,\d+|0,\d{3}|\d{4,},\d+|\d+,(\d{1,2}|\d{4,}))(?!\d)"
)
_POINT_DECIMAL = re.compile(
    r"^[+\-−]?(\d{1,3}(,\d{3})+\.\d+|0?\.\d+|0\.\d{3}|\d{4,}\.\d+|\d+\.(\d{1,2}|\d{4,}))(?!\d)"
)
_EITHER_COMMA = re.compile(r"^[+\-−]?[1-9]\d{0,2},\d{3}(?![\d,.])")
_THOUSANDS = {
    ".": re.compile(r"^[+\-−]?\d{1,3}(,\d{3})+(?=\.|$|\D)"),
    ",": re.compile(r"^[+\-−]?\d{1,3}(\.\d{3})+(?=,|$|\D)"),
}
_CLOCK = re.compile(r"^(\d{1,3}):(\d{2})(?::(\d{2})(?:[.,](\d+))?)?$")
_DOTTED_DATE = re.compile(r"^(\d{1,2})\.(\d{1,2})\.(\d{4})(?:[ T]+(\d{1,2}:\d{2}(?::\d{2})?))?$")


def is_missing(cell: str) -> bool:
    """True for an empty cell and for what people put in its place."""
    return cell.strip().casefold() in _MISSING


def is_open(cell: str) -> bool:
    """True where the load column says that there was no load."""
    return cell.strip().casefold() in _OPEN


def is_number(cell: str) -> bool:
    """True if a cell begins with a number and holds at most a unit behind it."""
    match = _NUMBER.match(cell.strip())
    if not match or is_moment(cell):
        return False
    rest = cell.strip()[match.end() :].strip()
    return len(rest) <= 12 and not re.search(r"\s\S+\s", rest)


def decimal_mark(cells: Iterable[tuple[str, str]], delimiter: str, name: str) -> str:
    """The decimal mark of a table: "." or ",".

    Parameters
    ----------
    cells : iterable of (place, text)
        All cells, with where they stand.
    delimiter : str
        A semicolon between cells is there because the comma is the decimal mark.
    name : str
        Of the table, for the refusal.

    Raises
    ------
    TableError
        Both marks are used, or a comma may be either mark.
    """
    commas: list[str] = []
    points: list[str] = []
    either: list[str] = []
    for place, text in cells:
        if not is_number(text):
            continue
        plain = re.sub(r"['\u00a0\u2009\u202f ]", "", text)
        for pattern, found in (
            (_COMMA_DECIMAL, commas),
            (_POINT_DECIMAL, points),
            (_EITHER_COMMA, either),
        ):
            if pattern.match(plain):
                found.append(f"{place} ({text})")
    if commas and points:
        raise TableError(
            f"the decimal comma is used at {commas[0]} and the decimal point at {points[0]}",
            where=name,
            allowed="one decimal mark in one table",
            next_step="make them alike, or say which one counts: decimal=',' or decimal='.'",
        )
    if commas or (either and not points and delimiter == ";"):
        return ","
    if either and not points:
        raise TableError(
            f"the comma at {either[0]} may be a decimal mark or divide thousands",
            where=name,
            allowed="a number that can be read in one way only",
            next_step="say which it is: decimal=',' or decimal='.'",
        )
    return "."


def number_and_unit(cell: str, decimal: str) -> tuple[float, str]:
    """A cell as a number and the unit behind it ("" if none).

    Raises
    ------
    UnitError
        No number, not a finite one, or marks that do not fit the decimal mark of the table.

    Examples
    --------
    >>> number_and_unit("1.234,5 mV", ",")
    (1234.5, 'mV')
    """
    text = cell.strip()
    other = "." if decimal == "," else ","
    head = _NUMBER.match(text)
    digits = head.group(0) if head else text
    if other in digits:
        plain = re.sub(r"['\u00a0\u2009\u202f ]", "", digits)
        if not _THOUSANDS[decimal].match(plain):
            raise UnitError(
                f"{cell!r} does not fit the decimal mark {decimal!r} of this table",
                allowed=f"a number such as 0{decimal}742",
            )
        digits = digits.replace(other, "")
    if decimal == ",":
        digits = digits.replace(",", ".")
    tail = text[head.end() :] if head else ""
    if re.search(r"\b(nan|inf|infinity|ol|0l|o\.l)\b", text, re.IGNORECASE) and not tail.strip():
        raise UnitError(f"{cell!r} is not a finite number", allowed="a number, or an empty cell")
    value, rest = units.read_number(digits + tail)
    return value, rest


@dataclass(frozen=True, slots=True)
class Moment:
    """A cell of a time column: a date with time, or a time of day or elapsed (`date` is False)."""

    at: datetime
    date: bool


def is_moment(cell: str) -> bool:
    """True for an ISO 8601 date or date with time, a dotted date, and h:mm or h:mm:ss."""
    return read_moment(cell) is not None


def read_moment(cell: str) -> Moment | None:
    """A moment, or None where the cell is not one in a form that can be read in one way only."""
    text = cell.strip()
    clock = _CLOCK.match(text)
    if clock:
        hours, minutes, seconds = int(clock[1]), int(clock[2]), int(clock[3] or 0)
        if minutes > 59 or seconds > 59:
            return None
        part = float(f"0.{clock[4] or 0}")
        day = datetime(2000, 1, 1, tzinfo=UTC)
        return Moment(day + timedelta(hours=hours, minutes=minutes, seconds=seconds + part), False)
    dotted = _DOTTED_DATE.match(text)
    if dotted:
        text = (
            f"{dotted[3]}-{int(dotted[2]):02}-{int(dotted[1]):02}T{(dotted[4] or '00:00').zfill(5)}"
        )
    if not re.match(r"^\d{4}-\d{2}-\d{2}", text):
        return None
    try:
        at = datetime.fromisoformat(text.replace(" UTC", "Z"))
    except ValueError:
        return None
    return Moment(at if at.tzinfo else at.replace(tzinfo=UTC), True)
