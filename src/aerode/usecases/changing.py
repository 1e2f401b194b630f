"""Change a record by what it holds at that moment, so that two who do so at once both stay."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from aerode.errors import BusyError, ChangedError

if TYPE_CHECKING:
    from collections.abc import Callable

    from aerode.store.bench_file import BenchFile

__all__ = ["change_record", "new_record"]

T = TypeVar("T")
_TRIES = 20
"""How often another writer may be quicker before one gives up."""


def change_record(
    bench: BenchFile,
    cls: type[T],
    name: str,
    change: Callable[[T], T],
    *,
    why: str,
    who: str = "",
) -> T:
    """The newest state of a record, changed and stored; where another writer is quicker, its state.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    cls : type
        Of the record.
    name : str
    change : callable, record -> record
        Called again for each state that is found; what it raises is not caught.
    why, who : str
        For the history.

    Returns
    -------
    record
        What is on disk now; where the change is none, no new state is stored.

    Raises
    ------
    NotFoundError
        No record of that name; near misses are named.
    BusyError
        Others were quicker again and again; nothing was stored.
    """
    for _ in range(_TRIES):
        state = bench.state(cls, name)
        before = bench.read(state)
        changed = change(before)
        if changed == before:
            return changed
        try:
            bench.put_onto(changed, state.digest, why=why, who=who)
        except ChangedError:
            continue
        return changed
    raise _too_quick(name)


def new_record(bench: BenchFile, made: Callable[[], T], *, why: str) -> T:
    """Store a record that is new; one that another writer gave its name to meanwhile is left alone.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    made : callable, () -> record
        The record under a name that is free at this moment; called again where that is taken.
    why : str
        For the history.

    Returns
    -------
    record
        As it was stored.

    Raises
    ------
    BusyError
        Others were quicker again and again; nothing was stored.
    """
    for _ in range(_TRIES):
        record = made()
        try:
            bench.put_onto(record, "", why=why)
        except ChangedError:
            continue
        return record
    raise _too_quick("it")


def _too_quick(name: str) -> BusyError:
    return BusyError(
        f"others write to {name} all the time",
        next_step="wait a moment and do it again; nothing of this was saved",
    )
