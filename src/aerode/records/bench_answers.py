"""The answers of the verb `bench`: about the bench file and what is on it."""

from __future__ import annotations

from aerode.records.marks import record

__all__ = [
    "BenchCheck",
    "BenchHistory",
    "BenchImport",
    "BenchShow",
    "BenchTakenOff",
    "CheckFault",
    "KindCount",
    "NewBench",
    "SchemaNames",
    "ShownField",
    "ShownRecord",
    "ShownState",
]


@record
class NewBench:
    """A bench that was made."""

    schema: str = "aerode.bench-new/1"
    headline: str
    path: str
    title: str


@record
class KindCount:
    """How many records of a kind an import brought."""

    kind: str
    new: int
    changed: int
    unchanged: int


@record
class BenchImport:
    """What came in from a folder, and what was left where it is."""

    schema: str = "aerode.bench-import/1"
    headline: str
    folder: str
    kinds: tuple[KindCount, ...]
    understood: tuple[str, ...] = ()
    """How the tables of readings were taken."""
    not_on_file: tuple[str, ...] = ()
    """Things that are named and have no record of their own: nothing can be computed from them."""
    left_alone: tuple[str, ...] = ()


@record
class ShownField:
    """One filled field of a record, written for people."""

    field: str
    value: str


@record
class ShownRecord:
    """One record: its name and what is filled in."""

    kind: str
    name: str
    fields: tuple[ShownField, ...]


@record
class BenchShow:
    """What is on the bench: the kinds, the records of a kind, or one record."""

    schema: str = "aerode.bench-show/1"
    headline: str
    title: str
    counts: dict[str, int]
    records: tuple[ShownRecord, ...] = ()
    conflicts: tuple[str, ...] = ()


@record
class ShownState:
    """One state in the history: when, who, why, and what changed against the state before."""

    digest: str
    at: str
    kind: str
    name: str
    who: str
    why: str
    changes: tuple[str, ...]


@record
class BenchHistory:
    """States in the order in which they came into the file."""

    schema: str = "aerode.bench-history/1"
    headline: str
    states: tuple[ShownState, ...]


@record
class SchemaNames:
    """Every name that `aerode schema` takes."""

    schema: str = "aerode.schemas/1"
    headline: str
    names: tuple[str, ...]


@record
class CheckFault:
    """One thing that is wrong in the file, and the record it touches."""

    kind: str
    name: str
    what: str
    next_step: str


@record
class BenchCheck:
    """What `check` found: every digest, the chain of the journal, the list of newest states."""

    schema: str = "aerode.bench-check/1"
    headline: str
    whole: bool
    revisions: int
    records: int
    series_chunks: int
    files: int
    faults: tuple[CheckFault, ...] = ()
    conflicts: tuple[str, ...] = ()
    """Not a fault: records with two newest states, waiting to be settled."""
    newest_good_copy: str = ""
    """Where something is wrong: the newest backup that is whole."""


@record
class BenchTakenOff:
    """A thing that left the shelf; `minded` says what to mind before the rest of it is thrown away."""

    schema: str = "aerode.bench-take-off/1"
    headline: str
    kind: str
    name: str
    how: str
    minded: str = ""
