"""What a bench file holds, and what one file holds that another has not; nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.records.places import Bench
from aerode.store.bench_file import BenchFile
from aerode.store.copying import identity_of
from aerode.store.layout import blob, current, revision, series
from aerode.store.revisions import revision_of_row

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.store.revisions import Revision

__all__ = ["Holding", "Missing", "holding", "missing_in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """What is in a bench file."""

    title: str
    identity: str
    """Of the bench: a copy of it bears the same one."""
    states: int
    counts: dict[str, int]
    """Records of each kind that stand on its lists; withdrawn ones are counted too."""
    newest: str
    """The moment of its newest state, ISO 8601; "" where there is none."""
    logs: int
    """Chunks of long logs."""
    files: int


def holding(path: Path) -> Holding:
    """What a bench file holds.

    Raises
    ------
    StoreError
        It cannot be read.
    """
    with BenchFile.open(path, read_only=True) as bench, bench.reading() as connection:

        def number(what: sa.Table) -> int:
            return int(connection.execute(sa.select(sa.func.count()).select_from(what)).scalar_one())  # fmt: skip

        kinds = sa.select(current.c.kind, sa.func.count()).group_by(current.c.kind)
        newest = connection.execute(sa.select(sa.func.max(revision.c.at))).scalar()
        return Holding(
            title=next((one.title for one in bench.all(Bench)), ""),
            identity=identity_of(connection),
            states=number(revision),
            counts={str(kind): int(count) for kind, count in connection.execute(kinds)},
            newest=str(newest or ""),
            logs=number(series),
            files=number(blob),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """What one file holds that another has not."""

    states: tuple[Revision, ...]
    """The newest of them, newest first."""
    count: int
    """Of all such states."""
    new: frozenset[str]
    """Identities of the records of which the other file holds nothing at all."""
    logs: int
    files: int


def missing_in(other: Path, path: Path, *, most: int) -> Missing:
    """What `path` holds that `other` has not.

    Parameters
    ----------
    other, path : Path
        Two bench files.
    most : int
        How many states are read; all of them are counted.

    Raises
    ------
    StoreError
        One of them cannot be read.
    """
    with BenchFile.open(other, read_only=True) as copy, copy.reading() as there:
        known = {
            table.name: set(there.execute(sa.select(table.c.digest)).scalars())
            for table in (revision, series, blob)
        }
        records = set(there.execute(sa.select(revision.c.record).distinct()).scalars())
    with BenchFile.open(path, read_only=True) as bench, bench.reading() as here:
        lost: list[str] = []
        new: set[str] = set()
        for digest, record in here.execute(
            sa.select(revision.c.digest, revision.c.record).order_by(revision.c.at.desc())
        ):
            if digest not in known[revision.name]:
                lost.append(str(digest))
                new.update(() if record in records else (str(record),))
        shown = here.execute(sa.select(revision).where(revision.c.digest.in_(lost[:most])))
        states = [revision_of_row(row) for row in shown.mappings()]

        def only_here(table: sa.Table) -> int:
            own = here.execute(sa.select(table.c.digest)).scalars()
            return sum(1 for digest in own if digest not in known[table.name])

        return Missing(
            states=tuple(sorted(states, key=lambda one: one.at, reverse=True)),
            count=len(lost),
            new=frozenset(new),
            logs=only_here(series),
            files=only_here(blob),
        )
