"""Part of a long list: the newest records of a kind, a few at a time, and how many there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.store.layout import current, revision
from aerode.store.revisions import WITHDRAWN, revision_of_row

if TYPE_CHECKING:
    from aerode.store.revisions import Revision

__all__ = ["counted", "latest", "name_list"]

_STANDS = revision.c.schema != WITHDRAWN


def latest(
    connection: sa.Connection, kind: str, *, count: int, skip: int = 0, of: str | None = None
) -> list[Revision]:
    """The newest states of a kind, last stored first; of a conflict each state.

    The order is that of first storing, turned round. Only the rows that are asked for are read.
    """
    wanted = (
        sa.select(revision)
        .join(current, revision.c.digest == current.c.head)
        .where(current.c.kind == kind, _STANDS)
        .order_by(current.c.made.desc(), current.c.head)
        .limit(count)
        .offset(skip)
    )
    if of is not None:
        wanted = wanted.where(current.c.parent == of)
    return [revision_of_row(row) for row in connection.execute(wanted).mappings()]


def counted(connection: sa.Connection, kind: str) -> int:
    """How many records of a kind stand on the list; a conflict counts once."""
    wanted = (
        sa.select(sa.func.count(sa.distinct(current.c.record)))
        .join(revision, revision.c.digest == current.c.head)
        .where(current.c.kind == kind, _STANDS)
    )
    return int(connection.execute(wanted).scalar() or 0)


def name_list(connection: sa.Connection, kind: str, *, most: int) -> list[str]:
    """The names of a kind, newest first, for a list to pick from: the records are not read."""
    wanted = (
        sa.select(current.c.name)
        .join(revision, revision.c.digest == current.c.head)
        .where(current.c.kind == kind, _STANDS)
        .order_by(current.c.made.desc())
        .limit(most)
    )
    return list(dict.fromkeys(str(name) for name in connection.execute(wanted).scalars()))
