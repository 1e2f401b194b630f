"""The history of a bench: each state, who wrote it, when, why, and what it changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.bench_answers import BenchHistory
from aerode.usecases.bench_changes import change_lines, changes_between, shown_state
from aerode.usecases.bench_show import class_of_kind

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile
    from aerode.store.revisions import Revision

__all__ = ["history"]


def history(
    bench: BenchFile, kind: str = "", name: str = "", *, most: int | None = None
) -> BenchHistory:
    """Every state, of everything, of a kind, or of one record, oldest first; or the newest so many.

    Raises
    ------
    InputError, NotFoundError
        No such kind; no record that ever had this name.
    """
    entries = bench.history(class_of_kind(kind) if kind else None, name or None, most=most)
    by_digest = {entry.digest: entry for entry in entries}
    if most is not None:
        earlier = {p for entry in entries for p in entry.parents} - by_digest.keys()
        by_digest |= {digest: bench.by_digest(digest) for digest in earlier}
    states = tuple(
        shown_state(
            entry, _changes(bench, entry, [by_digest[p] for p in entry.parents if p in by_digest])
        )
        for entry in entries
    )
    of = f" of {kind} {name}".rstrip() if kind else ""
    count = "one state" if len(states) == 1 else f"{len(states)} states"
    return BenchHistory(headline=f"{count}{of}, oldest first; none is ever lost", states=states)


def _changes(bench: BenchFile, entry: Revision, parents: list[Revision]) -> tuple[str, ...]:
    """What the state changed: field by field against the one before it."""
    if entry.withdrawn:
        return ("withdrawn",)
    if not parents:
        return ("first stored",)
    if len(parents) > 1:
        return (f"settled between {len(parents)} states",)
    if parents[0].withdrawn:
        return ("brought back",)
    return change_lines(changes_between(bench.read(parents[0]), bench.read(entry)))
