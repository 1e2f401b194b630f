"""The answers about copies of a bench: backups, what was put back, what was brought up to date."""

from __future__ import annotations

from aerode.records.marks import record

__all__ = ["BackupLine", "BenchBackup", "BenchBackups", "BenchMigration", "BenchRestore"]


@record
class BackupLine:
    """One backup: when it was made, where it lies, and why it stays whatever the rule says."""

    at: str
    path: str
    why: str = ""


@record
class BenchBackup:
    """A backup that was made and checked, and the ones that the keeping rule gave up for it."""

    schema: str = "aerode.bench-backup/1"
    headline: str
    path: str
    states: int
    """States of records in it; every digest of it agrees."""
    removed: tuple[str, ...] = ()
    kept: int = 1
    rule: str = ""
    """The keeping rule in words."""


@record
class BenchBackups:
    """The backups that are there, newest first."""

    schema: str = "aerode.bench-backups/1"
    headline: str
    folder: str
    backups: tuple[BackupLine, ...] = ()
    rule: str = ""


@record
class BenchRestore:
    """What was put back, and where the file that stood there is now."""

    schema: str = "aerode.bench-restore/1"
    headline: str
    bench: str
    copy: str
    states: int
    kept_aside: str = ""
    only_aside: int | None = 0
    """States of the file kept aside that the copy does not hold; None where it cannot be read."""


@record
class BenchMigration:
    """The table layout before and after, and the backup that was made first."""

    schema: str = "aerode.bench-migration/1"
    headline: str
    layout_before: int
    layout: int
    backup: str = ""
