"""The bench file: put records in, get them back, never lose a state."""

from __future__ import annotations

import contextlib
import secrets
from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeVar

from aerode.errors import StoreError
from aerode.records.places import Bench
from aerode.store import attachments, checking, creating
from aerode.store.bench_reader import BenchReader
from aerode.store.connecting import connect, place_of, writing
from aerode.store.door import Ready, kind_of, storable
from aerode.store.exchange import take_in
from aerode.store.ledger import Ledger
from aerode.store.revisions import Revision
from aerode.store.upcasts import UPCASTS, Upcasts
from aerode.store.writer import Words, Writer, stamp

if TYPE_CHECKING:
    import os
    from collections.abc import Callable, Generator, Iterable, Mapping, Sequence

    import sqlalchemy as sa

    from aerode.store.connecting import Place

__all__ = ["BenchFile", "new_identity", "now"]

T = TypeVar("T")


def now() -> datetime:
    """The moment, in UTC: the clock that is used where no other one is handed in."""
    return datetime.now(UTC)


def new_identity() -> str:
    """A random identity for a record: 32 hexadecimal digits, the same on no other bench."""
    return secrets.token_hex(16)


class BenchFile(BenchReader):
    """An open bench. Use it with `with`; what a writing method has answered is on disk.

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
        read_only: bool = False,
        identities: Callable[[], str] = new_identity,
        upcasts: Upcasts = UPCASTS,
    ) -> None:
        super().__init__(engine, place, upcasts)
        self._clock = clock
        self._who = who
        self._identities = identities
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
        ready = Ready.of(Bench(title=title))
        says = Words(who=storable(who, "who"), why="new bench")

        def fill(connection: sa.Connection) -> None:
            Writer(
                Ledger(connection), says, clock=clock, identities=identities, upcasts=upcasts,
                where=place.label,
            ).put_all([ready])  # fmt: skip

        creating.create(place, identity=identities(), fill=fill)
        return cls.open(path_or_url, clock=clock, who=who, identities=identities, upcasts=upcasts)

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

        Parameters
        ----------
        path_or_url : path or str
            The file, or the address of the PostgreSQL database.
        clock : callable
            Gives the moment of each revision, with its time zone.
        who : str
            Who writes, where `put` does not say.
        read_only : bool
            No record can be written; also for a file that may not be changed.
        identities : callable
            Gives the identity of each new record.
        upcasts : Upcasts
            The versions of the documents, and the steps from older ones.

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
        creating.look(place)
        engine = connect(place, read_only=read_only)
        try:
            creating.recognise(engine, place, read_only=read_only, upcasts=upcasts)
        except BaseException:
            engine.dispose()
            raise
        return cls(
            engine, place, clock=clock, who=who, read_only=read_only, identities=identities,
            upcasts=upcasts,
        )  # fmt: skip

    @contextlib.contextmanager
    def writing(self) -> Generator[Ledger, None, None]:
        """One writing transaction; for the other parts of the store."""
        if self.read_only:
            raise StoreError(
                "this bench is open for reading only",
                where=self.label,
                next_step="open it for writing",
            )
        with writing(self._engine, self.label) as connection:
            yield Ledger(connection)

    @contextlib.contextmanager
    def _writer(self, why: str, who: str) -> Generator[Writer, None, None]:
        says = Words(who=storable(who or self._who, "who"), why=storable(why, "why"))
        with self.writing() as ledger:
            yield Writer(
                ledger, says, clock=self._clock, identities=self._identities,
                upcasts=self._upcasts, where=self.label,
            )  # fmt: skip

    # -- writing ------------------------------------------------------------------------------

    def put(self, record: object, *, why: str = "", who: str = "") -> Revision:
        """Store a record: a new one, or a new state of the one with its kind and name.

        Parameters
        ----------
        record : record
            Any class of `aerode.records.KINDS`.
        why : str
            The reason, for the history.
        who : str
            Who writes; otherwise the one who opened the bench.

        Returns
        -------
        Revision
            What is now on disk; the newest one there was, if the record has not changed.

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

    def put_all(
        self,
        records: Iterable[object],
        *,
        why: str = "",
        who: str = "",
        files: Iterable[tuple[bytes, str]] = (),
    ) -> list[Revision]:
        """Store some records in one transaction: all of them, or none. Otherwise as `put`.

        Parameters
        ----------
        records : iterable of record
            Any classes of `aerode.records.KINDS`.
        why, who : str
            For the history.
        files : iterable of (bytes, str)
            Content and media type of files to keep in the same transaction; records name them by
            `aerode.store.digests.of_blob`.
        """
        ready = [Ready.of(record) for record in records]
        with self._writer(why, who) as writer:
            for data, media in files:
                writer.keep(data, media)
            return writer.put_all(ready)

    def put_onto(self, record: object, base: str, *, why: str = "", who: str = "") -> Revision:
        """Store the next state of a record only if nobody else has changed it since it was read.

        Looking and writing are one transaction: of two programs that read the same state, one is
        refused, and neither overwrites the other.

        Parameters
        ----------
        record : record
            Any class of `aerode.records.KINDS`.
        base : str
            The whole digest of the state that was read; "" for a record that is new.
        why, who : str
            For the history.

        Returns
        -------
        Revision
            What is now on disk.

        Raises
        ------
        ChangedError
            Another state is the newest one by now, or the name of a new record has been given.
        """
        ready = Ready.of(record)
        with self._writer(why, who) as writer:
            return writer.put_onto(ready, base)

    def put_from(
        self, records: Iterable[tuple[object, str]], *, why: str = "", who: str = ""
    ) -> list[Revision]:
        """Store new states that come from given ones, in one transaction: all of them, or none.

        A state that does not come from the newest one stands beside it: a conflict to be settled.

        Parameters
        ----------
        records : iterable of (record, str)
            Each with the whole digest of the state it comes from; "" for a new record.
        why, who : str
            For the history.

        Raises
        ------
        NotFoundError
            No such state.
        ConflictError
            A name that another record bears.
        """
        ready = [(Ready.of(record), base) for record, base in records]
        with self._writer(why, who) as writer:
            return [writer.put_from(item, base) for item, base in ready]

    def rename(
        self, cls: type, old: str, new: str, *, record: str = "", why: str = "", who: str = ""
    ) -> Revision:
        """Give a record another name. What refers to it by its old name is not touched.

        Parameters
        ----------
        cls : type
            Its kind.
        old, new : str
            The names.
        record : str
            The identity of the record meant, where two of them bear the old name.
        why, who : str
            For the history.

        Raises
        ------
        NotFoundError, ConflictError
            No such record; or two newest states, or a name that is taken.
        """
        with self._writer(why, who) as writer:
            return writer.rename(kind_of(cls), old, new, record)

    def withdraw(self, cls: type, name: str, *, why: str = "", who: str = "") -> Revision:
        """Take a record off the lists. Its history stays, and `undo` brings it back."""
        with self._writer(why, who) as writer:
            return writer.withdraw(kind_of(cls), name)

    def undo(self, cls: type, name: str, *, to: str = "", why: str = "", who: str = "") -> Revision:
        """Go back to an earlier state, as a new revision: nothing is lost, and this can be undone.

        Parameters
        ----------
        cls : type
            The kind.
        name : str
            The name the record has now, or had when it was withdrawn.
        to : str
            The beginning of the digest of the state to go back to; otherwise the one before,
            and before the first one the record is withdrawn.
        why, who : str
            For the history.

        Raises
        ------
        NotFoundError
            No such record, or no such state of it.
        ConflictError
            Two newest states; or the earlier name has since been given to another record.
        """
        with self._writer(why or "undone", who) as writer:
            return writer.undo(kind_of(cls), name, to)

    def settle(self, record: object, *, why: str = "", who: str = "") -> Revision:
        """End a conflict: this state takes the place of all newest states of its record.

        Raises
        ------
        NotFoundError
            No state of the conflict bears the name of `record`.
        ConflictError
            Two different records bear the name: rename one of them instead.
        """
        ready = Ready.of(record)
        with self._writer(why or "settled", who) as writer:
            return writer.settle(ready)

    def settle_as(self, record: object, state: str, *, why: str = "", who: str = "") -> Revision:
        """End a conflict of the record of which `state` is the digest of a newest state.

        Unlike `settle`, the name of `record` may be any that is free.

        Raises
        ------
        NotFoundError
            No such state.
        ConflictError
            The name belongs to another record.
        """
        ready = Ready.of(record)
        with self._writer(why or "settled", who) as writer:
            return writer.settle_as(ready, state)

    def settle_withdrawn(self, state: str, *, why: str = "", who: str = "") -> Revision:
        """End a conflict by taking the record of a state off the lists; its history stays.

        Raises
        ------
        NotFoundError
            No such state.
        """
        with self._writer(why or "settled", who) as writer:
            return writer.settle_withdrawn(state)

    def take_in(self, revisions: Iterable[Revision]) -> list[Revision]:
        """Take in revisions of another copy of the bench, unchanged; those that are new are returned.

        The union is the same in whatever order copies are taken in. A record that was changed in
        both then has two newest states: a conflict to be settled.

        Raises
        ------
        DamagedError
            A digest does not agree, or a parent is missing; nothing is taken in.
        NewerFileError
            A revision of a newer version.
        RecordError
            A document that is not a record.
        """
        with self.writing() as ledger:
            return take_in(ledger, revisions, self._upcasts, self.label)

    def keep(self, data: bytes, *, media: str) -> str:
        """Keep a photo or another file; the answer is its digest, by which `kept` finds it."""
        with self.writing() as ledger:
            return attachments.keep(ledger, data, media)

    def append(self, series: str, columns: Mapping[str, Sequence[float | None]]) -> str:
        """Append a chunk of logged columns (SI) to a series; the answer is the digest of the chunk.

        Raises
        ------
        InputError
            Columns of different length, or a number that is not finite.
        """
        with self.writing() as ledger:
            return attachments.append(ledger, storable(series, "series"), columns, stamp(self._clock))  # fmt: skip

    def rebuild(self) -> int:
        """Make the list of newest states again from the revisions; the number of its lines.

        Raises
        ------
        DamagedError
            A revision does not agree with its digest: mend that first, from a good copy.
        """
        with self.writing() as ledger:
            return checking.rebuild(ledger.connection, self.label)
