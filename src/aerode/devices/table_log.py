"""A long log read as a stream: the head is understood like any table, the rest follows in blocks.

Rows of digits and marks are read many at once; every other row goes cell by cell through the same
functions as in a small table. Memory does not grow with the file.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode import units as unit_reader
from aerode.devices import table_text
from aerode.devices.table_blocks import read_tables
from aerode.devices.table_columns import BELIEVABLE, RefusedCell, decimal_shift, scaled, shifted
from aerode.devices.table_fields import cut, micros_of, micros_of_counts, numbers_of
from aerode.devices.table_headings import ROLE_UNITS, spelled
from aerode.devices.table_heads import is_garbage
from aerode.devices.table_moments import DAY, SECOND, micros_of_count, read_moment
from aerode.devices.table_numbers import is_missing, is_overload, number_and_unit
from aerode.devices.table_sayings import Saying
from aerode.devices.table_text import Line
from aerode.devices.table_times import Course
from aerode.errors import TableError, UnitError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from aerode.devices.table_columns import Column
    from aerode.devices.table_fields import Fields
    from aerode.devices.tables import Table

__all__ = ["HEAD", "LogBlock", "LogReader"]

HEAD = 128 * 1024
"""So many bytes are understood like a small table, and say how the rest is read."""
_BLOCK = 1 << 20
_KEPT = 200
"""So many refused cells are kept with their place; the others are counted."""
_LONGEST = 4.2e15
"""No number of a time column is larger: microseconds since 1970 in the year 2100."""
_WRAP = 1 << 32
"""Counters of 32 bits begin anew here."""
_MOMENTS = {"date", "clock", "elapsed"}
_PLAIN_PAGES = {"utf-8", "utf-8-sig", "cp1252", "cp850", "mac-roman", "ascii", "latin-1"}


@dataclass(frozen=True, slots=True)
class LogBlock:
    """Some rows of a log: columns in SI, NaN where nothing was read; `time` [s] never is."""

    columns: dict[str, NDArray[np.float64]]
    lines: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Rows:
    """Rows as they were read: moments, numbers in SI, line numbers."""

    micros: NDArray[np.int64]
    values: list[NDArray[np.float64]]
    lines: NDArray[np.int64]

    def part(self, which: slice | NDArray[np.bool_]) -> _Rows:
        return _Rows(self.micros[which], [v[which] for v in self.values], self.lines[which])

    def and_then(self, other: _Rows) -> _Rows:
        return _Rows(
            np.concatenate([self.micros, other.micros]),
            [np.concatenate(pair) for pair in zip(self.values, other.values, strict=True)],
            np.concatenate([self.lines, other.lines]),
        )

    @staticmethod
    def spikes(around: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Moments later than the next one, which itself fits the one before: torn numbers."""
        before, here, after = around[:-2], around[1:-1], around[2:]
        return (here > after) & (after >= before)


@dataclass(slots=True)
class _Column:
    place: int
    heading: str
    role: str
    factor: float
    shift: int
    offset: float
    name: str
    limits: tuple[float, float] | None
    missing: int = 0
    low: float = np.inf
    high: float = -np.inf

    def si(self, numbers: NDArray[np.float64]) -> NDArray[np.float64]:
        """Numbers whose decimal mark was moved already, in SI."""
        values = numbers * self.factor if self.factor != 1.0 else numbers
        return values + self.offset if self.offset else values

    def one(self, number: float) -> float:
        """One number as it stands, in SI."""
        return (shifted(number, self.shift) if self.shift else self.factor * number) + self.offset


