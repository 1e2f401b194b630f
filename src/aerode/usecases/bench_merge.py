"""Take another bench in: the union of both, nothing chosen, nothing doubled, nothing lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.records.bench_packages import KindTaken
from aerode.records.bench_two import BenchMerge
from aerode.store.bench_file import BenchFile
from aerode.store.connecting import place_of
from aerode.store.package_in import take_in_bench, take_in_package
from aerode.usecases.bench_copies import pack_logs
from aerode.usecases.bench_package import is_package
from aerode.usecases.bench_settle import conflicts_of

if TYPE_CHECKING:
    import os

__all__ = ["merge"]


def merge(bench: BenchFile, other: str | os.PathLike[str]) -> BenchMerge:
    """Take in every state, series and file of another bench that is not here yet.

    The outcome is the same whichever of the two takes the other in, and a second time changes
    nothing. A record that was changed in both has two newest states then, to be settled. The
    title stays that of the bench that takes in.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    other : path or str
        Another bench file, the address of a shared bench, or a package.

    Returns
    -------
    BenchMerge

    Raises
    ------
    InputError
        It is the same file.
    DamagedError
        Something in the other one does not agree with its digest; nothing was taken in.
    ConflictError
        A log was continued in both with different readings; nothing was taken in.
    """
    if is_package(str(other)):
        taken = take_in_package(bench, str(other))
    else:
        place = place_of(other)
        _refuse_itself(bench, place.label)
        if place.path is not None:
            pack_logs(place.path)
        with BenchFile.open(other, read_only=True) as source:
            taken = take_in_bench(bench, source)
    conflicts = conflicts_of(bench)
    states = sum(taken.states.values())
    count = "one new state" if states == 1 else f"{states} new states"
    headline = f"Took in {count} of {_records(len(taken.records))}"
    if not taken.new:
        headline = "Nothing new: all of it is on this bench already"
    if conflicts:
        headline += f"; {len(conflicts)} to be settled"
    return BenchMerge(
        headline=headline,
        other=str(other),
        kinds=tuple(KindTaken(kind=kind, states=n) for kind, n in sorted(taken.states.items())),
        series_chunks=taken.chunks,
        files=taken.files,
        known=taken.known,
        conflicts=conflicts,
    )


def _records(count: int) -> str:
    return "one record" if count == 1 else f"{count} records"


def _refuse_itself(bench: BenchFile, other: str) -> None:
    theirs = place_of(other).path
    same = bench.label == other
    if bench.path is not None and theirs is not None and theirs.exists():
        same = same or bench.path.samefile(theirs)
    if same:
        raise InputError("this is the same bench", where=other, allowed="another bench, or a copy")
