"""Taking in revisions of another copy of a bench: the union, whatever the order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.errors import DamagedError, NewerFileError
from aerode.store import lookup
from aerode.store.door import storable
from aerode.store.layout import revision
from aerode.store.ledger import chunks
from aerode.store.revisions import parents_first

if TYPE_CHECKING:
    from collections.abc import Iterable

    from aerode.store.ledger import Ledger
    from aerode.store.revisions import Revision
    from aerode.store.upcasts import Upcasts

__all__ = ["take_in"]


def take_in(
    ledger: Ledger, revisions: Iterable[Revision], upcasts: Upcasts, where: str
) -> list[Revision]:
    """Write those revisions that are not there yet, unchanged, parents before children.

    They come from someone else: digests, documents and parents are looked over before anything
    is written.
    """
    offered = {entry.digest: entry for entry in revisions}
    known = _known(ledger, [*offered, *(p for entry in offered.values() for p in entry.parents)])
    fresh = parents_first(entry for digest, entry in offered.items() if digest not in known)
    for entry in fresh:
        _look_over(entry, upcasts, where)
        missing = [p for p in entry.parents if p not in known and p not in offered]
        if missing:
            raise DamagedError(
                f"{entry.kind} {entry.name!r} came from a state that is missing ({missing[0][:12]})",
                where=where,
                next_step="take in the whole history of the other bench",
            )
    ledger.write(fresh)
    return fresh


def _known(ledger: Ledger, digests: Iterable[str]) -> set[str]:
    found: set[str] = set()
    for some in chunks(set(digests)):
        rows = ledger.connection.execute(
            sa.select(revision.c.digest).where(revision.c.digest.in_(some))
        )
        found.update(str(row.digest) for row in rows)
    return found


def _look_over(entry: Revision, upcasts: Upcasts, where: str) -> None:
    lookup.sound(entry, where)
    for column in ("record", "at", "who", "why", "doc"):
        storable(str(getattr(entry, column)), f"{entry.kind} {entry.name}: {column}")
    if entry.withdrawn:
        return
    if upcasts.is_newer(entry.schema):
        raise NewerFileError(
            f"{entry.kind} {entry.name!r} is of the schema {entry.schema}, which a newer version wrote",
            where=where,
            next_step="take it in with the newer version of the program",
        )
    upcasts.read(entry.schema, entry.doc, where=f"{entry.kind} {entry.name}")
