"""Making a new bench, and recognising one that is there."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.errors import NewerFileError, NotFoundError, OlderFileError, StoreError
from aerode.store import layout
from aerode.store.connecting import Place, connect, has_log, reading, refusals, writing
from aerode.store.file_heads import head_of
from aerode.store.strangers import refuse_strangers, refuse_views
from aerode.store.versions_seen import VersionsSeen

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.store.upcasts import Upcasts

    Fill = Callable[[sa.Connection], None]

__all__ = ["appear", "create", "layout_of", "logs", "look", "recognise", "sync_file", "sync_folder"]

_SEEN = VersionsSeen()


def create(place: Place, *, identity: str, fill: Fill) -> None:
    """An empty bench at a place where nothing is.

    A file is made under another name beside it and appears under its own name complete, so that
    a half-made bench is never found.

    Parameters
    ----------
    place : Place
        Where to.
    identity : str
        Of the bench; the journal is chained to it.
    fill : callable
        Writes the first records into the new tables, in the same transaction.

    Raises
    ------
    StoreError
        Something is there already, or the place cannot be written.
    """
    if place.path is None:
        _create_shared(place, identity, fill)
        return
    path = place.path
    if path.exists():
        raise _taken(str(path))
    unfinished = path.with_name(f".{path.name}.{identity[:8]}.new")
    with refusals(place.label):
        try:
            _fill_file(unfinished, identity, fill)
            appear(unfinished, path)
        finally:
            for leftover in (unfinished, *logs(unfinished)):
                leftover.unlink(missing_ok=True)


def _fill_file(path: Path, identity: str, fill: Fill) -> None:
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        connection.execute(f"PRAGMA application_id={layout.APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version={layout.LAYOUT}")
    finally:
        connection.close()
    engine = connect(Place(path, None), read_only=False)
    try:
        with writing(engine, str(path)) as open_connection:
            _lay_out(open_connection, identity)
            fill(open_connection)
    finally:
        engine.dispose()
    if has_log(path):
        # Closing folds the log into the file and says nothing where it cannot; alone, the file is empty.
        raise StoreError(
            "the disk failed to write the new bench",
            where=str(path),
            next_step="check the disk; nothing was made",
        )


def _create_shared(place: Place, identity: str, fill: Fill) -> None:
    engine = connect(place, read_only=False)
    try:
        with refusals(place.label), engine.begin() as connection:
            if sa.inspect(connection).has_table(layout.meta.name):
                raise _taken(place.label)
            _lay_out(connection, identity)
            fill(connection)
    finally:
        engine.dispose()


def _lay_out(connection: sa.Connection, identity: str) -> None:
    layout.metadata.create_all(connection)
    connection.execute(
        sa.insert(layout.meta),
        [
            {"key": "format", "value": layout.FORMAT},
            {"key": "layout", "value": str(layout.LAYOUT)},
            {"key": "bench", "value": identity},
        ],
    )
    connection.execute(sa.insert(layout.migration), {"version_num": layout.HEAD_MIGRATION})


def appear(unfinished: Path, path: Path) -> None:
    """Give the finished file its name, on disk, without ever replacing another file."""
    sync_file(unfinished)
    try:
        os.link(unfinished, path)
    except FileExistsError as problem:
        raise _taken(str(path)) from problem
    except OSError:  # a file system without links
        if path.exists():
            raise _taken(str(path)) from None
        unfinished.rename(path)
    sync_folder(path.parent)


def sync_file(path: Path) -> None:
    """Wait until the content of a file is on disk."""
    descriptor = os.open(path, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on disk, where the system can do it."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def logs(path: Path) -> list[Path]:
    """The files that SQLite may keep beside a database."""
    return [path.with_name(path.name + ending) for ending in ("-wal", "-shm", "-journal")]


def _taken(label: str) -> StoreError:
    return StoreError(
        "something is there already, and a bench is never overwritten",
        where=label,
        next_step="choose another name, or open the one that is there",
    )


def look(place: Place) -> None:
    """Look at the head of a file before the database is let near it: nothing foreign is touched.

    Raises
    ------
    NotFoundError
        Nothing is there.
    StoreError
        A folder, or a file of another kind.
    DamagedError
        The write-ahead log beside it would be cut short in silence.
    """
    if place.path is None:
        return
    path = place.path
    if not path.exists():
        raise NotFoundError(
            "no bench file is there",
            where=place.label,
            next_step=f'make one: aerode bench new {path} --title "My bench"',
        )
    if not path.is_file():
        raise _foreign(place, "a folder")
    with refusals(place.label):
        head = head_of(path)
    if not head.startswith(b"SQLite format 3\x00"):
        raise _foreign(place, "a file of another kind")
    if int.from_bytes(head[68:72], "big") != layout.APPLICATION_ID:
        raise _foreign(place, "another program's database")
    if has_log(path):
        from aerode.store.log_frames import refuse_damaged_log

        refuse_damaged_log(path)


def _foreign(place: Place, what: str) -> StoreError:
    return StoreError(
        f"this is {what}, not a bench file",
        where=place.label,
        next_step="name a file made by `aerode bench new`; this one was left as it is",
    )


def layout_of(connection: sa.Connection, place: Place) -> int:
    """The number of the table layout of an open bench, as its `meta` says.

    Raises
    ------
    StoreError
        It has not the marks of a bench.
    """
    values: dict[str, str] = {}
    if sa.inspect(connection).has_table(layout.meta.name):
        rows = connection.execute(sa.select(layout.meta.c.key, layout.meta.c.value))
        values = {row.key: row.value for row in rows}
    if values.get("format") != layout.FORMAT or not values.get("layout", "").isdigit():
        raise _foreign(place, "a database without the marks of a bench")
    return int(values["layout"])


def recognise(engine: sa.Engine, place: Place, *, read_only: bool, upcasts: Upcasts) -> None:
    """Refuse what is not a bench; for writing, also what a newer or an earlier version made.

    Nothing is ever brought to a newer layout by opening it.
    """
    with reading(engine, place.label) as connection:
        refuse_views(connection, place.label)
        found = layout_of(connection, place)
        refuse_strangers(connection, place.label, found)
        if read_only:
            return
        if found > layout.LAYOUT:
            raise _newer(place, f"table layout {found}", f"up to layout {layout.LAYOUT}")
        if found < layout.LAYOUT:
            raise _older(place, found)
        newer = _SEEN.newer(connection, place.label, upcasts)
    if newer:
        raise _newer(place, ", ".join(newer), "the documents of this version")


def _older(place: Place, found: int) -> OlderFileError:
    return OlderFileError(
        f"an earlier version of the program made this bench (table layout {found})",
        where=place.label,
        allowed=f"layout {layout.LAYOUT} for writing; reading it is possible as it is",
        next_step=f"aerode bench migrate --bench {place.label} (a backup is made first)",
    )


def _newer(place: Place, found: str, allowed: str) -> NewerFileError:
    return NewerFileError(
        f"a newer version of the program wrote this bench ({found})",
        where=place.label,
        allowed=allowed,
        next_step="install the newer version, or open the bench for reading only",
    )
