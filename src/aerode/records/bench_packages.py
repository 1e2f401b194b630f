"""The answers about a bench that goes out and comes back: packages, edited tables, two benches."""

from __future__ import annotations

from aerode.records.marks import record

__all__ = [
    "BenchExport",
    "BenchPackageImport",
    "BenchTablesImport",
    "ChangedRecord",
    "FieldChange",
    "KindTaken",
]


@record
class BenchExport:
    """What went out, and what its owner withheld."""

    schema: str = "aerode.bench-export/1"
    headline: str
    path: str
    whole: bool
    """False where something was withheld: such a package cannot be put back as a bench."""
    states: int
    series_chunks: int
    files: int
    tables: dict[str, int]
    """Rows of each flat table."""
    withheld: dict[str, int]
    """How many values of each named field were withheld, in all states."""
    withheld_states: int = 0
    originals: int = 0
    """Photos as they came from the camera, with whatever place they carry; 0 where withheld."""


@record
class KindTaken:
    """How many states of a kind were new."""

    kind: str
    states: int


@record
class BenchPackageImport:
    """What a package brought: a whole bench, or the states that were not there yet."""

    schema: str = "aerode.bench-package-import/1"
    headline: str
    source: str
    bench: str
    new_bench: bool
    """True where the bench was made from the package: journal, identity and all."""
    kinds: tuple[KindTaken, ...] = ()
    series_chunks: int = 0
    files: int = 0
    known: int = 0
    """Lines that were there already."""
    conflicts: tuple[str, ...] = ()
    kept_aside: str = ""


@record
class FieldChange:
    """One field before and after, written as in the table."""

    field: str
    before: str
    after: str


@record
class ChangedRecord:
    """A record with every field that an edited table changes; `new` where it was not there."""

    kind: str
    name: str
    new: bool = False
    conflict: bool = False
    """The record was changed on the bench too since the table was written: both states stand."""
    changes: tuple[FieldChange, ...] = ()


@record
class BenchTablesImport:
    """What edited tables change on the bench; every change is a new state, none is overwritten."""

    schema: str = "aerode.bench-tables-import/1"
    headline: str
    source: str
    stored: bool
    """False for a preview."""
    changed: tuple[ChangedRecord, ...] = ()
    unchanged: int = 0
