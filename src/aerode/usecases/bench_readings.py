"""The table of readings of one run of a bench folder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from aerode.devices.tables import is_open, read_table
from aerode.errors import FieldFault, TableError
from aerode.records.runs import Reading
from aerode.usecases.bench_fields import plain_record
from aerode.usecases.bench_headings import field_of_heading
from aerode.usecases.table_hints import without_options

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path as FilePath

    from aerode.devices.tables import Column, Table

__all__ = ["Readings", "read_readings", "readings_of"]

# What a column of a quantity is called in a reading.
_FIELDS = {
    "resistance": "resistance", "voltage": "voltage", "current": "current", "time": "at",
    "temperature": "temperature",
}  # fmt: skip
_NUMBERS = {"resistance", "voltage", "current", "at", "waited", "temperature"}
_WORDS = {"load", "current_range", "settling", "replaces", "doubt", "note"}


@dataclass(frozen=True, slots=True)
class Readings:
    """The readings of a table, as plain values in SI, with the line of each."""

    plain: list[dict[str, Any]]
    lines: list[int]
    faults: list[FieldFault]
    understood: tuple[str, ...]
    started: str


def read_readings(file: FilePath, name: str) -> Readings:
    """The readings of one run, out of a table of any habit.

    Parameters
    ----------
    file : Path
        The table.
    name : str
        What to call it.

    Raises
    ------
    TableError
        The table cannot be taken; or two columns claim one field.
    """
    with without_options():
        return readings_of(read_table(file, name=name), name)


def readings_of(table: Table, name: str) -> Readings:
    """The readings that stand in a table.

    Parameters
    ----------
    table : Table
        As it was taken.
    name : str
        What to call it.

    Raises
    ------
    TableError
        Two columns claim one field.
    """
    columns = _fields(table)
    faults = [FieldFault(r.where, r.why, r.allowed, r.raw) for r in table.refused]
    plain: list[dict[str, Any]] = []
    for row, line in enumerate(table.lines):
        values, wrong = _reading(columns, row)
        faults += [
            FieldFault(f"{name}, line {line}, column {columns[str(path[0])].heading!r}", fault.what, fault.allowed, fault.raw)
            for path, fault in wrong
        ]  # fmt: skip
        plain.append({**values, "text": "; ".join(c.raw[row] for c in table.columns if c.raw[row])})
    taken = {column.place for column in columns.values()}
    rest = [c.heading for c in table.columns if c.place not in taken and c.heading]
    said = tuple(line for line in table.understood if "not understood" not in line)
    said = (*said, f"left out: {', '.join(rest)}") if rest else said
    return Readings(plain, list(table.lines), faults, said, table.started)


def _fields(table: Table) -> dict[str, Column]:
    """Field of a reading → its column."""
    columns: dict[str, Column] = {}
    for column in table.columns:
        field = _field_of(column)
        if not field:
            continue
        if field in columns:
            raise TableError(
                f"two columns can be the {field}: {columns[field].heading!r} and {column.heading!r}",
                where=table.name,
                allowed="one of them",
                next_step="give the other one a heading that is no field, such as 'second meter'",
            )
        columns[field] = column
    if not columns.keys() & {"voltage", "current"}:
        table.column("voltage")  # refuses, and says which columns there are
    return columns


def _field_of(column: Column) -> str:
    named = field_of_heading(Reading, column.heading)
    word = str(named[0][0]) if named else ""
    if word in _WORDS and not column.role:
        return word
    if word in _NUMBERS and column.role:
        return word
    return _FIELDS.get(column.role, "")


def _reading(columns: dict[str, Column], row: int) -> tuple[dict[str, Any], Sequence[Any]]:
    """One reading: its numbers as they were taken, its words read like any other field."""
    words = {
        field: column.raw[row] for field, column in columns.items() if field in _WORDS and column.raw[row]
    }  # fmt: skip
    loads = columns.get("resistance") or columns.get("load")
    if loads is not None and is_open(loads.raw[row]):
        words["load"] = "open"
    plain, faults = plain_record(Reading, words)
    for field, column in columns.items():
        value = column.values[row] if field in _NUMBERS else None
        if value is not None:
            plain[field] = value
    return plain, faults
