"""A file that somebody hands in: what it is, what it would bring, shown before anything is taken."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.errors import AerodeError, InputError
from aerode.records.bench_answers import BenchImport
from aerode.records.bench_packages import BenchPackageImport, BenchTablesImport
from aerode.records.bench_two import BenchMerge
from aerode.store import archives
from aerode.store.bench_file import BenchFile
from aerode.store.package_in import HISTORY
from aerode.usecases.bench_copies import back_up
from aerode.usecases.bench_edited import edited_tables, import_tables
from aerode.usecases.bench_import import import_folder
from aerode.usecases.bench_merge import merge
from aerode.usecases.bench_package import import_package
from aerode.usecases.take_table import TableQuestion, understand_table

if TYPE_CHECKING:
    from datetime import datetime

    from aerode.records.tables import TablePreview

__all__ = ["Offered", "Seen", "Sort", "look", "recognise", "take"]

_BENCH = b"SQLite format 3\x00"
"""How every SQLite 3 file begins (sqlite.org/fileformat2.html, section 1.3.1)."""
_NOTES = (".toml", ".csv", ".tsv", ".txt")
_DATA = "data"
_RUNS = "runs"
"""The one folder inside a folder of notes: the readings of each run."""


class Sort(StrEnum):
    """What a file turned out to be."""

    PACKAGE = "a whole bench, as exported"
    BENCH = "another bench file"
    TABLES = "exported tables, edited"
    NOTES = "a folder of notes"
    READINGS = "a table of readings"


@dataclass(frozen=True, slots=True)
class Offered:
    """A file that was handed in and waits: its name, what it is, where it lies."""

    name: str
    sort: Sort
    place: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What taking it would do, or has done."""

    headline: str
    facts: tuple[tuple[str, str], ...] = ()
    table: TablePreview | None = None
    refusal: AerodeError | None = None
    """Why it cannot be taken as it stands; nothing was stored."""
    conflicts: tuple[str, ...] = field(default=())
    undated: bool = False
    """Whether nobody says when it began: it is asked for before it is taken."""

    @property
    def can_be_taken(self) -> bool:
        """Whether there is something to confirm."""
        return self.refusal is None


def recognise(name: str, data: bytes, folder: Path) -> Offered:
    """Put a file that was handed in into a folder of its own and tell what it is.

    Parameters
    ----------
    name : str
        As it was called where it comes from; used as a name only, never as a path.
    data : bytes
    folder : Path
        An empty folder that is there.

    Returns
    -------
    Offered

    Raises
    ------
    InputError
        It is an archive that is not to be trusted, or nothing that is understood.
    """
    plain = _plain_name(name)
    file = folder / plain
    file.write_bytes(data)
    if data.startswith(_BENCH):
        return Offered(plain, Sort.BENCH, file)
    if archives.is_archive(data[:512], plain):
        return _unpacked(plain, file, folder / _DATA)
    if edited_tables(file):
        return Offered(plain, Sort.TABLES, file)
    if file.suffix.lower() == ".toml":
        return Offered(plain, Sort.NOTES, file)
    if b"\x00" in data[:4096] and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(
            f"{plain} is no file that is understood here",
            allowed="a bench file, an exported package (.zip), a zip of a folder of notes, a table of readings as text",
            next_step="save a spreadsheet as CSV and hand that in",
        )
    return Offered(plain, Sort.READINGS, file)


def _plain_name(name: str) -> str:
    """The last part of a name, with nothing in it that means something to a file system."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    kept = "".join(c if c.isalnum() or c in " ._-()" else "_" for c in last).strip(" .")
    return kept[-80:] or "file"


def _unpacked(name: str, file: Path, folder: Path) -> Offered:
    """A package stays packed; a folder of notes is unpacked, with its runs, plain files only."""
    with archives.opened(file) as parcel:
        names = parcel.names()
        if HISTORY in names:
            return Offered(name, Sort.PACKAGE, file)
        tops = {one.split("/")[0] for one in names if "/" in one}
        inside = f"{tops.pop()}/" if len(tops) == 1 and all("/" in one for one in names) else ""
        folder.mkdir()
        for one in names:
            below = one.removeprefix(inside)
            above, _, last = below.rpartition("/")
            if above in {"", _RUNS} and last.lower().endswith(_NOTES):
                place = folder / above
                place.mkdir(exist_ok=True)
                (place / _plain_name(last)).write_bytes(parcel.read(one))
    if not any(folder.iterdir()):
        raise InputError(
            f"{name} holds nothing of a bench",
            allowed="an exported package, or a zip of a folder with its tables and TOML files",
            next_step="zip the folder of notes itself and hand that in",
        )
    return Offered(name, Sort.TABLES if edited_tables(folder) else Sort.NOTES, folder)


def look(bench: str, offered: Offered, question: TableQuestion, *, moment: datetime) -> Seen:
    """What taking the file would do. Nothing is stored: it is tried on a copy of the bench.

    Parameters
    ----------
    bench : str
        The bench file, or the address of a shared bench.
    offered : Offered
    question : TableQuestion
        What a person says of a table of readings; the others need nothing said.
    moment : datetime
        Now.

    Returns
    -------
    Seen
        With the refusal where it cannot be taken.
    """
    try:
        if offered.sort is Sort.READINGS:
            return _table(bench, offered, question, moment=moment, who=None)
        if offered.sort is Sort.TABLES:
            with BenchFile.open(bench, read_only=True) as store:
                return _said(import_tables(store, edited_tables(offered.place), preview=True))
        with tempfile.TemporaryDirectory() as folder:
            copy = back_up(bench, folder=folder, moment=moment).path
            return _taken(copy, offered, who="", moment=moment)
    except AerodeError as refusal:
        _speak_of(offered, refusal)
        return Seen(headline=refusal.what, refusal=refusal)


def _speak_of(offered: Offered, refusal: AerodeError) -> None:
    """Name the file as the person knows it: where it lies meanwhile is the program's own affair."""
    own = offered.place.parent if offered.place.name in {_DATA, offered.name} else offered.place
    for text in ("what", "where", "allowed", "next_step"):
        said: str = getattr(refusal, text)
        for place in (str(offered.place), str(own)):
            said = said.replace(f"{place}/", "").replace(place, offered.name)
        setattr(refusal, text, said)


