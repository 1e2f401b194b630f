"""Tables of a package that were edited outside: what they change comes back as new states."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from aerode.devices.tables import read_rows
from aerode.errors import FieldFault, NotFoundError, RecordError, TableError
from aerode.records import KINDS, adapter
from aerode.records.bench_packages import BenchTablesImport, ChangedRecord, FieldChange
from aerode.usecases.believable import newly_impossible
from aerode.usecases.bench_cells import Patch, number_lines, put_cells, unnumber_lines
from aerode.usecases.bench_tables import STATE, Table, tables_of, unguarded, value_at

if TYPE_CHECKING:
    import os
    from collections.abc import Iterable, Mapping

    from aerode.devices.tables import Rows
    from aerode.store.bench_file import BenchFile

__all__ = ["edited_tables", "import_tables"]


@dataclass(slots=True)
class _Edited:
    """One record of which some rows stand in the tables."""

    kind: str
    name: str
    base: str
    """Digest of the state that the rows were written from; "" for a new record."""
    plain: dict[str, Any]
    before: dict[str, Any]
    where: str
    patch: Patch = field(default_factory=Patch)


def edited_tables(source: str | os.PathLike[str]) -> list[Path]:
    """The files of a path that are tables of a package: their last heading says so.

    Parameters
    ----------
    source : path
        A file, or a folder.
    """
    path = Path(source)
    files = sorted(path.glob("*.csv")) if path.is_dir() else [path]
    found: list[Path] = []
    for file in files:
        if file.suffix.lower() not in {".csv", ".tsv", ".txt"} or not file.is_file():
            continue
        with file.open("rb") as opened:
            first = opened.readline(100_000)
        if STATE.encode() in first and _table_named(file.stem) is not None:
            found.append(file)
    return found


def import_tables(
    bench: BenchFile,
    files: Iterable[Path],
    *,
    preview: bool = False,
    why: str = "",
    who: str = "",
) -> BenchTablesImport:
    """Take in tables of a package that were edited; a cell that was not edited changes nothing.

    A change is a new state of its record. Where the record was changed on the bench too since the
    table was written, both changes are kept together if they touch different fields; if they touch
    the same one, both states stand, to be settled. A row without a state is a new record. An empty
    cell empties the field. Lines of a list that are gone from its table are gone from the list;
    records whose rows are gone are left alone.

    Parameters
    ----------
    bench : BenchFile
        Open.
    files : iterable of Path
        The tables, under the names they were exported with.
    preview : bool
        Only say what they change.
    why, who : str
        For the history.

    Returns
    -------
    BenchTablesImport

    Raises
    ------
    RecordError
        With every fault: file, line, column. Nothing is stored.
    TableError
        A file that is no table of a package.
    """
    paths = list(files)
    reader = _Reader(bench)
    tables = sorted(((_table_of(p), p) for p in paths), key=lambda pair: len(pair[0].lists))
    for table, path in tables:
        reader.read(table, read_rows(path, name=path.name))
    records = [(one, reader.record(one)) for one in reader.edited.values()]
    if reader.faults:
        raise _refusal(reader.faults)
    changed, store = reader.changes(records)
    if not preview and store:
        names = ", ".join(path.name for path in paths)
        told = why or f"edited in {names if len(paths) <= 3 else f'{len(paths)} tables'}"
        bench.put_from(store, why=told, who=who)
    return _answer(paths, changed, len(records) - len(changed), stored=not preview)


def _answer(
    paths: list[Path], changed: list[ChangedRecord], unchanged: int, *, stored: bool
) -> BenchTablesImport:
    count = "one record" if len(changed) == 1 else f"{len(changed)} records"
    verb = "Changed" if stored else "Would change"
    headline = f"{verb} {count}; {unchanged} as before" if changed else "Nothing was edited in it"
    conflicts = sum(one.conflict for one in changed)
    if conflicts:
        headline += f"; {conflicts} to be settled"
    return BenchTablesImport(
        headline=headline, source=", ".join(str(path) for path in paths), stored=stored,
        changed=tuple(changed), unchanged=unchanged,
    )  # fmt: skip


def _refusal(faults: list[FieldFault]) -> RecordError:
    count = "one cell or row" if len(faults) == 1 else f"{len(faults)} cells or rows"
    lines = [f"  {f.field}: {f.what}" + (f" (allowed: {f.allowed})" if f.allowed else "") for f in faults]  # fmt: skip
    error = RecordError(
        "\n".join([f"{count} cannot be taken; nothing was stored", *lines]), tuple(faults),
        next_step="mend the named cells and import again",
    )  # fmt: skip
    error.allowed = ""  # it stands behind each fault already
    return error


def _all_tables() -> dict[str, Table]:
    return {table.name: table for kind in KINDS for table in tables_of(kind)}


def _table_named(stem: str) -> Table | None:
    """The table of a file name; what a copy adds behind it, as in "electrodes (2)", is left aside."""
    known = _all_tables()
    fitting = [name for name in known if stem == name or stem.startswith((f"{name} ", f"{name}_", f"{name}("))]  # fmt: skip
    return known[max(fitting, key=len)] if fitting else None


def _table_of(path: Path) -> Table:
    table = _table_named(path.stem)
    if table is None:
        near = difflib.get_close_matches(path.stem, _all_tables(), n=3)
        raise TableError(
            "no table of a package is called like this file", where=path.name,
            allowed=" or ".join(f"{name}.csv" for name in near) or "the name it was exported with",
        )  # fmt: skip
    return table


class _Reader:
    """Reads the tables, the records with a row each first, and gathers what they change."""

    def __init__(self, bench: BenchFile) -> None:
        self._bench = bench
        self.edited: dict[tuple[str, str], _Edited] = {}
        """By kind, and by the name the record had when the table was written."""
        self.faults: list[FieldFault] = []

    def _fault(self, where: str, what: str, allowed: str = "", raw: str = "") -> None:
        self.faults.append(FieldFault(where, what, allowed, raw))

    def read(self, table: Table, rows: Rows) -> None:
        """Every row of a table."""
        columns = {column.heading: column for column in table.columns}
        owner = [table.kind, *table.counters] if table.lists else []
        for heading in rows.headings:
            if heading not in columns and heading not in owner and heading != STATE:
                near = difflib.get_close_matches(heading, columns, n=2)
                self._fault(f"{rows.name}, heading {heading!r}", "there is no such column",
                            " or ".join(near) or "the headings it was exported with")  # fmt: skip
        seen: dict[tuple[str, str], set[tuple[int, ...]]] = {}
        for row in rows.rows:
            cells = {heading: row.cell(place) for place, heading in enumerate(rows.headings)}
            where = f"{rows.name}, line {row.number}"
            one = self._record_of(table, cells, where)
            if one is None:
                continue
            if not table.lists:
                if (one.kind, one.name) in seen:
                    self._fault(where, f"{one.kind} {one.name!r} stands twice", "one row")
                seen[one.kind, one.name] = set()
                put_cells(one.plain, cells, columns, one.patch, where=where)
                continue
            counters = self._counters(table, cells, where)
            if counters:
                seen.setdefault((one.kind, one.name), set()).add(counters)
                self._line(table, one, counters, cells, where)
        for key, lines in seen.items() if table.lists else ():
            _drop_lines(table, self.edited[key], lines)

    def _record_of(self, table: Table, cells: Mapping[str, str], where: str) -> _Edited | None:
        """The record that a row belongs to: by its state, or by its name where it has none."""
        state = cells.get(STATE, "")
        name = unguarded(cells.get(table.kind if table.lists else "name", ""))
        try:
            if state:
                base = self._bench.by_digest(state)
                name = base.name
            else:
                found = self.edited.get((table.kind, name))
                if found:
                    return found
                base = self._bench.standing(KINDS[table.kind], name)
        except NotFoundError as problem:
            self._fault(where, problem.what, "a state of this bench, or an empty cell", state)
            return None
        if not name:
            self._fault(where, "the name is missing", "the name of the record")
            return None
        if base is None and table.lists:
            self._fault(where, f"no {table.kind} is called {name!r}", "a name of the bench", name)
            return None
        known = self.edited.get((table.kind, name))
        if known is not None:
            if state and known.base != state:
                self._fault(where, f"{table.kind} {name!r} stands here from two states", "one of them")  # fmt: skip
                return None
            return known
        if base is not None and (base.kind != table.kind or base.withdrawn):
            self._fault(where, f"this is a state of {base.kind} {base.name!r}", f"a state of a {table.kind}")  # fmt: skip
            return None
        plain = adapter.write_whole(self._bench.read(base)) if base else {"name": name}
        before = adapter.write(self._bench.read(base)) if base else {}
        made = _Edited(table.kind, name, base.digest if base else "", plain, before, where)
        self.edited[table.kind, name] = made
        return made

    def _counters(self, table: Table, cells: Mapping[str, str], where: str) -> tuple[int, ...]:
        numbers: list[int] = []
        for counter in table.counters:
            text = cells.get(counter, "").removesuffix(".0")
            if not text.isdigit() or int(text) < 1:
                self._fault(
                    f"{where}, column {counter!r}", "a line is counted from 1", "1, 2, 3", text
                )
                return ()
            numbers.append(int(text))
        return tuple(numbers)

    def _line(
        self,
        table: Table,
        one: _Edited,
        counters: tuple[int, ...],
        cells: Mapping[str, str],
        where: str,
    ) -> None:
        """One line of a list: the part that was there, or a new one."""
        number_lines(one.plain, table.lists)
        part: Any = one.plain
        for path, number in zip(table.lists, counters, strict=True):
            lines = _lines_at(part, path)
            part = lines.setdefault(number, {})
        columns = {column.heading: column for column in table.columns}
        within = " ".join(f"{c} {n}" for c, n in zip(table.counters, counters, strict=True))
        put_cells(part, cells, columns, one.patch, where=where, within=within)

    def record(self, one: _Edited) -> Any:
        """The record that the edited rows make, or None with a fault."""
        self.faults += one.patch.faults
        if one.patch.faults:
            return None
        plain = unnumber_lines(one.plain)
        try:
            cls: type[Any] = KINDS[one.kind]
            record = adapter.read(cls, _without_nothing(plain))
            faults = newly_impossible(record, adapter.read(cls, one.before) if one.before else None)
        except RecordError as error:
            record, faults = None, list(error.faults)
        for fault in faults:
            self._fault(f"{one.where}, {one.kind} {one.name}", f"{fault.field}: {fault.what}", fault.allowed, fault.raw)  # fmt: skip
        return None if faults else record

    def changes(
        self, records: list[tuple[_Edited, Any]]
    ) -> tuple[list[ChangedRecord], list[tuple[Any, str]]]:
        """What the records change on the bench now, and what is to be stored from which state."""
        changed: list[ChangedRecord] = []
        store: list[tuple[Any, str]] = []
        for one, record in records:
            after = adapter.write(record)
            if after == one.before:
                continue
            target, base, conflict = self._onto_newest(one, after)
            if target is None:
                continue
            cls: type[Any] = KINDS[one.kind]
            store.append((adapter.read(cls, target), base))
            changed.append(
                ChangedRecord(
                    kind=one.kind, name=str(after.get("name", one.name)), new=not one.base,
                    conflict=conflict, changes=tuple(one.patch.changes) or _by_field(one.before, after),
                )
            )  # fmt: skip
        return changed, store

    def _onto_newest(
        self, one: _Edited, after: dict[str, Any]
    ) -> tuple[dict[str, Any] | None, str, bool]:
        """The new state, what it comes from, and whether it stands against a newer one."""
        if not one.base:
            return after, "", False
        heads = self._bench.heads_of(one.base)
        plains = [{} if head.withdrawn else adapter.write(self._bench.read(head)) for head in heads]
        if after in plains:
            return None, "", False
        if len(heads) != 1 or heads[0].digest == one.base:
            return after, one.base, len(heads) != 1
        newest = dict(plains[0])
        fields = {f for f in after.keys() | one.before.keys() if after.get(f) != one.before.get(f)}
        mine = {f for f in fields if newest.get(f) != after.get(f)}
        if any(newest.get(f) != one.before.get(f) for f in mine):
            return after, one.base, True
        if not mine:
            return None, "", False
        for name in mine:
            newest.pop(name, None)
            if name in after:
                newest[name] = after[name]
        return newest, heads[0].digest, False


def _lines_at(part: Any, path: tuple[str, ...]) -> dict[int, Any]:
    """The numbered lines of a list, made where there are none yet."""
    for name in path[:-1]:
        part = part.setdefault(name, {})
    lines: Any = part.get(path[-1])
    if not isinstance(lines, dict):
        lines = part[path[-1]] = {}
    return cast("dict[int, Any]", lines)


def _drop_lines(table: Table, one: _Edited, kept: set[tuple[int, ...]]) -> None:
    """Lines that are gone from the table, below parents of which some line is still in it."""
    number_lines(one.plain, table.lists)
    for above in {counters[:-1] for counters in kept}:
        part: Any = one.plain
        for path, number in zip(table.lists, above, strict=False):
            part = value_at(part, path)[number]
        lines: dict[int, Any] = value_at(part, table.lists[-1])
        for number in sorted(set(lines) - {c[-1] for c in kept if c[:-1] == above}):
            del lines[number]
            counters = (*above, number)
            within = " ".join(f"{c} {n}" for c, n in zip(table.counters, counters, strict=True))
            one.patch.changes.append(FieldChange(field=within, before="there", after="taken out"))


def _without_nothing(plain: Any) -> Any:
    """A plain record without the fields that hold nothing: their defaults hold."""
    if isinstance(plain, dict):
        typed = cast("dict[str, Any]", plain)
        return {key: _without_nothing(part) for key, part in typed.items() if part is not None}
    if isinstance(plain, list):
        return [_without_nothing(part) for part in cast("list[Any]", plain)]
    return plain


def _by_field(before: dict[str, Any], after: dict[str, Any]) -> tuple[FieldChange, ...]:
    fields = [f for f in {**before, **after} if before.get(f) != after.get(f)]
    return tuple(
        FieldChange(field=f, before=str(before.get(f, ""))[:80], after=str(after.get(f, ""))[:80])
        for f in fields
    )