@dataclass(slots=True)
class LogReader:
    """One long log on its way: iterate over `blocks`, then look at what was refused.

    Parameters
    ----------
    path : Path
        The file.
    saying : Saying
        What a person says of it.
    progress : callable
        Told the share of the file that is read.
    """

    path: Path
    saying: Saying = field(default_factory=Saying)
    progress: Callable[[float], None] = lambda share: None
    block: int = _BLOCK
    head: Table = field(init=False)
    rows: int = 0
    rows_refused: int = 0
    without_time: int = 0
    refused: list[RefusedCell] = field(default_factory=list[RefusedCell])
    counted: Counter[tuple[str, str]] = field(default_factory=Counter[tuple[str, str]])
    """(column, why) → how many cells were refused for it."""
    columns: list[_Column] = field(default_factory=list[_Column])
    duration: float = 0.0
    midnights: int = 0
    restarts: int = 0
    _page: str = "utf-8"
    _course: Course = field(init=False)
    _time: _Column = field(init=False)
    _last: int | None = None
    _order: str = ""
    _form: str = ""
    _date_place: int | None = None
    _width: int = 0

    def __post_init__(self) -> None:
        raw = self._raw_head()
        text, _ = table_text.decoded(raw, self.path.name, self.saying.encoding)
        self._page = self.saying.encoding or _page_of(raw)
        parts = read_tables(text, name=self.path.name, saying=replace(self.saying, clock="go on"))
        if len(parts) > 1 or any("stands behind" in s or "JSON" in s for s in parts[0].understood):
            raise TableError(
                "so long a log is read only as one table with a row for each moment",
                where=self.path.name,
                allowed="one row of headings, and one column for each quantity",
                next_step="divide it into one file for each series",
            )
        self.head = parts[0]
        self._understand()

    def _raw_head(self) -> bytes:
        try:
            with self.path.open("rb") as file:
                raw = file.read(HEAD)
        except OSError as problem:
            raise TableError(
                f"it cannot be read: {problem.strerror or problem}", where=str(self.path)
            ) from problem
        if len(raw) < HEAD:
            return raw
        cut_at = max(raw.rfind(b"\n"), raw.rfind(b"\r")) + 1
        return raw[: cut_at + (cut_at % 2 if b"\x00" in raw[:200] else 0)] or raw

    def _understand(self) -> None:
        """Take over from the head what each column is."""
        time = next((c for c in self.head.columns if c.role == "time"), None)
        if time is None or not time.heading:
            raise TableError(
                "no column of this log is understood as the time",
                where=self.path.name,
                allowed="a column of seconds, dates, or times of day",
                next_step='say which column it is: column "time=HEADING"',
            )
        roles = Counter(c.role for c in self.head.columns)
        if roles["time"] > 1:
            self.head.find("time")  # refuses, and names them
        self._width = len(self.head.columns)
        self._order = time.order or self.saying.dates
        self._form = time.form
        self._date_place = time.date_place
        told = self.saying.units
        self._time = _column(time, "time", told=True)
        for column in self.head.columns:
            if column.role and column is not time:
                name = column.role if roles[column.role] == 1 else f"{column.role} {column.heading}"
                self.columns.append(_column(column, name, told=column.role in told))
        from_zero = time.form == "number" or (time.from_zero and time.form != "date")
        wraps = _WRAP * round(1e6 * self._time.one(1.0)) if any(
            word in time.heading.casefold() for word in ("millis", "micros")
        ) else 0  # fmt: skip
        self._course = Course(
            dated=time.form != "clock", wraps=wraps, clock=self.saying.clock,
            zero=0 if from_zero else None,
        )  # fmt: skip

    # -- the stream -----------------------------------------------------------------------------

    def blocks(self) -> Iterator[LogBlock]:
        """The rows, in order; each is yielded once."""
        held: _Rows | None = None
        for rows in self._rows():
            joined = rows if held is None else held.and_then(rows)
            held = joined.part(slice(-1, None))  # whether its time fits is seen with the next one
            if joined.micros.size > 1:
                yield from self._placed(joined.part(slice(0, -1)), int(held.micros[0]))
        if held is not None:
            yield from self._placed(held, int(held.micros[0]))

    def _rows(self) -> Iterator[_Rows]:
        first = self.head.lines[0] if self.head.lines else 1
        if self.head.refused:
            first = min(first, *(r.line for r in self.head.refused))
        number = 1
        for block in _lines_of(self.path, self._page, self.block, self.progress):
            count = block.count(b"\n")
            if number + count > first:
                skipped = max(0, first - number)
                yield from self._taken(_after(block, skipped), number + skipped)
            number += count

    def _taken(self, block: bytes, number: int) -> Iterator[_Rows]:
        if not block:
            return
        read = self._many(block)
        if read is None:
            yield from self._divided(block, number)
            return
        micros, values = read
        yield _Rows(micros, values, number + np.arange(micros.size))

    def _divided(self, block: bytes, number: int) -> Iterator[_Rows]:
        """Halve a block until its parts are read at once, or are few lines: these cell by cell."""
        lines = block.count(b"\n")
        if lines > 8:
            half = _nth_newline(block, lines // 2)
            yield from self._taken(block[:half], number)
            yield from self._taken(block[half:], number + lines // 2)
            return
        yield from self._one_by_one(block, number)

    def _many(self, block: bytes) -> tuple[NDArray[np.int64], list[NDArray[np.float64]]] | None:
        mark = self.head.mark
        delimiter = self.head.delimiter
        if len(delimiter) != 1 or delimiter == " ":
            return None
        if b'"' in block:
            block = block.replace(b'"', b"")
        fields = cut(block, delimiter, self._width)
        if fields is None:
            return None
        micros = self._many_moments(fields)
        if micros is None:
            return None
        values: list[NDArray[np.float64]] = []
        for column in self.columns:
            numbers = numbers_of(fields, column.place, mark, column.shift)
            if numbers is None:
                return None
            values.append(column.si(numbers))
            if not _believable(column, values[-1]):
                return None
        return micros, values

    def _many_moments(self, fields: Fields) -> NDArray[np.int64] | None:
        if self._form not in _MOMENTS:
            numbers = numbers_of(fields, self._time.place, self.head.mark, self._time.shift)
            if numbers is None or not (np.abs(numbers) < _LONGEST).all():
                return None
            return self._micros(numbers)
        read = micros_of(fields, self._time.place, self._order)
        if self._date_place is None:
            return read[0] if read is not None and read[1] is (self._form == "date") else None
        days = micros_of(fields, self._date_place, self._order)
        if read is None or days is None or read[1] or not days[1] or (read[0] >= DAY).any():
            return None
        return days[0] + read[0]

    def _micros(self, numbers: NDArray[np.float64]) -> NDArray[np.int64]:
        if self._form == "number":
            return np.rint(self._time.si(numbers) * SECOND).astype(np.int64)
        return micros_of_counts(numbers, self._form)

    def _one_by_one(self, block: bytes, number: int) -> Iterator[_Rows]:
        """The slow, plain way: as in a small table, with the line of everything refused."""
        text = block.decode(self._page if self._page in _PLAIN_PAGES else "utf-8", "replace")
        text = text.replace("\x00", "\ufffd")
        micros: list[int] = []
        lines: list[int] = []
        values: list[list[float]] = []
        for line in _cells(text, self.head.delimiter, number):
            row = self._row(line)
            if row is not None:
                micros.append(row[0])
                values.append(row[1])
                lines.append(line.number)
        if micros:
            table = np.array(values, dtype=np.float64).reshape(len(micros), len(self.columns))
            yield _Rows(np.array(micros), list(table.T), np.array(lines))

    def _row(self, line: Line) -> tuple[int, list[float]] | None:
        cells = [cell for cell in line.cells if cell]
        if not cells or line.cells[0].startswith(("#", "//", "%")):
            return None
        texts = [column.heading for column in self.head.columns]
        if all(not text or text == line.cell(n) for n, text in enumerate(texts)):
            return None  # the headings once more
        if any(line.cells[self._width :]):
            self._refuse_row(line, f"{len(line.cells)} cells under {self._width} headings")
            return None
        if self._date_place is not None:
            both = f"{line.cell(self._date_place)} {line.cell(self._time.place)}".strip()
            cells = [*line.cells, *([""] * (self._width - len(line.cells)))]
            cells[self._time.place] = both
            line = Line(line.number, tuple(cells))
        places = [self._time.place, *(column.place for column in self.columns)]
        if is_garbage(line, places):
            self._refuse_row(line, "there is no value in this row")
            return None
        micros = self._moment(line)
        if micros is None:
            self.without_time += 1
            return None
        return micros, [self._number(line, column) for column in self.columns]

    def _moment(self, line: Line) -> int | None:
        cell = line.cell(self._time.place)
        if is_missing(cell):
            self._refuse(line, self._time, "there is no time in this row")
            return None
        if self._form in _MOMENTS:
            moment = read_moment(cell, self._order)
            if moment is None or moment.dated is not (self._form == "date"):
                self._refuse(line, self._time, "it is not a moment like the others of the column")
                return None
            return moment.micros
        try:
            number, unit = number_and_unit(cell, self.head.mark)
        except UnitError as error:
            self._refuse(line, self._time, error.what)
            return None
        if unit and self._form == "number":
            return round(unit_reader.convert(number, spelled(unit), "s") * SECOND)
        if abs(number) >= _LONGEST:
            self._refuse(line, self._time, "it is no time of a run")
            return None
        if self._form == "number":
            return round(self._time.one(number) * SECOND)
        return micros_of_count(number, self._form)

    def _number(self, line: Line, column: _Column) -> float:
        cell = line.cell(column.place)
        if is_missing(cell):
            return np.nan
        if is_overload(cell) or cell in {"1.", "-1.", "+1."}:
            self._refuse(line, column, "the meter was beyond its range")
            return np.nan
        try:
            number, unit = number_and_unit(cell, self.head.mark)
            value = (
                scaled(number, *unit_reader.scale(spelled(unit), ROLE_UNITS[column.role]))
                if unit
                else column.one(number)
            )
        except UnitError as error:
            self._refuse(line, column, error.what)
            return np.nan
        if column.limits and not column.limits[0] <= value <= column.limits[1]:
            self._refuse(line, column, f"{value:.4g} {ROLE_UNITS[column.role]} is not believable here")  # fmt: skip
            return np.nan
        return value

    # -- in their order -------------------------------------------------------------------------

    def _placed(self, rows: _Rows, following: int) -> Iterator[LogBlock]:
        """Seconds since the first row; rows whose time is out of order are refused by line."""
        before = rows.micros[:1] if self._last is None else self._last
        spiked = rows.spikes(np.concatenate([np.atleast_1d(before), rows.micros, [following]]))
        self._last = int(rows.micros[-1])
        rows = self._without(rows, ~spiked, "its time does not fit between those of its neighbours")
        if not rows.micros.size:
            return
        placed, kept = self._course.many(rows.micros)
        rows = self._without(rows, kept, "the clock has gone backwards here")
        placed, values, lines = placed[kept], rows.values, rows.lines
        if not placed.size:
            return
        columns = {"time": placed / SECOND}
        for column, numbers in zip(self.columns, values, strict=True):
            columns[column.name] = numbers
            column.missing += int(np.isnan(numbers).sum())
            column.low = min(column.low, float(np.nanmin(numbers, initial=np.inf)))
            column.high = max(column.high, float(np.nanmax(numbers, initial=-np.inf)))
        self.rows += placed.size
        self.duration = float(placed[-1] / SECOND)
        self.midnights, self.restarts = self._course.midnights, self._course.restarts
        yield LogBlock(columns, lines)

    def _without(self, rows: _Rows, kept: NDArray[np.bool_], why: str) -> _Rows:
        if kept.all():
            return rows
        for line in rows.lines[~kept]:
            self._refuse(Line(int(line), ()), self._time, why)
        self.without_time += int((~kept).sum())
        return rows.part(kept)

    def _refuse(self, line: Line, column: _Column, why: str) -> None:
        self.counted[column.heading, why] += 1
        if len(self.refused) < _KEPT:
            raw = line.cell(column.place)
            self.refused.append(RefusedCell(self.path.name, line.number, column.heading, raw, why))

    def _refuse_row(self, line: Line, why: str) -> None:
        self.rows_refused += 1
        self.counted["", why] += 1
        if len(self.refused) < _KEPT:
            raw = " | ".join(line.cells)[:200]
            self.refused.append(RefusedCell(self.path.name, line.number, "", raw, why))


def _column(column: Column, name: str, *, told: bool) -> _Column:
    """What is needed of a column of the head to read the rest of it."""
    factor, offset = 1.0, 0.0
    if not (column.role == "time" and column.form != "number"):
        factor, offset = unit_reader.scale(column.unit, ROLE_UNITS[column.role])
    shift = decimal_shift(factor)
    return _Column(
        place=column.place - 1, heading=column.heading, role=column.role, name=name,
        factor=1.0 if shift else factor, shift=shift, offset=offset,
        limits=None if told else BELIEVABLE.get(column.role),
    )  # fmt: skip


def _believable(column: _Column, values: NDArray[np.float64]) -> bool:
    if column.limits is None:
        return True
    return not ((values < column.limits[0]) | (values > column.limits[1])).any()


def _page_of(raw: bytes) -> str:
    for page, _ in table_text.encodings(raw[:4096], raw):
        try:
            if "\x00" not in raw.decode(page) or page == "utf-8":
                return page
        except UnicodeDecodeError:
            continue
    return "cp1252"


def _lines_of(
    path: Path, page: str, size: int, progress: Callable[[float], None]
) -> Iterator[bytes]:
    """Blocks of whole lines that end in a line feed, in UTF-8 or the page of the file."""
    total = max(path.stat().st_size, 1)
    decoder = None if page in _PLAIN_PAGES else codecs.getincrementaldecoder(page)("replace")
    rest, after_return = b"", False
    with path.open("rb") as file:
        while raw := file.read(size):
            progress(min(file.tell() / total, 1.0))
            if decoder is not None:
                raw = decoder.decode(raw).encode("utf-8")
            if after_return and raw.startswith(b"\n"):
                raw = raw[1:]
            after_return = raw.endswith(b"\r")
            if b"\r" in raw:
                raw = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
            whole = raw.rfind(b"\n") + 1
            if whole:
                yield rest + raw[:whole]
                rest = raw[whole:]
            else:
                rest += raw
            if len(rest) > 4 * size:
                raise TableError("a line of it never ends", where=path.name, allowed="lines of a table")  # fmt: skip
    if rest:
        yield rest + b"\n"


def _after(block: bytes, lines: int) -> bytes:
    return block[_nth_newline(block, lines) :] if lines else block


def _nth_newline(block: bytes, count: int) -> int:
    """The place behind the count-th line feed."""
    marks = np.flatnonzero(np.frombuffer(block, np.uint8) == 10)
    return int(marks[count - 1]) + 1


def _cells(text: str, delimiter: str, number: int) -> Iterator[Line]:
    for offset, line in enumerate(text.split("\n")):
        if not line.strip():
            continue
        if delimiter in {" ", "  "}:
            pattern = r"\s{2,}|\t" if delimiter == "  " else r"\s+"
            cells = re.split(pattern, line.strip())
        else:
            try:
                cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [""])
            except csv.Error:  # a cell longer than any number or note
                cells = [f"{line[:60]} …"]
        yield Line(number + offset, tuple(cell.strip() for cell in cells))
