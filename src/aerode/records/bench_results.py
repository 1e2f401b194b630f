"""The answers about answers: what was computed, what it rests on, and whether that still stands."""

from __future__ import annotations

from typing import Any

from aerode.records.marks import record

__all__ = ["BenchResults", "KeptAnswer"]


@record
class KeptAnswer:
    """One kept answer. `stale` says what has changed under it; nothing has where it is empty."""

    key: str
    """The digest of question, readings, code and tables."""
    answer: str
    """Its schema, as in "aerode.fit/1"."""
    about: str
    question: dict[str, Any]
    headline: str
    """The verdict as it was then."""
    at: str
    code: str
    """Version of the program, and the digest of what computes in it."""
    tables: str
    """The digest of the tables of published figures."""
    rests_on: tuple[str, ...]
    """What was read on the bench."""
    stale: tuple[str, ...] = ()


@record
class BenchResults:
    """What was kept, or what is there, newest first."""

    schema: str = "aerode.bench-results/1"
    headline: str
    results: tuple[KeptAnswer, ...] = ()
    again: tuple[str, ...] = ()
    """Those that could not be computed again, and why."""
