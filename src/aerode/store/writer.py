"""What can be done to records inside one writing transaction: put, rename, withdraw, undo, settle."""

from __future__ import annotations

import dataclasses
import json
from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING, Any

from aerode.errors import ChangedError, InputError, NotFoundError
from aerode.store import attachments, lookup
from aerode.store.door import Ready, document
from aerode.store.revisions import WITHDRAWN, Revision

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from aerode.store.ledger import Ledger
    from aerode.store.upcasts import Upcasts

__all__ = ["Words", "Writer", "stamp"]


def stamp(clock: Callable[[], datetime]) -> str:
    """The moment as it is stored: ISO 8601 in UTC, to the millisecond.

    Raises
    ------
    InputError
        The clock gives no time zone.
    """
    moment = clock()
    if moment.tzinfo is None:
        raise InputError("the clock gives a moment without a time zone", allowed="a moment in UTC")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


@dataclass(frozen=True, slots=True)
class Words:
    """Who writes, and why."""

    who: str
    why: str


class Writer:
    """One writing transaction on records; `BenchFile` opens and ends it."""

    def __init__(
        self,
        ledger: Ledger,
        says: Words,
        *,
        clock: Callable[[], datetime],
        identities: Callable[[], str],
        upcasts: Upcasts,
        where: str,
    ) -> None:
        self._ledger = ledger
        self._connection = ledger.connection
        self._says = says
        self._clock = clock
        self._identities = identities
        self._upcasts = upcasts
        self._where = where

    def keep(self, data: bytes, media: str) -> str:
        """A file, in the same transaction as the records that name it."""
        return attachments.keep(self._ledger, data, media)

    def put_all(self, ready: Sequence[Ready]) -> list[Revision]:
        """New states for those that have changed, first states for those that are new."""
        newest = self._newest(ready)
        answers: list[Revision] = []
        fresh: list[Revision] = []
        for item in ready:
            before = newest.get((item.kind, item.name), [])
            schema = self._upcasts.schema(item.kind)
            if before and (before[0].doc, before[0].schema) == (item.doc, schema):
                answers.append(before[0])
                continue
            entry = self._state(item, schema, before)
            newest[item.kind, item.name] = [entry]
            answers.append(entry)
            fresh.append(entry)
        self._ledger.write(fresh)
        return answers

    def _newest(self, ready: Sequence[Ready]) -> dict[tuple[str, str], list[Revision]]:
        """The newest state under each kind and name that is about to be written, with its twins."""
        answer: dict[tuple[str, str], list[Revision]] = {}
        for kind in dict.fromkeys(item.kind for item in ready):
            names = dict.fromkeys(item.name for item in ready if item.kind == kind)
            found = lookup.families(self._connection, kind, names, self._where)
            for name, standing in found.items():
                answer[kind, name] = [lookup.only(standing, self._where).revision]
        twins = lookup.many_headed(self._connection, [e.record for [e] in answer.values()])
        for key, [entry] in answer.items():
            if entry.record in twins:
                answer[key] = self._with_twins(entry)
        return answer

    def _with_twins(self, entry: Revision) -> list[Revision]:
        """A newest state, and others of its record that say the same: the next one replaces them all."""
        heads = lookup.heads_of(self._connection, entry.record, self._where)
        same = [h for h in heads if (h.doc, h.schema) == (entry.doc, entry.schema)]
        return [entry, *(h for h in same if h.digest != entry.digest)]

    def _state(self, item: Ready, schema: str, parents: Sequence[Revision]) -> Revision:
        """The next state of the record of these parents, or the first one of a new record."""
        return Revision(
            record=parents[0].record if parents else self._identities(),
            kind=item.kind,
            name=item.name,
            schema=schema,
            at=stamp(self._clock),
            who=self._says.who,
            why=self._says.why,
            parents=tuple(sorted(parent.digest for parent in parents)),
            doc=item.doc,
        ).sealed()

    def _write(self, item: Ready, schema: str, parents: Sequence[Revision]) -> Revision:
        entry = self._state(item, schema, parents)
        self._ledger.write([entry])
        return entry

    def put_onto(self, item: Ready, base: str) -> Revision:
        """The next state of a record, if the given one is still its newest; "" for a new record.

        Raises
        ------
        ChangedError
            It is not, or the name has been given meanwhile.
        """
        standing = self._newest([item]).get((item.kind, item.name), [])
        if (base in {entry.digest for entry in standing}) if base else not standing:
            return self.put_all([item])[0]
        now = standing[0] if standing else None
        raise ChangedError(
            f"the {item.kind} {item.name!r} changed after it was read"
            if base
            else f"there is a {item.kind} {item.name!r} already",
            where=self._where,
            allowed=f"a state that comes from {now.digest[:12]}" if now and base else "",
            next_step="read it again, and do the change on what stands there now",
        )

    def put_from(self, item: Ready, base: str) -> Revision:
        """A state that comes from a given one, whether or not that is still the newest."""
        before = lookup.by_digest(self._connection, base, self._where) if base else None
        if before is not None and before.kind != item.kind:
            raise NotFoundError(
                f"{base[:12]} is a state of {before.kind} {before.name!r}", where=self._where
            )
        self._refuse_taken(item.kind, item.name, before.record if before else "")
        return self._write(item, self._upcasts.schema(item.kind), [before] if before else [])

    def rename(self, kind: str, old: str, new: str, record: str) -> Revision:
        """The record under another name."""
        before = lookup.one(self._connection, kind, old, self._where, record)
        self._refuse_taken(kind, new, before.record)
        value: Any = self._upcasts.read(before.schema, before.doc, where=f"{kind} {old}")
        doc = document(dataclasses.replace(value, name=new))
        return self._write(
            Ready(kind, new, doc), self._upcasts.schema(kind), self._with_twins(before)
        )

    def withdraw(self, kind: str, name: str) -> Revision:
        """The record off the lists."""
        return self._withdraw(lookup.one(self._connection, kind, name, self._where))

    def _withdraw(self, before: Revision, parents: Sequence[Revision] = ()) -> Revision:
        doc = json.dumps({"name": before.name}, separators=(",", ":"), ensure_ascii=False)
        return self._write(
            Ready(before.kind, before.name, doc), WITHDRAWN, parents or self._with_twins(before)
        )

    def undo(self, kind: str, name: str, to: str) -> Revision:
        """An earlier state of the record as its newest one."""
        newest = self._standing_or_withdrawn(kind, name)
        if not to and not newest.parents:
            return self._withdraw(newest)
        if not to and len(newest.parents) != 1:
            raise InputError(
                f"{kind} {name!r} came from {len(newest.parents)} states",
                where=self._where,
                allowed=", ".join(parent[:12] for parent in newest.parents),
                next_step="say which state to go back to",
            )
        back = lookup.by_digest(self._connection, to or newest.parents[0], self._where)
        if back.record != newest.record:
            raise NotFoundError(
                f"{back.digest[:12]} is a state of another record, {back.kind} {back.name!r}",
                where=self._where,
                next_step=f"`aerode bench history {kind} {name}` lists the states",
            )
        if not back.withdrawn:
            self._refuse_taken(kind, back.name, back.record)
        return self._write(Ready(kind, back.name, back.doc), back.schema, self._with_twins(newest))

    def _standing_or_withdrawn(self, kind: str, name: str) -> Revision:
        """The state under a name; where the name is free, the record withdrawn last under it."""
        if not lookup.families(self._connection, kind, [name], self._where):
            gone = lookup.withdrawn(self._connection, kind, name, self._where)
            if gone:
                return gone
        return lookup.one(self._connection, kind, name, self._where)

    def settle(self, item: Ready) -> Revision:
        """One state in the place of all newest states of its record."""
        standing = lookup.families(self._connection, item.kind, [item.name], self._where)
        found = standing.get(item.name)
        if not found:
            raise lookup.not_found(self._connection, item.kind, item.name, self._where)
        if len({s.head.record for s in found}) > 1:
            raise lookup.conflict(found, self._where)
        return self.settle_as(item, found[0].revision.digest)

    def settle_as(self, item: Ready, state: str) -> Revision:
        """The same for the record of a state, whatever its newest states are called."""
        heads = self._heads_of(state)
        if item.name not in {entry.name for entry in heads}:
            self._refuse_taken(item.kind, item.name, heads[0].record)
        return self._write(item, self._upcasts.schema(item.kind), heads)

    def settle_withdrawn(self, state: str) -> Revision:
        """The record off the lists in the place of all its newest states."""
        heads = self._heads_of(state)
        return self._withdraw(next((e for e in heads if not e.withdrawn), heads[0]), heads)

    def _heads_of(self, state: str) -> list[Revision]:
        record = lookup.by_digest(self._connection, state, self._where).record
        return lookup.heads_of(self._connection, record, self._where)

    def _refuse_taken(self, kind: str, name: str, record: str) -> None:
        standing = lookup.families(self._connection, kind, [name], self._where).get(name, [])
        others = [s for s in standing if s.head.record != record]
        if others:
            raise lookup.taken(others, self._where)
