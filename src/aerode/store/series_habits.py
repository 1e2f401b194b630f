"""How the tables of a source are taken, kept on the bench as small texts beside the photos.

A habit is written once and hashed like everything else; the newest one with the same headings
counts. It comes along in copies, exports and merges because files do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.errors import AerodeError
from aerode.records import adapter
from aerode.records.tables import TableHabit
from aerode.store import attachments
from aerode.store.layout import blob, journal

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["MEDIA", "habits", "remember"]

MEDIA = "application/vnd.aerode.table-habit+json"
"""The media type of a habit."""


def remember(bench: BenchFile, habit: TableHabit) -> str:
    """Keep a habit; the answer is its digest. The same one twice is kept once."""
    return bench.keep(adapter.canonical(habit).encode("utf-8"), media=MEDIA)


def habits(bench: BenchFile) -> list[TableHabit]:
    """Every habit on the bench, the newest first. One that cannot be read is left out: it is a help only.

    Raises
    ------
    DamagedError
        One does not agree with its digest.
    """
    wanted = (
        sa.select(blob.c.digest)
        .join(journal, journal.c.digest == blob.c.digest)
        .where(blob.c.media == MEDIA)
        .order_by(journal.c.seq.desc())
    )
    found: list[TableHabit] = []
    with bench.reading() as connection:
        for row in connection.execute(wanted).all():
            _, data = attachments.kept(connection, row.digest, bench.label)
            try:
                found.append(adapter.read_json(TableHabit, data.decode("utf-8")))
            except (AerodeError, UnicodeDecodeError):
                continue
    return found
