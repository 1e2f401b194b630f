"""A package that comes back: into an empty place as the bench it was, or into another bench."""

from __future__ import annotations

from typing import IO, TYPE_CHECKING

import sqlalchemy as sa

from aerode.errors import DamagedError
from aerode.store import creating, lookup
from aerode.store.archives import opened
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import Place, connect, place_of
from aerode.store.history_lines import chain_of, lines_of
from aerode.store.layout import revision
from aerode.store.ledger import Ledger
from aerode.store.package_lines import HistoryReader
from aerode.store.taking import Taken, take_in_lines
from aerode.store.upcasts import UPCASTS, Upcasts

if TYPE_CHECKING:
    import os
    from pathlib import Path

__all__ = [
    "HISTORY",
    "conflicts_of",
    "is_vacant",
    "make_from",
    "only_its_title",
    "take_in_bench",
    "take_in_package",
]

HISTORY = "history.jsonl"
"""The entry of a package from which a bench is put back."""


def is_vacant(place: Place) -> bool:
    """True where nothing is yet: no file, or a database without a table."""
    if place.path is not None:
        return not place.path.exists()
    engine = connect(place, read_only=True)
    try:
        with engine.connect() as connection:
            return not sa.inspect(connection).get_table_names()
    finally:
        engine.dispose()


def only_its_title(bench: BenchFile) -> bool:
    """True for a bench that holds nothing but the title it was made with."""
    with bench.reading() as connection:
        _, lines, _ = chain_of(connection)
        kinds = connection.execute(sa.select(revision.c.kind).limit(2)).scalars().all()
        return lines == 1 and list(kinds) == ["bench"]


def make_from(
    path_or_url: str | os.PathLike[str],
    source: str | Path | IO[bytes],
    *,
    upcasts: Upcasts = UPCASTS,
) -> Taken:
    """Make the bench that a package holds where nothing is: identity, journal and every digest.

    Parameters
    ----------
    path_or_url : path or str
        Where to: a file that is not there yet, or the address of an empty database.
    source : path or file
        The package: a `.zip`, a folder, or an open file that can go back and forth.
    upcasts : Upcasts
        The versions of the documents.

    Returns
    -------
    Taken

    Raises
    ------
    InputError
        It is no archive, or one that is not to be trusted.
    DamagedError
        A line does not agree with its digest, or lines are missing.
    StoreError
        Something is there already; or fields of the package were withheld.
    """
    taken = Taken()
    with opened(source) as parcel, parcel.open(HISTORY) as text:
        reader = HistoryReader(text, parcel.read, parcel.label)

        def fill(connection: sa.Connection) -> None:
            nonlocal taken
            taken = take_in_lines(Ledger(connection), reader.lines(), upcasts, parcel.label)
            if chain_of(connection)[2] != reader.end():
                raise DamagedError("a line of the history stands twice", where=parcel.label)

        creating.create(place_of(path_or_url), identity=reader.header.bench, fill=fill)
    return taken


def take_in_package(
    bench: BenchFile, source: str | Path | IO[bytes], *, upcasts: Upcasts = UPCASTS
) -> Taken:
    """Take the history of a package into a bench that holds something: the union, nothing chosen.

    Raises
    ------
    InputError, DamagedError, StoreError
        As `make_from`; then nothing was taken in.
    """
    with opened(source) as parcel, parcel.open(HISTORY) as text, bench.writing() as ledger:
        reader = HistoryReader(text, parcel.read, parcel.label)
        return take_in_lines(ledger, reader.lines(), upcasts, parcel.label)


def take_in_bench(bench: BenchFile, other: BenchFile, *, upcasts: Upcasts = UPCASTS) -> Taken:
    """Take the history of another open bench in: the union, nothing chosen.

    Raises
    ------
    DamagedError
        A row of the other bench does not agree with its digest; nothing was taken in.
    ConflictError
        A series was continued in both with different readings.
    """
    with other.reading() as source, bench.writing() as ledger:
        return take_in_lines(ledger, lines_of(source, other.label), upcasts, other.label)


def conflicts_of(bench: BenchFile) -> list[str]:
    """Every conflict by kind and name."""
    with bench.reading() as connection:
        groups = lookup.conflicts(connection, bench.label)
    return [f"{group[0].revision.kind} {group[0].revision.name}" for group in groups]
