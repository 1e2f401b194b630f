"""A bench folder of hand-written tables and TOML files, as records with the place of every field.

`docs/how-to/bench-folder.md` describes the layout for people.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

from aerode.devices.tables import read_rows
from aerode.errors import AerodeError, FieldFault, InputError, RecordError
from aerode.records import KINDS, adapter
from aerode.usecases.believable import impossible_in
from aerode.usecases.bench_fields import Typing, field_hints, plain_record
from aerode.usecases.bench_headings import field_of_heading
from aerode.usecases.bench_readings import read_readings
from aerode.usecases.bench_toml import read_toml

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path as FilePath

    from aerode.usecases.bench_fields import Path

__all__ = ["STEMS", "Folder", "Found", "place_order", "read_folder", "records_of"]

STEMS = {
    "bench": "bench", "powders": "powder", "solutions": "solution", "solvents": "solvent",
    "meshes": "mesh", "electrolytes": "electrolyte", "aluminium": "aluminium", "mixes": "mix",
    "batches": "batch", "electrodes": "electrode", "cells": "cell", "instruments": "instrument",
    "runs": "run", "unsorted": "unsorted", "rooms": "room", "claims": "claim", "orders": "order",
    "acknowledgements": "acknowledgement",
}  # fmt: skip
"""File name without its ending → kind of its records."""
_TABLE = {".csv", ".tsv", ".txt"}


@dataclass(slots=True)
class Found:
    """One record of the folder: its fields as typed, and where each of them stands."""

    kind: str
    file: str
    line: int
    values: dict[str, Any]
    places: dict[Path, str]
    readings: list[dict[str, Any]] | None = None
    """Readings out of a table of their own, in SI already."""
    plain: dict[str, Any] = field(default_factory=dict[str, Any])
    """What could be read of it, in SI; the names in it are checked even where a field is at fault."""
    record: Any = None

    @property
    def has_both(self) -> bool:
        """Whether it is a mix told by amounts and by shares: what follows is worked out beside the lots."""
        return self.kind == "mix" and bool(self.plain.get("portions") and self.plain.get("wanted"))

    def typed_name(self) -> str:
        """The name as it was typed; "" where it is missing."""
        value = self.values.get("name", "bench" if self.kind == "bench" else "")
        return (value.text if isinstance(value, Typing) else str(value)).strip()

    def where(self, path: Path) -> str:
        """The place of a field, or of the nearest thing around it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.places:
                return self.places[path[:length]]
        return f"{self.file}, line {self.line}"


@dataclass(slots=True)
class Folder:
    """Everything that was read, every fault on the way, and the files that were left alone."""

    found: list[Found] = field(default_factory=list[Found])
    faults: list[FieldFault] = field(default_factory=list[FieldFault])
    understood: list[str] = field(default_factory=list[str])
    left_alone: list[str] = field(default_factory=list[str])
    unread: set[str] = field(default_factory=set[str])
    """Kinds of which a whole file could not be read: nothing is known of their names."""

    def fault(self, where: str, what: str, allowed: str = "", raw: str = "") -> None:
        self.faults.append(FieldFault(field=where, what=what, allowed=allowed, raw=raw))

    def refused(self, error: AerodeError, where: str) -> None:
        """Take over what another reader has refused."""
        place = error.where if error.where.startswith(where) else f"{where} {error.where}".strip()
        self.fault(place, error.what, error.allowed)


def read_folder(path: FilePath) -> Folder:
    """Every record of a bench folder.

    Parameters
    ----------
    path : Path
        The folder; or one table or TOML file of it.

    Returns
    -------
    Folder
        Records, faults with file, line and column, and files left alone. Nothing is stored. A mix with
        amounts and shares is whole only after `complete_mixes`.

    Raises
    ------
    InputError
        It is no folder, or holds nothing that belongs to a bench.
    """
    if not path.exists():
        raise InputError(
            "there is no such folder or file",
            where=str(path),
            next_step="name the folder that holds bench.toml, electrodes.csv and the others",
        )
    folder = Folder()
    for file in sorted(path.iterdir()) if path.is_dir() else [path]:
        if file.is_file() and not file.name.startswith("."):
            _take_file(folder, file)
    runs = path / "runs"
    if runs.is_dir():
        _take_runs(folder, runs)
    for found in folder.found:
        _make(folder, found)
    _refuse_doubles(folder)
    if not folder.found and not folder.faults:
        raise InputError(
            "nothing in this folder belongs to a bench",
            where=str(path),
            allowed=", ".join(f"{stem}.csv" for stem in STEMS) + " (or .toml), runs/",
            next_step="see docs/how-to/bench-folder.md",
        )
    return folder


