"""What differs between two states of a record, or between two benches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from aerode.errors import InputError, NotFoundError, some_of
from aerode.records import KINDS
from aerode.records.bench_two import BenchDiff, DifferingRecord
from aerode.store.bench_file import BenchFile
from aerode.store.layout import revision
from aerode.usecases.bench_changes import changes_between
from aerode.usecases.bench_show import class_of_kind

if TYPE_CHECKING:
    import os

    from aerode.store.revisions import Revision

__all__ = ["diff_benches", "diff_states"]


def diff_states(
    bench: BenchFile, kind: str, name: str, left: str = "", right: str = ""
) -> BenchDiff:
    """What differs between two states of a record.

    Parameters
    ----------
    bench : BenchFile
        Open.
    kind, name : str
        Which record.
    left, right : str
        The beginnings of their digests; otherwise the newest state and the one it came from.

    Returns
    -------
    BenchDiff

    Raises
    ------
    NotFoundError
        No such record, or no such state of it.
    """
    entries = bench.history(class_of_kind(kind), name)
    new = _chosen(entries, right, name) if right else entries[-1]
    if left:
        old = _chosen(entries, left, name)
    else:
        before = [entry for entry in entries if entry.digest in new.parents]
        if not before:
            raise NotFoundError(
                f"{kind} {name!r} was first stored in this state: none is before it",
                where=bench.label, next_step=f"`aerode bench history {kind} {name}` lists the states",
            )  # fmt: skip
        old = before[0]
    changes = changes_between(_stood(bench, old), _stood(bench, new))
    count = "one field differs" if len(changes) == 1 else f"{len(changes)} fields differ"
    return BenchDiff(
        headline=f"{new.kind} {new.name}: {count}",
        left=f"{old.digest[:12]} of {old.at}",
        right=f"{new.digest[:12]} of {new.at}",
        differing=(DifferingRecord(kind=new.kind, name=new.name, changes=changes),)
        if changes
        else (),
    )


def _chosen(entries: list[Revision], begins: str, name: str) -> Revision:
    found = [entry for entry in entries if entry.digest.startswith(begins)]
    if len(found) != 1:
        raise NotFoundError(
            f"{begins!r} names {'no' if not found else 'more than one'} state of {name!r}",
            allowed=some_of((entry.digest[:12] for entry in reversed(entries)), 8),
        )
    return found[0]


def _stood(bench: BenchFile, entry: Revision) -> object | None:
    """The record in that state; None where it was off the lists."""
    return None if entry.withdrawn else bench.read(entry)


def diff_benches(bench: BenchFile, other: str | os.PathLike[str]) -> BenchDiff:
    """What differs between the newest states of two benches, and how many states only one of them has.

    Records are told by their identity: a record that was renamed on one side is the same one.

    Parameters
    ----------
    bench : BenchFile
        Open; the left side.
    other : path or str
        Another bench file or the address of a shared bench; the right side.

    Returns
    -------
    BenchDiff

    Raises
    ------
    InputError
        A package: it is to be made a bench first.
    """
    if str(other).endswith(".zip"):
        raise InputError(
            "a package is not a bench that is open", where=str(other), allowed="a bench file",
            next_step=f"make a bench of it: aerode bench import {other} --bench NEW_FILE",
        )  # fmt: skip
    with BenchFile.open(other, read_only=True) as theirs:
        left, right = _newest(bench), _newest(theirs)
        digests, others = _digests(bench), _digests(theirs)
        right_label = theirs.label
        differing = tuple(
            DifferingRecord(kind=left[key][0].kind, name=left[key][0].name, changes=changes)
            for key in left
            if key in right and {e.digest for e in left[key]} != {e.digest for e in right[key]}
            if (
                changes := changes_between(
                    _stood(bench, left[key][0]), _stood(theirs, right[key][0])
                )
            )
        )
    only_left = tuple(_named(left[key][0]) for key in left if key not in right)
    only_right = tuple(_named(right[key][0]) for key in right if key not in left)
    parts = [
        (len(only_left), "only here"),
        (len(only_right), "only there"),
        (len(differing), "differ"),
    ]
    told = ", ".join(f"{n} {words}" for n, words in parts if n)
    return BenchDiff(
        headline=f"Records: {told}" if told else "No record differs",
        left=bench.label,
        right=right_label,
        only_left=only_left,
        only_right=only_right,
        differing=differing,
        states_only_left=len(digests - others),
        states_only_right=len(others - digests),
    )


def _named(entry: Revision) -> str:
    return f"{entry.kind} {entry.name}"


def _newest(bench: BenchFile) -> dict[str, list[Revision]]:
    """Identity of each record that stands to its newest states."""
    found: dict[str, list[Revision]] = {}
    for cls in KINDS.values():
        for entry in bench.newest_states(cls):
            found.setdefault(entry.record, []).append(entry)
    return found


def _digests(bench: BenchFile) -> set[str]:
    with bench.reading() as connection:
        return set(connection.execute(sa.select(revision.c.digest)).scalars())
