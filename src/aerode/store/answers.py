"""The answers about a bench file itself."""

from __future__ import annotations

from aerode.records.marks import record

__all__ = ["BenchCheck", "CheckFault"]


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
