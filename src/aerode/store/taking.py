"""Taking in the history of another copy of a bench, or of another bench: the union, nothing chosen.

Lines come from someone else: every digest, document and parent is looked over before it is
written, and all of it is one transaction. The union is the same in whatever order it is made.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from itertools import islice
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.errors import ConflictError, DamagedError, NewerFileError
from aerode.records import KINDS
from aerode.store import digests, lookup
from aerode.store.door import storable
from aerode.store.history_lines import ChunkLine, FileLine, Line, RevisionLine
from aerode.store.layout import blob, journal, revision, series

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from aerode.store.ledger import Ledger
    from aerode.store.revisions import Revision
    from aerode.store.upcasts import Upcasts

__all__ = ["Taken", "look_over", "take_in_lines"]

_AT_ONCE = 200


@dataclass(slots=True)
class Taken:
    """What was new: states by kind, the records they belong to, chunks of series, files."""

    states: dict[str, int] = field(default_factory=dict[str, int])
    records: set[str] = field(default_factory=set[str])
    chunks: int = 0
    files: int = 0
    known: int = 0
    """Lines that were there already."""

    @property
    def new(self) -> int:
        """How many lines were new."""
        return sum(self.states.values()) + self.chunks + self.files


def take_in_lines(ledger: Ledger, lines: Iterable[Line], upcasts: Upcasts, where: str) -> Taken:
    """Write those lines that are not there yet, unchanged and in their order.

    Parameters
    ----------
    ledger : Ledger
        The writing transaction; an error takes all of it back.
    lines : iterable of Line
        Parents before children, as they stand in the other journal.
    upcasts : Upcasts
        The versions of the documents.
    where : str
        What to call the source in a refusal.

    Raises
    ------
    DamagedError
        A digest does not agree, or a parent is missing or is a state of another record.
    NewerFileError
        A document of a newer version.
    RecordError, InputError
        A document that is not a record, or text that cannot be stored.
    ConflictError
        A series was continued in both with different readings.
    """
    taken = Taken()
    remaining = iter(lines)
    while some := list(islice(remaining, _AT_ONCE)):
        known = _known(ledger.connection, [line.digest for line in some])
        fresh = list({line.digest: line for line in some if line.digest not in known}.values())
        taken.known += len(some) - len(fresh)
        for run in _alike(fresh):
            _write(ledger, run, taken, upcasts, where)
    return taken


def _known(connection: sa.Connection, wanted: Sequence[str]) -> set[str]:
    found = connection.execute(sa.select(journal.c.digest).where(journal.c.digest.in_(wanted)))
    return set(found.scalars())


def _alike(lines: Sequence[Line]) -> Iterator[list[Line]]:
    """Lines of one sort that follow each other: they are written at once."""
    run: list[Line] = []
    for line in lines:
        if run and (type(line) is not type(run[0]) or isinstance(line, FileLine)):
            yield run
            run = []
        run.append(line)
    if run:
        yield run


def _write(ledger: Ledger, run: Sequence[Line], taken: Taken, upcasts: Upcasts, where: str) -> None:
    entries = [line.entry for line in run if isinstance(line, RevisionLine)]
    if entries:
        _look_over_all(ledger.connection, entries, upcasts, where)
        ledger.write(entries)
        for entry in entries:
            taken.states[entry.kind] = taken.states.get(entry.kind, 0) + 1
            taken.records.add(entry.record)
    chunks = [line for line in run if isinstance(line, ChunkLine)]
    if chunks:
        _write_chunks(ledger, chunks, where)
        taken.chunks += len(chunks)
    for line in run:
        if isinstance(line, FileLine):
            _write_file(ledger, line, where)
            taken.files += 1


# -- revisions ----------------------------------------------------------------------------------


def _look_over_all(
    connection: sa.Connection, entries: Sequence[Revision], upcasts: Upcasts, where: str
) -> None:
    wanted = {parent for entry in entries for parent in entry.parents}
    rows = connection.execute(
        sa.select(revision.c.digest, revision.c.record, revision.c.kind).where(
            revision.c.digest.in_(wanted)
        )
    )
    of = {str(row.digest): (str(row.record), str(row.kind)) for row in rows}
    for entry in entries:
        look_over(entry, upcasts, where)
        for parent in entry.parents:
            if of.get(parent) != (entry.record, entry.kind):
                what = "is missing" if parent not in of else "is one of another record"
                raise DamagedError(
                    f"the state from which {entry.kind} {entry.name!r} came {what} ({parent[:12]})",
                    where=where,
                    next_step="take in the whole history of the other bench",
                )
        of[entry.digest] = (entry.record, entry.kind)


def look_over(entry: Revision, upcasts: Upcasts, where: str) -> None:
    """Refuse a revision from elsewhere that this bench could not have written.

    Raises
    ------
    DamagedError
        Its digest does not agree, or a withdrawal without a name.
    NewerFileError
        Of a newer version.
    RecordError, InputError
        Its document is not a record; its text cannot be stored.
    """
    lookup.sound(entry, where)
    named = f"{entry.kind} {entry.name}"
    for column in ("record", "at", "who", "why", "doc"):
        storable(str(getattr(entry, column)), f"{named}: {column}")
    if upcasts.is_newer(entry.schema) or entry.kind not in KINDS:
        raise NewerFileError(
            f"{entry.kind} {entry.name!r} is of the schema {entry.schema}, which a newer version wrote",
            where=where,
            next_step="take it in with the newer version of the program",
        )
    if entry.withdrawn:
        _refuse_nameless(entry, where)
        return
    if entry.schema.partition("/")[0] != entry.kind:
        raise DamagedError(f"{named} is of the schema {entry.schema}", where=where)
    upcasts.read(entry.schema, entry.doc, where=named)


def _refuse_nameless(entry: Revision, where: str) -> None:
    try:
        doc: Any = json.loads(entry.doc)
    except ValueError:
        doc = None
    if not isinstance(doc, dict) or set(doc) != {"name"}:  # pyright: ignore[reportUnknownArgumentType]
        raise DamagedError(f"a withdrawal of the kind {entry.kind} without a name", where=where)


# -- series and files ---------------------------------------------------------------------------


def _write_chunks(ledger: Ledger, chunks: Sequence[ChunkLine], where: str) -> None:
    for line in chunks:
        rest = {name: value for name, value in line.columns.items() if name != "digest"}
        if digests.of_series(**rest) != line.digest:
            raise DamagedError(
                f"chunk {rest['chunk']} of the series {rest['series']!r} does not agree with its digest",
                where=where,
            )
        _refuse_other_chunk(ledger.connection, rest["series"], rest["chunk"])
    ledger.connection.execute(sa.insert(series), [line.columns for line in chunks])
    ledger.note([line.digest for line in chunks])


def _refuse_other_chunk(connection: sa.Connection, name: str, chunk: int) -> None:
    """One log that went on in both benches cannot be told apart by its name any more."""
    there = connection.execute(
        sa.select(series.c.digest).where(series.c.series == name, series.c.chunk == chunk)
    ).scalar()
    if there is not None:
        raise ConflictError(
            f"the series {name!r} was continued in both benches with different readings",
            allowed="one bench in which a log goes on",
            next_step="export the series from one of them as a table and log it under another name; "
            "nothing was taken in",
        )


def _write_file(ledger: Ledger, line: FileLine, where: str) -> None:
    data = line.data()
    if digests.of_blob(media=line.media, data=data) != line.digest:
        raise DamagedError(
            f"the file {line.digest[:12]} does not agree with its digest", where=where
        )
    row = {"digest": line.digest, "media": storable(line.media, "media"), "data": data}
    ledger.connection.execute(sa.insert(blob), row)
    ledger.note([line.digest])
