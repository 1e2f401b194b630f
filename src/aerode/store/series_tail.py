"""A log that grows while it is taken: its newest rows are lines beside the bench, the others packed chunks.

A row on the bench costs a transaction and a line of the journal, which is too much for one reading a
second for days. So rows wait as lines of a file in the folder `shed.logs` beside `shed.aerode`, each
with its checksum and on disk before its coming is acknowledged. Some hundred of them become the next
packed chunk of the series, in one transaction; then their file is removed. A file whose chunk is there
already was left over by a crash, and is removed too: no row is lost, and none stands twice.
"""

from __future__ import annotations

import hashlib
import json
import os
import zlib
from contextlib import contextmanager, suppress
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import DamagedError, NotFoundError, StoreError
from aerode.store.connecting import refusals
from aerode.store.creating import sync_folder
from aerode.store.series import (
    SeriesOutline,
    newest_chunk,
    newest_columns,
    outline,
    read_chunks,
    write_next,
)
from aerode.store.series_packing import Packed, pack
from aerode.store.writer import stamp

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterable, Iterator

    import sqlalchemy as sa
    from numpy.typing import NDArray

    from aerode.store.bench_file import BenchFile
    from aerode.store.bench_reader import BenchReader
    from aerode.store.connecting import Place

__all__ = [
    "PACKED_AT",
    "LogEnd",
    "Row",
    "are_waiting",
    "at_the_end",
    "chunks_of",
    "pack_all",
    "pack_waiting",
    "rows_of",
    "waiting_file",
]

PACKED_AT = 600
"""Rows that wait as lines; so many become a chunk. At one a second a chunk is ten minutes."""
COLUMNS = ("time", "voltage", "current")

Row = tuple[float, float | None, float | None]
"""Time since the log began [s], voltage [V], current [A]."""


def _folder(place: Place) -> Path:
    if place.path is not None:
        return place.path.with_name(f"{place.path.stem}.logs")
    return Path(f"{(place.url.database if place.url is not None else '') or 'bench'}.logs")


def waiting_file(place: Place, name: str, chunk: int) -> Path:
    """Where the rows wait that will be a chunk of a series."""
    mark = hashlib.sha256(name.encode()).hexdigest()[:16]
    return _folder(place) / f"{mark}-{chunk}.lines"


def _line(row: Row) -> str:
    text = json.dumps(row, separators=(",", ":"), allow_nan=False)
    return f"{text} {zlib.crc32(text.encode()):08x}\n"


def _row(line: str) -> Row | None:
    """The row of a line; None where it does not agree with its checksum."""
    text, _, told = line.rpartition(" ")
    if f"{zlib.crc32(text.encode()):08x}" != told:
        return None
    moment, voltage, current = json.loads(text)
    return float(moment), voltage, current


def _read(file: Path) -> tuple[list[Row], int]:
    """The rows of a file, and how many bytes of it they are: a last line that is torn does not count.

    Raises
    ------
    DamagedError
        A line before the last does not agree with its checksum.
    """
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        return [], 0
    whole, _, torn = data.rpartition(b"\n")
    lines = whole.decode("utf-8", "replace").split("\n") if whole else []
    rows: list[Row] = []
    for number, line in enumerate(lines[1:], 2):  # the first one says whose they are
        row = _row(line)
        if row is None:
            raise DamagedError(
                f"line {number} of the rows that wait does not agree with its checksum",
                where=str(file),
                next_step="put the file aside; the log goes on without its rows",
            )
        rows.append(row)
    return rows, len(data) - len(torn)


class LogEnd:
    """The end of one log, while nobody else may write to the bench."""

    def __init__(
        self, place: Place, name: str, chunk: int, last: float | None, packed: Callable[[], list[Row]]
    ) -> None:  # fmt: skip
        self.chunk = chunk
        self._packed = packed
        self._known: set[Row] | None = None
        self._file = waiting_file(place, name, chunk)
        self._name = name
        with refusals(str(self._file)):
            self.rows, self._bytes = _read(self._file)
        self.last: float | None = self.rows[-1][0] if self.rows else last
        """The moment of the newest row [s]; None where there is none yet."""

    def add(self, rows: Iterable[Row]) -> None:
        """Take rows; they are on disk when this returns.

        Raises
        ------
        StoreError
            The folder cannot be written, or the disk is full.
        """
        fresh = list(rows)
        if not fresh:
            return
        with refusals(str(self._file)):
            self._file.parent.mkdir(parents=True, exist_ok=True)
            new = not self._bytes
            head = json.dumps({"series": self._name}, ensure_ascii=False) + "\n" if new else ""
            data = (head + "".join(map(_line, fresh))).encode()
            with self._file.open("r+b" if self._file.exists() else "w+b") as file:
                file.truncate(
                    self._bytes
                )  # a line that was torn, or that could not be written whole
                file.seek(self._bytes)
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if new:
                sync_folder(self._file.parent)
        self._bytes += len(data)
        self.rows += fresh
        self.last = fresh[-1][0]
        self._known = None

    def is_known(self, row: Row) -> bool:
        """Whether this very row waits already, or stands in the newest chunk: it was sent twice."""
        if self.last is None or row[0] > self.last:
            return False
        if self._known is None:
            self._known = {*self._packed(), *self.rows}
        return row in self._known


