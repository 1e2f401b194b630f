"""Bring anything onto a bench that belongs on one: a folder of notes, a package, edited tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_edited import edited_tables, import_tables
from aerode.usecases.bench_import import import_folder
from aerode.usecases.bench_package import import_package, is_package

if TYPE_CHECKING:
    import os

    from aerode.records.bench_answers import BenchImport
    from aerode.records.bench_packages import BenchPackageImport, BenchTablesImport

__all__ = ["bring"]


def bring(
    bench: str | os.PathLike[str],
    source: str | os.PathLike[str],
    *,
    preview: bool = False,
    who: str = "",
) -> BenchImport | BenchPackageImport | BenchTablesImport:
    """Bring a source onto a bench, whatever it is; all of it, or nothing.

    Parameters
    ----------
    bench : path or str
        The bench; for a package it need not be there yet.
    source : path
        A package (`.zip` or folder), tables of a package that were edited, or a folder or file of
        hand-written tables and TOML.
    preview : bool
        Only say what edited tables change.
    who : str
        Who writes.

    Raises
    ------
    RecordError
        With every fault: file, line, column. Nothing is stored.
    InputError, DamagedError, StoreError
        Something in it cannot be taken; nothing is stored.
    """
    if is_package(source):
        _refuse_preview(preview, "a package")
        return import_package(bench, str(source))
    tables = edited_tables(source)
    with BenchFile.open(bench, read_only=preview) as store:
        if tables:
            return import_tables(store, tables, preview=preview, who=who)
        _refuse_preview(preview, "a folder of notes")
        return import_folder(store, source, who=who)


def _refuse_preview(preview: bool, what: str) -> None:
    if preview:
        raise InputError(
            f"{what} has no preview", where="--preview", allowed="edited tables of a package",
            next_step="import it into a copy of the bench: aerode bench backup --to FOLDER",
        )  # fmt: skip
