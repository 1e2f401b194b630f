"""Part of a long list: the newest records of a kind, a few at a time, and how many there are."""

from __future__ import annotations

import json
import sqlite3
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.dialects import sqlite

from aerode.store.connecting import reading, refusals
from aerode.store.layout import current, revision
from aerode.store.revisions import WITHDRAWN

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["counted", "latest", "name_list", "saying"]

_PAGE = 500
"""States that are read at once."""

_STANDS = revision.c.schema != sa.literal_column(f"'{WITHDRAWN}'")


def _newest(*columns: Any, of: bool = False, then: tuple[Any, ...] = ()) -> sa.Select[Any]:
    """The rows of a kind, last stored first; the order is that of first storing, turned round."""
    wanted: Any = (
        sa.select(*columns)
        .join(current, revision.c.digest == current.c.head)
        .where(current.c.kind == sa.bindparam("kind"), _STANDS)
        .order_by(current.c.made.desc(), *then)
        .limit(sa.bindparam("count"))
        .offset(sa.bindparam("skip"))
    )
    return wanted.where(current.c.parent == sa.bindparam("of")) if of else wanted


_STATES = {of: _newest(*revision.columns, of=of, then=(current.c.head,)) for of in (False, True)}
_SAYING = {
    name: _newest(*revision.columns, then=(current.c.head,)).where(
        getattr(sa.func, place_of_text)(revision.c.doc, sa.bindparam("said"))
        > sa.literal_column("0")
    )
    for name, place_of_text in (("sqlite", "instr"), ("postgresql", "strpos"))
}
"""The states whose document holds a text as it stands there."""
_NAMES = _newest(current.c.name).select_from(revision)


@lru_cache(maxsize=8)
def _bare(wanted: sa.Select[Any]) -> str:
    """The question as SQLite takes it from its own module."""
    return str(wanted.compile(dialect=sqlite.dialect(paramstyle="named")))


def _asked(
    engine: sa.Engine, wanted: sa.Select[Any], said: dict[str, Any], where: str
) -> list[Any]:
    """The rows of one question.

    A short list is asked for at every page; the layers between cost several times what the database
    does, so SQLite is asked directly. One statement sees one state of the bench by itself.
    """
    if engine.dialect.name != "sqlite":
        with reading(engine, where) as connection:
            return list(connection.execute(wanted, said).all())
    with refusals(where):
        pooled = engine.raw_connection()
        connection: Any = pooled.driver_connection
        kept = connection.text_factory
        try:
            connection.text_factory = str  # much quicker than the one that takes any bytes
            return connection.execute(_bare(wanted), said).fetchall()
        except sqlite3.OperationalError:
            connection.text_factory = kept  # bytes that are no UTF-8: the digest tells on them
            return connection.execute(_bare(wanted), said).fetchall()
        finally:
            connection.text_factory = kept
            pooled.close()


def latest(
    engine: sa.Engine, kind: str, where: str, *, count: int, skip: int = 0, of: str | None = None
) -> list[tuple[str, ...]]:
    """The newest states of a kind as they stand in the table `revision`; of a conflict each state.

    Only the rows that are asked for are read.
    """
    said = {"kind": kind, "count": count, "skip": skip, **({} if of is None else {"of": of})}
    return [tuple(row) for row in _asked(engine, _STATES[of is not None], said, where)]


def saying(
    engine: sa.Engine, kind: str, where: str, *, field: str, text: str | bool
) -> Iterator[tuple[str, ...]]:
    """The states of a kind whose document says this text, or yes or no, of a field, newest first, some at a time.

    All of them are looked through by the database; only those that say it are read. A document of
    an earlier version of the record is looked at as it was written then.
    """
    told = json.dumps({field: text}, separators=(",", ":"), ensure_ascii=False)[1:-1]
    wanted = _SAYING["postgresql" if engine.dialect.name == "postgresql" else "sqlite"]
    skip = 0
    while True:
        said = {"kind": kind, "count": _PAGE, "skip": skip, "said": told}
        rows = _asked(engine, wanted, said, where)
        yield from (tuple(row) for row in rows)
        if len(rows) < _PAGE:
            return
        skip += _PAGE


def counted(connection: sa.Connection, kind: str) -> int:
    """How many records of a kind stand on the list; a conflict counts once."""
    wanted = (
        sa.select(sa.func.count(sa.distinct(current.c.record)))
        .join(revision, revision.c.digest == current.c.head)
        .where(current.c.kind == kind, _STANDS)
    )
    return int(connection.execute(wanted).scalar() or 0)


def name_list(engine: sa.Engine, kind: str, where: str, *, most: int) -> list[str]:
    """The names of a kind, newest first, for a list to pick from: the records are not read."""
    said = {"kind": kind, "count": most, "skip": 0}
    return list(dict.fromkeys([str(row[0]) for row in _asked(engine, _NAMES, said, where)]))