def place_order(fault: FieldFault) -> tuple[str, int]:
    """Faults in the order of a person's eye: file by file, line by line."""
    match = re.match(r"(.*?), line (\d+)", fault.field)
    return (match[1], int(match[2])) if match else (fault.field.partition(",")[0], 0)


def _take_file(folder: Folder, file: FilePath) -> None:
    kind = STEMS.get(file.stem)
    if file.suffix not in {*_TABLE, ".toml"} or (file.suffix == ".txt" and kind is None):
        folder.left_alone.append(file.name)
        return
    try:
        if file.suffix == ".toml":
            _take_toml(folder, file, kind)
        elif kind is None:
            folder.fault(
                file.name, "no file of a folder of notes is called like this", _may_hold(file)
            )
        else:
            _take_table(folder, file, kind)
    except InputError as error:
        folder.refused(error, file.name)
        folder.unread |= {kind} if kind is not None and file.suffix != ".toml" else set(KINDS)


# -- TOML ---------------------------------------------------------------------------------------


def _take_toml(folder: Folder, file: FilePath, kind: str | None) -> None:
    """`[[powder]]` tables in any file; in `bench.toml` the keys above them are of the bench itself."""
    content, lines = read_toml(file, file.name)
    own: dict[str, Any] = {}
    for key, value in content.items():
        if key in KINDS and isinstance(value, list):
            for index, values in enumerate(cast("list[Any]", value)):
                _add_toml(folder, file.name, key, values, lines, (key, index))
        elif kind == "bench":
            own[key] = value
        else:
            folder.fault(f"{file.name}, line {lines.get((key,)) or lines.get((key, 0), 1)}", f"{key!r} is no kind of record",
                         f"[[{kind}]]" if kind else ", ".join(f"[[{known}]]" for known in KINDS), key)  # fmt: skip
    if own:
        _add_toml(folder, file.name, "bench", own, lines, ())


def _add_toml(
    folder: Folder, file: str, kind: str, values: Any, lines: Mapping[Path, int], root: Path
) -> None:
    line = lines.get(root, 1)
    if not isinstance(values, dict):
        folder.fault(f"{file}, line {line}", f"{kind} is not a table", f"[[{kind}]]", str(values))
        return
    places = {
        path[len(root) :]: f"{file}, line {number}, {'.'.join(str(p) for p in path[len(root) :])}"
        for path, number in lines.items()
        if path[: len(root)] == root and len(path) > len(root)
    }
    folder.found.append(Found(kind, file, line, cast("dict[str, Any]", values), places))


# -- tables -------------------------------------------------------------------------------------


def _take_table(folder: Folder, file: FilePath, kind: str) -> None:
    """One row, one record; a heading is a field, with a unit behind it if it has one."""
    rows = read_rows(file)
    columns: list[tuple[Path, str] | None] = []
    for place, heading in enumerate(rows.headings):
        column = field_of_heading(KINDS[kind], heading)
        columns.append(column)
        if column is None:
            folder.fault(f"{file.name}, column {place + 1}", f"{heading!r} is no field of the kind {kind}",
                         _near(heading, field_hints(KINDS[kind])), heading)  # fmt: skip
    for row in rows.rows:
        values: dict[str, Any] = {}
        places: dict[Path, str] = {}
        for place, column in enumerate(columns):
            if column is not None and row.cell(place):
                path, unit = column
                _put(values, path, Typing(row.cell(place), unit))
                places[path] = f"{file.name}, line {row.number}, column {rows.headings[place]!r}"
        folder.found.append(Found(kind, file.name, row.number, values, places))


def _may_hold(file: FilePath) -> str:
    """The names a file may have: those most like its own, else all; a table of readings has its place in runs/."""
    near = difflib.get_close_matches(file.stem.lower(), STEMS, n=2)
    if near:
        return " or ".join(f"{stem}{file.suffix}" for stem in near)
    every = ", ".join(f"{stem}.csv" for stem in STEMS)
    return f"{every}; the readings of a run: runs/NAME.csv, NAME being that of the run"


def _near(word: str, known: Iterable[str]) -> str:
    """The names most like a word, or all of them."""
    every = list(known)
    return " or ".join(difflib.get_close_matches(word, every, n=2)) or ", ".join(every)


def _put(values: dict[str, Any], path: Path, value: Typing) -> None:
    """A value at a dotted path: press.plate_temperature, factors.binder."""
    *above, last = (str(part) for part in path)
    for part in above:
        values = values.setdefault(part, {})
    values[last] = value


