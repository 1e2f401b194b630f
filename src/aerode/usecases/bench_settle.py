"""End a conflict, or go back to an earlier state: always as a new state, nothing is lost."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from aerode.errors import InputError, NotFoundError
from aerode.records import KINDS, adapter
from aerode.records.bench_two import BenchSettle, BenchUndo, Conflict, DifferingField
from aerode.usecases.bench_changes import change_lines, changes_between, field_words, shown_state
from aerode.usecases.bench_show import class_of_kind
from aerode.usecases.what_rests import refuse_in_use, refuse_undo_in_use

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.store.bench_file import BenchFile
    from aerode.store.revisions import Revision

__all__ = ["conflicts_of", "settle", "undo"]


def conflicts_of(bench: BenchFile, kind: str = "", name: str = "") -> tuple[Conflict, ...]:
    """Every conflict on a bench with its states and the fields in which they differ.

    Parameters
    ----------
    bench : BenchFile
        Open.
    kind, name : str
        Only those of this kind, and of a record that bears this name in one of its states.

    Raises
    ------
    InputError
        No such kind.
    """
    if kind:
        kind = adapter.schema_name(class_of_kind(kind))
    found = [
        group
        for group in bench.conflicts()
        if (not kind or group[0].kind == kind) and (not name or name in {s.name for s in group})
    ]
    return tuple(_conflict(bench, group) for group in found)


def _conflict(bench: BenchFile, states: Sequence[Revision]) -> Conflict:
    plains = [_plain(bench, entry) for entry in states]
    fields = {path for plain in plains for path in _paths(plains[0], plain)}
    stood = [_stood(bench, entry) for entry in states]
    return Conflict(
        kind=states[0].kind,
        name=next((s.name for s in states if not s.withdrawn), states[0].name),
        one_record=len({entry.record for entry in states}) == 1,
        states=tuple(shown_state(s, ("withdrawn",) if s.withdrawn else ()) for s in states),
        fields=tuple(
            DifferingField(field=field, values=tuple(field_words(one, field) for one in stood))
            for field in sorted(fields)
        ),
    )


def _stood(bench: BenchFile, entry: Revision) -> object | None:
    """The record in that state; None where it was off the lists."""
    return None if entry.withdrawn else bench.read(entry)


def _plain(bench: BenchFile, entry: Revision) -> dict[str, Any]:
    if entry.withdrawn:
        plain: dict[str, Any] = json.loads(entry.doc)
        return plain
    return adapter.write(bench.read(entry))


def _paths(first: Mapping[str, Any], second: Mapping[str, Any]) -> set[str]:
    return {key for key in {**first, **second} if first.get(key) != second.get(key)}


def settle(
    bench: BenchFile,
    kind: str,
    name: str,
    *,
    keep: str,
    take: Mapping[str, str] | None = None,
    rename: str = "",
    why: str = "",
    who: str = "",
) -> BenchSettle:
    """End a conflict.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    kind, name : str
        Which record.
    keep : str
        The beginning of the digest of the state to keep; where two different records bear one
        name, the state of the one that keeps it or, with `rename`, of the one that is renamed.
    take : mapping, optional
        Fields to take from other states: "note" → the beginning of a digest.
    rename : str
        A new name for the record of the state `keep`, where two records bear one name.
    why, who : str
        For the history.

    Returns
    -------
    BenchSettle
        What stands now, and which conflicts are left.

    Raises
    ------
    NotFoundError
        No such conflict, or no such state in it.
    InputError
        A field that is not there; a choice that does not end this conflict; it would take a record
        off the lists on which others rest.
    """
    cls = class_of_kind(kind)
    group = _group(bench, adapter.schema_name(cls), name)
    chosen = _state(group, keep, name)
    told = why or f"settled between {len(group)} states"
    if len({entry.record for entry in group}) > 1:
        done = _apart(
            bench, cls, group, chosen, rename, why or "renamed: two records bore one name", who
        )
    elif rename:
        raise InputError(
            "these are states of one record: there is nothing to rename", where="--rename",
            next_step="keep one of the states",
        )  # fmt: skip
    elif chosen.withdrawn:
        for each in dict.fromkeys(entry.name for entry in group):
            refuse_in_use(bench, chosen.kind, each, next_step="keep the other state, or take off what rests on it first")  # fmt: skip
        done = bench.settle_withdrawn(chosen.digest, why=told, who=who)
    else:
        done = _one(bench, cls, group, chosen, take or {}, told, who)
    left = conflicts_of(bench)
    return BenchSettle(
        headline=f"Settled: {done.kind} {done.name} stands at {done.digest[:12]}; {len(left)} left",
        settled=shown_state(done),
        conflicts=left,
    )


def _group(bench: BenchFile, kind: str, name: str) -> list[Revision]:
    for group in bench.conflicts():
        if group[0].kind == kind and name in {entry.name for entry in group}:
            return group
    bench.get(KINDS[kind], name)
    raise NotFoundError(
        f"{kind} {name!r} has one newest state: nothing is to be settled", where=bench.label,
        next_step="`aerode bench settle` lists what is",
    )  # fmt: skip


def _state(group: Sequence[Revision], begins: str, name: str) -> Revision:
    found = [entry for entry in group if begins and entry.digest.startswith(begins)]
    if len(found) != 1:
        raise NotFoundError(
            f"{begins!r} names {'no' if not found else 'more than one'} state of this conflict",
            where=name,
            allowed=", ".join(entry.digest[:12] for entry in group),
        )
    return found[0]


def _one(
    bench: BenchFile, cls: type[Any], group: Sequence[Revision], chosen: Revision,
    take: Mapping[str, str], why: str, who: str,
) -> Revision:  # fmt: skip
    plain = _plain(bench, chosen)
    for field, begins in take.items():
        other = _plain(bench, _state(group, begins, field))
        if field not in {key for entry in group for key in _plain(bench, entry)}:
            raise InputError(
                f"no state of this conflict has a field {field!r}", where="--take",
                allowed=", ".join(sorted(_paths(_plain(bench, group[0]), _plain(bench, group[-1])))),
            )  # fmt: skip
        plain.pop(field, None)
        if field in other:
            plain[field] = other[field]
    return bench.settle_as(adapter.read(cls, plain), chosen.digest, why=why, who=who)


def _apart(
    bench: BenchFile, cls: type[Any], group: Sequence[Revision], chosen: Revision, rename: str,
    why: str, who: str,
) -> Revision:  # fmt: skip
    """Two records of one name: one of them gets another."""
    if not rename:
        raise InputError(
            f"two different records are called {chosen.name!r}: one of them needs another name",
            where="--rename", allowed="a name that no other record of the kind bears",
            next_step=f"--keep {chosen.digest[:8]} --rename 'NEW NAME' renames the one of that state",
        )  # fmt: skip
    return bench.rename(cls, chosen.name, rename, record=chosen.record, why=why, who=who)


def undo(
    bench: BenchFile, kind: str, name: str, *, to: str = "", why: str = "", who: str = ""
) -> BenchUndo:
    """Go back to an earlier state of a record, as a new state; that can be undone too.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    kind, name : str
        Which record; a withdrawn one by the name it had.
    to : str
        The beginning of the digest of the state to go back to; the one before otherwise.
    why, who : str
        For the history.

    Returns
    -------
    BenchUndo

    Raises
    ------
    NotFoundError, ConflictError, InputError
        As `BenchFile.undo`; and it would take a record off the lists on which others rest.
    """
    cls = class_of_kind(kind)
    refuse_undo_in_use(bench, adapter.schema_name(cls), name, to)
    done = bench.undo(cls, name, to=to, why=why, who=who)
    before = _stood(bench, bench.by_digest(done.parents[0])) if done.parents else None
    after = _stood(bench, done)
    either = before is not None or after is not None
    changes = change_lines(changes_between(before, after)) if either else ()
    what = (
        "is off the lists, as before it was first stored" if done.withdrawn else "stands as it did"
    )
    return BenchUndo(
        headline=f"Undone: {done.kind} {done.name} {what}",
        state=shown_state(done, ("withdrawn",) if done.withdrawn else changes),
    )
