"""What is too large for a document: photos and files (`blob`), and logged columns (`series`)."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.errors import DamagedError, InputError, NotFoundError
from aerode.store import digests
from aerode.store.archives import is_archive
from aerode.store.layout import blob, series

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.store.ledger import Ledger

__all__ = ["append", "keep", "kept", "series_of"]

_NEXT = "run `aerode bench check`, and keep the file as it is"


def keep(ledger: Ledger, data: bytes, media: str) -> str:
    """Keep some bytes; the same bytes twice are kept once.

    Raises
    ------
    InputError
        An archive: a bench that held one could not be told from a trap where it is taken in.
    """
    if is_archive(data[:512]):
        raise InputError(
            "an archive or a compressed file is not kept on a bench",
            allowed="the photo, log or table itself",
            next_step="unpack it and attach what is in it; save a spreadsheet as CSV",
        )
    digest = digests.of_blob(media=media, data=data)
    known = ledger.connection.execute(sa.select(blob.c.digest).where(blob.c.digest == digest))
    if known.first() is None:
        ledger.connection.execute(sa.insert(blob), {"digest": digest, "media": media, "data": data})
        ledger.note([digest])
    return digest


def kept(connection: sa.Connection, digest: str, where: str) -> tuple[str, bytes]:
    """Media type and bytes of a digest."""
    row = connection.execute(sa.select(blob).where(blob.c.digest == digest)).first()
    if row is None:
        raise NotFoundError(f"no file with the digest {digest[:12]} is on this bench", where=where)
    data = bytes(row.data)
    if digests.of_blob(media=row.media, data=data) != digest:
        raise DamagedError(f"the file {digest[:12]} does not agree with its digest", where=where, next_step=_NEXT)  # fmt: skip
    return str(row.media), data


def append(
    ledger: Ledger, name: str, columns: Mapping[str, Sequence[float | None]], at: str
) -> str:
    """The next chunk of a series."""
    chunk = _next_chunk(ledger.connection, name)
    doc = _text_of(name, columns)
    digest = digests.of_series(series=name, chunk=chunk, at=at, doc=doc)
    ledger.connection.execute(
        sa.insert(series),
        {"digest": digest, "series": name, "chunk": chunk, "at": at, "doc": doc},
    )
    ledger.note([digest])
    return digest


def _next_chunk(connection: sa.Connection, name: str) -> int:
    last = connection.execute(
        sa.select(sa.func.max(series.c.chunk)).where(series.c.series == name)
    ).scalar()
    return 0 if last is None else int(last) + 1


def _text_of(name: str, columns: Mapping[str, Sequence[float | None]]) -> str:
    lengths = {len(values) for values in columns.values()}
    if len(lengths) != 1 or lengths == {0}:
        raise InputError(
            f"the columns of the series {name!r} have not the same number of rows, or none",
            allowed="columns of one length, with None where nothing was read",
        )
    for column, values in columns.items():
        for index, value in enumerate(values):
            if value is not None and not math.isfinite(value):
                raise InputError(
                    f"row {index + 1} of the column {column!r} is not a finite number",
                    where=name,
                    allowed="a finite number, or None where nothing was read",
                )
    return json.dumps(
        {column: list(values) for column, values in columns.items()},
        sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False,
    )  # fmt: skip


def series_of(connection: sa.Connection, name: str, where: str) -> dict[str, list[float | None]]:
    """All columns of a series; a column that a chunk does not have is None there."""
    rows = connection.execute(
        sa.select(series).where(series.c.series == name).order_by(series.c.chunk)
    ).all()
    if not rows:
        raise NotFoundError(f"no series is called {name!r}", where=where)
    answer: dict[str, list[float | None]] = {}
    length = 0
    for place, row in enumerate(rows):
        computed = digests.of_series(series=row.series, chunk=row.chunk, at=row.at, doc=row.doc)
        if row.chunk != place or computed != row.digest:
            raise DamagedError(
                f"chunk {place} of the series {name!r} is missing or does not agree with its digest",
                where=where,
                next_step=_NEXT,
            )
        length = _extend(answer, _plain_columns(connection, row.doc, where), length)
    return answer


def _plain_columns(connection: sa.Connection, doc: str, where: str) -> dict[str, Any]:
    """The columns of a chunk as lists, whichever way they are stored."""
    plain: dict[str, Any] = json.loads(doc)
    if not isinstance(plain.get("packed"), dict):
        return plain
    from aerode.store.series_packing import unpack

    _, data = kept(connection, str(plain["packed"]["blob"]), where)
    return {
        name: [None if value != value else value for value in values.tolist()]  # NaN: nothing read
        for name, values in unpack(doc, data, where=where).items()
    }


def _extend(answer: dict[str, list[float | None]], chunk: dict[str, Any], length: int) -> int:
    more = len(next(iter(chunk.values())))
    for column in chunk.keys() | answer.keys():
        values = answer.setdefault(column, [None] * length)
        values.extend(chunk.get(column, [None] * more))
    return length + more