@contextmanager
def at_the_end(bench: BenchFile, name: str) -> Generator[LogEnd, None, None]:
    """The end of a log, to add rows to it; enough of them become a chunk afterwards.

    Parameters
    ----------
    bench : BenchFile
        Open for writing; it is held against other writers meanwhile.
    name : str
        Of the series.

    Raises
    ------
    DamagedError
        Rows that wait, or the newest chunk, do not agree with their checksum.
    StoreError
        It cannot be written.
    """
    with bench.writing() as ledger:
        end = _end(bench, ledger.connection, name)
        yield end
    if len(end.rows) >= PACKED_AT:
        with suppress(StoreError):  # the rows are on disk as lines; the next ones try it again
            pack_waiting(bench, name)


def pack_waiting(bench: BenchFile, name: str) -> int:
    """Make a chunk of the rows that wait, however few; how many there were.

    Raises
    ------
    DamagedError, StoreError
        As `at_the_end`; the rows wait on.
    """
    with bench.writing() as ledger:
        end = _end(bench, ledger.connection, name)
        if end.rows:
            at = stamp(bench._clock)  # pyright: ignore[reportPrivateUsage]
            write_next(ledger, name, end.chunk, pack(_columns(end.rows)), at)
    if end.rows:
        waiting_file(bench.place, name, end.chunk).unlink(missing_ok=True)
    return len(end.rows)


def are_waiting(place: Place) -> bool:
    """Whether rows of any log wait beside a bench."""
    folder = _folder(place)
    return folder.is_dir() and any(folder.glob("*.lines"))


def pack_all(bench: BenchFile) -> int:
    """Make chunks of the rows of every log that wait; how many rows there were.

    Raises
    ------
    DamagedError, StoreError
        As `at_the_end`; what could not be packed waits on.
    """
    names: set[str] = set()
    for file in sorted(_folder(bench.place).glob("*.lines")):
        with refusals(str(file)):
            head = file.read_bytes().partition(b"\n")[0]
        with suppress(
            ValueError, KeyError, TypeError
        ):  # a head that was torn: nothing was acknowledged
            names.add(str(json.loads(head)["series"]))
    return sum(pack_waiting(bench, name) for name in sorted(names))


def _end(bench: BenchFile, connection: sa.Connection, name: str) -> LogEnd:
    newest = newest_chunk(connection, name, bench.label)
    if newest is None:
        return LogEnd(bench.place, name, 0, None, list)
    number, packed = newest

    def rows() -> list[Row]:
        return _rows(newest_columns(connection, name, bench.label))

    waiting_file(bench.place, name, number).unlink(missing_ok=True)  # left over: it is on the bench
    return LogEnd(bench.place, name, number + 1, _latest(packed), rows)


def _latest(packed: Packed) -> float | None:
    return next((c["high"] for c in packed.columns if c["name"] == "time"), None)


def _rows(columns: dict[str, NDArray[np.float64]]) -> list[Row]:
    table = [[None if v != v else v for v in columns[name].tolist()] for name in COLUMNS]
    return [(float(t or 0.0), v, c) for t, v, c in zip(*table, strict=True)]


def _columns(rows: list[Row]) -> dict[str, NDArray[np.float64]]:
    table = np.array([[np.nan if v is None else v for v in row] for row in rows], dtype=np.float64)
    return {column: table[:, place] for place, column in enumerate(COLUMNS)}


def _waiting(bench: BenchReader, name: str) -> list[Row]:
    with bench.reading() as connection:
        newest = newest_chunk(connection, name, bench.label)
    file = waiting_file(bench.place, name, 0 if newest is None else newest[0] + 1)
    with refusals(str(file)):
        return _read(file)[0]


def chunks_of(
    bench: BenchFile, name: str
) -> tuple[Iterator[dict[str, NDArray[np.float64]]], SeriesOutline]:
    """The chunks of a log with the rows that still wait as the last one, and what it holds in all.

    Raises
    ------
    NotFoundError
        No such log.
    DamagedError
        Something of it does not agree with its checksum.
    """
    waiting = _waiting(bench, name)
    if not waiting:
        return read_chunks(bench, name), outline(bench, name)
    last = _columns(waiting)
    own = _outline(name, last)
    try:
        whole = outline(bench, name)
    except NotFoundError:
        return iter([last]), own
    return chain(read_chunks(bench, name), [last]), _joined(whole, own)


def _outline(name: str, columns: dict[str, NDArray[np.float64]]) -> SeriesOutline:
    said = pack(columns)
    ranges = {str(c["name"]): (c["low"], c["high"]) for c in said.columns if c["low"] is not None}
    missing = {str(c["name"]): int(c["missing"]) for c in said.columns}
    return SeriesOutline(name, said.rows, 1, ranges, missing)


def _joined(one: SeriesOutline, other: SeriesOutline) -> SeriesOutline:
    ranges = dict(one.ranges)
    for column, (low, high) in other.ranges.items():
        before = ranges.get(column, (low, high))
        ranges[column] = (min(low, before[0]), max(high, before[1]))
    columns = one.missing.keys() | other.missing.keys()
    missing = {c: one.missing.get(c, one.rows) + other.missing.get(c, other.rows) for c in columns}
    return SeriesOutline(
        one.name, one.rows + other.rows, one.chunks + other.chunks, ranges, missing
    )


def rows_of(bench: BenchFile, name: str) -> tuple[int, float | None]:
    """How many rows a log has, packed and waiting, and the moment of the newest one [s].

    Raises
    ------
    DamagedError
        Something of it does not agree with its checksum.
    """
    waiting = _waiting(bench, name)
    try:
        whole = outline(bench, name)
    except NotFoundError:
        return len(waiting), waiting[-1][0] if waiting else None
    last = whole.ranges.get("time", (0.0, None))[1]
    return whole.rows + len(waiting), waiting[-1][0] if waiting else last
