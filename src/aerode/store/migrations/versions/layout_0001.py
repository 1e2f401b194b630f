"""The first layout: revision, journal, current, series, blob, meta.

Written out and not taken from `aerode.store.layout`, so that it stays as it was released. The
table `alembic_version` is made by hand because Alembic's own has a type that STRICT refuses.
"""

from __future__ import annotations

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_TABLES = {
    "meta": "key TEXT NOT NULL, value TEXT NOT NULL, PRIMARY KEY (key)",
    "revision": (
        "digest TEXT NOT NULL CHECK (length(digest) = 64), record TEXT NOT NULL, "
        "kind TEXT NOT NULL, schema TEXT NOT NULL, at TEXT NOT NULL, who TEXT NOT NULL, "
        "why TEXT NOT NULL, doc TEXT NOT NULL, parents TEXT NOT NULL, PRIMARY KEY (digest)"
    ),
    "journal": (
        "seq {count} NOT NULL, digest TEXT NOT NULL CHECK (length(digest) = 64), "
        "chain TEXT NOT NULL CHECK (length(chain) = 64), PRIMARY KEY (seq), "
        "UNIQUE (digest), UNIQUE (chain)"
    ),
    "current": (
        "record TEXT NOT NULL, head TEXT NOT NULL, kind TEXT NOT NULL, name TEXT NOT NULL, "
        "parent TEXT NOT NULL, made {count} NOT NULL, PRIMARY KEY (record, head), "
        "FOREIGN KEY(head) REFERENCES revision (digest)"
    ),
    "series": (
        "digest TEXT NOT NULL CHECK (length(digest) = 64), series TEXT NOT NULL, "
        "chunk {count} NOT NULL, at TEXT NOT NULL, doc TEXT NOT NULL, PRIMARY KEY (digest)"
    ),
    "blob": (
        "digest TEXT NOT NULL CHECK (length(digest) = 64), media TEXT NOT NULL, "
        "data {bytes} NOT NULL, PRIMARY KEY (digest)"
    ),
}
_INDEXES = (
    "CREATE INDEX revision_record ON revision (record)",
    "CREATE INDEX current_name ON current (kind, name)",
    "CREATE INDEX current_made ON current (kind, made)",
    "CREATE UNIQUE INDEX series_chunk ON series (series, chunk)",
)
_WRITTEN_ONCE = ("revision", "journal", "series", "blob")


def upgrade() -> None:
    """Make every table, index and guard of the first layout."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    types = {"count": "INTEGER", "bytes": "BLOB"} if sqlite else {"count": "BIGINT", "bytes": "BYTEA"}  # fmt: skip
    for name, columns in _TABLES.items():
        body = columns.replace("{count}", types["count"]).replace("{bytes}", types["bytes"])
        op.execute(f"CREATE TABLE {name} ({body}){' STRICT' if sqlite else ''}")
    for statement in _INDEXES:
        op.execute(statement)
    for name in _WRITTEN_ONCE:
        for statement in _guards_sqlite(name) if sqlite else _guards_postgresql(name):
            op.execute(statement)


def _guards_sqlite(table: str) -> list[str]:
    return [
        f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} is written once'); END"
        for act in ("UPDATE", "DELETE")
    ]


def _guards_postgresql(table: str) -> list[str]:
    return [
        f"CREATE OR REPLACE FUNCTION {table}_written_once() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{table} is written once'; END $$",
        f"CREATE TRIGGER {table}_written_once BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_written_once()",
    ]


def downgrade() -> None:
    """Refuse: a bench is never taken back to an older layout, its backup is opened instead."""
    raise RuntimeError("a bench is not taken back to an older layout; open the backup")
