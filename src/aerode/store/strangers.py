"""A bench from someone else is untrusted: what no bench holds is refused before anything runs.

A trigger or a view of another hand could change what is written, or show what was never written; it
runs inside the database, where no digest is looked at.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.errors import StoreError, some_of
from aerode.store import layout

if TYPE_CHECKING:
    import sqlalchemy as sa

__all__ = ["LARGEST", "refuse_strangers", "refuse_views"]

LARGEST = 256 * 1024 * 1024
"""No text and no file on a bench is larger [bytes]; the database refuses to load a larger one."""


def refuse_views(connection: sa.Connection, where: str) -> None:
    """Refuse views and virtual tables, before anything is read: a view may never end.

    Raises
    ------
    StoreError
        With their names.
    """
    if connection.dialect.name != "sqlite":
        return  # a shared bench lies in a database that the lab itself looks after
    found: list[str] = []
    for kind, name, sql in _schema(connection):
        if kind == "view":
            found.append(f"the view {name}")
        elif kind == "table" and re.match(r"\s*CREATE\s+VIRTUAL\b", str(sql), re.IGNORECASE):
            found.append(f"the virtual table {name}")
    if found:
        raise _stranger(found, where)


def refuse_strangers(connection: sa.Connection, where: str, number: int) -> None:
    """Refuse triggers and columns of another hand.

    Parameters
    ----------
    connection : Connection
        To the bench.
    where : str
        The bench, for the refusal.
    number : int
        Of its table layout: what a newer one may hold is not known here.

    Raises
    ------
    StoreError
        With the names of what does not belong there.
    """
    if connection.dialect.name != "sqlite" or number > layout.LAYOUT:
        return
    schema = _schema(connection)
    known = (number, *schema)
    if known in _SOUND:
        return
    own = _own_triggers()
    found = [
        f"the trigger {name}"
        for kind, name, sql in schema
        if kind == "trigger" and own.get(name) != _plain(sql)
    ]
    for name in layout.metadata.tables:
        found += _odd_columns(connection, name, whole=number == layout.LAYOUT)
    if found:
        raise _stranger(found, where)
    if len(_SOUND) < _MOST:
        _SOUND.add(known)


_MOST = 64
_SOUND: set[tuple[object, ...]] = set()
"""Schemas in which nothing was found, word for word with their layout: what a table holds is what they say."""


def _schema(connection: sa.Connection) -> list[tuple[str, str, str]]:
    rows = connection.exec_driver_sql("SELECT type, name, sql FROM sqlite_master")
    return [(str(kind), str(name), str(sql)) for kind, name, sql in rows]


def _stranger(found: list[str], where: str) -> StoreError:
    return StoreError(
        f"this bench holds what no bench holds: {some_of(sorted(found), 5)}",
        where=where,
        allowed="a file as this program makes it",
        next_step="do not work with it; ask whoever it came from for an export, and bring that in",
    )


def _own_triggers() -> dict[str, str]:
    made = (_plain(sql) for table in layout.WRITTEN_ONCE for sql in layout.triggers_sqlite(table))
    return {sql.split()[2]: sql for sql in made}


def _plain(sql: object) -> str:
    return re.sub(r"\s+", " ", str(sql)).strip().rstrip(";")


def _odd_columns(connection: sa.Connection, table: str, *, whole: bool) -> list[str]:
    """Columns that are computed or hidden, and a table that lacks one of its own."""
    rows = connection.exec_driver_sql(f'PRAGMA table_xinfo("{table}")').all()
    wanted = {column.name for column in layout.metadata.tables[table].columns}
    there = {str(row[1]) for row in rows if row[6] == 0}
    odd = [f"the column {table}.{row[1]}" for row in rows if row[6] != 0]
    missing = wanted - there if whole and rows else set[str]()
    return [*odd, *(f"a table {table} without {name}" for name in sorted(missing))]
