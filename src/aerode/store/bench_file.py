"""The bench file: put records in, get them back, never lose a state."""

from __future__ import annotations

import contextlib
import difflib
import os
import secrets
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import sqlalchemy as sa

from aerode.errors import ConflictError, DamagedError, InputError, NotFoundError, StoreError
from aerode.records.places import Bench
from aerode.store import creating
from aerode.store.connecting import Place, connect, place_of, reading, writing
from aerode.store.door import document, kind_of
from aerode.store.layout import current, journal, revision
from aerode.store.ledger import Ledger, heads_named, heads_of, revision_of_row
from aerode.store.revisions import WITHDRAWN, Head, Revision
from aerode.store.upcasts import UPCASTS, Upcasts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from types import TracebackType

__all__ = ["BenchFile", "new_identity", "now"]

T = TypeVar("T")


def now() -> datetime:
    """The moment, in UTC: the clock that is used where no other one is handed in."""
    return datetime.now(UTC)


def new_identity() -> str:
    """A random identity for a record: 32 hexadecimal digits, the same on no other bench."""
    return secrets.token_hex(16)


class BenchFile:
    """An open bench. Use it with `with`; what `put` has answered is on disk.

    Every method is one transaction and may be called from any thread.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> from aerode.records.materials import SolventLot
    >>> place = pathlib.Path(tempfile.mkdtemp()) / "shed.aerode"
    >>> with BenchFile.create(place, title="Net shed") as bench:
    ...     stored = bench.put(SolventLot(name="bottle 1", substance="ethanol"), why="opened")
    ...     bench.get(SolventLot, "bottle 1").substance
    'ethanol'
    """

    def __init__(
        self,
        engine: sa.Engine,
        place: Place,
        *,
        clock: Callable[[], datetime] = now,
        who: str = "",
        identities: Callable[[], str] = new_identity,
        read_only: bool = False,
        upcasts: Upcasts = UPCASTS,
    ) -> None:
        self._engine = engine
        self._place = place
        self._clock = clock
        self._who = who
        self._identities = identities
        self._upcasts = upcasts
        self.read_only = read_only

    @classmethod
    def create(
        cls,
        path_or_url: str | os.PathLike[str],
        *,
        title: str,
        clock: Callable[[], datetime] = now,
        who: str = "",
        identities: Callable[[], str] = new_identity,
        upcasts: Upcasts = UPCASTS,
    ) -> BenchFile:
        """A new, empty bench with its title in it.

        Parameters
        ----------
        path_or_url : path or str
            The file to make, or the address of an empty PostgreSQL database.
        title : str
            Whose bench it is.
        clock : callable
            Gives the moment of each revision, with its time zone.
        who : str
            Who writes, where `put` does not say.
        identities : callable
            Gives the identity of each new record.
        upcasts : Upcasts
            The versions of the documents.

        Raises
        ------
        StoreError
            Something is there already, or the place cannot be written.
        """
        place = place_of(path_or_url)
        creating.create(place, identity=identities())
        bench = cls.open(path_or_url, clock=clock, who=who, identities=identities, upcasts=upcasts)
        try:
            bench.put(Bench(title=title), why="new bench", who=who)
        except BaseException:
            bench.close()
            if place.path is not None:
                place.path.unlink(missing_ok=True)
            raise
        return bench

    @classmethod
    def open(
        cls,
        path_or_url: str | os.PathLike[str],
        *,
        clock: Callable[[], datetime] = now,
        who: str = "",
        read_only: bool = False,
        identities: Callable[[], str] = new_identity,
        upcasts: Upcasts = UPCASTS,
    ) -> BenchFile:
        """An existing bench.

        Raises
        ------
        NotFoundError
            Nothing is there.
        NewerFileError
            A newer version wrote it; `read_only=True` still reads it.
        StoreError
            It is not a bench file, or it may not be written here.
        """
        place = place_of(path_or_url)
        if place.path is not None and not place.path.exists():
            raise NotFoundError(
                "no bench file is there",
                where=place.label,
                next_step=f'make one: aerode bench new {place.path} --title "My bench"',
            )
        engine = connect(place, read_only=read_only)
        try:
            creating.recognise(engine, place, read_only=read_only, upcasts=upcasts)
        except BaseException:
            engine.dispose()
            raise
        return cls(
            engine, place, clock=clock, who=who, identities=identities, read_only=read_only,
            upcasts=upcasts,
        )  # fmt: skip

    def close(self) -> None:
        """Let go of the file; the write-ahead log is folded into it."""
        self._engine.dispose()

    def __enter__(self) -> BenchFile:
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
    def path(self) -> Path | None:
        """The file; None for a shared bench on PostgreSQL."""
        return self._place.path

    @contextlib.contextmanager
    def _reading(self) -> Iterator[sa.Connection]:
        with reading(self._engine, self.label) as connection:
            yield connection

    @contextlib.contextmanager
    def _writing(self) -> Iterator[Ledger]:
        if self.read_only:
            raise StoreError(
                "this bench is open for reading only",
                where=self.label,
                next_step="open it for writing",
            )
        with writing(self._engine, self.label) as connection:
            yield Ledger(connection)

    # -- writing --------------------------------------------------------------------------------

    def put(self, record: object, *, why: str = "", who: str = "") -> Revision:
        """Store a record: a new one, or a new state of the one with its kind and name.

        Returns
        -------
        Revision
            What is now on disk; the newest one there is, if the record has not changed.

        Raises
        ------
        RecordError
            NaN, infinity, or a field outside its bounds.
        ConflictError
            The name stands for two states or two records; settle that first.
        BusyError, StoreError
            Another writer holds the bench, or it cannot be written.
        """
        return self.put_all([record], why=why, who=who)[0]

    def put_all(self, records: Iterable[object], *, why: str = "", who: str = "") -> list[Revision]:
        """Store some records in one transaction: all of them, or none."""
        ready = [(kind_of(type(record)), _name(record), document(record)) for record in records]
        with self._writing() as ledger:
            return [self._put(ledger, kind, name, doc, why, who) for kind, name, doc in ready]

    def _put(self, ledger: Ledger, kind: str, name: str, doc: str, why: str, who: str) -> Revision:
        heads = heads_named(ledger.connection, kind, name)
        if not heads:
            return self._write(ledger, self._identities(), kind, name, doc, (), why, who)
        head = self._one(ledger.connection, heads)
        newest = self._revision(ledger.connection, head.head)
        if newest.doc == doc and newest.schema == self._upcasts.schema(kind):
            return newest
        return self._write(ledger, head.record, kind, name, doc, (head.head,), why, who)

    def _write(
        self,
        ledger: Ledger,
        record: str,
        kind: str,
        name: str,
        doc: str,
        parents: tuple[str, ...],
        why: str,
        who: str,
        schema: str = "",
    ) -> Revision:
        entry = Revision(
            digest="", record=record, kind=kind, name=name,
            schema=schema or self._upcasts.schema(kind), at=self._moment(),
            who=_plain(who or self._who, "who"), why=_plain(why, "why"),
            parents=tuple(sorted(parents)), doc=doc,
        )  # fmt: skip
        entry = entry.sealed()
        ledger.write(entry)
        return entry

    def _moment(self) -> str:
        moment = self._clock()
        if moment.tzinfo is None:
            raise InputError(
                "the clock gives a moment without a time zone", allowed="a moment in UTC"
            )
        return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

    # -- reading --------------------------------------------------------------------------------

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
        found = self.find(cls, name)
        if found is None:
            raise self._not_found(kind_of(cls), name)
        return found

    def find(self, cls: type[T], name: str) -> T | None:
        """The same, or None where no such record is there."""
        kind = kind_of(cls)
        with self._reading() as connection:
            heads = heads_named(connection, kind, name)
            if not heads:
                return None
            head = self._one(connection, heads)
            return self._record(self._revision(connection, head.head))

    def all(self, cls: type[T], *, of: str | None = None) -> list[T]:
        """Every record of a kind, in the order in which they were first stored.

        Parameters
        ----------
        cls : type
            The kind.
        of : str, optional
            Only those that belong to the thing of this name: the runs of a cell.
        """
        kind = kind_of(cls)
        with self._reading() as connection:
            pairs = self._listed(connection, kind, of)
            families: dict[str, list[Head]] = {}
            for head, _ in pairs:
                families.setdefault(head.record, []).append(head)
            for heads in families.values():
                self._refuse_conflict(connection, heads)
            return [self._record(entry) for _, entry in pairs]

    def names(self, cls: type) -> list[str]:
        """The names of a kind, in the order of first storing; a conflict shows each of its names."""
        with self._reading() as connection:
            return [head.name for head, _ in self._listed(connection, kind_of(cls), None)]

    def history(self, cls: type | None = None, name: str | None = None) -> list[Revision]:
        """Revisions in the order in which they came into this file.

        Parameters
        ----------
        cls : type, optional
            Only this kind.
        name : str, optional
            Only the record that has, or had, this name.

        Raises
        ------
        NotFoundError
            No record of the kind ever had this name.
        """
        wanted = sa.select(revision).join(journal, journal.c.digest == revision.c.digest)
        if cls is not None:
            wanted = wanted.where(revision.c.kind == kind_of(cls))
        with self._reading() as connection:
            rows = connection.execute(wanted.order_by(journal.c.seq)).mappings()
            entries = [self._sound(revision_of_row(dict(row))) for row in rows]
        if name is None:
            return entries
        records = {entry.record for entry in entries if entry.name == name}
        if not records:
            raise self._not_found(kind_of(cls) if cls else "", name)
        return [entry for entry in entries if entry.record in records]

    def _listed(
        self, connection: sa.Connection, kind: str, of: str | None
    ) -> list[tuple[Head, Revision]]:
        wanted = (
            sa.select(revision, *(current.c[c].label(f"current_{c}") for c in _HEAD_COLUMNS))
            .join(current, revision.c.digest == current.c.head)
            .where(current.c.kind == kind, revision.c.schema != WITHDRAWN)
            .order_by(current.c.made, current.c.head)
        )
        if of is not None:
            wanted = wanted.where(current.c.parent == of)
        return [
            (
                Head(**{c: row[f"current_{c}"] for c in _HEAD_COLUMNS}),
                self._sound(revision_of_row(row)),
            )
            for row in connection.execute(wanted).mappings()
        ]

    def _revision(self, connection: sa.Connection, digest: str) -> Revision:
        row = (
            connection.execute(sa.select(revision).where(revision.c.digest == digest))
            .mappings()
            .first()
        )
        if row is None:
            raise NotFoundError(f"no revision {digest[:12]} is on this bench", where=self.label)
        return self._sound(revision_of_row(dict(row)))

    def _sound(self, entry: Revision) -> Revision:
        if entry.computed() == entry.digest:
            return entry
        raise DamagedError(
            f"the stored {entry.kind} {entry.name!r} does not agree with its digest",
            where=self.label,
            next_step="run `aerode bench check`, and take the newest good copy of the file",
        )

    def _record(self, entry: Revision) -> Any:
        return self._upcasts.read(entry.schema, entry.doc, where=f"{entry.kind} {entry.name}")

    # -- conflicts ------------------------------------------------------------------------------

    def _one(self, connection: sa.Connection, heads: Sequence[Head]) -> Head:
        """The only head under a name, or the refusal that lists them all."""
        family = heads_of(connection, heads[0].record) if len(heads) == 1 else list(heads)
        self._refuse_conflict(connection, family)
        return heads[0]

    def _refuse_conflict(self, connection: sa.Connection, heads: Sequence[Head]) -> None:
        if len(heads) < 2:
            return
        states = [self._revision(connection, head.head) for head in heads]
        one_record = len({head.record for head in heads}) == 1
        listed = "; ".join(
            f"{s.digest[:12]} {s.name!r} at {s.at} by {s.who or 'nobody named'}"
            + (f" ({s.why})" if s.why else "")
            for s in states
        )
        raise ConflictError(
            f"the {heads[0].kind} {heads[0].name!r} has {len(heads)} newest states"
            if one_record
            else f"{len(heads)} records of kind {heads[0].kind} bear the name {heads[0].name!r}",
            where=self.label,
            allowed=listed,
            next_step="settle it with a revision that has both as parents"
            if one_record
            else "rename one of them",
        )

    def _not_found(self, kind: str, name: str) -> NotFoundError:
        with self._reading() as connection:
            wanted = sa.select(current.c.name).distinct()
            if kind:
                wanted = wanted.where(current.c.kind == kind)
            names = [str(row.name) for row in connection.execute(wanted)]
        near = _nearest(name, names)
        return NotFoundError(
            f"no {kind or 'record'} is called {name!r}",
            where=self.label,
            allowed=", ".join(near) if near else "nothing of that kind is on this bench",
            next_step="check the name; `aerode bench show` lists them all",
        )


_HEAD_COLUMNS = ("record", "head", "kind", "name", "parent", "made")


def _name(record: Any) -> str:
    return str(record.name)


def _plain(text: str, field: str) -> str:
    """Text that both databases can keep."""
    if "\x00" in text or any(0xD800 <= ord(letter) < 0xE000 for letter in text):
        raise InputError("this text holds characters that cannot be stored", where=field)
    return text


def _nearest(name: str, names: Sequence[str]) -> list[str]:
    """The names that look most like the one asked for; some of them all if none does."""
    folded = {known.casefold(): known for known in names}
    near = difflib.get_close_matches(name.casefold(), folded, n=5, cutoff=0.5)
    return [folded[one] for one in near] or sorted(names)[:8]
