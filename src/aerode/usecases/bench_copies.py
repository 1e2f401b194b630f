"""Back a bench up, put a copy back, bring an older bench to the layout of this program."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.errors import AerodeError, NotFoundError
from aerode.records.bench_answers import BenchCheck, CheckFault
from aerode.records.bench_copies import (
    BackupLine,
    BenchBackup,
    BenchBackups,
    BenchMigration,
    BenchRestore,
)
from aerode.store import backups, package_in, restoring, upgrading
from aerode.store.bench_file import BenchFile, now
from aerode.store.connecting import place_of
from aerode.store.restoring import Restored
from aerode.store.rotation import RULE
from aerode.store.series_tail import are_waiting, pack_all
from aerode.usecases.bench_package import is_package

if TYPE_CHECKING:
    import os
    from datetime import datetime

    from aerode.store.connecting import Place

__all__ = ["back_up", "check", "list_backups", "migrate", "pack_logs", "restore"]

_ORDER = "%Y-%m-%dT%H:%M:%SZ"


def _folder(folder: str | os.PathLike[str]) -> Path | None:
    return Path(folder) if folder else None


def _states(count: int) -> str:
    return "one state" if count == 1 else f"{count} states"


def back_up(
    bench: str | os.PathLike[str],
    *,
    folder: str | os.PathLike[str] = "",
    moment: datetime | None = None,
) -> BenchBackup:
    """Make a checked backup while others may write, and remove those that the rule gives up.

    Parameters
    ----------
    bench : path or str
        The file, or the address of a shared bench.
    folder : path
        Where to; a folder beside the bench otherwise.
    moment : datetime, optional
        Goes into the name; now otherwise.

    Returns
    -------
    BenchBackup

    Raises
    ------
    DamagedError
        The bench is damaged: no backup is made of it, and none is removed.
    StoreError
        No room, or the folder cannot be written.
    """
    where = _folder(folder)
    pack_logs(bench)
    with BenchFile.open(bench, read_only=True) as store:
        made, states = backups.back_up(store, moment=moment or now(), folder=where)
    removed = backups.rotate(place_of(bench), where, spare=made.path)
    kept = len(backups.backups_of(place_of(bench), where))
    return BenchBackup(
        headline=f"Backed up and checked: {_states(states)} in {made.path.name}",
        path=str(made.path),
        states=states,
        removed=tuple(str(path) for path in removed),
        kept=kept,
        rule=RULE,
    )


def list_backups(
    bench: str | os.PathLike[str], *, folder: str | os.PathLike[str] = ""
) -> BenchBackups:
    """The backups of a bench, newest first; the bench itself need not be there any more."""
    place = place_of(bench)
    where = _folder(folder) or backups.folder_of(place)
    found = tuple(
        BackupLine(
            at=one.moment.strftime(_ORDER), path=str(one.path), why=one.why.replace("-", " ")
        )
        for one in reversed(backups.backups_of(place, where))
    )
    count = "one backup" if len(found) == 1 else f"{len(found)} backups"
    return BenchBackups(
        headline=f"{count} of {place.label}" + (f", the newest of {found[0].at}" if found else ""),
        folder=str(where),
        backups=found,
        rule=RULE,
    )


def restore(
    bench: str | os.PathLike[str],
    copy: str | os.PathLike[str] = "",
    *,
    folder: str | os.PathLike[str] = "",
    moment: datetime | None = None,
) -> BenchRestore:
    """Put a copy in the place of a bench; what stands there is kept aside under another name.

    Parameters
    ----------
    bench : path or str
        The file, there or gone; or the address of an empty PostgreSQL database.
    copy : path
        What to put back: a backup, another bench file, or a package; the newest good backup
        otherwise.
    folder : path
        Of the backups; the folder beside the bench otherwise.
    moment : datetime, optional
        Goes into the name of the file kept aside; now otherwise.

    Returns
    -------
    BenchRestore

    Raises
    ------
    NotFoundError
        No such copy; no good backup.
    DamagedError
        The copy is not whole; nothing was changed.
    BusyError
        Another program has the bench open; nothing was changed.
    """
    place = place_of(bench)
    source = backups.named(place, Path(copy) if copy else None, _folder(folder))
    pack_logs(bench)
    if is_package(source):
        done = _from_package(place, source, moment or now())
    else:
        done = restoring.restore(bench, source, moment=moment or now())
    return BenchRestore(
        headline=f"Put back and checked: {_states(done.states)} from {source.name}",
        bench=place.label,
        copy=str(source),
        states=done.states,
        kept_aside=str(done.kept_aside or ""),
        only_aside=done.only_aside,
    )


def pack_logs(bench: str | os.PathLike[str]) -> None:
    """Take the rows of logs that wait beside the bench into it, where it can be written; else they wait on."""
    if are_waiting(place_of(bench)):
        with suppress(AerodeError), BenchFile.open(bench) as store:
            pack_all(store)


def _from_package(place: Place, source: Path, moment: datetime) -> Restored:
    if place.path is None:
        taken = package_in.make_from(str(place.url), source)
        return Restored(sum(taken.states.values()), None, 0)

    def make(new: Path) -> None:
        package_in.make_from(new, source)

    return restoring.put_in_place(place.path, make, moment=moment)


def migrate(
    bench: str | os.PathLike[str],
    *,
    folder: str | os.PathLike[str] = "",
    moment: datetime | None = None,
) -> BenchMigration:
    """Bring a bench of an earlier version to the table layout of this one: backup first, all or nothing.

    Parameters
    ----------
    bench : path or str
        The file, or the address of a shared bench.
    folder : path
        Of the backups; the folder beside the bench otherwise.
    moment : datetime, optional
        Goes into the name of the backup; now otherwise.

    Returns
    -------
    BenchMigration

    Raises
    ------
    DamagedError
        The bench is not whole; nothing was changed.
    StoreError
        No backup could be made, or a step failed; nothing was changed.
    """
    with BenchFile.open(bench, read_only=True) as store:
        before, old = store.layout, upgrading.needs_upgrade(store)
    if not old:
        return BenchMigration(
            headline=f"Nothing to do: the table layout is {before}, the newest one this version knows",
            layout_before=before,
            layout=before,
        )
    backup = upgrading.upgrade(bench, moment=moment, folder=_folder(folder))
    with BenchFile.open(bench) as store:
        after = store.layout
    return BenchMigration(
        headline=f"Brought from table layout {before} to {after}; no record was touched",
        layout_before=before,
        layout=after,
        backup=str(backup.path),
    )


def check(
    bench: str | os.PathLike[str],
    *,
    rebuild: bool = False,
    folder: str | os.PathLike[str] = "",
) -> BenchCheck:
    """Verify every digest, the journal and the lists; where something is wrong, find a good copy.

    Parameters
    ----------
    bench : path or str
        The file, or the address of a shared bench.
    rebuild : bool
        Make the list of newest states again first.
    folder : path
        Of the backups; the folder beside the bench otherwise.

    Returns
    -------
    BenchCheck

    Raises
    ------
    NotFoundError, StoreError
        No bench is there, or the file is of another kind.
    """
    try:
        with BenchFile.open(bench, read_only=not rebuild) as store:
            if rebuild:
                store.rebuild()
            found = store.check()
    except NotFoundError:
        raise
    except AerodeError as error:
        found = _unreadable(bench, error, folder)
    if found.whole:
        return found
    good = backups.newest_good(place_of(bench), _folder(folder))
    return replace(found, newest_good_copy=str(good.path) if good else "")


def _unreadable(
    bench: str | os.PathLike[str], error: AerodeError, folder: str | os.PathLike[str]
) -> BenchCheck:
    """The answer where not even the marks of the file can be read; foreign files stay refusals."""
    place = place_of(bench)
    if not backups.backups_of(place, _folder(folder)):
        raise error
    fault = CheckFault(kind="bench", name=place.label, what=error.what, next_step=error.next_step)
    return BenchCheck(
        headline=f"DAMAGED: the file itself cannot be read ({error.what})",
        whole=False,
        revisions=0,
        records=0,
        series_chunks=0,
        files=0,
        faults=(fault,),
    )
