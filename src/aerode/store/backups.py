"""Backups of a bench: taken while others write, checked, kept by a rule, and put back.

A backup is itself a bench file, whatever database the bench is in. It lies in a folder of its own
beside the bench, with its moment in its name: `shed.backups/shed-20250503T090000Z.aerode`.
"""

from __future__ import annotations

import re
import secrets
import shutil
import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from aerode.errors import AerodeError, DamagedError, NotFoundError, StoreError
from aerode.store import creating
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import Place, refusals
from aerode.store.copying import copy_rows, identity_of
from aerode.store.rotation import kept_by_rule

if TYPE_CHECKING:
    from collections.abc import Generator

    import sqlalchemy as sa

__all__ = [
    "Backup",
    "back_up",
    "backups_of",
    "copy_beside",
    "folder_of",
    "named",
    "newest_good",
    "refuse_damaged",
    "rotate",
    "unfinished",
]

_STAMP = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True, order=True)
class Backup:
    """One backup; `why` is empty for those that the keeping rule may remove."""

    moment: datetime
    path: Path
    why: str = ""


def folder_of(place: Place) -> Path:
    """Where the backups of a bench lie: beside its file; for a shared one, in the present folder."""
    if place.path is not None:
        return place.path.with_name(f"{place.path.stem}.backups")
    return Path(f"{_stem(place)}.backups")


def _stem(place: Place) -> str:
    name = place.path.stem if place.path is not None else str(place.url and place.url.database)
    return re.sub(r"[^\w.\- ]", "_", name)


def backups_of(place: Place, folder: Path | None = None) -> list[Backup]:
    """The backups of a bench, oldest first; files of other names are none."""
    shape = re.compile(
        re.escape(_stem(place)) + r"-(\d{8}T\d{6}Z)(?:-\d+)?(?:-([a-z\-]+))?\.aerode"
    )
    found: list[Backup] = []
    where = folder or folder_of(place)
    for path in where.iterdir() if where.is_dir() else ():
        match = shape.fullmatch(path.name)
        if match:
            moment = datetime.strptime(match[1], _STAMP).replace(tzinfo=UTC)
            found.append(Backup(moment, path, match[2] or ""))
    return sorted(found)


def back_up(
    bench: BenchFile, *, moment: datetime, folder: Path | None = None, why: str = ""
) -> tuple[Backup, int]:
    """A checked copy of an open bench in the folder of its backups, taken while others may write.

    Parameters
    ----------
    bench : BenchFile
        Open.
    moment : datetime
        Goes into the name.
    folder : Path, optional
        Where to; beside the bench otherwise.
    why : str
        A word for the name; a backup that has one is never removed by the keeping rule.

    Returns
    -------
    (Backup, int)
        The backup, and how many states it holds.

    Raises
    ------
    DamagedError
        The copy is not whole, because the bench is not; no backup is touched.
    StoreError
        No room, or the folder cannot be written.
    """
    where = folder or folder_of(bench.place)
    with refusals(str(where)):
        where.mkdir(parents=True, exist_ok=True)
    path = _free(where, _stem(bench.place), moment, why)
    with unfinished(path) as copy:
        copy_beside(bench, copy)
        states = refuse_damaged(copy, "the bench itself is damaged, so no backup was made of it")
        with refusals(str(path)):
            creating.appear(copy, path)
    return Backup(moment, path, why), states


def _free(folder: Path, stem: str, moment: datetime, why: str) -> Path:
    """A name that no backup has yet: two of one second are numbered."""
    stamp = moment.astimezone(UTC).strftime(_STAMP)
    ending = f"-{why}.aerode" if why else ".aerode"
    path, number = folder / f"{stem}-{stamp}{ending}", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{stamp}-{number}{ending}"
    return path


@contextmanager
def unfinished(path: Path) -> Generator[Path, None, None]:
    """A hidden name beside a file to be made; whatever is left of it is removed at the end."""
    hidden = path.with_name(f".{path.name}.{secrets.token_hex(4)}.new")
    try:
        yield hidden
    finally:
        for leftover in (hidden, *creating.logs(hidden)):
            leftover.unlink(missing_ok=True)


def copy_beside(bench: BenchFile, to: Path) -> None:
    """The whole bench as one new file: page by page from a file, row by row from a server."""
    path = bench.path
    if path is None:
        with bench.reading() as source:

            def fill(target: sa.Connection) -> None:
                copy_rows(source, target)

            creating.create(Place(to, None), identity=identity_of(source), fill=fill)
        return
    with refusals(str(to)):
        refuse_full_disk(to.parent, path.stat().st_size)
        _copy_pages(bench, to)


def _copy_pages(bench: BenchFile, to: Path) -> None:
    """SQLite's own online copy; the copy is one file without a log beside it."""
    copy = sqlite3.connect(to)
    try:
        with bench.reading() as source:
            pages: Any = source.connection.driver_connection
            pages.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
    finally:
        copy.close()


def refuse_full_disk(folder: Path, size: int) -> None:
    """Refuse to begin what cannot be ended.

    Raises
    ------
    StoreError
        Less than twice the size is free.
    """
    if shutil.disk_usage(folder).free < 2 * size:
        raise StoreError(
            "there is no room for a copy, so nothing was changed",
            where=str(folder),
            next_step="make room for twice the size of the bench",
        )


def refuse_damaged(path: Path, what: str) -> int:
    """How many states a whole bench file holds.

    Raises
    ------
    DamagedError
        It is not whole; the records in trouble are named.
    """
    with BenchFile.open(path, read_only=True) as copy:
        found = copy.check()
    if not found.whole:
        raise DamagedError(
            f"{what} ({found.headline.removeprefix('DAMAGED: ')})",
            where=str(path.parent),
            next_step="run `aerode bench check`; `aerode bench restore` puts the newest good copy back",
        )
    return found.revisions


def newest_good(place: Place, folder: Path | None = None) -> Backup | None:
    """The newest backup that is whole, or None."""
    for backup in reversed(backups_of(place, folder)):
        try:
            refuse_damaged(backup.path, "this backup is damaged")
        except AerodeError:
            continue
        return backup
    return None


def rotate(place: Place, folder: Path | None = None, *, spare: Path | None = None) -> list[Path]:
    """Remove the backups that the keeping rule gives up; the answer is what was removed.

    Parameters
    ----------
    place : Place
        The bench.
    folder : Path, optional
        Of the backups.
    spare : Path, optional
        One that stays in any case: the one just made, even by a clock that went backwards.
    """
    plain = [backup for backup in backups_of(place, folder) if not backup.why]
    kept = kept_by_rule(backup.moment for backup in plain)
    gone = [b.path for b in plain if b.moment not in kept and b.path != spare]
    with refusals(str(folder or folder_of(place))):
        for path in gone:
            path.unlink(missing_ok=True)
    return gone


def named(place: Place, source: Path | None, folder: Path | None = None) -> Path:
    """The copy to put back: the one named, or the newest good backup.

    Raises
    ------
    NotFoundError
        No such file; no good backup.
    """
    if source is not None:
        if not source.exists():
            raise NotFoundError("no such copy is there", where=str(source), next_step=_LIST)
        return source
    found = newest_good(place, folder)
    if found is None:
        raise NotFoundError(
            "no good backup of this bench is there", where=str(folder or folder_of(place)),
            next_step="name a copy that you kept yourself: aerode bench restore COPY",
        )  # fmt: skip
    return found.path


_LIST = "`aerode bench backup --list` lists what is there"
