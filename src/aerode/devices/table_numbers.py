"""Cells as numbers: decimal comma or point, thousands marks, a unit behind the number, moments."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode import units
from aerode.devices.table_moments import is_moment
from aerode.errors import TableError, UnitError

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "decimal_mark",
    "is_missing",
    "is_number",
    "is_open",
    "is_overload",
    "number_and_unit",
]

_MISSING = {
    "", "-", "--", "---", "----", "–", "—", "n/a", "#n/a", "na", "n.a.", "n.v.", "none", "null",
    "nil", "?", ".", "*", "...", "…", "missing", "fehlt",
}  # fmt: skip
# What meters and loggers write where the value is beyond the range; common practice, no source.
_OVERLOAD = re.compile(
    r"^[+\-−<>]?\s*(0?\.?[o0]\.?l\.?d?|over(load|flow|range|\s?range)?|ovl|ovfl|ovr|ofl|o\.f\.|"
    r"out of range|überlauf|dépassement|[+\-−]?9\.9e\+?3[67]|[+\-−]?9\.90*e\+?37)(\s*[µmkΩ°a-z]{1,4})?$",
    re.IGNORECASE,
)
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


def is_missing(cell: str) -> bool:
    """True for an empty cell and for what people put in its place."""
    return cell.strip().casefold() in _MISSING


def is_overload(cell: str) -> bool:
    """True where a meter says that the value is beyond its range: OL, OVER, 9.9E+37.

    >>> [is_overload(cell) for cell in ("OL", "-0L", "O.L mV", "9.9E+37", "0.742", "Oslo")]
    [True, True, True, True, False, False]
    """
    return bool(_OVERLOAD.match(cell.strip()))


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
            next_step="make them alike, or say which one counts: decimal ',' or decimal '.'",
        )
    if commas or (either and not points and delimiter == ";"):
        return ","
    if either and not points:
        raise TableError(
            f"the comma at {either[0]} may be a decimal mark or divide thousands",
            where=name,
            allowed="a number that can be read in one way only",
            next_step="say which it is: decimal ',' or decimal '.'",
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
    if re.search(r"\b(nan|inf|infinity)\b", text, re.IGNORECASE) and not tail.strip():
        raise UnitError(f"{cell!r} is not a finite number", allowed="a number, or an empty cell")
    value, rest = units.read_number(digits + tail)
    return value, rest
