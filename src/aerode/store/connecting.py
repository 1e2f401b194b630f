"""Connections to a bench file: SQLite with its safeguards on, or PostgreSQL for a shared bench."""

from __future__ import annotations

import os
import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy import event, exc
from sqlalchemy.pool import NullPool, QueuePool
from sqlalchemy.util import LRUCache

from aerode.errors import (
    AerodeError,
    BusyError,
    DamagedError,
    MissingExtraError,
    NotFoundError,
    StoreError,
)
from aerode.store import layout
from aerode.store.shares import refuse_share
from aerode.store.strangers import LARGEST

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["Place", "connect", "has_log", "place_of", "reading", "refusals", "writing"]

BUSY_WAIT = 5.0
"""How long a writer waits for another one [s]."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a bench is: a file, or the address of a PostgreSQL database."""

    path: Path | None
    url: sa.URL | None

    @property
    def label(self) -> str:
        """What to call the place in a refusal; never shows a password."""
        return str(self.path) if self.path else str(self.url)


def place_of(path_or_url: str | os.PathLike[str]) -> Place:
    """A path, a `sqlite:///` address or a `postgresql://` address as a place."""
    text = os.fspath(path_or_url)
    if "://" not in text:
        return Place(Path(text), None)
    url = sa.make_url(text)
    backend = url.get_backend_name()
    if backend == "sqlite" and url.database:
        return Place(Path(url.database), None)
    if backend == "postgresql":
        return Place(None, url.set(drivername="postgresql+psycopg"))
    raise StoreError(
        f"a bench cannot be kept at {backend}://",
        allowed="the path of a file, or postgresql://user@host/database",
        next_step="give the path of a bench file",
    )


def connect(place: Place, *, read_only: bool) -> sa.Engine:
    """An engine whose every connection has the safeguards on; nothing is created.

    Writers take the lock when their transaction begins, so two of them never read the same state
    and then overwrite each other.
    """
    engine = _postgresql(place) if place.path is None else _sqlite(place.path, read_only)
    event.listen(engine, "begin", _begin)
    return engine


def _sqlite(path: Path, read_only: bool) -> sa.Engine:
    # A reader too opens for writing where it can (and writes no row: `query_only`), because only
    # then does the last one to leave fold the log away.
    if not read_only:
        refuse_share(path)
    address = f"file:{quote(str(path.absolute()))}?mode=rw"
    if read_only and not os.access(path.parent, os.W_OK):
        # SQLite makes a small file beside a database in WAL mode even to read it; where the folder cannot
        # be written this fails unless the file is declared unchanging.
        address = address.replace("=rw", "=ro" if has_log(path) else "=ro&immutable=1")

    def open_connection() -> sqlite3.Connection:
        connection = sqlite3.connect(
            address, uri=True, timeout=BUSY_WAIT, isolation_level=None, check_same_thread=False
        )
        try:
            _safeguards(connection, read_only)
        except BaseException:
            connection.close()
            raise
        return connection

    shared = _sqlite_words()
    creator: Any = (
        open_connection  # what SQLite gives is a connection, though its types do not say so
    )
    pool = QueuePool(creator, dialect=shared.dialect)
    return sa.Engine(
        pool, shared.dialect, shared.url, execution_options={"compiled_cache": _STATEMENTS}
    )


_STATEMENTS = LRUCache[Any, Any](500)
"""Statements that were written out once: pages open the bench anew each time, and ask the same again."""


@lru_cache(maxsize=1)
def _sqlite_words() -> sa.Engine:
    """An engine that holds no bench: what it knows of SQLite itself serves every bench file."""
    engine = sa.create_engine("sqlite+pysqlite://", poolclass=NullPool)
    with engine.connect():
        pass  # with its first connection the dialect learns which SQLite this is
    return engine


def has_log(path: Path) -> bool:
    """True if a write-ahead log with something in it lies beside a database.

    Asked for in one step: whoever closes a bench last folds its log away, at any moment.
    """
    try:
        return path.with_name(path.name + "-wal").stat().st_size > 0
    except FileNotFoundError:
        return False


