"""Which document versions a bench holds, without reading its whole history at every opening.

A program that opens the same bench for every page would otherwise read all revisions each time. The
chain of the journal stands for everything before it: where the line that was looked at last is still
in its place, only what came later has to be looked at.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.store import layout

if TYPE_CHECKING:
    from aerode.store.upcasts import Upcasts

__all__ = ["VersionsSeen"]

_MOST = 64


class VersionsSeen:
    """The last journal line up to which the documents of each bench were found readable."""

    def __init__(self, most: int = _MOST) -> None:
        self._most = most
        self._lines: OrderedDict[str, tuple[Upcasts, int, str]] = OrderedDict()
        self._lock = threading.Lock()

    def newer(self, connection: sa.Connection, label: str, upcasts: Upcasts) -> list[str]:
        """The schemas in the bench that only a newer program knows, sorted.

        Parameters
        ----------
        connection : Connection
            To the bench, in one unchanging state.
        label : str
            The place of the bench; only what is remembered goes by it, never the answer.
        upcasts : Upcasts
            The versions that this program knows.
        """
        journal, revision = layout.journal, layout.revision
        last = connection.execute(
            sa.select(journal.c.seq, journal.c.chain).order_by(journal.c.seq.desc()).limit(1)
        ).first()
        asked = sa.select(revision.c.schema).distinct()
        done = self._before(connection, label, upcasts)
        if done is not None:
            asked = asked.join(journal, journal.c.digest == revision.c.digest).where(
                journal.c.seq > done
            )
        found = sorted(
            row.schema for row in connection.execute(asked) if upcasts.is_newer(row.schema)
        )
        if last is not None and not found:
            with self._lock:
                self._lines[label] = (upcasts, last.seq, last.chain)
                self._lines.move_to_end(label)
                while len(self._lines) > self._most:
                    self._lines.popitem(last=False)
        return found

    def remembers(self, label: str) -> bool:
        """True if the bench at this place was looked through before."""
        with self._lock:
            return label in self._lines

    def _before(self, connection: sa.Connection, label: str, upcasts: Upcasts) -> int | None:
        """The line up to which nothing has to be looked at again; None if the history is another one."""
        with self._lock:
            seen = self._lines.get(label)
        if seen is None or seen[0] is not upcasts:
            return None
        chain = connection.scalar(
            sa.select(layout.journal.c.chain).where(layout.journal.c.seq == seen[1])
        )
        return seen[1] if chain == seen[2] else None