def take(
    bench: str, offered: Offered, question: TableQuestion, *, who: str = "", moment: datetime
) -> Seen:
    """Take the file: all of it, or nothing.

    Parameters
    ----------
    bench, offered, question, moment
        As for `look`.
    who : str
        Who writes.

    Raises
    ------
    AerodeError
        It cannot be taken; nothing was stored.
    """
    try:
        if offered.sort is Sort.READINGS:
            return _table(bench, offered, question, moment=moment, who=who)
        return _taken(bench, offered, who=who, moment=moment)
    except AerodeError as refusal:
        _speak_of(offered, refusal)
        raise


def _taken(bench: str, offered: Offered, *, who: str, moment: datetime) -> Seen:
    if offered.sort is Sort.PACKAGE:
        return _said(import_package(bench, offered.place, moment=moment))
    with BenchFile.open(bench) as store:
        if offered.sort is Sort.BENCH:
            return _said(merge(store, offered.place))
        if offered.sort is Sort.TABLES:
            return _said(import_tables(store, edited_tables(offered.place), who=who))
        return _said(import_folder(store, offered.place, who=who, called=offered.name))


def _table(
    bench: str, offered: Offered, question: TableQuestion, *, moment: datetime, who: str | None
) -> Seen:
    """A table of readings; stored only where somebody takes it."""
    with BenchFile.open(bench, read_only=who is None) as store:
        taking = understand_table(store, offered.place, question, moment=moment)
        try:
            shown = taking.preview if who is None else taking.take(store, who=who)
        finally:
            taking.close()
    return Seen(headline=shown.headline, table=shown, undated=taking.undated)


def _said(
    answer: BenchImport | BenchPackageImport | BenchTablesImport | BenchMerge,
) -> Seen:
    """The counts of an answer as labelled words."""
    facts: list[tuple[str, str]] = []
    conflicts: tuple[str, ...] = ()
    if isinstance(answer, BenchImport):
        facts += [(one.kind, _counted(one.new, one.changed, one.unchanged)) for one in answer.kinds]
        facts += [("taken so", one) for one in answer.understood]
        facts += [("named, but not on file", one) for one in answer.not_on_file]
        facts += [("left alone", one) for one in answer.left_alone]
        return Seen(headline=answer.headline, facts=tuple(facts))
    if isinstance(answer, BenchTablesImport):
        for one in answer.changed:
            mark = "new" if one.new else "to be settled" if one.conflict else ""
            changes = "; ".join(
                f"{c.field}: {c.before or 'nothing'} → {c.after or 'nothing'}" for c in one.changes
            )
            facts.append((f"{one.kind} {one.name}", ": ".join(p for p in (mark, changes) if p)))
            conflicts += (f"{one.kind} {one.name}",) if one.conflict else ()
        return Seen(headline=answer.headline, facts=tuple(facts), conflicts=conflicts)
    facts += [(one.kind, f"{one.states} states") for one in answer.kinds]
    facts += [("known already", f"{answer.known} lines")] if answer.known else []
    if isinstance(answer, BenchMerge):
        conflicts = tuple(f"{one.kind} {one.name}" for one in answer.conflicts)
    else:
        conflicts = answer.conflicts
        facts += [("kept aside", answer.kept_aside)] if answer.kept_aside else []
    return Seen(headline=answer.headline, facts=tuple(facts), conflicts=conflicts)


def _counted(new: int, changed: int, unchanged: int) -> str:
    parts = ((new, "new"), (changed, "changed"), (unchanged, "as before"))
    return ", ".join(f"{count} {word}" for count, word in parts if count)