def _safeguards(connection: sqlite3.Connection, read_only: bool) -> None:
    # Bytes that are no UTF-8 must reach the digest check, which names the record they are in.
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LARGEST)
    connection.text_factory = partial(str, encoding="utf-8", errors="surrogateescape")
    if not read_only:
        mode = connection.execute("PRAGMA journal_mode=WAL").fetchone()[0]
        if mode != "wal":
            raise StoreError(
                "the file cannot keep a write-ahead log where it lies",
                next_step="keep the bench on a disk of this machine, not on a network share",
            )
    for pragma in (
        "synchronous=FULL",
        "fullfsync=ON",
        "checkpoint_fullfsync=ON",
        "foreign_keys=ON",
        "trusted_schema=OFF",
        "cell_size_check=ON",
        f"query_only={'ON' if read_only else 'OFF'}",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _postgresql(place: Place) -> sa.Engine:
    assert place.url is not None
    try:
        return sa.create_engine(
            place.url,
            connect_args={
                "options": f"-c lock_timeout={int(BUSY_WAIT * 1000)} -c synchronous_commit=on"
            },
        )
    except ModuleNotFoundError as problem:
        raise MissingExtraError(
            "a bench on PostgreSQL needs the library psycopg",
            next_step="pip install 'aerode[postgres]'",
        ) from problem


def _begin(connection: sa.Connection) -> None:
    writes = bool(connection.get_execution_options().get("writes"))
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
    elif writes:
        connection.exec_driver_sql(f"LOCK TABLE {layout.journal.name} IN EXCLUSIVE MODE")


@contextmanager
def reading(engine: sa.Engine, where: str) -> Generator[sa.Connection, None, None]:
    """A connection that sees one unchanging state of the bench."""
    with refusals(where), engine.connect() as plain:
        steady = {} if plain.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
        connection = plain.execution_options(**steady)
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: sa.Engine, where: str) -> Generator[sa.Connection, None, None]:
    """A connection that alone may write: all of it is on disk on leaving, or nothing is."""
    with refusals(where), engine.connect() as plain:
        connection = plain.execution_options(writes=True)
        with connection.begin():
            yield connection


@contextmanager
def refusals(where: str) -> Generator[None, None, None]:
    """Turn a failure of the database into the refusal that says what to do."""
    try:
        yield
    except AerodeError as error:
        raise error
    except exc.DBAPIError as problem:
        raise _refusal(problem.orig, where) from problem
    except UnicodeDecodeError as problem:  # even the database's own words are damaged
        raise DamagedError(
            "the file is damaged", where=where, next_step="take the newest good copy"
        ) from problem
    except (sqlite3.Error, OSError) as problem:
        raise _refusal(problem, where) from problem


_NOTHING = "nothing of this was stored, what was stored before is untouched"


def _refusal(problem: Any, where: str) -> StoreError:
    name: str = getattr(problem, "sqlite_errorname", "") or getattr(problem, "sqlstate", "") or ""
    for starts, kind, what, next_step in _MEANINGS:
        if name.startswith(starts):
            return kind(what, where=where, next_step=next_step)
    return StoreError(f"the bench cannot be used: {problem}", where=where, next_step=_NOTHING)


# SQLite result codes (sqlite.org/rescode.html) and PostgreSQL SQLSTATE classes (appendix A).
_MEANINGS: tuple[tuple[tuple[str, ...], type[StoreError], str, str], ...] = (
    (("SQLITE_BUSY", "SQLITE_LOCKED", "55P03", "40P01", "40001"), BusyError,
     "another program is writing to this bench", f"wait a moment and do it again; {_NOTHING}"),
    (("SQLITE_FULL", "53100"), StoreError, "the disk is full", f"make room and do it again; {_NOTHING}"),
    (("SQLITE_READONLY", "SQLITE_PERM", "SQLITE_AUTH", "42501", "25006"), StoreError,
     "the bench may not be written here", f"open it for reading only, or copy it to a folder of yours; {_NOTHING}"),
    (("SQLITE_CANTOPEN", "3D000"), NotFoundError, "the bench cannot be opened",
     "check the path and the rights of its folder"),
    (("SQLITE_NOTADB",), StoreError, "this is not a bench file", "name a file made by `aerode bench new`"),
    (("SQLITE_CORRUPT", "XX001", "XX002"), DamagedError, "the file is damaged",
     "keep it as it is, and take the newest good copy"),
    (("SQLITE_IOERR",), StoreError, "the disk failed to read or write", f"check the disk; {_NOTHING}"),
)  # fmt: skip
