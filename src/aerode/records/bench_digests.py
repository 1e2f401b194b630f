"""The answer of `bench digest`: one checksum that may be published as proof of date."""

from __future__ import annotations

from aerode.records.marks import record

__all__ = ["BenchDigest"]


@record
class BenchDigest:
    """One checksum over claim, plan and raw data, and how anybody computes it again."""

    schema: str = "aerode.bench-digest/1"
    headline: str
    checksum: str
    """SHA-256 (FIPS 180-4) of the digests below one another, sorted, each with a newline behind it."""
    entries: int
    counts: dict[str, int]
    """States by kind, chunks of series, files."""
    line: int
    """The journal line up to which it counts: the same line gives the same checksum later."""
    newest: str
    """When the newest state that counts was stored, by the clock of the computer."""
    sql: str
    """The question that gives the digests, for any program that reads the database."""
    missing: tuple[str, ...] = ()
    """Digests of the list that was handed in which this bench does not hold."""
    agrees: bool | None = None
    """True where a list or a checksum was handed in and all of it is here."""
