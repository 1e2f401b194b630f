"""The tables of the bench file, for SQLite and for PostgreSQL.

=========  =========================================================================================
meta       what kind of file this is, which table layout it has, which bench it holds
revision   one state of one record; written once, never changed (a trigger refuses it)
journal    the order in which revisions, series chunks and blobs came into THIS file, chained
current    the head of each record, by kind and name; derived from the others, rebuilt at will
series     chunks of logged columns; written once
blob       photos and other files; written once
result     answers that were computed, with what they rest on; may be thrown away (since layout 2)
=========  =========================================================================================

`docs/explanation/bench-file.md` gives the meaning of each column and how its digest is made.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    DDL,
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    event,
)

__all__ = [
    "APPLICATION_ID",
    "FORMAT",
    "HEAD_MIGRATION",
    "LAYOUT",
    "STAMPS",
    "blob",
    "current",
    "journal",
    "meta",
    "metadata",
    "migration",
    "result",
    "revision",
    "series",
]

FORMAT = "aerode bench file"
"""The word in `meta` by which a bench file is known."""
LAYOUT = 2
"""The version of the table layout written by this program."""
STAMPS = {1: "0001", 2: "0002"}
"""The migration that leads to each layout; stamped into a new bench."""
HEAD_MIGRATION = STAMPS[LAYOUT]
APPLICATION_ID = 0x41455244
"""SQLite's application id, the letters AERD; `file` and other programs read it from the header."""

metadata = MetaData()
_count = Integer().with_variant(BigInteger(), "postgresql")


def _table(name: str, *columns: Any) -> Table:
    return Table(name, metadata, *columns, sqlite_strict=True)


def _digest(name: str = "digest", **kinds: Any) -> Column[str]:
    return Column(name, Text, CheckConstraint(f"length({name}) = 64"), nullable=False, **kinds)


meta = _table(
    "meta",
    Column("key", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

revision = _table(
    "revision",
    _digest(primary_key=True),
    Column("record", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("schema", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("doc", Text, nullable=False),
    Column("parents", Text, nullable=False),
    Index("revision_record", "record"),
)

journal = _table(
    "journal",
    Column("seq", _count, primary_key=True, autoincrement=False),
    _digest(unique=True),
    _digest("chain", unique=True),
)

current = _table(
    "current",
    Column("record", Text, primary_key=True),
    Column("head", Text, ForeignKey("revision.digest"), primary_key=True),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("parent", Text, nullable=False),
    Column("made", _count, nullable=False),
    Index("current_name", "kind", "name"),
    Index("current_made", "kind", "made"),
)

series = _table(
    "series",
    _digest(primary_key=True),
    Column("series", Text, nullable=False),
    Column("chunk", _count, nullable=False),
    Column("at", Text, nullable=False),
    Column("doc", Text, nullable=False),
    Index("series_chunk", "series", "chunk", unique=True),
)

blob = _table(
    "blob",
    _digest(primary_key=True),
    Column("media", Text, nullable=False),
    Column("data", LargeBinary, nullable=False),
)

result = _table(
    "result",
    Column("key", Text, primary_key=True),
    Column("schema", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("question", Text, nullable=False),
    Column("rests_on", Text, nullable=False),
    Column("code", Text, nullable=False),
    Column("tables", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("doc", Text, nullable=False),
    _digest(),
)

migration = _table("alembic_version", Column("version_num", Text, primary_key=True))
"""Read by the migration tool; `create` stamps it, so that opening needs no migration tool."""

WRITTEN_ONCE = ("revision", "journal", "series", "blob")


def triggers_sqlite(table: str) -> list[str]:
    """The statements that refuse a change or a removal of a written row, for SQLite."""
    return [
        f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END"
        for act in ("UPDATE", "DELETE")
    ]


def triggers_postgresql(table: str) -> list[str]:
    """The same for PostgreSQL."""
    return [
        f"CREATE OR REPLACE FUNCTION {table}_written_once() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{table} is written once'; END $$",
        f"CREATE TRIGGER {table}_written_once BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_written_once()",
    ]


for _name in WRITTEN_ONCE:
    for _dialect, _make in (("sqlite", triggers_sqlite), ("postgresql", triggers_postgresql)):
        for _statement in _make(_name):
            event.listen(
                metadata.tables[_name],
                "after_create",
                DDL(_statement.replace("%", "%%")).execute_if(dialect=_dialect),
            )
