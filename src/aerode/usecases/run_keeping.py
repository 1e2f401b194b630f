"""Store the next state of a run so that two writers of it never overwrite each other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode.errors import BusyError, ChangedError, ConflictError
from aerode.records.electrodes import Cell
from aerode.records.runs import Run
from aerode.usecases.run_merging import merged_run

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["KeptRun", "keep_run", "new_run", "read_run", "unused", "with_only_cell"]

_TRIES = 20
"""How often another writer may be quicker before one gives up."""


@dataclass(frozen=True, slots=True)
class KeptRun:
    """A run as it stands on the bench, and the digest of that state."""

    run: Run
    state: str


def unused(name: str, there: set[str]) -> str:
    """The name, with a number behind it where it is taken."""
    number, free = 2, name
    while free in there:
        free, number = f"{name} {number}", number + 1
    return free


def read_run(bench: BenchFile, name: str) -> KeptRun:
    """A run with the state it stands in.

    Raises
    ------
    NotFoundError
        No run of that name; near misses are named.
    """
    state = bench.state(Run, name)
    return KeptRun(bench.read(state), state.digest)


def new_run(bench: BenchFile, run: Run, *, why: str) -> KeptRun:
    """Store a run that is new; where its name has been given meanwhile, under the next free one.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    run : Run
    why : str
        For the history.

    Returns
    -------
    KeptRun
        With the name it got.
    """
    for _ in range(_TRIES):
        try:
            return KeptRun(run, bench.put_onto(run, "", why=why).digest)
        except ChangedError:
            run = replace(run, name=unused(run.name, set(bench.names(Run))))
    raise _too_quick(run.name)


def keep_run(bench: BenchFile, run: Run, base: KeptRun, *, why: str) -> KeptRun:
    """Store the next state of a run; what another writer added since it was read is kept beside it.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    run : Run
        The state that was made.
    base : KeptRun
        The state it was made from.
    why : str
        For the history.

    Returns
    -------
    KeptRun
        What stands now: `run`, or `run` and what somebody else added put together.

    Raises
    ------
    ConflictError
        Both changed the same thing in different ways; nothing was stored.
    NotFoundError
        It was taken off the bench, or renamed.
    """
    for _ in range(_TRIES):
        try:
            return KeptRun(run, bench.put_onto(run, base.state, why=why).digest)
        except ChangedError:
            now = read_run(bench, run.name)
        both = merged_run(base.run, run, now.run)
        if both is None:
            raise ConflictError(
                f"somebody else changed the same thing of {run.name} meanwhile",
                where=run.name,
                next_step="look at the run as it stands now, and do it again; nothing was saved",
            )
        run, base = both, now
    raise _too_quick(run.name)


def _too_quick(name: str) -> BusyError:
    return BusyError(
        "others write to this run all the time", where=name,
        next_step="wait a moment and do it again; nothing of this was saved",
    )  # fmt: skip


def with_only_cell(bench: BenchFile, run: Run) -> Run:
    """A run that was begun before its cell was entered, with the only cell of its electrode stored.

    Nothing is changed where it names one, where a reading was taken, or where the electrode has
    several cells or none.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    run : Run [record]
        On the bench.
    """
    own = bench.all(Cell, of=run.electrode) if run.electrode else []
    if run.cell or run.readings or len(own) != 1:
        return run
    cell = own[0].name
    return keep_run(
        bench, replace(run, cell=cell), read_run(bench, run.name), why=f"it is in {cell}"
    ).run
