"""The history of a bench line by line, in the order of its journal: what leaves it and comes back.

One line is one row that was written once: a revision, a chunk of a series, or a file. The rows are
read one after another, so that a long history never lies in memory whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.errors import DamagedError
from aerode.store import digests, lookup
from aerode.store.copying import identity_of, streamed
from aerode.store.layout import blob, journal, revision, series
from aerode.store.revisions import Revision, revision_of_row

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["ChunkLine", "FileLine", "Line", "RevisionLine", "chain_of", "lines_of"]

_AT_ONCE = 50


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """A state of a record."""

    entry: Revision

    @property
    def digest(self) -> str:
        """As it stands in the journal."""
        return self.entry.digest


@dataclass(frozen=True, slots=True)
class ChunkLine:
    """A chunk of a series: its row as it stands."""

    digest: str
    columns: dict[str, Any]


@dataclass(frozen=True, slots=True)
class FileLine:
    """A file that was kept; its content is read when it is asked for."""

    digest: str
    media: str
    data: Callable[[], bytes]


Line = RevisionLine | ChunkLine | FileLine


def lines_of(connection: sa.Connection, where: str) -> Iterator[Line]:
    """Every line of the journal of an open bench, verified, oldest first.

    Parameters
    ----------
    connection : Connection
        In a reading transaction.
    where : str
        What to call the bench in a refusal.

    Raises
    ------
    DamagedError
        A row is missing or does not agree with its digest.
    """
    wanted = (
        sa.select(
            journal.c.seq,
            journal.c.digest.label("line"),
            *(column.label(f"r_{column.name}") for column in revision.columns),
            *(column.label(f"s_{column.name}") for column in series.columns),
        )
        .outerjoin(revision, revision.c.digest == journal.c.digest)
        .outerjoin(series, series.c.digest == journal.c.digest)
        .order_by(journal.c.seq)
    )
    for row in streamed(connection, wanted, _AT_ONCE):
        if row["r_digest"] is not None:
            entry = revision_of_row({c.name: row[f"r_{c.name}"] for c in revision.columns})
            yield RevisionLine(lookup.sound(entry, where))
        elif row["s_digest"] is not None:
            yield _chunk({c.name: row[f"s_{c.name}"] for c in series.columns}, where)
        else:
            yield _file(connection, row["line"], where)


def _chunk(columns: dict[str, Any], where: str) -> ChunkLine:
    rest = {name: value for name, value in columns.items() if name != "digest"}
    if digests.of_series(**rest) != columns["digest"]:
        raise _damaged(f"chunk {columns['chunk']} of the series {columns['series']!r}", where)
    return ChunkLine(columns["digest"], columns)


def _file(connection: sa.Connection, digest: str, where: str) -> FileLine:
    media = connection.execute(sa.select(blob.c.media).where(blob.c.digest == digest)).scalar()
    if media is None:
        raise _damaged(f"a line of the journal names {digest[:12]}, which", where)

    def data() -> bytes:
        found = connection.execute(sa.select(blob.c.data).where(blob.c.digest == digest)).scalar()
        content = bytes(found or b"")
        if digests.of_blob(media=str(media), data=content) != digest:
            raise _damaged(f"the file {digest[:12]}", where)
        return content

    return FileLine(digest, str(media), data)


def _damaged(what: str, where: str) -> DamagedError:
    return DamagedError(
        f"{what} is missing or does not agree with its digest",
        where=where,
        next_step="run `aerode bench check`, and keep the file as it is",
    )


def chain_of(connection: sa.Connection) -> tuple[str, int, str]:
    """Identity of a bench, how many lines its journal has, and the chain value of the last one."""
    identity = identity_of(connection)
    last = connection.execute(
        sa.select(journal.c.seq, journal.c.chain).order_by(journal.c.seq.desc()).limit(1)
    ).first()
    if last is None:
        return identity, 0, digests.chain_start(identity)
    return identity, int(last.seq), str(last.chain)
