"""Many lines of one shape at once: cells by the places of their marks, moments by the places of digits.

Every function here gives up (None) where a line is not of the shape; the plain reader then reads
that line cell by cell, so that nothing is read differently because it is read fast.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.devices.table_moments import (
    COUNTS,
    DAY,
    SECOND,
    SERIAL_OF_1970,
    layout,
    read_moment,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Fields", "cut", "micros_of", "micros_of_counts", "numbers_of"]

_NEWLINE = 10
_DIGITS = (48, 57)
_LONGEST = 40
"""No moment or number is longer than this."""


@dataclass(frozen=True, slots=True)
class Fields:
    """A block of whole lines cut into cells: where each cell begins and ends, line by line."""

    buffer: NDArray[np.uint8]
    starts: NDArray[np.int64]
    """Shape (lines, cells)."""
    ends: NDArray[np.int64]

    def matrix(self, place: int) -> tuple[NDArray[np.uint8], NDArray[np.int64]] | None:
        """The letters of one column, shape (lines, longest), zero behind the end; and the lengths."""
        lengths = self.ends[:, place] - self.starts[:, place]
        width = int(lengths.max(initial=0))
        if width > _LONGEST:
            return None
        at = self.starts[:, place, None] + np.arange(max(width, 1))
        letters = self.buffer[np.minimum(at, self.buffer.size - 1)]
        letters[np.arange(max(width, 1)) >= lengths[:, None]] = 0
        return letters, lengths


def cut(block: bytes, delimiter: str, cells: int) -> Fields | None:
    """Cut whole lines into cells; None where a line has another number of cells.

    Parameters
    ----------
    block : bytes
        Lines, each with its line feed; no carriage returns.
    delimiter : str
        One letter of ASCII.
    cells : int
        How many cells each line has.
    """
    buffer = np.frombuffer(block, np.uint8)
    marks = np.flatnonzero((buffer == ord(delimiter)) | (buffer == _NEWLINE))
    if marks.size == 0 or marks.size % cells:
        return None
    ends = marks.reshape(-1, cells)
    kinds = buffer[ends]
    if not (kinds[:, -1] == _NEWLINE).all() or (kinds[:, :-1] == _NEWLINE).any():
        return None
    starts = np.empty_like(ends)
    starts[:, 1:] = ends[:, :-1] + 1
    starts[0, 0] = 0
    starts[1:, 0] = ends[:-1, -1] + 1
    return Fields(buffer, starts, ends)


def numbers_of(
    fields: Fields, place: int, decimal: str, shift: int = 0
) -> NDArray[np.float64] | None:
    """A column of plain numbers, NaN for empty cells; None where any cell is something else.

    `shift` is by how many places the decimal mark goes left on the way: 3 from mV to V.

    Correctly rounded: up to 15 digits and a power of ten up to 22 are exact in doubles, and one
    division rounds once (W. D. Clinger, 1990, doi 10.1145/93542.93557). Longer ones are left alone.
    """
    cells = fields.matrix(place)
    if cells is None:
        return None
    letters, lengths = cells
    width = letters.shape[1]
    negative = letters[:, 0] == ord("-")
    signed = negative | (letters[:, 0] == ord("+"))
    body = letters.copy()
    body[signed, 0] = ord("0")
    is_mark = body == ord(decimal)
    is_digit = (body >= _DIGITS[0]) & (body <= _DIGITS[1])
    places = np.arange(width, dtype=np.int64)
    inside: NDArray[np.bool_] = np.less(places, lengths[:, None])
    marks = is_mark.sum(axis=1)
    digits: NDArray[np.int64] = (is_digit & inside).sum(axis=1) - signed
    empty = lengths == 0
    if not ((is_mark | is_digit) == inside).all() or (marks > 1).any() or (digits > 15).any():
        return None
    # "1." is what a display shows beyond its range, and "." or "-" is no number: cell by cell.
    last = body[np.arange(len(body)), np.maximum(lengths - 1, 0)]
    if ((digits == 0) & ~empty).any() or (last[~empty] == ord(decimal)).any():
        return None
    whole = np.zeros(len(body), dtype=np.int64)
    for column in range(width):
        digit = is_digit[:, column]
        whole = np.where(digit, whole * 10 + (body[:, column].astype(np.int64) - _DIGITS[0]), whole)
    first = np.where(marks > 0, np.argmax(is_mark, axis=1), lengths - 1)
    values = whole / 10.0 ** (lengths - 1 - first + shift)
    values[negative] *= -1.0
    values[empty] = np.nan
    return values


def micros_of(fields: Fields, place: int, order: str) -> tuple[NDArray[np.int64], bool] | None:
    """A column of moments in microseconds, and whether they have dates; None where any is not of
    digits and marks, or is no moment.
    """
    cells = fields.matrix(place)
    if cells is None:
        return None
    letters, lengths = cells
    answer = np.empty(len(letters), dtype=np.int64)
    dated: set[bool] = set()
    for width in np.unique(lengths):
        chosen = lengths == width
        part = _one_shape(letters[chosen, :width], order)
        if part is None:
            return None
        answer[chosen], has_date = part
        dated.add(has_date)
    return (answer, dated.pop()) if len(dated) == 1 else None


def micros_of_counts(numbers: NDArray[np.float64], form: str) -> NDArray[np.int64]:
    """Many numbers of `aerode.devices.table_moments.count_form` as moments in microseconds."""
    if form == "serial day":
        return np.rint((numbers - SERIAL_OF_1970) * 86_400_000).astype(np.int64) * 1000
    return np.rint(numbers * COUNTS[form] * SECOND).astype(np.int64)


def _one_shape(letters: NDArray[np.uint8], order: str) -> tuple[NDArray[np.int64], bool] | None:
    first = letters[0].tobytes().decode("latin-1")
    moment, spans = read_moment(first, order), layout(first, order)
    if moment is None or spans is None or moment.other is not None or "name" in spans:
        return None
    moving = [spans[key] for key in ("y", "m", "d", "h", "min", "s", "part") if key in spans]
    free = np.zeros(letters.shape[1], dtype=bool)
    for start, end in moving:
        free[start:end] = True
    digit = (letters[:, free] >= _DIGITS[0]) & (letters[:, free] <= _DIGITS[1])
    half = spans.get("half")
    if half:
        free[half[0]] = True
        if not np.isin(letters[:, half[0]] | 32, (ord("a"), ord("p"))).all():
            return None
    if not digit.all() or (letters[:, ~free] != letters[0, ~free]).any():
        return None
    return _assembled(letters, spans, moment.dated, moment.form, moment.zone, first, order)


def _assembled(
    letters: NDArray[np.uint8], spans: dict[str, tuple[int, int]], dated: bool, form: str, zone: str,
    first: str, order: str,
) -> tuple[NDArray[np.int64], bool] | None:  # fmt: skip
    def field(name: str) -> NDArray[np.int64]:
        if name not in spans:
            return np.zeros(len(letters), dtype=np.int64)
        start, end = spans[name]
        value = np.zeros(len(letters), dtype=np.int64)
        for place in range(start, end):
            value = value * 10 + (letters[:, place].astype(np.int64) - _DIGITS[0])
        return value

    hours, minutes, seconds = field("h"), field("min"), field("s")
    if "half" in spans:
        if ((hours < 1) | (hours > 12)).any():
            return None
        hours = hours % 12 + 12 * ((letters[:, spans["half"][0]] | 32) == ord("p"))
    if (minutes > 59).any() or (seconds > 59).any() or (dated and (hours > 23).any()):
        return None
    part = np.zeros_like(hours)
    if "part" in spans:
        start, end = spans["part"]
        if end - start > 6 or form == "minutes:seconds":
            return None
        part = field("part") * 10 ** (6 - (end - start))
    micros = ((hours * 60 + minutes) * 60 + seconds) * SECOND + part
    if dated:
        years = field("y") + (2000 if spans["y"][1] - spans["y"][0] == 2 else 0)
        days = _days(years, field("m"), field("d"))
        if days is None:
            return None
        micros = days * DAY + micros
    # The zone is the same in every cell; what it shifts is taken from the first one.
    told = read_moment(first, order)
    assert told is not None
    micros += told.micros - int(micros[0])
    return micros, dated


def _days(
    years: NDArray[np.int64], months: NDArray[np.int64], days: NDArray[np.int64]
) -> NDArray[np.int64] | None:
    """Days since 1970-01-01 in the Gregorian calendar; None where one of them is no date."""
    if ((months < 1) | (months > 12) | (days < 1) | (years < 1) | (years > 9999)).any():
        return None
    month = (years - 1970) * 12 + months - 1
    begins = month.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    ends = (month + 1).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    counted = begins + days - 1
    return None if (counted >= ends).any() else counted
