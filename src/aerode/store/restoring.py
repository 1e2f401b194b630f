"""Putting a copy in the place of a bench: nothing that is there is overwritten, it is kept aside."""

from __future__ import annotations

import os
import sqlite3
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.errors import AerodeError, BusyError, StoreError
from aerode.store import creating
from aerode.store.backups import copy_beside, refuse_damaged, unfinished
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import Place, place_of, refusals
from aerode.store.copying import copy_rows, identity_of
from aerode.store.layout import revision

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Restored", "put_in_place", "restore"]


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back, and where the file that stood there is now."""

    states: int
    kept_aside: Path | None
    only_aside: int | None
    """States of the file kept aside that the copy does not hold; None where it cannot be read."""


def restore(path_or_url: str | os.PathLike[str], copy: Path, *, moment: datetime) -> Restored:
    """Put a checked copy in the place of a bench.

    Parameters
    ----------
    path_or_url : path or str
        The bench file, there or gone; or the address of an empty PostgreSQL database.
    copy : Path
        A backup or another bench file. It is left as it is.
    moment : datetime
        Goes into the name of the file that is kept aside.

    Raises
    ------
    DamagedError
        The copy is not whole; nothing was changed.
    BusyError
        Another program has the bench open.
    StoreError
        A database that holds a bench already: it is never overwritten.
    """
    place = place_of(path_or_url)
    if place.path is None:
        return _into_a_database(place, copy)

    def make(path: Path) -> None:
        with BenchFile.open(copy, read_only=True) as source:
            copy_beside(source, path)

    return put_in_place(place.path, make, moment=moment)


def _into_a_database(place: Place, copy: Path) -> Restored:
    states = refuse_damaged(copy, "the copy is damaged, so nothing was changed")
    with BenchFile.open(copy, read_only=True) as bench, bench.reading() as source:

        def fill(target: sa.Connection) -> None:
            copy_rows(source, target)

        creating.create(place, identity=identity_of(source), fill=fill)
    return Restored(states, None, 0)


def put_in_place(path: Path, make: Callable[[Path], None], *, moment: datetime) -> Restored:
    """Make a bench file beside a path, check it, keep aside what is there, and give it the name.

    Parameters
    ----------
    path : Path
        Of the bench.
    make : callable
        Writes the new file to the path it is handed.
    moment : datetime
        For the name of the file kept aside.
    """
    with unfinished(path) as new:
        make(new)
        states = refuse_damaged(new, "the copy is damaged, so nothing was changed")
        with refusals(str(path)):
            if not path.exists():
                creating.appear(new, path)
                return Restored(states, None, 0)
            only_aside = _missing_in(new, path)
            aside = _free(path, moment)
            _swap(new, path, aside)
    return Restored(states, aside, only_aside)


def _digests(path: Path) -> set[str]:
    with BenchFile.open(path, read_only=True) as bench, bench.reading() as connection:
        return set(connection.execute(sa.select(revision.c.digest)).scalars())


def _missing_in(new: Path, path: Path) -> int | None:
    """How many states of a file the new one lacks; None if the file cannot be read."""
    try:
        return len(_digests(path) - _digests(new))
    except AerodeError:
        return None


def _free(path: Path, moment: datetime) -> Path:
    stamp = moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    aside, number = path.with_name(f"{path.stem}.kept-{stamp}{path.suffix}"), 1
    while aside.exists():
        number += 1
        aside = path.with_name(f"{path.stem}.kept-{stamp}-{number}{path.suffix}")
    return aside


def _swap(new: Path, path: Path, aside: Path) -> None:
    """The file under a second name, then the new one under the first: at no moment is there none.

    Its log must go with it, or the database would read it into the new file.
    """
    creating.sync_file(new)
    _fold_log(path)
    logs = [log for log in creating.logs(path) if log.exists()]
    moved = [aside.with_name(aside.name + log.name.removeprefix(path.name)) for log in logs]
    for log, to in zip(logs, moved, strict=True):
        log.rename(to)
    try:
        os.link(path, aside)
    except OSError:  # a file system without links
        path.rename(aside)
    new.replace(path)
    # SQLite would throw away the log of a file that is damaged, so that one is not asked.
    if not moved and _is_held(aside):
        aside.replace(path)  # somebody slipped in: it stays the bench, as if nothing had been
        raise _open_elsewhere(path)
    creating.sync_folder(path.parent)


def _is_held(path: Path) -> bool:
    """Whether a program has this file open as a database, by whatever name it found it.

    The log of a file that is held lies beside the name under which it was opened, where the new
    file is now: the two would be mixed up. Only a file that nobody holds can be locked by one alone.
    """
    connection = sqlite3.connect(path, timeout=0.0, isolation_level=None)
    try:
        connection.execute("PRAGMA locking_mode=EXCLUSIVE")
        connection.execute("BEGIN EXCLUSIVE")
        connection.execute("ROLLBACK")
    except sqlite3.OperationalError as problem:
        return (problem.sqlite_errorname or "").startswith(("SQLITE_BUSY", "SQLITE_LOCKED"))
    except sqlite3.DatabaseError:
        return False  # no database any more: nobody can hold it as one
    finally:
        connection.close()
    return False


def _fold_log(path: Path) -> None:
    """Fold the log into the file, which succeeds only while nobody else has it open.

    A damaged file is left as it is, and its log is kept beside it.

    Raises
    ------
    BusyError
        Another program has it open.
    """
    try:
        creating.look(Place(path, None))
    except StoreError:
        return  # not a database any more: SQLite would throw its log away
    with suppress(sqlite3.DatabaseError):
        connection = sqlite3.connect(path, timeout=1.0, isolation_level=None)
        try:
            mode = connection.execute("PRAGMA journal_mode=DELETE").fetchone()[0]
        except sqlite3.OperationalError as problem:
            if (problem.sqlite_errorname or "").startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
                raise _open_elsewhere(path) from problem
            raise
        finally:
            connection.close()
        if mode != "delete":
            raise _open_elsewhere(path)


def _open_elsewhere(path: Path) -> StoreError:
    return BusyError(
        "another program has this bench open, so nothing was changed",
        where=str(path),
        next_step="close it there and do it again",
    )
