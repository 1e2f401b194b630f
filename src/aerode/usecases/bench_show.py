"""What is on a bench: its kinds, the records of one kind, or one record."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any

from aerode.errors import InputError
from aerode.records import KINDS
from aerode.records.bench_answers import BenchShow, ShownRecord
from aerode.records.places import Bench
from aerode.usecases.bench_words import shown_fields

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["class_of_kind", "show", "show_one"]


def class_of_kind(kind: str) -> type[Any]:
    """The record class of a kind, in the singular or with an s behind it.

    Raises
    ------
    InputError
        No such kind; the near ones are named.
    """
    for word in (kind, kind.removesuffix("s"), kind.removesuffix("es")):
        if word in KINDS:
            return KINDS[word]
    near = difflib.get_close_matches(kind, KINDS, n=2)
    raise InputError(
        f"no kind of record is called {kind!r}",
        allowed=" or ".join(near) if near else ", ".join(KINDS),
        next_step="`aerode bench show` lists the kinds that are on the bench",
    )


def show_one(bench: BenchFile, kind: str, name: str) -> ShownRecord:
    """One record with its filled fields, without a look at anything else on the bench.

    Parameters
    ----------
    bench : BenchFile
        An open bench.
    kind, name : str

    Raises
    ------
    InputError, NotFoundError
        No such kind; no record of that name.
    """
    cls = class_of_kind(kind)
    word = next(w for w, known in KINDS.items() if known is cls)
    record: Any = bench.get(cls, name)
    return ShownRecord(kind=word, name=record.name, fields=shown_fields(record))


def _all_of(bench: BenchFile, cls: type[Any], word: str) -> tuple[ShownRecord, ...]:
    records: list[Any] = list(bench.all(cls))
    return tuple(
        ShownRecord(kind=word, name=record.name, fields=shown_fields(record)) for record in records
    )


def show(bench: BenchFile, kind: str = "", name: str = "") -> BenchShow:
    """What is on a bench.

    Parameters
    ----------
    bench : BenchFile
        An open bench.
    kind : str
        Only this kind of record.
    name : str
        Only the one of this name.

    Raises
    ------
    InputError, NotFoundError
        No such kind; no record of that name.
    """
    counts = {word: bench.count(cls) for word, cls in KINDS.items() if word != "bench"}
    counts = {word: count for word, count in counts.items() if count}
    title = next((one.title for one in bench.all(Bench)), "")
    conflicts = tuple(f"{group[0].kind} {group[0].name}" for group in bench.conflicts())
    if not kind:
        total = sum(counts.values())
        headline = (
            f"{title}: {total} records" if total else f"{title}: nothing is on this bench yet"
        )
        return BenchShow(headline=headline, title=title, counts=counts, conflicts=conflicts)
    cls = class_of_kind(kind)
    word = next(w for w, known in KINDS.items() if known is cls)
    shown = (show_one(bench, kind, name),) if name else _all_of(bench, cls, word)
    headline = f"{word} {name}" if name else f"{title}: {len(shown)} of kind {word}"
    return BenchShow(
        headline=headline, title=title, counts=counts, records=shown, conflicts=conflicts
    )
