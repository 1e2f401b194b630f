"""Writing into an open transaction: revisions, their place in the journal, the derived heads."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.store import digests
from aerode.store.heads import Head, belongs_to
from aerode.store.layout import current, journal, meta, revision

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from aerode.store.revisions import Revision

__all__ = ["Ledger", "chunks"]

_CHUNK = 500
"""How many values stand in one IN (…): well below what the databases take."""


def chunks(values: Iterable[str]) -> Iterator[list[str]]:
    """Values in pieces that fit into one statement."""
    every = list(values)
    for start in range(0, len(every), _CHUNK):
        yield every[start : start + _CHUNK]


class Ledger:
    """One writing transaction: hands out places in the journal and keeps the heads in step."""

    def __init__(self, connection: sa.Connection) -> None:
        self.connection = connection
        last = connection.execute(
            sa.select(journal.c.seq, journal.c.chain).order_by(journal.c.seq.desc()).limit(1)
        ).first()
        bench = connection.execute(sa.select(meta.c.value).where(meta.c.key == "bench")).scalar()
        self._seq = int(last.seq) if last else 0
        self._chain = str(last.chain) if last else digests.chain_start(str(bench))

    def write(self, entries: Sequence[Revision]) -> None:
        """Revisions, parents before children, with their lines in the journal and their heads."""
        if not entries:
            return
        self.connection.execute(sa.insert(revision), [entry.columns() for entry in entries])
        first = self.note([entry.digest for entry in entries])
        self._stand(entries, first)

    def note(self, written: Sequence[str]) -> int:
        """The next lines of the journal; the place of the first of them."""
        first = self._seq + 1
        lines: list[dict[str, int | str]] = []
        for digest in written:
            self._seq += 1
            self._chain = digests.chain_next(self._chain, self._seq, digest)
            lines.append({"seq": self._seq, "digest": digest, "chain": self._chain})
        self.connection.execute(sa.insert(journal), lines)
        return first

    def _stand(self, entries: Sequence[Revision], first: int) -> None:
        """Each revision that is nobody's parent becomes a head, in the place of its parents."""
        made = self._made({entry.record for entry in entries})
        for place, entry in enumerate(entries, start=first):
            made.setdefault(entry.record, place)
        replaced = {parent for entry in entries for parent in entry.parents}
        for some in chunks(replaced):
            self.connection.execute(sa.delete(current).where(current.c.head.in_(some)))
        heads = [
            Head(
                record=entry.record,
                head=entry.digest,
                kind=entry.kind,
                name=entry.name,
                parent=belongs_to(entry.kind, entry.doc),
                made=made[entry.record],
            ).columns()
            for entry in entries
            if entry.digest not in replaced
        ]
        self.connection.execute(sa.insert(current), heads)

    def _made(self, records: Iterable[str]) -> dict[str, int]:
        """The place in the journal of the first revision of each record that is there already."""
        made: dict[str, int] = {}
        for some in chunks(records):
            rows = self.connection.execute(
                sa.select(current.c.record, sa.func.min(current.c.made).label("made"))
                .where(current.c.record.in_(some))
                .group_by(current.c.record)
            )
            made.update({str(row.record): int(row.made) for row in rows})
        return made
