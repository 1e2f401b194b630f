"""The rows of one bench written into the empty tables of another, whatever the databases are."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.store import layout

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["copy_rows", "identity_of", "streamed"]

_LARGE = {layout.series.name: 20, layout.blob.name: 1}
_ROWS = 500
"""How many rows are held at once: few where one row may be large."""


def streamed(
    connection: sa.Connection, wanted: sa.Select[Any], size: int = _ROWS
) -> Iterator[sa.RowMapping]:
    """The rows of a question one by one, with only `size` of them in memory.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    wanted : Select
        The question.
    size : int
        Rows fetched at once.
    """
    with connection.execute(wanted, execution_options={"yield_per": size}) as found:
        yield from found.mappings()


def identity_of(connection: sa.Connection) -> str:
    """The random identity of an open bench."""
    meta = layout.meta
    return str(connection.execute(sa.select(meta.c.value).where(meta.c.key == "bench")).scalar())


def copy_rows(source: sa.Connection, target: sa.Connection) -> None:
    """Write every row of a bench into the laid-out, empty tables of another one, unchanged.

    Tables that an older source does not have stay empty.

    Parameters
    ----------
    source : Connection
        In a reading transaction.
    target : Connection
        In a writing transaction; `meta` and the stamp of the layout are written already.
    """
    there = set(sa.inspect(source).get_table_names())
    for table in layout.metadata.sorted_tables:
        if table in (layout.meta, layout.migration) or table.name not in there:
            continue
        size = _LARGE.get(table.name, _ROWS)
        rows: list[dict[str, Any]] = []
        for row in streamed(source, sa.select(table), size):
            rows.append({str(key): value for key, value in row.items()})
            if len(rows) == size:
                target.execute(sa.insert(table), rows)
                rows = []
        if rows:
            target.execute(sa.insert(table), rows)