# -- runs ---------------------------------------------------------------------------------------


def _take_runs(folder: Folder, runs: FilePath) -> None:
    """`runs/T6.toml` holds the fields of the run T6, `runs/T6.csv` its readings."""
    files = [
        file for file in sorted(runs.iterdir()) if file.is_file() and not file.name.startswith(".")
    ]
    for file in files:
        if file.suffix == ".toml":
            _take_run(folder, file)
    by_name = {found.typed_name(): found for found in folder.found if found.kind == "run"}
    for file in files:
        name = f"runs/{file.name}"
        if file.suffix in _TABLE:
            _take_readings(folder, file, name, by_name.get(file.stem))
        elif file.suffix != ".toml":
            folder.left_alone.append(name)


def _take_readings(folder: Folder, file: FilePath, name: str, run: Found | None) -> None:
    """A table of readings, put into the run of the same name."""
    if run is None:
        folder.fault(name, f"no run is called {file.stem!r}",
                     f"a file runs/{file.stem}.toml, or a row of runs.csv, of that name")  # fmt: skip
        return
    try:
        readings = read_readings(file, name)
    except InputError as error:
        folder.refused(error, name)
        return
    if "readings" in run.values:
        folder.fault(
            name,
            "this run has readings in its TOML file too",
            "one place for the readings of a run",
        )
    folder.faults += readings.faults
    folder.understood += [f"{name}: {said}" for said in readings.understood]
    run.readings = readings.plain
    run.places |= {("readings", n): f"{name}, line {line}" for n, line in enumerate(readings.lines)}
    if readings.started:
        run.values.setdefault("started", readings.started)


def _take_run(folder: Folder, file: FilePath) -> None:
    name = f"runs/{file.name}"
    try:
        content, lines = read_toml(file, name)
    except InputError as error:
        folder.refused(error, name)
        return
    content.setdefault("name", file.stem)
    _add_toml(folder, name, "run", content, lines, ())


# -- records ------------------------------------------------------------------------------------


def _make(folder: Folder, found: Found) -> None:
    """The record itself, or every fault in it with its place."""
    cls = KINDS[found.kind]
    plain, faults = plain_record(cls, found.values)
    if found.readings is not None:
        plain["readings"] = found.readings
    for path, fault in faults:
        folder.fault(found.where(path), fault.what, fault.allowed, fault.raw)
    found.plain = plain
    if found.kind == "bench" and found.typed_name() != "bench":
        folder.fault(
            found.where(("name",)), "the bench's own record has no name to choose", "title = ..."
        )
    wrong = [path for path, _ in faults]
    left = {"wanted", "rest"} if found.has_both else set[str]()
    try:
        found.record = adapter.read(cls, {key: value for key, value in plain.items() if key not in left})  # fmt: skip
    except RecordError as error:
        for fault in error.faults:
            path = tuple(int(part) if part.isdigit() else part for part in fault.field.split("."))
            if not _follows(path, wrong):
                folder.fault(
                    found.where(path), f"{fault.field}: {fault.what}", fault.allowed, fault.raw
                )
    if found.kind != "run":  # an old notebook of runs is kept as it stands
        for fault in impossible_in(found.record):  # pyright: ignore[reportUnknownMemberType, reportUnknownArgumentType]
            path = tuple(int(part) if part.isdigit() else part for part in fault.field.split("."))
            folder.fault(found.where(path), fault.what, fault.allowed, fault.raw)
    if faults:
        found.record = None


def _follows(path: Path, wrong: list[Path]) -> bool:
    """True for a fault that is only the consequence of one that was told already."""
    whole = path[:1] == ("(whole record)",)
    return bool(wrong) and (
        whole or any(path[: len(told)] == told or told[: len(path)] == path for told in wrong)
    )


def _refuse_doubles(folder: Folder) -> None:
    seen: dict[tuple[str, str], Found] = {}
    for found in folder.found:
        key = (found.kind, found.typed_name())
        first = seen.setdefault(key, found)
        if first is not found and key[1]:
            folder.fault(found.where(("name",)), f"the {key[0]} {key[1]!r} stands twice",
                         f"one name for one record; the other is at {first.where(('name',))}")  # fmt: skip


def records_of(folder: Folder) -> list[Any]:
    """The records in an order in which each comes after what it names."""
    ranks = list(KINDS)
    made = [found for found in folder.found if found.record is not None]
    return [f.record for f in sorted(made, key=lambda f: ranks.index(f.kind))]
