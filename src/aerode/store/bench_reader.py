"""Reading an open bench: records, their history, files and series."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, Any, Self, TypeVar

from aerode.errors import AerodeError
from aerode.store import attachments, checking, creating, digests, layout, leafing, lookup
from aerode.store.connecting import reading
from aerode.store.door import kind_of
from aerode.store.revisions import revision_of_row

if TYPE_CHECKING:
    from collections.abc import Generator, Sequence
    from pathlib import Path
    from types import TracebackType

    import sqlalchemy as sa

    from aerode.records.bench_answers import BenchCheck
    from aerode.store.connecting import Place
    from aerode.store.revisions import Revision
    from aerode.store.upcasts import Upcasts

__all__ = ["BenchReader"]

T = TypeVar("T")


class BenchReader:
    """What can be asked of an open bench; `aerode.store.bench_file.BenchFile` adds the writing."""

    def __init__(self, engine: sa.Engine, place: Place, upcasts: Upcasts) -> None:
        self._engine = engine
        self._place = place
        self._upcasts = upcasts

    def close(self) -> None:
        """Let go of the file; the write-ahead log is folded into it."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def label(self) -> str:
        """Where the bench is, for people."""
        return self._place.label

    @property
    def place(self) -> Place:
        """Where the bench is: a file, or the address of a database."""
        return self._place

    @property
    def path(self) -> Path | None:
        """The file; None for a shared bench on PostgreSQL."""
        return self._place.path

    @property
    def layout(self) -> int:
        """The number of the layout of its tables."""
        with self.reading() as connection:
            return creating.layout_of(connection, self._place)

    @contextlib.contextmanager
    def reading(self) -> Generator[sa.Connection, None, None]:
        """A connection that sees one unchanging state of the bench; for the other parts of the store."""
        with reading(self._engine, self.label) as connection:
            yield connection

    def get(self, cls: type[T], name: str) -> T:
        """The record of a kind with a name.

        Raises
        ------
        NotFoundError
            None of that name; the nearest names are listed.
        ConflictError
            Two states, or two records, bear that name; both are listed.
        DamagedError
            What is stored does not agree with its digest.
        """
        with self.reading() as connection:
            return self._record(self._one(connection, kind_of(cls), name))

    def find(self, cls: type[T], name: str) -> T | None:
        """The same, or None where no record has that name."""
        kind = kind_of(cls)
        with self.reading() as connection:
            found = lookup.families(connection, kind, [name], self.label).get(name)
            return self._record(lookup.only(found, self.label).revision) if found else None

    def all(self, cls: type[T], *, of: str | None = None) -> list[T]:
        """Every record of a kind, in the order in which they were first stored.

        Parameters
        ----------
        cls : type
            The kind.
        of : str, optional
            Only those that belong to the thing of this name: the runs of a cell, the cells of an
            electrode, the batches of a mix.

        Raises
        ------
        ConflictError
            One of them has two newest states; `names` still lists them.
        """
        with self.reading() as connection:
            standing = lookup.listed(connection, kind_of(cls), self.label, of)
            lookup.refuse_conflicts(standing, self.label)
            return [self._record(s.revision) for s in standing]

    def names(self, cls: type) -> list[str]:
        """The names of a kind in the order of first storing; a conflict shows each of its names."""
        with self.reading() as connection:
            standing = lookup.listed(connection, kind_of(cls), self.label)
        return list(dict.fromkeys(s.head.name for s in standing))

    def latest(self, cls: type[T], *, count: int, skip: int = 0, of: str | None = None) -> list[T]:
        """The records of a kind that were first stored last, newest first.

        Parameters
        ----------
        cls : type
            The kind.
        count, skip : int
            How many, and how many newer ones to leave out.
        of : str, optional
            Only those that belong to the thing of this name.

        Raises
        ------
        DamagedError
            One of them does not agree with its digest.
        """
        found = leafing.latest(self._engine, kind_of(cls), self.label, count=count, skip=skip, of=of)  # fmt: skip
        return [self._read_row(row) for row in found]

    def around(
        self, cls: type[T], of: Sequence[str], owners: Sequence[type], *, field: str
    ) -> list[T]:
        """The records of a kind that belong to any of some things, name one, or belong to nothing.

        Parameters
        ----------
        cls : type
            The kind: runs.
        of : sequence of str
            Names of what they may belong to, 500 at most: electrodes and cells.
        owners : sequence of type
            The kinds these things are of.
        field : str
            Where a record may name one besides: "electrode".

        Raises
        ------
        ConflictError
            One of the records has two newest states.
        """
        kinds = [kind_of(owner) for owner in owners]
        with self.reading() as connection:
            standing = lookup.around(connection, kind_of(cls), self.label, of, kinds, field)
            lookup.refuse_conflicts(standing, self.label)
            return [self._record(s.revision) for s in standing]

    def saying(self, cls: type[T], field: str, text: str | bool) -> list[T]:
        """The records of a kind whose field is this text, newest first; only these are read.

        Parameters
        ----------
        cls : type
            The kind.
        field : str
            A field of it that is a text, or yes or no.
        text : str or bool
            Not what the field is by itself.

        Raises
        ------
        DamagedError
            One of them does not agree with its digest.
        """
        rows = leafing.saying(self._engine, kind_of(cls), self.label, field=field, text=text)
        found = (self._read_row(row) for row in rows)
        return [one for one in found if getattr(one, field) == text]

    def _read_row(self, row: tuple[str, ...]) -> Any:
        """The record of a row of `revision`; only of one that is damaged more is made than the record."""
        digest, _, kind, schema, *_, doc, _ = row
        try:
            if digests.digest_of(row[1:]) == digest:
                return self._upcasts.read(schema, doc, where=kind)
        except (AerodeError, TypeError):
            pass  # said below with its name
        columns = [column.name for column in layout.revision.columns]
        entry = revision_of_row(dict(zip(columns, row, strict=True)))
        return self._record(lookup.sound(entry, self.label))

    def count(self, cls: type) -> int:
        """How many records of a kind there are, without reading them."""
        with self.reading() as connection:
            return leafing.counted(connection, kind_of(cls))

    def to_pick_from(self, cls: type, *, most: int = 500) -> list[str]:
        """The newest names of a kind, without reading the records."""
        return leafing.name_list(self._engine, kind_of(cls), self.label, most=most)

    def state(self, cls: type, name: str) -> Revision:
        """The revision that a record of this kind and name stands at now.

        Raises
        ------
        NotFoundError, ConflictError
            No such record; it has two newest states.
        """
        with self.reading() as connection:
            return self._one(connection, kind_of(cls), name)

    def newest(self) -> str:
        """The chain value of the newest line of the journal: it changes with every writing act."""
        with self.reading() as connection:
            return lookup.newest(connection)

    def standing(self, cls: type, name: str) -> Revision | None:
        """The revision of the record of this kind and name, or None where no record has the name.

        Raises
        ------
        ConflictError
            Two states, or two records, bear that name.
        """
        with self.reading() as connection:
            found = lookup.families(connection, kind_of(cls), [name], self.label).get(name)
            return lookup.only(found, self.label).revision if found else None

    def newest_states(self, cls: type) -> list[Revision]:
        """The states of a kind that stand on the list; of a conflict all of them."""
        with self.reading() as connection:
            return list(lookup.newest_of(connection, kind_of(cls), self.label))

    def by_digest(self, digest: str) -> Revision:
        """The state whose digest begins so.

        Raises
        ------
        NotFoundError
            None, or more than one.
        """
        with self.reading() as connection:
            return lookup.by_digest(connection, digest, self.label)

    def heads_of(self, digest: str) -> list[Revision]:
        """The newest states of the record of which a digest names a state: one, or a conflict."""
        with self.reading() as connection:
            record = lookup.by_digest(connection, digest, self.label).record
            return lookup.heads_of(connection, record, self.label)

    def conflicts(self) -> list[list[Revision]]:
        """Every conflict: the states that stand against each other."""
        with self.reading() as connection:
            return [[s.revision for s in group] for group in lookup.conflicts(connection, self.label)]  # fmt: skip

    def history(
        self, cls: type | None = None, name: str | None = None, *, most: int | None = None
    ) -> list[Revision]:
        """Revisions in the order in which they came into this file.

        Parameters
        ----------
        cls : type, optional
            Only this kind.
        name : str, optional
            Only the record that has, or had, this name.
        most : int, optional
            Only the newest so many; not with a name.

        Raises
        ------
        NotFoundError
            No record of the kind ever had this name.
        """
        kind = kind_of(cls) if cls is not None else None
        with self.reading() as connection:
            entries = lookup.stored_order(
                connection, kind, self.label, most=most if name is None else None
            )
            if name is None:
                return entries
            records = {entry.record for entry in entries if entry.name == name}
            if not records:
                raise lookup.not_found(connection, kind, name, self.label)
        return [entry for entry in entries if entry.record in records]

    def read(self, revision: Revision) -> Any:
        """The record that a revision holds, in the definition of today; None if it was withdrawn."""
        return None if revision.withdrawn else self._record(revision)

    def kept(self, digest: str) -> tuple[str, bytes]:
        """Media type and content of what `keep` kept.

        Raises
        ------
        NotFoundError, DamagedError
            Nothing has this digest; or the content no longer agrees with it.
        """
        with self.reading() as connection:
            return attachments.kept(connection, digest, self.label)

    def series(self, name: str) -> dict[str, list[float | None]]:
        """The columns of a series, all its chunks in order.

        Raises
        ------
        NotFoundError, DamagedError
            No such series; or a chunk is missing or does not agree with its digest.
        """
        with self.reading() as connection:
            return attachments.series_of(connection, name, self.label)

    def check(self) -> BenchCheck:
        """Verify every digest, the chain of the journal and the list of newest states."""
        with self.reading() as connection:
            return checking.check(connection, self._upcasts, self.label)

    def _record(self, entry: Revision) -> Any:
        return self._upcasts.read(entry.schema, entry.doc, where=f"{entry.kind} {entry.name}")

    def _one(self, connection: sa.Connection, kind: str, name: str) -> Revision:
        return lookup.one(connection, kind, name, self.label)
