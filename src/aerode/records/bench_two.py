"""The answers about two states or two benches: what differs, what was merged, what is to be settled."""

from __future__ import annotations

from aerode.records.bench_answers import ShownState
from aerode.records.bench_packages import FieldChange, KindTaken
from aerode.records.marks import record

__all__ = [
    "BenchDiff",
    "BenchMerge",
    "BenchSettle",
    "BenchUndo",
    "Conflict",
    "DifferingField",
    "DifferingRecord",
]


@record
class DifferingField:
    """One field in which states that stand against each other differ; `values` in their order."""

    field: str
    values: tuple[str, ...]


@record
class Conflict:
    """States that stand against each other: of one record, or of two that bear one name."""

    kind: str
    name: str
    one_record: bool
    """False where two different records bear the name: one of them is to be renamed."""
    states: tuple[ShownState, ...]
    fields: tuple[DifferingField, ...] = ()


@record
class BenchMerge:
    """What another bench brought, and what is to be settled now."""

    schema: str = "aerode.bench-merge/1"
    headline: str
    other: str
    kinds: tuple[KindTaken, ...] = ()
    series_chunks: int = 0
    files: int = 0
    known: int = 0
    """Lines of the other journal that were there already."""
    conflicts: tuple[Conflict, ...] = ()


@record
class BenchSettle:
    """What was settled, or what there is to settle."""

    schema: str = "aerode.bench-settle/1"
    headline: str
    settled: ShownState | None = None
    conflicts: tuple[Conflict, ...] = ()
    """Those that are left."""


@record
class BenchUndo:
    """The state that stands now, and what going back to it changed."""

    schema: str = "aerode.bench-undo/1"
    headline: str
    state: ShownState


@record
class DifferingRecord:
    """A record that both sides have, and what differs; `before` is the left side."""

    kind: str
    name: str
    changes: tuple[FieldChange, ...]


@record
class BenchDiff:
    """What differs between two states of a record, or between two benches."""

    schema: str = "aerode.bench-diff/1"
    headline: str
    left: str
    right: str
    only_left: tuple[str, ...] = ()
    only_right: tuple[str, ...] = ()
    differing: tuple[DifferingRecord, ...] = ()
    states_only_left: int = 0
    states_only_right: int = 0
    """States in the history of one side that the other does not hold."""
