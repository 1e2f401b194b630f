"""Checking a bench file: every digest, the chain of the journal, the derived list of heads."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy import exc

from aerode.errors import AerodeError, some_of
from aerode.records.bench_answers import BenchCheck, CheckFault
from aerode.store import digests, layout, lookup, results
from aerode.store.heads import Head, derived
from aerode.store.layout import blob, current, journal, meta, revision, series
from aerode.store.revisions import revision_of_row

if TYPE_CHECKING:
    from aerode.store.revisions import Revision
    from aerode.store.upcasts import Upcasts

__all__ = ["check", "rebuild"]

_COPY = "keep this file as it is, and take the record from the newest good copy"
_REBUILD = "make the list again: aerode bench check --rebuild"


@dataclass(slots=True)
class _Found:
    """What was read, and what is wrong with it so far."""

    revisions: list[Revision] = field(default_factory=list["Revision"])
    heads: list[Head] = field(default_factory=list[Head])
    places: dict[str, int] = field(default_factory=dict[str, int])
    others: dict[str, str] = field(default_factory=dict[str, str])
    """Digests of series chunks and files, with what to call them."""
    chunks: int = 0
    packed: int = 0
    """Blobs that are the bytes of a chunk and no file of their own."""
    damaged: set[str] = field(default_factory=set[str])
    """Digests of revisions that do not agree with them."""
    faults: list[CheckFault] = field(default_factory=list[CheckFault])

    def fault(self, kind: str, name: str, what: str, next_step: str = _COPY) -> None:
        self.faults.append(CheckFault(kind=kind, name=name, what=what, next_step=next_step))


def check(connection: sa.Connection, upcasts: Upcasts, where: str) -> BenchCheck:
    """Verify a bench and name every record in trouble; nothing is changed.

    Finds any change to an entered value, its history or what a list shows, as long as the writer
    of the change did not compute all digests and chain values anew. It cannot tell a file from
    an older copy of itself.
    """
    found = _Found()
    try:
        _database(connection, found)
        _read(connection, found)
        _digests(found, upcasts)
        _journal(connection, found)
        _heads(found)
        for about, what in results.faults_of(connection):
            found.fault("kept answer", about, what, results.FORGET)
    except (exc.DBAPIError, UnicodeDecodeError, TypeError) as problem:
        why = getattr(problem, "orig", problem)
        found.fault("bench", where, f"the database cannot be read to its end: {why}")
    return _answer(found)


def rebuild(connection: sa.Connection, where: str) -> int:
    """Write the list of heads again from the revisions.

    Raises
    ------
    DamagedError
        A revision does not agree with its digest: a list made from it would be wrong too.
    """
    found = _Found()
    _read(connection, found)
    for entry in found.revisions:
        lookup.sound(entry, where)
    heads = derived(found.revisions, found.places)
    connection.execute(sa.delete(current))
    if heads:
        connection.execute(sa.insert(current), [head.columns() for head in heads])
    return len(heads)


def _database(connection: sa.Connection, found: _Found) -> None:
    """What the database itself can tell, and the marks of the file."""
    if connection.dialect.name == "sqlite":
        for row in connection.exec_driver_sql("PRAGMA integrity_check"):
            if row[0] != "ok":
                found.fault("bench", "database", str(row[0]))
        for row in connection.exec_driver_sql("PRAGMA foreign_key_check"):
            found.fault("bench", str(row[0]), f"points to a missing row of {row[2]}")
    stamps = [row.version_num for row in connection.execute(sa.select(layout.migration))]
    number = connection.execute(sa.select(meta.c.value).where(meta.c.key == "layout")).scalar()
    expected = [layout.STAMPS[n] for n in layout.STAMPS if str(n) == number]
    if stamps != expected:
        found.fault("bench", "migration", f"the stamp of layout {number} is {stamps}, not {expected}")  # fmt: skip


def _read(connection: sa.Connection, found: _Found) -> None:
    rows = connection.execute(sa.select(revision)).mappings()
    found.revisions = [revision_of_row(row) for row in rows]
    rows = connection.execute(sa.select(current)).mappings()
    found.heads = [Head(**{str(key): value for key, value in row.items()}) for row in rows]
    for row in connection.execute(sa.select(journal.c.seq, journal.c.digest)):
        found.places[row.digest] = row.seq
    packed: dict[str, str] = {}
    for row in connection.execute(sa.select(series)):
        name = f"{row.series}, chunk {row.chunk}"
        found.others[row.digest] = f"series {name}"
        found.chunks += 1
        if digests.of_series(series=row.series, chunk=row.chunk, at=row.at, doc=row.doc) != row.digest:  # fmt: skip
            found.fault("series", name, "does not agree with its digest")
        else:
            packed[_blob_of(row.doc)] = name
    for row in connection.execute(sa.select(blob)):
        chunk = packed.pop(row.digest, "")
        found.others[row.digest] = f"series {chunk}" if chunk else f"file {row.digest[:12]}"
        found.packed += bool(chunk)
        if digests.of_blob(media=row.media, data=bytes(row.data)) != row.digest:
            kind, name = ("series", chunk) if chunk else ("file", row.digest[:12])
            found.fault(kind, name, "does not agree with its digest")
    for digest, chunk in packed.items():
        if digest:
            found.fault("series", chunk, f"its bytes are missing ({digest[:12]})")


def _blob_of(doc: str) -> str:
    """The digest of the blob that holds the bytes of a packed chunk; "" for a chunk of lists."""
    plain = json.loads(doc)
    return str(plain["packed"]["blob"]) if isinstance(plain.get("packed"), dict) else ""


def _digests(found: _Found, upcasts: Upcasts) -> None:
    known = {entry.digest for entry in found.revisions}
    for entry in found.revisions:
        name = entry.name or _name_by_kin(entry, found)
        if entry.computed() != entry.digest:
            found.damaged.add(entry.digest)
            name = _name_by_kin(entry, found)
            found.fault(entry.kind, name, f"the state of {entry.at} does not agree with its digest {entry.digest[:12]}")  # fmt: skip
            continue
        for parent in entry.parents:
            if parent not in known:
                found.fault(entry.kind, name, f"the state before {entry.at} is missing ({parent[:12]})")  # fmt: skip
        _document(entry, found, upcasts)


def _document(entry: Revision, found: _Found, upcasts: Upcasts) -> None:
    """An entry that agrees with its digest must also still be readable."""
    try:
        if entry.withdrawn:
            json.loads(entry.doc)
        else:
            upcasts.read(entry.schema, entry.doc, where="")
    except (AerodeError, ValueError, RecursionError) as problem:
        found.fault(entry.kind, entry.name, f"the state of {entry.at} cannot be read: {problem}")


def _name_by_kin(entry: Revision, found: _Found) -> str:
    """The name of a damaged record, least from the damaged row itself."""
    names = [head.name for head in found.heads if entry.digest == head.head]
    names += [head.name for head in found.heads if entry.record == head.record]
    names += [other.name for other in found.revisions if entry.digest in other.parents]
    names += [
        other.name
        for other in found.revisions
        if other.record == entry.record and other is not entry
    ]
    names.append(entry.name)
    return next((name for name in names if name), f"record {entry.record[:12]}")


def _journal(connection: sa.Connection, found: _Found) -> None:
    """The chain of the journal, and that it names every row and no other."""
    bench = connection.execute(sa.select(meta.c.value).where(meta.c.key == "bench")).scalar()
    chain = digests.chain_start(str(bench))
    names = {entry.digest: (entry.kind, entry.name or _name_by_kin(entry, found)) for entry in found.revisions}  # fmt: skip
    names |= {digest: ("attachment", name) for digest, name in found.others.items()}
    for place, row in enumerate(connection.execute(sa.select(journal).order_by(journal.c.seq)), 1):
        kind, name = names.get(row.digest) or _missing(row.digest, found)
        if row.digest not in names:
            found.fault(kind, name, f"line {row.seq} of the journal names {row.digest[:12]}, which is missing")  # fmt: skip
        expected = digests.chain_next(chain, row.seq, row.digest)
        if row.seq != place or row.chain != expected:
            found.fault(kind, name, f"line {row.seq} of the journal does not follow from the one before it")  # fmt: skip
            break  # the chain is broken here: every later line would only repeat it
        chain = row.chain
    for digest, (kind, name) in names.items():
        if digest not in found.places:
            found.fault(kind, name, f"{digest[:12]} is not in the journal: it was not stored by this program")  # fmt: skip


def _missing(digest: str, found: _Found) -> tuple[str, str]:
    """What a missing row most likely was: the head or the parent of something that is there."""
    for head in found.heads:
        if head.head == digest:
            return head.kind, head.name
    for entry in found.revisions:
        if digest in entry.parents:
            return entry.kind, entry.name
    return "bench", f"entry {digest[:12]}"


def _heads(found: _Found) -> None:
    """The list of heads against the one that the revisions give."""
    wanted = {(head.record, head.head): head for head in derived(found.revisions, found.places)}
    stored = {(head.record, head.head): head for head in found.heads}
    for key in wanted.keys() | stored.keys():
        right, there = wanted.get(key), stored.get(key)
        head = right or there
        if right == there or head is None or head.head in found.damaged:
            continue
        what = "is not on the list" if there is None else "is on the list and should not be"
        if right and there:
            what = f"is on the list as {_differences(there, right)}"
        found.fault(
            head.kind, head.name, f"{head.head[:12]} {what}", _COPY if found.damaged else _REBUILD
        )


def _differences(there: Head, right: Head) -> str:
    pairs = zip(there.columns().items(), right.columns().values(), strict=True)
    return ", ".join(f"{key} {value!r}, not {other!r}" for (key, value), other in pairs if value != other)  # fmt: skip


def _conflicts(found: _Found) -> tuple[str, ...]:
    """Records whose newest states do not say the same."""
    says = {entry.digest: (entry.schema, entry.doc) for entry in found.revisions}
    seen: dict[str, list[Head]] = {}
    for head in found.heads:
        seen.setdefault(head.record, []).append(head)
    return tuple(
        f"{group[0].kind} {group[0].name}"
        for group in seen.values()
        if len({says.get(head.head) for head in group}) > 1
    )


def _answer(found: _Found) -> BenchCheck:
    count, records = len(found.revisions), len({entry.record for entry in found.revisions})
    names = sorted({f"{fault.kind} {fault.name}" for fault in found.faults})
    named = some_of(names, 3)
    return BenchCheck(
        headline=f"DAMAGED: {named}" if names else f"Whole: {count} states of {records} records agree with their digests",
        whole=not found.faults,
        revisions=count,
        records=records,
        series_chunks=found.chunks,
        files=len(found.others) - found.chunks - found.packed,
        faults=tuple(found.faults),
        conflicts=_conflicts(found),
    )  # fmt: skip
