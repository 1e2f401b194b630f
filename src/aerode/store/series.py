"""Long logs on the bench: packed chunks in, streamed chunks out, and what to draw of them.

A chunk is a row of `series` whose document describes its columns, and a row of `blob` with their
bytes; both are written once, hashed and noted in the journal like everything else.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import sqlalchemy as sa

from aerode.errors import ConflictError, DamagedError, NotFoundError
from aerode.store import attachments, digests
from aerode.store.door import Ready, storable
from aerode.store.layout import series
from aerode.store.series_packing import MEDIA, Packed, is_packed, pack, unpack
from aerode.store.writer import stamp

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from numpy.typing import NDArray

    from aerode.store.bench_file import BenchFile
    from aerode.store.ledger import Ledger
    from aerode.store.revisions import Revision

__all__ = [
    "SeriesOutline",
    "newest_chunk",
    "newest_columns",
    "outline",
    "put_logged",
    "read_chunks",
    "write_chunks",
    "write_next",
]

_NEXT = "run `aerode bench check`, and keep the file as it is"


@dataclass(frozen=True, slots=True)
class SeriesOutline:
    """What a series holds, without reading its numbers: rows, and low and high of each column."""

    name: str
    rows: int
    chunks: int
    ranges: dict[str, tuple[float, float]]
    """Column → least and greatest value; a column without any value is not in it."""
    missing: dict[str, int]


def write_chunks(ledger: Ledger, name: str, chunks: Iterable[Packed], at: str) -> int:
    """Write the chunks of a new series, one after the other; the number of its rows.

    Parameters
    ----------
    ledger : Ledger
        An open writing transaction: all chunks are on disk when it ends, or none.
    name : str
        Of the series.
    chunks : iterable of Packed
        Read once, kept one at a time.
    at : str
        The moment of writing, in UTC.

    Raises
    ------
    ConflictError
        A series of that name is there already.
    """
    connection = ledger.connection
    there = sa.select(series.c.chunk).where(series.c.series == name).limit(1)
    if connection.execute(there).first() is not None:
        raise ConflictError(
            f"there is a series {name!r} already, and what is stored is never changed",
            allowed="a name that no other series bears",
        )
    rows = 0
    for number, packed in enumerate(chunks):
        write_next(ledger, name, number, packed, at)
        rows += packed.rows
    return rows


def write_next(ledger: Ledger, name: str, number: int, packed: Packed, at: str) -> None:
    """Write one chunk of a series, which follows the ones that are there.

    Parameters
    ----------
    ledger : Ledger
        An open writing transaction.
    name : str
        Of the series.
    number : int
        Of the chunk, counted from 0.
    packed : Packed
    at : str
        The moment of writing, in UTC.
    """
    digest = attachments.keep(ledger, packed.data, MEDIA)
    doc = packed.doc(digest)
    own = digests.of_series(series=name, chunk=number, at=at, doc=doc)
    row = {"digest": own, "series": name, "chunk": number, "at": at, "doc": doc}
    ledger.connection.execute(sa.insert(series), row)
    ledger.note([own])


def newest_chunk(connection: sa.Connection, name: str, where: str) -> tuple[int, Packed] | None:
    """The number and the description of the newest chunk of a series; None where there is none yet.

    Raises
    ------
    DamagedError
        It does not agree with its digest.
    """
    wanted = sa.select(series).where(series.c.series == name).order_by(series.c.chunk.desc()).limit(1)  # fmt: skip
    row = connection.execute(wanted).first()
    if row is None:
        return None
    return int(row.chunk), _described(connection, _sound(row, name, where), where)


def newest_columns(
    connection: sa.Connection, name: str, where: str
) -> dict[str, NDArray[np.float64]]:
    """The columns of the newest chunk of a series; NaN where nothing was read.

    Raises
    ------
    NotFoundError, DamagedError
        No such series; its newest chunk does not agree with its digest.
    """
    wanted = sa.select(series).where(series.c.series == name).order_by(series.c.chunk.desc()).limit(1)  # fmt: skip
    row = connection.execute(wanted).first()
    if row is None:
        raise NotFoundError(f"no series is called {name!r}", where=where)
    return _columns(connection, _sound(row, name, where), where)


def _sound(row: sa.Row[Any], name: str, where: str) -> str:
    """The document of a chunk, compared with its digest."""
    if digests.of_series(series=name, chunk=row.chunk, at=row.at, doc=row.doc) != row.digest:
        raise _damaged(name, row.chunk, where)
    return row.doc


def put_logged(
    bench: BenchFile, records: Iterable[object], logs: Mapping[str, Iterable[Packed]], *, why: str = "",
    who: str = "",
) -> list[Revision]:  # fmt: skip
    """Store some records and the new series that belong to them in one transaction.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    records : iterable of record
        Any stored kinds.
    logs : mapping
        Name of a series → its chunks.
    why, who : str
        For the history.

    Returns
    -------
    list of Revision
        The states of the records, as `BenchFile.put_all` gives them.

    Raises
    ------
    ConflictError
        A series of that name is there already; nothing was stored.
    """
    ready = [Ready.of(record) for record in records]
    with bench._writer(why, who) as writer:  # pyright: ignore[reportPrivateUsage]
        at = stamp(bench._clock)  # pyright: ignore[reportPrivateUsage]
        for name, chunks in logs.items():
            write_chunks(writer._ledger, storable(name, "series"), chunks, at)  # pyright: ignore[reportPrivateUsage]
        return writer.put_all(ready)


def read_chunks(bench: BenchFile, name: str) -> Iterator[dict[str, NDArray[np.float64]]]:
    """The chunks of a series in order, each verified; NaN where nothing was read.

    Raises
    ------
    NotFoundError, DamagedError
        No such series; or a chunk is missing or does not agree with its digest.
    """
    with bench.reading() as connection:
        for doc in _docs(connection, name, bench.label):
            yield _columns(connection, doc, bench.label)


def outline(bench: BenchFile, name: str) -> SeriesOutline:
    """What a series holds, out of the documents of its chunks.

    Raises
    ------
    NotFoundError, DamagedError
        As `read_chunks`.
    """
    rows = chunks = 0
    ranges: dict[str, tuple[float, float]] = {}
    missing: dict[str, int] = {}
    with bench.reading() as connection:
        for doc in _docs(connection, name, bench.label):
            said = _described(connection, doc, bench.label)
            chunks, rows = chunks + 1, rows + said.rows
            for column in said.columns:
                key = str(column["name"])
                missing[key] = missing.get(key, 0) + int(column["missing"])
                if column["low"] is not None:
                    low, high = ranges.get(key, (float("inf"), float("-inf")))
                    ranges[key] = (min(low, column["low"]), max(high, column["high"]))
    return SeriesOutline(name, rows, chunks, ranges, missing)


def _docs(connection: sa.Connection, name: str, where: str) -> Iterator[str]:
    """The documents of a series, each compared with its digest before it is believed."""
    wanted = sa.select(series).where(series.c.series == name).order_by(series.c.chunk)
    place = -1
    for place, row in enumerate(connection.execute(wanted)):
        computed = digests.of_series(series=row.series, chunk=row.chunk, at=row.at, doc=row.doc)
        if row.chunk != place or computed != row.digest:
            raise _damaged(name, place, where)
        yield row.doc
    if place < 0:
        raise NotFoundError(f"no series is called {name!r}", where=where)


def _damaged(name: str, place: int, where: str) -> DamagedError:
    return DamagedError(
        f"chunk {place} of the series {name!r} is missing or does not agree with its digest",
        where=where,
        next_step=_NEXT,
    )


def _described(connection: sa.Connection, doc: str, where: str) -> Packed:
    """The description of a chunk, without its bytes."""
    plain = json.loads(doc)
    if is_packed(plain):
        said = plain["packed"]
        return Packed(int(said["rows"]), tuple(said["columns"]), b"")
    return pack(_columns(connection, doc, where))


def _columns(connection: sa.Connection, doc: str, where: str) -> dict[str, NDArray[np.float64]]:
    plain = json.loads(doc)
    if is_packed(plain):
        _, data = attachments.kept(connection, str(plain["packed"]["blob"]), where)
        return unpack(doc, data, where=where)
    return {name: np.array(values, dtype=np.float64) for name, values in plain.items()}
