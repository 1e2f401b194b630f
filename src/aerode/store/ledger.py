"""Writing into an open transaction: revisions, their place in the journal, the derived heads."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.store import digests
from aerode.store.layout import current, journal, meta, revision
from aerode.store.revisions import WITHDRAWN, Head, Revision

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["Ledger", "belongs_to", "heads_named", "heads_of", "revision_of_row"]


def revision_of_row(row: Mapping[str, Any]) -> Revision:
    """A row of the table `revision` as it stands, unverified."""
    return Revision(
        digest=row["digest"],
        record=row["record"],
        kind=row["kind"],
        name=_name_in(row["doc"]),
        schema=row["schema"],
        at=row["at"],
        who=row["who"],
        why=row["why"],
        parents=_parents_in(row["parents"]),
        doc=row["doc"],
    )


def _name_in(doc: str) -> str:
    """The name in a document; a damaged one has none, and its digest tells on it."""
    try:
        plain = json.loads(doc)
    except ValueError:
        return ""
    return str(plain.get("name", "bench")) if isinstance(plain, dict) else ""  # pyright: ignore[reportUnknownMemberType, reportUnknownArgumentType]


def _parents_in(text: str) -> tuple[str, ...]:
    try:
        return tuple(str(digest) for digest in json.loads(text))
    except (ValueError, TypeError):
        return (text,)


# The field by which a record of a kind belongs to another one, first filled one wins.
_BELONGS = {
    "cell": ("electrode",),
    "run": ("cell", "electrode"),
    "batch": ("mix",),
    "order": ("session",),
    "acknowledgement": ("caution",),
    "unsorted": ("placed_in",),
}


def belongs_to(kind: str, doc: str) -> str:
    """The name of the thing a record belongs to: of a run its cell, of a cell its electrode."""
    fields = _BELONGS.get(kind, ())
    plain = json.loads(doc) if fields else {}
    return next((str(plain[field]) for field in fields if plain.get(field)), "")


def _head(row: Any) -> Head:
    return Head(**row._mapping)


def heads_named(connection: sa.Connection, kind: str, name: str) -> list[Head]:
    """The heads on the list under a kind and name: none, one, or a conflict."""
    rows = connection.execute(
        sa.select(current)
        .join(revision, revision.c.digest == current.c.head)
        .where(current.c.kind == kind, current.c.name == name, revision.c.schema != WITHDRAWN)
        .order_by(current.c.made, current.c.head)
    )
    return [_head(row) for row in rows]


def heads_of(connection: sa.Connection, record: str) -> list[Head]:
    """All heads of one record, whatever their names, withdrawn or not."""
    rows = connection.execute(
        sa.select(current).where(current.c.record == record).order_by(current.c.head)
    )
    return [_head(row) for row in rows]


class Ledger:
    """One writing transaction: hands out places in the journal and keeps the heads in step."""

    def __init__(self, connection: sa.Connection) -> None:
        self.connection = connection
        last = connection.execute(
            sa.select(journal.c.seq, journal.c.chain).order_by(journal.c.seq.desc()).limit(1)
        ).first()
        bench = connection.execute(sa.select(meta.c.value).where(meta.c.key == "bench")).scalar()
        self._seq = last.seq if last else 0
        self._chain = last.chain if last else digests.chain_start(str(bench))

    def write(self, entry: Revision) -> None:
        """One revision, its line in the journal, and the head it becomes."""
        self.connection.execute(sa.insert(revision), entry.columns())
        self.record_in_journal(entry.digest)
        self._take_over(entry)

    def record_in_journal(self, digest: str) -> None:
        """The next line of the journal."""
        self._seq += 1
        self._chain = digests.chain_next(self._chain, self._seq, digest)
        self.connection.execute(
            sa.insert(journal), {"seq": self._seq, "digest": digest, "chain": self._chain}
        )

    def _take_over(self, entry: Revision) -> None:
        """The new revision stands as a head in the place of its parents."""
        made = self._made(entry.record)
        self._drop(entry.record, entry.parents)
        self.connection.execute(
            sa.insert(current),
            {
                "record": entry.record,
                "head": entry.digest,
                "kind": entry.kind,
                "name": entry.name,
                "parent": belongs_to(entry.kind, entry.doc),
                "made": made,
            },
        )

    def _made(self, record: str) -> int:
        made = self.connection.execute(
            sa.select(sa.func.min(current.c.made)).where(current.c.record == record)
        ).scalar()
        return self._seq if made is None else int(made)

    def _drop(self, record: str, heads: Iterable[str]) -> None:
        heads = list(heads)
        if heads:
            self.connection.execute(
                sa.delete(current).where(current.c.record == record, current.c.head.in_(heads))
            )
